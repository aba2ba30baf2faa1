#include "raster.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAMPLES 8 /* a side, for pixels on a disc's edge */

/** Value noise that repeats, mean 0, about -1 to 1: `cells` across, `cells_y` down. */
static void add_noise(float *texture, int cells, int cells_y, double depth,
                      struct omo_random *random)
{
    static const int n = OMO_TEXTURE_SIZE;
    double *grid = malloc((size_t)(cells * cells_y) * sizeof *grid);
    if (!grid)
        return;
    for (int i = 0; i < cells * cells_y; i++)
        grid[i] = 2 * omo_random_unit(random) - 1;
    for (int y = 0; y < n; y++) {
        double v = (double)y * cells_y / n;
        int y0 = (int)v;
        double fy = v - y0, sy = fy * fy * (3 - 2 * fy);
        for (int x = 0; x < n; x++) {
            double u = (double)x * cells / n;
            int x0 = (int)u;
            double fx = u - x0, sx = fx * fx * (3 - 2 * fx);
            const double *a = grid + y0 * cells, *b = grid + (y0 + 1) % cells_y * cells;
            double top = omo_sim_mix(a[x0], a[(x0 + 1) % cells], sx);
            double low = omo_sim_mix(b[x0], b[(x0 + 1) % cells], sx);
            texture[y * n + x] += (float)(depth * omo_sim_mix(top, low, sy));
        }
    }
    free(grid);
}

static void make_textures(struct omo_canvas *canvas)
{
    struct omo_random random = {4711};
    /* folds: long across the limb (x), short along it (y) */
    add_noise(canvas->fold, 2, 5, 0.6, &random);
    add_noise(canvas->fold, 4, 12, 0.35, &random);
    add_noise(canvas->fold, 8, 16, 0.15, &random);
    add_noise(canvas->grain, 64, 64, 0.6, &random);
    add_noise(canvas->grain, 32, 32, 0.4, &random);
}

enum omo_status omo_canvas_create(struct omo_canvas *canvas, int width, int height)
{
    size_t pixels = (size_t)width * (size_t)height;
    size_t texels = (size_t)OMO_TEXTURE_SIZE * OMO_TEXTURE_SIZE;
    bool good = true;
    *canvas = (struct omo_canvas){.width = width, .height = height};
    canvas->pixel = aligned_alloc(16, pixels * sizeof(omo_float4));
    canvas->row = aligned_alloc(16, (size_t)width * sizeof(omo_float4));
    canvas->low = malloc((size_t)height * sizeof(int));
    canvas->high = malloc((size_t)height * sizeof(int));
    canvas->fold = calloc(texels, sizeof(float));
    canvas->grain = calloc(texels, sizeof(float));
    for (int i = 0; i < OMO_MASK_COUNT; i++) {
        canvas->mask[i].cover =
            malloc((size_t)OMO_MASK_SIDE * OMO_MASK_SIDE * sizeof(float));
        good = good && canvas->mask[i].cover;
    }
    if (!good || !canvas->pixel || !canvas->row || !canvas->low || !canvas->high ||
        !canvas->fold || !canvas->grain) {
        omo_canvas_free(canvas);
        return OMO_ERR_MEMORY;
    }
    for (int y = 0; y < height; y++) {
        canvas->low[y] = width;
        canvas->high[y] = -1;
    }
    make_textures(canvas);
    omo_canvas_clip_all(canvas);
    return OMO_OK;
}

void omo_canvas_free(struct omo_canvas *canvas)
{
    free(canvas->pixel);
    free(canvas->row);
    free(canvas->low);
    free(canvas->high);
    free(canvas->fold);
    free(canvas->grain);
    for (int i = 0; i < OMO_MASK_COUNT; i++)
        free(canvas->mask[i].cover);
    *canvas = (struct omo_canvas){0};
}

void omo_canvas_clip_all(struct omo_canvas *canvas)
{
    canvas->clip_left = canvas->clip_top = 0;
    canvas->clip_right = canvas->width;
    canvas->clip_bottom = canvas->height;
    canvas->tint = (omo_float4){1, 1, 1, 1};
    canvas->lift = (omo_float4){0, 0, 0, 0};
}

