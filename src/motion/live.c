#include "omogon/live.h"

#include <math.h>
#include <stdlib.h>

#include "motion/course.h"
#include "motion/follow.h"

/* For the eye: a resting figure does not tremble, a moving one lags by less than the
 * camera does. Our choice. */
#define EYE_CUTOFF_HZ     1.2
#define EYE_BETA          0.05
#define EYE_DERIVATIVE_HZ 1.0
/* Rest and trunk are read again this often until the first raise has closed, which shows
 * every marker that will be seen (a hanging arm hides the hip), and then after each
 * raise: never while the arm is looked at longest. It costs about a microsecond a frame
 * kept, so beyond so many frames they stay. */
#define PREPARE_AT_REST_S 2.0
#define PREPARE_RAISED_S  0.25
#define PREPARE_MOST      10000
#define TIME_TOLERANCE_S  1e-6

/* Frames kept beyond the stillness that is asked for. */
#define REACH_MORE_S 1.0

/** One value steadied for the eye, through the turn at the end of its range. */
struct eye {
    struct omo_one_euro filter;
    double last_deg; /**< not steadied, without turns; NAN */
};

struct omo_live {
    struct omo_live_settings settings;
    struct omo_course course;
    struct omo_follow follow;
    double time_s; /**< of the last frame; NAN */
    double since_prepared_s;
    struct eye eye, arm;
    double before_deg[2]; /**< the arm's last values */
    double last_raise_deg;
    struct omo_camera_u camera_u;
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

/* ---- rest and trunk ---- */

static enum omo_status take_neutral(struct omo_live *live, struct omo_course_step *step)
{
    bool begun;
    enum omo_status status = omo_follow_begin(&live->follow, step->still_from, &begun);
    if (status != OMO_OK)
        return status;
    omo_course_neutral(&live->course, begun, step);
    forget_arm(live);
    return OMO_OK;
}

static enum omo_status prepare_when_due(struct omo_live *live, unsigned events,
                                        double step_s)
{
    const struct omo_take *take = &live->follow.take;
    live->since_prepared_s += step_s;
    bool raised =
        live->course.phase == OMO_PHASE_RAISE || live->course.phase == OMO_PHASE_LOWER;
    double every_s = raised ? PREPARE_RAISED_S : PREPARE_AT_REST_S;
    bool due = (live->course.raises == 0 &&
                live->since_prepared_s >= every_s - TIME_TOLERANCE_S) ||
               (events & OMO_EVENT_RAISE_CLOSED) != 0;
    if (!due || take->count > PREPARE_MOST)
        return OMO_OK;
    live->since_prepared_s = 0;
    return omo_follow_prepare(&live->follow);
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
    const struct omo_follow *follow = &live->follow;
    const struct omo_track_frame *frame = &follow->frames[k];
    double arm_deg = follow->take.segment_deg[k];
    if (follow->known)
        arm_deg = omo_follow_above_neutral_deg(follow, follow->rows[k].angle_raw_deg);
    if (frame->damaged)
        arm_deg = NAN;
    return (struct omo_course_frame){
        .number = follow->base + (int64_t)k,
        .time_s = frame->time_s,
        .in_view = !frame->damaged && in_view(live, frame),
        .arm_deg = steady_arm(live, frame->time_s, arm_deg),
        .angle_deg = eye_deg,
        .raise_deg = omo_follow_above_neutral_deg(follow, follow->raise.best_deg),
        .best_deg = omo_follow_above_neutral_deg(follow, follow->best.best_deg),
    };
}

static void fill_view(struct omo_live *live, size_t k, const struct omo_course_step *step,
                      struct omo_live_view *view)
{
    const struct omo_trace_row *row = &live->follow.rows[k];
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
        .angle_u95_deg = omo_max_u95_deg(&live->follow.take, k, &live->camera_u),
        .best_deg = live->follow.best.best_deg,
        .last_raise_deg = live->last_raise_deg,
        .trunk_lean_deg = live->follow.take.lean_deg[k],
        .hike_ratio = row->hike_ratio,
        .elbow_flexion_deg = row->elbow_flexion_deg,
        .reference = row->reference,
        .quality = row->quality,
        .pain_onset_deg = course->pain_onset_deg,
        .pain_end_deg = course->pain_end_deg,
        .markers = row->markers,
    };
}

