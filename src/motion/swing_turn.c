#include <math.h>

#include "motion/swing.h"

/* Across and the marker's size draw the circle as it is seen from above, and nothing is
 * better, where the size stands out from its noise. Where it does not, how far round the
 * wrist has gone is read from its place and speed across the picture: they draw a circle
 * however flat the ellipse is, start from its middle at rest, and care nothing for how
 * much the wrist rises as it swings out. Which way it goes then, and that it has turned
 * back, is read from the ellipse. */

/* Nearer to the middle than this share of the circle there is no telling how far round.
 */
#define INNER 0.3
/* The way is known after this much. It has changed when the wrist has gone back by that
 * much; no lap closes while it may have. Radians, our choice: the rise of a wrist that
 * swings in to rest looks like a third of a lap back. */
#define KNOWN_AFTER  (M_PI / 3.0)
#define BACK         (5.0 * M_PI / 6.0)
#define MAYBE_BACK   (M_PI / 4.0)
#define BACK_BY_SIZE (M_PI / 2.0)
/* The size is read when its swing is so many times its noise. */
#define STANDS_OUT 3.0
/* A band that leans as much as it comes nearer, seen from below, changes its size, but
 * not with the depth: place and speed have gone on by this much more then. */
#define SIZE_FAILS_AFTER (4.0 * M_PI / 3.0)
/* Until a lap has shown where the middle is, half a turn out of the rest can look like a
 * whole one: the first lap closes only when the wrist has gone on by this much. */
#define MORE_AT_FIRST (M_PI / 3.0)
/* A speed is read over this long to both sides. */
#define SPEED_S 0.10
/* Longer than this between two samples, the turn is the one that suits the rate. */
#define HIDDEN_S 0.15

static void widen(struct omo_swing_box *box, double value)
{
    if (!(value >= box->low))
        box->low = value;
    if (!(value <= box->high))
        box->high = value;
}

static double half(const struct omo_swing_box *box)
{
    return 0.5 * (box->high - box->low);
}

/** -1 .. 1 within the box. */
static double within(const struct omo_swing_box *box, double value)
{
    return (value - 0.5 * (box->high + box->low)) / half(box);
}

/** Speed across, from the samples about this one; NAN at the ends and beside gaps. */
static double speed(const struct omo_swing_course *c, size_t at)
{
    const struct omo_swing_sample *s = c->sample;
    size_t a = at, b = at;
    while (a > 0 && s[at].time_s - s[a].time_s < SPEED_S)
        a--;
    while (b + 1 < c->count && s[b].time_s - s[at].time_s < SPEED_S)
        b++;
    double before = s[at].time_s - s[a].time_s, after = s[b].time_s - s[at].time_s;
    if (before < 0.6 * SPEED_S || after < 0.6 * SPEED_S || before > 2.0 * SPEED_S ||
        after > 2.0 * SPEED_S)
        return NAN;
    return (s[b].across - s[a].across) / (before + after);
}

/** Size about this sample, over as long as a speed. */
static double size(const struct omo_swing_course *c, size_t at)
{
    const struct omo_swing_sample *s = c->sample;
    double sum = s[at].near;
    int count = 1;
    for (size_t k = at; k > 0 && s[at].time_s - s[k - 1].time_s <= SPEED_S; k--, count++)
        sum += s[k - 1].near;
    for (size_t k = at + 1; k < c->count && s[k].time_s - s[at].time_s <= SPEED_S;
         k++, count++)
        sum += s[k].near;
    return sum / count;
}

/** An angle about a middle, added up. */
struct sum {
    double sum, last, last_s;
    bool any, inside; /* seen nearer to the middle since */
};

static void add(struct sum *s, double x, double y, double time_s, double rate)
{
    if (!(hypot(x, y) >= INNER)) {
        s->inside = true;
        return;
    }
    double angle = atan2(y, x), gap_s = time_s - s->last_s;
    double step = s->any ? remainder(angle - s->last, 2.0 * M_PI) : 0.0;
    if (s->any && gap_s > HIDDEN_S && s->inside)
        step = 0.0; /* came to rest and swings out anew */
    else if (s->any && gap_s > HIDDEN_S && isfinite(rate))
        step += 2.0 * M_PI * round((rate * gap_s - step) / (2.0 * M_PI));
    s->sum += step;
    s->inside = false;
    s->last = angle;
    s->last_s = time_s;
    s->any = true;
}

/** What the circle or the ellipse says of the way. */
static void follow_way(struct omo_swing_turn *turn, double wound, size_t at)
{
    if (turn->way == 0 && fabs(wound) > KNOWN_AFTER)
        turn->way = wound > 0.0 ? 1 : -1;
    double gone = turn->way * wound;
    if (gone > turn->wound) {
        turn->wound = gone;
        turn->back_at = at;
        turn->before_back = turn->turn;
    }
    turn->back = turn->wound - gone;
}

