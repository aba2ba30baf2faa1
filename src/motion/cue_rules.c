#include "motion/cues.h"

#include <math.h>

#include "motion/hike.h"

/* ---- thresholds: all our choice, with what speaks for each ---- */

/* Light. A lit room has a mean of 90 to 160. Below the first the camera's noise drowns
 * the markers' colours; below the second it is the likely reason when none is seen. */
#define DARK_MEAN      45.0
#define DARK_MEAN_NONE 70.0
#define DARK_SLACK     5.0
/* A window or a white wall takes a quarter of a picture; four tenths are the exposure's
 * fault. Where none is seen the window alone may be. */
#define BRIGHT_RATIO      0.40
#define BRIGHT_RATIO_NONE 0.25
#define BRIGHT_SLACK      0.04

/* A marker seen for this long in all is worn, and may be missed. */
#define WORN_S 1.0
/* A marker the movement does not need is missed for this long, then done without. */
#define HINT_S 8.0
/* The hip is covered by the arm when it is this near the arm's line, in upper arms: half
 * the hand's width and the marker's radius, and the trunk's own turn. */
#define COVERED_SHARE 0.40
/* Elbow to wrist and elbow to finger tips, in upper arms (models/body.ini). */
#define FOREARM_SHARE 0.785
#define HAND_SHARE    1.37

/* 15 degrees against the direction are wrong in a file; an arm may swing back a little
 * before it rises. The share is the file's. */
#define AGAINST_DEG   20.0
#define AGAINST_LEAVE 12.0
#define AGAINST_SHARE 0.25
/* 0.85 is an arm 32 degrees out of the plane, which may cost 4.7 degrees of angle. */
#define PLANE_RATIO       0.85
#define PLANE_RATIO_LEAVE OMO_FORESHORTENING_RATIO
/* A cue of leaning or hitching goes at this share of what brings it. */
#define LEAVE_SHARE 0.75

/* Slow means, s. A length seen at rest is soon believed and slowly forgotten. */
#define REST_MEAN_S   1.0
#define SIZE_MEAN_S   0.6
#define LENGTH_MEAN_S 0.4
#define LENGTH_FALL_S 10.0
#define GAIN_MEAN_S   0.15
#define GAIN_MOST     1.35
/* Somebody who was away for longer may stand elsewhere. */
#define AWAY_S 3.0

const struct omo_cue_length omo_cue_no_length = {NAN, NAN, NAN, NAN, 1.0, 1.0};

bool omo_cue_worn(const struct omo_cues *cues, enum omo_role role)
{
    return cues->sight[role].seen_s >= WORN_S;
}

static bool needed(const struct omo_cues *cues, enum omo_role role)
{
    return (cues->movement.needed >> role & 1u) != 0;
}

/** Moves a slow mean; NAN takes the value at once. */
static void blend(double *mean, double value, double step_s, double over_s)
{
    if (!isfinite(value))
        return;
    if (isnan(*mean))
        *mean = value;
    else
        *mean += (1.0 - exp(-step_s / over_s)) * (value - *mean);
}

/* ---- what was seen so far ---- */

static void look_at(struct omo_cues *cues, enum omo_role role,
                    const struct omo_marker *marker)
{
    struct omo_cue_sight *s = &cues->sight[role];
    double since_s = cues->time_s - s->last_s;
    if (since_s > 0.0 && since_s < 0.2) {
        s->vx_px_s += 0.4 * ((marker->x_px - s->x_px) / since_s - s->vx_px_s);
        s->vy_px_s += 0.4 * ((marker->y_px - s->y_px) / since_s - s->vy_px_s);
    } else if (since_s != 0.0) {
        s->vx_px_s = s->vy_px_s = 0.0;
    }
    s->seen_s += cues->step_s;
    s->last_s = cues->time_s;
    s->x_px = marker->x_px;
    s->y_px = marker->y_px;
    if (marker->diameter_px > 0.0)
        blend(&s->diameter_px, marker->diameter_px, cues->step_s, SIZE_MEAN_S);
}

static bool arm_is_down(const struct omo_cues *cues, const struct omo_live_view *view)
{
    return view->phase != OMO_PHASE_RAISE && view->phase != OMO_PHASE_LOWER &&
           fabs(view->angle_image_deg) < cues->movement.rest_below_deg;
}

