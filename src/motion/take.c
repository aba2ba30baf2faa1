#include "motion/take.h"

#include <math.h>
#include <stdlib.h>

#include "motion/hike.h"

/* The longest lengths but the top twentieth: single bad frames do not set the scale. */
#define FULL_LENGTH_SHARE 0.95

/** Makes an array longer; false leaves it as it was. */
static bool widen(void *array, size_t room, size_t size)
{
    void **at = array;
    void *grown = reallocarray(*at, room, size);
    if (grown == NULL)
        return false;
    *at = grown;
    return true;
}

enum omo_status omo_take_reserve(struct omo_take *take, size_t room)
{
    bool all = widen(&take->time_s, room, sizeof *take->time_s) &&
               widen(&take->segment_deg, room, sizeof *take->segment_deg) &&
               widen(&take->length_px, room, sizeof *take->length_px) &&
               widen(&take->lean_deg, room, sizeof *take->lean_deg) &&
               widen(&take->work, room, sizeof *take->work) &&
               widen(&take->smoothed, room, sizeof *take->smoothed) &&
               widen(&take->ignored, room, sizeof *take->ignored) &&
               widen(&take->moved, room, sizeof *take->moved) &&
               widen(&take->held, room, sizeof *take->held);
    if (all && take->settings->lens != NULL)
        all = widen(&take->straight, room, sizeof *take->straight);
    take->frames = take->settings->lens != NULL ? take->straight : take->sent;
    return all ? OMO_OK : OMO_ERR_MEMORY;
}

void omo_take_finish(struct omo_take *take)
{
    free(take->time_s);
    free(take->segment_deg);
    free(take->length_px);
    free(take->lean_deg);
    free(take->work);
    free(take->smoothed);
    free(take->ignored);
    free(take->moved);
    free(take->held);
    free(take->pivot_room);
    free(take->straight);
}

/** Takes lens and level out of the places of frame k. */
static void straighten(struct omo_take *take, size_t k)
{
    const struct omo_lens *lens = take->settings->lens;
    if (lens == NULL)
        return;
    struct omo_track_frame *frame = &take->straight[k];
    *frame = take->sent[k];
    for (int role = 0; role < OMO_ROLE_COUNT; role++) {
        struct omo_marker *marker = &frame->markers.role[role];
        struct omo_point at =
            omo_lens_straighten(lens, take->axes.gravity,
                                (struct omo_point){marker->x_px, marker->y_px});
        marker->x_px = at.x;
        marker->y_px = at.y;
    }
}

static void read_frame(struct omo_take *take, size_t k)
{
    take->time_s[k] = take->frames[k].time_s;
    take->ignored[k] = take->frames[k].damaged;
    take->moved[k] = (struct omo_point){0, 0};
    take->held[k] = (struct omo_held){.known = false, .turn_deg = NAN};
    take->lean_deg[k] = NAN;
    omo_trace_row_init(&take->rows[k], &take->sent[k]);
    omo_read_segment(take, k);
}

void omo_take_read(struct omo_take *take, size_t k)
{
    straighten(take, k);
    read_frame(take, k);
}

enum omo_status omo_take_prepare(struct omo_take *take)
{
    take->moved_s = NAN;
    take->trunk_off_deg = NAN;
    take->stalls = 0;
    for (size_t k = 0; k < take->count; k++)
        straighten(take, k);
    omo_choose_segment(take);
    for (size_t k = 0; k < take->count; k++)
        read_frame(take, k);
    take->step_s = omo_median_step_s(take->time_s, take->count);
    take->segment_px = omo_take_quantile(take, take->length_px, FULL_LENGTH_SHARE);
    omo_find_camera_moves(take, 0);
    for (size_t k = 0; k < take->count; k++)
        omo_follow_stall(take, k);
    enum omo_status status = omo_find_rest(take);
    if (status != OMO_OK)
        return status;
    take->segment_px = fmax(take->segment_px, take->rest.segment_px);
    omo_find_trunk(take);
    if (take->settings->movement->geometry == OMO_GEOMETRY_FORESHORTENED)
        omo_front_rest(take);
    return OMO_OK;
}

double omo_take_rest_deg(const struct omo_take *take)
{
    size_t at_rest = 0;
    double rest_deg = 0;
    if (!take->rest.found)
        return NAN;
    for (size_t k = take->rest.first; k <= take->rest.last; k++) {
        if (take->ignored[k] || !isfinite(take->rows[k].angle_raw_deg))
            continue;
        rest_deg += take->rows[k].angle_raw_deg;
        at_rest++;
    }
    return at_rest > 0 ? rest_deg / (double)at_rest : (double)NAN;
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

enum omo_status omo_take_poses(struct omo_take *take, int steps)
{
    for (size_t k = 0; k < take->count; k++)
        omo_take_pose(take, k);
    if (!omo_correctable(take))
        return OMO_OK;
    if (take->pivot_room == NULL)
        take->pivot_room = calloc(omo_pivot_room(), sizeof *take->pivot_room);
    if (take->pivot_room == NULL)
        return OMO_ERR_MEMORY;
    omo_find_pivot(take, steps);
    for (size_t k = 0; k < take->count; k++)
        take->rows[k].angle_raw_deg =
            omo_wrap_deg(omo_corrected_deg(take, k),
                         take->settings->movement->wrap_low_deg);
    return OMO_OK;
}

void omo_take_pose(struct omo_take *take, size_t k)
{
    struct omo_trace_row *row = &take->rows[k];
    const struct omo_movement *movement = take->settings->movement;
    double segment_deg = take->segment_deg[k];
    row->elbow_flexion_deg = omo_elbow_flexion_deg(&take->frames[k].markers);
    take->lean_deg[k] = NAN;
    double trunk_deg = 0.0;
    if (movement->geometry == OMO_GEOMETRY_ELEVATION) {
        struct omo_trunk_pose pose = omo_trunk_at(take, k);
        row->reference = pose.reference;
        take->lean_deg[k] = lean_of(take, &pose);
        trunk_deg = take->axes.sign * omo_turn_deg(take->axes.zero, pose.axis);
        if (isfinite(segment_deg) || pose.reference != OMO_REFERENCE_NONE)
            row->quality |= pose.quality;
        if (omo_hike_is_told(take)) {
            row->hike_ratio = pose.hike_px / omo_hike_arm_px(take);
            row->hike_mm = pose.hike_px * take->rest.mm_per_px;
        }
    }
    row->angle_image_deg = omo_wrap_deg(segment_deg - trunk_deg, movement->wrap_low_deg);
    row->angle_raw_deg = omo_wrap_deg(omo_corrected_deg(take, k), movement->wrap_low_deg);
    if (movement->geometry == OMO_GEOMETRY_FORESHORTENED)
        omo_front_pose(take, k);
    else if (take->length_px[k] < OMO_FORESHORTENING_RATIO * take->segment_px)
        row->quality |= OMO_QUALITY_OUT_OF_PLANE;
}
