/* Smooth curves through knots, and the pen that draws them in body units. */
#include <glib.h>
#include <math.h>

#include "draw/placement_parts.h"

/** Square root of a distance: the knot spacing of the centripetal Catmull-Rom curve,
 *  which has neither loops nor overshoots between uneven knots (Yuksel, Schaefer and
 *  Keyser, Computer-Aided Design 43, 2011; from memory). */
static double spacing(struct omo_knot a, struct omo_knot b)
{
    return fmax(sqrt(hypot(b.x - a.x, b.y - a.y)), 1e-6);
}

/** Tangent at b for the piece that has knot spacing `piece`. */
static struct omo_point tangent(struct omo_knot a, struct omo_knot b, struct omo_knot c,
                                double piece)
{
    double first = spacing(a, b), second = spacing(b, c);
    double both = first + second;
    return (struct omo_point){
        piece * ((b.x - a.x) / first - (c.x - a.x) / both + (c.x - b.x) / second),
        piece * ((b.y - a.y) / first - (c.y - a.y) / both + (c.y - b.y) / second)};
}

static void add_point(struct omo_curve *curve, double x, double y)
{
    g_assert(curve->count < OMO_CURVE_POINTS);
    curve->point[curve->count++] = (struct omo_point){x, y};
}

void omo_curve_through(const struct omo_knot *knot, size_t count, bool closed,
                       struct omo_curve *curve)
{
    const int pieces = 10;
    size_t last = closed ? count : count - 1;
    curve->count = 0;
    for (size_t i = 0; i < last; i++) {
        struct omo_knot b = knot[i], c = knot[(i + 1) % count];
        bool starts = b.corner || (!closed && i == 0);
        bool ends = c.corner || (!closed && i + 2 == count);
        double piece = spacing(b, c);
        struct omo_point straight = {c.x - b.x, c.y - b.y};
        struct omo_point leave =
            starts ? straight : tangent(knot[(i + count - 1) % count], b, c, piece);
        struct omo_point arrive =
            ends ? straight : tangent(b, c, knot[(i + 2) % count], piece);
        for (int k = 0; k < pieces; k++) {
            double t = (double)k / pieces, tt = t * t, ttt = tt * t;
            double h0 = 2 * ttt - 3 * tt + 1, h1 = ttt - 2 * tt + t;
            double h2 = 3 * tt - 2 * ttt, h3 = ttt - tt;
            add_point(curve, h0 * b.x + h1 * leave.x + h2 * c.x + h3 * arrive.x,
                      h0 * b.y + h1 * leave.y + h2 * c.y + h3 * arrive.y);
        }
    }
    if (!closed)
        add_point(curve, knot[count - 1].x, knot[count - 1].y);
}

bool omo_curve_holds(const struct omo_curve *curve, struct omo_point p)
{
    bool inside = false;
    for (size_t i = 0, j = curve->count - 1; i < curve->count; j = i++) {
        struct omo_point a = curve->point[i], b = curve->point[j];
        if ((a.y > p.y) != (b.y > p.y) &&
            p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x)
            inside = !inside;
    }
    return inside;
}

/* ---- the pen ---- */

struct omo_point omo_pen_at(const struct omo_pen *pen, double x, double y)
{
    return (struct omo_point){pen->origin.x + pen->turn * pen->scale * x,
                              pen->origin.y - pen->scale * y};
}

static void to_picture(const struct omo_pen *pen, struct omo_curve *curve)
{
    for (size_t i = 0; i < curve->count; i++)
        curve->point[i] = omo_pen_at(pen, curve->point[i].x, curve->point[i].y);
}

void omo_pen_fill(struct omo_pen *pen, const struct omo_knot *knot, size_t count,
                  uint32_t colour, double weight)
{
    struct omo_curve curve;
    omo_curve_through(knot, count, true, &curve);
    to_picture(pen, &curve);
    omo_figure_add(pen->figure, &(struct omo_mark){.kind = OMO_MARK_SHAPE,
                                                   .points = curve.point,
                                                   .count = curve.count,
                                                   .colour = colour});
    if (weight > 0)
        omo_pen_outline(pen, knot, count, weight);
}

void omo_pen_outline(struct omo_pen *pen, const struct omo_knot *knot, size_t count,
                     double weight)
{
    struct omo_curve curve;
    omo_curve_through(knot, count, true, &curve);
    to_picture(pen, &curve);
    /* A line of its own, not a shape's edge, which would lie outside the curve: it meets
     * the open lines of other parts without a step. */
    add_point(&curve, curve.point[0].x, curve.point[0].y);
    omo_figure_add(pen->figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                                   .points = curve.point,
                                                   .count = curve.count,
                                                   .colour = OMO_INK,
                                                   .width = weight * pen->line});
}

