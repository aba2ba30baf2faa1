#include <math.h>
#include <stdlib.h>

#include "motion/swing.h"

/* Edge-on below this: the issue of sides cannot be settled by the ellipse. A camera 4
 * degrees off reads as little as this when the circle is no perfect one. */
#define OFF_PLANE_LEAST_DEG 3.0
/* Depth over width of a hand-made circle, standard deviation about 1. */
#define OUT_OF_ROUND 0.2
/* What the marker's size may err by beside noise, as a share of what depth does to it:
 * limbs that lean, discs that turn, patches of colour in poor light. */
#define NEAR_U 0.4
/* The plane of a circle is not quite level: an arm that hangs off its middle. Degrees. */
#define PLANE_U_DEG 5.0
/* Round as the picture shows it, standard uncertainty: of a body that bobs, and a share.
 */
#define DOWN_U       0.02
#define DOWN_SHARE_U 0.3
/* Odds as natural logarithms: of the circles' upper or under side being seen, and of a
 * lap's way then. What the horizon of a camera set by eye may add. */
#define SIDE_ODDS    6.0
#define LAP_ODDS     5.0
#define BY_EYE_ODDS  1.5
#define BY_EYE_U_DEG 5.0
/* What an arm takes up (radians) and how much of its swing leans it, where no shoulder
 * is seen. */
#define USUAL_ARM   0.27
#define USUAL_SHARE 0.7

#define DEG_PER_RAD (180.0 / M_PI)

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double omo_swing_off_plane_deg(const struct omo_swing_lap *lap, size_t count)
{
    double room[64];
    size_t first = count > 64 ? count - 64 : 0, n = count - first;
    if (n == 0)
        return NAN;
    for (size_t i = 0; i < n; i++)
        room[i] = fabs(lap[first + i].round_down);
    qsort(room, n, sizeof room[0], compare);
    double median = 0.5 * (room[(n - 1) / 2] + room[n / 2]);
    return asin(fmin(median, 1.0)) * DEG_PER_RAD;
}

/** All laps together. */
struct sum {
    double off_deg; /**< off the plane, either way */
    double near;    /**< mean roundness by size, positive where the upper side is seen */
    double near_u;  /**< its noise */
    double below_deg; /**< of the middle */
    double lean;      /**< what the limb's lean adds to `near` from above */
};

static void sum_up(const struct omo_swing_eye *eye, const struct omo_swing_lap *lap,
                   size_t count, struct sum *sum)
{
    double weight = 0.0, near = 0.0, noise = 0.0, below = 0.0, arm = 0.0, hangs = 0.0;
    size_t arms = 0;
    for (size_t i = 0; i < count; i++) {
        double w = fmin(fabs(lap[i].round_down), 1.0);
        weight += w;
        near += copysign(w, lap[i].round_down) * lap[i].round_near;
        noise += w * w * lap[i].round_near_u * lap[i].round_near_u;
        below += lap[i].below_deg;
        if (!isnan(lap[i].arm) && !isnan(lap[i].hangs)) {
            arm += lap[i].arm;
            hangs += fmin(fmax(lap[i].hangs, 0.0), 1.2);
            arms++;
        }
    }
    sum->off_deg = omo_swing_off_plane_deg(lap, count);
    sum->near = near / weight;
    sum->near_u = sqrt(noise) / weight;
    sum->below_deg = below / (double)count;
    double off = sum->off_deg / DEG_PER_RAD;
    double length = arms > 0 ? arm / (double)arms / cos(off) : USUAL_ARM;
    double share = arms > 0 ? hangs / (double)arms : USUAL_SHARE;
    /* A disc shrinks by the root of the cosine it is seen under, a band by the cosine. */
    sum->lean = (eye->band ? 1.0 : 0.5) * share * tan(off) / length;
}

/** Odds that the circles' upper side is seen over the under side, as a logarithm. */
static double odds_of_above(const struct omo_swing_eye *eye, const struct sum *s)
{
    double u = hypot(hypot(NEAR_U, s->near_u), 0.3 * s->lean);
    double above = (s->near - (1.0 + s->lean)) / u;
    double under = (s->near + (1.0 - s->lean)) / u;
    double size = 0.5 * (under * under - above * above);
    double horizon_u_deg = hypot(eye->horizon_u_deg, PLANE_U_DEG);
    double horizon = 2.0 * s->below_deg * s->off_deg / (horizon_u_deg * horizon_u_deg);
    if (eye->horizon_u_deg > BY_EYE_U_DEG)
        horizon = fmin(fmax(horizon, -BY_EYE_ODDS), BY_EYE_ODDS);
    return size + horizon;
}

int omo_swing_tell_ways(const struct omo_swing_eye *eye, struct omo_swing_lap *lap,
                        size_t count)
{
    struct sum sum;
    int side = 0;
    if (count == 0)
        return 0;
    sum_up(eye, lap, count, &sum);
    double odds = odds_of_above(eye, &sum);
    if (sum.off_deg >= OFF_PLANE_LEAST_DEG && fabs(odds) >= SIDE_ODDS)
        side = odds > 0.0 ? 1 : -1;
    double sine = sin(sum.off_deg / DEG_PER_RAD);
    double down_u = hypot(DOWN_U, DOWN_SHARE_U * sine);
    for (size_t i = 0; i < count; i++) {
        double near_u = hypot(NEAR_U, lap[i].round_near_u);
        double near = fmax(1.0 + side * sum.lean, 0.0);
        double clockwise = 2.0 * side * lap[i].round_down * sine / (down_u * down_u) +
                           2.0 * near * lap[i].round_near / (near_u * near_u);
        lap[i].way = OMO_SWING_UNKNOWN;
        if (side != 0 && fabs(clockwise) >= LAP_ODDS)
            lap[i].way =
                clockwise > 0.0 ? OMO_SWING_CLOCKWISE : OMO_SWING_COUNTER_CLOCKWISE;
    }
    return side;
}
