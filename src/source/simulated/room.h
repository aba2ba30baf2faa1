/** What is behind the person: an invented room, or a real picture. */
#ifndef OMOGON_SIMULATED_ROOM_H
#define OMOGON_SIMULATED_ROOM_H

#include "raster.h"

/** Paints the scene's own room over the whole canvas. */
void omo_paint_room(struct omo_canvas *canvas, const struct omo_scene *scene,
                    const struct omo_camera *camera);

#endif
