#include "draw/placement_body.h"

#include <glib.h>
#include <math.h>

size_t omo_limb_knots(const struct omo_body *body, const struct omo_limb_knot *from,
                      size_t count, struct omo_knot *to)
{
    for (size_t i = 0; i < count; i++) {
        struct omo_point p =
            omo_limb_at(&body->limb[from[i].limb], from[i].along, from[i].across);
        to[i] = (struct omo_knot){p.x, p.y, from[i].corner};
    }
    return count;
}

size_t omo_trunk_knots(const struct omo_body *body, const struct omo_knot *from,
                       size_t count, struct omo_knot *to)
{
    for (size_t i = 0; i < count; i++)
        to[i] =
            (struct omo_knot){from[i].x * body->wide,
                              omo_body_height(body->layout, from[i].y), from[i].corner};
    return count;
}

void omo_fill_trunk(struct omo_body *body, const struct omo_knot *from, size_t count,
                    uint32_t colour, double weight)
{
    struct omo_knot knot[KNOTS_MAX];
    omo_pen_fill(body->pen, knot, omo_trunk_knots(body, from, count, knot), colour,
                 weight);
}

void omo_stroke_trunk(struct omo_body *body, const struct omo_knot *from, size_t count,
                      uint32_t colour, double weight)
{
    struct omo_knot knot[KNOTS_MAX];
    omo_pen_stroke(body->pen, knot, omo_trunk_knots(body, from, count, knot), colour,
                   weight);
}

void omo_stroke_limb(struct omo_body *body, const struct omo_limb_knot *from,
                     size_t count, uint32_t colour, double weight)
{
    struct omo_knot knot[KNOTS_MAX];
    omo_pen_stroke(body->pen, knot, omo_limb_knots(body, from, count, knot), colour,
                   weight);
}

size_t omo_both_sides(struct omo_knot *knot, size_t count)
{
    size_t all = count;
    for (size_t i = count; i-- > 0;)
        if (fabs(knot[i].x) > 1e-9)
            knot[all++] = (struct omo_knot){-knot[i].x, knot[i].y, knot[i].corner};
    return all;
}

void omo_fill_both(struct omo_body *body, const struct omo_knot *from, size_t count,
                   uint32_t colour, double weight)
{
    struct omo_knot knot[KNOTS_MAX];
    size_t all = omo_both_sides(knot, omo_trunk_knots(body, from, count, knot));
    omo_pen_fill(body->pen, knot, all, colour, weight);
}

void omo_stroke_both(struct omo_body *body, const struct omo_knot *from, size_t count,
                     uint32_t colour, double weight)
{
    struct omo_knot knot[KNOTS_MAX] = {0};
    count = omo_trunk_knots(body, from, count, knot);
    omo_pen_stroke(body->pen, knot, count, colour, weight);
    for (size_t i = 0; i < count; i++)
        knot[i].x = -knot[i].x;
    omo_pen_stroke(body->pen, knot, count, colour, weight);
}

/* ---- places ---- */

struct omo_spot omo_spot_at(struct omo_point at, double column, double lift)
{
    return (struct omo_spot){
        .shown = true, .at = at, .named_at = at, .column = column, .lift = lift};
}

struct omo_point omo_body_at(const struct omo_body *body, double x, double y)
{
    return (struct omo_point){x * body->wide, omo_body_height(body->layout, y)};
}

void omo_spot_band(struct omo_spot *spot, const struct omo_body *body, int limb,
                   double along, double half)
{
    spot->at = omo_limb_at(&body->limb[limb], along, 0);
    spot->named_at = spot->at;
    spot->half = half + (body->settings->modest ? 3 : 0); /* over a sleeve */
    spot->across = body->limb[limb].across;
}
