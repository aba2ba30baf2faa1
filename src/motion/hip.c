#include "motion/take.h"

#include <math.h>

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
        if (!omo_clear_at(take, k, OMO_HIP))
            continue;
        struct omo_point hip = omo_still_place(take, k, OMO_HIP);
        mean.hip.x += hip.x;
        mean.hip.y += hip.y;
        hips++;
        if (!omo_clear_at(take, k, OMO_CHEST) || !omo_clear_at(take, k, OMO_SHOULDER))
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
void omo_hold_row(struct omo_take *take, size_t k)
{
    struct omo_hold *hold = &take->hold;
    bool hip = omo_clear_at(take, k, OMO_HIP);
    bool whole = hip && (!hold->chest || (omo_clear_at(take, k, OMO_CHEST) &&
                                          omo_clear_at(take, k, OMO_SHOULDER)));
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
void omo_hold_hip(struct omo_take *take, bool chest)
{
    take->hold =
        (struct omo_hold){.chest = chest, .held = {.known = false, .turn_deg = NAN}};
    for (size_t k = 0; k < take->count; k++)
        omo_hold_row(take, k);
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
    if (!omo_clear_at(take, k, OMO_HIP) || !omo_clear_at(take, k, OMO_SHOULDER) ||
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
        if (omo_clear_at(take, k, OMO_HIP) && omo_clear_at(take, k, anchor))
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
        if (!still_low(take, k, away_px) || !omo_clear_at(take, k, anchor))
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
void omo_find_rest_hip(struct omo_take *take)
{
    const struct omo_rest *rest = &take->rest;
    struct place_sum chest = {0};
    if (!rest->found || !rest->shoulder_known)
        return;
    for (size_t k = rest->first; k <= rest->last; k++) {
        if (omo_clear_at(take, k, OMO_CHEST))
            add_place(&chest, omo_still_place(take, k, OMO_CHEST));
    }
    bool by_chest =
        take->trunk.kind == OMO_REFERENCE_CHEST_HIP && chest.count >= OMO_CLEAR_MIN;
    enum omo_role anchor = by_chest ? OMO_CHEST : OMO_SHOULDER;
    struct place_sum sum = way_at_rest(take, anchor);
    struct omo_point way = {0, 0};
    if (sum.count >= OMO_CLEAR_MIN)
        way = mean_place(&sum);
    else if (!way_low(take, anchor, &way))
        return;
    struct omo_point from = by_chest ? mean_place(&chest) : rest->shoulder;
    take->trunk.rest_hip = (struct omo_point){from.x + way.x, from.y + way.y};
    take->trunk.rest_hip_known = true;
}
