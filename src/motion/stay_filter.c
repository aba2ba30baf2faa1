/*
 * Interacting multiple models (Blom and Bar-Shalom 1988, from memory): Kalman filters for
 * every breathing rate and every way of moving; between two values the ways of one rate
 * are mixed as likely as an arm changes from one to the other.
 *
 * A window over which a mean speed is taken cannot do this: 1 degree of breathing at 0.3
 * per second has a speed of its own of up to 1.9 degrees a second, so that within a
 * second a steady raise at 3 and a stop look alike unless the breath is known.
 */
#include "motion/stay_filter.h"

#include <math.h>
#include <string.h>

/* Our choices, tuned on invented runs alone. */
#define SLOWEST_HZ      0.09
#define RATE_STEP_HZ    0.02
#define BREATH_SD_DEG   0.7  /* of either quadrature: an amplitude of 1 is usual */
#define BREATH_KEEPS_S  70.0 /* a breath is like the one before for so long */
#define RATE_KEEPS_S    30.0
#define RATE_LEAST      1e-4
#define VALUE_SD_DEG    0.45 /* tremor and noise, of a frame */
#define TOGETHER_SD_DEG 0.1  /* what averaging does not take away */
#define LEVEL_WALK_DEG  0.05 /* in a second */
#define SPEED_SD        20.0 /* degrees a second, before anything is known */
#define TOGETHER_S      0.045
#define GAP_S           2.0
/* A value so far from what was expected is a mistake, unless more follow. */
#define STRAY_DEG   8.0
#define STRAY_SD    5.0
#define STRAYS_MOST 2

/* How fast the speed walks, degrees a second in a second. */
static const double speed_walk[OMO_WAY_COUNT] = {0, 0.4, 8, 120};
/* How often an arm changes from one way to another, times a second. */
static const double changes[OMO_WAY_COUNT][OMO_WAY_COUNT] = {
    [OMO_WAY_LEVEL] = {0, 0.05, 0.2, 0.05},
    [OMO_WAY_STEADY] = {0.3, 0, 0.3, 0.1},
    [OMO_WAY_GENTLE] = {1.0, 1.0, 0, 0.3},
    [OMO_WAY_BRISK] = {0.5, 0.5, 2.0, 0},
};

static double rate_hz(int rate)
{
    return SLOWEST_HZ + rate * RATE_STEP_HZ;
}

void omo_stay_filter_init(struct omo_stay_filter *filter)
{
    memset(filter, 0, sizeof *filter);
}

/** Level and speed are unknown again; what is known of the breath stays. */
static void place(struct omo_stay_guess *guess, double angle_deg, bool first)
{
    if (first) {
        memset(guess, 0, sizeof *guess);
        guess->spread[2][2] = guess->spread[3][3] = BREATH_SD_DEG * BREATH_SD_DEG;
    }
    guess->mean[0] = angle_deg - guess->mean[2];
    guess->mean[1] = 0;
    for (int i = 0; i < OMO_STAY_STATE; i++) {
        for (int k = 0; k < 2; k++)
            guess->spread[i][k] = guess->spread[k][i] = 0;
    }
    guess->spread[0][0] = VALUE_SD_DEG * VALUE_SD_DEG + BREATH_SD_DEG * BREATH_SD_DEG;
    guess->spread[1][1] = SPEED_SD * SPEED_SD;
    guess->weight = 1.0 / OMO_WAY_COUNT;
}

/** One state step_s later; `next` is how far apart its four values lie. */
static void move(double *value, int next, double step_s, bool level, double c, double s)
{
    double p = value[2 * next], q = value[3 * next];
    value[0] += level ? 0.0 : step_s * value[next];
    value[next] = level ? 0.0 : value[next];
    value[2 * next] = c * p + s * q;
    value[3 * next] = c * q - s * p;
}

