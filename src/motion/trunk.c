#include "motion/take.h"

#include <math.h>

/* The chest marker stands for the trunk when it is seen in this share of the frames in
 * which the shoulder is: changing the reference from frame to frame would show as steps
 * in the angle. From the side the hanging arm covers it, so frames with the arm raised
 * are asked where there are any, and no length of rest outweighs them. A hip that is
 * hidden most of the time still counts. Our choice. */
#define CHEST_SHARE_MIN 0.2
#define HIP_SHARE_MIN   0.05
/* The acromion's marker stands for the shoulder's rise when it is seen in this share of
 * the frames in which the shoulder's is. Our choice. */
#define ACROMION_SHARE_MIN 0.5
/* With the arm down and the hip hidden, the shoulder may move this far on the hip's held
 * place and still be that of someone who sways but stands as at rest: sway carries the
 * hip along, a lean does not. Our choice. */
#define SWAY_DEG 1.5
/* Beyond this the shoulder's shift is a step aside, not a lean. */
#define SHIFT_LEAN_MAX_DEG 25.0

static double dot(struct omo_point a, struct omo_point b)
{
    return a.x * b.x + a.y * b.y;
}

static struct omo_point plus(struct omo_point a, struct omo_point b)
{
    return (struct omo_point){a.x + b.x, a.y + b.y};
}

static struct omo_point unit(struct omo_point p)
{
    double length = hypot(p.x, p.y);
    if (!(length > 0.0))
        return (struct omo_point){0, 0};
    return (struct omo_point){p.x / length, p.y / length};
}

/* ---- which reference the take has ---- */

/** In how many frames the trunk's markers are seen. */
struct trunk_seen {
    size_t shoulders, hips, chests, both;
};

static void count_seen(const struct omo_take *take, size_t k, struct trunk_seen *seen)
{
    bool hip = omo_clear_at(take, k, OMO_HIP), chest = omo_clear_at(take, k, OMO_CHEST);
    seen->shoulders++;
    seen->hips += hip;
    seen->chests += chest;
    seen->both += hip && chest;
}

static double share_of(size_t part, size_t whole)
{
    return (double)part / (double)whole;
}

static enum omo_reference markers_seen(struct omo_take *take)
{
    struct trunk_seen all = {0}, raised = {0};
    struct omo_point sum = {0, 0};
    for (size_t k = 0; k < take->count; k++) {
        if (!omo_clear_at(take, k, OMO_SHOULDER))
            continue;
        count_seen(take, k, &all);
        if (fabs(take->segment_deg[k]) >= take->settings->movement->rest_below_deg)
            count_seen(take, k, &raised);
        if (!omo_clear_at(take, k, OMO_HIP))
            continue;
        struct omo_point line =
            unit(omo_point_sub(omo_still_place(take, k, OMO_HIP),
                               omo_still_place(take, k, OMO_SHOULDER)));
        sum.x += line.x;
        sum.y += line.y;
    }
    take->trunk_off_deg = omo_turn_deg(take->axes.zero, sum);
    const struct trunk_seen *judged = raised.shoulders >= OMO_CLEAR_MIN ? &raised : &all;
    if (all.both >= OMO_CLEAR_MIN &&
        share_of(judged->chests, judged->shoulders) >= CHEST_SHARE_MIN)
        return OMO_REFERENCE_CHEST_HIP;
    double hip_share = fmax(share_of(all.hips, all.shoulders),
                            share_of(judged->hips, judged->shoulders));
    if (all.hips >= OMO_CLEAR_MIN && hip_share >= HIP_SHARE_MIN)
        return OMO_REFERENCE_HIP;
    return OMO_REFERENCE_SHIFT;
}

/** Makes a line vertical (level for someone lying) that is the trunk's at rest. */
static void set_upright(struct omo_take *take, struct omo_point rest_line)
{
    struct omo_trunk *trunk = &take->trunk;
    trunk->offset_deg = take->axes.sign * omo_turn_deg(take->axes.zero, rest_line);
    trunk->rest_axis = take->axes.zero;
}

static void set_rest_along(struct omo_take *take)
{
    struct omo_trunk *trunk = &take->trunk;
    struct omo_point way = omo_point_sub(trunk->rest_hip, take->rest.shoulder);
    trunk->rest_along_px = dot(plus(way, trunk->hip_to_middle), trunk->rest_axis);
}

