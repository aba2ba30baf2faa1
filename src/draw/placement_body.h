/** What the drawn bodies share: limbs and trunk as knots, moved to a layout's lengths. */
#ifndef OMO_DRAW_PLACEMENT_BODY_H
#define OMO_DRAW_PLACEMENT_BODY_H

#include "draw/placement_parts.h"

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))
#define KNOTS_MAX    96

/** A knot on a limb: 0 upper arm, 1 forearm, 2 hand. */
struct omo_limb_knot {
    int limb;
    double along, across;
    bool corner;
};

struct omo_body {
    struct omo_pen *pen;
    const struct omo_layout *layout;
    const struct omo_placement_settings *settings;
    struct omo_limb limb[3];
    double wide; /**< of the trunk against the drawn one */
};

/** Knots in body units; return their number. */
size_t omo_limb_knots(const struct omo_body *body, const struct omo_limb_knot *from,
                      size_t count, struct omo_knot *to);
size_t omo_trunk_knots(const struct omo_body *body, const struct omo_knot *from,
                       size_t count, struct omo_knot *to);

void omo_fill_trunk(struct omo_body *body, const struct omo_knot *from, size_t count,
                    uint32_t colour, double weight);
void omo_stroke_trunk(struct omo_body *body, const struct omo_knot *from, size_t count,
                      uint32_t colour, double weight);
void omo_stroke_limb(struct omo_body *body, const struct omo_limb_knot *from,
                     size_t count, uint32_t colour, double weight);

/** The same on both sides of the middle, as one closed curve: down on +x, up on -x. */
size_t omo_both_sides(struct omo_knot *knot, size_t count);
void omo_fill_both(struct omo_body *body, const struct omo_knot *from, size_t count,
                   uint32_t colour, double weight);
void omo_stroke_both(struct omo_body *body, const struct omo_knot *from, size_t count,
                     uint32_t colour, double weight);

/** A place; its name in the column `column`, `lift` units above it. */
struct omo_spot omo_spot_at(struct omo_point at, double column, double lift);
struct omo_point omo_body_at(const struct omo_body *body, double x, double y);
/** Makes a marker a band across a limb, `half` to either side. */
void omo_spot_band(struct omo_spot *spot, const struct omo_body *body, int limb,
                   double along, double half);

/* The parts that lie under the arms, and the head. */
void omo_front_trunk(struct omo_body *body);
void omo_front_trunk_lines(struct omo_body *body);
void omo_front_head(struct omo_body *body);
void omo_side_trunk(struct omo_body *body);
void omo_side_head(struct omo_body *body);

#endif
