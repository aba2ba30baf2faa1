/** The pieces a body is drawn with: smooth curves, a pen in body units, hatching. */
#ifndef OMO_DRAW_PLACEMENT_PARTS_H
#define OMO_DRAW_PLACEMENT_PARTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "omogon/layout.h"
#include "omogon/placement.h"

/* ---- curves ---- */

/** A point a curve goes through; at a corner it may turn sharply. */
struct omo_knot {
    double x, y;
    bool corner;
};

#define OMO_CURVE_POINTS 1200
struct omo_curve {
    struct omo_point point[OMO_CURVE_POINTS];
    size_t count;
};

/** Samples a smooth curve through the knots (centripetal Catmull-Rom). */
void omo_curve_through(const struct omo_knot *knot, size_t count, bool closed,
                       struct omo_curve *curve);
/** Even-odd rule. */
bool omo_curve_holds(const struct omo_curve *curve, struct omo_point p);

/* ---- the pen ---- */

#define OMO_INK   0xff262626u
#define OMO_PALE  0xff8c8c8cu
#define OMO_PAPER 0xffffffffu
#define OMO_CLOTH 0xfff4f4f4u
#define OMO_DARK  0xffdadadau

/** Body units are thousandths of stature: x from the body's middle, y from the floor. */
struct omo_pen {
    struct omo_figure *figure;
    double scale;            /**< px per unit */
    struct omo_point origin; /**< px of (0, 0) */
    double turn;             /**< +1, or -1: x runs to picture left */
    double line;             /**< px of a thin line */
    struct omo_curve *body;  /**< NULL: not wanted */
    int body_count;
};

#define OMO_BODY_PARTS 8

struct omo_point omo_pen_at(const struct omo_pen *pen, double x, double y);
/** Filled; an outline of `weight` thin lines, 0: none. */
void omo_pen_fill(struct omo_pen *pen, const struct omo_knot *knot, size_t count,
                  uint32_t colour, double weight);
void omo_pen_outline(struct omo_pen *pen, const struct omo_knot *knot, size_t count,
                     double weight);
void omo_pen_stroke(struct omo_pen *pen, const struct omo_knot *knot, size_t count,
                    uint32_t colour, double weight);
void omo_pen_dashes(struct omo_pen *pen, const struct omo_knot *knot, size_t count,
                    uint32_t colour, double weight);
/** Parallel lines within the closed curve; step in units, direction clockwise from
 *  picture right. */
void omo_pen_hatch(struct omo_pen *pen, const struct omo_knot *knot, size_t count,
                   double step, double direction_deg, uint32_t colour, double weight);
/** Counts a closed curve as a part of the body (pen->body). */
void omo_pen_body(struct omo_pen *pen, const struct omo_knot *knot, size_t count);

/* ---- the bodies ---- */

/** A limb from one joint to the next; points are given along it (share of its length)
 *  and across it (units, positive to the side that `across` points to). */
struct omo_limb {
    struct omo_point from, along, across;
    double length;
};
/** direction_deg: 0 hangs straight down, positive towards +x; side +1 or -1 is the x
 *  direction that counts as positive across. */
struct omo_limb omo_limb_make(struct omo_point from, double direction_deg, double length,
                              double side);
struct omo_point omo_limb_at(const struct omo_limb *limb, double along, double across);

/** A place that is pointed out, body units. */
struct omo_spot {
    bool shown;
    struct omo_point at;
    struct omo_point named_at; /**< where the line from its name ends: `at`, or the same
                                    point on the other side of the body */
    double column;             /**< +1: its name stands where x is high, -1: low */
    double lift;               /**< how far above the place its name would like to be */
    double half;               /**< a band reaches so far to either side; 0: a sticker */
    struct omo_point across;   /**< direction of the band, unit vector */
};
struct omo_spots {
    struct omo_spot marker[OMO_ROLE_COUNT], bony[OMO_BONY_COUNT];
    double low_x, high_x, low_y, high_y; /**< of the drawing */
};

/** Height of the drawing with standard proportions, moved to those of the layout. */
double omo_body_height(const struct omo_layout *layout, double y);

/** Front or from behind; +x is the measured side. */
void omo_draw_front(struct omo_pen *pen, const struct omo_layout *layout,
                    const struct omo_placement_settings *settings,
                    struct omo_spots *spots);
/** Side view or along the arm; +x is forward. */
void omo_draw_side(struct omo_pen *pen, const struct omo_layout *layout,
                   const struct omo_placement_settings *settings,
                   struct omo_spots *spots);

/** The body's outline as closed curves, px, for tests; returns their number. */
int omo_placement_outline(const struct omo_placement_settings *settings,
                          struct omo_curve outline[OMO_BODY_PARTS]);

#endif
