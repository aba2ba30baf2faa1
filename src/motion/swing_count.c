#include <math.h>
#include <string.h>

#include "motion/swing.h"

/* Frames that come faster are left out: a lap takes a second or more. */
#define SAMPLE_S 0.012
/* What counts as a circle, and as holding still for how long. Our choice. */
#define SMALLEST_MM 30.0
#define STILL_MM    8.0
#define STILL_SHARE 0.05
#define STILL_S     1.0
/* A lap that is broken off counts from this share on; less of it is dropped. Swinging out
 * of the rest and back into it goes by unseen with so much of a lap each. Our choice. */
#define WHOLE_SHARE  0.8
#define UNSEEN_SHARE 0.25
/* Nobody turns back so often without a lap between: it is the size that misleads. */
#define BACKS_MOST 1
#define GOES_MOST  4
/* Too short to be a lap, after one that took so long: an arc beside a middle that no
 * whole lap has shown. */
#define SHORTEST_SHARE 0.5
#define SHORTEST_S     0.5
/* Hidden for longer than this share of a lap (or, before the first, this long) nobody
 * can say how far the wrist has gone. */
#define HIDDEN_SHARE   0.55
#define HIDDEN_FIRST_S 0.4
/* Edge-on, as far as counting goes: the ellipse is narrower than this share of its
 * width, or than this. The body's bobbing is not much smaller. */
#define FLAT_SHARE 0.05
#define FLAT_MM    5.0
/* A swing to and fro is no lap: the ellipse fills less than this share of what it could
 * and the marker's size says that there is less depth than this share of the width. */
#define OPEN_SHARE  0.35
#define ROUND_SHARE 0.4

static struct omo_swing_lap *laps(const struct omo_pendulum *p)
{
    return (struct omo_swing_lap *)(void *)p->laps->data;
}

/** Forgets the oldest samples. */
static void drop(struct omo_pendulum *p, size_t samples)
{
    p->count -= samples;
    p->begin -= samples < p->begin ? samples : p->begin;
    memmove(p->sample, p->sample + samples, p->count * sizeof p->sample[0]);
}

/** Radians of so many millimetres at the wrist. */
static double radians(const struct omo_pendulum *p, double mm)
{
    return mm / p->eye.size_mm * exp(p->sample[p->count - 1].near);
}

/** Edge-on, as far as the picture shows which way. */
static bool is_flat(const struct omo_pendulum *p, double half_across, double half_down)
{
    return half_down < FLAT_SHARE * half_across || half_down < radians(p, FLAT_MM);
}

/** A whole turn is a lap unless it was a swing to and fro. */
static bool keep_lap(struct omo_pendulum *p, size_t last, bool to_rest)
{
    struct omo_swing_lap lap;
    size_t first = p->turn.from;
    if (!(p->sample[last].time_s - p->sample[first].time_s >= SHORTEST_S))
        return false;
    omo_swing_lap_of(&p->eye, p->sample + first, last - first + 1, p->fresh || to_rest,
                     &lap);
    p->fresh = false;
    p->lap_s = lap.lasts_s;
    p->round = fabs(lap.round_near) >= ROUND_SHARE;
    p->flat = is_flat(p, lap.half, fabs(lap.round_down) * lap.half);
    if (!(!p->flat && lap.open >= OPEN_SHARE) &&
        fabs(lap.round_near) + 2.0 * lap.round_near_u < ROUND_SHARE)
        return false;
    g_array_append_val(p->laps, lap);
    p->backs = 0;
    p->side = omo_swing_tell_ways(&p->eye, laps(p), p->laps->len);
    return true;
}

static void forget_turn(struct omo_pendulum *p)
{
    p->turn = (struct omo_swing_turn){.half_across = p->turn.half_across,
                                      .half_down = p->turn.half_down};
    p->way = 0;
}

/** Whether a broken off turn is as good as whole. */
static bool is_whole(const struct omo_pendulum *p, double turn, size_t last, bool to_rest)
{
    double unseen = (p->from_rest ? UNSEEN_SHARE : 0.0) + (to_rest ? UNSEEN_SHARE : 0.0);
    double lasted_s = p->sample[last].time_s - p->sample[p->turn.from].time_s;
    return p->swinging && turn / (2.0 * M_PI) + unseen >= WHOLE_SHARE &&
           !(p->begin == 0 && lasted_s < SHORTEST_SHARE * p->lap_s);
}

/** What is left over at a stop or a gap; true when it counts. */
static bool finish_stretch(struct omo_pendulum *p, bool to_rest)
{
    bool whole = is_whole(p, p->turn.turn, p->turn.furthest, to_rest) &&
                 keep_lap(p, p->turn.furthest, to_rest);
    forget_turn(p);
    return whole;
}

static double size_of(const struct omo_swing_sample *s, size_t count)
{
    double left = s[0].across, right = left, top = s[0].down, bottom = top;
    for (size_t k = 1; k < count; k++) {
        left = fmin(left, s[k].across);
        right = fmax(right, s[k].across);
        top = fmin(top, s[k].down);
        bottom = fmax(bottom, s[k].down);
    }
    return fmax(right - left, bottom - top);
}