/** The segment that lies in the picture and gives the scale: what is measured, but for a
 *  forearm that points out of the picture. */
static enum omo_role scale_from(const struct omo_cues *cues)
{
    bool front = cues->movement.geometry == OMO_GEOMETRY_FORESHORTENED;
    return front ? OMO_SHOULDER : cues->axes.from;
}

static enum omo_role scale_to(const struct omo_cues *cues)
{
    bool front = cues->movement.geometry == OMO_GEOMETRY_FORESHORTENED;
    return front ? OMO_ELBOW : cues->axes.to;
}

/** The segment's length in diameters of the marker at its root, so that a step towards
 *  the camera is told from an arm that points at it. */
static void learn_length(struct omo_cues *cues, const struct omo_live_view *view)
{
    struct omo_cue_length *l = &cues->length;
    enum omo_role from = scale_from(cues), to = scale_to(cues);
    const struct omo_cue_sight *root = &cues->sight[from];
    if (cues->time_s - root->last_s > AWAY_S)
        *l = omo_cue_no_length;
    if (!omo_seen(&view->markers, from) || !omo_seen(&view->markers, to) ||
        !(root->diameter_px > 0.0))
        return;
    double px = omo_point_distance(omo_place(&view->markers, from),
                                   omo_place(&view->markers, to));
    l->now_px = px;
    if (isnan(l->ratio) || arm_is_down(cues, view)) {
        /* As late as the marker's size is, or who comes nearer seems to grow an arm. */
        blend(&l->late_px, px, cues->step_s, SIZE_MEAN_S);
        l->now_px = l->late_px;
        double ratio = l->late_px / root->diameter_px;
        blend(&l->ratio, ratio, cues->step_s,
              ratio > l->ratio ? LENGTH_MEAN_S : LENGTH_FALL_S);
        l->rest_px = l->ratio * root->diameter_px;
        l->shown = 1.0;
    } else {
        l->late_px = NAN;
        blend(&l->shown, px / l->rest_px, cues->step_s, GAIN_MEAN_S);
        l->gain = fmin(fmax(l->gain, l->shown), GAIN_MOST);
    }
}

double omo_cue_full_px(const struct omo_cues *cues)
{
    if (isfinite(cues->length.rest_px))
        return cues->length.rest_px * cues->length.gain;
    /* Without an elbow the trunk tells how long an arm should be. */
    if (scale_from(cues) != OMO_SHOULDER || isnan(cues->hip.x))
        return NAN;
    return hypot(cues->hip.x, cues->hip.y) / cues->movement.allowances.trunk_length_ratio;
}

static void learn_rest(struct omo_cues *cues, const struct omo_live_view *view)
{
    bool still = view->phase == OMO_PHASE_NEUTRAL ||
                 (view->phase == OMO_PHASE_READY && view->raises == 0);
    if (!still || !arm_is_down(cues, view))
        return;
    blend(&cues->rest_deg, view->angle_image_deg, cues->step_s, REST_MEAN_S);
    blend(&cues->rest_lean_deg, view->trunk_lean_deg, cues->step_s, REST_MEAN_S);
}

static void take_in(struct omo_cues *cues, const struct omo_live_view *view)
{
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        if (omo_seen(&view->markers, (enum omo_role)r))
            look_at(cues, (enum omo_role)r, &view->markers.role[r]);
    if (omo_seen(&view->markers, OMO_SHOULDER) && omo_seen(&view->markers, OMO_HIP))
        cues->hip = omo_point_sub(omo_place(&view->markers, OMO_HIP),
                                  omo_place(&view->markers, OMO_SHOULDER));
    learn_length(cues, view);
    learn_rest(cues, view);
}

/* ---- light and surroundings ---- */

static bool any_seen(const struct omo_markers *markers)
{
    for (int r = 0; r < OMO_ROLE_COUNT; r++)
        if (omo_seen(markers, (enum omo_role)r))
            return true;
    return false;
}

static void light_rules(const struct omo_cues *cues, const struct omo_cue_input *in,
                        bool *present)
{
    bool seen = any_seen(&in->view->markers);
    double dark = seen ? DARK_MEAN : DARK_MEAN_NONE;
    double bright = seen ? BRIGHT_RATIO : BRIGHT_RATIO_NONE;
    present[OMO_CUE_TOO_DARK] =
        omo_cue_over(cues, OMO_CUE_TOO_DARK, -in->luma_mean, -dark, -dark - DARK_SLACK);
    present[OMO_CUE_TOO_BRIGHT] =
        omo_cue_over(cues, OMO_CUE_TOO_BRIGHT, in->luma_bright_ratio, bright,
                     bright - BRIGHT_SLACK);
}

