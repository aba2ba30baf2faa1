#include "raster.h"

#include <math.h>

#define SAMPLES 8 /* a side, for pixels on a disc's edge */

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
    float light = omo_lit(&canvas->light, (float)n.x, (float)n.y, (float)-n.z);
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
        omo_mask_open(mask, x_px, y_px, reach);
        mask->area = 3.14159265358979 * radius_px * minor_px;
    }
    for (int y = y0; y <= y1 && x0 <= x1; y++) {
        for (int x = x0; x <= x1; x++)
            canvas->row[x] = disc_pixel(canvas, disc, &plane, x, y, minor_px);
        omo_canvas_blend(canvas, y, x0, x1);
        if (mask)
            omo_mask_keep(canvas, mask, y, x0, x1);
    }
    if (mask)
        mask->live = true;
}

/* ---- flat shapes ---- */

void omo_draw_ellipse(struct omo_canvas *canvas, const struct omo_ellipse *e,
                      const struct omo_paint *paint)
{
    const float c = (float)omo_sim_cos_deg(e->turn_deg),
                s = (float)omo_sim_sin_deg(e->turn_deg);
    const float rx = (float)fmax(e->radius_x, 0.1), ry = (float)fmax(e->radius_y, 0.1);
    double reach = fmax(e->radius_x, e->radius_y) + 2;
    int y0 = (int)fmax(canvas->clip_top, floor(e->y - reach));
    int y1 = (int)fmin(canvas->clip_bottom - 1, ceil(e->y + reach));
    int x0 = (int)fmax(canvas->clip_left, floor(e->x - reach));
    int x1 = (int)fmin(canvas->clip_right - 1, ceil(e->x + reach));
    for (int row = y0; row <= y1 && x0 <= x1; row++) {
        for (int column = x0; column <= x1; column++) {
            float dx = (float)(column - e->x), dy = (float)(row - e->y);
            float a = (dx * c + dy * s) / rx, b = (dy * c - dx * s) / ry;
            float k = sqrtf(a * a + b * b), ga = a / rx, gb = b / ry;
            float in = k > 0 ? (1 - k) * k / sqrtf(ga * ga + gb * gb) : rx;
            float cover = omo_clamp01(in + 0.5f);
            omo_float4 colour = paint->colour;
            if (e->ball && cover > 0) {
                float z = k < 1 ? sqrtf(1 - k * k) : 0;
                float fold = paint->fold_ratio *
                             omo_texel(canvas->fold, a * paint->fold_across, b * 20);
                float grain =
                    paint->grain_ratio * omo_texel(canvas->grain, dx * 0.7f, dy * 0.7f);
                colour *= omo_lit(&canvas->light, a * c - b * s, a * s + b * c, z) *
                          (1 + fold + grain);
                colour += paint->shine * z * z * z * z * z * z * z * z;
            }
            colour[3] = cover;
            canvas->row[column] = colour;
        }
        omo_canvas_blend(canvas, row, x0, x1);
    }
}

/** Distance inside an edge: a x + b y + c. */
struct edge {
    float a, b, c;
};
#define CORNERS_MAX 8

/** Edges that look inward, whichever way the corners run: a mirror turns them over. */
static void edges_of(const double (*corner)[2], int corners, struct edge *edge)
{
    double area = 0;
    for (int i = 0; i < corners; i++) {
        const double *p = corner[i], *q = corner[(i + 1) % corners];
        double ex = q[0] - p[0], ey = q[1] - p[1];
        double length = fmax(sqrt(ex * ex + ey * ey), 1e-6);
        area += p[0] * q[1] - q[0] * p[1];
        edge[i] = (struct edge){(float)(-ey / length), (float)(ex / length),
                                (float)((p[0] * ey - p[1] * ex) / length)};
    }
    for (int i = 0; i < corners && area < 0; i++)
        edge[i] = (struct edge){-edge[i].a, -edge[i].b, -edge[i].c};
}

static inline float inside_edges(const struct edge *edge, int corners, float x, float y)
{
    float in = 1e9f;
    for (int i = 0; i < corners; i++) {
        float d = edge[i].a * x + edge[i].b * y + edge[i].c;
        in = d < in ? d : in;
    }
    return in;
}

static inline float surface(const struct omo_canvas *canvas,
                            const struct omo_paint *paint, float x, float y)
{
    float light = 1;
    if (paint->grain_ratio > 0)
        light += paint->grain_ratio * omo_texel(canvas->grain, x * 0.6f, y * 0.6f);
    if (paint->fold_ratio > 0)
        light += paint->fold_ratio *
                 omo_texel(canvas->fold, x * paint->fold_across, y * paint->fold_per_m);
    return light;
}

void omo_draw_polygon(struct omo_canvas *canvas, const double (*corner)[2], int corners,
                      const struct omo_paint *paint, double shade)
{
    struct edge edge[CORNERS_MAX];
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
    edges_of(corner, corners, edge);
    for (int y = y0; y <= y1 && x0 <= x1; y++) {
        float fall = (float)omo_sim_mix(1, shade, (y - top) / fmax(bottom - top, 1));
        for (int x = x0; x <= x1; x++) {
            float cover =
                omo_clamp01(inside_edges(edge, corners, (float)x, (float)y) + 0.5f);
            if (cover > 0)
                canvas->row[x] =
                    paint->colour * (fall * surface(canvas, paint, (float)x, (float)y));
            canvas->row[x][3] = cover;
        }
        omo_canvas_blend(canvas, y, x0, x1);
    }
}
