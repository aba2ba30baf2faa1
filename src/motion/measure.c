#include <math.h>
#include <stdlib.h>

#include "motion/take.h"

#define CUTOFF_HZ 6.0
/* The longest lengths but the top twentieth: single bad frames do not set the scale. */
#define FULL_LENGTH_SHARE 0.95
#define DOUBLES_PER_FRAME 6

void omo_measure_settings_default(struct omo_measure_settings *settings)
{
    *settings = (struct omo_measure_settings){
        .side = OMO_RIGHT,
        .position = OMO_STANDING,
        .marker_size_mm = NAN,
        .cutoff_hz = CUTOFF_HZ,
        .rotation_at_abduction_deg = NAN,
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
        .pivot_offset_ratio = NAN,
        .plane_turn_deg = NAN,
        .rotation_at_abduction_deg = NAN,
        .seen_ratio = NAN,
        .frames_per_second = NAN,
        .frame_at_max = -1,
    };
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
        .quality = frame->damaged ? OMO_QUALITY_DAMAGED : 0,
        .markers = frame->markers,
    };
}

static enum omo_status take_init(struct omo_take *take)
{
    size_t n = take->count;
    take->moved_s = NAN;
    take->trunk_off_deg = NAN;
    take->time_s = calloc(DOUBLES_PER_FRAME * n, sizeof *take->time_s);
    take->ignored = calloc(n, sizeof *take->ignored);
    take->moved = calloc(n, sizeof *take->moved);
    take->held = calloc(n, sizeof *take->held);
    if (take->time_s == NULL || take->ignored == NULL || take->moved == NULL ||
        take->held == NULL)
        return OMO_ERR_MEMORY;
    take->segment_deg = take->time_s + n;
    take->length_px = take->segment_deg + n;
    take->lean_deg = take->length_px + n;
    take->work = take->lean_deg + n;
    take->smoothed = take->work + n;
    for (size_t k = 0; k < n; k++) {
        take->time_s[k] = take->frames[k].time_s;
        take->ignored[k] = take->frames[k].damaged;
        omo_trace_row_init(&take->rows[k], &take->frames[k]);
    }
    take->step_s = omo_median_step_s(take->time_s, n);
    return OMO_OK;
}

static void take_finish(struct omo_take *take)
{
    free(take->time_s);
    free(take->ignored);
    free(take->moved);
    free(take->held);
}

/** Lean of a trunk direction in the movement's sense; against rest where the camera looks
 *  down on a lying person. */
static double lean_of(const struct omo_take *take, const struct omo_trunk_pose *pose)
{
    if (pose->reference == OMO_REFERENCE_NONE)
        return NAN;
    struct omo_point from = take->axes.gravity ? take->axes.zero : take->trunk.rest_axis;
    return take->axes.sign * omo_turn_deg(from, pose->axis);
}

static void pose_row(struct omo_take *take, size_t k)
{
    struct omo_trace_row *row = &take->rows[k];
    const struct omo_movement *movement = take->settings->movement;
    double segment_deg = take->segment_deg[k];
    row->elbow_flexion_deg = omo_elbow_flexion_deg(&row->markers);
    take->lean_deg[k] = NAN;
    double trunk_deg = 0.0;
    if (movement->geometry == OMO_GEOMETRY_ELEVATION) {
        struct omo_trunk_pose pose = omo_trunk_at(take, k);
        row->reference = pose.reference;
        take->lean_deg[k] = lean_of(take, &pose);
        trunk_deg = take->axes.sign * omo_turn_deg(take->axes.zero, pose.axis);
        if (isfinite(segment_deg) || pose.reference != OMO_REFERENCE_NONE)
            row->quality |= pose.quality;
        row->hike_ratio = pose.hike_px / take->rest.segment_px;
        row->hike_mm = pose.hike_px * take->rest.mm_per_px;
    }
    row->angle_image_deg = omo_wrap_deg(segment_deg - trunk_deg, movement->wrap_low_deg);
    /* Pivot and plane are not fitted yet. */
    row->angle_raw_deg = row->angle_image_deg;
    if (take->length_px[k] < OMO_FORESHORTENING_RATIO * take->segment_px)
        row->quality |= OMO_QUALITY_OUT_OF_PLANE;
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

static void read_result(struct omo_take *take)
{
    struct omo_result *result = take->result;
    size_t angles = 0, at_rest = 0;
    double rest_deg = 0;
    for (size_t k = 0; k < take->count; k++) {
        const struct omo_trace_row *row = &take->rows[k];
        angles += isfinite(row->angle_deg);
        if (take->rest.found && k >= take->rest.first && k <= take->rest.last &&
            !take->ignored[k] && isfinite(row->angle_raw_deg)) {
            rest_deg += row->angle_raw_deg;
            at_rest++;
        }
    }
    if (at_rest > 0)
        result->rest_deg = rest_deg / (double)at_rest;
    result->seen_ratio = (double)angles / (double)take->count;
    result->frames_per_second = 1.0 / take->step_s;
    result->reference = take->trunk.kind;
    result->trunk_rest_offset_deg = take->trunk.offset_deg;
    if (take->settings->movement->geometry == OMO_GEOMETRY_ROTATION)
        result->rotation_at_abduction_deg = take->settings->rotation_at_abduction_deg;
    omo_find_maxima(take);
    omo_find_repetitions(take);
    omo_write_note(take);
}

static enum omo_status measure(struct omo_take *take)
{
    omo_read_segments(take);
    take->segment_px = omo_take_quantile(take, take->length_px, FULL_LENGTH_SHARE);
    omo_find_camera_moves(take);
    omo_find_stalls(take);
    enum omo_status status = omo_find_rest(take);
    if (status != OMO_OK)
        return status;
    take->segment_px = fmax(take->segment_px, take->rest.segment_px);
    omo_find_trunk(take);
    for (size_t k = 0; k < take->count; k++)
        pose_row(take, k);
    status = filter_rows(take);
    if (status == OMO_OK)
        read_result(take);
    return status;
}

static bool settings_valid(const struct omo_measure_settings *s)
{
    return s->movement != NULL && (unsigned)s->position < OMO_POSITION_COUNT &&
           s->movement->position_allowed[s->position] && s->cutoff_hz > 0.0 &&
           isfinite(s->cutoff_hz);
}

enum omo_status omo_measure(const struct omo_measure_settings *settings,
                            const struct omo_track_frame *frames, size_t count,
                            struct omo_trace_row *rows, struct omo_result *result)
{
    if (!settings_valid(settings))
        return OMO_ERR_ARG;
    struct omo_result found;
    result_init(&found);
    struct omo_take take = {.settings = settings,
                            .frames = frames,
                            .count = count,
                            .rows = rows,
                            .result = &found,
                            .axes = omo_axes_of(settings)};
    if (count == 0) {
        omo_write_note(&take);
        *result = found;
        return OMO_ERR_EMPTY;
    }
    enum omo_status status = take_init(&take);
    if (status == OMO_OK)
        status = measure(&take);
    take_finish(&take);
    if (status != OMO_OK)
        return status;
    *result = found;
    return found.seen_ratio > 0.0 ? OMO_OK : OMO_ERR_EMPTY;
}
