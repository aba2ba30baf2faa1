#include "motion/take.h"

#include <math.h>

/* A hidden marker's last clear place is the mean over this time. */
#define HOLD_S 0.5
/* When hip or chest is hidden at rest: frames in which the arm is still low, within this
 * time of the first of them, or this little movement of the arm. The line from chest to
 * hip is the trunk's own, which hardly leans yet with the arm a little higher; the hip's
 * place is told from the shoulder, which has to be in its own place still. */
#define LOW_ARM_DEG       40.0
#define LOW_ARM_CHEST_DEG 50.0
#define SHOULDER_AWAY_MM  10.0
#define LOW_ARM_S         0.3
#define LOW_ARM_WAY_DEG   10.0
/* A line over the arm's angle needs this many rows and this much movement, and is not
 * followed so far that the noise of one row is multiplied by more than this: 0.1 degrees
 * by a sticker's noise then come to 0.4. Our choice. */
#define EXTRAPOLATE_MIN    3
#define EXTRAPOLATE_SD_DEG 1.0
/* The shoulder's way goes with the arm and is followed back to the arm's rest. The
 * chest's is sway, or a lean that has begun: of that a share. Our choice, by simulation.
 */
#define CHEST_BACK_SHARE 0.45
/* With the arm this far out nothing is before the trunk's markers; below it, one that
 * states so many times the noise it has then is partly covered. Our choice. */
#define RAISED_DEG    60.0
#define RAISED_ROWS   8
#define COVERED_SIGMA 1.7
#define DOUBT_MOST    4.0

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
    const struct omo_trunk *trunk = &take->trunk;
    if (trunk->rest_hip_known)
        leading.hip = trunk->rest_hip;
    if (trunk->rest_hip_known && omo_has_length(trunk->rest_line))
        leading.turn_deg =
            omo_turn_deg(omo_point_sub(trunk->rest_hip, take->rest.shoulder),
                         trunk->rest_line);
    for (size_t k = 0; k < first_clear; k++) {
        take->held[k].turn_deg = leading.turn_deg;
        if (!take->held[k].known)
            take->held[k].hip = leading.hip;
        take->held[k].known = true;
    }
}

/* ---- where the hip is at rest ---- */

/** The least noise that it states over so many rows in a row; INFINITY without them. */
static double least_sigma_px(const struct omo_take *take, enum omo_role role)
{
    double recent[RAISED_ROWS], least = INFINITY;
    size_t rows = 0;
    for (size_t k = 0; k < take->count; k++) {
        double sigma = take->frames[k].markers.role[role].sigma_px, sum = 0;
        if (!omo_clear_at(take, k, role) || !isfinite(sigma)) {
            rows = 0;
            continue;
        }
        recent[rows++ % RAISED_ROWS] = sigma;
        for (size_t i = 0; i < RAISED_ROWS; i++)
            sum += rows >= RAISED_ROWS ? recent[i] : (double)INFINITY;
        least = fmin(least, sum / RAISED_ROWS);
    }
    return least;
}

/** The noise a trunk marker states when the arm is first raised, and nothing is before
 * it. Later frames change nothing, so that what a live movement shows stays what a file
 * will say. An arm that never gets so far (extension, a stiff shoulder) uncovers the
 *  marker too: then the least that it states. */
static double whole_sigma_px(const struct omo_take *take, enum omo_role role)
{
    double sum = 0;
    size_t rows = 0;
    for (size_t k = 0; k < take->count && rows < RAISED_ROWS; k++) {
        double sigma = take->frames[k].markers.role[role].sigma_px;
        if (fabs(take->segment_deg[k]) >= RAISED_DEG && omo_clear_at(take, k, role) &&
            isfinite(sigma)) {
            sum += sigma;
            rows++;
        }
    }
    return rows == RAISED_ROWS ? sum / (double)rows : least_sigma_px(take, role);
}

/** Clear, and not partly covered by the hanging arm, which would draw its middle aside
 *  by more than the marker's whole noise. */
static bool whole_at(const struct omo_take *take, size_t k, enum omo_role role)
{
    return omo_clear_at(take, k, role) && !(take->frames[k].markers.role[role].sigma_px >
                                            COVERED_SIGMA * take->whole_sigma_px[role]);
}

