#include "app/commands.h"
#include "app/measuring_stage.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* Longer than the camera takes to settle by itself. */
#define WRONG_LIGHT_S 6

void omo_stage_watch_camera(struct omo_stage *stage)
{
    struct omo_measuring *m = stage->m;
    omo_feed_state(stage->feed, &stage->camera);
    if (stage->camera.fault_count != stage->faults_said) {
        stage->faults_said = stage->camera.fault_count;
        stage->fault_said = true;
        omo_warning("%s", omo_word(omo_camera_fault_text(stage->camera.fault_last)));
    }
    stage->fault = stage->camera.fault;
    if (stage->fault_said && stage->fault == OMO_CAMERA_FINE) {
        stage->fault_said = false;
        omo_info("%s", omo_word("The camera gives pictures again."));
    }
    if (stage->camera.fault != OMO_CAMERA_FINE && stage->camera.fault_s > m->patience_s) {
        char seconds[32];
        omo_number_text(m->patience_s, 0, seconds, sizeof seconds);
        omo_error(omo_word("no picture for %s seconds, so measuring ended; what was "
                           "measured before is kept"),
                  seconds);
        m->fault = stage->fault;
        stage->code = OMO_EXIT_FAILED;
        stage->leave = true;
    }
    if (stage->camera.ended && !stage->camera.fault)
        stage->leave = true;
    if (omo_live_run_status(stage->live) != OMO_OK ||
        omo_saver_status(stage->saver) != OMO_OK) {
        stage->code = OMO_EXIT_FAILED;
        stage->leave = true;
    }
}

/** Exposure and white balance were held when the camera opened; a person who has walked
 *  back since, or a lamp, changes the light. Before neutral they may settle once more,
 *  and whenever the light has been said to be wrong for a while. */
void omo_stage_look_after_light(struct omo_stage *stage)
{
    const struct omo_live_view *view = &stage->now->view[0];
    bool wrong =
        stage->now->cue == OMO_CUE_TOO_DARK || stage->now->cue == OMO_CUE_TOO_BRIGHT;
    if (!wrong)
        stage->wrong_light_s = view->time_s;
    bool in_place = !stage->in_place && view->phase == OMO_PHASE_SETTLE;
    stage->in_place |= in_place || view->phase > OMO_PHASE_SETTLE;
    if (!in_place && !(view->time_s - stage->wrong_light_s > WRONG_LIGHT_S))
        return;
    stage->wrong_light_s = view->time_s;
    omo_feed_settle_again(stage->feed);
}
