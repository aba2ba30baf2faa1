/**
 * Arithmetic that gives the same bits on every machine: the renderer may not depend on
 * which sine or power function a C library picks at run time. Built from + - * / and
 * square root alone.
 */
#ifndef OMOGON_SIMULATED_MATHS_H
#define OMOGON_SIMULATED_MATHS_H

#include <stdint.h>

/** A point or direction in space, metres. */
struct omo_vec {
    double x, y, z;
};

/** Four floats that are added and multiplied together: red, green, blue and a fourth. */
typedef float omo_float4 __attribute__((vector_size(16)));

double omo_sim_sin_deg(double angle_deg);
double omo_sim_cos_deg(double angle_deg);
double omo_sim_exp(double x);
double omo_sim_log(double x); /**< x > 0 */
double omo_sim_pow(double base, double exponent);

double omo_sim_clamp(double x, double low, double high);
/** 0 below low, 1 above high, smooth between. */
double omo_sim_smooth_step(double x, double low, double high);
double omo_sim_mix(double a, double b, double share_of_b);

struct omo_vec omo_vec_add(struct omo_vec a, struct omo_vec b);
struct omo_vec omo_vec_sub(struct omo_vec a, struct omo_vec b);
struct omo_vec omo_vec_scale(struct omo_vec a, double factor);
/** a + b * factor */
struct omo_vec omo_vec_along(struct omo_vec a, struct omo_vec b, double factor);
double omo_vec_dot(struct omo_vec a, struct omo_vec b);
struct omo_vec omo_vec_cross(struct omo_vec a, struct omo_vec b);
double omo_vec_length(struct omo_vec a);
struct omo_vec omo_vec_unit(struct omo_vec a);
/** Turns v about a unit axis through the origin, right-handed. */
struct omo_vec omo_vec_turn(struct omo_vec v, struct omo_vec axis, double angle_deg);

/** A small counter-based generator (SplitMix64, Steele, Lea and Flood 2014). */
struct omo_random {
    uint64_t state;
};
uint64_t omo_random_bits(struct omo_random *random);
double omo_random_unit(struct omo_random *random);   /**< [0, 1) */
double omo_random_normal(struct omo_random *random); /**< mean 0, deviation 1 */

/** sRGB transfer: coded value 0..1 to linear light 0..1 and back. */
double omo_sim_linear(double coded);
double omo_sim_coded(double linear);
/** An sRGB colour 0..255 as linear light, fourth element 1. */
omo_float4 omo_sim_colour(const double srgb[3]);

#endif
