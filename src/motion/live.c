#include "omogon/live.h"

#include <math.h>
#include <stdlib.h>

#include "motion/course.h"
#include "motion/live_arm.h"

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

struct omo_live {
    struct omo_live_settings settings;
    struct omo_course course;
    int arms;
    struct omo_live_arm arm[OMO_COURSE_ARMS];
    double time_s; /**< of the last frame; NAN */
    double since_prepared_s;
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

/* ---- rest and trunk ---- */

/** Both arms at once, or neither. */
static enum omo_status take_neutral(struct omo_live *live, struct omo_course_step *step)
{
    bool all = true;
    for (int i = 0; i < live->arms; i++) {
        bool begun;
        enum omo_status status =
            omo_follow_begin(&live->arm[i].follow, step->still_from, &begun);
        if (status != OMO_OK)
            return status;
        all = all && begun;
    }
    omo_course_neutral(&live->course, all, step);
    for (int i = 0; i < live->arms; i++) {
        live->arm[i].follow.known = all;
        omo_live_arm_forget(&live->arm[i]);
    }
    return OMO_OK;
}

static enum omo_status prepare_when_due(struct omo_live *live, unsigned events,
                                        double step_s)
{
    live->since_prepared_s += step_s;
    bool raised =
        live->course.phase == OMO_PHASE_RAISE || live->course.phase == OMO_PHASE_LOWER;
    double every_s = raised ? PREPARE_RAISED_S : PREPARE_AT_REST_S;
    bool due = (live->course.raises == 0 &&
                live->since_prepared_s >= every_s - TIME_TOLERANCE_S) ||
               (events & OMO_EVENT_RAISE_CLOSED) != 0;
    if (!due || live->arm[0].follow.take.count > PREPARE_MOST)
        return OMO_OK;
    live->since_prepared_s = 0;
    enum omo_status status = OMO_OK;
    for (int i = 0; i < live->arms && status == OMO_OK; i++)
        status = omo_follow_prepare(&live->arm[i].follow,
                                    (events & OMO_EVENT_RAISE_CLOSED) != 0);
    return status;
}

/* ---- a frame ---- */

/** What the course is told of the frame just kept. Both arms have to be in view, and the
 *  higher one's heights count. */
static struct omo_course_frame course_frame(struct omo_live *live)
{
    const struct omo_follow *first = &live->arm[0].follow;
    size_t k = first->take.count - 1;
    struct omo_course_frame told = {.number = first->base + (int64_t)k,
                                    .time_s = first->frames[k].time_s,
                                    .in_view = true,
                                    .raise_deg = NAN,
                                    .best_deg = NAN};
    for (int i = 0; i < live->arms; i++) {
        struct omo_live_arm *arm = &live->arm[i];
        const struct omo_follow *f = &arm->follow;
        told.in_view = told.in_view && omo_live_arm_in_view(arm);
        told.arm_deg[i] = omo_live_arm_steady_deg(arm);
        told.angle_deg[i] = arm->eye_deg;
        told.raise_deg =
            fmax(told.raise_deg, omo_follow_above_neutral_deg(f, f->raise.best_deg));
        told.best_deg =
            fmax(told.best_deg, omo_follow_above_neutral_deg(f, f->best.best_deg));
    }
    return told;
}

static void fill_view(struct omo_live *live, int i, size_t k,
                      const struct omo_course_step *step, struct omo_live_view *view)
{
    const struct omo_course *course = &live->course;
    *view = (struct omo_live_view){
        .phase = course->phase,
        .end = course->end,
        .events = step->events,
        .phase_ratio = step->phase_ratio,
        .phase_left_s = step->phase_left_s,
        .raises = course->raises,
        .pain_onset_deg = course->pain_onset_deg[i],
        .pain_end_deg = course->pain_end_deg[i],
    };
    omo_live_arm_view(&live->arm[i], k, view);
}

/** What raises need beside the course. */
static void follow_raises(struct omo_live *live, struct omo_live_arm *arm,
                          double best_deg, struct omo_course_step *step)
{
    struct omo_follow *follow = &arm->follow;
    enum omo_phase phase = live->course.phase;
    if ((step->events & OMO_EVENT_RAISE_BEGAN) != 0)
        omo_follow_raise(follow);
    if ((step->events & OMO_EVENT_RAISE_CLOSED) != 0)
        arm->last_raise_deg = follow->raise.best_deg;
    if (phase == OMO_PHASE_READY || phase == OMO_PHASE_ENDED)
        omo_follow_lowered(follow);
    bool moving = phase == OMO_PHASE_RAISE || phase == OMO_PHASE_LOWER;
    if (moving && isfinite(follow->best.best_deg) && !(follow->best.best_deg <= best_deg))
        step->events |= OMO_EVENT_NEW_BEST;
}

/** The frame belongs to what is followed. */
static enum omo_status follow_frame(struct omo_live *live, double step_s,
                                    struct omo_course_step *step)
{
    bool known = live->arm[0].follow.known;
    double best_deg[OMO_COURSE_ARMS];
    for (int i = 0; i < live->arms; i++) {
        best_deg[i] = live->arm[i].follow.best.best_deg;
        omo_follow_keep(&live->arm[i].follow);
    }
    struct omo_course_frame told = course_frame(live);
    enum omo_status status = omo_course_step(&live->course, &told, step);
    if (status != OMO_OK)
        return status;
    if (!known)
        return step->take_neutral ? take_neutral(live, step) : OMO_OK;
    for (int i = 0; i < live->arms; i++)
        follow_raises(live, &live->arm[i], best_deg[i], step);
    return prepare_when_due(live, step->events, step_s);
}

enum omo_status omo_live_step(struct omo_live *live, const struct omo_track_frame *frame,
                              struct omo_live_view *view)
{
    double time_s = frame[0].time_s;
    bool gap = omo_course_gap(live->time_s, time_s);
    double step_s = gap ? 0.0 : time_s - live->time_s;
    double reach_s = fmax(live->settings.neutral_s, 1.0) + REACH_MORE_S;
    live->time_s = time_s;
    for (int i = 0; i < live->arms; i++) {
        if (gap)
            omo_live_arm_gap(&live->arm[i]);
        enum omo_status status = omo_live_arm_read(&live->arm[i], &frame[i], reach_s);
        if (status != OMO_OK)
            return status;
    }
    size_t k = live->arm[0].follow.take.count;
    struct omo_course_step step = {.phase_ratio = NAN, .phase_left_s = NAN};
    if (live->course.phase != OMO_PHASE_ENDED) {
        enum omo_status status = follow_frame(live, step_s, &step);
        if (status != OMO_OK)
            return status;
        k = live->arm[0].follow.take.count - 1; /* others may have gone */
    }
    for (int i = 0; i < live->arms; i++)
        fill_view(live, i, k, &step, &view[i]);
    return OMO_OK;
}

void omo_live_press(struct omo_live *live, enum omo_live_press press)
{
    omo_course_press(&live->course, press);
}

int omo_live_arms(const struct omo_live *live)
{
    return live->arms;
}

const struct omo_track_frame *omo_live_frames(const struct omo_live *live, int arm,
                                              size_t *count)
{
    const struct omo_follow *follow = &live->arm[arm].follow;
    *count = follow->known ? follow->take.count : 0;
    return follow->known ? follow->frames : NULL;
}

static bool settings_valid(const struct omo_live_settings *s)
{
    return omo_measure_settings_valid(&s->measure) && s->still_deg > 0.0 &&
           isfinite(s->neutral_s) && s->end_still_s > 0.0 && isfinite(s->end_still_s) &&
           isfinite(s->warn_s) && isfinite(s->pause_s);
}

static enum omo_status create(const struct omo_live_settings *settings,
                              const struct omo_measure_settings *other,
                              struct omo_live **out)
{
    const struct omo_measure_settings *of[OMO_COURSE_ARMS] = {&settings->measure, other};
    struct omo_live *live = calloc(1, sizeof *live);
    if (live == NULL)
        return OMO_ERR_MEMORY;
    live->settings = *settings;
    live->time_s = NAN;
    live->arms = other ? 2 : 1;
    omo_course_init(&live->course, &live->settings, live->arms);
    enum omo_status status = OMO_OK;
    for (int i = 0; i < live->arms && status == OMO_OK; i++)
        status = omo_live_arm_init(&live->arm[i], of[i]);
    if (status != OMO_OK) {
        omo_live_destroy(live);
        return status;
    }
    *out = live;
    return OMO_OK;
}

enum omo_status omo_live_create(const struct omo_live_settings *settings,
                                struct omo_live **out)
{
    return settings_valid(settings) ? create(settings, NULL, out) : OMO_ERR_ARG;
}

enum omo_status omo_live_create_both(const struct omo_live_settings *settings,
                                     const struct omo_measure_settings *other,
                                     struct omo_live **out)
{
    if (!settings_valid(settings) || !omo_measure_settings_valid(other) ||
        other->movement != settings->measure.movement ||
        other->side == settings->measure.side)
        return OMO_ERR_ARG;
    return create(settings, other, out);
}

void omo_live_destroy(struct omo_live *live)
{
    if (live == NULL)
        return;
    omo_course_finish(&live->course);
    for (int i = 0; i < live->arms; i++)
        omo_live_arm_finish(&live->arm[i]);
    free(live);
}