/** From the front a trunk leans about the pelvis' middle, which stays, and not about the
 *  hip's marker 90 mm aside: against the marker a lean of 10 degrees reads as one of 9,
 *  and as 16 mm of hike. At rest the middle is below the breastbone. */
static void set_middle(struct omo_take *take)
{
    struct omo_trunk *trunk = &take->trunk;
    double along_px = dot(trunk->rest_line, trunk->rest_axis);
    trunk->hip_to_middle =
        (struct omo_point){along_px * trunk->rest_axis.x - trunk->rest_line.x,
                           along_px * trunk->rest_axis.y - trunk->rest_line.y};
}

static void set_hip(struct omo_take *take)
{
    set_upright(take, omo_point_sub(take->trunk.rest_hip, take->rest.shoulder));
    set_rest_along(take);
    omo_hold_hip(take, false);
}

/** Two markers 8 mm off on 350 mm of trunk are 1.8 degrees; made vertical at rest the
 * line is free of them, in any view. It is taken as it is only from the side, where both
 *  markers lie on the side line: without a rest, and where the camera looks down on the
 *  person, so that no vertical is in the picture. From the front it runs from the
 *  breastbone in the middle to the hip bone at the side, and as it is says nothing. */
static bool set_chest_hip(struct omo_take *take)
{
    struct omo_trunk *trunk = &take->trunk;
    bool side = take->settings->movement->view == OMO_VIEW_SIDE;
    bool line = trunk->rest_hip_known && omo_has_length(trunk->rest_line);
    trunk->chest_hidden = take->rest.found && !line;
    if (!line && (take->rest.found || !side))
        return false;
    if (line && side && !take->axes.gravity)
        trunk->rest_axis = unit(trunk->rest_line);
    else if (line)
        set_upright(take, trunk->rest_line);
    if (line && !side)
        set_middle(take);
    if (line)
        set_rest_along(take);
    omo_hold_hip(take, true);
    return true;
}

static void find_reference(struct omo_take *take)
{
    struct omo_trunk *trunk = &take->trunk;
    *trunk = (struct omo_trunk){.kind = OMO_REFERENCE_NONE,
                                .offset_deg = NAN,
                                .rest_along_px = NAN,
                                .length_px = NAN,
                                .acromion_px = NAN};
    if (take->settings->movement->geometry != OMO_GEOMETRY_ELEVATION)
        return;
    trunk->kind = markers_seen(take);
    omo_find_rest_hip(take);
    if (trunk->kind == OMO_REFERENCE_CHEST_HIP && set_chest_hip(take))
        return;
    if (trunk->kind != OMO_REFERENCE_SHIFT && trunk->rest_hip_known) {
        trunk->kind = OMO_REFERENCE_HIP;
        set_hip(take);
        return;
    }
    double ratio = take->settings->movement->allowances.trunk_length_ratio;
    trunk->length_px = ratio * take->rest.segment_px;
    bool shift = take->rest.found && take->rest.shoulder_known && !take->axes.lying &&
                 trunk->length_px > 0.0;
    trunk->kind = shift ? OMO_REFERENCE_SHIFT : OMO_REFERENCE_NONE;
}

/** How far the acromion's marker is above the shoulder's along a trunk; NAN unless both
 *  are seen. */
static double acromion_above_px(const struct omo_take *take, size_t k,
                                struct omo_point axis)
{
    const struct omo_markers *m = &take->frames[k].markers;
    if (!omo_seen(m, OMO_ACROMION) || !omo_seen(m, OMO_SHOULDER) || !omo_has_length(axis))
        return NAN;
    return dot(omo_point_sub(omo_still_place(take, k, OMO_SHOULDER),
                             omo_still_place(take, k, OMO_ACROMION)),
               axis);
}

/** Hike goes by the acromion's marker where it is worn: the shoulder's lies on the
 * muscle, which slides and turns with the arm. One marker serves the whole take. */
