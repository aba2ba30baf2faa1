#include <math.h>

#include "motion/budget_camera.h"
#include "motion/rotation.h"
#include "motion/take.h"

/* The budget of an angle, line by line. The lines are independent of each other: what
 * moves both the arm's line and the trunk's is worked out as one. */

/* A marker that does not state its own uncertainty. Our choice. */
#define SIGMA_PX_UNKNOWN 0.1
/* A scale beyond these gives no length of a limb: a marker's size was told wrong. */
#define LIMB_MIN_MM 100.0
#define LIMB_MAX_MM 900.0

/* Arm's angle at which the trunk's skin has slid as far as allowed. */
#define SKIN_FULL_DEG 150.0
/* ... and how it gets there: between evenly and with the square. Our choice. */
#define SKIN_GROWTH 1.5
/* Arc for which models/allowances.ini says how a trunk moves unseen, and the shortest that
 * makes it more. Our choice, by simulation. */
#define SHORT_ARC_DEG    50.0
#define SHORTEST_ARC_DEG 30.0

#define DEG_PER_RAD (180.0 / M_PI)

const char omo_origin_measured[] = "measured";
const char omo_origin_stated[] = "models/allowances.ini";
static const char fitted[] = "fit";

static double square(double x)
{
    return x * x;
}

static const struct omo_allowances *allowances(const struct omo_take *take)
{
    return &take->settings->movement->allowances;
}

/** A line with a stated, normal uncertainty. */
static void add_stated(struct omo_budget *budget, const char *name, const char *unit,
                       double input_u, double sensitivity)
{
    omo_budget_add(budget, &(struct omo_budget_line){.name = name,
                                                     .unit = unit,
                                                     .origin = omo_origin_stated,
                                                     .distribution = OMO_GAUSSIAN,
                                                     .input_u = input_u,
                                                     .sensitivity = sensitivity,
                                                     .freedom = INFINITY});
}

/* ---- noise of the picture ---- */

double omo_sigma_px(const struct omo_markers *m, enum omo_role role)
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

/** One marker more: its noise (px^2) and what the noise does to the angle (rad^2). */
static void add_noise(const struct omo_markers *m, enum omo_role role,
                      struct omo_point lever_at, double *noise, double *variance)
{
    double px2 = square(omo_sigma_px(m, role));
    *noise = fmax(*noise, px2);
    *variance += px2 * (square(lever_at.x) + square(lever_at.y));
}

/** A shoulder that is in both lines counts once, with the difference of its effects. */
static void add_pixels(const struct omo_take *take, size_t k, struct omo_budget *budget)
{
    const struct omo_markers *m = &take->frames[k].markers;
    enum omo_role from = take->axes.from, to = take->axes.to;
    struct omo_point arm = lever(omo_place(m, from), omo_place(m, to));
    struct omo_point at_from = {-arm.x, -arm.y};
    double noise = 0, variance = 0;
    add_noise(m, to, arm, &noise, &variance);
    enum omo_role top = OMO_ROLE_COUNT;
    if (take->rows[k].reference == OMO_REFERENCE_HIP)
        top = OMO_SHOULDER;
    else if (take->rows[k].reference == OMO_REFERENCE_CHEST_HIP)
        top = OMO_CHEST;
    if (top != OMO_ROLE_COUNT && omo_seen(m, top) && omo_seen(m, OMO_HIP)) {
        struct omo_point trunk = lever(omo_place(m, top), omo_place(m, OMO_HIP));
        add_noise(m, OMO_HIP, trunk, &noise, &variance);
        if (top == from)
            at_from = (struct omo_point){trunk.x - arm.x, trunk.y - arm.y};
        else
            add_noise(m, top, trunk, &noise, &variance);
    }
    add_noise(m, from, at_from, &noise, &variance);
    /* The noisiest marker stands for the input; the angle's share is exact. */
    double input_px = sqrt(noise);
    omo_budget_add(budget, &(struct omo_budget_line){.name = "pixels",
                                                     .unit = "px",
                                                     .origin = omo_origin_measured,
                                                     .distribution = OMO_GAUSSIAN,
                                                     .input_u = input_px,
                                                     .sensitivity =
                                                         input_px > 0.0
                                                             ? sqrt(variance) *
                                                                   DEG_PER_RAD / input_px
                                                             : 0.0,
                                                     .freedom = INFINITY});
}