static void line(struct omo_pen *pen, const struct omo_knot *knot, size_t count,
                 uint32_t colour, double weight, double dash)
{
    struct omo_curve curve;
    omo_curve_through(knot, count, false, &curve);
    to_picture(pen, &curve);
    omo_figure_add(pen->figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                                   .points = curve.point,
                                                   .count = curve.count,
                                                   .colour = colour,
                                                   .width = weight * pen->line,
                                                   .dash = dash});
}

void omo_pen_stroke(struct omo_pen *pen, const struct omo_knot *knot, size_t count,
                    uint32_t colour, double weight)
{
    line(pen, knot, count, colour, weight, 0);
}

void omo_pen_dashes(struct omo_pen *pen, const struct omo_knot *knot, size_t count,
                    uint32_t colour, double weight)
{
    line(pen, knot, count, colour, weight, 5 * pen->line);
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

void omo_pen_hatch(struct omo_pen *pen, const struct omo_knot *knot, size_t count,
                   double step, double direction_deg, uint32_t colour, double weight)
{
    struct omo_curve curve;
    omo_curve_through(knot, count, true, &curve);
    to_picture(pen, &curve);
    double turn = direction_deg * G_PI / 180;
    struct omo_point along = {cos(turn), sin(turn)}, across = {-sin(turn), cos(turn)};
    double low = INFINITY, high = -INFINITY, gap = step * pen->scale;
    for (size_t i = 0; i < curve.count; i++) {
        double d = curve.point[i].x * across.x + curve.point[i].y * across.y;
        low = fmin(low, d);
        high = fmax(high, d);
    }
    for (double d = low + gap / 2; d < high; d += gap) {
        double cut[32];
        size_t cuts = 0;
        for (size_t i = 0, j = curve.count - 1; i < curve.count; j = i++) {
            struct omo_point a = curve.point[j], b = curve.point[i];
            double da = a.x * across.x + a.y * across.y - d;
            double db = b.x * across.x + b.y * across.y - d;
            if ((da > 0) == (db > 0) || cuts == G_N_ELEMENTS(cut))
                continue;
            double share = da / (da - db);
            cut[cuts++] = (a.x + share * (b.x - a.x)) * along.x +
                          (a.y + share * (b.y - a.y)) * along.y;
        }
        qsort(cut, cuts, sizeof cut[0], by_value);
        for (size_t i = 0; i + 1 < cuts; i += 2) {
            struct omo_point ends[2] = {{cut[i] * along.x + d * across.x,
                                         cut[i] * along.y + d * across.y},
                                        {cut[i + 1] * along.x + d * across.x,
                                         cut[i + 1] * along.y + d * across.y}};
            omo_figure_add(pen->figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                                           .points = ends,
                                                           .count = 2,
                                                           .colour = colour,
                                                           .width = weight * pen->line});
        }
    }
}

void omo_pen_body(struct omo_pen *pen, const struct omo_knot *knot, size_t count)
{
    if (!pen->body)
        return;
    g_assert(pen->body_count < OMO_BODY_PARTS);
    struct omo_curve *curve = &pen->body[pen->body_count++];
    omo_curve_through(knot, count, true, curve);
    to_picture(pen, curve);
}

/* ---- limbs and heights ---- */

struct omo_limb omo_limb_make(struct omo_point from, double direction_deg, double length,
                              double side)
{
    double turn = direction_deg * G_PI / 180;
    struct omo_limb limb = {.from = from,
                            .along = {sin(turn), -cos(turn)},
                            .across = {side * cos(turn), side * sin(turn)},
                            .length = length};
    return limb;
}

struct omo_point omo_limb_at(const struct omo_limb *limb, double along, double across)
{
    double s = along * limb->length;
    return (struct omo_point){limb->from.x + s * limb->along.x + across * limb->across.x,
                              limb->from.y + s * limb->along.y + across * limb->across.y};
}

double omo_body_height(const struct omo_layout *layout, double y)
{
    const struct {
        double drawn, wanted;
    } level[] = {{0, 0},
                 {530, 1000 * layout->hip_height},
                 {720, 1000 * layout->chest_height},
                 {818, 1000 * layout->shoulder_height},
                 {1000, 1000}};
    size_t i = 1;
    while (i + 1 < G_N_ELEMENTS(level) && y > level[i].drawn)
        i++;
    double share = (y - level[i - 1].drawn) / (level[i].drawn - level[i - 1].drawn);
    return level[i - 1].wanted + share * (level[i].wanted - level[i - 1].wanted);
}
