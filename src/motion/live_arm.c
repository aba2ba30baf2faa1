#include "motion/live_arm.h"

#include <math.h>

/* For the eye: a resting figure does not tremble, a moving one lags by less than the
 * camera does. Our choice. */
#define EYE_CUTOFF_HZ     1.2
#define EYE_BETA          0.05
#define EYE_DERIVATIVE_HZ 1.0

static void eye_init(struct omo_eye *eye)
{
    omo_one_euro_init(&eye->filter, EYE_CUTOFF_HZ, EYE_BETA, EYE_DERIVATIVE_HZ);
    eye->last_deg = NAN;
}

static double eye_step(struct omo_eye *eye, double time_s, double angle_deg)
{
    if (!isfinite(angle_deg))
        return NAN;
    if (isfinite(eye->last_deg))
        angle_deg = eye->last_deg + omo_wrap_deg(angle_deg - eye->last_deg, -180.0);
    eye->last_deg = angle_deg;
    return omo_one_euro_step(&eye->filter, time_s, angle_deg);
}

static double middle_of(double a, double b, double c)
{
    return fmax(fmin(a, b), fmin(fmax(a, b), c));
}

enum omo_status omo_live_arm_init(struct omo_live_arm *arm,
                                  const struct omo_measure_settings *settings)
{
    *arm = (struct omo_live_arm){.settings = *settings, .last_raise_deg = NAN};
    omo_live_arm_gap(arm);
    return omo_follow_init(&arm->follow, &arm->settings);
}

void omo_live_arm_finish(struct omo_live_arm *arm)
{
    omo_follow_finish(&arm->follow);
}

void omo_live_arm_gap(struct omo_live_arm *arm)
{
    eye_init(&arm->eye);
    omo_live_arm_forget(arm);
}

void omo_live_arm_forget(struct omo_live_arm *arm)
{
    eye_init(&arm->steady);
    arm->before_deg[0] = arm->before_deg[1] = NAN;
}

enum omo_status omo_live_arm_read(struct omo_live_arm *arm,
                                  const struct omo_track_frame *frame, double reach_s)
{
    struct omo_follow *follow = &arm->follow;
    enum omo_status status = omo_follow_read(follow, frame, reach_s);
    if (status != OMO_OK)
        return status;
    const struct omo_trace_row *row = &follow->rows[follow->take.count];
    arm->eye_deg = omo_wrap_deg(eye_step(&arm->eye, frame->time_s, row->angle_raw_deg),
                                arm->settings.movement->wrap_low_deg);
    return OMO_OK;
}

static const struct omo_track_frame *last_frame(const struct omo_live_arm *arm)
{
    return &arm->follow.frames[arm->follow.take.count - 1];
}

bool omo_live_arm_in_view(const struct omo_live_arm *arm)
{
    const struct omo_track_frame *frame = last_frame(arm);
    unsigned needed = arm->settings.movement->needed;
    for (int role = 0; role < OMO_ROLE_COUNT; role++) {
        if ((needed & (1u << role)) != 0 &&
            !omo_seen(&frame->markers, (enum omo_role)role))
            return false;
    }
    return !frame->damaged;
}

double omo_live_arm_steady_deg(struct omo_live_arm *arm)
{
    const struct omo_follow *follow = &arm->follow;
    const struct omo_track_frame *frame = last_frame(arm);
    size_t k = follow->take.count - 1;
    double arm_deg = follow->take.segment_deg[k];
    if (follow->known)
        arm_deg = omo_follow_above_neutral_deg(follow, follow->rows[k].angle_raw_deg);
    if (frame->damaged || !isfinite(arm_deg))
        return NAN;
    /* A single wrong frame is not a movement. */
    double *before = arm->before_deg;
    double middle_deg = middle_of(arm_deg, before[0], before[1]);
    before[1] = before[0];
    before[0] = arm_deg;
    return eye_step(&arm->steady, frame->time_s, middle_deg);
}

void omo_live_arm_view(struct omo_live_arm *arm, size_t k, struct omo_live_view *view)
{
    const struct omo_follow *follow = &arm->follow;
    follow->rows[k].angle_deg = arm->eye_deg;
    const struct omo_trace_row *row = &follow->rows[k];
    view->time_s = row->time_s;
    view->angle_deg = row->angle_deg;
    view->angle_image_deg = row->angle_image_deg;
    view->angle_u95_deg = omo_max_u95_deg(&follow->take, k, &arm->camera_u);
    view->best_deg = follow->best.best_deg;
    view->last_raise_deg = arm->last_raise_deg;
    view->trunk_lean_deg = follow->take.lean_deg[k];
    view->hike_ratio = row->hike_ratio;
    view->elbow_flexion_deg = row->elbow_flexion_deg;
    view->reference = row->reference;
    view->quality = row->quality;
    view->markers = row->markers;
}
