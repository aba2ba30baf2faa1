/** Where a row's angle lies in the picture. */
#ifndef OMO_DRAW_DIRECTIONS_H
#define OMO_DRAW_DIRECTIONS_H

#include <stdbool.h>

#include "omogon/geometry.h"
#include "omogon/motion.h"

/** The angle as it is drawn: from the zero direction, turned to the moving segment. */
struct omo_directions {
    bool known;              /**< false: a marker or the angle is missing */
    struct omo_point vertex; /**< shoulder, or elbow in a rotation */
    struct omo_point end;    /**< elbow, or wrist in a rotation */
    struct omo_point zero;   /**< unit vector: along the trunk to the feet, or ahead */
    double sweep_deg;        /**< clockwise positive, from zero to the segment */
    bool against;            /**< the segment is not where the stated side has it */
};

struct omo_point omo_turned_point(struct omo_point p, double clockwise_deg);
/** Length 1, or (0, 0) when p has none. */
struct omo_point omo_unit_point(struct omo_point p);
bool omo_seen_in(const struct omo_trace_row *row, enum omo_role role);
struct omo_point omo_place_of(const struct omo_trace_row *row, enum omo_role role);

/** Standing or seated. */
bool omo_upright(const struct omo_measure_settings *settings);

/** From shoulder or chest to the hip, as far as markers or an upright position tell;
 *  (0, 0) when neither does. Unit vector. */
struct omo_point omo_towards_feet(const struct omo_measure_settings *settings,
                                  const struct omo_trace_row *row);

struct omo_directions omo_directions_of(const struct omo_measure_settings *settings,
                                        const struct omo_trace_row *row);

#endif
