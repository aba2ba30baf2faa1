#include "raster.h"

#include <math.h>

#define STEPS 48 /* along the axis, of a tube's outline */

/** One step of the outline: extents, and what makes a distance across the limb one at
 *  right angles to the outline. */
struct step {
    float left, right, upright_left, upright_right;
};

/** A tube prepared for its pixels. */
struct shape {
    float ax, ay, ex, ey; /* start and unit axis; across is (-ey, ex) */
    float length, steps_per_px, cap_a, cap_b, cut_from, cut_to, bow;
    bool cut_a, cut_b;
    struct step step[STEPS + 2];
    float widest_left, widest_right;
    float along_texture, across_texture, shift, soft, opacity;
    bool joint;
};

/** Catmull-Rom through the nodes, ends held. */
static void outline_at(const struct omo_tube *tube, double t, float *left, float *right)
{
    int n = tube->nodes, i = 0;
    const struct omo_node *node = tube->node;
    while (i < n - 2 && t > node[i + 1].t)
        i++;
    const struct omo_node *b = &node[i], *c = &node[i + 1];
    const struct omo_node *a = i > 0 ? b - 1 : b, *d = i < n - 2 ? c + 1 : c;
    double span = c->t - b->t, f = omo_sim_clamp((t - b->t) / span, 0, 1);
    double ka = a == b ? 0 : span / (c->t - a->t), kd = d == c ? 0 : span / (d->t - b->t);
    double f2 = f * f, f3 = f2 * f;
    double h0 = 2 * f3 - 3 * f2 + 1, h1 = f3 - 2 * f2 + f, h2 = 3 * f2 - 2 * f3,
           h3 = f3 - f2;
    *left = (float)(h0 * b->left + h1 * ka * (c->left - a->left) + h2 * c->left +
                    h3 * kd * (d->left - b->left));
    *right = (float)(h0 * b->right + h1 * ka * (c->right - a->right) + h2 * c->right +
                     h3 * kd * (d->right - b->right));
}

static void take_outline(const struct omo_tube *tube, struct shape *shape)
{
    struct step *step = shape->step;
    shape->widest_left = shape->widest_right = 0;
    for (int i = 0; i <= STEPS; i++) {
        outline_at(tube, (double)i / STEPS, &step[i].left, &step[i].right);
        shape->widest_left = fmaxf(shape->widest_left, step[i].left);
        shape->widest_right = fmaxf(shape->widest_right, step[i].right);
    }
    step[STEPS + 1] = step[STEPS];
    for (int i = 0; i <= STEPS; i++) {
        float left = (step[i + 1].left - step[i].left) * shape->steps_per_px;
        float right = (step[i + 1].right - step[i].right) * shape->steps_per_px;
        step[i].upright_left = 1 / sqrtf(1 + left * left);
        step[i].upright_right = 1 / sqrtf(1 + right * right);
    }
}

static void prepare(const struct omo_tube *tube, const struct omo_paint *paint,
                    struct shape *shape)
{
    double dx = tube->bx - tube->ax, dy = tube->by - tube->ay;
    double length = sqrt(dx * dx + dy * dy);
    if (length < 0.01) { /* seen end on: any direction will do */
        dx = 0;
        dy = length = 0.01;
    }
    shape->ax = (float)tube->ax;
    shape->ay = (float)tube->ay;
    shape->ex = (float)(dx / length);
    shape->ey = (float)(dy / length);
    shape->length = (float)length;
    shape->steps_per_px = STEPS / (float)length;
    shape->cap_a = (float)fmax(tube->cap_a, 0.01);
    shape->cap_b = (float)fmax(tube->cap_b, 0.01);
    shape->cut_a = tube->from_t > 0;
    shape->cut_b = tube->to_t < 1;
    shape->cut_from = (float)(tube->from_t * length);
    shape->cut_to = (float)(tube->to_t * length);
    shape->bow = (float)tube->bow_px;
    take_outline(tube, shape);
    shape->along_texture = paint->fold_per_m / (float)tube->px_per_m;
    shape->across_texture = paint->fold_across;
    shape->shift = (float)tube->texture_shift;
    shape->joint = tube->joint;
    shape->soft = 1 / (1 + (float)tube->soft_px);
    shape->opacity = tube->opacity > 0 ? (float)tube->opacity : 1;
}

