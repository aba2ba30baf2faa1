#include "motion/course.h"

#include <math.h>

#include "motion/course_arms.h"
#include "motion/take.h"

/* The rules of the course, one place. All are our choice. */

/* Beyond this between two frames (a camera unplugged) nothing goes on from before. */
#define GAP_S 2.0
/* A needed marker may be hidden for this long before the course says so and stillness
 * has to begin anew: longer than a tracker's blink, shorter than any raise. */
#define HIDDEN_S 0.5
/* Still for this long shows as neutral being taken: as long as a file's rest, and a
 * passing standstill does not flicker on the screen. */
#define STEADY_S 1.0
/* A raise begins this far above the lowest since the arm came down: four times what a
 * still arm may move, and a shoulder that reaches 25 degrees still has two thirds of its
 * way before it. Extension and adduction are small arcs too. */
#define BEGIN_DEG 8.0
/* It closes within this of where it began. A shoulder that hurts does not come back to
 * the degree; the 3 degrees to BEGIN_DEG keep a tremor from raising twice. Higher raises
 * close within OMO_LOW_SHARE of their way, as a file's repetitions do. */
#define RETURN_DEG 5.0
/* Against the way it goes by this much is a turn: above tremor and the sway of a tired
 * arm. */
#define TURN_DEG 5.0
/* A pause is stiller than rest is: a smooth turn at the top takes a second within the
 * latter. */
#define PAUSE_STILL 0.5 /* share of what a still arm may move */
/* A pause this far above where the raise began is one on the way; below it the arm hangs
 * a little elsewhere. */
#define PAUSE_ABOVE_DEG 10.0
/* A pause was one on the way when the arm then goes on by this much: a hold that is
 * followed by turning back is the top. */
#define PAUSE_ON_DEG 5.0
/* Over the long stillness that ends a movement breath, sway and a tired arm may add up to
 * this many times what a still arm may move. */
#define LONG_STILL 2.0
/* Samples are kept a little longer than the longest stillness asked for. */
#define REACH_MORE_S 1.0

bool omo_course_gap(double from_s, double to_s)
{
    return !(to_s > from_s) || to_s - from_s > GAP_S;
}

void omo_course_init(struct omo_course *course, const struct omo_live_settings *settings,
                     int arms)
{
    *course = (struct omo_course){
        .settings = settings,
        .arms = arms,
        .phase = OMO_PHASE_SEEK,
        .resume = OMO_PHASE_READY,
        .time_s = NAN,
        .unseen_s = INFINITY,
    };
    double longest_s = fmax(settings->neutral_s, settings->end_still_s);
    for (int i = 0; i < OMO_COURSE_ARMS; i++) {
        course->pain_onset_deg[i] = course->pain_end_deg[i] = NAN;
        omo_still_init(&course->still[i],
                       fmax(longest_s, settings->pause_s) + STEADY_S + REACH_MORE_S);
    }
}

void omo_course_finish(struct omo_course *course)
{
    for (int i = 0; i < OMO_COURSE_ARMS; i++)
        omo_still_finish(&course->still[i]);
}

void omo_course_press(struct omo_course *course, enum omo_live_press press)
{
    switch (press) {
    case OMO_PRESS_MARK:
        course->mark = true;
        break;
    case OMO_PRESS_BEGIN:
        course->begin = true;
        break;
    case OMO_PRESS_ENOUGH:
        course->enough = true;
        break;
    case OMO_PRESS_STOP:
        course->stop = true;
        break;
    }
}

static void end_course(struct omo_course *course, enum omo_live_end end,
                       struct omo_course_step *step)
{
    course->phase = OMO_PHASE_ENDED;
    course->end = end;
    step->events |= OMO_EVENT_ENDED;
}

/* ---- before neutral ---- */

static double neutral_s(const struct omo_course *course)
{
    return fmax(course->settings->neutral_s, STEADY_S);
}

static enum omo_status seek_neutral(struct omo_course *course,
                                    const struct omo_course_frame *frame,
                                    struct omo_course_step *step)
{
    const struct omo_live_settings *s = course->settings;
    if (course->unseen_s > HIDDEN_S) {
        course->phase = OMO_PHASE_SEEK;
        omo_course_break_still(course);
        return OMO_OK;
    }
    if (!frame->in_view || !omo_course_all_seen(course, frame->arm_deg))
        return OMO_OK; /* a blink */
    if (omo_course_at_rest(course, frame)) {
        enum omo_status status = omo_course_push_still(course, frame);
        if (status != OMO_OK)
            return status;
    } else {
        omo_course_break_still(course);
    }
    struct omo_still_stretch still =
        omo_course_all_still(course, s->still_deg, neutral_s(course), 0);
    course->phase = still.for_s >= STEADY_S ? OMO_PHASE_NEUTRAL : OMO_PHASE_SETTLE;
    if (course->phase != OMO_PHASE_NEUTRAL)
        return OMO_OK;
    step->phase_ratio = fmin(still.for_s / neutral_s(course), 1.0);
    step->phase_left_s = fmax(neutral_s(course) - still.for_s, 0.0);
    step->take_neutral = course->begin || step->phase_left_s < 1e-6;
    step->still_from = still.number;
    return OMO_OK;
}