/* ---- hidden markers ---- */

static double from_segment_px(struct omo_point p, struct omo_point a, struct omo_point b)
{
    struct omo_point along = omo_point_sub(b, a), to = omo_point_sub(p, a);
    double length2 = along.x * along.x + along.y * along.y;
    double share = length2 > 0.0 ? (to.x * along.x + to.y * along.y) / length2 : 0.0;
    share = fmin(fmax(share, 0.0), 1.0);
    return hypot(to.x - share * along.x, to.y - share * along.y);
}

/** The arm covers the hip, or may: the hanging forearm does, seen from the side. */
static bool hip_is_covered(const struct omo_cues *cues, const struct omo_markers *m)
{
    double arm_px = omo_cue_full_px(cues);
    if (!omo_seen(m, OMO_SHOULDER) || !omo_seen(m, OMO_ELBOW) || isnan(arm_px) ||
        isnan(cues->hip.x))
        return true; /* nothing tells where it should be */
    struct omo_point shoulder = omo_place(m, OMO_SHOULDER),
                     elbow = omo_place(m, OMO_ELBOW);
    struct omo_point hip = {shoulder.x + cues->hip.x, shoulder.y + cues->hip.y};
    double near_px = COVERED_SHARE * arm_px;
    if (from_segment_px(hip, shoulder, elbow) < near_px)
        return true;
    if (!omo_seen(m, OMO_WRIST))
        return omo_point_distance(hip, elbow) < HAND_SHARE * arm_px + near_px;
    struct omo_point wrist = omo_place(m, OMO_WRIST);
    struct omo_point fore = omo_point_sub(wrist, elbow);
    double stretch = HAND_SHARE / FOREARM_SHARE;
    struct omo_point fingers = {elbow.x + stretch * fore.x, elbow.y + stretch * fore.y};
    return from_segment_px(hip, elbow, fingers) < near_px;
}

static bool misses(const struct omo_cues *cues, const struct omo_markers *m,
                   enum omo_role role)
{
    if (omo_seen(m, role) || omo_cue_left_picture(cues, role))
        return false;
    if (needed(cues, role))
        return true;
    return omo_cue_worn(cues, role) && cues->time_s - cues->sight[role].last_s < HINT_S;
}

static void hidden_rules(const struct omo_cues *cues, const struct omo_live_view *view,
                         bool *present)
{
    const struct omo_markers *m = &view->markers;
    if (!any_seen(m))
        return; /* said otherwise */
    present[OMO_CUE_SHOULDER_HIDDEN] =
        needed(cues, OMO_SHOULDER) && misses(cues, m, OMO_SHOULDER);
    /* A forearm that turns past the camera hides its own markers for a while. */
    bool passes = cues->movement.geometry == OMO_GEOMETRY_FORESHORTENED &&
                  (view->phase == OMO_PHASE_RAISE || view->phase == OMO_PHASE_LOWER);
    present[OMO_CUE_ELBOW_HIDDEN] = !passes && misses(cues, m, OMO_ELBOW);
    present[OMO_CUE_WRIST_HIDDEN] = !passes && misses(cues, m, OMO_WRIST);
    present[OMO_CUE_HIP_HIDDEN] = misses(cues, m, OMO_HIP) && !hip_is_covered(cues, m);
}

/* ---- the movement ---- */

static bool after_neutral(enum omo_phase phase)
{
    return phase == OMO_PHASE_READY || phase == OMO_PHASE_RAISE ||
           phase == OMO_PHASE_LOWER || phase == OMO_PHASE_WARN;
}

static bool goes_wrong_way(struct omo_cues *cues, const struct omo_live_view *view)
{
    if (cues->movement.geometry == OMO_GEOMETRY_PENDULUM)
        return false; /* swings both ways */
    if (cues->movement.geometry == OMO_GEOMETRY_FORESHORTENED && isnan(cues->rest_deg))
        return false; /* begins on the belly, on the other side of zero */
    double rest_deg = isnan(cues->rest_deg) ? 0.0 : cues->rest_deg;
    double with_deg = omo_wrap_deg(view->angle_image_deg - rest_deg, -180.0);
    if (!isfinite(with_deg))
        return false;
    cues->best_with_deg = fmax(cues->best_with_deg, with_deg);
    return omo_cue_over(cues, OMO_CUE_WRONG_SIDE, -with_deg, AGAINST_DEG,
                        AGAINST_LEAVE) &&
           cues->best_with_deg < AGAINST_SHARE * -with_deg;
}

