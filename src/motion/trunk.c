#include "motion/take.h"

#include <math.h>

/* The chest marker stands for the trunk when it is seen in this share of the frames in
 * which the shoulder is (from the side the hanging arm covers it): changing the reference
 * from frame to frame would show as steps in the angle. A hip that is hidden most of the
 * time still counts. Our choice. */
#define CHEST_SHARE_MIN 0.2
#define HIP_SHARE_MIN   0.05
#define CLEAR_MIN       5 /* frames */
/* A hidden marker's last clear place is the mean over this time. */
#define HOLD_S 0.5
/* When the hip is hidden at rest: frames in which the arm is still low and the shoulder
 * still in its place, within this time of the first of them. */
#define LOW_ARM_DEG      40.0
#define SHOULDER_AWAY_MM 10.0
#define LOW_ARM_S        0.3
/* A line over the arm's angle needs this many rows and this much movement. */
#define EXTRAPOLATE_MIN    3
#define EXTRAPOLATE_SD_DEG 1.0
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

static struct omo_point unit(struct omo_point p)
{
    double length = hypot(p.x, p.y);
    if (!(length > 0.0))
        return (struct omo_point){0, 0};
    return (struct omo_point){p.x / length, p.y / length};
}

static bool clear_at(const struct omo_take *take, size_t k, enum omo_role role)
{
    return !take->frames[k].damaged && omo_seen(&take->frames[k].markers, role);
}

/* ---- the hip where it is hidden ----
 *
 * Feet and pelvis stay while the trunk leans, so the hip's last clear place together with
 * the shoulder of the frame at hand follows a lean that a held direction would miss. */

/** Mean over the clear rows of first..last. */
static struct omo_held mean_held(const struct omo_take *take, size_t first, size_t last)
{
    struct omo_held mean = {.known = false, .hip = {0, 0}, .turn_deg = NAN};
    double turn_deg = 0;
    size_t hips = 0, turns = 0;
    for (size_t k = first; k <= last; k++) {
        if (!clear_at(take, k, OMO_HIP))
            continue;
        struct omo_point hip = omo_still_place(take, k, OMO_HIP);
        mean.hip.x += hip.x;
        mean.hip.y += hip.y;
        hips++;
        if (!clear_at(take, k, OMO_CHEST) || !clear_at(take, k, OMO_SHOULDER))
            continue;
        double one_deg =
            omo_turn_deg(omo_point_sub(hip, omo_still_place(take, k, OMO_SHOULDER)),
                         omo_point_sub(hip, omo_still_place(take, k, OMO_CHEST)));
        if (isfinite(one_deg)) {
            turn_deg += one_deg;
            turns++;
        }
    }
    mean.known = hips > 0;
    if (hips > 0) {
        mean.hip.x /= (double)hips;
        mean.hip.y /= (double)hips;
    }
    if (turns > 0)
        mean.turn_deg = turn_deg / (double)turns;
    return mean;
}

/** Rows within HOLD_S of row k, going back (way -1) or on (+1). */
static size_t hold_reach(const struct omo_take *take, size_t k, int way)
{
    size_t reach = k;
    if (way < 0) {
        while (reach > 0 && fabs(take->time_s[k] - take->time_s[reach - 1]) <= HOLD_S)
            reach--;
    } else {
        while (reach + 1 < take->count &&
               fabs(take->time_s[reach + 1] - take->time_s[k]) <= HOLD_S)
            reach++;
    }
    return reach;
}

/** Fills row k of take->held: where the hip is clear it gets its own place. */
static void hold_row(struct omo_take *take, size_t k)
{
    struct omo_hold *hold = &take->hold;
    bool hip = clear_at(take, k, OMO_HIP);
    bool whole = hip && (!hold->chest || (clear_at(take, k, OMO_CHEST) &&
                                          clear_at(take, k, OMO_SHOULDER)));
    if (whole) {
        hold->first_clear = hold->any ? hold->first_clear : k;
        hold->last_clear = k;
        hold->any = hold->stale = true;
    } else if (hold->stale) {
        hold->held =
            mean_held(take, hold_reach(take, hold->last_clear, -1), hold->last_clear);
        hold->stale = false;
    }
    take->held[k] = hold->held;
    if (hip) {
        take->held[k].known = true;
        take->held[k].hip = omo_still_place(take, k, OMO_HIP);
    }
}

