/** One exposure: everything that moves, painted over the room, with motion blur. */
#ifndef OMOGON_SIMULATED_EXPOSURE_H
#define OMOGON_SIMULATED_EXPOSURE_H

#include "figure.h"

/** The stage and what is needed to paint on it. */
struct omo_stage {
    const struct omo_scene *scene;
    struct omo_scene other_scene; /**< the second person's */
    struct omo_look look, other_look;
    struct omo_canvas canvas; /**< the room, and on it the people */
    struct omo_canvas layer;  /**< one sub-exposure of the moving arm */
    omo_float4 *sum;          /**< of sub-exposures */
    int *low, *high;          /**< touched spans of sum */
};
enum omo_status omo_stage_create(struct omo_stage *stage, const struct omo_scene *scene);
void omo_stage_free(struct omo_stage *stage);
/** Paints the people of a moment; the markers' coverage is left in canvas.mask. */
void omo_stage_paint(struct omo_stage *stage, double time_s);

#endif
