#include "omogon/desk.h"

#include <math.h>
#include <stdlib.h>

#include "omogon/filter.h"
#include "omogon/stay.h"

/* Between the two looks, as omo_measure() sees them: long enough to be no movement. */
#define BETWEEN_S 1.0

/** Both looks as one take, the arm let go first, where rest is looked for. */
struct looks {
    struct omo_track_frame *frames;
    struct omo_trace_row *rows;
    double *value; /**< room for a median */
    size_t let_go, count;
};

static void finish(struct looks *looks)
{
    free(looks->frames);
    free(looks->rows);
    free(looks->value);
}

static enum omo_status join(struct looks *looks, const struct omo_track_frame *found,
                            size_t found_count, const struct omo_track_frame *let_go,
                            size_t let_go_count)
{
    looks->let_go = let_go_count;
    looks->count = let_go_count + found_count;
    looks->frames = calloc(looks->count, sizeof *looks->frames);
    looks->rows = calloc(looks->count, sizeof *looks->rows);
    looks->value = calloc(looks->count, sizeof *looks->value);
    if (looks->frames == NULL || looks->rows == NULL || looks->value == NULL)
        return OMO_ERR_MEMORY;
    double later_s = let_go[let_go_count - 1].time_s + BETWEEN_S - found[0].time_s;
    for (size_t k = 0; k < looks->count; k++) {
        bool first = k < let_go_count;
        looks->frames[k] = first ? let_go[k] : found[k - let_go_count];
        looks->frames[k].index = (int64_t)k;
        looks->frames[k].time_s += first ? 0.0 : later_s;
    }
    return OMO_OK;
}

/** Median over rows from..to of what `read` finds; NAN when there is none. */
static double median_of(const struct looks *looks, size_t from, size_t to,
                        double (*read)(const struct omo_trace_row *, const void *),
                        const void *told)
{
    size_t count = 0;
    for (size_t k = from; k < to; k++) {
        double value = read(&looks->rows[k], told);
        if (isfinite(value))
            looks->value[count++] = value;
    }
    return count > 0 ? omo_median(looks->value, count) : (double)NAN;
}

static double read_angle(const struct omo_trace_row *row, const void *told)
{
    (void)told;
    return row->angle_image_deg;
}

static double read_excess(const struct omo_trace_row *row, const void *told)
{
    return omo_excess_hike_ratio(told, row->angle_image_deg, row->hike_ratio);
}

static double read_mm_a_ratio(const struct omo_trace_row *row, const void *told)
{
    (void)told;
    return fabs(row->hike_ratio) > 1e-6 ? row->hike_mm / row->hike_ratio : (double)NAN;
}

static double length_px(const struct omo_trace_row *row)
{
    const struct omo_marker *a = &row->markers.role[OMO_SHOULDER];
    const struct omo_marker *b = &row->markers.role[OMO_ELBOW];
    bool seen = a->seen != OMO_NOT_SEEN && b->seen != OMO_NOT_SEEN;
    return seen ? hypot(a->x_px - b->x_px, a->y_px - b->y_px) : (double)NAN;
}

static double read_length(const struct omo_trace_row *row, const void *told)
{
    (void)told;
    return length_px(row);
}

static double read_distance(const struct omo_trace_row *row, const void *told)
{
    const double *rest_px = told;
    return length_px(row) / *rest_px * sin(row->angle_image_deg * M_PI / 180.0);
}

static void fill(const struct looks *looks, const struct omo_measure_settings *settings,
                 bool rested, struct omo_desk_figures *out)
{
    size_t let_go = looks->let_go, all = looks->count, seen = 0;
    double rest_px = median_of(looks, 0, let_go, read_length, NULL);
    for (size_t k = let_go; k < all; k++)
        seen += isfinite(looks->rows[k].angle_image_deg);
    *out = (struct omo_desk_figures){
        .hike_ratio = NAN,
        .hike_mm = NAN,
        .elbow_distance_ratio = NAN,
        .elbow_relaxed_ratio = NAN,
        .angle_deg = median_of(looks, let_go, all, read_angle, NULL),
        .seen_ratio = (double)seen / (double)(all - let_go),
    };
    if (!rested)
        return;
    out->hike_ratio = median_of(looks, let_go, all, read_excess, settings);
    out->hike_mm = out->hike_ratio * median_of(looks, 0, all, read_mm_a_ratio, NULL);
    out->elbow_distance_ratio = median_of(looks, let_go, all, read_distance, &rest_px);
    out->elbow_relaxed_ratio = median_of(looks, 0, let_go, read_distance, &rest_px);
}

enum omo_status omo_desk_measure(const struct omo_measure_settings *settings,
                                 const struct omo_track_frame *found, size_t found_count,
                                 const struct omo_track_frame *let_go,
                                 size_t let_go_count, struct omo_desk_figures *out)
{
    struct looks looks = {0};
    struct omo_result result;
    if (found_count == 0 || let_go_count == 0)
        return OMO_ERR_ARG;
    struct omo_measure_settings plain = *settings;
    plain.no_correction = true;
    enum omo_status status = join(&looks, found, found_count, let_go, let_go_count);
    /* Rest has to be in the arm let go: one that is held still is none. */
    struct omo_result rest = {.rest_deg = NAN};
    if (status == OMO_OK)
        status = omo_measure(&plain, looks.frames, looks.let_go, looks.rows, &rest);
    bool rested = status == OMO_OK && isfinite(rest.rest_deg);
    if (status == OMO_OK || status == OMO_ERR_EMPTY)
        status = omo_measure(&plain, looks.frames, looks.count, looks.rows, &result);
    if (status == OMO_OK) {
        struct omo_desk_figures figures;
        fill(&looks, &plain, rested, &figures);
        figures.reference = result.reference;
        if (isfinite(figures.angle_deg))
            *out = figures;
        else
            status = OMO_ERR_EMPTY;
    }
    finish(&looks);
    return status;
}
