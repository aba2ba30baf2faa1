#include <math.h>
#include <stdlib.h>

#include "motion/hike.h"
#include "omogon/filter.h"

#define BIN_DEG 2.0
#define LOW_DEG (-30.0)
/* The arm goes up when it gains this much over a window as long on either side: a hand's
 * tremor on the way down does not, a raise of a minute does. Our choice. */
#define UP_DEG_PER_S 2.0
#define UP_REACH_S   0.1
#define TOLERANCE_S  1e-6 /* time stamps have six decimals */
#define MAD_TO_SD    1.4826

/** Row within reach of k on one side that has an angle and is the farthest. */
static size_t reach(const struct omo_trace_row *rows, size_t count, size_t k, bool on)
{
    size_t at = k, farthest = k;
    while (on ? at + 1 < count : at > 0) {
        at = on ? at + 1 : at - 1;
        if (!(fabs(rows[at].time_s - rows[k].time_s) <= UP_REACH_S + TOLERANCE_S))
            break;
        if (isfinite(rows[at].angle_deg))
            farthest = at;
    }
    return farthest;
}

/** The bin a row belongs to, or -1. */
static int bin_of(const struct omo_trace_row *rows, size_t count, size_t k)
{
    if (!isfinite(rows[k].angle_deg) || !isfinite(rows[k].hike_ratio))
        return -1;
    double bin = floor((rows[k].angle_deg - LOW_DEG) / BIN_DEG);
    if (!(bin >= 0.0 && bin < OMO_RISE_MAX))
        return -1;
    size_t first = reach(rows, count, k, false), last = reach(rows, count, k, true);
    double gained_deg = rows[last].angle_deg - rows[first].angle_deg;
    double for_s = rows[last].time_s - rows[first].time_s;
    return for_s > 0.0 && gained_deg >= UP_DEG_PER_S * for_s ? (int)bin : -1;
}

/** Rows sorted by bin: those of bin b are order[start[b]] .. order[start[b + 1] - 1]. */
struct binned {
    int *bin;
    size_t *order;
    double *value;
    size_t start[OMO_RISE_MAX + 1];
};

static enum omo_status sort_rows(const struct omo_trace_row *rows, size_t count,
                                 struct binned *b)
{
    size_t next[OMO_RISE_MAX];
    b->bin = calloc(count + 1, sizeof *b->bin);
    b->order = calloc(count + 1, sizeof *b->order);
    b->value = calloc(count + 1, sizeof *b->value);
    if (b->bin == NULL || b->order == NULL || b->value == NULL)
        return OMO_ERR_MEMORY;
    for (size_t k = 0; k < count; k++) {
        b->bin[k] = bin_of(rows, count, k);
        if (b->bin[k] >= 0)
            b->start[b->bin[k] + 1]++;
    }
    for (int i = 0; i < OMO_RISE_MAX; i++) {
        b->start[i + 1] += b->start[i];
        next[i] = b->start[i];
    }
    for (size_t k = 0; k < count; k++) {
        if (b->bin[k] >= 0)
            b->order[next[b->bin[k]]++] = k;
    }
    return OMO_OK;
}

static void read_bin(const struct omo_trace_row *rows, const struct binned *b, int bin,
                     struct omo_rise_point *point)
{
    size_t first = b->start[bin], frames = b->start[bin + 1] - first, leans = 0;
    *point = (struct omo_rise_point){.frames = (int)frames};
    for (size_t i = 0; i < frames; i++) {
        const struct omo_trace_row *row = &rows[b->order[first + i]];
        point->angle_deg += row->angle_deg / (double)frames;
        b->value[i] = row->hike_ratio;
    }
    point->ratio = omo_median(b->value, frames);
    for (size_t i = 0; i < frames; i++)
        b->value[i] = fabs(b->value[i] - point->ratio);
    point->ratio_sd = MAD_TO_SD * omo_median(b->value, frames);
    for (size_t i = 0; i < frames; i++) {
        double lean_deg = rows[b->order[first + i]].trunk_lean_deg;
        if (isfinite(lean_deg))
            b->value[leans++] = lean_deg;
    }
    point->lean_deg = omo_median(b->value, leans);
}

enum omo_status omo_rise_of(const struct omo_trace_row *rows, size_t count,
                            struct omo_rise *rise)
{
    struct binned b = {0};
    enum omo_status status = sort_rows(rows, count, &b);
    if (status == OMO_OK && b.start[OMO_RISE_MAX] == 0)
        status = OMO_ERR_EMPTY;
    if (status == OMO_OK) {
        rise->count = 0;
        for (int i = 0; i < OMO_RISE_MAX; i++) {
            if (b.start[i + 1] > b.start[i])
                read_bin(rows, &b, i, &rise->point[rise->count++]);
        }
    }
    free(b.bin);
    free(b.order);
    free(b.value);
    return status;
}

double omo_rise_at(const struct omo_rise *rise, double angle_deg, double *sd)
{
    int on = 0;
    if (rise->count == 0 || !isfinite(angle_deg))
        return NAN;
    while (on < rise->count && rise->point[on].angle_deg < angle_deg)
        on++;
    const struct omo_rise_point *high = &rise->point[on < rise->count ? on : on - 1];
    const struct omo_rise_point *low = &rise->point[on > 0 ? on - 1 : 0];
    double span_deg = high->angle_deg - low->angle_deg;
    double share = span_deg > 0.0 ? (angle_deg - low->angle_deg) / span_deg : 0.0;
    share = fmin(fmax(share, 0.0), 1.0);
    if (sd != NULL)
        *sd = low->ratio_sd + share * (high->ratio_sd - low->ratio_sd);
    return low->ratio + share * (high->ratio - low->ratio);
}
