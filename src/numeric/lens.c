#include "omogon/lens.h"

#include <math.h>
#include <string.h>

#define DEG_PER_RAD (180.0 / M_PI)

/* Newton's steps end below this, of the focal length: far below 1e-9 px. */
#define STEP_END  1e-14
#define STEPS_MAX 50

/* Widest and narrowest picture of a laptop camera, degrees (from memory), even between.
 */
#define VIEW_LOW_DEG  60.0
#define VIEW_HIGH_DEG 78.0
/* Where the optical axis meets the picture, as a share of its width, and distortion along
 * the radius: at the edge of a picture 69 degrees wide 0.05 is 2.4 % of the radius. Our
 * choice. */
#define CENTRE_U_RATIO 0.02
#define K1_U           0.05

/* Sizes whose shapes differ by more are cut from the sensor differently. */
#define SHAPE_MOST 0.01

struct ray {
    double x, y; /* z is 1 */
};

/** Distortion and its derivatives {dx'/dx, dx'/dy, dy'/dx, dy'/dy} (may be NULL). */
static struct ray bend(const double *v, struct ray p, double slope[4])
{
    double x = p.x, y = p.y, r2 = x * x + y * y;
    double k1 = v[OMO_LENS_K1], k2 = v[OMO_LENS_K2], k3 = v[OMO_LENS_K3];
    double p1 = v[OMO_LENS_P1], p2 = v[OMO_LENS_P2];
    double s = 1 + r2 * (k1 + r2 * (k2 + r2 * k3));
    if (slope != NULL) {
        double s_r2 = k1 + r2 * (2 * k2 + r2 * 3 * k3); /* ds / d(r2) */
        slope[0] = s + 2 * x * x * s_r2 + 2 * p1 * y + 6 * p2 * x;
        slope[1] = 2 * x * y * s_r2 + 2 * p1 * x + 2 * p2 * y;
        slope[2] = slope[1];
        slope[3] = s + 2 * y * y * s_r2 + 6 * p1 * y + 2 * p2 * x;
    }
    return (struct ray){x * s + 2 * p1 * x * y + p2 * (r2 + 2 * x * x),
                        y * s + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y};
}

/** The ray that is bent to `seen`; false when the steps find none on this side of where
 *  the distortion folds the picture back. */
static bool unbend(const double *v, struct ray seen, struct ray *out)
{
    struct ray p = seen;
    for (int i = 0; i < STEPS_MAX; i++) {
        double slope[4];
        struct ray at = bend(v, p, slope);
        double determinant = slope[0] * slope[3] - slope[1] * slope[2];
        if (!(determinant > 0.0))
            return false;
        double ex = seen.x - at.x, ey = seen.y - at.y;
        double dx = (slope[3] * ex - slope[1] * ey) / determinant;
        double dy = (slope[0] * ey - slope[2] * ex) / determinant;
        p.x += dx;
        p.y += dy;
        if (fabs(dx) + fabs(dy) < STEP_END * (1.0 + fabs(p.x) + fabs(p.y))) {
            *out = p;
            return true;
        }
    }
    return false;
}

static struct ray ray_of(const double *v, struct omo_point p)
{
    return (struct ray){(p.x - v[OMO_LENS_CX]) / v[OMO_LENS_FX],
                        (p.y - v[OMO_LENS_CY]) / v[OMO_LENS_FY]};
}

static struct omo_point pixel_of(const double *v, struct ray p)
{
    return (struct omo_point){v[OMO_LENS_FX] * p.x + v[OMO_LENS_CX],
                              v[OMO_LENS_FY] * p.y + v[OMO_LENS_CY]};
}

static const struct omo_point nowhere = {NAN, NAN};

/* ---- the lens ---- */

