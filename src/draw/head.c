/* The head from the shoulder, the trunk's direction and the body's proportions.
 * Wide on purpose: a strip of wall covered too much costs nothing, a face costs trust. */
#include "draw/head.h"

#include <math.h>

#include "draw/directions.h"

/* Ratios to stature. Chin and crown lie about 0.05 and 0.20 above a marker over the head
 * of the humerus, the face reaches 0.05 to either side and 0.12 forward of it (from
 * memory; neck bent and shoulder lifted included). The reach adds the 20 % and some. */
#define REACH_UP     0.305
#define REACH_CENTRE 0.125
#define REACH_FRONT                                                                      \
    0.17                /**< to either side of the face's middle, seen from the front    \
                         */
#define REACH_SIDE 0.20 /**< forward and back, seen from the side */
/* In a rotation only the elbow is seen, up to so far below the shoulder. */
#define ELBOW_DROP 0.13
/* The lower border dips beside the marker and spares the marker itself. */
#define BORDER_AT_MARKER 0.008
#define BORDER_BESIDE    (-0.02)
#define MARKER_HALF      0.012
#define BESIDE           0.05
/* The largest marker in use, for a lower bound of the scale: 50 mm on a person of 1.6 m.
 */
#define MARKER_MAX_RATIO (50.0 / 1600.0)
/* One limb alone may be foreshortened: 35 degrees out of the plane. */
#define ALONE_FACTOR 1.22

/** Raises *most to px / ratio if that is more; counts it. */
static void stature_from(const struct omo_trace_row *row, enum omo_role a,
                         enum omo_role b, double ratio, double *most, int *count)
{
    if (!omo_seen_in(row, a) || !omo_seen_in(row, b))
        return;
    double px = omo_point_distance(omo_place_of(row, a), omo_place_of(row, b)) / ratio;
    *most = fmax(*most, px);
    *count += px > 0;
}

/** Stature in px. A limb out of the picture's plane looks shorter, never longer, so the
 *  largest estimate is the best. */
static double stature_px(const struct omo_trace_row *row, const struct omo_layout *layout)
{
    double most = 0;
    int count = 0;
    double trunk = layout->shoulder_height - layout->hip_height;
    stature_from(row, OMO_SHOULDER, OMO_ELBOW, layout->upper_arm, &most, &count);
    stature_from(row, OMO_ELBOW, OMO_WRIST, layout->forearm, &most, &count);
    stature_from(row, OMO_SHOULDER, OMO_HIP, trunk, &most, &count);
    if (count == 1)
        most *= ALONE_FACTOR;
    for (int role = 0; role < OMO_ROLE_COUNT; role++) {
        double diameter_px = row->markers.role[role].diameter_px;
        if (omo_seen_in(row, (enum omo_role)role) && isfinite(diameter_px))
            most = fmax(most, diameter_px / MARKER_MAX_RATIO);
    }
    return count > 0 ? most : 0;
}

/** An axis pair at a marker: all lengths below are px along them. */
struct place {
    struct omo_point base, up, across;
    double stature_px;
};

static struct omo_point at(const struct place *p, double across, double up)
{
    across *= p->stature_px;
    up *= p->stature_px;
    return (struct omo_point){p->base.x + across * p->across.x + up * p->up.x,
                              p->base.y + across * p->across.y + up * p->up.y};
}

/** Height of the lower border at a distance across from the marker. */
static double border(double across)
{
    double beside = (fabs(across) - MARKER_HALF) / (BESIDE - MARKER_HALF);
    beside = fmin(fmax(beside, 0), 1);
    return BORDER_AT_MARKER + beside * (BORDER_BESIDE - BORDER_AT_MARKER);
}

/** A rounded box about (middle, centre), cut off by the lower border. */
static void outline(const struct place *p, double middle, double half_across,
                    double centre, double half_up, struct omo_head_region *region)
{
    // The upper half is half a superellipse; the lower border runs back below it.
    const int half = OMO_HEAD_POINTS / 2;
    for (int i = 0; i < half; i++) {
        double turn = 3.14159265358979323846 * i / (half - 1);
        double c = cos(turn), s = sin(turn);
        region->outline[i] = at(p, middle + half_across * copysign(sqrt(fabs(c)), c),
                                centre + half_up * sqrt(fabs(s)));
    }
    for (int i = 0; i < half; i++) {
        double across = middle + half_across * (-1 + 2.0 * i / (half - 1));
        region->outline[half + i] = at(p, across, border(across));
    }
}

/** Which way the middle of the body is from the shoulder: +1 along across, 0 unsure. */
static double middle_sign(const struct omo_measure_settings *settings,
                          const struct omo_trace_row *row,
                          const struct omo_result *result, const struct place *p)
{
    double sign = settings->side == OMO_RIGHT ? 1 : -1;
    sign = settings->from_behind ? -sign : sign;
    sign = settings->mirrored ? -sign : sign;
    if (result->against_direction)
        return 0;
    // A mixed-up side must not bare a face: trunk markers have a say.
    static const enum omo_role trunk[] = {OMO_CHEST, OMO_HIP};
    for (int i = 0; i < 2; i++) {
        if (!omo_seen_in(row, trunk[i]))
            continue;
        struct omo_point to = omo_point_sub(omo_place_of(row, trunk[i]), p->base);
        double across = (to.x * p->across.x + to.y * p->across.y) / p->stature_px;
        if (across * sign < -0.02)
            return 0;
    }
    // So has the arm.
    return omo_directions_of(settings, row).against ? 0 : sign;
}

