#include "omogon/live.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "motion/course.h"
#include "motion/take.h"

/* For the eye: a resting figure does not tremble, a moving one lags by less than the
 * camera does. Our choice. */
#define EYE_CUTOFF_HZ     1.2
#define EYE_BETA          0.05
#define EYE_DERIVATIVE_HZ 1.0
/* Rest and trunk are read again this often until the first raise has closed, which shows
 * every marker that will be seen (a hanging arm hides the hip), and then after each
 * raise: never while the arm is looked at longest. Beyond this length they stay, so that
 * no frame takes longer than the ones before it. */
#define PREPARE_EVERY_S 0.5
#define PREPARE_MOST_S  120.0
/* A camera's move takes up to 0.05 s, settles within 0.7 s and is stood on for 0.3 s. */
#define MOVES_BACK_S  1.5
#define ROOM_AT_FIRST 1024
/* Frames kept before the stillness: one of them decides how long it is. */
#define BEFORE_MORE_S 1.0

/** One value steadied for the eye, through the turn at the end of its range. */
struct eye {
    struct omo_one_euro filter;
    double last_deg; /**< not steadied, without turns; NAN */
};

struct omo_live {
    struct omo_live_settings settings;
    struct omo_course course;
    struct omo_take take; /**< count: frames kept */
    struct omo_track_frame *frames;
    struct omo_trace_row *rows;
    double *angle_deg; /**< that counts for maxima; NAN */
    size_t room;
    int64_t base; /**< number of frame 0 */

    double neutral_deg;
    double since_prepared_s;
    double time_s; /**< of the last frame; NAN */

    struct eye eye, arm;
    double before_deg[2]; /**< the arm's last values */

    /* Highest of all raises, and of the last. */
    struct omo_sustained best, raise;
    bool any_raise, in_raise;
    size_t first_raise, this_raise; /**< rows where they began */
    size_t judged;                  /**< rows before it are in */
    double last_raise_deg;
};

void omo_live_settings_default(struct omo_live_settings *settings)
{
    *settings = (struct omo_live_settings){
        .neutral_s = 6,
        .still_deg = 2,
        .end_still_s = 15,
        .warn_s = 5,
        .raises_most = 5,
        .pause_s = 1,
    };
    omo_measure_settings_default(&settings->measure);
}

const char *omo_phase_name(enum omo_phase phase)
{
    static const char *const names[OMO_PHASE_COUNT] = {
        [OMO_PHASE_SEEK] = "seek",       [OMO_PHASE_SETTLE] = "settle",
        [OMO_PHASE_NEUTRAL] = "neutral", [OMO_PHASE_READY] = "ready",
        [OMO_PHASE_RAISE] = "raise",     [OMO_PHASE_LOWER] = "lower",
        [OMO_PHASE_WARN] = "warn",       [OMO_PHASE_ENDED] = "ended",
    };
    return (unsigned)phase < OMO_PHASE_COUNT ? names[phase] : NULL;
}

/* ---- steadying ---- */

static void eye_init(struct eye *eye)
{
    omo_one_euro_init(&eye->filter, EYE_CUTOFF_HZ, EYE_BETA, EYE_DERIVATIVE_HZ);
    eye->last_deg = NAN;
}

static double eye_step(struct eye *eye, double time_s, double angle_deg)
{
    if (!isfinite(angle_deg))
        return NAN;
    if (isfinite(eye->last_deg))
        angle_deg = eye->last_deg + omo_wrap_deg(angle_deg - eye->last_deg, -180.0);
    eye->last_deg = angle_deg;
    return omo_one_euro_step(&eye->filter, time_s, angle_deg);
}

static double middle_of(double a, double b, double c)
{
    return fmax(fmin(a, b), fmin(fmax(a, b), c));
}

/** For the course: a single wrong frame is not a movement. */
static double steady_arm(struct omo_live *live, double time_s, double arm_deg)
{
    if (!isfinite(arm_deg))
        return NAN;
    double *before = live->before_deg;
    double middle_deg = middle_of(arm_deg, before[0], before[1]);
    before[1] = before[0];
    before[0] = arm_deg;
    return eye_step(&live->arm, time_s, middle_deg);
}

static void forget_arm(struct omo_live *live)
{
    eye_init(&live->arm);
    live->before_deg[0] = live->before_deg[1] = NAN;
}

/* ---- frames ---- */

