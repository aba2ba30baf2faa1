/** Steps that are watched but not recorded: circles, and rests at a stop. */
#ifndef OMO_APP_SESSION_CAMERA_H
#define OMO_APP_SESSION_CAMERA_H

#include "app/live.h"
#include "app/session_run.h"

/** Camera, tracker and course of one step; every frame goes to the session by itself. */
struct omo_session_camera;
/** OMO_ERR_OPEN and the like when there are no pictures: one sentence was said. `wake` is
 *  called on any thread when something is new; may be NULL. */
OMO_MUST_CHECK enum omo_status omo_session_camera_open(
    struct omo_session_run *run, const struct omo_session_page *page,
    void (*wake)(void *user), void *user, struct omo_session_camera **out);
void omo_session_camera_close(struct omo_session_camera *camera);

/** The newest picture, as omo_live_run_take(). */
bool omo_session_camera_take(struct omo_session_camera *camera,
                             const struct omo_live_now **now);
/** Neutral from what was still so far. */
void omo_session_camera_begin(struct omo_session_camera *camera);
const struct omo_plan *omo_session_camera_plan(const struct omo_session_camera *camera);
/** Why there is no picture now; FINE while they come. */
enum omo_camera_fault omo_session_camera_fault(struct omo_session_camera *camera);
/** A simulated scene is over. */
bool omo_session_camera_ended(struct omo_session_camera *camera);

#endif
