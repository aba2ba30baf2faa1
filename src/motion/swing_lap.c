#include <complex.h>
#include <math.h>

#include "motion/swing.h"

/* The stated formula of a loose arm (pendulum.h): our choice. */
#define STRAIGHT_DEG 20.0
#define BENT_DEG     60.0
#define FED_RATIO    0.10
/* Share of a lap's samples in which shoulder and elbow have to be seen for it. */
#define SEEN_SHARE 0.8

#define DEG_PER_RAD (180.0 / M_PI)

/** Area of the closed path of across and another value, positive where both axes turn
 *  clockwise in a picture with y down. */
static double area(const struct omo_swing_sample *s, size_t count, size_t member)
{
    double sum = 0.0;
    for (size_t k = 0; k < count; k++) {
        const struct omo_swing_sample *a = &s[k], *b = &s[(k + 1) % count];
        double of_a = *(const double *)(const void *)((const char *)a + member);
        double of_b = *(const double *)(const void *)((const char *)b + member);
        sum += a->across * of_b - b->across * of_a;
    }
    return 0.5 * sum;
}

/** Mean of a member over where it is known, and how often that is. */
static double mean(const struct omo_swing_sample *s, size_t count, size_t member,
                   size_t *known)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t k = 0; k < count; k++) {
        double value = *(const double *)(const void *)((const char *)&s[k] + member);
        if (isnan(value))
            continue;
        sum += value;
        n++;
    }
    if (known != NULL)
        *known = n;
    return n > 0 ? sum / (double)n : (double)NAN;
}

#define MEMBER(name) offsetof(struct omo_swing_sample, name)

/** Noise of the size, from what is left of it beside its neighbours' mean. */
static double near_noise(const struct omo_swing_sample *s, size_t count)
{
    double sum = 0.0;
    for (size_t k = 1; k + 1 < count; k++) {
        double d = s[k - 1].near - 2.0 * s[k].near + s[k + 1].near;
        sum += d * d;
    }
    return count > 2 ? sqrt(sum / 6.0 / (double)(count - 2)) : (double)INFINITY;
}

static double share(double value, double none, double whole)
{
    return fmin(fmax((value - none) / (whole - none), 0.0), 1.0);
}

/** The formula in pendulum.h. */
static double looseness(const struct omo_swing_sample *s, size_t count)
{
    size_t known;
    double bend_deg = mean(s, count, MEMBER(bend_deg), &known);
    if (known < SEEN_SHARE * (double)count)
        return NAN;
    double lasts_s = s[count - 1].time_s - s[0].time_s;
    double body_mean = mean(s, count, MEMBER(shoulder_across), NULL);
    double arm_mean = mean(s, count, MEMBER(elbow_across), NULL) - body_mean;
    double complex body = 0.0, arm = 0.0;
    for (size_t k = 0; k < count; k++) {
        if (isnan(s[k].bend_deg))
            continue;
        double complex turn =
            cexp(-(double complex)I * 2.0 * M_PI * (s[k].time_s - s[0].time_s) / lasts_s);
        body += (s[k].shoulder_across - body_mean) * turn;
        arm += (s[k].elbow_across - s[k].shoulder_across - arm_mean) * turn;
    }
    double swing = creal(arm * conj(arm));
    if (!(swing > 0.0))
        return NAN;
    double fed = cimag(body * conj(arm)) / swing;
    return share(bend_deg, BENT_DEG, STRAIGHT_DEG) * share(fed, 0.0, FED_RATIO);
}

/** From the lowest to the highest of a member. */
static double range(const struct omo_swing_sample *s, size_t count, size_t member,
                    double skew)
{
    double low = INFINITY, high = -(double)INFINITY;
    for (size_t k = 0; k < count; k++) {
        double value = *(const double *)(const void *)((const char *)&s[k] + member);
        value -= skew * s[k].across;
        low = fmin(low, value);
        high = fmax(high, value);
    }
    return high - low;
}

/** Slope of a member over across. */
static double slope(const struct omo_swing_sample *s, size_t count, size_t member)
{
    double across = mean(s, count, MEMBER(across), NULL);
    double other = mean(s, count, member, NULL), var = 0.0, both = 0.0;
    for (size_t k = 0; k < count; k++) {
        double value = *(const double *)(const void *)((const char *)&s[k] + member);
        double x = s[k].across - across;
        if (isnan(value))
            continue;
        var += x * x;
        both += x * (value - other);
    }
    return both / var;
}

void omo_swing_lap_of(const struct omo_swing_eye *eye,
                      const struct omo_swing_sample *sample, size_t count, bool to_rest,
                      struct omo_swing_lap *lap)
{
    double skew = slope(sample, count, MEMBER(down));
    double flat = 0.5 * range(sample, count, MEMBER(down), skew);
    double across = mean(sample, count, MEMBER(across), NULL), var = 0.0;
    for (size_t k = 0; k < count; k++)
        var += (sample[k].across - across) * (sample[k].across - across);
    /* A lap that begins or ends in the middle is as wide as its widest part. */
    double half = to_rest ? 0.5 * range(sample, count, MEMBER(across), 0.0)
                          : sqrt(2.0 * var / (double)count);
    double disc = M_PI * half * half;
    double below = mean(sample, count, MEMBER(down), NULL);
    *lap = (struct omo_swing_lap){
        .lasts_s = sample[count - 1].time_s - sample[0].time_s,
        .half = half,
        .width_mm =
            2.0 * half * eye->size_mm * exp(-mean(sample, count, MEMBER(near), NULL)),
        .below_deg = below * DEG_PER_RAD,
        .arm = mean(sample, count, MEMBER(arm), NULL),
        .round_down = area(sample, count, MEMBER(down)) / disc,
        .round_near = area(sample, count, MEMBER(near)) / disc,
        .round_near_u = near_noise(sample, count) / half * sqrt(2.0 / (double)count),
        .to_rest = to_rest,
        .open = fabs(area(sample, count, MEMBER(down))) / (M_PI * half * flat),
        .hangs = 1.0 - slope(sample, count, MEMBER(shoulder_across)),
        .loose = looseness(sample, count),
    };
}