/** Fills take->held. */
static void hold_hip(struct omo_take *take, bool chest)
{
    take->hold =
        (struct omo_hold){.chest = chest, .held = {.known = false, .turn_deg = NAN}};
    for (size_t k = 0; k < take->count; k++)
        hold_row(take, k);
    if (!take->hold.any)
        return;
    size_t first_clear = take->hold.first_clear;
    struct omo_held leading =
        mean_held(take, first_clear, hold_reach(take, first_clear, +1));
    if (take->trunk.rest_hip_known)
        leading.hip = take->trunk.rest_hip;
    for (size_t k = 0; k < first_clear; k++) {
        take->held[k].turn_deg = leading.turn_deg;
        if (!take->held[k].known)
            take->held[k].hip = leading.hip;
        take->held[k].known = true;
    }
}

/* ---- where the hip is at rest ---- */

/** Hip and shoulder are seen while the arm is low and the shoulder still in place. */
static bool still_low(const struct omo_take *take, size_t k, double away_px)
{
    if (!clear_at(take, k, OMO_HIP) || !clear_at(take, k, OMO_SHOULDER) ||
        !(fabs(take->segment_deg[k]) < LOW_ARM_DEG))
        return false;
    struct omo_point shoulder = omo_still_place(take, k, OMO_SHOULDER);
    return omo_point_distance(shoulder, take->rest.shoulder) <= away_px;
}

/** Sum over places, to be divided by their number. */
struct place_sum {
    double x, y;
    size_t count;
};

static void add_place(struct place_sum *sum, struct omo_point p)
{
    sum->x += p.x;
    sum->y += p.y;
    sum->count++;
}

static struct omo_point mean_place(const struct place_sum *sum)
{
    return (struct omo_point){sum->x / (double)sum->count, sum->y / (double)sum->count};
}

/** Sums the way from an anchor marker to the hip over the rest's rows. */
static struct place_sum way_at_rest(const struct omo_take *take, enum omo_role anchor)
{
    struct place_sum way = {0};
    for (size_t k = take->rest.first; k <= take->rest.last; k++) {
        if (clear_at(take, k, OMO_HIP) && clear_at(take, k, anchor))
            add_place(&way, omo_point_sub(omo_still_place(take, k, OMO_HIP),
                                          omo_still_place(take, k, anchor)));
    }
    return way;
}

/** Straight lines through the way's x and y over the arm's angle. */
struct way_line {
    double a, aa, x, y, ax, ay;
    size_t count;
};

static void add_way(struct way_line *line, double angle_deg, struct omo_point way)
{
    line->a += angle_deg;
    line->aa += angle_deg * angle_deg;
    line->x += way.x;
    line->y += way.y;
    line->ax += angle_deg * way.x;
    line->ay += angle_deg * way.y;
    line->count++;
}

/** The lines' point at an angle; their middle when the arm hardly moved meanwhile. */
static struct omo_point way_at(const struct way_line *line, double angle_deg)
{
    double n = (double)line->count, middle_deg = line->a / n;
    double variance = line->aa / n - middle_deg * middle_deg;
    struct omo_point way = {line->x / n, line->y / n};
    if (!(variance >= EXTRAPOLATE_SD_DEG * EXTRAPOLATE_SD_DEG) ||
        line->count < EXTRAPOLATE_MIN)
        return way;
    double back_deg = angle_deg - middle_deg;
    way.x += back_deg * (line->ax / n - middle_deg * way.x) / variance;
    way.y += back_deg * (line->ay / n - middle_deg * way.y) / variance;
    return way;
}

/** For a hip that is hidden at rest: the way from the anchor to it over the first rows in
 *  which the arm is low, followed back to the arm's angle at rest, since a marker that
 *  rides on the arm (a band) has moved with it by then. False when it is never seen. */
