#include "motion/cues.h"

#include <math.h>
#include <stdlib.h>

/* A cause has to last this long to be said; a hand that passes over a marker takes some
 * 0.3 s. With the shortest showing it stays within the 2 s a cue may take to come. Our
 * choice. */
#define RISE_S 0.7
/* What cannot be a blink: a length that is measured, a place outside the picture. */
#define RISE_SURE_S 0.4
/* After its cause a cue lives on for this long, so that it does not flicker. */
#define FALL_S 0.8
/* A line that is gone sooner cannot be read from three metres. */
#define SHOWN_LEAST_S 1.5
/* A gap in the frames says nothing about what went on in it. */
#define STEP_MOST_S 0.4

static double rise_s(enum omo_cue cue)
{
    switch (cue) {
    case OMO_CUE_CAMERA_MOVED: /* the jump is judged over a time of its own */
        return 0.0;
    case OMO_CUE_OUT_OF_PLANE:
    case OMO_CUE_STEP_BACK:
    case OMO_CUE_WRONG_SIDE:
        return RISE_SURE_S;
    default:
        return RISE_S;
    }
}

const char *omo_cue_name(enum omo_cue cue)
{
    switch (cue) {
    case OMO_CUE_NONE:
        return "none";
    case OMO_CUE_TOO_DARK:
        return "too-dark";
    case OMO_CUE_TOO_BRIGHT:
        return "too-bright";
    case OMO_CUE_CAMERA_MOVED:
        return "camera-moved";
    case OMO_CUE_NO_MARKERS:
        return "no-markers";
    case OMO_CUE_SECOND_PERSON:
        return "second-person";
    case OMO_CUE_LOOK_ALIKE:
        return "look-alike";
    case OMO_CUE_STEP_BACK:
        return "step-back";
    case OMO_CUE_STEP_CLOSER:
        return "step-closer";
    case OMO_CUE_MOVE_LEFT:
        return "move-left";
    case OMO_CUE_MOVE_RIGHT:
        return "move-right";
    case OMO_CUE_MOVE_FORWARD:
        return "move-forward";
    case OMO_CUE_MOVE_BACKWARD:
        return "move-backward";
    case OMO_CUE_SHOULDER_HIDDEN:
        return "shoulder-hidden";
    case OMO_CUE_ELBOW_HIDDEN:
        return "elbow-hidden";
    case OMO_CUE_WRIST_HIDDEN:
        return "wrist-hidden";
    case OMO_CUE_HIP_HIDDEN:
        return "hip-hidden";
    case OMO_CUE_WRONG_SIDE:
        return "wrong-side";
    case OMO_CUE_OUT_OF_PLANE:
        return "out-of-plane";
    case OMO_CUE_ELBOW_AWAY:
        return "elbow-away";
    case OMO_CUE_TURNING:
        return "turning";
    case OMO_CUE_LEANING:
        return "leaning";
    case OMO_CUE_HITCHING:
        return "hitching";
    case OMO_CUE_COUNT:
        break;
    }
    return "none";
}

enum omo_status omo_cues_create(const struct omo_measure_settings *settings,
                                struct omo_cues **out)
{
    if (settings == NULL || out == NULL || settings->movement == NULL)
        return OMO_ERR_ARG;
    struct omo_cues *cues = calloc(1, sizeof *cues);
    if (cues == NULL)
        return OMO_ERR_MEMORY;
    cues->settings = *settings;
    cues->movement = *settings->movement;
    cues->settings.movement = &cues->movement;
    cues->axes = omo_axes_of(&cues->settings);
    cues->rest_deg = cues->rest_lean_deg = NAN;
    cues->length = omo_cue_no_length;
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        cues->sight[r] = (struct omo_cue_sight){.last_s = NAN,
                                                .x_px = NAN,
                                                .y_px = NAN,
                                                .diameter_px = NAN};
    cues->hip = (struct omo_point){NAN, NAN};
    omo_cue_past_init(&cues->past);
    *out = cues;
    return OMO_OK;
}

void omo_cues_destroy(struct omo_cues *cues)
{
    free(cues);
}

bool omo_cue_over(const struct omo_cues *cues, enum omo_cue cue, double value,
                  double enter, double leave)
{
    return value > (cues->level[cue].active ? leave : enter);
}

/** By the frames' own stamps; a stamp that goes back begins anew. */
static void advance(struct omo_cues *cues, double time_s)
{
    double step_s = cues->started ? time_s - cues->time_s : 0.0;
    if (step_s < 0.0)
        cues->shown_s = time_s;
    cues->step_s = fmin(fmax(step_s, 0.0), STEP_MOST_S);
    cues->time_s = time_s;
    cues->started = true;
}

static void weigh(struct omo_cues *cues, const bool *present)
{
    for (int i = OMO_CUE_NONE + 1; i < OMO_CUE_COUNT; i++) {
        struct omo_cue_level *l = &cues->level[i];
        double rise = rise_s((enum omo_cue)i);
        if (present[i])
            l->level = rise > 0.0 ? fmin(l->level + cues->step_s / rise, 1.0) : 1.0;
        else
            l->level = fmax(l->level - cues->step_s / FALL_S, 0.0);
        if (l->level >= 1.0)
            l->active = true;
        if (l->level <= 0.0)
            l->active = false;
    }
}

/** Nobody clears a room with an arm raised: what cannot be helped now comes last. */
static bool can_wait(enum omo_cue cue, enum omo_phase phase)
{
    return (phase == OMO_PHASE_RAISE || phase == OMO_PHASE_LOWER) &&
           (cue == OMO_CUE_SECOND_PERSON || cue == OMO_CUE_LOOK_ALIKE);
}

/** The most important one that is certain, unless a more important one is about to be:
 *  it would have to wait until the lesser one has been read. */
static enum omo_cue most_important(const struct omo_cues *cues, const bool *present,
                                   enum omo_phase phase)
{
    for (int last = 0; last < 2; last++) {
        for (int i = OMO_CUE_NONE + 1; i < OMO_CUE_COUNT; i++) {
            if (can_wait((enum omo_cue)i, phase) != (last == 1))
                continue;
            if (cues->level[i].active)
                return (enum omo_cue)i;
            if (present[i])
                return OMO_CUE_NONE;
        }
    }
    return OMO_CUE_NONE;
}

enum omo_cue omo_cues_step(struct omo_cues *cues, const struct omo_cue_input *input)
{
    bool present[OMO_CUE_COUNT] = {false};
    if (!isfinite(input->time_s))
        return cues->shown;
    advance(cues, input->time_s);
    cues->input = input;
    omo_cue_rules(cues, input, present);
    weigh(cues, present);

    enum omo_phase phase = input->view->phase;
    bool ended = phase == OMO_PHASE_ENDED;
    enum omo_cue next = ended ? OMO_CUE_NONE : most_important(cues, present, phase);
    bool read = cues->shown == OMO_CUE_NONE || ended ||
                cues->time_s - cues->shown_s >= SHOWN_LEAST_S;
    /* What is being shown stays while its cause does, even if nothing better is certain.
     */
    if (next == OMO_CUE_NONE && !ended && cues->level[cues->shown].active)
        next = cues->shown;
    if (next != cues->shown && read) {
        cues->shown = next;
        cues->shown_s = cues->time_s;
    }
    return cues->shown;
}