/** step_s later. */
static void predict(struct omo_stay_guess *guess, enum omo_stay_way way, int rate,
                    double step_s)
{
    double keep = exp(-step_s / BREATH_KEEPS_S);
    double turn = 2.0 * M_PI * rate_hz(rate) * step_s;
    double c = keep * cos(turn), s = keep * sin(turn);
    bool level = way == OMO_WAY_LEVEL;
    move(guess->mean, 1, step_s, level, c, s);
    for (int i = 0; i < OMO_STAY_STATE; i++)
        move(&guess->spread[0][i], OMO_STAY_STATE, step_s, level, c, s);
    for (int i = 0; i < OMO_STAY_STATE; i++)
        move(guess->spread[i], 1, step_s, level, c, s);
    double walk = speed_walk[way] * speed_walk[way];
    guess->spread[0][0] +=
        LEVEL_WALK_DEG * LEVEL_WALK_DEG * step_s + walk * step_s * step_s * step_s / 3.0;
    guess->spread[0][1] += walk * step_s * step_s / 2.0;
    guess->spread[1][0] = guess->spread[0][1];
    guess->spread[1][1] += walk * step_s;
    double lost = (1.0 - keep * keep) * BREATH_SD_DEG * BREATH_SD_DEG;
    guess->spread[2][2] += lost;
    guess->spread[3][3] += lost;
}

/** A value comes in; returns how likely it was. */
static double correct(struct omo_stay_guess *guess, double angle_deg, double variance)
{
    double seen[OMO_STAY_STATE];
    for (int i = 0; i < OMO_STAY_STATE; i++)
        seen[i] = guess->spread[i][0] + guess->spread[i][2];
    double all = seen[0] + seen[2] + variance;
    double miss_deg = angle_deg - guess->mean[0] - guess->mean[2];
    for (int i = 0; i < OMO_STAY_STATE; i++)
        guess->mean[i] += seen[i] / all * miss_deg;
    for (int i = 0; i < OMO_STAY_STATE; i++) {
        for (int k = 0; k < OMO_STAY_STATE; k++)
            guess->spread[i][k] -= seen[i] * seen[k] / all;
    }
    return exp(-0.5 * miss_deg * miss_deg / all) / sqrt(all) + 1e-300;
}

/** The ways of one rate exchange what they think, as likely as an arm changes. */
static void mix(struct omo_stay_guess ways[OMO_WAY_COUNT], double step_s)
{
    struct omo_stay_guess out[OMO_WAY_COUNT];
    double step = fmin(step_s, 0.1);
    for (int to = 0; to < OMO_WAY_COUNT; to++) {
        double share[OMO_WAY_COUNT], sum = 0;
        for (int from = 0; from < OMO_WAY_COUNT; from++) {
            double leaves = 0;
            for (int k = 0; k < OMO_WAY_COUNT; k++)
                leaves += changes[from][k] * step;
            share[from] = ways[from].weight *
                          (from == to ? 1.0 - leaves : changes[from][to] * step);
            sum += share[from];
        }
        memset(&out[to], 0, sizeof out[to]);
        out[to].weight = sum;
        for (int from = 0; from < OMO_WAY_COUNT; from++) {
            share[from] /= sum;
            for (int i = 0; i < OMO_STAY_STATE; i++)
                out[to].mean[i] += share[from] * ways[from].mean[i];
        }
        for (int from = 0; from < OMO_WAY_COUNT; from++) {
            double off[OMO_STAY_STATE];
            for (int i = 0; i < OMO_STAY_STATE; i++)
                off[i] = ways[from].mean[i] - out[to].mean[i];
            for (int i = 0; i < OMO_STAY_STATE; i++) {
                for (int k = 0; k < OMO_STAY_STATE; k++)
                    out[to].spread[i][k] +=
                        share[from] * (ways[from].spread[i][k] + off[i] * off[k]);
            }
        }
    }
    memcpy(ways, out, sizeof out);
}

/** Weights add up to 1, and none dies out. */
static void weigh(double *weight, int count, double least)
{
    double sum = 0;
    for (int i = 0; i < count; i++)
        sum += weight[i];
    for (int i = 0; i < count; i++)
        weight[i] = fmax(weight[i] / sum, least);
}

/** All guesses about one value, step_s after the last. */
static void take_in(struct omo_stay_filter *filter, double step_s, double angle_deg,
                    double variance)
{
    double keep = exp(-step_s / RATE_KEEPS_S);
    for (int rate = 0; rate < OMO_STAY_RATES; rate++) {
        struct omo_stay_guess *ways = filter->guess[rate];
        double sum = 0;
        mix(ways, step_s);
        for (int way = 0; way < OMO_WAY_COUNT; way++) {
            predict(&ways[way], (enum omo_stay_way)way, rate, step_s);
            ways[way].weight *= correct(&ways[way], angle_deg, variance);
            sum += ways[way].weight;
        }
        for (int way = 0; way < OMO_WAY_COUNT; way++)
            ways[way].weight /= sum;
        filter->rate_weight[rate] = pow(filter->rate_weight[rate], keep) * sum;
    }
    weigh(filter->rate_weight, OMO_STAY_RATES, RATE_LEAST);
}