static bool way_low(const struct omo_take *take, enum omo_role anchor,
                    struct omo_point *way)
{
    struct way_line line = {0};
    double away_px = SHOULDER_AWAY_MM / take->rest.mm_per_px;
    if (!isfinite(away_px))
        away_px = SHOULDER_AWAY_MM / OMO_UPPER_ARM_MM * take->rest.segment_px;
    double from_s = NAN;
    for (size_t k = 0; k < take->count; k++) {
        if (!still_low(take, k, away_px) || !clear_at(take, k, anchor))
            continue;
        if (isnan(from_s))
            from_s = take->time_s[k];
        if (!(take->time_s[k] - from_s <= LOW_ARM_S))
            break;
        add_way(&line, take->segment_deg[k],
                omo_point_sub(omo_still_place(take, k, OMO_HIP),
                              omo_still_place(take, k, anchor)));
    }
    if (line.count == 0)
        return false;
    *way = way_at(&line, take->rest.segment_deg);
    return true;
}

/** The hip's mean place at rest: from an anchor on the trunk, since sway moves both. The
 *  chest is the better anchor, being still when the arm begins to rise. */
static void find_rest_hip(struct omo_take *take)
{
    const struct omo_rest *rest = &take->rest;
    struct place_sum chest = {0};
    if (!rest->found || !rest->shoulder_known)
        return;
    for (size_t k = rest->first; k <= rest->last; k++) {
        if (clear_at(take, k, OMO_CHEST))
            add_place(&chest, omo_still_place(take, k, OMO_CHEST));
    }
    bool by_chest =
        take->trunk.kind == OMO_REFERENCE_CHEST_HIP && chest.count >= CLEAR_MIN;
    enum omo_role anchor = by_chest ? OMO_CHEST : OMO_SHOULDER;
    struct place_sum sum = way_at_rest(take, anchor);
    struct omo_point way = {0, 0};
    if (sum.count >= CLEAR_MIN)
        way = mean_place(&sum);
    else if (!way_low(take, anchor, &way))
        return;
    struct omo_point from = by_chest ? mean_place(&chest) : rest->shoulder;
    take->trunk.rest_hip = (struct omo_point){from.x + way.x, from.y + way.y};
    take->trunk.rest_hip_known = true;
}

/* ---- which reference the take has ---- */

static enum omo_reference markers_seen(struct omo_take *take)
{
    size_t shoulders = 0, hips = 0, chests = 0, both = 0;
    struct omo_point sum = {0, 0};
    for (size_t k = 0; k < take->count; k++) {
        if (!clear_at(take, k, OMO_SHOULDER))
            continue;
        bool hip = clear_at(take, k, OMO_HIP), chest = clear_at(take, k, OMO_CHEST);
        shoulders++;
        hips += hip;
        chests += chest;
        both += hip && chest;
        if (!hip)
            continue;
        struct omo_point line =
            unit(omo_point_sub(omo_still_place(take, k, OMO_HIP),
                               omo_still_place(take, k, OMO_SHOULDER)));
        sum.x += line.x;
        sum.y += line.y;
    }
    take->trunk_off_deg = omo_turn_deg(take->axes.zero, sum);
    if (both >= CLEAR_MIN && (double)chests >= CHEST_SHARE_MIN * (double)shoulders)
        return OMO_REFERENCE_CHEST_HIP;
    if (hips >= CLEAR_MIN && (double)hips >= HIP_SHARE_MIN * (double)shoulders)
        return OMO_REFERENCE_HIP;
    return OMO_REFERENCE_SHIFT;
}

static void set_hip(struct omo_take *take)
{
    struct omo_trunk *trunk = &take->trunk;
    struct omo_point line = omo_point_sub(trunk->rest_hip, take->rest.shoulder);
    trunk->offset_deg = take->axes.sign * omo_turn_deg(take->axes.zero, line);
    trunk->rest_along_px = dot(line, take->axes.zero);
    trunk->rest_axis = take->axes.zero;
    hold_hip(take, false);
}

/** Mean trunk and mean distance along it over the rest; false when it is not seen there.
 */
