/**
 * The shoulder as the fit believes it to be: a joint, a marker that rides beside it on
 * the turning shoulder blade and slides on its skin, a bone that swings in a plane turned
 * out of the picture's, markers beside the bones, each at its own depth. Simpler than any
 * real one; what it leaves out is what `misfit` in models/pivot.ini allows for.
 */
#include <math.h>

#include "motion/pivot.h"
#include "motion/take.h"

#define RAD_PER_DEG   (M_PI / 180.0)
#define FULL_DRIFT    150.0
#define FULL_SLIDE    150.0
#define SETTING_SOFT  5.0 /* deg over which the shoulder blade comes into its turn */
#define FOREARM_SHARE 0.785
/* The angle is searched by reading it again with the corrections that belong to it: each
 * step leaves about a tenth of the error. */
#define STEPS     4
#define CLOSE_DEG 1e-3

double omo_pivot_grown(const struct omo_pivot_scale *scale, double angle_deg)
{
    return angle_deg / scale->arc_deg;
}

/** How far the shoulder blade has turned: nothing below the setting angle, its share
 *  above, a hyperbola between, rad. */
static double blade_rad(double share, double setting_deg, double angle_deg)
{
    double beyond_deg = angle_deg - setting_deg;
    return share * RAD_PER_DEG * 0.5 *
           (beyond_deg +
            sqrt(beyond_deg * beyond_deg + 4.0 * SETTING_SOFT * SETTING_SOFT));
}

/** Joint to shoulder marker. */
static struct omo_spot marker_off_joint(const double *u, double angle_deg)
{
    double turn = blade_rad(u[OMO_PIVOT_SHARE], u[OMO_PIVOT_SETTING], angle_deg);
    double c = cos(turn), s = sin(turn);
    double raised = fabs(angle_deg) / FULL_SLIDE;
    double slid = raised * sqrt(raised); /* between evenly and with the square */
    return (struct omo_spot){
        u[OMO_PIVOT_AHEAD] * c - u[OMO_PIVOT_UP] * s + u[OMO_PIVOT_SLIDE_AHEAD] * slid,
        -u[OMO_PIVOT_AHEAD] * s - u[OMO_PIVOT_UP] * c + u[OMO_PIVOT_SLIDE_DOWN] * slid,
    };
}

/** A place at this depth behind the shoulder's, brought to the shoulder's depth. */
static struct omo_spot at_depth(struct omo_spot spot, double depth_mm, double distance_mm)
{
    double nearer = 1.0 + depth_mm / distance_mm;
    return (struct omo_spot){spot.ahead * nearer, spot.down * nearer};
}

/** One bone while the angle is searched. */
struct swing {
    double cos_angle, sin_angle, cos_turn, sin_turn;
    double bone_mm;               /**< how far the elbow is behind the joint */
    double shoulder_mm, elbow_mm; /**< how far they are behind the shoulder at rest */
};

/** A trunk that leans takes the shoulder with it and tips the arm, in the person's own
 *  plane: whoever stands askew comes nearer or goes further off. Leans are small. */
static struct swing swing_at(const double *u, const struct omo_pivot_scale *scale,
                             const struct omo_pivot_view *view, double angle_deg)
{
    double turn = (u[OMO_PIVOT_TURN] + u[OMO_PIVOT_TURN_DRIFT] * angle_deg / FULL_DRIFT) *
                  RAD_PER_DEG;
    double stance =
        (scale->stance_share * u[OMO_PIVOT_TURN] + u[OMO_PIVOT_STANCE]) * RAD_PER_DEG;
    double leant = view->lean_deg * RAD_PER_DEG * stance, angle = angle_deg * RAD_PER_DEG;
    struct swing w = {cos(angle), sin(angle), cos(turn), sin(turn), 0.0, 0.0, 0.0};
    w.shoulder_mm = -scale->trunk_mm * leant;
    w.bone_mm = OMO_UPPER_ARM_MM * (w.sin_angle * w.sin_turn + w.cos_angle * leant);
    w.elbow_mm = w.shoulder_mm + w.bone_mm;
    return w;
}

static double elbow_across_mm(const double *u, const struct omo_pivot_scale *scale,
                              double angle_deg)
{
    return u[OMO_PIVOT_ELBOW_ACROSS] +
           u[OMO_PIVOT_ELBOW_TURN] * omo_pivot_grown(scale, angle_deg);
}