void omo_course_neutral(struct omo_course *course, bool taken,
                        struct omo_course_step *step)
{
    course->begin = false;
    for (int i = 0; i < course->arms; i++)
        omo_still_clear(&course->still[i]);
    step->phase_ratio = step->phase_left_s = NAN;
    course->phase = taken ? OMO_PHASE_READY : OMO_PHASE_SETTLE;
    if (!taken)
        return;
    course->neutral = true;
    course->mark = false;
    course->floor_deg = 0;
    step->events |= OMO_EVENT_NEUTRAL;
}

/* ---- raises ---- */

static void begin_raise(struct omo_course *course, const struct omo_course_frame *frame,
                        struct omo_course_step *step)
{
    course->phase = OMO_PHASE_RAISE;
    course->base_deg = course->floor_deg;
    course->peak_deg = omo_course_top_deg(course, frame);
    course->raise_s = 0;
    course->way_from = frame->number;
    course->onset_marked = course->end_marked = course->paused = false;
    step->events |= OMO_EVENT_RAISE_BEGAN;
}

/** The arm is down again. What never rose above a quarter of the best, or passed like a
 *  twitch, was no raise; a file's repetitions go by the same. */
static void close_raise(struct omo_course *course, const struct omo_course_frame *frame,
                        struct omo_course_step *step)
{
    course->phase = OMO_PHASE_READY;
    course->floor_deg = fmax(omo_course_top_deg(course, frame), 0.0);
    course->mark = false;
    if (course->raise_s < OMO_REPETITION_S || !(frame->raise_deg >= BEGIN_DEG) ||
        frame->raise_deg < OMO_LOW_SHARE * frame->best_deg)
        return;
    course->raises++;
    step->events |= OMO_EVENT_RAISE_CLOSED;
    int most = course->settings->raises_most;
    if (most > 0 && course->raises >= most)
        end_course(course, OMO_END_RAISES, step);
}

static void follow_raise(struct omo_course *course, const struct omo_course_frame *frame,
                         struct omo_course_step *step)
{
    double arm_deg = omo_course_top_deg(course, frame);
    if (course->phase == OMO_PHASE_RAISE) {
        course->peak_deg = fmax(course->peak_deg, arm_deg);
        if (arm_deg < course->peak_deg - TURN_DEG) {
            course->phase = OMO_PHASE_LOWER;
            course->trough_deg = arm_deg;
            course->way_from = frame->number;
        }
    } else {
        course->trough_deg = fmin(course->trough_deg, arm_deg);
        if (arm_deg > course->trough_deg + TURN_DEG) {
            course->phase = OMO_PHASE_RAISE;
            course->peak_deg = fmax(course->peak_deg, arm_deg);
            course->way_from = frame->number;
        }
    }
    double way_deg = course->peak_deg - course->base_deg;
    if (arm_deg - course->base_deg <= fmax(RETURN_DEG, OMO_LOW_SHARE * way_deg))
        close_raise(course, frame, step);
}

/* ---- where it hurts ---- */

/** The phase, or the one behind a warning. */
static enum omo_phase way_of(const struct omo_course *course)
{
    return course->phase == OMO_PHASE_WARN ? course->resume : course->phase;
}

static void mark(struct omo_course *course, const double angle_deg[],
                 struct omo_course_step *step)
{
    bool up = way_of(course) == OMO_PHASE_RAISE;
    for (int i = 0; i < course->arms; i++)
        (up ? course->pain_onset_deg : course->pain_end_deg)[i] = angle_deg[i];
    if (up) {
        course->onset_marked = true;
        step->events |= OMO_EVENT_PAIN_ONSET;
    } else {
        course->end_marked = true;
        step->events |= OMO_EVENT_PAIN_END;
    }
    course->paused = false;
}

