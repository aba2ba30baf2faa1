#include "motion/take.h"

#include <math.h>

/* The first stretch of at least this long with movement under this. */
#define REST_S          1.0
#define REST_SPREAD_DEG 2.0
/* Its ends are cut back to within this of its median: the movement begins there. */
#define ONSET_DEG      0.5
#define TIME_TOLERANCE 1e-6 /* s; time stamps have six decimals */

/** The stretch that is being tried: rows first..last with a value. */
struct stretch {
    bool open;
    size_t first, last;
};

/** Takes row k in and drops the oldest rows until the movement is small enough again.
 *  False when a stretch that is long enough already would have to lose rows. */
static bool take_in(struct omo_window *window, struct stretch *s, size_t k, bool found)
{
    if (!s->open)
        s->first = k;
    s->open = true;
    omo_window_push(window, k);
    while (omo_window_high(window) - omo_window_low(window) >= REST_SPREAD_DEG) {
        if (found)
            return false;
        do
            s->first++;
        while (!isfinite(window->value[s->first]));
        omo_window_drop(window, s->first);
    }
    s->last = k;
    return true;
}

/** Cuts the beginning movement off the stretch. */
static void trim_stretch(struct omo_take *take, const double *deg)
{
    struct omo_rest *rest = &take->rest;
    size_t kept = 0;
    for (size_t k = rest->first; k <= rest->last; k++) {
        if (isfinite(deg[k]))
            take->work[kept++] = deg[k];
    }
    double median_deg = omo_median(take->work, kept);
    while (rest->last > rest->first && !(fabs(deg[rest->last] - median_deg) <= ONSET_DEG))
        rest->last--;
    while (rest->first < rest->last &&
           !(fabs(deg[rest->first] - median_deg) <= ONSET_DEG))
        rest->first++;
}

/** Finds the first stretch in `deg`, one value a frame, and follows it to its end. */
static enum omo_status find_stretch(struct omo_take *take, const double *deg)
{
    double below_deg = take->settings->movement->rest_below_deg;
    struct omo_rest *rest = &take->rest;
    struct omo_window window;
    enum omo_status status = omo_window_init(&window, deg, take->count);
    if (status != OMO_OK)
        return status;
    struct stretch s = {false, 0, 0};
    for (size_t k = 0; k < take->count; k++) {
        if (!isfinite(deg[k]))
            continue;
        bool away = !(fabs(deg[k]) < below_deg);
        bool broken = s.open && omo_gap_between(take->time_s[s.last], take->time_s[k],
                                                take->step_s, OMO_GAP_S);
        if (away || broken) {
            if (rest->found)
                break;
            s.open = false;
            omo_window_clear(&window);
        }
        if (away)
            continue;
        if (!take_in(&window, &s, k, rest->found))
            break;
        if (take->time_s[s.last] - take->time_s[s.first] >= REST_S - TIME_TOLERANCE) {
            rest->found = true;
            rest->first = s.first;
            rest->last = s.last;
        }
    }
    omo_window_finish(&window);
    if (rest->found)
        trim_stretch(take, deg);
    return OMO_OK;
}

/** What the rest's frames say on the mean. */
static void read_rest(struct omo_take *take)
{
    struct omo_rest *rest = &take->rest;
    double x = 0, y = 0, length = 0, angle_deg = 0;
    size_t shoulders = 0, lengths = 0;
    for (size_t k = rest->first; k <= rest->last; k++) {
        if (take->ignored[k])
            continue;
        if (omo_seen(&take->frames[k].markers, OMO_SHOULDER)) {
            struct omo_point p = omo_still_place(take, k, OMO_SHOULDER);
            x += p.x;
            y += p.y;
            shoulders++;
        }
        if (isfinite(take->length_px[k])) {
            length += take->length_px[k];
            angle_deg += take->segment_deg[k];
            lengths++;
        }
    }
    rest->shoulder_known = shoulders > 0;
    if (shoulders > 0)
        rest->shoulder = (struct omo_point){x / (double)shoulders, y / (double)shoulders};
    if (lengths > 0) {
        rest->segment_px = length / (double)lengths;
        rest->segment_deg = angle_deg / (double)lengths;
    }
}

/** The shoulder marker's size at rest, else over the whole take. */
static double shoulder_diameter_px(struct omo_take *take)
{
    size_t first = take->rest.found ? take->rest.first : 0;
    size_t last = take->rest.found ? take->rest.last : take->count - 1;
    size_t kept = 0;
    for (size_t k = first; k <= last; k++) {
        const struct omo_markers *m = &take->frames[k].markers;
        double px = m->role[OMO_SHOULDER].diameter_px;
        if (omo_seen(m, OMO_SHOULDER) && isfinite(px) && px > 0.0)
            take->work[kept++] = px;
    }
    return omo_median(take->work, kept);
}

enum omo_status omo_find_rest(struct omo_take *take)
{
    const struct omo_measure_settings *s = take->settings;
    take->rest =
        (struct omo_rest){.segment_px = NAN, .segment_deg = NAN, .mm_per_px = NAN};
    /* Judged on the filtered series: pixel noise is not movement. The series stays near
     * zero where it matters, so its branch does too. */
    for (size_t k = 0; k < take->count; k++)
        take->work[k] = take->ignored[k] ? (double)NAN : take->segment_deg[k];
    enum omo_status status =
        omo_smooth_series(take->time_s, take->work, take->count, s->cutoff_hz, OMO_GAP_S,
                          OMO_FILTER_SHORT_S, take->smoothed, NULL);
    if (status == OMO_OK)
        status = find_stretch(take, take->smoothed);
    if (status != OMO_OK)
        return status;
    if (take->rest.found) {
        omo_trim_to_breaths(take);
        read_rest(take);
    }
    take->rest.mm_per_px = s->marker_size_mm / shoulder_diameter_px(take);
    return OMO_OK;
}
