/**
 * What is measured live reaches the disk on a thread of its own, so that a slow disk
 * costs no picture: a trace in progress while the movement lasts; at its end the frames
 * are measured exactly as a file's are, the trace is replaced and the row appended.
 */
#ifndef OMO_APP_SAVER_H
#define OMO_APP_SAVER_H

#include <stdbool.h>

#include "app/options.h"
#include "omogon/live.h"
#include "omogon/sides.h"
#include "source/camera.h"

#define OMO_SAVER_ARMS 2

struct omo_saver_settings {
    const struct omo_plan *plan;  /**< lent; one for each arm */
    int arms;                     /**< 2: both at once */
    struct omo_record *record;    /**< lent */
    const char *source;           /**< the row's source: "camera" */
    struct omo_camera_got camera; /**< path "" for a scene */
    bool exposure_held;           /**< asked of the camera */
    bool real_time; /**< false: the scene's own, so that the row is the same every time */
};

/** A movement that was ended; of both arms at once each is one. */
struct omo_saved {
    enum omo_status status; /**< OMO_OK: row and trace are on disk; OMO_ERR_EMPTY: nothing
                                 there to save, nothing was kept */
    struct omo_session_row row;
    struct omo_result result;
    struct omo_trace_row highest; /**< the row of the highest frame, when there is one */
    bool has_highest;
    double first_s, last_s; /**< time stamps of its first and last frame */
    bool last;              /**< the movement's last: no other arm follows */
    bool compared;          /**< with the other arm; both have this then */
    struct omo_side_difference difference;
};

struct omo_saver;
struct omo_saver *omo_saver_create(const struct omo_saver_settings *settings);
/** Ends a movement in progress as omo_saver_end() would, waits until all is on disk. */
void omo_saver_destroy(struct omo_saver *saver);

/** A movement begins with the frames of its stillness, `count` for each arm. Copies. */
void omo_saver_begin(struct omo_saver *saver, int picture_width, int picture_height,
                     const struct omo_track_frame *const frames[], size_t count);
/** One more frame for each arm. */
void omo_saver_add(struct omo_saver *saver, const struct omo_track_frame *frame);
/** Why it ended and what was marked, a view for each arm. keep false: neutral alone is no
 * movement, nothing stays. `note`: sentences for the row, "" none. */
void omo_saver_end(struct omo_saver *saver, const struct omo_live_view *view, bool keep,
                   const char *note);

/** Takes the oldest finished one that was not taken yet; false: none. */
bool omo_saver_take(struct omo_saver *saver, struct omo_saved *out);
/** Waits until nothing is left to be done. */
void omo_saver_wait(struct omo_saver *saver);
/** The first failure to write, OMO_OK while all is well; a sentence was logged. */
enum omo_status omo_saver_status(struct omo_saver *saver);

#endif
