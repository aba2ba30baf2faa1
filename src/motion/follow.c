#include "motion/follow.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A camera's move takes up to 0.05 s, settles within 0.7 s and is stood on for 0.3 s. */
#define MOVES_BACK_S  1.5
#define ROOM_AT_FIRST 1024
/* Steps of the search for pivot and plane from where the last one ended: one while the
 * arm is up; with the arm down again, as many as it takes to where a file's search ends.
 */
#define STEPS_RUNNING 1
#define STEPS_CLOSED  4

static void begin_sustained(struct omo_sustained *s)
{
    omo_sustained_begin(s, OMO_MAX_WINDOW_S, OMO_GAP_S, INFINITY);
}

/* ---- room ---- */

static enum omo_status widen(struct omo_follow *follow)
{
    size_t room = follow->room > 0 ? 2 * follow->room : ROOM_AT_FIRST;
    struct omo_track_frame *frames =
        reallocarray(follow->frames, room, sizeof *follow->frames);
    if (frames == NULL)
        return OMO_ERR_MEMORY;
    follow->take.sent = follow->frames = frames;
    struct omo_trace_row *rows = reallocarray(follow->rows, room, sizeof *follow->rows);
    if (rows == NULL)
        return OMO_ERR_MEMORY;
    follow->take.rows = follow->rows = rows;
    double *angle_deg = reallocarray(follow->angle_deg, room, sizeof *follow->angle_deg);
    if (angle_deg == NULL)
        return OMO_ERR_MEMORY;
    follow->angle_deg = angle_deg;
    enum omo_status status = omo_take_reserve(&follow->take, room);
    if (status == OMO_OK)
        status = omo_window_grow(&follow->best.window, angle_deg, follow->room, room);
    if (status == OMO_OK)
        status = omo_window_grow(&follow->raise.window, angle_deg, follow->room, room);
    if (status == OMO_OK)
        follow->room = room;
    return status;
}

enum omo_status omo_follow_init(struct omo_follow *follow,
                                const struct omo_measure_settings *settings)
{
    *follow = (struct omo_follow){.neutral_deg = NAN};
    follow->take = (struct omo_take){.settings = settings,
                                     .growing = true,
                                     .axes = omo_axes_of(settings),
                                     .step_s = NAN,
                                     .segment_px = NAN,
                                     .moved_s = NAN,
                                     .trunk_off_deg = NAN,
                                     .rest = {.segment_px = NAN,
                                              .segment_deg = NAN,
                                              .mm_per_px = NAN}};
    begin_sustained(&follow->best);
    begin_sustained(&follow->raise);
    return widen(follow);
}

void omo_follow_finish(struct omo_follow *follow)
{
    omo_take_finish(&follow->take);
    omo_window_finish(&follow->best.window);
    omo_window_finish(&follow->raise.window);
    free(follow->frames);
    free(follow->rows);
    free(follow->angle_deg);
}

/** Lets the first frames go. */
static void drop(struct omo_follow *follow, size_t frames)
{
    memmove(follow->frames, follow->frames + frames,
            (follow->take.count - frames) * sizeof *follow->frames);
    follow->take.count -= frames;
    follow->base += (int64_t)frames;
}

/** Lets the frames go that are older than reach_s or lie before a time that fell. */
static void drop_old(struct omo_follow *follow, double reach_s)
{
    const struct omo_track_frame *frames = follow->frames;
    size_t keep = follow->take.count - 1;
    double last_s = frames[keep].time_s;
    while (keep > 0 && last_s - frames[keep - 1].time_s <= reach_s &&
           frames[keep - 1].time_s < frames[keep].time_s)
        keep--;
    if (keep > 0)
        drop(follow, keep);
}

/** A place for one more frame. */
static enum omo_status make_place(struct omo_follow *follow, double reach_s)
{
    if (follow->take.count < follow->room)
        return OMO_OK;
    if (follow->known)
        return widen(follow);
    drop_old(follow, reach_s);
    /* Else the next one would drop again, and move as many frames for it. */
    return follow->take.count > follow->room / 2 ? widen(follow) : OMO_OK;
}

/* ---- a frame ---- */

