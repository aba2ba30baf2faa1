#include "motion/take.h"

/*
 * The person turns with the picture: lying on the back is standing, turned by a quarter.
 * So the sense of a movement is the same in every position, and only the direction of
 * angle 0 differs. All for a right arm, from the front or facing picture right; the other
 * hand is the mirror image.
 *
 *   front view                         side view
 *   standing, seated   feet down       standing, seated   feet down
 *   supine             feet down (1)   supine             head left, feet right
 *   side-lying         head right,     prone              head right, feet left
 *                      feet left (2)   side-lying         feet down (1)
 *
 *   rotations: straight ahead is picture right when upright or on the side, up on the
 *   back, down when prone.
 *
 * (1) The camera looks down; the head is at the picture's top, gravity is not in it.
 * (2) The measured arm is uppermost.
 */

static struct omo_point trunk_direction(enum omo_view view, enum omo_position position)
{
    if (view == OMO_VIEW_FRONT && position == OMO_SIDE_LYING)
        return (struct omo_point){-1, 0};
    if (view == OMO_VIEW_SIDE && position == OMO_SUPINE)
        return (struct omo_point){1, 0};
    if (view == OMO_VIEW_SIDE && position == OMO_PRONE)
        return (struct omo_point){-1, 0};
    return (struct omo_point){0, 1};
}

static struct omo_point straight_ahead(enum omo_position position)
{
    if (position == OMO_SUPINE)
        return (struct omo_point){0, -1};
    if (position == OMO_PRONE)
        return (struct omo_point){0, 1};
    return (struct omo_point){1, 0};
}

/** +1 as drawn above, -1 for the mirror image. */
static double handedness(const struct omo_measure_settings *s)
{
    if (s->movement->view != OMO_VIEW_FRONT)
        return s->facing_left ? -1.0 : 1.0;
    double hand = s->side == OMO_RIGHT ? 1.0 : -1.0;
    if (s->from_behind)
        hand = -hand;
    return s->mirrored ? -hand : hand;
}

struct omo_axes omo_axes_of(const struct omo_measure_settings *s)
{
    double hand = handedness(s);
    enum omo_view view = s->movement->view;
    bool on_side = s->position == OMO_SIDE_LYING;
    bool flat = s->position == OMO_SUPINE || s->position == OMO_PRONE;
    struct omo_axes axes = {
        .sign = s->movement->sign * hand,
        .gravity = true,
        .lying = flat || on_side,
        .from = OMO_SHOULDER,
        .to = OMO_ELBOW,
    };
    switch (s->movement->geometry) {
    case OMO_GEOMETRY_ELEVATION:
        axes.zero = trunk_direction(view, s->position);
        axes.gravity =
            !((view == OMO_VIEW_FRONT && flat) || (view == OMO_VIEW_SIDE && on_side));
        break;
    case OMO_GEOMETRY_ROTATION:
        axes.zero = straight_ahead(s->position);
        axes.from = OMO_ELBOW;
        axes.to = OMO_WRIST;
        break;
    case OMO_GEOMETRY_FORESHORTENED:
        /* Zero points at the camera; this is where the upper arm hangs. The forearm goes
         * out as a raised arm would. */
        axes.zero = (struct omo_point){0, 1};
        axes.from = OMO_ELBOW;
        axes.to = OMO_WRIST;
        break;
    case OMO_GEOMETRY_PENDULUM:
        axes.zero = (struct omo_point){0, 1};
        break;
    }
    axes.zero.x *= hand;
    return axes;
}