static enum omo_status widen(struct omo_live *live)
{
    size_t room = live->room > 0 ? 2 * live->room : ROOM_AT_FIRST;
    struct omo_track_frame *frames =
        reallocarray(live->frames, room, sizeof *live->frames);
    if (frames == NULL)
        return OMO_ERR_MEMORY;
    live->take.frames = live->frames = frames;
    struct omo_trace_row *rows = reallocarray(live->rows, room, sizeof *live->rows);
    if (rows == NULL)
        return OMO_ERR_MEMORY;
    live->take.rows = live->rows = rows;
    double *angle_deg = reallocarray(live->angle_deg, room, sizeof *live->angle_deg);
    if (angle_deg == NULL)
        return OMO_ERR_MEMORY;
    live->angle_deg = angle_deg;
    enum omo_status status = omo_take_reserve(&live->take, room);
    if (status == OMO_OK)
        status = omo_window_grow(&live->best.window, angle_deg, live->room, room);
    if (status == OMO_OK)
        status = omo_window_grow(&live->raise.window, angle_deg, live->room, room);
    if (status == OMO_OK)
        live->room = room;
    return status;
}

/** Lets the first frames go. */
static void drop(struct omo_live *live, size_t frames)
{
    memmove(live->frames, live->frames + frames,
            (live->take.count - frames) * sizeof *live->frames);
    live->take.count -= frames;
    live->base += (int64_t)frames;
}

/** Before neutral: lets go what no neutral can reach back to any more. */
static void drop_old(struct omo_live *live)
{
    size_t count = live->take.count;
    if (count == 0)
        return;
    double reach_s = fmax(live->settings.neutral_s, 0.0) + BEFORE_MORE_S;
    double last_s = live->frames[count - 1].time_s;
    size_t keep = count - 1;
    while (keep > 0 && last_s - live->frames[keep - 1].time_s <= reach_s &&
           live->frames[keep - 1].time_s < live->frames[keep].time_s)
        keep--;
    if (keep > 0)
        drop(live, keep);
}

/** A place for the next frame, which counts only once it is kept. */
static enum omo_status make_place(struct omo_live *live)
{
    if (live->take.count < live->room)
        return OMO_OK;
    if (!live->course.neutral)
        drop_old(live);
    return live->take.count <= live->room / 2 && live->room > 0 ? OMO_OK : widen(live);
}

/* ---- the angle ---- */

static void read_frame(struct omo_live *live, const struct omo_track_frame *frame)
{
    struct omo_take *take = &live->take;
    size_t k = take->count;
    live->frames[k] = *frame;
    omo_take_read(take, k);
    if (!live->course.neutral) {
        if (frame->repeated)
            take->rows[k].quality |= OMO_QUALITY_REPEATED;
        omo_assume_trunk(take, k);
    } else {
        if (k > 0) {
            take->moved[k] = take->moved[k - 1];
            take->rows[k].quality |=
                take->rows[k - 1].quality & (unsigned)OMO_QUALITY_CAMERA_MOVED;
        }
        struct omo_hold before = take->hold;
        omo_follow_trunk(take, k);
        if (live->course.phase == OMO_PHASE_ENDED)
            take->hold = before; /* the frame will not be there to look back to */
    }
    omo_take_pose(take, k);
}

