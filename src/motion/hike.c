#include "motion/hike.h"

#include <math.h>

#include "motion/take.h"
#include "omogon/segmented.h"

/* Where the onset is looked for. A stretch of rise narrower than this is a jerk or a
 * marker's step; nearer than this to either end of the data nobody can tell a stretch
 * from the end of the course. Our choice; what has to be found there is in models/. */
#define STRETCH_LEAST_DEG 12.0
#define MARGIN_DEG        8.0
/* A raise hitches when the shoulder is this share of the stretch's rise above the course.
 * Our choice. */
#define HITCHING_SHARE 0.5
#define TOLERANCE_S    1e-6 /* time stamps have six decimals */

/* ---- what is expected and allowed ---- */

double omo_expected_rise(const struct omo_allowances *a, const struct omo_rise *own,
                         double angle_deg)
{
    if (own != NULL && own->count > 0)
        return omo_rise_at(own, angle_deg, NULL);
    /* The shoulder rises whichever way the arm goes. */
    double raised_deg = fabs(omo_wrap_deg(angle_deg, -180.0));
    double share =
        (raised_deg - a->rise_from_deg) / (a->rise_full_deg - a->rise_from_deg);
    return isfinite(share) ? a->rise_ratio * fmax(share, 0.0) : (double)NAN;
}

double omo_allowed_hike(const struct omo_allowances *a, const struct omo_rise *own,
                        double angle_deg)
{
    double sd = 0;
    if (own == NULL || isnan(omo_rise_at(own, angle_deg, &sd)))
        return a->hike_ratio;
    return fmax(a->hike_own_ratio, 2.0 * sd);
}

double omo_allowed_lean_deg(const struct omo_allowances *a, enum omo_reference reference)
{
    return a->lean_deg + (reference == OMO_REFERENCE_SHIFT ? a->trunk_shift_deg : 0.0);
}

/* ---- the onset: where a stretch of steep rise begins on the person's own course ---- */

struct onset {
    bool found;
    struct omo_stretch_fit fit;
};

/** What the person's own curve says at an angle; 0 without one, since the course of the
 *  fit then takes up what is natural. */
static double own_rise(const struct omo_take *take, double angle_deg)
{
    const struct omo_rise *own = take->settings->expected_rise;
    return own != NULL && own->count > 0 ? omo_rise_at(own, angle_deg, NULL) : 0.0;
}

/** Median of a point and its neighbours: one raise may have a single frame in a bin. */
static double middle_of(const struct omo_rise *rise, int i)
{
    double near[3];
    size_t count = 0;
    for (int k = i - 1; k <= i + 1; k++) {
        if (k >= 0 && k < rise->count)
            near[count++] = rise->point[k].ratio;
    }
    return count == 3 ? omo_median(near, count) : rise->point[i].ratio;
}

static enum omo_status find_onset(const struct omo_take *take,
                                  const struct omo_rise *rise, struct onset *onset)
{
    const struct omo_allowances *a = &take->settings->movement->allowances;
    double x[OMO_RISE_MAX], y[OMO_RISE_MAX];
    for (int i = 0; i < rise->count; i++) {
        x[i] = rise->point[i].angle_deg;
        y[i] = middle_of(rise, i) - own_rise(take, x[i]);
    }
    const struct omo_stretch_limits limits = {.from_least = a->onset_from_deg,
                                              .margin = MARGIN_DEG,
                                              .width_least = STRETCH_LEAST_DEG,
                                              .width_most = a->onset_over_deg};
    struct omo_stretch_fit *fit = &onset->fit;
    enum omo_status status = omo_stretch_fit(x, y, (size_t)rise->count, &limits, fit);
    onset->found = status == OMO_OK && fit->chance <= a->onset_chance &&
                   fit->rise_seen >= a->onset_rise_ratio &&
                   fit->rise / fit->width >= a->onset_slope_ratio_per_deg;
    return status == OMO_ERR_MEMORY ? status : OMO_OK;
}

/* ---- the first frame of it ---- */

static bool hitching(const struct omo_take *take, const struct onset *onset, size_t k)
{
    const struct omo_trace_row *row = &take->rows[k];
    if (!(row->angle_deg >= onset->fit.from))
        return false;
    double course =
        omo_stretch_course(&onset->fit, row->angle_deg) + own_rise(take, row->angle_deg);
    return row->hike_ratio - course >= HITCHING_SHARE * onset->fit.rise_seen;
}

static bool beyond_allowance(const struct omo_take *take, double rest_lean_deg, size_t k)
{
    const struct omo_allowances *a = &take->settings->movement->allowances;
    const struct omo_rise *own = take->settings->expected_rise;
    const struct omo_trace_row *row = &take->rows[k];
    double excess = row->hike_ratio - omo_expected_rise(a, own, row->angle_deg);
    return excess > omo_allowed_hike(a, own, row->angle_deg) ||
           fabs(row->trunk_lean_deg - rest_lean_deg) >
               omo_allowed_lean_deg(a, row->reference);
}

/** Lean over the rest's rows on the mean; 0 when it is not known there. */
static double rest_lean_deg(const struct omo_take *take)
{
    double sum_deg = 0;
    size_t found = 0;
    for (size_t k = take->rest.first; k <= take->rest.last; k++) {
        if (!isfinite(take->rows[k].trunk_lean_deg))
            continue;
        sum_deg += take->rows[k].trunk_lean_deg;
        found++;
    }
    return found > 0 ? sum_deg / (double)found : 0.0;
}

