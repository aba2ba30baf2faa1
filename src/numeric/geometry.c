#include "omogon/geometry.h"

#include <math.h>

#define DEG_PER_RAD (180.0 / M_PI)

static double to_rad(double angle_deg)
{
    return angle_deg / DEG_PER_RAD;
}

/** Into -1..1: rounding must not turn a right answer into NAN. */
static double clamp_unit(double value)
{
    return value > 1.0 ? 1.0 : (value < -1.0 ? -1.0 : value);
}

struct omo_point omo_point_sub(struct omo_point a, struct omo_point b)
{
    return (struct omo_point){a.x - b.x, a.y - b.y};
}

double omo_point_distance(struct omo_point a, struct omo_point b)
{
    return hypot(a.x - b.x, a.y - b.y);
}

double omo_turn_deg(struct omo_point from, struct omo_point to)
{
    /* atan2 of cross and dot keeps its precision where acos loses it: near 0 and 180. */
    double cross = from.x * to.y - from.y * to.x;
    double dot = from.x * to.x + from.y * to.y;
    if (!isfinite(cross) || !isfinite(dot) || hypot(from.x, from.y) == 0.0 ||
        hypot(to.x, to.y) == 0.0)
        return NAN;
    double turn_deg = atan2(cross, dot) * DEG_PER_RAD;
    /* A signed zero in cross gives -180; the range is open there. */
    return turn_deg <= -180.0 ? 180.0 : turn_deg;
}

enum omo_status omo_angle_at_deg(struct omo_point a, struct omo_point vertex,
                                 struct omo_point b, double *out_deg)
{
    double turn_deg = omo_turn_deg(omo_point_sub(a, vertex), omo_point_sub(b, vertex));
    if (isnan(turn_deg))
        return OMO_ERR_ARG;
    *out_deg = fabs(turn_deg);
    return OMO_OK;
}

double omo_wrap_deg(double angle_deg, double low_deg)
{
    if (!isfinite(angle_deg))
        return NAN;
    double above_deg = fmod(angle_deg - low_deg, 360.0);
    if (above_deg < 0.0)
        above_deg += 360.0;
    /* -1e-20 + 360 rounds to 360, which is the range's open end. */
    if (above_deg >= 360.0)
        above_deg = 0.0;
    return low_deg + above_deg;
}

double omo_projected_angle_deg(double angle_deg, double plane_deg)
{
    double a = to_rad(angle_deg);
    return atan2(sin(a) * cos(to_rad(plane_deg)), cos(a)) * DEG_PER_RAD;
}

double omo_foreshortening_ratio(double angle_deg, double plane_deg)
{
    double a = to_rad(angle_deg);
    return hypot(sin(a) * cos(to_rad(plane_deg)), cos(a));
}

double omo_unprojected_angle_deg(double image_deg, double ratio)
{
    if (!isfinite(image_deg) || !isfinite(ratio))
        return NAN;
    /* The component along the trunk survives the projection, so the cosine is kept. */
    return acos(clamp_unit(ratio * cos(to_rad(image_deg)))) * DEG_PER_RAD;
}

double omo_projection_error_max_deg(double plane_deg)
{
    double t = tan(to_rad(plane_deg) / 2.0);
    return asin(clamp_unit(t * t)) * DEG_PER_RAD;
}

double omo_pivot_image_angle_deg(double angle_deg, double offset_ratio)
{
    double a = to_rad(angle_deg);
    return atan2(sin(a), offset_ratio + cos(a)) * DEG_PER_RAD;
}

double omo_pivot_true_angle_deg(double image_deg, double offset_ratio)
{
    double sine = offset_ratio * sin(to_rad(image_deg));
    if (!(fabs(sine) <= 1.0))
        return NAN;
    return image_deg + asin(sine) * DEG_PER_RAD;
}
