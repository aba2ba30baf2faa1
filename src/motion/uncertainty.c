#include <math.h>

#include "motion/take.h"

/* Expanded uncertainty after the Guide to the Expression of Uncertainty in Measurement:
 * independent standard uncertainties added in quadrature, times k. */
#define COVERAGE_FACTOR 2.0
/* A marker that does not state its own uncertainty. Our choice. */
#define SIGMA_PX_UNKNOWN 0.1

#define DEG_PER_RAD (180.0 / M_PI)

static double square(double x)
{
    return x * x;
}

static double sigma_px(const struct omo_markers *m, enum omo_role role)
{
    double sigma = m->role[role].sigma_px;
    return isfinite(sigma) && sigma >= 0.0 ? sigma : SIGMA_PX_UNKNOWN;
}

/** How the direction of a line turns (rad) with its far end: across it, over length. */
static struct omo_point lever(struct omo_point from, struct omo_point to)
{
    struct omo_point line = omo_point_sub(to, from);
    double length2 = square(line.x) + square(line.y);
    if (!(length2 > 0.0))
        return (struct omo_point){0, 0};
    return (struct omo_point){-line.y / length2, line.x / length2};
}

static double square_length(struct omo_point p)
{
    return square(p.x) + square(p.y);
}

/** Variance (deg^2) by pixel noise. A shoulder that is in both lines counts once, with
 * the difference of its effects. */
static double pixel_variance(const struct omo_take *take, size_t k)
{
    const struct omo_markers *m = &take->rows[k].markers;
    enum omo_role from = take->axes.from, to = take->axes.to;
    struct omo_point arm = lever(omo_place(m, from), omo_place(m, to));
    struct omo_point at_from = {-arm.x, -arm.y};
    double variance = square(sigma_px(m, to)) * square_length(arm);
    enum omo_role top = OMO_ROLE_COUNT;
    if (take->rows[k].reference == OMO_REFERENCE_HIP)
        top = OMO_SHOULDER;
    else if (take->rows[k].reference == OMO_REFERENCE_CHEST_HIP)
        top = OMO_CHEST;
    if (top != OMO_ROLE_COUNT && omo_seen(m, top) && omo_seen(m, OMO_HIP)) {
        struct omo_point trunk = lever(omo_place(m, top), omo_place(m, OMO_HIP));
        variance += square(sigma_px(m, OMO_HIP)) * square_length(trunk);
        if (top == from)
            at_from = (struct omo_point){trunk.x - arm.x, trunk.y - arm.y};
        else
            variance += square(sigma_px(m, top)) * square_length(trunk);
    }
    variance += square(sigma_px(m, from)) * square_length(at_from);
    return variance * square(DEG_PER_RAD);
}

/** Placement of the two markers at the ends of the segment. */
static double placement_variance(const struct omo_take *take)
{
    const struct omo_allowances *a = &take->settings->movement->allowances;
    bool forearm = take->axes.from == OMO_ELBOW;
    double near_ratio = forearm ? a->elbow_ratio : a->shoulder_ratio;
    double far_ratio = take->axes.to == OMO_WRIST ? a->wrist_ratio : a->elbow_ratio;
    double roll_deg = forearm ? 0.0 : a->arm_roll_deg;
    return square(near_ratio * DEG_PER_RAD) + square(far_ratio * DEG_PER_RAD) +
           square(roll_deg);
}

/** A turned plane, by its closed form at this angle: the allowed turn, or the one that
 * the foreshortening of this very frame suggests when that is more. */
static double plane_variance(const struct omo_take *take, size_t k)
{
    double angle_deg = take->rows[k].angle_deg;
    double turn_deg = take->settings->movement->allowances.plane_deg;
    double error_deg = omo_projected_angle_deg(angle_deg, turn_deg) - angle_deg;
    double q = take->length_px[k] / take->segment_px;
    if (q < OMO_FORESHORTENING_RATIO)
        error_deg = fmax(fabs(omo_wrap_deg(error_deg, -180.0)),
                         omo_projection_error_max_deg(acos(q) * DEG_PER_RAD));
    return square(omo_wrap_deg(error_deg, -180.0));
}

static double trunk_variance(const struct omo_take *take, size_t k)
{
    const struct omo_allowances *a = &take->settings->movement->allowances;
    if (take->settings->movement->geometry == OMO_GEOMETRY_PENDULUM)
        return square(a->camera_deg);
    switch (take->rows[k].reference) {
    case OMO_REFERENCE_CHEST_HIP:
        return square(isnan(take->trunk.offset_deg) ? a->trunk_chest_hip_deg
                                                    : a->trunk_chest_hip_front_deg);
    case OMO_REFERENCE_HIP:
        return square(a->trunk_hip_deg);
    case OMO_REFERENCE_SHIFT:
        return square(a->trunk_shift_deg) + square(a->camera_deg);
    case OMO_REFERENCE_NONE:
        break;
    }
    /* A rotation turns about the upper arm; the trunk enters by leaning alone, which a
     * bench or a back-rest's absence leaves open as far as for someone lying. */
    bool lying = take->axes.lying || take->axes.from == OMO_ELBOW;
    return square(lying ? a->trunk_lying_deg : a->trunk_none_deg) + square(a->camera_deg);
}

double omo_max_u95_deg(const struct omo_take *take, size_t k)
{
    double variance = pixel_variance(take, k) + placement_variance(take) +
                      plane_variance(take, k) + trunk_variance(take, k) +
                      square(take->settings->movement->allowances.lens_deg);
    return COVERAGE_FACTOR * sqrt(variance);
}
