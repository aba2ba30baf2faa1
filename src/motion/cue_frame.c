#include "motion/cues.h"

#include <math.h>

/* ---- thresholds: all our choice ---- */

/* Nearer to the border than this, in its own diameters, a marker is not whole. */
#define BORDER_SHARE 0.75
/* A marker that was about to cross the border is followed for so long. */
#define AHEAD_S 0.15
/* After that time it is hidden rather than outside: people move. */
#define OUTSIDE_S 6.0
/* What fits again has to fit with some air, in picture heights. */
#define AIR_SHARE 0.02
/* Below some 6 px no marker is found any more, and a little above them its colour is
 * mostly its neighbours'; 0.15 px of noise on an upper arm of 55 px are 0.2 degrees. */
#define FAR_DIAMETER_PX 7.5
#define FAR_ARM_PX      55.0
#define FAR_SLACK       1.08
/* Seen alone, a marker this large, in picture heights, belongs to somebody too near for
 * the others to be in the picture: 32 mm at 1.1 m. */
#define LONE_NEAR_SHARE 0.045
/* How far an arm may go: overhead, but neither back nor across the body; a forearm that
 * turns; a pendulum. */
#define HANGS_DEG    30.0 /* up to here it is where it is seen now */
#define OVERHEAD_DEG 180.0
#define BEHIND_DEG   75.0
#define TURNED_DEG   100.0
#define SWING_DEG    45.0
/* A forearm that points at the camera may come to lie level in the picture. */
#define ACROSS_DEG  90.0
#define REACH_STEPS 12
/* Elbow to wrist, in upper arms (models/body.ini). */
#define FOREARM_SHARE 0.785

/** What lies beyond each border, px; negative: room left. */
struct overhang {
    double left, right, top, bottom;
};

static void include(struct overhang *o, const struct omo_cue_input *in,
                    struct omo_point p, double margin_px)
{
    o->left = fmax(o->left, margin_px - p.x);
    o->right = fmax(o->right, p.x + margin_px - (in->picture_width - 1));
    o->top = fmax(o->top, margin_px - p.y);
    o->bottom = fmax(o->bottom, p.y + margin_px - (in->picture_height - 1));
}

static double margin_px(const struct omo_cues *cues, enum omo_role role)
{
    return BORDER_SHARE * cues->sight[role].diameter_px;
}

static struct omo_point ahead(const struct omo_cues *cues, enum omo_role role)
{
    const struct omo_cue_sight *s = &cues->sight[role];
    double late_s = fmin(fmax(cues->time_s - s->last_s, 0.0), AHEAD_S);
    return (struct omo_point){s->x_px + late_s * s->vx_px_s,
                              s->y_px + late_s * s->vy_px_s};
}

static double largest(const struct overhang *o)
{
    return fmax(fmax(o->left, o->right), fmax(o->top, o->bottom));
}

static const struct overhang nothing = {-INFINITY, -INFINITY, -INFINITY, -INFINITY};

bool omo_cue_left_picture(const struct omo_cues *cues, enum omo_role role)
{
    struct overhang o = nothing;
    double gone_s = cues->time_s - cues->sight[role].last_s;
    if (!(gone_s > 0.0 && gone_s < OUTSIDE_S))
        return false;
    include(&o, cues->input, ahead(cues, role), margin_px(cues, role));
    return largest(&o) > 0.0;
}

/** From how far the arm may go to where its end then is. */
static void include_reach(struct overhang *o, const struct omo_cues *cues,
                          const struct omo_cue_input *in)
{
    const struct omo_axes *axes = &cues->axes;
    const struct omo_cue_sight *root = &cues->sight[axes->from];
    double length_px = omo_cue_full_px(cues), from_deg = 0.0, to_deg = OVERHEAD_DEG;
    if (isnan(root->last_s) || cues->time_s - root->last_s > 1.0 || isnan(length_px))
        return;
    bool side = cues->movement.view == OMO_VIEW_SIDE;
    switch (cues->movement.geometry) {
    case OMO_GEOMETRY_ELEVATION:
        from_deg = HANGS_DEG;
        /* Backward seen from the side, or across the body seen from the front. */
        if (side ? cues->movement.sign > 0.0 : cues->movement.sign < 0.0)
            to_deg = BEHIND_DEG;
        break;
    case OMO_GEOMETRY_ROTATION:
        to_deg = TURNED_DEG;
        break;
    case OMO_GEOMETRY_FORESHORTENED:
        from_deg = to_deg = ACROSS_DEG;
        length_px *= FOREARM_SHARE;
        break;
    case OMO_GEOMETRY_PENDULUM:
        from_deg = -SWING_DEG;
        to_deg = SWING_DEG;
        break;
    }
    /* The wrist goes along where it is worn; the lengths are guessed, so it may seem to
     * stick out a little. */
    double rim_px = margin_px(cues, axes->from);
    if (axes->to == OMO_ELBOW && omo_cue_worn(cues, OMO_WRIST)) {
        rim_px = -AIR_SHARE * in->picture_height;
        length_px *= 1.0 + FOREARM_SHARE;
    }
    for (int i = 0; i <= REACH_STEPS; i++) {
        double deg = from_deg + (to_deg - from_deg) * i / REACH_STEPS;
        struct omo_point way = omo_turned(axes->zero, axes->sign * deg);
        struct omo_point end = {root->x_px + length_px * way.x,
                                root->y_px + length_px * way.y};
        include(o, in, end, rim_px);
    }
}

