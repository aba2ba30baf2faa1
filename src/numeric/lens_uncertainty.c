/* Uncertainty of directions by the Guide to the Expression of Uncertainty in Measurement:
 * the lens by derivatives and covariance (5.2.2), the level by quadrature. */
#include <math.h>
#include <stddef.h>

#include "omogon/lens.h"

/** Direction of line a, against line b when there is one, in the straightened picture. */
static double angle_deg(const struct omo_lens *lens, const struct omo_lens_line *a,
                        const struct omo_lens_line *b)
{
    struct omo_point line = omo_point_sub(omo_lens_straighten(lens, true, a->to),
                                          omo_lens_straighten(lens, true, a->from));
    struct omo_point against = {0, 1};
    if (b != NULL)
        against = omo_point_sub(omo_lens_straighten(lens, true, b->to),
                                omo_lens_straighten(lens, true, b->from));
    return omo_turn_deg(against, line);
}

static double difference_deg(double one_deg, double other_deg)
{
    return omo_wrap_deg(one_deg - other_deg, -180.0);
}

/* Steps of a derivative: px for the first four, then shares. Half a unit in the last
 * place of a direction is 1e-14 degrees, so that these keep eight figures. */
#define MIXED_STEP 1e-3
static double step_of(int value)
{
    return value <= OMO_LENS_CY ? 1e-2 : 1e-5;
}

/** How the direction turns with each value; 0 for those that are certain. */
static void slopes_deg(const struct omo_lens *lens, const struct omo_lens_line *a,
                       const struct omo_lens_line *b, double slope[OMO_LENS_VALUES])
{
    for (int i = 0; i < OMO_LENS_VALUES; i++) {
        struct omo_lens more = *lens, less = *lens;
        double step = step_of(i);
        slope[i] = 0.0;
        if (!(lens->covariance[i][i] > 0.0))
            continue;
        more.value[i] += step;
        less.value[i] -= step;
        slope[i] =
            difference_deg(angle_deg(&more, a, b), angle_deg(&less, a, b)) / (2 * step);
    }
}

static double spread(const struct omo_lens *lens, const double *slope)
{
    double variance = 0.0;
    for (int i = 0; i < OMO_LENS_VALUES; i++)
        for (int k = 0; k < OMO_LENS_VALUES; k++)
            variance += slope[i] * lens->covariance[i][k] * slope[k];
    return fmax(variance, 0.0);
}

/* Of second order (5.1.2, note) only k1 with each other value counts: a lens that is
 * taken to have no distortion has no first order in its centre and focal length, but it
 * has one for every distortion that it may have. Half the trace of (H C)^2, where H has
 * nothing but the row and the column of k1, is as below. */
static double mixed_variance(const struct omo_lens *lens, const struct omo_lens_line *a,
                             const struct omo_lens_line *b)
{
    double more_slope[OMO_LENS_VALUES], less_slope[OMO_LENS_VALUES];
    double mixed[OMO_LENS_VALUES], with_k1 = 0.0;
    struct omo_lens more = *lens, less = *lens;
    more.value[OMO_LENS_K1] += MIXED_STEP;
    less.value[OMO_LENS_K1] -= MIXED_STEP;
    slopes_deg(&more, a, b, more_slope);
    slopes_deg(&less, a, b, less_slope);
    for (int i = 0; i < OMO_LENS_VALUES; i++) {
        mixed[i] =
            i == OMO_LENS_K1 ? 0.0 : (more_slope[i] - less_slope[i]) / (2 * MIXED_STEP);
        with_k1 += mixed[i] * lens->covariance[i][OMO_LENS_K1];
    }
    return lens->covariance[OMO_LENS_K1][OMO_LENS_K1] * spread(lens, mixed) +
           with_k1 * with_k1;
}

static double lens_u_deg(const struct omo_lens *lens, const struct omo_lens_line *a,
                         const struct omo_lens_line *b)
{
    double slope[OMO_LENS_VALUES];
    if (isnan(angle_deg(lens, a, b)))
        return NAN;
    slopes_deg(lens, a, b, slope);
    return sqrt(spread(lens, slope) + mixed_variance(lens, a, b));
}

/* Mean square over a Gaussian tilt: three points at 0 and +- sqrt(3) u with weights 2/3,
 * 1/6 and 1/6 are exact up to fifth powers (Abramowitz and Stegun 25.4.46, from memory).
 */
static double tilt_variance(const struct omo_lens *lens, double *tilt_deg, double u_deg,
                            const struct omo_lens *moved, const struct omo_lens_line *a,
                            const struct omo_lens_line *b)
{
    double there_deg = *tilt_deg, middle_deg = angle_deg(lens, a, b), variance = 0.0;
    for (int sign = -1; sign <= 1; sign += 2) {
        *tilt_deg = there_deg + sign * sqrt(3.0) * u_deg;
        double off_deg = difference_deg(angle_deg(moved, a, b), middle_deg);
        variance += off_deg * off_deg / 6.0;
    }
    *tilt_deg = there_deg;
    return variance;
}

static double level_u_deg(const struct omo_lens *lens, const struct omo_lens_line *a,
                          const struct omo_lens_line *b)
{
    struct omo_lens known = *lens;
    if (isnan(known.roll_deg)) {
        known.roll_deg = 0.0;
        known.roll_u_deg = OMO_LENS_ROLL_ASSUMED_U_DEG;
    }
    if (isnan(known.pitch_deg)) {
        known.pitch_deg = 0.0;
        known.pitch_u_deg = OMO_LENS_PITCH_ASSUMED_U_DEG;
    }
    struct omo_lens moved = known;
    return sqrt(tilt_variance(&known, &moved.roll_deg, known.roll_u_deg, &moved, a, b) +
                tilt_variance(&known, &moved.pitch_deg, known.pitch_u_deg, &moved, a, b));
}

double omo_lens_angle_u_deg(const struct omo_lens *lens, struct omo_point from,
                            struct omo_point to)
{
    return lens_u_deg(lens, &(struct omo_lens_line){from, to}, NULL);
}

double omo_lens_level_u_deg(const struct omo_lens *lens, struct omo_point from,
                            struct omo_point to)
{
    return level_u_deg(lens, &(struct omo_lens_line){from, to}, NULL);
}

double omo_lens_between_u_deg(const struct omo_lens *lens, const struct omo_lens_line *a,
                              const struct omo_lens_line *b)
{
    return lens_u_deg(lens, a, b);
}

double omo_lens_level_between_u_deg(const struct omo_lens *lens,
                                    const struct omo_lens_line *a,
                                    const struct omo_lens_line *b)
{
    return level_u_deg(lens, a, b);
}

double omo_lens_shutter_u_deg(const struct omo_lens *lens, double velocity_deg_s,
                              double rows_ratio)
{
    double readout_s = lens != NULL ? lens->readout_s : (double)NAN;
    /* Of an even spread from 0 to T the mean square is T^2 / 3. */
    if (isnan(readout_s))
        readout_s = OMO_LENS_READOUT_MOST_S / sqrt(3.0);
    return fabs(velocity_deg_s * rows_ratio) * readout_s;
}
