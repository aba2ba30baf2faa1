/**
 * The measuring thread: camera -> vision -> motion -> record, and what the screen shows.
 * Every picture that is taken from the feed is measured; every frame of a movement goes
 * to the saver. The newest result waits for the screen.
 */
#ifndef OMO_APP_LIVE_H
#define OMO_APP_LIVE_H

#include <stdbool.h>

#include "app/feed.h"
#include "app/live_arms.h"
#include "app/saver.h"

struct omo_live_run_settings {
    const struct omo_plan *plan; /**< lent; one for each arm */
    int arms;                    /**< 2: both at once */
    int width, height;           /**< of the pictures to come */
    struct omo_feed *feed;       /**< lent; this is its taker */
    struct omo_saver *saver;     /**< lent; NULL: nothing is recorded, and no stillness
                                      ends anything */
    int raises_most;             /**< 0: as usual */
    bool need_luma;              /**< somebody looks, or light is judged */
    /** Every measured picture's first arm, on the measuring thread; may be NULL. */
    void (*frame)(const struct omo_track_frame *frame, const struct omo_live_view *view,
                  void *user);
    void *frame_user;
    void (*wake)(void *user); /**< any thread: something new is there; may be NULL */
    void *user;
};

/** What the newest picture came to. Planes are lent until the next take. */
struct omo_live_now {
    struct omo_planes planes;
    struct omo_live_view view[OMO_LIVE_ARMS]; /**< one for each arm, as the plans */
    enum omo_cue cue;
    int cue_arm;          /**< whose */
    int64_t frame;        /**< index of the delivered picture */
    int64_t delivered_ns; /**< when it arrived */
    int picture_width, picture_height;
    bool idle; /**< nobody in view for a while: few pictures are looked at */
};

/** Counts of the run. */
struct omo_live_count {
    int64_t measured;  /**< pictures that were measured */
    int64_t skipped;   /**< taken while idle and not looked at */
    int64_t broken;    /**< pictures with broken data */
    int64_t movements; /**< movements that ended */
};

struct omo_live_run;
OMO_MUST_CHECK enum omo_status omo_live_run_start(
    const struct omo_live_run_settings *settings, struct omo_live_run **out);
/** Ends a movement in progress (its rows go to the saver) and the thread. NULL is fine.
 */
void omo_live_run_finish(struct omo_live_run *run);

/** The newest result that was not taken yet, events of those in between added up. Lent
 *  until the next take; false: nothing new. One taker. */
bool omo_live_run_take(struct omo_live_run *run, const struct omo_live_now **now);

/** A press for the course. */
void omo_live_run_press(struct omo_live_run *run, enum omo_live_press press);
/** After the end: the same movement again, from neutral. */
void omo_live_run_again(struct omo_live_run *run);
void omo_live_run_count(struct omo_live_run *run, struct omo_live_count *count);
/** Fault that ended measuring, OMO_OK while all is well. */
enum omo_status omo_live_run_status(struct omo_live_run *run);

#endif