/** Begins anew at this value. */
static void begin(struct omo_stay_filter *filter, double angle_deg, double away_s)
{
    for (int rate = 0; rate < OMO_STAY_RATES; rate++) {
        for (int way = 0; way < OMO_WAY_COUNT; way++) {
            struct omo_stay_guess *guess = &filter->guess[rate][way];
            if (filter->any)
                predict(guess, (enum omo_stay_way)way, rate, away_s);
            place(guess, angle_deg, !filter->any);
        }
        if (!filter->any)
            filter->rate_weight[rate] = 1.0 / OMO_STAY_RATES;
    }
    filter->any = true;
}

/** Where the next value is expected, and how far off it may be. */
static bool is_stray(const struct omo_stay_filter *filter, double step_s,
                     double angle_deg)
{
    struct omo_stay_thought now;
    omo_stay_filter_think(filter, 1.0, &now);
    double off_deg = fabs(angle_deg - now.level_deg - now.speed_deg_per_s * step_s);
    double brisk_deg = speed_walk[OMO_WAY_BRISK] * sqrt(step_s) * step_s;
    return off_deg > STRAY_DEG + STRAY_SD * brisk_deg;
}

void omo_stay_filter_step(struct omo_stay_filter *filter, double time_s, double angle_deg)
{
    if (!isfinite(angle_deg) || !isfinite(time_s))
        return;
    double step_s = time_s - filter->time_s;
    if (!filter->any || step_s > GAP_S || step_s < 0.0) {
        begin(filter, angle_deg, filter->any && step_s > 0.0 ? step_s : 0.0);
        filter->time_s = time_s;
        filter->sum_deg = filter->sum_s = filter->waiting = filter->strays = 0;
        return;
    }
    if (is_stray(filter, step_s, angle_deg) && filter->strays < STRAYS_MOST) {
        filter->strays++;
        return;
    }
    filter->strays = 0;
    /* More than twenty values a second tell no more, only oftener. */
    filter->sum_deg += angle_deg;
    filter->sum_s += time_s;
    filter->waiting++;
    if (step_s < TOGETHER_S)
        return;
    double count = filter->waiting, middle_s = filter->sum_s / count;
    if (middle_s > filter->time_s)
        take_in(filter, middle_s - filter->time_s, filter->sum_deg / count,
                VALUE_SD_DEG * VALUE_SD_DEG / count + TOGETHER_SD_DEG * TOGETHER_SD_DEG);
    filter->time_s = fmax(middle_s, filter->time_s);
    filter->sum_deg = filter->sum_s = filter->waiting = 0;
}

/** Share of a bell curve below a place. */
static double below(double place, double mean, double sd)
{
    return 0.5 * erfc((mean - place) / (M_SQRT2 * sd));
}

void omo_stay_filter_think(const struct omo_stay_filter *filter, double still_deg_per_s,
                           struct omo_stay_thought *thought)
{
    *thought = (struct omo_stay_thought){.any = filter->any,
                                         .level_deg = NAN,
                                         .speed_deg_per_s = NAN};
    if (!filter->any)
        return;
    double all = 0, level = 0, speed = 0, still = 0;
    for (int rate = 0; rate < OMO_STAY_RATES; rate++) {
        for (int way = 0; way < OMO_WAY_COUNT; way++) {
            const struct omo_stay_guess *guess = &filter->guess[rate][way];
            double weight = filter->rate_weight[rate] * guess->weight;
            double sd = sqrt(fmax(guess->spread[1][1], 0.0)) + 1e-3;
            all += weight;
            level += weight * guess->mean[0];
            speed += weight * guess->mean[1];
            still += weight * (below(still_deg_per_s, guess->mean[1], sd) -
                               below(-still_deg_per_s, guess->mean[1], sd));
        }
    }
    thought->level_deg = level / all;
    thought->speed_deg_per_s = speed / all;
    thought->still = still / all;
}