/** Narrows [from, to] to where low <= value + slope * (x - origin) <= high. */
static void narrow(float value, float slope, float low, float high, float *from,
                   float *to)
{
    if (fabsf(slope) < 1e-6f) {
        if (value < low || value > high)
            *to = *from - 1;
        return;
    }
    float a = (low - value) / slope, b = (high - value) / slope;
    *from = fmaxf(*from, fminf(a, b));
    *to = fminf(*to, fmaxf(a, b));
}

/** Distance inside the rounded end, and the place on it. */
static float inside_cap(const struct shape *shape, float s, float u, float *across,
                        float *along)
{
    const struct step *end = &shape->step[s < 0 ? 0 : STEPS];
    float cap = s < 0 ? shape->cap_a : shape->cap_b;
    float beyond = (s < 0 ? s : s - shape->length) / cap;
    float half = 0.5f * (end->right + end->left);
    float q = (u - 0.5f * (end->right - end->left)) / half;
    float k = sqrtf(beyond * beyond + q * q);
    float gx = beyond / cap, gq = q / half;
    *across = q;
    *along = beyond;
    return k > 0 ? (1 - k) * k / sqrtf(gx * gx + gq * gq) : half;
}

/** Distance inside the outline (px, negative outside) and the place across (-1..1) and
 *  beyond an end, for a point s along and u across. */
static inline float inside(const struct shape *shape, float s, float u, float *across,
                           float *along)
{
    float at = s * shape->steps_per_px;
    if (at < 0 || at > STEPS)
        return inside_cap(shape, s, u, across, along);
    int i = (int)at;
    float f = at - (float)i;
    const struct step *a = &shape->step[i], *b = a + 1;
    float left = a->left + (b->left - a->left) * f;
    float right = a->right + (b->right - a->right) * f;
    float q = (2 * u - right + left) / (right + left);
    *across = q;
    *along = 0;
    return q > 0 ? (right - u) * a->upright_right : (u + left) * a->upright_left;
}

/** Coverage of a point; the place on the round surface in q, k, z. */
static inline float tube_cover(const struct shape *shape, float s, float u, float *q,
                               float *k, float *z)
{
    float cover = omo_clamp01(inside(shape, s, u, q, k) * shape->soft + 0.5f);
    float round;
    if (cover <= 0)
        return 0;
    if (shape->joint)
        *k = 0;
    round = 1 - *q * *q - *k * *k;
    *z = round > 0 ? sqrtf(round) : 0;
    if (shape->cut_a)
        cover *= omo_clamp01(s - shape->cut_from + shape->bow * *z + 0.5f);
    if (shape->cut_b)
        cover *= omo_clamp01(shape->cut_to - shape->bow * *z - s + 0.5f);
    return cover * shape->opacity;
}

static omo_float4 tube_pixel(const struct omo_canvas *canvas, const struct shape *shape,
                             const struct omo_paint *paint, float s, float u)
{
    float q, k, z;
    float cover = tube_cover(shape, s, u, &q, &k, &z);
    if (cover <= 0)
        return (omo_float4){0, 0, 0, 0};
    float x = -shape->ey * q + shape->ex * k, y = shape->ex * q + shape->ey * k;
    float v = s * shape->along_texture + shape->shift;
    float w = q * shape->across_texture + shape->shift;
    float fold = paint->fold_ratio * omo_texel(canvas->fold, w, v);
    float grain = paint->grain_ratio * omo_texel_near(canvas->grain, w * 2.3f, v * 2.3f);
    float light = omo_lit(&canvas->light, x, y, z) * (1 + fold + grain);
    omo_float4 colour = paint->colour * light;
    if (paint->shine > 0) {
        float gleam = x * canvas->light.x + y * canvas->light.y + z * canvas->light.z;
        gleam = gleam > 0 ? gleam * gleam : 0;
        colour += paint->shine * gleam * gleam * gleam;
    }
    colour[3] = cover;
    return colour;
}