/** Picture direction, +1 right or -1 left, of a step towards the person's own right, or
 *  ahead where a side is turned to the camera. */
static double step_x(const struct omo_cues *cues)
{
    const struct omo_measure_settings *s = &cues->settings;
    if (cues->movement.view != OMO_VIEW_FRONT)
        return s->facing_left ? -1.0 : 1.0;
    return s->from_behind != s->mirrored ? 1.0 : -1.0;
}

static enum omo_cue sideways(const struct omo_cues *cues, double picture_x)
{
    bool same = picture_x * step_x(cues) > 0.0;
    if (cues->movement.view == OMO_VIEW_FRONT)
        return same ? OMO_CUE_MOVE_RIGHT : OMO_CUE_MOVE_LEFT;
    return same ? OMO_CUE_MOVE_FORWARD : OMO_CUE_MOVE_BACKWARD;
}

static void border_rules(const struct omo_cues *cues, const struct omo_cue_input *in,
                         bool *present)
{
    struct overhang o = nothing;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        enum omo_role role = (enum omo_role)r;
        bool told =
            cues->sight[r].last_s == cues->time_s || omo_cue_left_picture(cues, role);
        if (told && cues->sight[r].seen_s > 0.0)
            include(&o, in, ahead(cues, role), margin_px(cues, role));
    }
    include_reach(&o, cues, in);
    double air_px = AIR_SHARE * in->picture_height;
    for (int way = -1; way <= 1; way += 2) {
        double over = way > 0 ? o.left : o.right, room = way > 0 ? -o.right : -o.left;
        enum omo_cue cue = sideways(cues, way);
        if (room > over + air_px) {
            present[cue] = omo_cue_over(cues, cue, over, 0.0, -air_px);
            if (way > 0)
                o.left = -INFINITY;
            else
                o.right = -INFINITY;
        }
    }
    present[OMO_CUE_STEP_BACK] =
        omo_cue_over(cues, OMO_CUE_STEP_BACK, largest(&o), 0.0, -air_px);
}

static bool too_far(const struct omo_cues *cues)
{
    double sum_px = 0.0;
    int count = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        if (cues->sight[r].last_s != cues->time_s || !(cues->sight[r].diameter_px > 0.0))
            continue;
        sum_px += cues->sight[r].diameter_px;
        count++;
    }
    if (count == 0)
        return false;
    return omo_cue_over(cues, OMO_CUE_STEP_CLOSER, -sum_px / count, -FAR_DIAMETER_PX,
                        -FAR_SLACK * FAR_DIAMETER_PX) ||
           omo_cue_over(cues, OMO_CUE_STEP_CLOSER, -omo_cue_full_px(cues), -FAR_ARM_PX,
                        -FAR_SLACK * FAR_ARM_PX);
}

/** No body, but what look like its markers: too large or too small for one in view. */
static void lone_rules(const struct omo_cue_input *in, bool *present)
{
    if (in->lone_patches < 1)
        return;
    bool near = in->lone_px >= LONE_NEAR_SHARE * in->picture_height;
    bool far = in->lone_patches > 1 && in->lone_px <= FAR_DIAMETER_PX;
    present[OMO_CUE_STEP_BACK] |= near;
    present[OMO_CUE_STEP_CLOSER] |= far;
    if (near || far)
        present[OMO_CUE_NO_MARKERS] = false;
}

void omo_cue_frame_rules(struct omo_cues *cues, const struct omo_cue_input *in,
                         bool *present)
{
    if (in->picture_width < 1 || in->picture_height < 1)
        return;
    border_rules(cues, in, present);
    present[OMO_CUE_STEP_CLOSER] = too_far(cues) && !present[OMO_CUE_STEP_BACK];
    lone_rules(in, present);
}