static void choose_hike_marker(struct omo_take *take)
{
    double sum_px = 0;
    size_t rows = 0, shoulders = 0, acromia = 0;
    for (size_t k = 0; k < take->count; k++) {
        shoulders += omo_clear_at(take, k, OMO_SHOULDER);
        acromia += omo_clear_at(take, k, OMO_ACROMION);
        if (!take->rest.found || k < take->rest.first || k > take->rest.last)
            continue;
        double above_px = acromion_above_px(take, k, omo_trunk_at(take, k).axis);
        if (!isfinite(above_px))
            continue;
        sum_px += above_px;
        rows++;
    }
    if (rows >= OMO_CLEAR_MIN && share_of(acromia, shoulders) >= ACROMION_SHARE_MIN)
        take->trunk.acromion_px = sum_px / (double)rows;
}

void omo_find_trunk(struct omo_take *take)
{
    find_reference(take);
    if (take->settings->movement->geometry == OMO_GEOMETRY_ELEVATION)
        choose_hike_marker(take);
}

void omo_follow_trunk(struct omo_take *take, size_t k)
{
    enum omo_reference kind = take->trunk.kind;
    if (kind == OMO_REFERENCE_CHEST_HIP || kind == OMO_REFERENCE_HIP)
        omo_hold_row(take, k);
}

void omo_assume_trunk(struct omo_take *take, size_t k)
{
    const struct omo_markers *m = &take->frames[k].markers;
    /* Any other line has to be seen at rest before anyone knows how far it is off. */
    bool line = take->settings->movement->view == OMO_VIEW_SIDE &&
                omo_seen(m, OMO_CHEST) && omo_seen(m, OMO_HIP);
    take->trunk =
        (struct omo_trunk){.kind = line ? OMO_REFERENCE_CHEST_HIP : OMO_REFERENCE_NONE,
                           .offset_deg = NAN,
                           .rest_along_px = NAN,
                           .length_px = NAN,
                           .acromion_px = NAN};
    take->held[k] = (struct omo_held){.known = line, .turn_deg = NAN};
    if (line)
        take->held[k].hip = omo_still_place(take, k, OMO_HIP);
}

/* ---- a frame's trunk ---- */

static unsigned edited(const struct omo_markers *m, enum omo_role role)
{
    return m->role[role].seen == OMO_PLACED_BY_HAND ? OMO_QUALITY_EDITED : 0;
}

/** A line turned back by the constant, where there is one. */
static struct omo_point turned_back(const struct omo_take *take, struct omo_point line)
{
    double offset_deg = take->trunk.offset_deg;
    return isfinite(offset_deg) ? omo_turned(line, -take->axes.sign * offset_deg) : line;
}

/** The trunk's direction from its line at rest upright: without sway where the hip is
 *  hidden by the hanging arm. */
static struct omo_point axis_of(const struct omo_take *take, size_t k,
                                struct omo_point line)
{
    const struct omo_trunk *trunk = &take->trunk;
    struct omo_point axis = unit(line);
    double rest_below_deg = take->settings->movement->rest_below_deg;
    if (omo_seen(&take->frames[k].markers, OMO_HIP) ||
        !omo_has_length(trunk->rest_axis) ||
        !(fabs(take->segment_deg[k]) < rest_below_deg))
        return axis;
    double turn_deg = omo_turn_deg(trunk->rest_axis, axis);
    double beyond_deg = fmax(0.0, fabs(turn_deg) - SWAY_DEG);
    return omo_turned(trunk->rest_axis, copysign(beyond_deg, turn_deg));
}

/** Chest to hip, either of them held if need be. */
static void from_chest_hip(const struct omo_take *take, size_t k,
                           struct omo_trunk_pose *pose)
{
    const struct omo_markers *m = &take->frames[k].markers;
    const struct omo_held *held = &take->held[k];
    if (!held->known)
        return;
    struct omo_point line = {0, 0};
    bool middle = omo_has_length(take->trunk.hip_to_middle);
    if (omo_seen(m, OMO_CHEST) && middle)
        line = omo_point_sub(plus(held->hip, take->trunk.hip_to_middle),
                             omo_still_place(take, k, OMO_CHEST));
    else if (omo_seen(m, OMO_CHEST))
        line = turned_back(take,
                           omo_point_sub(held->hip, omo_still_place(take, k, OMO_CHEST)));
    else if (omo_seen(m, OMO_SHOULDER) && isfinite(held->turn_deg))
        line =
            turned_back(take,
                        omo_turned(omo_point_sub(held->hip,
                                                 omo_still_place(take, k, OMO_SHOULDER)),
                                   held->turn_deg));
    if (!omo_has_length(line))
        return;
    pose->reference = OMO_REFERENCE_CHEST_HIP;
    pose->axis = axis_of(take, k, line);
    if (!omo_seen(m, OMO_CHEST) || !omo_seen(m, OMO_HIP))
        pose->quality |= OMO_QUALITY_TRUNK_HELD;
    pose->quality |= edited(m, OMO_CHEST) | edited(m, OMO_HIP);
}

