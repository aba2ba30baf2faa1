/** The keys of a programme's file: which kind of step takes them, in which range. */
#ifndef OMO_PROGRAMME_FIELDS_H
#define OMO_PROGRAMME_FIELDS_H

#include "omogon/programme.h"
#include "programme/lines.h"

/** A step before its file has said anything: empty, numbers NAN, no kind. */
void omo_step_clear(struct omo_step *step);
/** Defaults of its kind for what the file did not say. */
void omo_step_defaults(struct omo_step *step);

/** Reads a step's lines; mistakes are kept. False when its kind is not known, so that
 *  nothing else can be judged. */
bool omo_fields_step(struct omo_lines *lines, struct omo_block *block,
                     struct omo_step *step);
/** Reads the lines of [programme]. */
void omo_fields_programme(struct omo_lines *lines, struct omo_block *block,
                          struct omo_programme *programme);

#endif