/** Columns of row y in which the tube can show, in the clip window. */
static bool row_extent(const struct omo_canvas *canvas, const struct shape *shape, int y,
                       int *from, int *to)
{
    float low = (float)canvas->clip_left, high = (float)(canvas->clip_right - 1);
    float dy = (float)y - shape->ay, dx = -shape->ax;
    float margin = 0.5f / shape->soft + 0.5f;
    float near = shape->cut_a ? shape->cut_from - fabsf(shape->bow) : -shape->cap_a;
    float far =
        shape->cut_b ? shape->cut_to + fabsf(shape->bow) : shape->length + shape->cap_b;
    narrow(dx * shape->ex + dy * shape->ey, shape->ex, near - margin, far + margin, &low,
           &high);
    narrow(-dx * shape->ey + dy * shape->ex, -shape->ey, -shape->widest_left - margin,
           shape->widest_right + margin, &low, &high);
    *from = (int)ceilf(low);
    *to = (int)floorf(high);
    return *from <= *to;
}

static void rows_of(const struct omo_canvas *canvas, const struct omo_tube *tube,
                    const struct shape *shape, int *first, int *last)
{
    float reach = fmaxf(shape->widest_left, shape->widest_right) + 1 + 0.5f / shape->soft;
    float top = fminf((float)tube->ay - shape->cap_a, (float)tube->by - shape->cap_b);
    float bottom = fmaxf((float)tube->ay + shape->cap_a, (float)tube->by + shape->cap_b);
    *first = (int)fmaxf((float)canvas->clip_top, floorf(top - reach));
    *last = (int)fminf((float)(canvas->clip_bottom - 1), ceilf(bottom + reach));
}

static void open_mask(struct omo_mask *mask, const struct omo_tube *tube,
                      const struct shape *shape)
{
    double middle = 0.5 * (tube->from_t + tube->to_t);
    int at = (int)omo_sim_clamp(middle * STEPS, 0, STEPS);
    double wide = (double)(shape->step[at].left + shape->step[at].right);
    double tall = (double)(shape->cut_to - shape->cut_from);
    omo_mask_open(mask, omo_sim_mix(tube->ax, tube->bx, middle),
                  omo_sim_mix(tube->ay, tube->by, middle), 0.5 * wide + tall + 2);
    mask->area = wide * tall;
}

void omo_draw_tube(struct omo_canvas *canvas, const struct omo_tube *tube,
                   const struct omo_paint *paint, struct omo_mask *mask)
{
    struct shape shape;
    int first, last, from, to;
    prepare(tube, paint, &shape);
    rows_of(canvas, tube, &shape, &first, &last);
    if (mask)
        open_mask(mask, tube, &shape);
    for (int y = first; y <= last; y++) {
        float dy = (float)y - shape.ay;
        if (!row_extent(canvas, &shape, y, &from, &to))
            continue;
        for (int x = from; x <= to; x++) {
            float dx = (float)x - shape.ax;
            canvas->row[x] =
                tube_pixel(canvas, &shape, paint, dx * shape.ex + dy * shape.ey,
                           dy * shape.ex - dx * shape.ey);
        }
        omo_canvas_blend(canvas, y, from, to);
        if (mask)
            omo_mask_keep(canvas, mask, y, from, to);
    }
    if (mask)
        mask->live = true;
}

void omo_draw_shadow(struct omo_canvas *canvas, const struct omo_tube *tube)
{
    static const struct omo_paint none;
    struct shape shape;
    int first, last, from, to;
    prepare(tube, &none, &shape);
    rows_of(canvas, tube, &shape, &first, &last);
    for (int y = first; y <= last; y++) {
        omo_float4 *pixel = canvas->pixel + (size_t)y * (size_t)canvas->width;
        float dy = (float)y - shape.ay, q, k, z;
        if (!row_extent(canvas, &shape, y, &from, &to))
            continue;
        for (int x = from; x <= to; x++) {
            float dx = (float)x - shape.ax, body = pixel[x][3];
            if (body <= 0) /* a body only: the room is too far behind */
                continue;
            pixel[x] *= 1 - body * tube_cover(&shape, dx * shape.ex + dy * shape.ey,
                                              dy * shape.ex - dx * shape.ey, &q, &k, &z);
            pixel[x][3] = body;
        }
    }
}
