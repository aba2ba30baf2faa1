/** A movement measured live on its way to the disk, one arm or both: a trace in progress
 *  while it lasts, rows and whole traces at its end. Used by the saver's thread alone. */
#ifndef OMO_APP_LIVE_MOVEMENT_H
#define OMO_APP_LIVE_MOVEMENT_H

#include <glib.h>

#include "app/saver.h"

struct omo_live_movement {
    const struct omo_saver_settings *settings; /**< lent */
    bool open;
    int width, height;
    struct {
        struct omo_trace_file *trace;
        GArray *frames; /**< struct omo_track_frame */
        struct omo_session_row row;
    } arm[OMO_SAVER_ARMS];
};

void omo_live_movement_init(struct omo_live_movement *movement,
                            const struct omo_saver_settings *settings);
void omo_live_movement_finish(struct omo_live_movement *movement);

/** All three: the first failure to write, which was said. */
OMO_MUST_CHECK enum omo_status omo_live_movement_begin(struct omo_live_movement *movement,
                                                       int width, int height);
OMO_MUST_CHECK enum omo_status omo_live_movement_add(struct omo_live_movement *movement,
                                                     int arm,
                                                     const struct omo_track_frame *frame);
/** `view` and `saved`: one for each arm. keep false: nothing stays. */
OMO_MUST_CHECK enum omo_status omo_live_movement_end(struct omo_live_movement *movement,
                                                     const struct omo_live_view *view,
                                                     bool keep, const char *note,
                                                     struct omo_saved *const saved[]);

#endif