/* ---- where the markers sit ---- */

/** Length of the measured segment. */
static double segment_mm(const struct omo_take *take)
{
    const struct omo_allowances *a = allowances(take);
    double mm = take->segment_px * take->rest.mm_per_px;
    if (mm >= LIMB_MIN_MM && mm <= LIMB_MAX_MM)
        return mm;
    mm = take->axes.from == OMO_SHOULDER ? a->upper_arm_mm : 0.0;
    if (take->axes.to == OMO_WRIST)
        mm += a->forearm_mm;
    return mm;
}

double omo_placed_mm(const struct omo_measure_settings *s, enum omo_role role)
{
    const struct omo_allowances *a = &s->movement->allowances;
    if (s->band[role])
        return a->band_mm;
    if (isfinite(s->placement_mm))
        return s->placement_mm;
    if (s->sleeve)
        return a->sleeve_mm;
    return role == OMO_WRIST ? a->wrist_mm : a->elbow_mm;
}

/** Across the limb alone: along it a marker turns no line. */
static void add_placement(const struct omo_take *take, struct omo_budget *budget)
{
    const struct omo_allowances *a = allowances(take);
    const struct omo_measure_settings *s = take->settings;
    bool forearm = take->axes.from == OMO_ELBOW;
    double mm = segment_mm(take), deg_per_mm = mm > 0.0 ? DEG_PER_RAD / mm : 0.0;
    if (forearm)
        add_stated(budget, "elbow-marker", "mm", omo_placed_mm(take->settings, OMO_ELBOW),
                   deg_per_mm);
    else
        add_stated(budget, "shoulder-marker", "mm", a->shoulder_mm, deg_per_mm);
    enum omo_role to = take->axes.to;
    add_stated(budget, to == OMO_WRIST ? "wrist-marker" : "elbow-marker", "mm",
               omo_placed_mm(take->settings, to), deg_per_mm);
    /* A sticker that the arm's own rotation carries round: a small angle times the way
     * off the axis, over the length. A band's middle stays on the axis. */
    if (!forearm && !s->band[to])
        add_stated(budget, "axial-rotation", "deg", a->roll_deg,
                   a->off_axis_mm * deg_per_mm / DEG_PER_RAD);
}

/** A line of the fit: its variance of the angle, by an input that is believed to be off
 *  by so much. */
static void add_fitted(struct omo_budget *budget, const char *name, const char *unit,
                       double input_u, double variance)
{
    omo_budget_add(budget,
                   &(struct omo_budget_line){.name = name,
                                             .unit = unit,
                                             .origin = fitted,
                                             .distribution = OMO_GAUSSIAN,
                                             .input_u = input_u,
                                             .sensitivity = input_u > 0.0
                                                                ? sqrt(variance) / input_u
                                                                : 0.0,
                                             .freedom = INFINITY});
}

/** What the fit of pivot and plane leaves open, elbow's marker included: where it sits,
 *  and how far the arm's own turn carries it. */
static void add_pivot(const struct omo_take *take, size_t k, struct omo_budget *budget)
{
    const struct omo_pivot *pivot = &take->pivot;
    struct omo_pivot_variance v =
        omo_pivot_variance_at(pivot, take->rows[k].angle_image_deg);
    /* Round the limb there is nothing to be carried: what little is believed of it counts
     * with the rest. */
    bool band = take->settings->band[OMO_ELBOW];
    double fit = band ? v.fit + v.turn : v.fit;
    add_fitted(budget, "pivot-and-plane", "deg", sqrt(fit), fit);
    add_fitted(budget, "elbow-marker", "mm", omo_placed_mm(take->settings, OMO_ELBOW),
               v.placement);
    if (!band)
        add_fitted(budget, "axial-rotation", "mm",
                   omo_turned_mm(take->settings, OMO_ELBOW), v.turn);
}

