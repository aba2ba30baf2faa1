/** What is behind the person: an invented room, or a real picture. */
#ifndef OMOGON_SIMULATED_ROOM_H
#define OMOGON_SIMULATED_ROOM_H

#include "raster.h"

/** Paints the scene's own room over the whole canvas, with nobody in it. */
void omo_paint_room(struct omo_canvas *canvas, const struct omo_scene *scene,
                    const struct omo_camera *camera);
/** The things on it that have the markers' colours. */
void omo_paint_look_alikes(struct omo_canvas *canvas, const struct omo_scene *scene,
                           const struct omo_camera *camera);
/** What the person sits or lies on, and frames of mirror and screen. */
void omo_paint_furniture(struct omo_canvas *canvas, const struct omo_scene *scene,
                         const struct omo_camera *camera);

/** A part of the picture that shows the person again. */
struct omo_window {
    int left, top, right, bottom; /**< exclusive right and bottom */
    struct omo_camera camera;
    omo_float4 tint, lift;
};
#define SCREEN_LATE_S 0.12 /* what a screen shows is a little old */
/** False when the scene has none. */
bool omo_room_mirror(const struct omo_scene *scene, const struct omo_camera *camera,
                     struct omo_window *window);
bool omo_room_screen(const struct omo_scene *scene, const struct omo_camera *camera,
                     struct omo_window *window);

/* ---- shapes in the room, metres ---- */

/** An upright rectangle that faces the camera. */
struct omo_board {
    double left, right, bottom, top, depth; /**< depth: towards the camera */
    double srgb[3];
    double shade; /**< light at its foot, 1: even; 0 is taken as 1 */
    double grain, fold;
};
void omo_draw_board(struct omo_canvas *canvas, const struct omo_camera *camera,
                    const struct omo_board *board);
/** A level rectangle, seen from above or below. */
void omo_draw_top(struct omo_canvas *canvas, const struct omo_camera *camera,
                  const struct omo_board *board, double near_depth);

/* ---- real pictures (photo.c) ---- */

struct omo_photo;
/** Opens scene->room. One sentence on failure. */
enum omo_status omo_photo_open(const struct omo_scene *scene, struct omo_photo **out);
void omo_photo_close(struct omo_photo *photo);
/** Goes on to the picture of this moment; `changed` when it is another one. */
enum omo_status omo_photo_advance(struct omo_photo *photo, double time_s, bool *changed);
void omo_photo_paint(const struct omo_photo *photo, struct omo_canvas *canvas,
                     const struct omo_camera *camera);

#endif
