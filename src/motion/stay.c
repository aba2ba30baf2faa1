#include "omogon/stay.h"

#include <math.h>
#include <stdlib.h>

#include "motion/hike.h"
#include "motion/stay_filter.h"

/* Our choices. */
#define LOW_DEG         25.0
#define STILL_DEG_PER_S 1.5
#define HIKE_RATIO      0.08 /* models/allowances.ini: what a hike may be */
#define STILL_ENOUGH    0.83 /* as likely has to be that the arm is still ... */
#define STILL_FOR_S     0.1  /* ... for so long */
#define EDGE_DEG        1.0  /* of the low part, so that its border is crossed once */
#define START_LOW_DEG   5.0  /* rotations: so near to the start is "down" */
#define EASED_DEG       1.3  /* so far over a stop it is left; less is the same stop */
#define SUNK_DEG        1.5  /* so far below it it is left */
#define TURNED_DEG      2.0  /* so far back from the highest the arm comes down */
#define REFINE_FROM_S   1.0  /* the mean of a stop begins so late ... */
#define REFINE_LEAST_S  0.3  /* ... before that the last moments count */
#define HIKE_SMOOTH_S   0.5
#define SETTLED_FOR_S   1.0
#define GAP_S           2.0

struct omo_stay {
    struct omo_stay_settings settings;
    struct omo_stay_filter filter;
    struct omo_stay_view view;
    double base_deg;  /**< start of a rotation; NAN not seen yet */
    double first_deg; /**< first stop of this reach; NAN */
    double still_s;   /**< how long it seems still */
    double turn_deg;  /**< highest on the way up, lowest on the way down */
    double hike_ratio, low_hike_s;
};

void omo_stay_settings_default(struct omo_stay_settings *settings)
{
    *settings = (struct omo_stay_settings){.low_deg = LOW_DEG,
                                           .still_deg_per_s = STILL_DEG_PER_S,
                                           .excess_hike_ratio = HIKE_RATIO};
}

enum omo_status omo_stay_create(const struct omo_stay_settings *settings,
                                struct omo_stay **out)
{
    if (!isfinite(settings->low_deg) || !(settings->still_deg_per_s > 0.0) ||
        !isfinite(settings->still_deg_per_s) || !(settings->excess_hike_ratio >= 0.0))
        return OMO_ERR_ARG;
    struct omo_stay *stay = calloc(1, sizeof *stay);
    if (stay == NULL)
        return OMO_ERR_MEMORY;
    stay->settings = *settings;
    omo_stay_filter_init(&stay->filter);
    stay->base_deg = stay->first_deg = stay->hike_ratio = NAN;
    stay->view = (struct omo_stay_view){.time_s = NAN,
                                        .angle_deg = NAN,
                                        .stop_deg = NAN,
                                        .gain_deg = NAN,
                                        .excess_hike_ratio = NAN};
    *out = stay;
    return OMO_OK;
}

void omo_stay_destroy(struct omo_stay *stay)
{
    free(stay);
}

/** Below it the arm is down; NAN while that is not known. */
static double low_deg(const struct omo_stay *stay)
{
    return stay->settings.held_at_start ? stay->base_deg + START_LOW_DEG
                                        : stay->settings.low_deg;
}

/* ---- the shoulder ---- */

static void follow_hike(struct omo_stay *stay, double step_s, double hike_ratio)
{
    if (isfinite(hike_ratio)) {
        double share =
            isfinite(stay->hike_ratio) ? 1.0 - exp(-step_s / HIKE_SMOOTH_S) : 1;
        double from = isfinite(stay->hike_ratio) ? stay->hike_ratio : 0.0;
        stay->hike_ratio = from + share * (hike_ratio - from);
        bool low = stay->hike_ratio <= stay->settings.excess_hike_ratio;
        stay->low_hike_s = low ? stay->low_hike_s + step_s : 0.0;
    }
    stay->view.excess_hike_ratio = stay->hike_ratio;
    stay->view.settled =
        stay->view.phase == OMO_STAY_STOPPED && stay->low_hike_s >= SETTLED_FOR_S;
}

/* ---- the arm ---- */

static void go(struct omo_stay *stay, enum omo_stay_phase phase, double level_deg)
{
    stay->view.phase = phase;
    stay->turn_deg = level_deg;
    stay->still_s = 0;
}

static void go_down(struct omo_stay *stay, double level_deg)
{
    if (stay->view.phase != OMO_STAY_DOWN)
        stay->view.reaches++;
    go(stay, OMO_STAY_DOWN, level_deg);
}

static void leave_down(struct omo_stay *stay, double level_deg)
{
    stay->first_deg = stay->view.gain_deg = NAN;
    stay->view.stops = 0;
    stay->view.held_s = 0;
    go(stay, OMO_STAY_RISING, level_deg);
}

