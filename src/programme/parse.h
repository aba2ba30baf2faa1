/** A programme from bytes and a movement table that is there already. */
#ifndef OMO_PROGRAMME_PARSE_H
#define OMO_PROGRAMME_PARSE_H

#include <stddef.h>

#include "omogon/motion.h"
#include "omogon/programme.h"
#include "programme/lines.h"

/** As omo_programme_parse(), for whoever reads many. */
OMO_MUST_CHECK enum omo_status omo_programme_parse_with(
    const struct omo_movement_table *movements, const char *bytes, size_t size,
    const char *called, struct omo_programme *out);

/** What a step's keys say to each other, to the movement and to the programme; fills in
 *  what follows from the movement. Its own keys are read. */
void omo_check_step(struct omo_lines *lines, const struct omo_block *block,
                    const struct omo_movement_table *movements,
                    const struct omo_programme *programme, struct omo_step *step);

#endif
