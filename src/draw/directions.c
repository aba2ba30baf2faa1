#include "draw/directions.h"

#include <math.h>

static const double DEG = 3.14159265358979323846 / 180;

struct omo_point omo_turned_point(struct omo_point p, double clockwise_deg)
{
    double c = cos(clockwise_deg * DEG), s = sin(clockwise_deg * DEG);
    return (struct omo_point){p.x * c - p.y * s, p.x * s + p.y * c};
}

struct omo_point omo_unit_point(struct omo_point p)
{
    double length = hypot(p.x, p.y);
    if (!(length > 0))
        return (struct omo_point){0, 0};
    return (struct omo_point){p.x / length, p.y / length};
}

bool omo_seen_in(const struct omo_trace_row *row, enum omo_role role)
{
    const struct omo_marker *m = &row->markers.role[role];
    return m->seen != OMO_NOT_SEEN && isfinite(m->x_px) && isfinite(m->y_px);
}

struct omo_point omo_place_of(const struct omo_trace_row *row, enum omo_role role)
{
    const struct omo_marker *m = &row->markers.role[role];
    return (struct omo_point){m->x_px, m->y_px};
}

bool omo_upright(const struct omo_measure_settings *settings)
{
    return settings->position == OMO_STANDING || settings->position == OMO_SEATED;
}

struct omo_point omo_towards_feet(const struct omo_measure_settings *settings,
                                  const struct omo_trace_row *row)
{
    enum omo_role upper = omo_seen_in(row, OMO_CHEST) ? OMO_CHEST : OMO_SHOULDER;
    if (omo_seen_in(row, OMO_HIP) && omo_seen_in(row, upper))
        return omo_unit_point(
            omo_point_sub(omo_place_of(row, OMO_HIP), omo_place_of(row, upper)));
    return (struct omo_point){0, omo_upright(settings) ? 1 : 0};
}

/** +1: the movement turns clockwise in this picture. */
static double turn_sign(const struct omo_measure_settings *settings)
{
    double sign = settings->movement->sign < 0 ? -1 : 1;
    if (settings->movement->view != OMO_VIEW_FRONT)
        return settings->facing_left ? -sign : sign;
    sign = settings->side == OMO_LEFT ? -sign : sign;
    sign = settings->from_behind ? -sign : sign;
    return settings->mirrored ? -sign : sign;
}

/** Where zero is expected, to settle which way the angle turns. */
static struct omo_point expected_zero(const struct omo_measure_settings *settings,
                                      const struct omo_trace_row *row)
{
    switch (settings->movement->geometry) {
    case OMO_GEOMETRY_ELEVATION:
        return omo_towards_feet(settings, row);
    case OMO_GEOMETRY_PENDULUM:
        return (struct omo_point){0, 1};
    case OMO_GEOMETRY_ROTATION:
    case OMO_GEOMETRY_FORESHORTENED:
        break;
    }
    // Straight ahead of the person: to the ceiling on the back, to the floor when prone.
    if (settings->position == OMO_SUPINE)
        return (struct omo_point){0, -1};
    if (settings->position == OMO_PRONE)
        return (struct omo_point){0, 1};
    return (struct omo_point){settings->facing_left ? -1 : 1, 0};
}

static double dot(struct omo_point a, struct omo_point b)
{
    return a.x * b.x + a.y * b.y;
}

/** Which marker moves: the wrist, too, may hang in a pendulum, whichever fits the angle.
 */
static enum omo_role moving_role(const struct omo_measure_settings *settings,
                                 const struct omo_trace_row *row, double angle_deg)
{
    if (settings->movement->geometry == OMO_GEOMETRY_ROTATION)
        return OMO_WRIST;
    if (settings->movement->geometry != OMO_GEOMETRY_PENDULUM ||
        !omo_seen_in(row, OMO_WRIST) || !omo_seen_in(row, OMO_SHOULDER))
        return OMO_ELBOW;
    const struct omo_point down = {0, 1}, shoulder = omo_place_of(row, OMO_SHOULDER);
    double misfit[2] = {360, 360};
    static const enum omo_role roles[2] = {OMO_ELBOW, OMO_WRIST};
    for (int i = 0; i < 2; i++) {
        if (!omo_seen_in(row, roles[i]))
            continue;
        double turn_deg =
            omo_turn_deg(down, omo_point_sub(omo_place_of(row, roles[i]), shoulder));
        misfit[i] = fabs(fabs(turn_deg) - fabs(angle_deg));
    }
    return misfit[1] < misfit[0] ? OMO_WRIST : OMO_ELBOW;
}

struct omo_directions omo_directions_of(const struct omo_measure_settings *settings,
                                        const struct omo_trace_row *row)
{
    struct omo_directions d = {.known = false};
    // The lines go through the markers, so the angle between them is the uncorrected one.
    double angle_deg =
        isfinite(row->angle_image_deg) ? row->angle_image_deg : row->angle_deg;
    bool rotation = settings->movement->geometry == OMO_GEOMETRY_ROTATION;
    enum omo_role from = rotation ? OMO_ELBOW : OMO_SHOULDER,
                  to = moving_role(settings, row, angle_deg);
    if (!omo_seen_in(row, from) || !omo_seen_in(row, to) || !isfinite(angle_deg))
        return d;
    // An angle out of the picture has no lines in it.
    if (settings->movement->geometry == OMO_GEOMETRY_FORESHORTENED)
        return d;
    d.vertex = omo_place_of(row, from);
    d.end = omo_place_of(row, to);
    struct omo_point moving = omo_unit_point(omo_point_sub(d.end, d.vertex));
    if (moving.x == 0 && moving.y == 0)
        return d;

    // The stated direction decides unless the markers plainly tell otherwise.
    struct omo_point expected = expected_zero(settings, row);
    double sign = turn_sign(settings);
    double as_stated = dot(omo_turned_point(moving, -sign * angle_deg), expected);
    double other = dot(omo_turned_point(moving, sign * angle_deg), expected);
    if (other > as_stated + 0.3) {
        sign = -sign;
        d.against = true;
    }
    d.against |= angle_deg < -20;
    d.sweep_deg = sign * angle_deg;
    d.zero = omo_turned_point(moving, -d.sweep_deg);
    d.known = true;
    return d;
}
