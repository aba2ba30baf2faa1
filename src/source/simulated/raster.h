/** Drawing in linear light with soft edges: tubes, discs, polygons, in painter's order.
 */
#ifndef OMOGON_SIMULATED_RASTER_H
#define OMOGON_SIMULATED_RASTER_H

#include <stdbool.h>
#include <stddef.h>

#include "maths.h"
#include "pose.h"

#define OMO_TEXTURE_SIZE 128

/** How a surface answers to light. */
struct omo_paint {
    omo_float4 colour; /**< linear */
    float fold_ratio;  /**< depth of folds */
    float grain_ratio; /**< weave or skin */
    float fold_per_m;  /**< texels along a limb; in polygons per px */
    float fold_across; /**< texels across a limb's half; in polygons per px */
    float shine;
};

/** Light in the picture's directions (x right, y down, z towards the camera). */
struct omo_light {
    float ambient, key, x, y, z;
};

/** Coverage of one marker, reduced by whatever is drawn over it later. */
struct omo_mask {
    bool live;
    int left, top, width, height;
    float *cover; /**< OMO_MASK_SIDE rows of OMO_MASK_SIDE */
    double area;  /**< px, whether in the picture or not */
};
#define OMO_MASK_SIDE  160
#define OMO_MASK_COUNT (2 * OMO_ROLE_COUNT) /* the measured arm's and trunk's first */

/** Middle of what is left uncovered, in the picture; NAN where nothing is. */
void omo_mask_middle(const struct omo_mask *mask, double *x_px, double *y_px);

/** A picture being painted. The fourth element of a pixel is how far bodies cover it: 0
 *  where the room shows, so that a layer on its own is premultiplied. */
struct omo_canvas {
    int width, height;
    omo_float4 *pixel;
    int *low, *high;     /**< touched span of each row; low > high: untouched */
    omo_float4 *row;     /**< one row of colours on its way, fourth element coverage */
    float *fold, *grain; /**< textures, mean 0 */
    struct omo_light light;
    struct omo_mask mask[OMO_MASK_COUNT];
    /* a window for mirrors and screens: exclusive right and bottom */
    int clip_left, clip_top, clip_right, clip_bottom;
    omo_float4 tint, lift;
};

enum omo_status omo_canvas_create(struct omo_canvas *canvas, int width, int height);
void omo_canvas_free(struct omo_canvas *canvas);
/** Everything may be painted on, in true colours. */
void omo_canvas_clip_all(struct omo_canvas *canvas);
/** Forgets which rows were touched. */
void omo_canvas_clear_spans(struct omo_canvas *canvas);
void omo_canvas_drop_masks(struct omo_canvas *canvas);

/* ---- for the shapes ---- */

/** Blends canvas->row[from..to], whose fourth element is coverage, and covers masks. */
void omo_canvas_blend(struct omo_canvas *canvas, int y, int from, int to);
/** Reduces masks by the coverage in canvas->row[from..to]. */
void omo_canvas_cover_masks(struct omo_canvas *canvas, int y, int from, int to);
/** Starts a mask around a point. */
void omo_mask_open(struct omo_mask *mask, double x, double y, double reach);
/** Takes the row that was just blended into the mask. */
void omo_mask_keep(const struct omo_canvas *canvas, struct omo_mask *mask, int y,
                   int from, int to);
double omo_mask_sum(const struct omo_mask *mask);

static inline int omo_floor_int(float x)
{
    int i = (int)x;
    return i - (x < (float)i);
}

static inline float omo_clamp01(float x)
{
    return x < 0 ? 0 : x > 1 ? 1 : x;
}

/** Bilinear look-up in a repeating texture; u, v in texels. */
static inline float omo_texel(const float *texture, float u, float v)
{
    int iu = omo_floor_int(u), iv = omo_floor_int(v);
    float fu = u - (float)iu, fv = v - (float)iv;
    const int wrap = OMO_TEXTURE_SIZE - 1;
    const float *a = texture + (iv & wrap) * OMO_TEXTURE_SIZE;
    const float *b = texture + ((iv + 1) & wrap) * OMO_TEXTURE_SIZE;
    float top = a[iu & wrap] + (a[(iu + 1) & wrap] - a[iu & wrap]) * fu;
    float low = b[iu & wrap] + (b[(iu + 1) & wrap] - b[iu & wrap]) * fu;
    return top + (low - top) * fv;
}

/** The nearest texel, where the texture is fine anyway. */
static inline float omo_texel_near(const float *texture, float u, float v)
{
    const int wrap = OMO_TEXTURE_SIZE - 1;
    return texture[(omo_floor_int(v) & wrap) * OMO_TEXTURE_SIZE +
                   (omo_floor_int(u) & wrap)];
}

/** Light on a surface whose normal points (x, y, z) in the picture's directions. */
static inline float omo_lit(const struct omo_light *light, float x, float y, float z)
{
    float half = 0.5f + 0.5f * (x * light->x + y * light->y + z * light->z);
    return light->ambient * (0.6f + 0.4f * z) + light->key * half * half;
}

/* ---- shapes ---- */

/** Outline of a limb at a share of its axis: extent to both sides, px. Seen along the
 *  axis with its far end up, `right` is at the right. */
struct omo_node {
    double t, left, right;
};

/** A limb, trunk or head between two points of the picture. */
struct omo_tube {
    double ax, ay, bx, by; /**< ends of the axis, px */
    double cap_a, cap_b;   /**< how far the rounded ends reach beyond, px */
    double px_per_m;
    double from_t, to_t; /**< the part that is drawn; outside [0, 1] with the caps */
    double bow_px;       /**< cuts bend towards the start by this much in the middle */
    double texture_shift;
    bool joint;     /**< ends are joints: not shaded as if the limb were over */
    double soft_px; /**< width of the edge beyond the pixel's own; for shadows */
    double opacity;
    const struct omo_node *node;
    int nodes;
};
void omo_draw_tube(struct omo_canvas *canvas, const struct omo_tube *tube,
                   const struct omo_paint *paint, struct omo_mask *mask);

/** Darkens what has been painted of bodies so far; spans and masks stay as they are. */
void omo_draw_shadow(struct omo_canvas *canvas, const struct omo_tube *tube);

/** A flat disc in space. */
struct omo_disc {
    struct omo_vec centre, normal, edge; /**< camera space, metres */
    double radius_m;
    double shading_ratio, gloss_ratio;
    omo_float4 colour;
};
void omo_draw_disc(struct omo_canvas *canvas, const struct omo_camera *camera,
                   const struct omo_disc *disc, struct omo_mask *mask);

/** An ellipse in the picture, shaded as a ball when `ball`. */
struct omo_ellipse {
    double x, y, radius_x, radius_y, turn_deg;
    bool ball;
};
void omo_draw_ellipse(struct omo_canvas *canvas, const struct omo_ellipse *ellipse,
                      const struct omo_paint *paint);

/** A convex polygon, corners clockwise on the picture; light changes from 1 at its top
 *  to `shade` at its bottom. */
void omo_draw_polygon(struct omo_canvas *canvas, const double (*corner)[2], int corners,
                      const struct omo_paint *paint, double shade);

#endif
