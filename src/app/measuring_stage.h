/** The state of one run of measuring, shared by the files that carry it; main thread only
 *  but for what is guarded. */
#ifndef OMO_APP_MEASURING_STAGE_H
#define OMO_APP_MEASURING_STAGE_H

#include "app/measuring.h"
#include "app/measuring_words.h"

/* Without a picture the window is drawn anew this often: a countdown, a fault. */
#define OMO_STAGE_TICK_MS 100

struct omo_stage {
    struct omo_measuring *m;
    /* m's with the camera's own lens profile, one for each arm. */
    struct omo_plan plan[OMO_LIVE_ARMS];
    int arms;
    struct omo_feed *feed;
    struct omo_saver *saver;
    struct omo_live_run *live;
    const struct omo_live_now *now; /* lent by live; NULL before the first picture */
    struct omo_feed_state camera;
    struct omo_says says; /* what is said and shown in words */
    double last_time_deg; /* of both arms it is not shown */
    int64_t flash_ns, flashed_ns;
    int64_t rest_until_ns; /* between two movements; 0: none */
    int movements;         /* ended so far */
    bool any_saved;        /* of the arms of the movement that was ended last */
    int stills;
    bool stale; /* the window does not show the newest */
    int64_t drawn_ns, frame_shown;
    enum omo_camera_fault fault;
    int64_t faults_said;
    bool fault_said; /* and not yet that it is over */
    GMutex lock;     /* guards fresh */
    GCond changed;
    bool fresh;
    bool in_place;        /* the person has been where the movement begins */
    double wrong_light_s; /* since when the light is said to be wrong, camera's time */
    bool leave;
    int code;
};

/** Says once what keeps the pictures away, and gives up after a while. */
void omo_stage_watch_camera(struct omo_stage *stage);
/** Lets exposure and white balance settle anew when that is due. */
void omo_stage_look_after_light(struct omo_stage *stage);
/** Draws when there is something new, and now and then for countdowns; a picture's age is
 *  taken when it is on screen. */
void omo_stage_show(struct omo_stage *stage);

#endif
