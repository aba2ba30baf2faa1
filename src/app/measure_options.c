#include "app/measure_options.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

void omo_measure_options_add(GOptionContext *context, struct omo_measure_words *w)
{
    const GOptionEntry entries[] = {
        {"camera", 0, 0, G_OPTION_ARG_STRING, &w->camera,
         OMO_WORD(
             "which camera, for example /dev/video2 (remembered; default: the first that "
             "gives pictures)"),
         "DEVICE"},
        {"list-cameras", 0, 0, G_OPTION_ARG_NONE, &w->list,
         OMO_WORD("list the cameras and end"), NULL},
        {"size", 0, 0, G_OPTION_ARG_STRING, &w->size,
         OMO_WORD(
             "picture size asked for (default: the best of 1920x1080 and 1280x720 at 30 "
             "pictures a second)"),
         "WIDTHxHEIGHT"},
        {"movements", 0, 0, G_OPTION_ARG_STRING, &w->movements,
         OMO_WORD(
             "how many movements one after the other, with a pause between (default 1)"),
         "N"},
        {"rest", 0, 0, G_OPTION_ARG_STRING, &w->rest,
         OMO_WORD("suggested pause between two movements in seconds (default 30)"), "S"},
        {"patience", 0, 0, G_OPTION_ARG_STRING, &w->patience,
         OMO_WORD(
             "how long a camera without pictures is waited for, in seconds (default 30)"),
         "S"},
        {"short-set", 0, 0, G_OPTION_ARG_NONE, &w->short_set,
         OMO_WORD("flexion, abduction and both rotations of both sides, one after the "
                  "other, in under four minutes; goes on where it was left the same day"),
         NULL},
        {"seconds", 0, 0, G_OPTION_ARG_STRING, &w->seconds,
         OMO_WORD("end after so many seconds, whatever happens"), "S"},
        {"no-window", 0, 0, G_OPTION_ARG_NONE, &w->no_window,
         OMO_WORD("lines of text instead of the window"), NULL},
        {"full-screen", 0, 0, G_OPTION_ARG_NONE, &w->full_screen,
         OMO_WORD("the window fills the screen"), NULL},
        {"scale", 0, 0, G_OPTION_ARG_STRING, &w->scale,
         OMO_WORD("size of text and lines in the window (default: the display's)"),
         "FACTOR"},
        {"software", 0, 0, G_OPTION_ARG_NONE, &w->software,
         OMO_WORD("draw the window without the graphics card"), NULL},
        {"sound", 0, 0, G_OPTION_ARG_NONE, &w->sound,
         OMO_WORD("tones and speech (default in the side view, where the screen cannot "
                  "be seen)"),
         NULL},
        {"no-sound", 0, 0, G_OPTION_ARG_NONE, &w->no_sound,
         OMO_WORD("no tones and no speech"), NULL},
        {"flash", 0, 0, G_OPTION_ARG_NONE, &w->flash,
         OMO_WORD(
             "signals as a light-dark change of the whole screen, never more than one a "
             "second"),
         NULL},
        {"no-mirror", 0, 0, G_OPTION_ARG_NONE, &w->no_mirror,
         OMO_WORD("show the picture as the camera sees it, not as a mirror does"), NULL},
        {"photo-stills", 0, 0, G_OPTION_ARG_NONE, &w->photo_stills,
         OMO_WORD(
             "stills show the photograph, the head covered, instead of a line drawing"),
         NULL},
        {"simulated", 0, 0, G_OPTION_ARG_STRING, &w->scene,
         OMO_WORD("an invented person instead of a camera: a scene's name or file"),
         "SCENE"},
        {"budget", 0, 0, G_OPTION_ARG_NONE, &w->budget,
         OMO_WORD("what the figures are good to, source by source"), NULL},
        {"json", 0, 0, G_OPTION_ARG_NONE, &w->json,
         OMO_WORD("figures as one JSON array on standard output"), NULL},
        {0},
    };
    g_option_context_add_main_entries(context, entries, NULL);
}

void omo_measure_words_finish(struct omo_measure_words *w)
{
    char **all[] = {&w->camera, &w->size,     &w->scene,   &w->movements,
                    &w->rest,   &w->patience, &w->seconds, &w->scale};
    omo_options_finish(&w->common);
    for (size_t i = 0; i < G_N_ELEMENTS(all); i++)
        g_clear_pointer(all[i], g_free);
}

static char *copy(const char *text)
{
    return text ? g_strdup(text) : NULL;
}

void omo_measure_words_share(const struct omo_measure_words *given,
                             struct omo_measure_words *words)
{
    const struct omo_option_words *from = &given->common;
    struct omo_option_words *common = &words->common;
    *words = (struct omo_measure_words){0};
    common->rater = copy(from->rater);
    common->note = copy(from->note);
    common->colours = copy(from->colours);
    common->data = copy(from->data);
    common->out = copy(from->out);
    common->marker_size = copy(from->marker_size);
    common->lens = copy(from->lens);
    common->placement = copy(from->placement);
    common->shoulder_marker = copy(from->shoulder_marker);
    words->camera = copy(given->camera);
    words->size = copy(given->size);
    words->patience = copy(given->patience);
    words->sound = given->sound;
    words->no_sound = given->no_sound;
    words->flash = given->flash;
    words->no_mirror = given->no_mirror;
    words->photo_stills = given->photo_stills;
}