/** What raises need beside the course. */
static void follow_raises(struct omo_live *live, double best_deg,
                          struct omo_course_step *step)
{
    const struct omo_follow *follow = &live->follow;
    enum omo_phase phase = live->course.phase;
    if ((step->events & OMO_EVENT_RAISE_BEGAN) != 0)
        omo_follow_raise(&live->follow);
    if ((step->events & OMO_EVENT_RAISE_CLOSED) != 0)
        live->last_raise_deg = follow->raise.best_deg;
    if (phase == OMO_PHASE_READY || phase == OMO_PHASE_ENDED)
        omo_follow_lowered(&live->follow);
    bool moving = phase == OMO_PHASE_RAISE || phase == OMO_PHASE_LOWER;
    if (moving && isfinite(follow->best.best_deg) && !(follow->best.best_deg <= best_deg))
        step->events |= OMO_EVENT_NEW_BEST;
}

/** The frame belongs to what is followed. */
static enum omo_status follow_frame(struct omo_live *live, double step_s, double eye_deg,
                                    struct omo_course_step *step)
{
    struct omo_follow *follow = &live->follow;
    bool known = follow->known;
    double best_deg = follow->best.best_deg;
    omo_follow_keep(follow);
    struct omo_course_frame told = course_frame(live, follow->take.count - 1, eye_deg);
    enum omo_status status = omo_course_step(&live->course, &told, step);
    if (status != OMO_OK)
        return status;
    if (!known)
        return step->take_neutral ? take_neutral(live, step) : OMO_OK;
    follow_raises(live, best_deg, step);
    return prepare_when_due(live, step->events, step_s);
}

enum omo_status omo_live_step(struct omo_live *live, const struct omo_track_frame *frame,
                              struct omo_live_view *view)
{
    struct omo_follow *follow = &live->follow;
    double low_deg = live->settings.measure.movement->wrap_low_deg;
    bool gap = omo_course_gap(live->time_s, frame->time_s);
    double step_s = gap ? 0.0 : frame->time_s - live->time_s;
    live->time_s = frame->time_s;
    if (gap) {
        eye_init(&live->eye);
        forget_arm(live);
    }
    enum omo_status status =
        omo_follow_read(follow, frame,
                        fmax(live->settings.neutral_s, 1.0) + REACH_MORE_S);
    if (status != OMO_OK)
        return status;
    size_t k = follow->take.count;
    double eye_deg = eye_step(&live->eye, frame->time_s, follow->rows[k].angle_raw_deg);
    eye_deg = omo_wrap_deg(eye_deg, low_deg);
    struct omo_course_step step = {.phase_ratio = NAN, .phase_left_s = NAN};
    if (live->course.phase != OMO_PHASE_ENDED) {
        status = follow_frame(live, step_s, eye_deg, &step);
        if (status != OMO_OK)
            return status;
        k = follow->take.count - 1; /* others may have gone */
    }
    follow->rows[k].angle_deg = eye_deg;
    fill_view(live, k, &step, view);
    return OMO_OK;
}

void omo_live_press(struct omo_live *live, enum omo_live_press press)
{
    omo_course_press(&live->course, press);
}

const struct omo_track_frame *omo_live_frames(const struct omo_live *live, size_t *count)
{
    *count = live->follow.known ? live->follow.take.count : 0;
    return live->follow.known ? live->follow.frames : NULL;
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
    live->last_raise_deg = live->time_s = NAN;
    omo_course_init(&live->course, &live->settings);
    eye_init(&live->eye);
    forget_arm(live);
    enum omo_status status = omo_follow_init(&live->follow, &live->settings.measure);
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
    omo_follow_finish(&live->follow);
    free(live);
}