enum omo_status omo_follow_read(struct omo_follow *follow,
                                const struct omo_track_frame *frame, double reach_s)
{
    struct omo_take *take = &follow->take;
    enum omo_status status = make_place(follow, reach_s);
    if (status != OMO_OK)
        return status;
    size_t k = take->count;
    follow->frames[k] = *frame;
    omo_take_read(take, k);
    if (follow->known) {
        take->moved[k] = take->moved[k - 1];
        take->rows[k].quality |=
            take->rows[k - 1].quality & (unsigned)OMO_QUALITY_CAMERA_MOVED;
        struct omo_hold before = take->hold;
        omo_follow_trunk(take, k);
        follow->hold = take->hold;
        take->hold = before;
    } else {
        omo_assume_trunk(take, k);
    }
    if (frame->repeated)
        take->rows[k].quality |= OMO_QUALITY_REPEATED;
    omo_take_pose(take, k);
    return OMO_OK;
}

/** What is only seen with the last row about it and the ones before it. */
static void look_back(struct omo_take *take)
{
    size_t k = take->count - 1, from = k;
    omo_follow_stall(take, k);
    while (from > 0 && take->time_s[k] - take->time_s[from - 1] <= MOVES_BACK_S &&
           take->time_s[from - 1] < take->time_s[from])
        from--;
    struct omo_point before = take->moved[k];
    omo_find_camera_moves(take, from);
    if (take->moved[k].x != before.x || take->moved[k].y != before.y)
        omo_take_pose(take, k);
}

/** Takes in the rows about which all is known: a run of repeated pictures waits for the
 *  picture after it. */
static void judge_rows(struct omo_follow *follow)
{
    const struct omo_take *take = &follow->take;
    size_t known = take->count - take->stall.run;
    for (size_t k = follow->judged; k < known; k++) {
        follow->angle_deg[k] =
            take->ignored[k] ? (double)NAN : take->rows[k].angle_raw_deg;
        if (follow->any_raise && k >= follow->first_raise)
            omo_sustained_step(&follow->best, take->time_s, take->step_s, k);
        if (follow->in_raise && k >= follow->this_raise)
            omo_sustained_step(&follow->raise, take->time_s, take->step_s, k);
    }
    follow->judged = known > follow->judged ? known : follow->judged;
}

void omo_follow_keep(struct omo_follow *follow)
{
    follow->take.count++;
    if (!follow->known)
        return;
    follow->take.hold = follow->hold;
    look_back(&follow->take);
    judge_rows(follow);
}

/* ---- the take as a whole ---- */

enum omo_status omo_follow_prepare(struct omo_follow *follow, bool raise_closed)
{
    struct omo_take *take = &follow->take;
    enum omo_status status = omo_take_prepare(take);
    if (status == OMO_OK)
        status = omo_take_poses(take, raise_closed ? STEPS_CLOSED : STEPS_RUNNING);
    if (status != OMO_OK)
        return status;
    double neutral_deg = omo_take_rest_deg(take);
    if (isfinite(neutral_deg))
        follow->neutral_deg = neutral_deg;
    begin_sustained(&follow->best);
    begin_sustained(&follow->raise);
    follow->judged = 0;
    judge_rows(follow);
    return OMO_OK;
}

enum omo_status omo_follow_begin(struct omo_follow *follow, int64_t number, bool *begun)
{
    drop(follow, (size_t)(number - follow->base));
    enum omo_status status = omo_follow_prepare(follow, false);
    if (status == OMO_OK)
        *begun = follow->known = isfinite(follow->neutral_deg);
    return status;
}

/* ---- raises ---- */

void omo_follow_raise(struct omo_follow *follow)
{
    const struct omo_take *take = &follow->take;
    size_t k = take->count - 1;
    bool judged = follow->judged > k;
    begin_sustained(&follow->raise);
    if (!follow->any_raise) {
        follow->first_raise = k;
        if (judged)
            omo_sustained_step(&follow->best, take->time_s, take->step_s, k);
    }
    follow->this_raise = k;
    if (judged)
        omo_sustained_step(&follow->raise, take->time_s, take->step_s, k);
    follow->any_raise = follow->in_raise = true;
}

void omo_follow_lowered(struct omo_follow *follow)
{
    follow->in_raise = false;
}

double omo_follow_above_neutral_deg(const struct omo_follow *follow, double angle_deg)
{
    return omo_wrap_deg(angle_deg - follow->neutral_deg,
                        follow->take.settings->movement->wrap_low_deg);
}
