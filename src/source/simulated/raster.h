/** Drawing in linear light with soft edges: tubes, discs, polygons, in painter's order.
 */
#ifndef OMOGON_SIMULATED_RASTER_H
#define OMOGON_SIMULATED_RASTER_H

#include <stdbool.h>

#include "maths.h"
#include "pose.h"

#define OMO_TEXTURE_SIZE 128

/** How a surface answers to light. */
struct omo_paint {
    omo_float4 colour; /**< linear */
    float fold_ratio;  /**< depth of folds */
    float grain_ratio; /**< weave or skin */
    float fold_per_m, fold_across;
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
    float *cover; /* OMO_MASK_SIDE^2 */
    double area;  /* px, whether in the picture or not */
};
#define OMO_MASK_SIDE  192
#define OMO_MASK_COUNT 12

struct omo_canvas {
    int width, height;
    omo_float4 *pixel;
    int *low, *high;     /* touched span of each row, low > high: untouched */
    omo_float4 *row;     /* one row of colours on its way, fourth element coverage */
    float *fold, *grain; /* textures, mean 0 */
    struct omo_light light;
    struct omo_mask mask[OMO_MASK_COUNT];
    bool masking;
    /* a window for mirrors and screens */
    int clip_left, clip_top, clip_right, clip_bottom; /* exclusive right, bottom */
    omo_float4 tint, lift;
};

enum omo_status omo_canvas_create(struct omo_canvas *canvas, int width, int height);
void omo_canvas_free(struct omo_canvas *canvas);
void omo_canvas_clip_all(struct omo_canvas *canvas);

/** Outline of a limb at a share of its axis: extent to both sides, px. */
struct omo_node {
    double t, left, right;
};
#define OMO_TUBE_STEPS 48

/** A limb, trunk or head between two points of the picture. */
struct omo_tube {
    double ax, ay, bx, by; /**< ends of the axis, px */
    double cap_a, cap_b;   /**< how far the rounded ends reach beyond, px */
    double px_per_m;
    double from_t, to_t; /**< part that is drawn; outside [0, 1] with the caps */
    double bow_px;       /**< cut ends bend by this much (a band round the limb) */
    double texture_shift;
    const struct omo_node *node;
    int nodes;
};
void omo_draw_tube(struct omo_canvas *canvas, const struct omo_tube *tube,
                   const struct omo_paint *paint, struct omo_mask *mask);

/** A flat disc in space. */
struct omo_disc {
    struct omo_vec centre, normal, edge; /**< camera space, metres */
    double radius_m;
    double shading_ratio, gloss_ratio;
    omo_float4 colour;
};
void omo_draw_disc(struct omo_canvas *canvas, const struct omo_camera *camera,
                   const struct omo_disc *disc, struct omo_mask *mask);

/** An ellipse in the picture, shaded as a ball when `round`. */
void omo_draw_ellipse(struct omo_canvas *canvas, double x, double y, double radius_x,
                      double radius_y, double turn_deg, const struct omo_paint *paint,
                      bool round);

/** A convex polygon (corners clockwise on the picture) with a linear shade from its
 *  first corner's edge (1) to `shade` at the bottom. */
void omo_draw_polygon(struct omo_canvas *canvas, const double (*corner)[2], int corners,
                      const struct omo_paint *paint, double shade);

#endif