static bool out_of_plane(const struct omo_cues *cues, const struct omo_live_view *view)
{
    if (isnan(cues->length.rest_px) ||
        cues->movement.geometry == OMO_GEOMETRY_FORESHORTENED ||
        !omo_seen(&view->markers, cues->axes.from) ||
        !omo_seen(&view->markers, cues->axes.to))
        return false;
    return omo_cue_over(cues, OMO_CUE_OUT_OF_PLANE,
                        -cues->length.now_px / omo_cue_full_px(cues), -PLANE_RATIO,
                        -PLANE_RATIO_LEAVE);
}

static bool leans(const struct omo_cues *cues, const struct omo_live_view *view)
{
    const struct omo_allowances *a = &cues->movement.allowances;
    double rest_deg = isnan(cues->rest_lean_deg) ? 0.0 : cues->rest_lean_deg;
    double most_deg = omo_allowed_lean_deg(a, view->reference);
    return omo_cue_over(cues, OMO_CUE_LEANING, fabs(view->trunk_lean_deg - rest_deg),
                        most_deg, LEAVE_SHARE * most_deg);
}

static bool hitches(const struct omo_cues *cues, const struct omo_live_view *view)
{
    const struct omo_allowances *a = &cues->movement.allowances;
    double angle_deg = view->angle_image_deg;
    double excess =
        view->hike_ratio - omo_expected_rise(a, cues->settings.expected_rise, angle_deg);
    double most = omo_allowed_hike(a, cues->settings.expected_rise, angle_deg);
    return omo_cue_over(cues, OMO_CUE_HITCHING, excess, most, LEAVE_SHARE * most);
}

static void movement_rules(struct omo_cues *cues, const struct omo_cue_input *in,
                           bool *present)
{
    const struct omo_live_view *view = in->view;
    present[OMO_CUE_WRONG_SIDE] = goes_wrong_way(cues, view);
    present[OMO_CUE_OUT_OF_PLANE] = out_of_plane(cues, view);
    if (cues->movement.geometry == OMO_GEOMETRY_FORESHORTENED &&
        after_neutral(view->phase)) {
        /* As the trace's words say it; both cost the angle in full. */
        present[OMO_CUE_ELBOW_AWAY] = (view->quality & OMO_QUALITY_ELBOW_AWAY) != 0;
        present[OMO_CUE_TURNING] = (view->quality & OMO_QUALITY_TRUNK_TURNED) != 0;
    }
    if (cues->movement.geometry != OMO_GEOMETRY_ELEVATION || !after_neutral(view->phase))
        return;
    /* A band a fifth down the arm rises by a third of it in a full raise, and goes to the
     * side by seven degrees of a trunk that is told by it. */
    bool clear = !in->shoulder_band || view->reference == OMO_REFERENCE_CHEST_HIP;
    present[OMO_CUE_LEANING] = clear && leans(cues, view);
    /* ... while a marker on the acromion rises with the shoulder alone. */
    bool told = !in->shoulder_band || omo_seen(&view->markers, OMO_ACROMION);
    present[OMO_CUE_HITCHING] = told && hitches(cues, view);
}

void omo_cue_rules(struct omo_cues *cues, const struct omo_cue_input *in, bool *present)
{
    const struct omo_live_view *view = in->view;
    take_in(cues, view);
    light_rules(cues, in, present);
    present[OMO_CUE_CAMERA_MOVED] =
        omo_cue_camera_moved(&cues->past, cues->time_s, &view->markers,
                             omo_cue_full_px(cues));
    present[OMO_CUE_NO_MARKERS] = !any_seen(&view->markers);
    present[OMO_CUE_SECOND_PERSON] = in->other_bodies > 0;
    present[OMO_CUE_LOOK_ALIKE] = in->look_alikes > 0;
    omo_cue_frame_rules(cues, in, present);
    hidden_rules(cues, view, present);
    movement_rules(cues, in, present);
}