/* ---- rows ---- */

static void hide_masks(struct omo_canvas *canvas, int y, int from, int to)
{
    for (int i = 0; i < OMO_MASK_COUNT; i++) {
        struct omo_mask *mask = &canvas->mask[i];
        int row = y - mask->top;
        if (!mask->live || row < 0 || row >= mask->height)
            continue;
        int left = from > mask->left ? from : mask->left;
        int right = to < mask->left + mask->width - 1 ? to : mask->left + mask->width - 1;
        float *cover = mask->cover + row * OMO_MASK_SIDE - mask->left;
        for (int x = left; x <= right; x++)
            cover[x] *= 1 - canvas->row[x][3];
    }
}

/** Blends canvas->row[from..to], whose fourth element is coverage. */
static void blend_row(struct omo_canvas *canvas, int y, int from, int to)
{
    omo_float4 *pixel = canvas->pixel + (size_t)y * (size_t)canvas->width;
    const omo_float4 tint = canvas->tint, lift = canvas->lift;
    for (int x = from; x <= to; x++) {
        omo_float4 colour = canvas->row[x];
        float a = colour[3];
        if (a <= 0)
            continue;
        colour = colour * tint + lift;
        pixel[x] += (colour - pixel[x]) * a;
    }
    if (from < canvas->low[y])
        canvas->low[y] = from;
    if (to > canvas->high[y])
        canvas->high[y] = to;
    if (canvas->masking)
        hide_masks(canvas, y, from, to);
}

/** Bilinear look-up in a repeating texture; u, v in texels. */
static inline float texel(const float *texture, float u, float v)
{
    int iu = (int)floorf(u), iv = (int)floorf(v);
    float fu = u - (float)iu, fv = v - (float)iv;
    const int wrap = OMO_TEXTURE_SIZE - 1;
    const float *a = texture + (iv & wrap) * OMO_TEXTURE_SIZE;
    const float *b = texture + ((iv + 1) & wrap) * OMO_TEXTURE_SIZE;
    float top = a[iu & wrap] + (a[(iu + 1) & wrap] - a[iu & wrap]) * fu;
    float low = b[iu & wrap] + (b[(iu + 1) & wrap] - b[iu & wrap]) * fu;
    return top + (low - top) * fv;
}

/** Light on a surface whose normal points (x, y, z) in the picture's directions. */
static inline float lit(const struct omo_light *light, float x, float y, float z)
{
    float half = 0.5f + 0.5f * (x * light->x + y * light->y + z * light->z);
    return light->ambient * (0.6f + 0.4f * z) + light->key * half * half;
}

/* ---- tubes ---- */