/** What is only seen with this frame about it and the ones before it. */
static void look_back(struct omo_live *live)
{
    struct omo_take *take = &live->take;
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

/* ---- maxima ---- */

/** Takes in the rows about which all is known: a run of repeated pictures waits for the
 *  picture after it. */
static void judge_rows(struct omo_live *live)
{
    const struct omo_take *take = &live->take;
    if (take->frames[take->count - 1].repeated)
        return;
    for (size_t k = live->judged; k < take->count; k++) {
        live->angle_deg[k] =
            take->ignored[k] ? (double)NAN : take->rows[k].angle_image_deg;
        if (live->any_raise && k >= live->first_raise)
            omo_sustained_step(&live->best, take->time_s, take->step_s, k);
        if (live->in_raise && k >= live->this_raise)
            omo_sustained_step(&live->raise, take->time_s, take->step_s, k);
    }
    live->judged = take->count;
}

static void begin_sustained(struct omo_sustained *s)
{
    omo_sustained_begin(s, OMO_MAX_WINDOW_S, OMO_GAP_S, INFINITY);
}

/** The raise began with the last row. */
static void begin_raise(struct omo_live *live)
{
    size_t k = live->take.count - 1;
    bool judged = live->judged > k;
    if (!live->any_raise) {
        live->first_raise = k;
        if (judged)
            omo_sustained_step(&live->best, live->take.time_s, live->take.step_s, k);
    }
    live->this_raise = k;
    begin_sustained(&live->raise);
    if (judged)
        omo_sustained_step(&live->raise, live->take.time_s, live->take.step_s, k);
    live->any_raise = live->in_raise = true;
}

/* ---- rest and trunk ---- */

static double above_neutral_deg(const struct omo_live *live, double angle_deg)
{
    return omo_wrap_deg(angle_deg - live->neutral_deg,
                        live->settings.measure.movement->wrap_low_deg);
}

/** Works everything out from the frames so far, as a file's would be. */
static enum omo_status prepare(struct omo_live *live)
{
    struct omo_take *take = &live->take;
    enum omo_status status = omo_take_prepare(take);
    if (status != OMO_OK)
        return status;
    for (size_t k = 0; k < take->count; k++)
        omo_take_pose(take, k);
    double neutral_deg = omo_take_rest_deg(take);
    if (isfinite(neutral_deg))
        live->neutral_deg = neutral_deg;
    begin_sustained(&live->best);
    begin_sustained(&live->raise);
    live->judged = 0;
    judge_rows(live);
    live->since_prepared_s = 0;
    return OMO_OK;
}

static enum omo_status take_neutral(struct omo_live *live, struct omo_course_step *step)
{
    size_t first = (size_t)(step->still_from - live->base);
    drop(live, first);
    enum omo_status status = prepare(live);
    if (status != OMO_OK)
        return status;
    bool taken = live->take.rest.found && isfinite(live->neutral_deg);
    omo_course_neutral(&live->course, taken, step);
    forget_arm(live);
    return OMO_OK;
}

static enum omo_status prepare_when_due(struct omo_live *live, unsigned events,
                                        double step_s)
{
    const struct omo_take *take = &live->take;
    live->since_prepared_s += step_s;
    bool first = live->course.raises == 0;
    bool due = (first && live->since_prepared_s >= PREPARE_EVERY_S) ||
               (events & OMO_EVENT_RAISE_CLOSED) != 0;
    if (!due || !((double)take->count * take->step_s <= PREPARE_MOST_S))
        return OMO_OK;
    return prepare(live);
}

/* ---- a frame ---- */

static bool in_view(const struct omo_live *live, const struct omo_track_frame *frame)
{
    unsigned needed = live->settings.measure.movement->needed;
    for (int role = 0; role < OMO_ROLE_COUNT; role++) {
        if ((needed & (1u << role)) != 0 &&
            !omo_seen(&frame->markers, (enum omo_role)role))
            return false;
    }
    return true;
}

/** What the course is told of row k. */
static struct omo_course_frame course_frame(struct omo_live *live, size_t k,
                                            double eye_deg)
{
    const struct omo_take *take = &live->take;
    const struct omo_track_frame *frame = &take->frames[k];
    double arm_deg = take->segment_deg[k];
    if (live->course.neutral)
        arm_deg = above_neutral_deg(live, take->rows[k].angle_image_deg);
    if (frame->damaged)
        arm_deg = NAN;
    return (struct omo_course_frame){
        .number = live->base + (int64_t)k,
        .time_s = frame->time_s,
        .in_view = !frame->damaged && in_view(live, frame),
        .arm_deg = steady_arm(live, frame->time_s, arm_deg),
        .angle_deg = eye_deg,
        .raise_deg = above_neutral_deg(live, live->raise.best_deg),
        .best_deg = above_neutral_deg(live, live->best.best_deg),
    };
}

static void fill_view(const struct omo_live *live, size_t k,
                      const struct omo_course_step *step, struct omo_live_view *view)
{
    const struct omo_trace_row *row = &live->rows[k];
    const struct omo_course *course = &live->course;
    *view = (struct omo_live_view){
        .time_s = row->time_s,
        .phase = course->phase,
        .end = course->end,
        .events = step->events,
        .phase_ratio = step->phase_ratio,
        .phase_left_s = step->phase_left_s,
        .raises = course->raises,
        .angle_deg = row->angle_deg,
        .angle_image_deg = row->angle_image_deg,
        .angle_u95_deg = omo_max_u95_deg(&live->take, k),
        .best_deg = live->any_raise ? live->best.best_deg : (double)NAN,
        .last_raise_deg = live->last_raise_deg,
        .trunk_lean_deg = live->take.lean_deg[k],
        .hike_ratio = row->hike_ratio,
        .elbow_flexion_deg = row->elbow_flexion_deg,
        .reference = row->reference,
        .quality = row->quality,
        .pain_onset_deg = course->pain_onset_deg,
        .pain_end_deg = course->pain_end_deg,
        .markers = row->markers,
    };
}

/** After neutral: the frame belongs to the movement. */
static enum omo_status follow_movement(struct omo_live *live, double step_s,
                                       double eye_deg, struct omo_course_step *step)
{
    double best_deg = live->best.best_deg;
    look_back(live);
    judge_rows(live);
    struct omo_course_frame told = course_frame(live, live->take.count - 1, eye_deg);
    enum omo_status status = omo_course_step(&live->course, &told, step);
    if (status != OMO_OK)
        return status;
    if ((step->events & OMO_EVENT_RAISE_BEGAN) != 0)
        begin_raise(live);
    if ((step->events & OMO_EVENT_RAISE_CLOSED) != 0)
        live->last_raise_deg = live->raise.best_deg;
    bool moving =
        live->course.phase == OMO_PHASE_RAISE || live->course.phase == OMO_PHASE_LOWER;
    if (moving && isfinite(live->best.best_deg) && !(live->best.best_deg <= best_deg))
        step->events |= OMO_EVENT_NEW_BEST;
    if (live->course.phase == OMO_PHASE_READY)
        live->in_raise = false;
    return prepare_when_due(live, step->events, step_s);
}

static enum omo_status follow_frame(struct omo_live *live, double step_s, double eye_deg,
                                    struct omo_course_step *step)
{
    bool neutral = live->course.neutral;
    live->take.count++;
    if (neutral)
        return follow_movement(live, step_s, eye_deg, step);
    struct omo_course_frame told = course_frame(live, live->take.count - 1, eye_deg);
    enum omo_status status = omo_course_step(&live->course, &told, step);
    if (status == OMO_OK && step->take_neutral)
        status = take_neutral(live, step);
    return status;
}

enum omo_status omo_live_step(struct omo_live *live, const struct omo_track_frame *frame,
                              struct omo_live_view *view)
{
    enum omo_status status = make_place(live);
    if (status != OMO_OK)
        return status;
    bool gap = omo_course_gap(live->time_s, frame->time_s);
    double step_s = gap ? 0.0 : frame->time_s - live->time_s;
    live->time_s = frame->time_s;
    if (gap) {
        eye_init(&live->eye);
        forget_arm(live);
    }
    read_frame(live, frame);
    size_t k = live->take.count;
    double eye_deg = eye_step(&live->eye, frame->time_s, live->rows[k].angle_image_deg);
    eye_deg = omo_wrap_deg(eye_deg, live->settings.measure.movement->wrap_low_deg);
    struct omo_course_step step = {.phase_ratio = NAN, .phase_left_s = NAN};
    if (live->course.phase != OMO_PHASE_ENDED) {
        status = follow_frame(live, step_s, eye_deg, &step);
        if (status != OMO_OK)
            return status;
        k = live->take.count - 1;
    }
    live->rows[k].angle_deg = eye_deg;
    fill_view(live, k, &step, view);
    return OMO_OK;
}

void omo_live_press(struct omo_live *live, enum omo_live_press press)
{
    omo_course_press(&live->course, press);
}

const struct omo_track_frame *omo_live_frames(const struct omo_live *live, size_t *count)
{
    *count = live->course.neutral ? live->take.count : 0;
    return live->course.neutral ? live->frames : NULL;
}

static bool settings_valid(const struct omo_live_settings *s)
{
    return omo_measure_settings_valid(&s->measure) && s->still_deg > 0.0 &&
           isfinite(s->neutral_s) && s->end_still_s > 0.0 && isfinite(s->end_still_s) &&
           isfinite(s->warn_s) && isfinite(s->pause_s);
}

enum omo_status omo_live_create(const struct omo_live_settings *settings,
                                struct omo_live **out)
{
    if (!settings_valid(settings))
        return OMO_ERR_ARG;
    struct omo_live *live = calloc(1, sizeof *live);
    if (live == NULL)
        return OMO_ERR_MEMORY;
    live->settings = *settings;
    live->take = (struct omo_take){.settings = &live->settings.measure,
                                   .growing = true,
                                   .axes = omo_axes_of(&live->settings.measure),
                                   .step_s = NAN,
                                   .segment_px = NAN,
                                   .moved_s = NAN,
                                   .trunk_off_deg = NAN,
                                   .rest = {.segment_px = NAN,
                                            .segment_deg = NAN,
                                            .mm_per_px = NAN}};
    live->neutral_deg = live->last_raise_deg = live->time_s = NAN;
    omo_course_init(&live->course, &live->settings);
    eye_init(&live->eye);
    forget_arm(live);
    begin_sustained(&live->best);
    begin_sustained(&live->raise);
    enum omo_status status = widen(live);
    if (status != OMO_OK) {
        omo_live_destroy(live);
        return status;
    }
    *out = live;
    return OMO_OK;
}

void omo_live_destroy(struct omo_live *live)
{
    if (live == NULL)
        return;
    omo_course_finish(&live->course);
    omo_take_finish(&live->take);
    omo_window_finish(&live->best.window);
    omo_window_finish(&live->raise.window);
    free(live->frames);
    free(live->rows);
    free(live->angle_deg);
    free(live);
}