/* ---- plane and trunk ---- */

/** A turned plane, by its closed form at this angle: the allowed turn, or the one that
 *  the foreshortening of this very frame suggests when that does more. The error goes
 * with the square of the turn, so that there is no first order: of a Gaussian turn its
 * root mean square is sqrt(3) times the error at one standard deviation (GUM 5.1.2,
 * note). */
static void add_plane(const struct omo_take *take, size_t k, struct omo_budget *budget)
{
    double angle_deg = take->rows[k].angle_deg;
    double turn_deg = allowances(take)->plane_deg;
    double error_deg = omo_projected_angle_deg(angle_deg, turn_deg) - angle_deg;
    error_deg = sqrt(3.0) * fabs(omo_wrap_deg(error_deg, -180.0));
    double q = take->length_px[k] / take->segment_px;
    const char *origin = omo_origin_stated;
    if (q < OMO_FORESHORTENING_RATIO) {
        double seen_deg = acos(q) * DEG_PER_RAD;
        double seen_error_deg = omo_projection_error_max_deg(seen_deg);
        if (seen_error_deg > error_deg) {
            error_deg = seen_error_deg;
            turn_deg = seen_deg;
            origin = omo_origin_measured;
        }
    }
    omo_budget_add(budget, &(struct omo_budget_line){
                               .name = "plane",
                               .unit = "deg",
                               .origin = origin,
                               .distribution = OMO_GAUSSIAN,
                               .input_u = turn_deg,
                               .sensitivity = turn_deg > 0.0 ? error_deg / turn_deg : 0.0,
                               .freedom = INFINITY});
}

/** Of the line from chest to hip, made vertical at rest. The skin's slide grows with the
 * arm's angle, faster than it. A trunk that moves with the arm has moved the further by
 * the time it is told from one at rest the shorter the arc is; most of all seen from the
 * side, where the hanging arm hides the line. */
static double chest_hip_u_deg(const struct omo_take *take, size_t k)
{
    const struct omo_allowances *a = allowances(take);
    double angle_deg = fabs(take->rows[k].angle_image_deg);
    double slid = pow(angle_deg / SKIN_FULL_DEG, SKIN_GROWTH);
    bool front = take->settings->movement->view == OMO_VIEW_FRONT;
    double moved_deg = front ? a->trunk_chest_hip_front_deg : a->trunk_chest_hip_deg;
    double skin_deg = front ? a->trunk_skin_front_deg : a->trunk_skin_deg;
    double arc_deg = take->pivot.known ? take->pivot.scale.arc_deg : angle_deg;
    double shorter = SHORT_ARC_DEG / fmax(arc_deg, SHORTEST_ARC_DEG);
    return hypot(shorter * moved_deg, slid * skin_deg);
}

/** How the trunk may move without its line telling. */
static double trunk_u_deg(const struct omo_take *take, size_t k)
{
    const struct omo_allowances *a = allowances(take);
    switch (take->rows[k].reference) {
    case OMO_REFERENCE_CHEST_HIP:
        return isfinite(take->trunk.offset_deg) ? chest_hip_u_deg(take, k)
                                                : a->trunk_placed_deg;
    case OMO_REFERENCE_HIP:
        return a->trunk_hip_deg;
    case OMO_REFERENCE_SHIFT:
        return a->trunk_shift_deg;
    case OMO_REFERENCE_NONE:
        break;
    }
    /* A rotation turns about the upper arm; the trunk enters by leaning alone, which a
     * back-rest's absence leaves open as far as for someone lying. */
    bool rotation = take->axes.from == OMO_ELBOW;
    if (rotation && take->axes.lying)
        return a->trunk_bench_deg;
    bool lying = take->axes.lying || rotation;
    return lying ? a->trunk_lying_deg : a->trunk_none_deg;
}

