/** What lens, sensor and camera make of the light: blur, exposure, sRGB, YCbCr, noise. */
#ifndef OMOGON_SIMULATED_EFFECTS_H
#define OMOGON_SIMULATED_EFFECTS_H

#include "omogon/picture.h"
#include "raster.h"

struct omo_effects;
enum omo_status omo_effects_create(const struct omo_scene *scene,
                                   struct omo_effects **out);
void omo_effects_destroy(struct omo_effects *effects);

/** The light of the moment: exposure, colour cast and drift. */
void omo_effects_set_light(struct omo_effects *effects, double time_s);
/** Takes the whole canvas as the room without the person, in the light set last. */
void omo_effects_take_room(struct omo_effects *effects, const struct omo_canvas *canvas);
/** Develops what was touched (low/high spans), or everything, over the room into planes,
 *  which are lent until the next call. */
void omo_effects_develop(struct omo_effects *effects, struct omo_canvas *canvas,
                         long frame, bool everything, struct omo_planes *planes);
/** Puts the room back where the canvas was touched, and clears the spans. */
void omo_effects_restore(const struct omo_effects *effects, struct omo_canvas *canvas);

#endif
