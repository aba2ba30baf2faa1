/** The tables of models/ from memory, for tests and for whoever reads files. */
#ifndef OMO_MOTION_MOVEMENTS_H
#define OMO_MOTION_MOVEMENTS_H

#include <stddef.h>

#include "omogon/motion.h"

/** Parses a movement table; `name` is for messages. Outputs untouched on failure. The
 *  priors of the pivot's fit stay zero, with which nothing is fitted. */
OMO_MUST_CHECK enum omo_status omo_movement_table_parse(
    const char *bytes, size_t size, const char *name,
    const struct omo_allowances *allowances, struct omo_movement_table **out);
OMO_MUST_CHECK enum omo_status omo_allowances_parse(const char *bytes, size_t size,
                                                    const char *name,
                                                    struct omo_allowances *out);
OMO_MUST_CHECK enum omo_status omo_pivot_priors_parse(const char *bytes, size_t size,
                                                      const char *name,
                                                      struct omo_pivot_priors *out);

#endif
