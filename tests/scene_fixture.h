/** Scenes for tests: made from settings, run to a frame, with what was logged. */
#ifndef OMOGON_TEST_SCENE_FIXTURE_H
#define OMOGON_TEST_SCENE_FIXTURE_H

#include "omogon/simulated.h"

struct scene_run {
    struct omo_scene *scene;
    struct omo_source *source;
    struct omo_frame frame;
    struct omo_truth truth;
    bool started; /* a frame has been delivered since it was opened */
};

/** Opens a built-in scene, or the default one for "-", with "name value" pairs on top,
 *  ended by NULL; the test fails when anything is refused. */
void scene_run_open(struct scene_run *run, const char *name, const char *const *pairs);
/** Opens the scene again, from its start, with further settings. */
void scene_run_set(struct scene_run *run, const char *const *pairs);
void scene_run_close(struct scene_run *run);
/** Delivers this frame and passes over those before it. */
void scene_run_to(struct scene_run *run, long frame);
/** One scene at one moment, five frames a second. */
void scene_run_at(struct scene_run *run, const char *name, const char *const *pairs,
                  double time_s);

/** Messages since the last reset: their number and the last one. */
void logged_reset(void);
int logged_count(void);
const char *logged_last(void);

#endif