/** The first pause of a way marks once the arm goes on; a press does at once. */
static void look_for_marks(struct omo_course *course,
                           const struct omo_course_frame *frame,
                           struct omo_course_step *step)
{
    const struct omo_live_settings *s = course->settings;
    bool up = way_of(course) == OMO_PHASE_RAISE;
    bool marked = up ? course->onset_marked : course->end_marked;
    if (!omo_course_all_seen(course, frame->angle_deg))
        return;
    double arm_deg = omo_course_top_deg(course, frame);
    if (course->mark) {
        course->mark = false;
        mark(course, frame->angle_deg, step);
        return;
    }
    if (course->paused && course->pause_way == course->way_from && !marked) {
        double on_deg = arm_deg - course->pause_arm_deg;
        if ((up ? on_deg : -on_deg) >= PAUSE_ON_DEG)
            mark(course, course->pause_angle_deg, step);
        return;
    }
    if (marked || !(s->pause_s > 0.0) || arm_deg - course->base_deg < PAUSE_ABOVE_DEG)
        return;
    struct omo_still_stretch still =
        omo_course_all_still(course, PAUSE_STILL * s->still_deg, s->pause_s,
                             course->way_from);
    if (still.for_s < s->pause_s - 1e-6)
        return;
    course->paused = true;
    course->pause_way = course->way_from;
    course->pause_arm_deg = arm_deg;
    for (int i = 0; i < course->arms; i++)
        course->pause_angle_deg[i] = frame->angle_deg[i];
}

/* ---- stillness that ends it ---- */

/** True when it leads back from the warning. */
static bool moved_on(const struct omo_course *course,
                     const struct omo_course_frame *frame)
{
    bool moved = course->unseen_s > HIDDEN_S;
    for (int i = 0; i < course->arms; i++)
        moved =
            moved || course->still[i].broken ||
            fabs(frame->arm_deg[i] - course->warn_deg[i]) > course->settings->still_deg;
    return moved;
}

static void look_for_stillness(struct omo_course *course,
                               const struct omo_course_frame *frame,
                               struct omo_course_step *step)
{
    const struct omo_live_settings *s = course->settings;
    double warn_from_s = fmax(s->end_still_s - s->warn_s, 0.0);
    struct omo_still_stretch still =
        omo_course_all_still(course, LONG_STILL * s->still_deg, s->end_still_s, 0);
    if (still.for_s >= s->end_still_s - 1e-6) {
        end_course(course, OMO_END_STILL, step);
        return;
    }
    if (still.for_s < warn_from_s - 1e-6) {
        course->phase = way_of(course); /* it drifted */
        return;
    }
    if (course->phase != OMO_PHASE_WARN) {
        course->resume = course->phase;
        course->phase = OMO_PHASE_WARN;
        for (int i = 0; i < course->arms; i++)
            course->warn_deg[i] = frame->arm_deg[i];
        step->events |= OMO_EVENT_WARNED;
    }
    step->phase_left_s = s->end_still_s - still.for_s;
    step->phase_ratio = s->warn_s > 0 ? 1.0 - step->phase_left_s / s->warn_s : 1.0;
}

static enum omo_status follow(struct omo_course *course,
                              const struct omo_course_frame *frame, double step_s,
                              struct omo_course_step *step)
{
    if (course->unseen_s > HIDDEN_S)
        omo_course_break_still(course);
    if (course->phase == OMO_PHASE_WARN && moved_on(course, frame)) {
        course->phase = course->resume;
        omo_course_break_still(course);
    }
    course->raise_s += step_s;
    if (!frame->in_view || !omo_course_all_seen(course, frame->arm_deg))
        return OMO_OK; /* what is hidden closes and ends nothing */
    double arm_deg = omo_course_top_deg(course, frame);
    enum omo_status status = omo_course_push_still(course, frame);
    if (status != OMO_OK)
        return status;
    if (way_of(course) == OMO_PHASE_READY)
        course->mark = false;
    if (course->phase == OMO_PHASE_READY) {
        course->floor_deg = fmax(fmin(course->floor_deg, arm_deg), 0.0);
        if (arm_deg >= course->floor_deg + BEGIN_DEG)
            begin_raise(course, frame, step);
    } else if (course->phase == OMO_PHASE_RAISE || course->phase == OMO_PHASE_LOWER) {
        follow_raise(course, frame, step);
    }
    if (way_of(course) == OMO_PHASE_RAISE || way_of(course) == OMO_PHASE_LOWER)
        look_for_marks(course, frame, step);
    if (course->phase != OMO_PHASE_ENDED)
        look_for_stillness(course, frame, step);
    return OMO_OK;
}

enum omo_status omo_course_step(struct omo_course *course,
                                const struct omo_course_frame *frame,
                                struct omo_course_step *step)
{
    *step = (struct omo_course_step){.phase_ratio = NAN, .phase_left_s = NAN};
    if (course->phase == OMO_PHASE_ENDED)
        return OMO_OK;
    bool gap = !course->any || omo_course_gap(course->time_s, frame->time_s);
    double step_s = gap ? 0.0 : frame->time_s - course->time_s;
    course->any = true;
    course->time_s = frame->time_s;
    if (gap)
        omo_course_break_still(course);
    course->unseen_s = frame->in_view ? 0.0 : course->unseen_s + step_s;
    if (course->stop || course->enough) {
        end_course(course, course->stop ? OMO_END_STOP : OMO_END_ENOUGH, step);
        return OMO_OK;
    }
    return course->neutral ? follow(course, frame, step_s, step)
                           : seek_neutral(course, frame, step);
}
