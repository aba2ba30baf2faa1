/** A person drawn from a pose. */
#ifndef OMOGON_SIMULATED_FIGURE_H
#define OMOGON_SIMULATED_FIGURE_H

#include "pose.h"
#include "raster.h"

/** Colours of one person, linear. */
struct omo_look {
    struct omo_paint skin, shirt, sleeve, trousers, hair, glove, shoe;
    omo_float4 sticker[OMO_ROLE_COUNT];
    enum omo_scene_sleeve sleeve_length;
    enum omo_scene_hair hair_length;
    bool beard, gloves;
};
void omo_look_of(const struct omo_scene *scene, struct omo_look *look);
/** Someone else: other clothes, other skin. */
void omo_look_bystander(const struct omo_scene *scene, struct omo_look *look);

/** Masks of the measured markers, one a role; NULL: not wanted. */
struct omo_figure {
    const struct omo_scene *scene;
    const struct omo_look *look;
    const struct omo_camera *camera;
    const struct omo_pose *pose;
    double time_s;
    unsigned hidden; /**< roles that are not drawn */
    bool masks;      /**< record coverage in the canvas's masks */
};

/** All that is at rest behind the measured arm; returns without that arm. */
void omo_draw_body(struct omo_canvas *canvas, const struct omo_figure *figure);
/** The measured arm with its markers, and what is in front of it. */
void omo_draw_arm(struct omo_canvas *canvas, const struct omo_figure *figure);

#endif
