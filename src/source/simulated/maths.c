#include "maths.h"

#include <math.h>

#define DEGREE 0.017453292519943295
#define LN2    0.69314718055994531

/** Taylor series of sine and cosine for |x| <= pi / 4: the next term is below 1e-17. */
static double sine_series(double x)
{
    double square = x * x, term = x, sum = x;
    for (int n = 1; n <= 8; n++) {
        term *= -square / (2.0 * n * (2.0 * n + 1.0));
        sum += term;
    }
    return sum;
}

static double cosine_series(double x)
{
    double square = x * x, term = 1, sum = 1;
    for (int n = 1; n <= 8; n++) {
        term *= -square / ((2.0 * n - 1.0) * 2.0 * n);
        sum += term;
    }
    return sum;
}

double omo_sim_sin_deg(double angle_deg)
{
    double turned = angle_deg - 360.0 * floor(angle_deg / 360.0);
    int quarter = (int)floor(turned / 90.0 + 0.5);
    double x = (turned - 90.0 * quarter) * DEGREE;
    switch (quarter & 3) {
    case 0:
        return sine_series(x);
    case 1:
        return cosine_series(x);
    case 2:
        return -sine_series(x);
    default:
        return -cosine_series(x);
    }
}

double omo_sim_cos_deg(double angle_deg)
{
    return omo_sim_sin_deg(angle_deg + 90.0);
}

double omo_sim_exp(double x)
{
    double whole = floor(x / LN2 + 0.5);
    double rest = x - whole * LN2;
    double term = 1, sum = 1;
    for (int n = 1; n <= 16; n++) {
        term *= rest / n;
        sum += term;
    }
    return ldexp(sum, (int)whole);
}

double omo_sim_log(double x)
{
    int exponent;
    double mantissa = frexp(x, &exponent); /* 0.5 .. 1, exact */
    if (mantissa < 0.70710678118654752) {
        mantissa *= 2;
        exponent--;
    }
    double z = (mantissa - 1) / (mantissa + 1), square = z * z, power = z, sum = 0;
    for (int n = 1; n <= 31; n += 2) {
        sum += power / n;
        power *= square;
    }
    return 2 * sum + exponent * LN2;
}

double omo_sim_pow(double base, double exponent)
{
    return base > 0 ? omo_sim_exp(exponent * omo_sim_log(base)) : 0;
}

double omo_sim_clamp(double x, double low, double high)
{
    return x < low ? low : x > high ? high : x;
}

double omo_sim_smooth_step(double x, double low, double high)
{
    double t = omo_sim_clamp((x - low) / (high - low), 0, 1);
    return t * t * (3 - 2 * t);
}

double omo_sim_mix(double a, double b, double share_of_b)
{
    return a + (b - a) * share_of_b;
}

struct omo_vec omo_vec_add(struct omo_vec a, struct omo_vec b)
{
    return (struct omo_vec){a.x + b.x, a.y + b.y, a.z + b.z};
}

struct omo_vec omo_vec_sub(struct omo_vec a, struct omo_vec b)
{
    return (struct omo_vec){a.x - b.x, a.y - b.y, a.z - b.z};
}

struct omo_vec omo_vec_scale(struct omo_vec a, double factor)
{
    return (struct omo_vec){a.x * factor, a.y * factor, a.z * factor};
}

struct omo_vec omo_vec_along(struct omo_vec a, struct omo_vec b, double factor)
{
    return omo_vec_add(a, omo_vec_scale(b, factor));
}

double omo_vec_dot(struct omo_vec a, struct omo_vec b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

struct omo_vec omo_vec_cross(struct omo_vec a, struct omo_vec b)
{
    return (struct omo_vec){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z,
                            a.x * b.y - a.y * b.x};
}

double omo_vec_length(struct omo_vec a)
{
    return sqrt(omo_vec_dot(a, a));
}

struct omo_vec omo_vec_unit(struct omo_vec a)
{
    double length = omo_vec_length(a);
    return length > 0 ? omo_vec_scale(a, 1 / length) : a;
}

struct omo_vec omo_vec_turn(struct omo_vec v, struct omo_vec axis, double angle_deg)
{
    /* Rodrigues' formula */
    double c = omo_sim_cos_deg(angle_deg), s = omo_sim_sin_deg(angle_deg);
    struct omo_vec turned = omo_vec_scale(v, c);
    turned = omo_vec_along(turned, omo_vec_cross(axis, v), s);
    return omo_vec_along(turned, axis, omo_vec_dot(axis, v) * (1 - c));
}

uint64_t omo_random_bits(struct omo_random *random)
{
    uint64_t z = random->state += 0x9E3779B97F4A7C15u;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

double omo_random_unit(struct omo_random *random)
{
    return (double)(omo_random_bits(random) >> 11) * 0x1p-53;
}

double omo_random_normal(struct omo_random *random)
{
    /* The sum of eight even numbers of 16 bits is nearly normal, up to 4.9 deviations. */
    uint64_t a = omo_random_bits(random), b = omo_random_bits(random);
    double sum = 0;
    for (int shift = 0; shift < 64; shift += 16)
        sum += (double)(a >> shift & 0xffff) + (double)(b >> shift & 0xffff);
    return (sum / 65536 - (4 - 4.0 / 65536)) * 1.2247448713915890; /* sqrt(12 / 8) */
}

double omo_sim_linear(double coded)
{
    /* IEC 61966-2-1 */
    return coded <= 0.04045 ? coded / 12.92 : omo_sim_pow((coded + 0.055) / 1.055, 2.4);
}

double omo_sim_coded(double linear)
{
    return linear <= 0.0031308 ? linear * 12.92
                               : 1.055 * omo_sim_pow(linear, 1 / 2.4) - 0.055;
}

omo_float4 omo_sim_colour(const double srgb[3])
{
    return (omo_float4){(float)omo_sim_linear(srgb[0] / 255),
                        (float)omo_sim_linear(srgb[1] / 255),
                        (float)omo_sim_linear(srgb[2] / 255), 1};
}