/** Hip and anchor are seen while the arm is low, and the anchor is where it was. */
static bool still_low(const struct omo_take *take, size_t k, enum omo_role anchor,
                      double away_px)
{
    bool chest = anchor == OMO_CHEST;
    if (!whole_at(take, k, OMO_HIP) || !whole_at(take, k, anchor) ||
        !(fabs(take->segment_deg[k]) < (chest ? LOW_ARM_CHEST_DEG : LOW_ARM_DEG)))
        return false;
    return chest || omo_point_distance(omo_still_place(take, k, OMO_SHOULDER),
                                       take->rest.shoulder) <= away_px;
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
        if (whole_at(take, k, OMO_HIP) && whole_at(take, k, anchor))
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

static double square(double x)
{
    return x * x;
}

/** The lines' point at an angle; their middle when the arm hardly moved meanwhile. */
static struct omo_point way_at(const struct way_line *line, double angle_deg)
{
    double n = (double)line->count, middle_deg = line->a / n;
    double variance = line->aa / n - middle_deg * middle_deg;
    double back_deg = angle_deg - middle_deg;
    double doubt = sqrt((1.0 + square(back_deg) / variance) / n);
    struct omo_point way = {line->x / n, line->y / n};
    if (!(variance >= square(EXTRAPOLATE_SD_DEG)) || line->count < EXTRAPOLATE_MIN ||
        !(doubt <= DOUBT_MOST))
        return way;
    way.x += back_deg * (line->ax / n - middle_deg * way.x) / variance;
    way.y += back_deg * (line->ay / n - middle_deg * way.y) / variance;
    return way;
}

static double shoulder_away_px(const struct omo_take *take)
{
    double away_px = SHOULDER_AWAY_MM / take->rest.mm_per_px;
    return isfinite(away_px)
               ? away_px
               : SHOULDER_AWAY_MM / OMO_UPPER_ARM_MM * take->rest.segment_px;
}

/** For a marker that is hidden at rest: the way from the anchor to the hip over the first
 *  rows in which the arm is low, followed back to the arm's angle at rest: a marker that
 *  rides on the arm (a band) has moved with it by then, and a trunk may lean already.
 *  False when it is seen in fewer than `fewest`. */
static bool way_low(const struct omo_take *take, enum omo_role anchor, size_t fewest,
                    struct omo_point *way)
{
    struct way_line line = {0};
    double away_px = shoulder_away_px(take);
    double from_s = NAN, last_s = NAN, from_deg = NAN;
    for (size_t k = 0; k < take->count; k++) {
        if (!still_low(take, k, anchor, away_px))
            continue;
        double time_s = take->time_s[k], angle_deg = take->segment_deg[k];
        from_s = isnan(from_s) ? time_s : from_s;
        from_deg = isnan(from_deg) ? angle_deg : from_deg;
        bool near = fabs(angle_deg - from_deg) <= LOW_ARM_WAY_DEG &&
                    !(time_s - last_s > LOW_ARM_S);
        if (!(time_s - from_s <= LOW_ARM_S) && !near)
            break;
        last_s = time_s;
        add_way(&line, angle_deg,
                omo_point_sub(omo_still_place(take, k, OMO_HIP),
                              omo_still_place(take, k, anchor)));
    }
    if (line.count < fewest)
        return false;
    double seen_deg = line.a / (double)line.count;
    double share = anchor == OMO_CHEST ? CHEST_BACK_SHARE : 1.0;
    *way = way_at(&line, seen_deg + share * (take->rest.segment_deg - seen_deg));
    return true;
}

/** The way from chest to hip at rest: the trunk's own line. */
static void find_rest_line(struct omo_take *take)
{
    struct place_sum sum = way_at_rest(take, OMO_CHEST);
    struct omo_point way = {0, 0};
    if (sum.count >= OMO_CLEAR_MIN)
        take->trunk.rest_line = mean_place(&sum);
    else if (way_low(take, OMO_CHEST, EXTRAPOLATE_MIN, &way))
        take->trunk.rest_line = way;
}

/** The hip's mean place at rest: from an anchor on the trunk, since sway moves both. The
 *  chest is the better anchor, being still when the arm begins to rise. */
void omo_find_rest_hip(struct omo_take *take)
{
    const struct omo_rest *rest = &take->rest;
    struct place_sum chest = {0};
    if (!rest->found || !rest->shoulder_known)
        return;
    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        take->whole_sigma_px[role] = INFINITY;
    take->whole_sigma_px[OMO_HIP] = whole_sigma_px(take, OMO_HIP);
    take->whole_sigma_px[OMO_CHEST] = whole_sigma_px(take, OMO_CHEST);
    if (take->trunk.kind == OMO_REFERENCE_CHEST_HIP)
        find_rest_line(take);
    for (size_t k = rest->first; k <= rest->last; k++) {
        if (whole_at(take, k, OMO_CHEST))
            add_place(&chest, omo_still_place(take, k, OMO_CHEST));
    }
    bool by_chest =
        take->trunk.kind == OMO_REFERENCE_CHEST_HIP && chest.count >= OMO_CLEAR_MIN;
    enum omo_role anchor = by_chest ? OMO_CHEST : OMO_SHOULDER;
    struct place_sum sum = way_at_rest(take, anchor);
    struct omo_point way = {0, 0};
    if (sum.count >= OMO_CLEAR_MIN)
        way = mean_place(&sum);
    else if (!way_low(take, anchor, 1, &way))
        return;
    struct omo_point from = by_chest ? mean_place(&chest) : rest->shoulder;
    take->trunk.rest_hip = (struct omo_point){from.x + way.x, from.y + way.y};
    take->trunk.rest_hip_known = true;
}
