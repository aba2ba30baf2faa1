/** Learning colours: what the two ways (points, by itself) share. */
#ifndef OMO_VISION_LEARN_H
#define OMO_VISION_LEARN_H

#include "candidates.h"
#include "figure.h"

/** A colour as found on the picture. */
struct omo_learnt {
    bool found;
    double chroma[2];  /**< BT.601, from 128 */
    double luma;       /**< NAN when it was not decoded */
    double spread_deg; /**< standard deviation of its direction */
};

/** A round saturated patch that keeps together from frame to frame. */
struct omo_thing {
    double x_px, y_px, diameter_px; /**< upright, when last seen */
    double chroma[2];               /**< mean */
    double spread2;                 /**< mean squared deviation of its direction */
    int frames, last_frame;
};
#define OMO_THINGS_MAX 48
/** Of these at most are names sought for. */
#define OMO_THINGS_NAMED 9

/** Looks for things of any colour. */
struct omo_watch {
    struct omo_blobs blobs;
    struct omo_candidates candidates;
    struct omo_thing thing[OMO_THINGS_MAX];
    int count;
    int frames;
    /* the frame with the most of them */
    int snapshot_count;
    struct omo_thing snapshot[OMO_THINGS_MAX];
    int snapshot_of[OMO_THINGS_MAX];
};
OMO_MUST_CHECK enum omo_status omo_watch_add(struct omo_watch *watch,
                                             const struct omo_view_of_frame *view,
                                             const struct omo_cell_table *cells);
void omo_watch_finish(struct omo_watch *watch);
/** Names the things by the body's layout and the nearest built-in colour; -1 for a role
 *  that was not found. False when nothing looks like a body's markers. */
bool omo_watch_name(const struct omo_watch *watch, int thing_of_role[OMO_ROLE_COUNT]);

#endif
