#include "numeric/filter_internal.h"

#include <math.h>
#include <stdlib.h>

/* The reflected ends are this long at least, and long enough for the filter's own
 * response to fall to this share: what happens before is then forgotten. */
#define PAD_SAMPLES_MIN   9
#define PAD_RESPONSE_LEFT 1e-10

enum omo_status omo_lowpass_design(double cutoff_hz, double rate_hz, double correction,
                                   struct omo_lowpass *out)
{
    if (!isfinite(rate_hz) || !(cutoff_hz > 0.0) || !(cutoff_hz < rate_hz / 2.0) ||
        !isfinite(correction) || !(correction > 0.0))
        return OMO_ERR_ARG;
    double wc = tan(M_PI * cutoff_hz / rate_hz) / correction;
    double k1 = M_SQRT2 * wc;
    double k2 = wc * wc;
    double a0 = k2 / (1.0 + k1 + k2);
    double k3 = 2.0 * a0 / k2;
    *out = (struct omo_lowpass){
        .a0 = a0,
        .a1 = 2.0 * a0,
        .a2 = a0,
        .b1 = -2.0 * a0 + k3,
        .b2 = 1.0 - 2.0 * a0 - k3,
    };
    return OMO_OK;
}

double omo_pass_correction(int passes)
{
    if (passes < 1)
        return NAN;
    return pow(pow(2.0, 1.0 / passes) - 1.0, 0.25);
}

/** One pass that has seen `before` for ever. */
static void run_from(const struct omo_lowpass *f, double before, const double *in,
                     double *out, size_t count)
{
    double x1 = before, x2 = before, y1 = before, y2 = before;
    for (size_t i = 0; i < count; i++) {
        double x = in[i];
        double y = f->a0 * x + f->a1 * x1 + f->a2 * x2 + f->b1 * y1 + f->b2 * y2;
        x2 = x1;
        x1 = x;
        y2 = y1;
        y1 = y;
        out[i] = y;
    }
}

void omo_lowpass_run(const struct omo_lowpass *filter, const double *in, double *out,
                     size_t count)
{
    run_from(filter, 0.0, in, out, count);
}

static void reverse(double *value, size_t count)
{
    for (size_t i = 0; i < count / 2; i++) {
        double kept = value[i];
        value[i] = value[count - 1 - i];
        value[count - 1 - i] = kept;
    }
}

size_t omo_filter_pad(const struct omo_lowpass *filter, size_t count)
{
    /* The poles are a conjugate pair of radius sqrt(-b2). */
    double pad = PAD_SAMPLES_MIN;
    double radius = sqrt(fmax(0.0, -filter->b2));
    if (radius > 0.0 && radius < 1.0)
        pad = fmax(pad, ceil(log(PAD_RESPONSE_LEFT) / log(radius)));
    double most = count > 0 ? (double)(count - 1) : 0.0;
    return (size_t)fmin(pad, most);
}

enum omo_status omo_filter_zero_lag(const struct omo_lowpass *filter, const double *in,
                                    double *out, size_t count)
{
    if (count == 0)
        return OMO_ERR_ARG;
    size_t pad = omo_filter_pad(filter, count);
    size_t room = count + 2 * pad;
    double *work = malloc(room * sizeof *work);
    if (work == NULL)
        return OMO_ERR_MEMORY;
    /* Taken relative to the first value, so that a constant is exactly zero inside. */
    double first = in[0];
    double last = in[count - 1] - first;
    for (size_t i = 0; i < count; i++)
        work[pad + i] = in[i] - first;
    for (size_t i = 1; i <= pad; i++) {
        work[pad - i] = -work[pad + i];
        work[pad + count - 1 + i] = 2.0 * last - work[pad + count - 1 - i];
    }
    for (int pass = 0; pass < 2; pass++) {
        run_from(filter, work[0], work, work, room);
        reverse(work, room);
    }
    for (size_t i = 0; i < count; i++)
        out[i] = work[pad + i] + first;
    free(work);
    return OMO_OK;
}

void omo_one_euro_init(struct omo_one_euro *filter, double min_cutoff_hz, double beta,
                       double derivative_cutoff_hz)
{
    *filter = (struct omo_one_euro){
        .min_cutoff_hz = min_cutoff_hz,
        .beta = beta,
        .derivative_cutoff_hz = derivative_cutoff_hz,
    };
}

double omo_one_euro_alpha(double cutoff_hz, double period_s)
{
    double tau_s = 1.0 / (2.0 * M_PI * cutoff_hz);
    return 1.0 / (1.0 + tau_s / period_s);
}

double omo_one_euro_step(struct omo_one_euro *filter, double time_s, double value)
{
    if (isnan(value) || isnan(time_s))
        return NAN;
    if (!filter->started) {
        filter->started = true;
        filter->time_s = time_s;
        filter->value = value;
        filter->derivative = 0.0;
        return value;
    }
    double period_s = time_s - filter->time_s;
    if (!(period_s > 0.0))
        return filter->value;
    double slope = (value - filter->value) / period_s;
    double slope_alpha = omo_one_euro_alpha(filter->derivative_cutoff_hz, period_s);
    filter->derivative += slope_alpha * (slope - filter->derivative);
    double cutoff_hz = filter->min_cutoff_hz + filter->beta * fabs(filter->derivative);
    double alpha = omo_one_euro_alpha(cutoff_hz, period_s);
    filter->value += alpha * (value - filter->value);
    filter->time_s = time_s;
    return filter->value;
}