static void go_on(struct omo_swing_turn *turn, double gone, size_t at)
{
    if (gone > turn->turn && turn->turn < 2.0 * M_PI) {
        turn->turn = gone;
        turn->furthest = at;
    }
}

/** Takes out what goes with across: a picture that is not level, a marker that looks
 *  aside. */
static void straighten(const struct omo_swing_course *c, struct omo_swing_series *series)
{
    double x = 0.0, y = 0.0, xx = 0.0, xy = 0.0, n = (double)c->count;
    for (size_t k = 0; k < c->count; k++) {
        x += c->sample[k].across / n;
        y += series->value[k] / n;
    }
    for (size_t k = 0; k < c->count; k++) {
        xx += (c->sample[k].across - x) * (c->sample[k].across - x);
        xy += (c->sample[k].across - x) * (series->value[k] - y);
    }
    series->box = (struct omo_swing_box){NAN, NAN};
    for (size_t k = 0; k < c->count; k++) {
        series->value[k] -= xy / xx * c->sample[k].across;
        widen(&series->box, series->value[k]);
    }
}

static void add_up(const struct omo_swing_course *c, const struct omo_swing_box *across,
                   const struct omo_swing_series *depth,
                   const struct omo_swing_series *quick, struct omo_swing_turn *turn)
{
    struct sum round = {0}, wind = {0};
    bool by_size = c->kind == OMO_SWING_BY_SIZE;
    for (size_t k = c->begin; k < c->count; k++) {
        double time_s = c->sample[k].time_s, x = within(across, c->sample[k].across);
        bool before = wind.any || round.any;
        add(&wind, x, within(&depth->box, depth->value[k]), time_s, turn->way * c->rate);
        add(&round, x, within(&quick->box, quick->value[k]), time_s, c->rate);
        go_on(turn, by_size ? turn->way * wind.sum : round.sum, k);
        if (!before && (by_size ? wind.any : round.any))
            turn->from = k;
        follow_way(turn, wind.sum, k);
        turn->reversed =
            c->kind != OMO_SWING_BY_SPEED && turn->back > (by_size ? BACK_BY_SIZE : BACK);
        double needed = 2.0 * M_PI + (c->first ? MORE_AT_FIRST : 0.0);
        turn->closed = (by_size ? turn->wound : round.sum) >= needed &&
                       (c->kind == OMO_SWING_BY_SPEED || turn->back < MAYBE_BACK);
        if (turn->closed || turn->reversed)
            return;
        turn->size_fails = by_size && round.sum > turn->wound + SIZE_FAILS_AFTER;
    }
}

/** Whether the size stands out from its noise. */
static bool stands_out(const struct omo_swing_course *c,
                       const struct omo_swing_series *size_of)
{
    double mean = 0.0, var = 0.0, noise = 0.0, n = (double)c->count;
    double each_s = (c->sample[c->count - 1].time_s - c->sample[0].time_s) / n;
    for (size_t k = 0; k < c->count; k++)
        mean += size_of->value[k] / n;
    for (size_t k = 0; k < c->count; k++)
        var += (size_of->value[k] - mean) * (size_of->value[k] - mean) / n;
    for (size_t k = 1; k + 1 < c->count; k++) {
        double d =
            c->sample[k - 1].near - 2.0 * c->sample[k].near + c->sample[k + 1].near;
        noise += d * d / 6.0 / n;
    }
    noise /= 1.0 + 2.0 * floor(SPEED_S / each_s);
    return 2.0 * (var - noise) > STANDS_OUT * STANDS_OUT * noise;
}

void omo_swing_follow(const struct omo_swing_course *course, struct omo_swing_turn *turn)
{
    struct omo_swing_series *down = &course->room[0], *near = &course->room[1],
                            *quick = &course->room[2];
    struct omo_swing_box across = {NAN, NAN};
    *turn = (struct omo_swing_turn){.way = course->way,
                                    .from = course->begin,
                                    .furthest = course->begin,
                                    .back_at = course->begin};
    if (course->count < 3)
        return;
    quick->box = (struct omo_swing_box){NAN, NAN};
    for (size_t k = 0; k < course->count; k++) {
        down->value[k] = course->sample[k].down;
        near->value[k] = size(course, k);
        quick->value[k] = -speed(course, k);
        widen(&across, course->sample[k].across);
        if (!isnan(quick->value[k]))
            widen(&quick->box, quick->value[k]);
    }
    straighten(course, down);
    straighten(course, near);
    turn->half_across = half(&across);
    turn->half_down = half(&down->box);
    turn->by_size = stands_out(course, near);
    add_up(course, &across, course->kind == OMO_SWING_BY_SIZE ? near : down, quick, turn);
}