/** The bone from joint to elbow in its own plane. */
static struct omo_spot bone_at(const double *u, const struct omo_pivot_scale *scale,
                               const struct omo_pivot_view *view, double angle_deg)
{
    struct swing w = swing_at(u, scale, view, angle_deg);
    struct omo_spot shoulder =
        at_depth(view->shoulder, w.shoulder_mm, scale->distance_mm);
    struct omo_spot elbow =
        at_depth(view->elbow, w.elbow_mm + scale->elbow_behind_mm, scale->distance_mm);
    struct omo_spot off = marker_off_joint(u, angle_deg);
    double across_mm = elbow_across_mm(u, scale, angle_deg);
    return (struct omo_spot){
        (elbow.ahead - shoulder.ahead + off.ahead) / w.cos_turn - across_mm * w.cos_angle,
        elbow.down - shoulder.down + off.down + across_mm * w.sin_angle,
    };
}

static double spot_angle_deg(struct omo_spot spot)
{
    return atan2(spot.ahead, spot.down) / RAD_PER_DEG;
}

static void read_forearm(const double *u, const struct omo_pivot_scale *scale,
                         const struct omo_pivot_view *view,
                         struct omo_pivot_reading *reading)
{
    double angle_deg = reading->angle_deg;
    struct swing w = swing_at(u, scale, view, angle_deg);
    double wrist_depth_mm =
        w.elbow_mm + FOREARM_SHARE * w.bone_mm + scale->wrist_behind_mm;
    struct omo_spot elbow =
        at_depth(view->elbow, w.elbow_mm + scale->elbow_behind_mm, scale->distance_mm);
    struct omo_spot wrist = at_depth(view->wrist, wrist_depth_mm, scale->distance_mm);
    double across_mm = elbow_across_mm(u, scale, angle_deg);
    struct omo_spot forearm = {
        (wrist.ahead - elbow.ahead) / w.cos_turn + across_mm * w.cos_angle,
        wrist.down - elbow.down - across_mm * w.sin_angle,
    };
    double wrist_mm = u[OMO_PIVOT_WRIST_ACROSS] +
                      u[OMO_PIVOT_WRIST_TURN] * omo_pivot_grown(scale, angle_deg);
    reading->forearm_mm = hypot(forearm.ahead, forearm.down);
    reading->bend_deg =
        omo_wrap_deg(spot_angle_deg(forearm) - angle_deg -
                         wrist_mm / (FOREARM_SHARE * OMO_UPPER_ARM_MM) / RAD_PER_DEG,
                     -180.0);
}

static struct omo_spot shrunk(struct omo_spot spot, double by)
{
    return (struct omo_spot){spot.ahead / by, spot.down / by};
}

struct omo_pivot_reading omo_pivot_read(const double *unknown,
                                        const struct omo_pivot_scale *line_scale,
                                        const struct omo_pivot_view *line_view,
                                        double start_deg)
{
    /* What comes in are mm on a line between the markers of OMO_UPPER_ARM_MM; the unknowns
     * are mm on such a bone. */
    double bone_over_line = exp(unknown[OMO_PIVOT_LENGTH]);
    struct omo_pivot_scale scale = *line_scale;
    scale.distance_mm /= bone_over_line;
    struct omo_pivot_view view = *line_view;
    view.shoulder = shrunk(view.shoulder, bone_over_line);
    view.elbow = shrunk(view.elbow, bone_over_line);
    view.wrist = shrunk(view.wrist, bone_over_line);
    struct omo_pivot_reading reading = {.angle_deg = start_deg,
                                        .bend_deg = NAN,
                                        .forearm_mm = NAN};
    struct omo_spot bone = {0, 0};
    for (int step = 0; step < STEPS; step++) {
        bone = bone_at(unknown, &scale, &view, reading.angle_deg);
        /* Near the turn at 180 degrees the angle goes on, what grows with it too. */
        double step_deg = omo_wrap_deg(spot_angle_deg(bone) - reading.angle_deg, -180.0);
        reading.angle_deg += step_deg;
        if (fabs(step_deg) < CLOSE_DEG)
            break;
    }
    reading.length_mm = hypot(bone.ahead, bone.down);
    if (view.wrist_seen)
        read_forearm(unknown, &scale, &view, &reading);
    return reading;
}
