/** How long a value has kept still: a ring of its latest samples. */
#ifndef OMO_MOTION_STILL_H
#define OMO_MOTION_STILL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "omogon/status.h"

struct omo_still_sample {
    int64_t number; /**< of the frame */
    double time_s, value;
};

struct omo_still {
    struct omo_still_sample *ring;
    size_t room, first, count;
    double reach_s; /**< older samples are forgotten */
    bool broken;    /**< the next sample stands alone */
};

/** A stretch that has kept still up to the latest sample. */
struct omo_still_stretch {
    double for_s; /**< 0: a single sample or none */
    int64_t number;
    double low, high;
};

void omo_still_init(struct omo_still *still, double reach_s);
void omo_still_finish(struct omo_still *still);
/** Forgets everything. */
void omo_still_clear(struct omo_still *still);
/** The next sample does not go on from the last one. */
void omo_still_break(struct omo_still *still);
/** Times have to rise unless there is a break. */
OMO_MUST_CHECK enum omo_status omo_still_push(struct omo_still *still, int64_t number,
                                              double time_s, double value);
/** The longest stretch up to now, of at most for_s and a sample, with a spread below
 *  `spread` and no sample before number `from`. */
struct omo_still_stretch omo_still_stretch(const struct omo_still *still, double spread,
                                           double for_s, int64_t from);

#endif
