#include <math.h>
#include <stdlib.h>

#include "motion/take.h"

#define CUTOFF_HZ 6.0

void omo_measure_settings_default(struct omo_measure_settings *settings)
{
    *settings = (struct omo_measure_settings){
        .side = OMO_RIGHT,
        .position = OMO_STANDING,
        .marker_size_mm = NAN,
        .shoulder_place = OMO_PLACE_NOT_TOLD,
        .placement_mm = NAN,
        .cutoff_hz = CUTOFF_HZ,
        .rotation_at_abduction_deg = NAN,
        .forearm_mm = NAN,
    };
}

static void result_init(struct omo_result *result)
{
    *result = (struct omo_result){
        .max_deg = NAN,
        .max_u95_deg = NAN,
        .held_max_deg = NAN,
        .mean_of_maxima_deg = NAN,
        .max_before_hike_deg = NAN,
        .rest_deg = NAN,
        .hike_at_max_ratio = NAN,
        .lean_at_max_deg = NAN,
        .trunk_rest_offset_deg = NAN,
        .image_max_deg = NAN,
        .hike_onset_deg = NAN,
        .pivot_offset_ratio = NAN,
        .plane_turn_deg = NAN,
        .rotation_at_abduction_deg = NAN,
        .seen_ratio = NAN,
        .frames_per_second = NAN,
        .frame_at_max = -1,
    };
    for (int i = 0; i < OMO_MAXIMUM_COUNT; i++)
        omo_budget_init(&result->budget[i]);
}

void omo_trace_row_init(struct omo_trace_row *row, const struct omo_track_frame *frame)
{
    *row = (struct omo_trace_row){
        .frame = frame->index,
        .time_s = frame->time_s,
        .angle_deg = NAN,
        .angle_raw_deg = NAN,
        .angle_image_deg = NAN,
        .angle_vertical_deg = NAN,
        .elbow_flexion_deg = NAN,
        .trunk_lean_deg = NAN,
        .hike_ratio = NAN,
        .hike_mm = NAN,
        .quality = (frame->damaged ? OMO_QUALITY_DAMAGED : 0) |
                   (frame->edited ? OMO_QUALITY_EDITED : 0),
        .markers = frame->markers,
    };
}

/** Angles in take->work without jumps of a turn, for the filter alone. */
static void unwrap_angles(struct omo_take *take)
{
    double last_deg = NAN;
    for (size_t k = 0; k < take->count; k++) {
        double angle_deg = take->ignored[k] ? (double)NAN : take->rows[k].angle_raw_deg;
        if (isfinite(angle_deg)) {
            if (isfinite(last_deg))
                angle_deg = last_deg + omo_wrap_deg(angle_deg - last_deg, -180.0);
            last_deg = angle_deg;
        }
        take->work[k] = angle_deg;
    }
}

static enum omo_status filter_rows(struct omo_take *take)
{
    const struct omo_measure_settings *s = take->settings;
    enum omo_smoothed *how = calloc(take->count, sizeof *how);
    if (how == NULL)
        return OMO_ERR_MEMORY;
    unwrap_angles(take);
    enum omo_status status =
        omo_smooth_series(take->time_s, take->work, take->count, s->cutoff_hz, OMO_GAP_S,
                          OMO_FILTER_SHORT_S, take->smoothed, how);
    if (status == OMO_OK)
        status =
            omo_smooth_series(take->time_s, take->lean_deg, take->count, s->cutoff_hz,
                              OMO_GAP_S, OMO_FILTER_SHORT_S, take->work, NULL);
    for (size_t k = 0; status == OMO_OK && k < take->count; k++) {
        struct omo_trace_row *row = &take->rows[k];
        row->angle_deg = omo_wrap_deg(take->smoothed[k], s->movement->wrap_low_deg);
        row->trunk_lean_deg = take->work[k];
        if (how[k] == OMO_SMOOTH_UNFILTERED)
            row->quality |= OMO_QUALITY_UNFILTERED;
        if (!take->axes.gravity)
            continue;
        row->angle_vertical_deg = row->angle_deg;
        if (isfinite(row->trunk_lean_deg))
            row->angle_vertical_deg += row->trunk_lean_deg;
    }
    free(how);
    return status;
}

static enum omo_status read_result(struct omo_take *take)
{
    struct omo_result *result = take->result;
    size_t angles = 0;
    for (size_t k = 0; k < take->count; k++)
        angles += isfinite(take->rows[k].angle_deg);
    result->rest_deg = omo_take_rest_deg(take);
    result->seen_ratio = (double)angles / (double)take->count;
    result->frames_per_second = 1.0 / take->step_s;
    result->reference = take->trunk.kind;
    result->trunk_rest_offset_deg = take->trunk.offset_deg;
    if (take->pivot.fitted) {
        result->pivot_offset_ratio = omo_pivot_offset_ratio(&take->pivot);
        result->plane_turn_deg = omo_pivot_turn_deg(&take->pivot);
    }
    omo_find_maxima(take);
    enum omo_status status = omo_judge_hike(take);
    if (status != OMO_OK)
        return status;
    omo_find_abduction(take);
    omo_find_repetitions(take);
    omo_write_note(take);
    return OMO_OK;
}

static enum omo_status measure(struct omo_take *take)
{
    enum omo_status status = omo_take_reserve(take, take->count);
    if (status == OMO_OK)
        status = omo_take_prepare(take);
    if (status != OMO_OK)
        return status;
    status = omo_take_poses(take, 0);
    if (status == OMO_OK)
        status = filter_rows(take);
    return status == OMO_OK ? read_result(take) : status;
}

/** One that fits the pictures, where their size is known. */
static bool lens_valid(const struct omo_measure_settings *s)
{
    if (s->lens == NULL)
        return true;
    bool sized = s->picture_width > 0 && s->picture_height > 0;
    return omo_lens_valid(s->lens) && (!sized || (s->lens->width == s->picture_width &&
                                                  s->lens->height == s->picture_height));
}

bool omo_measure_settings_valid(const struct omo_measure_settings *s)
{
    return s->movement != NULL && (unsigned)s->position < OMO_POSITION_COUNT &&
           s->movement->position_allowed[s->position] && s->cutoff_hz > 0.0 &&
           isfinite(s->cutoff_hz) && lens_valid(s);
}

enum omo_status omo_measure(const struct omo_measure_settings *settings,
                            const struct omo_track_frame *frames, size_t count,
                            struct omo_trace_row *rows, struct omo_result *result)
{
    if (!omo_measure_settings_valid(settings))
        return OMO_ERR_ARG;
    struct omo_result found;
    result_init(&found);
    struct omo_take take = {.settings = settings,
                            .sent = frames,
                            .count = count,
                            .rows = rows,
                            .result = &found,
                            .axes = omo_axes_of(settings),
                            .excess_row = count};
    if (count == 0) {
        omo_write_note(&take);
        *result = found;
        return OMO_ERR_EMPTY;
    }
    enum omo_status status = measure(&take);
    omo_take_finish(&take);
    if (status != OMO_OK)
        return status;
    *result = found;
    return found.seen_ratio > 0.0 ? OMO_OK : OMO_ERR_EMPTY;
}