static void from_hip(const struct omo_take *take, size_t k, struct omo_trunk_pose *pose)
{
    const struct omo_markers *m = &take->frames[k].markers;
    const struct omo_held *held = &take->held[k];
    if (!held->known || !omo_seen(m, OMO_SHOULDER))
        return;
    struct omo_point line =
        turned_back(take,
                    omo_point_sub(held->hip, omo_still_place(take, k, OMO_SHOULDER)));
    if (!omo_has_length(line))
        return;
    pose->reference = OMO_REFERENCE_HIP;
    pose->axis = axis_of(take, k, line);
    if (!omo_seen(m, OMO_HIP))
        pose->quality |= OMO_QUALITY_TRUNK_HELD;
    pose->quality |= edited(m, OMO_HIP);
}

/** Vertical, or leaning by what the shoulder's shift across it says. */
static void from_shift(const struct omo_take *take, size_t k, struct omo_trunk_pose *pose)
{
    const struct omo_markers *m = &take->frames[k].markers;
    const struct omo_point zero = take->axes.zero;
    double length_px = take->trunk.length_px, lean = 0;
    pose->reference = OMO_REFERENCE_NONE;
    pose->axis = zero;
    pose->quality |= OMO_QUALITY_ASSUMED_VERTICAL;
    if (!take->rest.found || !take->rest.shoulder_known || !omo_seen(m, OMO_SHOULDER))
        return;
    struct omo_point away =
        omo_point_sub(omo_still_place(take, k, OMO_SHOULDER), take->rest.shoulder);
    pose->hike_px = -dot(away, zero);
    if (take->trunk.kind != OMO_REFERENCE_SHIFT)
        return;
    /* A positive lean turns the trunk's lower end the movement's way round. */
    struct omo_point across = {take->axes.sign * zero.y, -take->axes.sign * zero.x};
    double share = dot(away, across) / length_px;
    if (!(fabs(share) <= sin(SHIFT_LEAN_MAX_DEG * M_PI / 180.0))) {
        pose->hike_px = NAN;
        return;
    }
    lean = asin(share);
    pose->reference = OMO_REFERENCE_SHIFT;
    pose->axis = omo_turned(zero, take->axes.sign * lean * 180.0 / M_PI);
    pose->hike_px += length_px * (1.0 - cos(lean)); /* a leaning trunk is lower */
    pose->quality &= ~(unsigned)OMO_QUALITY_ASSUMED_VERTICAL;
    pose->quality |= OMO_QUALITY_ESTIMATED_LEAN;
}

struct omo_trunk_pose omo_trunk_at(const struct omo_take *take, size_t k)
{
    struct omo_trunk_pose pose = {.reference = OMO_REFERENCE_NONE, .hike_px = NAN};
    const struct omo_markers *m = &take->frames[k].markers;
    switch (take->trunk.kind) {
    case OMO_REFERENCE_CHEST_HIP:
        from_chest_hip(take, k, &pose);
        break;
    case OMO_REFERENCE_HIP:
        from_hip(take, k, &pose);
        break;
    case OMO_REFERENCE_SHIFT:
    case OMO_REFERENCE_NONE:
        from_shift(take, k, &pose);
        break;
    }
    bool by_hip =
        pose.reference == OMO_REFERENCE_CHEST_HIP || pose.reference == OMO_REFERENCE_HIP;
    if (by_hip && omo_seen(m, OMO_SHOULDER))
        pose.hike_px =
            dot(omo_point_sub(plus(take->held[k].hip, take->trunk.hip_to_middle),
                              omo_still_place(take, k, OMO_SHOULDER)),
                pose.axis) -
            take->trunk.rest_along_px;
    if (isfinite(take->trunk.acromion_px))
        pose.hike_px += acromion_above_px(take, k, pose.axis) - take->trunk.acromion_px;
    return pose;
}
