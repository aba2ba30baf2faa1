/** A still on request: a line drawing, or the photograph with the head covered. */
#ifndef OMO_APP_MEASURING_STILL_H
#define OMO_APP_MEASURING_STILL_H

#include <stddef.h>

#include "app/measuring.h"

/** Writes <directory>/<person>-<time>-<movement>-<side>.still-<number>.jpg and its path
 * to `path`. OMO_ERR_EMPTY with a sentence when the head cannot be located. */
OMO_MUST_CHECK enum omo_status omo_measuring_still(const struct omo_measuring *m,
                                                   const struct omo_live_now *now,
                                                   int number, char *path, size_t size);

#endif