/** Arrived: at a new stop, or back at the one that seemed left. */
static void arrive(struct omo_stay *stay, double level_deg)
{
    struct omo_stay_view *view = &stay->view;
    bool same = view->stops > 0 && fabs(level_deg - view->stop_deg) < EASED_DEG;
    go(stay, OMO_STAY_STOPPED, level_deg);
    if (same)
        return;
    view->stop_began = true;
    view->stop_deg = level_deg;
    view->held_s = 0;
    view->stops++;
    stay->low_hike_s = 0;
    if (view->stops == 1)
        stay->first_deg = level_deg;
}

/** Reads the stop's angle more exactly while the arm stands: the mean over the stop,
 * which a slow easing up does not take along. */
static void refine(struct omo_stay *stay, double step_s, double level_deg)
{
    struct omo_stay_view *view = &stay->view;
    double over_s = fmax(view->held_s - REFINE_FROM_S, REFINE_LEAST_S);
    view->stop_deg += (1.0 - exp(-step_s / over_s)) * (level_deg - view->stop_deg);
    if (view->stops == 1)
        stay->first_deg = view->stop_deg;
}

static void at_stop(struct omo_stay *stay, const struct omo_stay_thought *now,
                    double step_s)
{
    stay->view.held_s += step_s;
    if (now->level_deg > stay->view.stop_deg + EASED_DEG)
        go(stay, OMO_STAY_RISING, now->level_deg);
    else if (now->level_deg < stay->view.stop_deg - SUNK_DEG)
        go(stay, OMO_STAY_LOWERING, now->level_deg);
    else if (now->still >= STILL_ENOUGH)
        refine(stay, step_s, now->level_deg);
}

static void on_the_way(struct omo_stay *stay, const struct omo_stay_thought *now,
                       double step_s)
{
    bool up = stay->view.phase == OMO_STAY_RISING;
    stay->still_s = now->still >= STILL_ENOUGH ? stay->still_s + step_s : 0.0;
    if (stay->still_s >= STILL_FOR_S) {
        arrive(stay, now->level_deg);
        return;
    }
    stay->turn_deg =
        up ? fmax(stay->turn_deg, now->level_deg) : fmin(stay->turn_deg, now->level_deg);
    if (fabs(now->level_deg - stay->turn_deg) > TURNED_DEG)
        go(stay, up ? OMO_STAY_LOWERING : OMO_STAY_RISING, now->level_deg);
}

static void follow_arm(struct omo_stay *stay, double step_s)
{
    struct omo_stay_thought now;
    omo_stay_filter_think(&stay->filter, stay->settings.still_deg_per_s, &now);
    if (!now.any)
        return;
    stay->view.angle_deg = now.level_deg;
    if (stay->settings.held_at_start && isnan(stay->base_deg)) {
        stay->still_s = now.still >= STILL_ENOUGH ? stay->still_s + step_s : 0.0;
        if (stay->still_s >= SETTLED_FOR_S)
            stay->base_deg = now.level_deg;
        return;
    }
    if (stay->view.phase == OMO_STAY_DOWN) {
        if (now.level_deg > low_deg(stay) + EDGE_DEG)
            leave_down(stay, now.level_deg);
    } else if (now.level_deg < low_deg(stay) - EDGE_DEG) {
        go_down(stay, now.level_deg);
    } else if (stay->view.phase == OMO_STAY_STOPPED) {
        at_stop(stay, &now, step_s);
    } else {
        on_the_way(stay, &now, step_s);
    }
    if (stay->view.stops > 0)
        stay->view.gain_deg = stay->view.stop_deg - stay->first_deg;
}

void omo_stay_step(struct omo_stay *stay, double time_s, double angle_deg,
                   double excess_hike_ratio, struct omo_stay_view *view)
{
    double step_s = time_s - stay->view.time_s;
    bool goes_on = step_s >= 0.0 && step_s <= GAP_S; /* false at first and over a gap */
    if (isfinite(time_s)) {
        stay->view.stop_began = false;
        stay->view.time_s = time_s;
        omo_stay_filter_step(&stay->filter, time_s, angle_deg);
        if (isfinite(angle_deg))
            follow_arm(stay, goes_on ? step_s : 0.0);
        follow_hike(stay, goes_on ? step_s : 0.0, excess_hike_ratio);
    }
    *view = stay->view;
}

double omo_excess_hike_ratio(const struct omo_measure_settings *settings,
                             double angle_deg, double hike_ratio)
{
    return hike_ratio - omo_expected_rise(&settings->movement->allowances,
                                          settings->expected_rise, angle_deg);
}

/* ---- breaths ---- */

double omo_breath_line(double since_s, double breaths_per_min, double in_share)
{
    double breaths = since_s * breaths_per_min / 60.0;
    if (!(breaths > 0.0) || !isfinite(breaths))
        return 0;
    double share = breaths - floor(breaths), in = fmin(fmax(in_share, 0.0), 1.0);
    double way = share < in ? share / in : (1.0 - share) / (1.0 - in);
    return 0.5 - 0.5 * cos(M_PI * way);
}

int omo_breaths_done(double since_s, double breaths_per_min)
{
    double breaths = since_s * breaths_per_min / 60.0;
    /* The last bit of a product must not cost a breath. */
    return breaths > 0.0 && breaths < 1e6 ? (int)floor(breaths + 1e-9) : 0;
}
