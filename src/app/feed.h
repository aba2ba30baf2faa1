/**
 * Pictures as they arrive, on a thread of their own: a camera, or the simulated one at
 * the pace of life. One picture waits; a newer one takes its place (newest wins).
 */
#ifndef OMO_APP_FEED_H
#define OMO_APP_FEED_H

#include <stdbool.h>

#include "omogon/simulated.h"
#include "source/camera.h"

struct omo_feed_settings {
    struct omo_camera_wish wish;
    const struct omo_scene *scene; /**< not NULL: simulated instead of a camera; lent
                                      until the feed is closed */
    /** Called on the feed's thread with the truth of each simulated picture; may be NULL.
     */
    void (*truth)(const struct omo_truth *truth, void *user);
    void *user;
};

/** How it goes; plain. */
struct omo_feed_state {
    enum omo_camera_fault fault; /**< now; FINE while pictures come */
    double fault_s;              /**< for how long, by omo_clock_ns() */
    int64_t fault_count;         /**< faults so far; one may be over before it was seen */
    enum omo_camera_fault fault_last;
    bool ended;        /**< a simulated scene is over */
    int64_t delivered; /**< pictures that arrived */
    int64_t dropped;   /**< of these, replaced by a newer one before they were taken,
                            and those the camera's own time stamps miss */
    int64_t damaged;   /**< arrived empty or broken off */
    struct omo_camera_got got; /**< what the camera gives */
};

struct omo_feed;
/** Opens and starts. On failure *fault says why (silent) or, for a scene, a sentence was
 *  logged. */
OMO_MUST_CHECK enum omo_status omo_feed_open(const struct omo_feed_settings *settings,
                                             struct omo_feed **out,
                                             enum omo_camera_fault *fault);
/** Stops, restores the camera's settings. NULL is fine. */
void omo_feed_close(struct omo_feed *feed);

/** The person has reached the place, or the light has changed: exposure and white balance
 *  settle anew and are held again. Any thread. */
void omo_feed_settle_again(struct omo_feed *feed);

/** The newest picture that was not taken yet, lent until the next take; waits at most
 *  wait_ms; NULL: none came. One taker. */
const struct omo_packet *omo_feed_take(struct omo_feed *feed, int wait_ms);
void omo_feed_state(struct omo_feed *feed, struct omo_feed_state *state);

#endif