void omo_lens_default(int width, int height, struct omo_lens *lens)
{
    double middle_deg = (VIEW_LOW_DEG + VIEW_HIGH_DEG) / 2;
    double half = width / 2.0;
    double focal_px = half / tan(middle_deg / 2 / DEG_PER_RAD);
    double long_px = half / tan(VIEW_LOW_DEG / 2 / DEG_PER_RAD);
    double short_px = half / tan(VIEW_HIGH_DEG / 2 / DEG_PER_RAD);
    double focal_u_px = (long_px - short_px) / sqrt(12.0);
    double centre_u_px = CENTRE_U_RATIO * width;
    memset(lens, 0, sizeof *lens);
    lens->source = OMO_LENS_ASSUMED;
    lens->width = width;
    lens->height = height;
    lens->value[OMO_LENS_FX] = lens->value[OMO_LENS_FY] = focal_px;
    lens->value[OMO_LENS_CX] = (width - 1) / 2.0;
    lens->value[OMO_LENS_CY] = (height - 1) / 2.0;
    /* Pixels are square: both focal lengths are off together. */
    for (int i = OMO_LENS_FX; i <= OMO_LENS_FY; i++)
        for (int k = OMO_LENS_FX; k <= OMO_LENS_FY; k++)
            lens->covariance[i][k] = focal_u_px * focal_u_px;
    lens->covariance[OMO_LENS_CX][OMO_LENS_CX] = centre_u_px * centre_u_px;
    lens->covariance[OMO_LENS_CY][OMO_LENS_CY] = centre_u_px * centre_u_px;
    lens->covariance[OMO_LENS_K1][OMO_LENS_K1] = K1_U * K1_U;
    lens->reprojection_px = NAN;
    lens->roll_deg = lens->pitch_deg = NAN;
    lens->roll_u_deg = lens->pitch_u_deg = NAN;
    lens->readout_s = NAN;
}

static bool finite_lens(const struct omo_lens *lens)
{
    for (int i = 0; i < OMO_LENS_VALUES; i++) {
        if (!isfinite(lens->value[i]) || !(lens->covariance[i][i] >= 0.0))
            return false;
        for (int k = 0; k < OMO_LENS_VALUES; k++)
            if (!isfinite(lens->covariance[i][k]))
                return false;
    }
    return lens->value[OMO_LENS_FX] > 0.0 && lens->value[OMO_LENS_FY] > 0.0;
}

static bool tilt_valid(double tilt_deg, double u_deg)
{
    if (isnan(tilt_deg))
        return true;
    return fabs(tilt_deg) <= OMO_LENS_TILT_MOST_DEG && u_deg >= 0.0 && isfinite(u_deg);
}

/** Along the border, where distortion is largest, every pixel has its ray. */
static bool border_valid(const struct omo_lens *lens)
{
    const int steps = 16;
    double right = lens->width - 1.0, low = lens->height - 1.0;
    for (int i = 0; i <= steps; i++) {
        double x = right * i / steps, y = low * i / steps;
        const struct omo_point border[] = {{x, 0}, {x, low}, {0, y}, {right, y}};
        for (int k = 0; k < 4; k++)
            if (isnan(omo_lens_straighten(lens, true, border[k]).x))
                return false;
    }
    return true;
}

bool omo_lens_valid(const struct omo_lens *lens)
{
    return lens->width > 0 && lens->height > 0 && finite_lens(lens) &&
           tilt_valid(lens->roll_deg, lens->roll_u_deg) &&
           tilt_valid(lens->pitch_deg, lens->pitch_u_deg) && !(lens->readout_s < 0.0) &&
           border_valid(lens);
}

bool omo_lens_scale(const struct omo_lens *lens, int width, int height,
                    struct omo_lens *out)
{
    if (width <= 0 || height <= 0 || lens->width <= 0 || lens->height <= 0)
        return false;
    double across = (double)width / lens->width, up = (double)height / lens->height;
    if (fabs(across / up - 1.0) > SHAPE_MOST)
        return false;
    struct omo_lens scaled = *lens;
    const double factor[OMO_LENS_VALUES] = {across, up, across, up, 1, 1, 1, 1, 1};
    for (int i = 0; i < OMO_LENS_VALUES; i++) {
        scaled.value[i] *= factor[i];
        for (int k = 0; k < OMO_LENS_VALUES; k++)
            scaled.covariance[i][k] *= factor[i] * factor[k];
    }
    /* Pixel 0 is a pixel's middle: the picture's edge is what scales. */
    scaled.value[OMO_LENS_CX] = (lens->value[OMO_LENS_CX] + 0.5) * across - 0.5;
    scaled.value[OMO_LENS_CY] = (lens->value[OMO_LENS_CY] + 0.5) * up - 0.5;
    scaled.reprojection_px *= across;
    scaled.width = width;
    scaled.height = height;
    *out = scaled;
    return true;
}

