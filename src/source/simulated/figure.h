/** A person drawn from a pose. */
#ifndef OMOGON_SIMULATED_FIGURE_H
#define OMOGON_SIMULATED_FIGURE_H

#include "pose.h"
#include "raster.h"

/** Surfaces of one person. */
struct omo_look {
    struct omo_paint skin, lips, eye, eye_white, shirt, sleeve, trousers, hair, glove;
    omo_float4 sticker[OMO_ROLE_COUNT];
    int sleeve_length, hair_length;
    bool beard, gloves;
};
void omo_look_of(const struct omo_scene *scene, struct omo_look *look);
/** Someone else: other clothes, other skin. */
void omo_look_of_bystander(const struct omo_scene *scene, struct omo_look *look);
/** Cloth of an sRGB colour, with folds and weave. */
struct omo_paint omo_cloth(const double srgb[3]);

/** A person to be drawn. */
struct omo_figure {
    const struct omo_scene *scene;
    const struct omo_look *look;
    const struct omo_camera *camera;
    const struct omo_pose *pose;
    double time_s;
    unsigned hidden; /**< roles that are not drawn */
    bool masks;      /**< record the markers' coverage in the canvas */
};

/** All but the arms that are drawn by themselves. */
void omo_draw_body(struct omo_canvas *canvas, const struct omo_figure *figure);
/** The shadow that an arm throws on the trunk. */
void omo_draw_arm_shadow(struct omo_canvas *canvas, const struct omo_figure *figure,
                         int which);
/** An arm with its markers: 0 the measured one, 1 the other one. */
void omo_draw_arm(struct omo_canvas *canvas, const struct omo_figure *figure, int which);
/** Whether the other arm moves in front of the body and so is drawn by itself. */
bool omo_other_arm_apart(const struct omo_scene *scene);
/** Long hair over the measured shoulder. */
void omo_draw_long_hair(struct omo_canvas *canvas, const struct omo_figure *figure);
/** Everything in order, without motion blur. */
void omo_draw_person(struct omo_canvas *canvas, const struct omo_figure *figure);
/** Whether the trunk hides the arm rather than the other way round. */
bool omo_arm_is_behind(const struct omo_figure *figure, int which);

/* ---- parts, for the files that draw a person ---- */

/** A limb from a to b with an outline in statures. */
struct omo_limb {
    struct omo_vec a, b;
    const struct omo_node *outline;
    int nodes;
    const struct omo_paint *paint;
    double from, to; /**< 0 and 1, or where cloth ends */
    double wider;    /**< factor on the outline, 0: 1 */
    double texture_shift;
    bool joint;
    double soft_m, opacity; /**< of shadows */
};
void omo_draw_limb(struct omo_canvas *canvas, const struct omo_figure *figure,
                   const struct omo_limb *limb, struct omo_mask *mask);
/** Of trunk or head: half width seen from the front, front and back seen from the side.
 */
struct omo_round_node {
    double t, wide, ahead, behind;
};
#define OMO_ROUND_NODES 12
struct omo_round {
    struct omo_vec a, b;
    const struct omo_round_node *outline;
    int nodes;
    double cap_a, cap_b; /**< statures */
    const struct omo_paint *paint;
    double texture_shift;
};
void omo_draw_round(struct omo_canvas *canvas, const struct omo_figure *figure,
                    const struct omo_round *part);
/** A ball or flat spot around a point of the body; radii in statures. */
void omo_draw_spot(struct omo_canvas *canvas, const struct omo_figure *figure,
                   struct omo_vec at, double wide, double tall,
                   const struct omo_paint *paint, bool ball);
void omo_draw_head(struct omo_canvas *canvas, const struct omo_figure *figure);
/** How much of the width and of the depth of a body shows; `ahead` is the share of its
 *  forward direction across its axis on the picture, to the right when it stands. */
void omo_figure_aspect(const struct omo_figure *figure, double *wide, double *deep,
                       double *ahead);
/** A point of the trunk's frame, in statures from a start. */
struct omo_vec omo_body_point(const struct omo_pose *pose, struct omo_vec start,
                              double forward, double up, double right);

/* ---- things that are not the person's (props.c) ---- */

/** A helper's hand, and markers on their way to the floor. */
void omo_draw_props(struct omo_canvas *canvas, const struct omo_figure *figure);
/** Roles whose marker has fallen off. */
unsigned omo_fallen_roles(const struct omo_scene *scene, double time_s);

#endif
