/** Inside of the pair of trackers that follow both arms. */
#ifndef OMO_VISION_PAIR_H
#define OMO_VISION_PAIR_H

#include "tracker.h"

/** Both arms as found in a frame. */
struct omo_both {
    struct omo_proposal arm[2];
    double score;
};

struct omo_pair {
    struct omo_tracker *tracker[2]; /**< by enum omo_side */
    int frames_to_search;
    double score; /**< the best that the followed pair has shown */
    int challenge_wins;
    double next_challenge_s, challenge_wait_s;
};

static const enum omo_role omo_trunk_roles[2] = {OMO_HIP, OMO_CHEST};

/* pair_acquire.c */
/** The best of both arms in this frame; false when there is none, or another one is about
 *  as good. */
bool omo_pair_acquire(struct omo_pair *pair, struct omo_both *best);

#endif
