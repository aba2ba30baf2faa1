/** A whole live measurement on the simulated camera: tracker, course, cues. */
#ifndef OMOGON_TEST_CUE_STAGE_H
#define OMOGON_TEST_CUE_STAGE_H

#include "omogon/live.h"
#include "omogon/simulated.h"
#include "omogon/vision.h"

struct cue_stage {
    struct omo_scene *scene;
    struct omo_source *source;
    struct omo_tracker *tracker;
    struct omo_movement_table *table;
    struct omo_live *live;
    struct omo_cues *cues;
    bool shoulder_band;      /**< the set's */
    bool leave_surroundings; /**< do not ask the tracker for them */
    /* of the frame stepped last */
    struct omo_live_view view;
    struct omo_luma luma;
    struct omo_surroundings around;
    struct omo_truth truth;
    enum omo_cue cue;
    double time_s;
};

/** How the person is measured, beside the scene. */
struct cue_plan {
    const char *movement;
    enum omo_side side;
    enum omo_position position;
    bool facing_left;
    const char *colours; /**< NULL: the default set */
};

/** Opens a scene ("-" the default one) with "name value" pairs on top, ended by NULL, and
 *  a measurement of it; the test fails when anything is refused. */
void cue_stage_open(struct cue_stage *stage, const struct cue_plan *plan,
                    const char *scene, const char *const *pairs);
/** One frame; false after the last. */
bool cue_stage_step(struct cue_stage *stage);
void cue_stage_close(struct cue_stage *stage);

#endif