static bool read_trunk_at_rest(struct omo_take *take)
{
    struct omo_trunk *trunk = &take->trunk;
    struct omo_point sum = {0, 0};
    double along_px = 0;
    size_t rows = 0;
    for (size_t k = take->rest.first; take->rest.found && k <= take->rest.last; k++) {
        struct omo_trunk_pose pose = omo_trunk_at(take, k);
        if (!omo_has_length(pose.axis) || !clear_at(take, k, OMO_SHOULDER))
            continue;
        struct omo_point shoulder = omo_still_place(take, k, OMO_SHOULDER);
        sum.x += pose.axis.x;
        sum.y += pose.axis.y;
        along_px += dot(omo_point_sub(take->held[k].hip, shoulder), pose.axis);
        rows++;
    }
    if (rows == 0)
        return false;
    trunk->rest_axis = unit(sum);
    trunk->rest_along_px = along_px / (double)rows;
    return true;
}

/** From the side both markers lie on the side line, which is the trunk's own direction.
 *  From the front the line runs from the breastbone in the middle to the hip bone at the
 *  side, and needs the rest to say how far it is off. */
static bool set_chest_hip(struct omo_take *take)
{
    struct omo_trunk *trunk = &take->trunk;
    hold_hip(take, true);
    bool known = read_trunk_at_rest(take);
    if (take->settings->movement->view != OMO_VIEW_FRONT)
        return true;
    if (!known)
        return false;
    trunk->offset_deg = take->axes.sign * omo_turn_deg(take->axes.zero, trunk->rest_axis);
    trunk->rest_axis = (struct omo_point){0, 0};
    return read_trunk_at_rest(take);
}

void omo_find_trunk(struct omo_take *take)
{
    struct omo_trunk *trunk = &take->trunk;
    *trunk = (struct omo_trunk){.kind = OMO_REFERENCE_NONE,
                                .offset_deg = NAN,
                                .rest_along_px = NAN,
                                .length_px = NAN};
    if (take->settings->movement->geometry != OMO_GEOMETRY_ELEVATION)
        return;
    trunk->kind = markers_seen(take);
    find_rest_hip(take);
    if (trunk->kind == OMO_REFERENCE_CHEST_HIP && set_chest_hip(take))
        return;
    if (trunk->kind == OMO_REFERENCE_HIP && trunk->rest_hip_known) {
        set_hip(take);
        return;
    }
    double ratio = take->settings->movement->allowances.trunk_length_ratio;
    trunk->length_px = ratio * take->rest.segment_px;
    bool shift = take->rest.found && take->rest.shoulder_known && !take->axes.lying &&
                 trunk->length_px > 0.0;
    trunk->kind = shift ? OMO_REFERENCE_SHIFT : OMO_REFERENCE_NONE;
}

void omo_follow_trunk(struct omo_take *take, size_t k)
{
    enum omo_reference kind = take->trunk.kind;
    if (kind == OMO_REFERENCE_CHEST_HIP || kind == OMO_REFERENCE_HIP)
        hold_row(take, k);
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
                           .length_px = NAN};
    take->held[k] = (struct omo_held){.known = line, .turn_deg = NAN};
    if (line)
        take->held[k].hip = omo_still_place(take, k, OMO_HIP);
}

/* ---- a frame's trunk ---- */

static unsigned edited(const struct omo_markers *m, enum omo_role role)
{
    return m->role[role].seen == OMO_PLACED_BY_HAND ? OMO_QUALITY_EDITED : 0;
}

/** The trunk's direction from its line: turned back by the constant, where there is one;
 *  and without sway where the hip is hidden by the hanging arm. */
static struct omo_point axis_of(const struct omo_take *take, size_t k,
                                struct omo_point line)
{
    const struct omo_trunk *trunk = &take->trunk;
    struct omo_point axis = unit(line);
    if (isfinite(trunk->offset_deg))
        axis = omo_turned(axis, -take->axes.sign * trunk->offset_deg);
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
    if (omo_seen(m, OMO_CHEST))
        line = omo_point_sub(held->hip, omo_still_place(take, k, OMO_CHEST));
    else if (omo_seen(m, OMO_SHOULDER) && isfinite(held->turn_deg))
        line =
            omo_turned(omo_point_sub(held->hip, omo_still_place(take, k, OMO_SHOULDER)),
                       held->turn_deg);
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
        omo_point_sub(held->hip, omo_still_place(take, k, OMO_SHOULDER));
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
            dot(omo_point_sub(take->held[k].hip, omo_still_place(take, k, OMO_SHOULDER)),
                pose.axis) -
            take->trunk.rest_along_px;
    return pose;
}
