/** Measuring live, from the first picture to the saved rows, in the window or without. */
#ifndef OMO_APP_MEASURING_H
#define OMO_APP_MEASURING_H

#include <glib.h>
#include <stdbool.h>

#include "app/feed.h"
#include "app/live.h"
#include "app/pace.h"
#include "app/saver.h"
#include "show/screen/screen.h"
#include "show/sound/sound.h"

struct omo_measuring {
    const struct omo_plan *plan;
    struct omo_record *record;
    const char *directory; /**< of the record, for stills */
    struct omo_feed_settings feed;
    const char *source; /**< the rows' source: "camera" */
    bool real_time; /**< false: a scene's own time, nothing of the clock enters a row */
    struct omo_screen *screen; /**< NULL: lines of text instead */
    bool quiet;                /**< no lines of text either */
    struct omo_sound *sound;
    bool sound_on, flash_on, mirror, photo_stills;
    double patience_s;  /**< how long a camera without pictures is waited for */
    double rest_s;      /**< between two movements */
    int movements;      /**< how many one after the other; ends after the last */
    double most_s;      /**< ends after so long, NAN: never */
    int raises_most;    /**< raises of one movement; 0: as usual */
    double ceiling_deg; /**< set by a practitioner; NAN none */

    /* What came of it. */
    GArray *saved; /**< struct omo_saved of every movement with a row; the caller's */
    struct omo_pace pace;
    struct omo_live_count count;
    struct omo_feed_state camera; /**< when it was closed */
    enum omo_camera_fault fault;  /**< why it failed; FINE: not for the camera\'s sake */
    bool left;   /**< the person left the window, not only the movement */
    bool enough; /**< "enough for today" */
};

/** OMO_EXIT_DONE, or OMO_EXIT_FAILED after one sentence. */
int omo_measuring_run(struct omo_measuring *m);

/** Ctrl-C and the like end every run of the process cleanly, what there is is saved; the
 *  second one ends the process at once. */
void omo_measuring_catch_signals(void);
bool omo_measuring_interrupted(void);

#endif