/** A tube prepared for its pixels. */
struct shape {
    float ax, ay, ex, ey; /* start and unit axis; across is (-ey, ex) */
    float length, cap_a, cap_b, cut_from, cut_to, bow;
    bool cut_a, cut_b;
    float left[OMO_TUBE_STEPS + 2], right[OMO_TUBE_STEPS + 2];
    float widest_left, widest_right;
    float along_texture, across_texture, shift;
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
    shape->cap_a = (float)fmax(tube->cap_a, 0.01);
    shape->cap_b = (float)fmax(tube->cap_b, 0.01);
    shape->cut_a = tube->from_t > 0;
    shape->cut_b = tube->to_t < 1;
    shape->cut_from = (float)(tube->from_t * length);
    shape->cut_to = (float)(tube->to_t * length);
    shape->bow = (float)tube->bow_px;
    shape->widest_left = shape->widest_right = 0;
    for (int i = 0; i <= OMO_TUBE_STEPS; i++) {
        outline_at(tube, (double)i / OMO_TUBE_STEPS, &shape->left[i], &shape->right[i]);
        shape->widest_left = fmaxf(shape->widest_left, shape->left[i]);
        shape->widest_right = fmaxf(shape->widest_right, shape->right[i]);
    }
    shape->left[OMO_TUBE_STEPS + 1] = shape->left[OMO_TUBE_STEPS];
    shape->right[OMO_TUBE_STEPS + 1] = shape->right[OMO_TUBE_STEPS];
    shape->along_texture = paint->fold_per_m / (float)tube->px_per_m;
    shape->across_texture = paint->fold_across;
    shape->shift = (float)tube->texture_shift;
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

/** Distance inside the outline (px, negative outside), the place across (-1..1) and the
 *  slope along, for a point s along and u across. */
static inline float inside(const struct shape *shape, float s, float u, float *across,
                           float *along)
{
    float t = s / shape->length;
    if (t >= 0 && t <= 1) {
        float at = t * OMO_TUBE_STEPS;
        int i = (int)at;
        float f = at - (float)i;
        float left = shape->left[i] + (shape->left[i + 1] - shape->left[i]) * f;
        float right = shape->right[i] + (shape->right[i + 1] - shape->right[i]) * f;
        float middle = 0.5f * (right - left), half = 0.5f * (right + left);
        float q = half > 0 ? (u - middle) / half : 2;
        float edge = q > 0 ? right - u : u + left;
        float slope = (q > 0 ? shape->right[i + 1] - shape->right[i]
                             : shape->left[i + 1] - shape->left[i]) *
                      OMO_TUBE_STEPS / shape->length;
        *across = q;
        *along = 0;
        return edge / sqrtf(1 + slope * slope);
    }
    int end = t < 0 ? 0 : OMO_TUBE_STEPS;
    float cap = t < 0 ? shape->cap_a : shape->cap_b;
    float beyond = (t < 0 ? s : s - shape->length) / cap;
    float left = shape->left[end], right = shape->right[end];
    float half = 0.5f * (right + left), q = (u - 0.5f * (right - left)) / half;
    float k = sqrtf(beyond * beyond + q * q);
    float gx = beyond / cap, gq = q / half;
    *across = q;
    *along = beyond;
    return k > 0 ? (1 - k) * k / sqrtf(gx * gx + gq * gq) : half;
}

static inline float clamp01(float x)
{
    return x < 0 ? 0 : x > 1 ? 1 : x;
}

static omo_float4 tube_pixel(const struct omo_canvas *canvas, const struct shape *shape,
                             const struct omo_paint *paint, float s, float u)
{
    float q, k;
    float cover = clamp01(inside(shape, s, u, &q, &k) + 0.5f);
    if (cover <= 0)
        return (omo_float4){0, 0, 0, 0};
    float round = 1 - q * q - k * k;
    float z = round > 0 ? sqrtf(round) : 0;
    if (shape->cut_a)
        cover *= clamp01(s - shape->cut_from + shape->bow * z + 0.5f);
    if (shape->cut_b)
        cover *= clamp01(shape->cut_to - shape->bow * z - s + 0.5f);
    float x = -shape->ey * q + shape->ex * k, y = shape->ex * q + shape->ey * k;
    float v = s * shape->along_texture + shape->shift;
    float w = q * shape->across_texture + shape->shift;
    float fold = paint->fold_ratio * texel(canvas->fold, w, v);
    float grain = paint->grain_ratio * texel(canvas->grain, w * 2.3f, v * 2.3f);
    float light = lit(&canvas->light, x, y, z) * (1 + fold + grain);
    omo_float4 colour = paint->colour * light;
    if (paint->shine > 0) {
        float gleam = x * canvas->light.x + y * canvas->light.y + z * canvas->light.z;
        gleam = gleam > 0 ? gleam * gleam : 0;
        colour += paint->shine * gleam * gleam * gleam;
    }
    colour[3] = cover;
    return colour;
}

static void keep_mask_row(struct omo_canvas *canvas, struct omo_mask *mask, int y,
                          int from, int to)
{
    int row = y - mask->top;
    if (row < 0 || row >= mask->height)
        return;
    for (int x = from; x <= to; x++) {
        int column = x - mask->left;
        if (column >= 0 && column < mask->width)
            mask->cover[row * OMO_MASK_SIDE + column] = canvas->row[x][3];
    }
}

static void open_mask(struct omo_mask *mask, double x, double y, double reach)
{
    int side = (int)(2 * reach) + 4;
    if (side > OMO_MASK_SIDE)
        side = OMO_MASK_SIDE;
    mask->width = mask->height = side;
    mask->left = (int)floor(x) - side / 2;
    mask->top = (int)floor(y) - side / 2;
    memset(mask->cover, 0, (size_t)OMO_MASK_SIDE * OMO_MASK_SIDE * sizeof(float));
}

/** Rows y and columns in which a tube can show, in the clip window. */
static bool row_extent(const struct omo_canvas *canvas, const struct shape *shape, int y,
                       int *from, int *to)
{
    float low = (float)canvas->clip_left, high = (float)(canvas->clip_right - 1);
    float dy = (float)y - shape->ay, dx = -shape->ax;
    float near = shape->cut_a ? shape->cut_from - fabsf(shape->bow) : -shape->cap_a;
    float far =
        shape->cut_b ? shape->cut_to + fabsf(shape->bow) : shape->length + shape->cap_b;
    narrow(dx * shape->ex + dy * shape->ey, shape->ex, near - 1, far + 1, &low, &high);
    narrow(-dx * shape->ey + dy * shape->ex, -shape->ey, -shape->widest_left - 1,
           shape->widest_right + 1, &low, &high);
    *from = (int)ceilf(low);
    *to = (int)floorf(high);
    return *from <= *to;
}

void omo_draw_tube(struct omo_canvas *canvas, const struct omo_tube *tube,
                   const struct omo_paint *paint, struct omo_mask *mask)
{
    struct shape shape;
    prepare(tube, paint, &shape);
    float reach = fmaxf(shape.widest_left, shape.widest_right) + 2;
    float top = fminf((float)tube->ay - shape.cap_a, (float)tube->by - shape.cap_b);
    float bottom = fmaxf((float)tube->ay + shape.cap_a, (float)tube->by + shape.cap_b);
    int y0 = (int)fmaxf((float)canvas->clip_top, floorf(top - reach));
    int y1 = (int)fminf((float)(canvas->clip_bottom - 1), ceilf(bottom + reach));
    if (mask) {
        double middle = 0.5 * (tube->from_t + tube->to_t);
        open_mask(mask, omo_sim_mix(tube->ax, tube->bx, middle),
                  omo_sim_mix(tube->ay, tube->by, middle),
                  (double)reach + (double)(shape.cut_to - shape.cut_from));
    }
    for (int y = y0; y <= y1; y++) {
        int from, to;
        if (!row_extent(canvas, &shape, y, &from, &to))
            continue;
        float dy = (float)y - shape.ay;
        for (int x = from; x <= to; x++) {
            float dx = (float)x - shape.ax;
            canvas->row[x] =
                tube_pixel(canvas, &shape, paint, dx * shape.ex + dy * shape.ey,
                           dy * shape.ex - dx * shape.ey);
        }
        blend_row(canvas, y, from, to);
        if (mask)
            keep_mask_row(canvas, mask, y, from, to);
    }
    if (mask) {
        mask->area = 0;
        for (int i = 0; i < mask->height; i++)
            for (int j = 0; j < mask->width; j++)
                mask->area += (double)mask->cover[i * OMO_MASK_SIDE + j];
        mask->live = true;
    }
}

/* ---- discs ---- */

struct plane {
    const struct omo_camera *camera;
    struct omo_vec centre, u, v; /* u, v: radius long, in the disc's plane */
};

/** Where the ray through a picture point meets the disc's plane, in radii. */
static void on_plane(const struct plane *p, double x_px, double y_px, double *a,
                     double *b)
{
    const struct omo_camera *c = p->camera;
    double x = (x_px - c->centre_x - c->shift_x) / c->focal_px;
    double y = (y_px - c->centre_y - c->shift_y) / c->focal_px;
    double m00 = p->u.x - x * p->u.z, m01 = p->v.x - x * p->v.z;
    double m10 = p->u.y - y * p->u.z, m11 = p->v.y - y * p->v.z;
    double r0 = x * p->centre.z - p->centre.x, r1 = y * p->centre.z - p->centre.y;
    double det = m00 * m11 - m01 * m10;
    *a = (r0 * m11 - r1 * m01) / det;
    *b = (m00 * r1 - m10 * r0) / det;
}

static float disc_cover(const struct plane *p, int x, int y, double radius_px)
{
    double a, b;
    on_plane(p, x, y, &a, &b);
    double k = sqrt(a * a + b * b), margin = 0.9 / radius_px;
    if (k < 1 - margin)
        return 1;
    if (k > 1 + margin)
        return 0;
    int hits = 0;
    for (int i = 0; i < SAMPLES; i++)
        for (int j = 0; j < SAMPLES; j++) {
            on_plane(p, x + (j + 0.5) / SAMPLES - 0.5, y + (i + 0.5) / SAMPLES - 0.5, &a,
                     &b);
            hits += a * a + b * b < 1;
        }
    return (float)hits / (SAMPLES * SAMPLES);
}

static omo_float4 disc_pixel(const struct omo_canvas *canvas, const struct omo_disc *disc,
                             const struct plane *p, int x, int y, double minor_px)
{
    double a, b;
    float cover = disc_cover(p, x, y, minor_px);
    if (cover <= 0)
        return (omo_float4){0, 0, 0, 0};
    on_plane(p, x, y, &a, &b);
    struct omo_vec n = disc->normal;
    float light = lit(&canvas->light, (float)n.x, (float)n.y, (float)-n.z);
    double slope = 0.5 * disc->shading_ratio * (a * 0.8 + b * 0.6);
    omo_float4 colour = disc->colour * (light * (float)(1 + slope));
    if (disc->gloss_ratio > 0) {
        double da = a + 0.3, db = b + 0.35;
        double spot = omo_sim_exp(-(da * da + db * db) / (2 * 0.22 * 0.22));
        colour += (float)(disc->gloss_ratio * spot) *
                  ((omo_float4){1.2f, 1.2f, 1.15f, 0} - colour * 0.5f);
    }
    colour[3] = cover;
    return colour;
}

void omo_draw_disc(struct omo_canvas *canvas, const struct omo_camera *camera,
                   const struct omo_disc *disc, struct omo_mask *mask)
{
    struct omo_vec c = disc->centre;
    /* Facing away, or behind the camera: nothing to see. */
    if (omo_vec_dot(disc->normal, c) >= 0 || c.z < 0.1)
        return;
    struct omo_vec v = omo_vec_cross(disc->normal, disc->edge);
    struct plane plane = {camera, c, omo_vec_scale(disc->edge, disc->radius_m),
                          omo_vec_scale(v, disc->radius_m)};
    double radius_px = disc->radius_m * camera->focal_px / c.z;
    double facing = -omo_vec_dot(disc->normal, c) / omo_vec_length(c);
    double minor_px = radius_px * fmax(facing, 0.02);
    double x_px = camera->centre_x + camera->shift_x + c.x / c.z * camera->focal_px;
    double y_px = camera->centre_y + camera->shift_y + c.y / c.z * camera->focal_px;
    double reach = radius_px * 1.05 + 2;
    int y0 = (int)fmax(canvas->clip_top, floor(y_px - reach));
    int y1 = (int)fmin(canvas->clip_bottom - 1, ceil(y_px + reach));
    int x0 = (int)fmax(canvas->clip_left, floor(x_px - reach));
    int x1 = (int)fmin(canvas->clip_right - 1, ceil(x_px + reach));
    if (mask) {
        open_mask(mask, x_px, y_px, reach);
        mask->area = 3.14159265358979 * radius_px * minor_px;
    }
    for (int y = y0; y <= y1 && x0 <= x1; y++) {
        for (int x = x0; x <= x1; x++)
            canvas->row[x] = disc_pixel(canvas, disc, &plane, x, y, minor_px);
        blend_row(canvas, y, x0, x1);
        if (mask)
            keep_mask_row(canvas, mask, y, x0, x1);
    }
    if (mask)
        mask->live = true;
}

/* ---- flat shapes ---- */

void omo_draw_ellipse(struct omo_canvas *canvas, double x, double y, double radius_x,
                      double radius_y, double turn_deg, const struct omo_paint *paint,
                      bool round)
{
    float c = (float)omo_sim_cos_deg(turn_deg), s = (float)omo_sim_sin_deg(turn_deg);
    float rx = (float)fmax(radius_x, 0.1), ry = (float)fmax(radius_y, 0.1);
    double reach = fmax(radius_x, radius_y) + 2;
    int y0 = (int)fmax(canvas->clip_top, floor(y - reach));
    int y1 = (int)fmin(canvas->clip_bottom - 1, ceil(y + reach));
    int x0 = (int)fmax(canvas->clip_left, floor(x - reach));
    int x1 = (int)fmin(canvas->clip_right - 1, ceil(x + reach));
    for (int row = y0; row <= y1 && x0 <= x1; row++) {
        for (int column = x0; column <= x1; column++) {
            float dx = (float)(column - x), dy = (float)(row - y);
            float a = (dx * c + dy * s) / rx, b = (dy * c - dx * s) / ry;
            float k = sqrtf(a * a + b * b), ga = a / rx, gb = b / ry;
            float in = k > 0 ? (1 - k) * k / sqrtf(ga * ga + gb * gb) : rx;
            float cover = clamp01(in + 0.5f);
            omo_float4 colour = paint->colour;
            if (round && cover > 0) {
                float z = k < 1 ? sqrtf(1 - k * k) : 0;
                float grain =
                    paint->grain_ratio * texel(canvas->grain, dx * 0.7f, dy * 0.7f);
                colour *=
                    lit(&canvas->light, a * c - b * s, a * s + b * c, z) * (1 + grain);
            }
            colour[3] = cover;
            canvas->row[column] = colour;
        }
        blend_row(canvas, row, x0, x1);
    }
}

void omo_draw_polygon(struct omo_canvas *canvas, const double (*corner)[2], int corners,
                      const struct omo_paint *paint, double shade)
{
    double top = corner[0][1], bottom = top, left = corner[0][0], right = left;
    for (int i = 1; i < corners; i++) {
        top = fmin(top, corner[i][1]);
        bottom = fmax(bottom, corner[i][1]);
        left = fmin(left, corner[i][0]);
        right = fmax(right, corner[i][0]);
    }
    int y0 = (int)fmax(canvas->clip_top, floor(top - 1));
    int y1 = (int)fmin(canvas->clip_bottom - 1, ceil(bottom + 1));
    int x0 = (int)fmax(canvas->clip_left, floor(left - 1));
    int x1 = (int)fmin(canvas->clip_right - 1, ceil(right + 1));
    for (int y = y0; y <= y1 && x0 <= x1; y++) {
        float fall = (float)omo_sim_mix(1, shade, (y - top) / fmax(bottom - top, 1));
        for (int x = x0; x <= x1; x++) {
            float in = 1e9f;
            for (int i = 0; i < corners; i++) {
                const double *a = corner[i], *b = corner[(i + 1) % corners];
                double ex = b[0] - a[0], ey = b[1] - a[1];
                double edge =
                    ((y - a[1]) * ex - (x - a[0]) * ey) / sqrt(ex * ex + ey * ey);
                in = fminf(in, (float)edge);
            }
            float grain =
                1 +
                paint->grain_ratio *
                    texel(canvas->grain, (float)x * 0.6f, (float)y * 0.6f) +
                paint->fold_ratio * texel(canvas->fold, (float)x * paint->fold_across,
                                          (float)y * paint->fold_per_m);
            canvas->row[x] = paint->colour * (fall * grain);
            canvas->row[x][3] = clamp01(in + 0.5f);
        }
        blend_row(canvas, y, x0, x1);
    }
}