bool omo_scene_dress(struct omo_scene *scene, const char *movement, enum omo_side side,
                     const struct omo_camera_wish *wish)
{
    char width[16] = "", height[16] = "";
    if (!scene)
        return true;
    omo_text_add(width, sizeof width, "%d", wish->width);
    omo_text_add(height, sizeof height, "%d", wish->height);
    return (wish->width <= 0 || (omo_scene_set(scene, "width", width) == OMO_OK &&
                                 omo_scene_set(scene, "height", height) == OMO_OK)) &&
           omo_scene_set(scene, "movement", movement) == OMO_OK &&
           omo_scene_set(scene, "side", omo_side_name(side)) == OMO_OK;
}

static bool number(const char *option, const char *text, double least, double most,
                   double *out)
{
    if (!text)
        return true;
    if (!omo_number_parse(text, out) || !(*out >= least && *out <= most)) {
        char from[32], to[32];
        omo_number_text(least, 1, from, sizeof from);
        omo_number_text(most, 0, to, sizeof to);
        omo_error("--%s \"%s\" is not a number that fits; give %s to %s", option, text,
                  from, to);
        return false;
    }
    return true;
}

static bool picture_size(const char *text, int *width, int *height)
{
    char rest;
    if (!text)
        return true;
    if (sscanf(text, "%5dx%5d%c", width, height, &rest) == 2 && *width >= 160 &&
        *height >= 120 && *width <= 16384 && *height <= 16384)
        return true;
    omo_error("--size \"%s\" is no picture size; write for example 1280x720", text);
    return false;
}

void omo_remembered_camera(const struct omo_preferences *preferences, char *path,
                           size_t size)
{
    struct omo_camera_entry entry[16];
    const char *found = "";
    if (preferences->camera[0] && !preferences->camera_name[0])
        found = preferences->camera;
    int count = preferences->camera_name[0]
                    ? omo_camera_list(NULL, entry, G_N_ELEMENTS(entry))
                    : 0;
    for (int i = count - 1; i >= 0; i--)
        if (!strcmp(entry[i].name, preferences->camera_name) &&
            (!found[0] || !strcmp(entry[i].path, preferences->camera)))
            found = entry[i].path;
    omo_text_copy(path, size, found);
}

bool omo_measure_resolve(const struct omo_measure_words *w, const struct omo_plan *plan,
                         const struct omo_preferences *preferences,
                         struct omo_measuring *m, struct omo_scene **scene)
{
    double movements = 1;
    m->plan = plan;
    m->rest_s = 30;
    m->patience_s = 30;
    m->most_s = NAN;
    m->ceiling_deg = NAN;
    m->source = "camera";
    m->real_time = true;
    if (w->scene && w->camera) {
        omo_error("--simulated and --camera exclude each other");
        return false;
    }
    if (w->sound && w->no_sound) {
        omo_error("--sound and --no-sound exclude each other");
        return false;
    }
    if (!picture_size(w->size, &m->feed.wish.width, &m->feed.wish.height) ||
        !number("movements", w->movements, 1, 1000, &movements) ||
        !number("rest", w->rest, 0, 600, &m->rest_s) ||
        !number("patience", w->patience, 0.1, 3600, &m->patience_s) ||
        !number("seconds", w->seconds, 0.1, 86400, &m->most_s))
        return false;
    m->movements = (int)movements;
    m->feed.wish.lock_light = true;
    if (w->camera)
        omo_text_copy(m->feed.wish.path, sizeof m->feed.wish.path, w->camera);
    else if (!w->scene)
        omo_remembered_camera(preferences, m->feed.wish.path, sizeof m->feed.wish.path);
    if (w->scene) {
        *scene = omo_scene_create();
        if (omo_scene_load(*scene, w->scene) != OMO_OK)
            return false;
        m->feed.scene = *scene;
        m->source = "simulated (invented)";
        m->real_time = false;
    }
    /* In the side view and along the arm the screen cannot be seen. */
    bool unseen = plan->tracker.view != OMO_VIEW_FRONT;
    m->sound_on = preferences->sound_chosen ? preferences->sound : unseen;
    if (w->sound || w->no_sound)
        m->sound_on = w->sound;
    m->flash_on = w->flash || preferences->flash;
    m->mirror = !w->no_mirror && preferences->mirror;
    m->photo_stills = w->photo_stills;
    return true;
}

bool omo_display_there(void)
{
    static const char *const names[] = {"DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const char *value = getenv(names[i]); /* an empty one names no display */
        if (value && value[0])
            return true;
    }
    return false;
}

enum omo_status omo_measure_open_screen(const struct omo_measure_words *w,
                                        struct omo_screen **screen)
{
    double scale = 0;
    *screen = NULL;
    if (!number("scale", w->scale, 0.5, 4, &scale))
        return OMO_ERR_ARG;
    if (w->no_window)
        return OMO_OK;
    if (!omo_display_there()) {
        omo_error("there is no display to open a window on; use --no-window for lines of "
                  "text");
        return OMO_ERR_OPEN;
    }
    struct omo_screen_settings settings = {.full_screen = w->full_screen,
                                           .scale = scale,
                                           .software = w->software,
                                           .title = "omogon"};
    return omo_screen_open(&settings, screen);
}
