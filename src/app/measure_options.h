/** The options of a live measurement, and what they come to. */
#ifndef OMO_APP_MEASURE_OPTIONS_H
#define OMO_APP_MEASURE_OPTIONS_H

#include <glib.h>

#include "app/measuring.h"
#include "app/options.h"
#include "app/preferences.h"

/** As typed; freed by omo_measure_words_finish. Zero-initialise. */
struct omo_measure_words {
    struct omo_option_words common;
    char *camera, *size, *scene, *movements, *rest, *patience, *seconds, *scale;
    gboolean list, json, no_window, full_screen, software, sound, no_sound, flash,
        no_mirror, photo_stills, budget, short_set;
};
void omo_measure_options_add(GOptionContext *context, struct omo_measure_words *words);
void omo_measure_words_finish(struct omo_measure_words *words);

/** What one movement of several takes over from what was typed for all: camera, markers,
 *  record and switches; nothing about the movement itself. */
void omo_measure_words_share(const struct omo_measure_words *given,
                             struct omo_measure_words *words);
/** An invented person does this movement with this arm, in pictures of the size wished
 * for; NULL is fine. False with a sentence. */
bool omo_scene_dress(struct omo_scene *scene, const char *movement, enum omo_side side,
                     const struct omo_camera_wish *wish);

/** Fills wish, counts and switches; one sentence and false for a wrong word. `scene` is
 *  the caller's to destroy when it was made. */
bool omo_measure_resolve(const struct omo_measure_words *words,
                         const struct omo_plan *plan,
                         const struct omo_preferences *preferences,
                         struct omo_measuring *m, struct omo_scene **scene);
/** Opens the window the words ask for; OMO_OK with *screen NULL for --no-window. */
enum omo_status omo_measure_open_screen(const struct omo_measure_words *words,
                                        struct omo_screen **screen);
/** Where the remembered camera is now: by its name, for numbers change; "" when it is not
 *  there or none is remembered. */
void omo_remembered_camera(const struct omo_preferences *preferences, char *path,
                           size_t size);
/** True where a window can be opened. */
bool omo_display_there(void);

#endif