/** A run of frames in which something is so; frames without an angle are passed over up
 *  to the longest gap. */
struct run {
    bool open;
    size_t first, last;
};

/** Takes row k in; true once the run is as long as a maximum's window. */
static bool lasts(const struct omo_take *take, struct run *run, size_t k, bool so)
{
    const double *time_s = take->time_s;
    bool gap = run->open &&
               omo_gap_between(time_s[run->last], time_s[k], take->step_s, OMO_GAP_S);
    if (!so || gap)
        run->open = false;
    if (!so)
        return false;
    if (!run->open)
        run->first = k;
    run->open = true;
    run->last = k;
    return time_s[k] - time_s[run->first] >= OMO_MAX_WINDOW_S - TOLERANCE_S;
}

/** Back from a frame that hitches to where its raise passed the onset's angle. */
static size_t back_to_onset(const struct omo_take *take, const struct onset *onset,
                            size_t k)
{
    size_t at = k;
    while (k > 0 && !(take->rows[k - 1].angle_deg < onset->fit.from)) {
        k--;
        if (isfinite(take->rows[k].angle_deg))
            at = k;
    }
    return at;
}

/** First frame of excess hike or lean; take->count when there is none. */
static size_t first_excess(const struct omo_take *take, struct onset *onset)
{
    struct run hitch = {0}, beyond = {0};
    size_t first = take->count;
    double lean_deg = rest_lean_deg(take);
    bool hitched = !onset->found, passed = false;
    onset->found = false; /* until a raise hitches for as long as a maximum takes */
    for (size_t k = 0; k < take->count && !(hitched && passed); k++) {
        if (!isfinite(take->rows[k].angle_deg))
            continue;
        if (!hitched && lasts(take, &hitch, k, hitching(take, onset, k))) {
            size_t from = back_to_onset(take, onset, hitch.first);
            first = from < first ? from : first;
            hitched = onset->found = true;
        }
        if (!passed && lasts(take, &beyond, k, beyond_allowance(take, lean_deg, k))) {
            first = beyond.first < first ? beyond.first : first;
            passed = true;
        }
    }
    return first;
}

/** The maximum over the frames before a row. An arm that is on its way there has been at
 *  its angle for no time yet, and would lose what it moves in a maximum's window; so the
 *  frames of one window after it count as well, but for no more than that angle. */
static double max_before(struct omo_take *take, size_t row, size_t *at)
{
    const double *time_s = take->time_s;
    size_t k = 0;
    double most_deg = take->rows[row].angle_deg;
    for (; k < take->count; k++) {
        double angle_deg = take->rows[k].angle_deg;
        if (k >= row && time_s[k] - time_s[row] > OMO_MAX_WINDOW_S + TOLERANCE_S)
            break;
        take->work[k] = k >= row && angle_deg > most_deg ? most_deg : angle_deg;
    }
    return omo_sustained_max_deg(time_s, take->work, k, OMO_MAX_WINDOW_S, OMO_GAP_S,
                                 INFINITY, at);
}

bool omo_hike_is_told(const struct omo_take *take)
{
    return !take->settings->band[OMO_SHOULDER] || isfinite(take->trunk.acromion_px);
}

double omo_hike_arm_px(const struct omo_take *take)
{
    const bool *band = take->settings->band;
    if (!band[OMO_SHOULDER])
        return take->rest.segment_px;
    const struct omo_allowances *a = &take->settings->movement->allowances;
    double to = band[OMO_ELBOW] ? a->elbow_band_ratio : 1.0;
    return take->rest.segment_px / (to - a->shoulder_band_ratio);
}

enum omo_status omo_judge_hike(struct omo_take *take)
{
    struct omo_result *result = take->result;
    struct omo_budget *budget = &result->budget[OMO_MAXIMUM_BEFORE_HIKE];
    struct onset onset = {.found = false};
    if (take->settings->movement->geometry != OMO_GEOMETRY_ELEVATION ||
        !omo_hike_is_told(take) || !take->rest.found ||
        take->trunk.kind == OMO_REFERENCE_NONE || isnan(result->max_deg))
        return OMO_OK;
    struct omo_rise rise;
    enum omo_status status = omo_rise_of(take->rows, take->count, &rise);
    if (status == OMO_ERR_EMPTY) /* no rise in any raise: nothing to judge by */
        return OMO_OK;
    if (status == OMO_OK)
        status = find_onset(take, &rise, &onset);
    if (status != OMO_OK)
        return status;
    take->excess_row = first_excess(take, &onset);
    if (onset.found)
        result->hike_onset_deg = onset.fit.from;
    if (take->excess_row == take->count) {
        result->max_before_hike_deg = result->max_deg;
        *budget = result->budget[OMO_MAXIMUM_HIGHEST];
        return OMO_OK;
    }
    size_t at = 0;
    result->max_before_hike_deg = max_before(take, take->excess_row, &at);
    if (!isnan(result->max_before_hike_deg))
        omo_budget_of_row(take, at, budget);
    return OMO_OK;
}