static void add_trunk(const struct omo_take *take, size_t k, struct omo_budget *budget)
{
    enum omo_geometry geometry = take->settings->movement->geometry;
    if (geometry == OMO_GEOMETRY_PENDULUM)
        return;
    add_stated(budget, "trunk", "deg", trunk_u_deg(take, k), 1.0);
    /* The angle is against the trunk as it stood at rest. A line that was made vertical
     * then knows of no lean at rest, which counts only against the trunk itself; a line
     * taken as it is has that lean in every angle. */
    if (geometry == OMO_GEOMETRY_ELEVATION || geometry == OMO_GEOMETRY_ROTATION)
        omo_budget_add(budget,
                       &(struct omo_budget_line){.name = "not-upright",
                                                 .unit = "deg",
                                                 .origin = omo_origin_stated,
                                                 .distribution = OMO_GAUSSIAN,
                                                 .input_u = allowances(take)->upright_deg,
                                                 .sensitivity = 1.0,
                                                 .freedom = INFINITY,
                                                 .beyond =
                                                     omo_from_the_vertical(take, k)});
}

/* ---- together ---- */

static void add_all(const struct omo_take *take, size_t k, struct omo_camera_u *kept,
                    struct omo_budget *budget)
{
    omo_budget_init(budget);
    if (take->settings->movement->geometry == OMO_GEOMETRY_FORESHORTENED) {
        omo_front_budget(take, k, budget);
        omo_budget_combine(budget);
        return;
    }
    add_pixels(take, k, budget);
    if (take->pivot.known) {
        add_pivot(take, k, budget);
    } else {
        add_placement(take, budget);
        add_plane(take, k, budget);
        omo_along_budget(take, k, segment_mm(take), budget);
    }
    add_trunk(take, k, budget);
    omo_budget_camera(take, k, kept, budget);
    omo_budget_combine(budget);
}

void omo_budget_of_row(const struct omo_take *take, size_t k, struct omo_budget *budget)
{
    struct omo_camera_u fresh = {.known = false};
    add_all(take, k, &fresh, budget);
}

double omo_max_u95_deg(const struct omo_take *take, size_t k, struct omo_camera_u *kept)
{
    struct omo_budget budget;
    add_all(take, k, kept, &budget);
    return budget.u95_deg;
}

void omo_budget_of_mean(const struct omo_take *take, const struct omo_budget *highest,
                        struct omo_budget *budget)
{
    const struct omo_result *result = take->result;
    int count = result->repetitions;
    double sum = 0;
    *budget = *highest;
    if (count < 2)
        return;
    for (int i = 0; i < count; i++)
        sum += square(result->repetition[i].max_deg - result->mean_of_maxima_deg);
    /* Type A: standard deviation of the mean, count - 1 degrees of freedom (GUM 4.2.3).
     * What the other lines stand for is the same in every repetition and stays. */
    omo_budget_add(budget,
                   &(struct omo_budget_line){.name = "repetitions",
                                             .unit = "deg",
                                             .origin = omo_origin_measured,
                                             .distribution = OMO_GAUSSIAN,
                                             .input_u = sqrt(sum / (count - 1) / count),
                                             .sensitivity = 1.0,
                                             .freedom = count - 1});
    omo_budget_combine(budget);
}

const char *omo_maximum_name(enum omo_maximum maximum)
{
    static const char *const names[OMO_MAXIMUM_COUNT] = {
        [OMO_MAXIMUM_HIGHEST] = "max_deg",
        [OMO_MAXIMUM_HELD] = "held_max_deg",
        [OMO_MAXIMUM_MEAN] = "mean_of_maxima_deg",
        [OMO_MAXIMUM_BEFORE_HIKE] = "max_before_hike_deg",
    };
    return (unsigned)maximum < OMO_MAXIMUM_COUNT ? names[maximum] : NULL;
}