/** First sample of the last so many seconds. */
static size_t since(const struct omo_pendulum *p, double seconds)
{
    size_t k = p->count - 1;
    while (k > 0 && p->sample[p->count - 1].time_s - p->sample[k - 1].time_s <= seconds)
        k--;
    return k;
}

/** Whether the wrist stands; true when that ends a lap that counts. */
static bool watch_rest(struct omo_pendulum *p)
{
    size_t from = since(p, STILL_S);
    double limit = fmax(radians(p, STILL_MM), STILL_SHARE * 2.0 * p->turn.half_across);
    bool moves = size_of(p->sample + from, p->count - from) > limit;
    bool whole = false;
    double lasts_s = p->sample[p->count - 1].time_s - p->sample[from].time_s;
    if (!moves && lasts_s >= 0.9 * STILL_S) {
        whole = finish_stretch(p, true);
        p->swinging = false;
        p->from_rest = true;
    } else if (!p->swinging && moves) {
        p->swinging = p->fresh = true;
        p->turn = (struct omo_swing_turn){0};
        p->way = 0;
    }
    if (!p->swinging) {
        drop(p, from);
        p->begin = 0;
    }
    return whole;
}

static enum omo_swing_kind kind_of(const struct omo_pendulum *p)
{
    if (p->turn.by_size && !p->size_fails && (p->begin == 0 || p->round))
        return OMO_SWING_BY_SIZE;
    return p->flat || p->begin == 0 ? OMO_SWING_BY_SPEED : OMO_SWING_BY_ELLIPSE;
}

static void follow(struct omo_pendulum *p)
{
    struct omo_swing_course course = {.room = p->room,
                                      .sample = p->sample,
                                      .begin = p->begin,
                                      .count = p->count,
                                      .first = p->begin == 0,
                                      .kind = p->kind,
                                      .way = p->way,
                                      .rate = 2.0 * M_PI / p->lap_s};
    omo_swing_follow(&course, &p->turn);
    p->size_fails |= p->turn.size_fails;
    enum omo_swing_kind kind = kind_of(p);
    if ((p->begin == 0 || p->turn.size_fails) &&
        kind != p->kind) { /* later on as the last lap had it */
        course.kind = p->kind = kind;
        course.way = p->way = 0;
        omo_swing_follow(&course, &p->turn);
    }
    if (p->turn.half_across < radians(p, 0.5 * SMALLEST_MM))
        p->turn.turn = p->turn.closed = 0;
}

static bool close_lap(struct omo_pendulum *p)
{
    size_t last = p->turn.furthest, first = p->turn.from;
    bool counts = keep_lap(p, last, false);
    p->begin = last;
    enum omo_swing_kind kind = kind_of(p);
    p->way = kind == p->kind ? p->turn.way : 0;
    p->kind = kind;
    drop(p, first);
    return counts;
}

/** The wrist has turned back: what it had gone until then is left over. */
static bool turn_back(struct omo_pendulum *p)
{
    size_t back = p->turn.back_at;
    int way = -p->turn.way;
    bool whole =
        is_whole(p, p->turn.before_back, back, false) && keep_lap(p, back, false);
    forget_turn(p);
    p->from_rest = false;
    p->backs = whole ? 0 : p->backs + 1;
    p->size_fails |= p->kind == OMO_SWING_BY_SIZE && p->backs > BACKS_MOST;
    p->begin = back;
    p->way = way;
    return whole;
}

/** Counts what the last sample completes. A gap may be read one way or the other for as
 *  long as one likes: after a few goes the next sample has to tell. */
static bool count_laps(struct omo_pendulum *p)
{
    bool closed = false;
    follow(p);
    for (int i = 0; i < GOES_MOST && (p->turn.closed || p->turn.reversed); i++) {
        if (p->turn.closed)
            closed |= close_lap(p);
        else
            closed |= turn_back(p);
        follow(p);
    }
    return closed;
}

bool omo_swing_take(struct omo_pendulum *p, const struct omo_swing_sample *sample)
{
    bool closed = false;
    if (p->count > 0) {
        double gap_s = sample->time_s - p->sample[p->count - 1].time_s;
        if (gap_s < SAMPLE_S)
            return false;
        if (gap_s > (isnan(p->lap_s) ? HIDDEN_FIRST_S : HIDDEN_SHARE * p->lap_s)) {
            closed = finish_stretch(p, false);
            p->count = p->begin = 0;
            p->swinging = p->from_rest = false;
        }
    }
    if (p->count == OMO_SWING_SAMPLES_MAX)
        drop(p, OMO_SWING_SAMPLES_MAX / 4);
    p->sample[p->count++] = *sample;
    closed |= watch_rest(p);
    if (p->swinging)
        closed |= count_laps(p);
    return closed;
}

bool omo_swing_end(struct omo_pendulum *p)
{
    bool closed = finish_stretch(p, false);
    p->swinging = false;
    p->count = p->begin = 0;
    return closed;
}