void omo_lens_view_deg(const struct omo_lens *lens, double *across_deg, double *up_deg)
{
    const double *v = lens->value;
    double left = (v[OMO_LENS_CX] + 0.5) / v[OMO_LENS_FX];
    double right = (lens->width - 0.5 - v[OMO_LENS_CX]) / v[OMO_LENS_FX];
    double top = (v[OMO_LENS_CY] + 0.5) / v[OMO_LENS_FY];
    double low = (lens->height - 0.5 - v[OMO_LENS_CY]) / v[OMO_LENS_FY];
    *across_deg = (atan(left) + atan(right)) * DEG_PER_RAD;
    *up_deg = (atan(top) + atan(low)) * DEG_PER_RAD;
}

/* ---- points ---- */

struct omo_point omo_lens_distort(const struct omo_lens *lens, struct omo_point ideal)
{
    return pixel_of(lens->value, bend(lens->value, ray_of(lens->value, ideal), NULL));
}

struct omo_point omo_lens_undistort(const struct omo_lens *lens, struct omo_point seen)
{
    struct ray ray;
    if (!unbend(lens->value, ray_of(lens->value, seen), &ray))
        return nowhere;
    return pixel_of(lens->value, ray);
}

/** A ray in the axes of a camera that stands level: roll first, about the optical axis,
 *  then pitch. */
static void turn_level(double roll_deg, double pitch_deg, struct ray ray, double out[3])
{
    double roll = roll_deg / DEG_PER_RAD, pitch = pitch_deg / DEG_PER_RAD;
    double x = cos(roll) * ray.x + sin(roll) * ray.y;
    double y = -sin(roll) * ray.x + cos(roll) * ray.y;
    out[0] = x;
    out[1] = y * cos(pitch) - sin(pitch);
    out[2] = y * sin(pitch) + cos(pitch);
}

struct omo_point omo_lens_straighten(const struct omo_lens *lens, bool level,
                                     struct omo_point seen)
{
    const double *v = lens->value;
    struct ray ray;
    if (!unbend(v, ray_of(v, seen), &ray))
        return nowhere;
    double roll_deg = level && !isnan(lens->roll_deg) ? lens->roll_deg : 0.0;
    double pitch_deg = level && !isnan(lens->pitch_deg) ? lens->pitch_deg : 0.0;
    double at[3];
    turn_level(roll_deg, pitch_deg, ray, at);
    if (!(at[2] > 0.0))
        return nowhere;
    return (struct omo_point){v[OMO_LENS_CX] + v[OMO_LENS_FX] * at[0] / at[2],
                              v[OMO_LENS_CY] + v[OMO_LENS_FX] * at[1] / at[2]};
}

/* ---- level ---- */

void omo_lens_down(double roll_deg, double pitch_deg, double down[3])
{
    double roll = roll_deg / DEG_PER_RAD, pitch = pitch_deg / DEG_PER_RAD;
    down[0] = -sin(roll) * cos(pitch);
    down[1] = cos(roll) * cos(pitch);
    down[2] = -sin(pitch);
}

void omo_lens_level_from_down(const double down[3], double *roll_deg, double *pitch_deg)
{
    *pitch_deg = atan2(-down[2], hypot(down[0], down[1])) * DEG_PER_RAD;
    *roll_deg = atan2(-down[0], down[1]) * DEG_PER_RAD;
}

/* A plumb line and the camera span a plane, and straight down lies in it. With its normal
 * n and down(roll, pitch) from above, n . down = 0 is nx sin(roll) - ny cos(roll) = -nz
 * tan(pitch). */
double omo_lens_plumb_roll_deg(const struct omo_lens *lens, struct omo_point top,
                               struct omo_point bottom, double pitch_deg)
{
    struct ray a, b;
    if (!unbend(lens->value, ray_of(lens->value, top), &a) ||
        !unbend(lens->value, ray_of(lens->value, bottom), &b))
        return NAN;
    double nx = b.y - a.y, ny = a.x - b.x, nz = a.y * b.x - a.x * b.y;
    double across = hypot(nx, ny);
    double pitch = isnan(pitch_deg) ? 0.0 : pitch_deg / DEG_PER_RAD;
    if (!(across > 0.0) || fabs(nz * tan(pitch)) > across)
        return NAN;
    double roll = atan2(ny, nx) + asin(-nz * tan(pitch) / across);
    return omo_wrap_deg(roll * DEG_PER_RAD, -180.0);
}