static int front_regions(const struct omo_measure_settings *settings,
                         const struct omo_trace_row *row, const struct omo_result *result,
                         const struct omo_layout *layout, const struct place *p,
                         struct omo_head_region *region)
{
    double sign = middle_sign(settings, row, result, p);
    double middle = layout->half_shoulder_width, half_up = REACH_UP - REACH_CENTRE;
    outline(p, (sign != 0 ? sign : 1) * middle, REACH_FRONT, REACH_CENTRE, half_up,
            &region[0]);
    if (sign != 0)
        return 1;
    outline(p, -middle, REACH_FRONT, REACH_CENTRE, half_up, &region[1]);
    return 2;
}

static struct omo_point clockwise(struct omo_point up)
{
    return (struct omo_point){-up.y, up.x};
}

/** Seen along the upper arm: the shoulder is behind the elbow. */
static int along_arm_regions(const struct omo_measure_settings *settings,
                             const struct omo_trace_row *row, double px,
                             struct omo_head_region *region)
{
    bool shoulder = omo_seen_in(row, OMO_SHOULDER);
    if (!shoulder && !omo_seen_in(row, OMO_ELBOW))
        return 0;
    struct place p = {.base = omo_place_of(row, shoulder ? OMO_SHOULDER : OMO_ELBOW),
                      .stature_px = px,
                      .up = {0, -1}};
    double drop = shoulder ? 0 : ELBOW_DROP;
    int count = 1;
    if (!omo_upright(settings)) {
        struct omo_point feet = {1, 0};
        double far = 0;
        if (omo_seen_in(row, OMO_HIP)) {
            feet = omo_point_sub(omo_place_of(row, OMO_HIP), p.base);
            far = omo_point_distance(feet, (struct omo_point){0, 0}) / px;
            feet = omo_unit_point(feet);
        }
        p.up = (struct omo_point){-feet.x, -feet.y};
        // Without a hip, or with one that hides behind the elbow: feet to either side.
        count = far > 0.15 ? 1 : 2;
    }
    for (int i = 0; i < count; i++) {
        p.across = clockwise(p.up);
        outline(&p, 0, REACH_SIDE, REACH_CENTRE + drop / 2,
                REACH_UP - REACH_CENTRE + drop / 2, &region[i]);
        p.up = (struct omo_point){-p.up.x, -p.up.y};
    }
    return count;
}

/** Bent forward over a hanging arm: the head lies on along the trunk, or hangs from it.
 */
static int pendulum_regions(const struct omo_trace_row *row, struct place *p,
                            struct omo_head_region *region)
{
    if (!omo_seen_in(row, OMO_HIP))
        return 0;
    struct omo_point up = p->up;
    for (int i = 0; i < 2; i++) {
        p->across = clockwise(p->up);
        outline(p, 0, REACH_SIDE, REACH_CENTRE, REACH_UP - REACH_CENTRE, &region[i]);
        // Half way to the floor.
        p->up = omo_unit_point((struct omo_point){up.x, up.y + 1});
        if (p->up.x == 0 && p->up.y == 0)
            p->up = up;
    }
    return 2;
}

int omo_head_regions(const struct omo_measure_settings *settings,
                     const struct omo_trace_row *row, const struct omo_result *result,
                     const struct omo_layout *layout,
                     struct omo_head_region region[OMO_HEAD_REGIONS])
{
    double px = stature_px(row, layout);
    if (!(px > 0) || !isfinite(px))
        return 0;
    if (settings->movement->view == OMO_VIEW_ALONG_ARM)
        return along_arm_regions(settings, row, px, region);
    if (!omo_seen_in(row, OMO_SHOULDER))
        return 0;

    struct omo_point feet = omo_towards_feet(settings, row);
    if (feet.x == 0 && feet.y == 0)
        return 0;
    struct omo_directions d = omo_directions_of(settings, row);
    // The trunk's direction as measured, unless it contradicts what the markers show.
    if (settings->movement->geometry == OMO_GEOMETRY_ELEVATION && d.known &&
        d.zero.x * feet.x + d.zero.y * feet.y > 0.7)
        feet = d.zero;
    struct place p = {.base = omo_place_of(row, OMO_SHOULDER),
                      .up = {-feet.x, -feet.y},
                      .stature_px = px};
    p.across = clockwise(p.up);
    if (settings->movement->geometry == OMO_GEOMETRY_PENDULUM)
        return pendulum_regions(row, &p, region);
    if (settings->movement->view == OMO_VIEW_FRONT)
        return front_regions(settings, row, result, layout, &p, region);
    outline(&p, 0, REACH_SIDE, REACH_CENTRE, REACH_UP - REACH_CENTRE, &region[0]);
    return 1;
}
