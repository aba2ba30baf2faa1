#include "stay_fixture.h"

#include <math.h>
#include <string.h>

#define SETTLE_S 0.5

double reach_between(struct reach *r, double low, double high)
{
    /* Knuth's multiplier for a linear congruential generator. */
    r->random = r->random * 6364136223846793005u + 1442695040888963407u;
    return low + (high - low) * (double)(r->random >> 11) / 9007199254740992.0;
}

double reach_normal(struct reach *r)
{
    double a = 1.0 - reach_between(r, 0, 1), b = reach_between(r, 0, 1);
    return sqrt(-2 * log(a)) * cos(2 * M_PI * b);
}

void reach_begin(struct reach *r, uint64_t seed, double breath_deg)
{
    memset(r, 0, sizeof *r);
    r->random = seed * 2654435761u + 12345u;
    reach_between(r, 0, 1);
    r->end_deg = reach_between(r, -3, 8);
    r->tremor_deg = 0.5;
    r->tremor_hz = reach_between(r, 5, 12);
    r->tremor_turn = reach_between(r, 0, 2 * M_PI);
    r->breath_deg = breath_deg;
    r->breath_hz = reach_between(r, 0.1, 0.3);
    r->breath_turn = reach_between(r, 0, 2 * M_PI);
    r->noise_deg = 0.3;
    r->rate_hz = reach_between(r, 15, 60);
    r->dropped = reach_between(r, 0, 0.15);
    r->gap_from_s = r->gap_to_s = INFINITY;
}

static void add(struct reach *r, enum leg_kind kind, double to_deg, double seconds)
{
    r->leg[r->legs++] = (struct leg){.kind = kind,
                                     .from_s = r->end_s,
                                     .to_s = r->end_s + seconds,
                                     .from_deg = r->end_deg,
                                     .to_deg = to_deg};
    r->end_s += seconds;
    r->end_deg = to_deg;
}

void reach_hold(struct reach *r, double seconds)
{
    add(r, LEG_HOLD, r->end_deg, seconds);
}

void reach_ramp(struct reach *r, double to_deg, double deg_per_s)
{
    add(r, LEG_RAMP, to_deg, fabs(to_deg - r->end_deg) / deg_per_s + SETTLE_S / 2);
}

void reach_smooth(struct reach *r, double to_deg, double seconds)
{
    add(r, LEG_SMOOTH, to_deg, seconds);
}

void reach_stop(struct reach *r)
{
    r->stop_s[r->stops] = r->end_s;
    r->stop_deg[r->stops++] = r->end_deg;
}

void reach_whole(struct reach *r, uint64_t seed, double breath_deg, double deg_per_s)
{
    reach_begin(r, seed, breath_deg);
    reach_hold(r, reach_between(r, 4, 7));
    reach_ramp(r, reach_between(r, 60, 110), deg_per_s);
    reach_stop(r);
    reach_hold(r, reach_between(r, 5, 9));
    for (uint64_t ease = 0; ease < 1 + seed % 2; ease++) {
        double up_deg = reach_between(r, 2, 10);
        reach_smooth(r, r->end_deg + up_deg,
                     fmax(reach_between(r, 1.2, 3.5), up_deg / 3));
        reach_stop(r);
        reach_hold(r, reach_between(r, 5, 9));
    }
    r->gap_from_s = reach_between(r, 0, r->end_s);
    r->gap_to_s = r->gap_from_s + reach_between(r, 0.2, 0.9);
    reach_smooth(r, reach_between(r, -3, 8), reach_between(r, 1.5, 5));
    reach_hold(r, 2);
}

static double leg_deg(const struct leg *leg, double time_s)
{
    double all_s = leg->to_s - leg->from_s, all_deg = leg->to_deg - leg->from_deg;
    double t = fmin(time_s - leg->from_s, all_s), x = t / all_s;
    if (leg->kind == LEG_HOLD)
        return leg->from_deg;
    if (leg->kind == LEG_SMOOTH) /* minimum jerk: Flash and Hogan 1985 */
        return leg->from_deg + all_deg * x * x * x * (10 - 15 * x + 6 * x * x);
    double speed = all_deg / (all_s - SETTLE_S / 2), slows = t - (all_s - SETTLE_S);
    return leg->from_deg + speed * t -
           (slows > 0 ? speed * slows * slows / (2 * SETTLE_S) : 0);
}

double reach_true_deg(const struct reach *r, double time_s)
{
    int i = 0;
    while (i < r->legs - 1 && time_s >= r->leg[i].to_s)
        i++;
    return leg_deg(&r->leg[i], time_s);
}

bool reach_frame(struct reach *r, double *time_s, double *angle_deg)
{
    do
        *time_s = *time_s < 0 ? 0 : *time_s + 1 / r->rate_hz;
    while (reach_between(r, 0, 1) < r->dropped);
    double t = *time_s;
    *angle_deg = reach_true_deg(r, t) +
                 r->tremor_deg * sin(2 * M_PI * r->tremor_hz * t + r->tremor_turn) +
                 r->breath_deg * sin(2 * M_PI * r->breath_hz * t + r->breath_turn) +
                 r->noise_deg * reach_normal(r);
    if (t > r->gap_from_s && t < r->gap_to_s)
        *angle_deg = NAN;
    return t < r->end_s;
}
