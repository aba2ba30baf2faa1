/** A received bundle into the record, as a person of its own. */
#ifndef OMO_APP_BUNDLE_RECEIVE_H
#define OMO_APP_BUNDLE_RECEIVE_H

#include <stdbool.h>

#include "app/bundle_file.h"

struct omo_received {
    char person[24]; /**< who it became here */
    bool known;      /**< received before: nothing was added */
    int rows, traces;
};
/**
 * Adds everything of a bundle to the record under `as`, which nobody has yet, or (NULL)
 * under its own code. `sum` tells this bundle from others: one that was received before
 * adds nothing, and one whose receiving was interrupted is gone on with. All tables are
 * read before anything is written. One sentence on failure.
 */
OMO_MUST_CHECK enum omo_status omo_bundle_receive(const struct omo_bundle *bundle,
                                                  const char *sum, const char *directory,
                                                  const char *as,
                                                  struct omo_received *out);

#endif
