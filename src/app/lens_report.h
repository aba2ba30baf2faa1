/** What a lens profile says, in lines for people and as JSON. */
#ifndef OMO_APP_LENS_REPORT_H
#define OMO_APP_LENS_REPORT_H

#include "app/lens_file.h"

/** Lens and level, several lines on standard output. */
void omo_lens_print(const struct omo_lens_profile *profile);
/** "looks up 10.1 and rolls 2.9 degrees ...": one translated sentence; "" when the
 * profile has no level. */
void omo_lens_level_text(const struct omo_lens *lens, char *text, size_t size);
/** One JSON array, an object a profile. */
void omo_lens_print_json(const struct omo_lens_profile *profile, int count);
/** Largest standard uncertainty of a line's direction by the lens alone, over the
 * picture; and the largest turn that straightening takes out. */
void omo_lens_worst_deg(const struct omo_lens *lens, double *u_deg, double *turn_deg);

#endif
