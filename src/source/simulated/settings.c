#include "omogon/simulated.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "omogon/log.h"
#include "omogon/models.h"
#include "omogon/text.h"
#include "pose.h"
#include "scene.h"

enum kind { NUMBER, WHOLE, SWITCH, CHOICE, COLOUR, ROLES, SPANS, PATH };

struct setting {
    const char *name;
    enum kind kind;
    size_t offset;
    const char *value; /* default */
    double low, high;
    const char *words; /* of a choice, in order of its enumeration */
    const char *meaning;
};

#define AT(member) offsetof(struct omo_scene, member)
#define N(name, value, low, high, meaning)                                               \
    {                                                                                    \
#name, NUMBER, AT(name), value, low, high, NULL, meaning                         \
    }
#define W(name, value, low, high, meaning)                                               \
    {                                                                                    \
#name, WHOLE, AT(name), value, low, high, NULL, meaning                          \
    }
#define S(name, value, meaning)                                                          \
    {                                                                                    \
#name, SWITCH, AT(name), value, 0, 0, NULL, meaning                              \
    }
#define C(name, value, words, meaning)                                                   \
    {                                                                                    \
#name, CHOICE, AT(name), value, 0, 0, words, meaning                             \
    }
#define RGB(name, member, value, meaning)                                                \
    {                                                                                    \
        name, COLOUR, AT(member), value, 0, 255, NULL, meaning                           \
    }
#define T(name, kind, value, meaning)                                                    \
    {                                                                                    \
#name, kind, AT(name), value, 0, 0, NULL, meaning                                \
    }

static const struct setting settings[] = {
    C(movement, "flexion",
      "flexion extension abduction adduction scaption external-rotation "
      "internal-rotation pendulum",
      "what the arm does; the view follows unless it is set afterwards"),
    C(side, "right", "left right", "the measured arm, the person's own side"),
    C(view, "side", "front side along-arm", "where the camera stands"),
    C(position, "standing", "standing seated supine side-lying prone", "of the person"),
    S(from_behind, "no", "a front view seen from the back"),
    S(mirrored, "no", "the picture is a mirror image"),
    N(arc_deg, "150", -20, 185, "highest angle of the arm against the trunk"),
    N(start_deg, "2", -80, 90, "angle at rest"),
    N(speed_deg_per_s, "60", 5, 600, "mean speed while the arm rises or falls"),
    W(repetitions, "2", 0, 50, "how often the arm is raised"),
    N(hold_s, "0.6", 0, 60, "pause at the top"),
    W(ease_ups, "0", 0, 5, "how often it goes on up from there, with a pause each time"),
    N(ease_up_deg, "4", 0, 20, "by how much each time"),
    N(settle_s, "0", 0, 60, "time over which hike_ratio falls back at the top; 0: never"),
    N(pause_s, "0.8", 0, 60, "pause at the bottom"),
    N(rest_s, "2", 0, 600, "rest before the first repetition"),
    N(variation_deg, "2", 0, 20, "by how much the tops differ"),
    N(tremor_deg, "0.15", 0, 5, "unsteadiness of the arm"),
    N(shake_deg, "0", 0, 5, "fine shaking of the arm"),
    N(shake_hz, "8", 3, 15, "how often a second"),
    N(breath_deg, "0", 0, 5, "by how much the arm rises and sinks with each breath"),
    N(abduction_deg, "90", 0, 120, "for rotations: how far the upper arm is held out"),
    S(other_arm_moves, "no", "the other arm makes the movement too"),
    N(other_arc_deg, "150", -20, 185, "its highest angle"),
    N(other_lag_s, "0", 0, 10, "by how much later it moves"),
    N(hang_s, "0", 0, 60, "for rotations: how long the arm is straight to begin with"),
    N(twist_deg, "0", -40, 40, "turn of the trunk at the top, the arm's side going back"),
    W(laps, "6", -50, 50,
      "of a pendulum: circles, clockwise from above; negative: the other way"),
    W(laps_after, "0", -50, 50, "of a pendulum: circles after a pause"),
    N(lap_s, "1.8", 0.6, 20, "of a pendulum: seconds a circle"),
    N(circle_cm, "30", 2, 90, "of a pendulum: diameter of the first circle"),
    N(circle_grows_cm, "0", -60, 60, "of a pendulum: by how much the last one is wider"),
    N(bow_deg, "60", 0, 95, "of a pendulum: how far the trunk leans forward"),
    N(seconds, "0", 0, 3600, "length of the scene; 0: as long as the movement takes"),

    N(stature_m, "1.70", 1.2, 2.1, "height of the person"),
    N(elbow_deg, "5", 0, 140, "flexion of the elbow (rotations hold 90)"),
    N(hike_ratio, "0", -0.1, 0.5,
      "rise of the shoulder beyond the natural one, in upper-arm lengths"),
    N(lean_deg, "0", -30, 40, "lean of the trunk at the top, away from the arm or back"),
    N(stance_deg, "0", -20, 20, "lean that is there at rest already"),
    N(yaw_deg, "0", -60, 60, "turn of the person out of the image plane"),
    N(plane_deg, "0", -45, 45, "turn of the arm's plane alone"),
    N(protraction_mm, "0", -20, 60, "shoulder drawn forward at the top"),
    N(scapula_share, "0.33", 0, 0.6,
      "share of the arm's angle by which the shoulder blade turns, after 30 degrees"),
    N(axial_deg, "0", -90, 90, "turn of the upper arm about its own length at the top"),
    N(slide_mm, "0", 0, 15, "slide of the skin under the shoulder's marker"),
    N(sway_mm, "3", 0, 60, "sway of the whole person"),
    N(breath_mm, "2", 0, 12, "rise of the chest and shoulders with each breath"),
    N(skin, "0.3", 0, 1, "skin from light (0) to dark (1)"),
    RGB("shirt", shirt, "96 104 122", "colour of the shirt"),
    RGB("trousers", trousers, "52 54 66", "colour of the trousers"),
    C(sleeve, "short", "none short long", "of the shirt"),
    RGB("sleeve_colour", sleeve_colour, "96 104 122", "colour of the sleeves"),
    C(hair, "short", "none short long", "long hair falls over the measured shoulder"),
    RGB("hair_colour", hair_colour, "58 42 32", "hair and beard"),
    S(beard, "no", ""),
    S(gloves, "no", ""),
    RGB("glove_colour", glove_colour, "60 90 190", ""),

    T(markers, ROLES, "shoulder elbow wrist hip", "which markers the person wears"),
    T(other_arm_markers, ROLES, "none", "markers on the other arm"),
    RGB("shoulder_colour", colour[OMO_SHOULDER], "40 170 70", "sRGB of the sticker"),
    RGB("elbow_colour", colour[OMO_ELBOW], "45 60 200", ""),
    RGB("wrist_colour", colour[OMO_WRIST], "215 30 130", ""),
    RGB("hip_colour", colour[OMO_HIP], "20 175 205", ""),
    RGB("chest_colour", colour[OMO_CHEST], "20 175 205", ""),
    RGB("acromion_colour", colour[OMO_ACROMION], "40 170 70", ""),
    {"one_colour", COLOUR, 0, "40 170 70", 0, 255, NULL, "all stickers in one colour"},
    C(shape, "disc", "disc band", "stickers or bands round the limb"),
    N(sticker_mm, "32", 4, 150, "diameter of a sticker"),
    N(band_mm, "30", 5, 80, "width of a band"),
    N(offset_mm, "8", -60, 80, "shoulder sticker above the joint (along the girdle)"),
    N(forward_mm, "0", -60, 60, "shoulder sticker in front of or beside the joint"),
    N(acromion_mm, "45", 15, 80, "acromion sticker above the shoulder's"),
    N(shading_ratio, "0.12", 0, 0.6, "change of light across a sticker"),
    N(gloss_ratio, "0", 0, 1, "highlight on the stickers"),
    T(hide, SPANS, "none", "a marker turned away, e.g. elbow 2.5-4, wrist 6-7"),
    T(helper, SPANS, "none", "a helper's hand lies over a marker, e.g. elbow 3-5"),
    T(fall, SPANS, "none", "a marker falls off, e.g. wrist 6"),

    W(width, "1280", 64, 4096, "of the picture, px, even"),
    W(height, "720", 64, 2304, "of the picture, px, even"),
    N(fps, "30", 5, 240, "frames a second"),
    W(seed, "1", 0, 4294967295.0, "of everything random"),
    N(distance_m, "2.1", 0.6, 8, "camera to person"),
    N(field_deg, "65", 20, 110, "horizontal field of the camera"),
    N(camera_height_m, "0", -1, 3, "0: as the position asks for"),
    N(roll_deg, "0", -20, 20, "camera turned about its axis"),
    N(shutter_ratio, "0.3", 0, 1, "exposure time as a share of the frame interval"),
    N(blur_px, "0.7", 0, 3, "lens blur, standard deviation"),
    N(vignetting_ratio, "0.25", 0, 0.9, "loss of light in the corners"),
    N(exposure_stops, "0", -4, 2, "brightness in powers of two"),
    RGB("cast", cast, "100 100 100",
        "light's red, green, blue in percent; warm bulb 130 100 62, cool 88 100 122"),
    N(drift_ratio, "0", -0.8, 2, "change of the light over drift_s"),
    N(drift_s, "10", 0.5, 3600, "half a period of the light's change"),
    N(switch_s, "0", 0, 3600, "time at which a lamp goes on or off; 0: never"),
    N(switch_stops, "-3", -6, 4, "by how much, in powers of two"),
    N(noise, "3", 0, 40, "sensor noise in grey levels at middle grey"),
    N(chroma_noise, "1", 0, 6, "colour noise as a multiple of what noise implies"),
    W(quality, "85", 0, 100, "of the JPEG; 0: no JPEG, planes as rendered"),
    C(subsampling, "420", "420 422 444", "of colour"),
    N(bump_s, "0", 0, 3600, "time at which the camera is knocked; 0: never"),
    N(bump_px, "12", 0, 100, "how far"),
    W(repeat_every, "0", 0, 1000,
      "every so many frames one is delivered twice; 0: never"),
    N(jitter_ms, "0", 0, 15, "deviation of the time stamps"),
    N(start_s, "0", -10, 1e6, "time stamp of the first frame"),

    N(sun_ratio, "0", 0, 2, "a low sun's patches over room and person"),
    N(gradient_ratio, "0.25", 0, 0.9, "light falls off across the picture"),
    C(furniture, "dull", "plain dull bright", "what stands in the room"),
    T(room, PATH, "none",
      "picture, clip or folder of pictures behind the person; footage:NAME is looked up "
      "in the folder that OMOGON_FOOTAGE names"),
    N(room_s, "2", 0.1, 3600, "seconds for each picture of a folder"),
    W(look_alikes, "0", 0, 6, "cup, book, ball and such in the markers' colours"),
    C(second_person, "none", "none plain marked", ""),
    S(mirror, "no", "a mirror shows the person"),
    S(screen, "no", "a screen shows the person"),
};
#define SETTING_COUNT ((int)(sizeof settings / sizeof settings[0]))

static bool parse_word(const char *words, const char *value, int *out)
{
    size_t length = strlen(value);
    int index = 0;
    for (const char *at = words; *at; index++) {
        size_t word = strcspn(at, " ");
        if (word == length && strncmp(at, value, length) == 0) {
            *out = index;
            return true;
        }
        at += word;
        at += strspn(at, " ");
    }
    return false;
}

static bool parse_colour(const char *value, double out[3])
{
    char **part = g_strsplit_set(value, " ,", -1);
    double rgb[3];
    int count = 0;
    bool good = true;
    for (int i = 0; part[i] && good; i++) {
        if (part[i][0] == '\0')
            continue;
        good = count < 3 && omo_number_parse(part[i], &rgb[count]) && rgb[count] >= 0 &&
               rgb[count] <= 255;
        count++;
    }
    g_strfreev(part);
    if (!good || count != 3)
        return false;
    memcpy(out, rgb, sizeof rgb);
    return true;
}

static bool parse_roles(const char *value, unsigned *out)
{
    unsigned mask = 0;
    bool good = true;
    char **part = g_strsplit_set(value, " ,", -1);
    for (int i = 0; part[i] && good; i++) {
        enum omo_role role = omo_role_from_name(part[i]);
        if (part[i][0] == '\0' || strcmp(part[i], "none") == 0)
            continue;
        good = role != OMO_ROLE_COUNT;
        if (good)
            mask |= 1u << role;
    }
    g_strfreev(part);
    if (good)
        *out = mask;
    return good;
}

/** "elbow 2.5-4" or, without an end, "wrist 6". */
static bool parse_span(const char *text, struct omo_scene_span *span)
{
    char *copy = g_strstrip(g_strdup(text));
    char *time = strchr(copy, ' ');
    bool good = time != NULL;
    if (good) {
        *time++ = '\0';
        char *end = strchr(time, '-');
        if (end)
            *end++ = '\0';
        span->role = omo_role_from_name(copy);
        span->to_s = INFINITY;
        good = span->role != OMO_ROLE_COUNT &&
               omo_number_parse(g_strstrip(time), &span->from_s) &&
               (!end || (omo_number_parse(g_strstrip(end), &span->to_s) &&
                         span->to_s > span->from_s));
    }
    g_free(copy);
    return good;
}

static bool parse_spans(const char *value, struct omo_scene_spans *out)
{
    struct omo_scene_spans spans = {0};
    bool good = value[0] != '\0';
    if (good && strcmp(value, "none") != 0) {
        char **part = g_strsplit(value, ",", -1);
        for (int i = 0; part[i] && good; i++) {
            good = spans.count < OMO_SPAN_MAX &&
                   parse_span(part[i], &spans.span[spans.count]);
            spans.count++;
        }
        g_strfreev(part);
    }
    if (good)
        *out = spans;
    return good;
}

static bool parse_number(const struct setting *s, const char *value, double *out)
{
    double number;
    if (!omo_number_parse(value, &number) || number < s->low || number > s->high ||
        (s->kind == WHOLE && number != floor(number)))
        return false;
    *out = number;
    return true;
}

/** What a value has to look like, for the sentence that refuses it. */
static void describe(const struct setting *s, char *out, size_t size)
{
    char low[32], high[32];
    omo_number_text(s->low, 1, low, sizeof low);
    omo_number_text(s->high, 1, high, sizeof high);
    out[0] = '\0';
    switch (s->kind) {
    case NUMBER:
        omo_text_add(out, size, "a number from %s to %s", low, high);
        break;
    case WHOLE:
        omo_text_add(out, size, "a whole number from %.0f to %.0f", s->low, s->high);
        break;
    case SWITCH:
        omo_text_add(out, size, "yes or no");
        break;
    case CHOICE:
        omo_text_add(out, size, "one of: %s", s->words);
        break;
    case COLOUR:
        omo_text_add(out, size, "three numbers from 0 to 255");
        break;
    case ROLES:
        omo_text_add(out, size,
                     "none, or some of: shoulder elbow wrist hip chest acromion");
        break;
    case SPANS:
        omo_text_add(out, size, "none, or a marker and its seconds as in \"elbow 2-4\"");
        break;
    case PATH:
        omo_text_add(out, size, "none or a path");
        break;
    }
}

static bool store(struct omo_scene *scene, const struct setting *s, const char *value)
{
    void *at = (char *)scene + s->offset;
    int yes;
    double rgb[3];
    switch (s->kind) {
    case NUMBER:
    case WHOLE:
        return parse_number(s, value, at);
    case SWITCH:
        if (!parse_word("no yes", value, &yes))
            return false;
        *(bool *)at = yes != 0;
        return true;
    case CHOICE:
        return parse_word(s->words, value, at);
    case COLOUR:
        if (strcmp(s->name, "one_colour") != 0)
            return parse_colour(value, at);
        if (!parse_colour(value, rgb))
            return false;
        for (int i = 0; i < OMO_ROLE_COUNT; i++)
            memcpy(scene->colour[i], rgb, sizeof rgb);
        return true;
    case ROLES:
        return parse_roles(value, at);
    case SPANS:
        return parse_spans(value, at);
    case PATH:
        if (strlen(value) >= sizeof scene->room)
            return false;
        omo_text_copy(at, sizeof scene->room, strcmp(value, "none") == 0 ? "" : value);
        return true;
    }
    return false;
}

/** A movement is seen from where it can be measured, until told otherwise. */
static void follow_movement(struct omo_scene *scene)
{
    static const struct {
        int view;
        double arc_deg, start_deg;
    } usual[] = {
        [OMO_SCENE_FLEXION] = {OMO_VIEW_SIDE, 150, 2},
        [OMO_SCENE_EXTENSION] = {OMO_VIEW_SIDE, 50, 0},
        [OMO_SCENE_ABDUCTION] = {OMO_VIEW_FRONT, 150, 6},
        [OMO_SCENE_ADDUCTION] = {OMO_VIEW_FRONT, 35, -6},
        [OMO_SCENE_SCAPTION] = {OMO_VIEW_FRONT, 150, 6},
        [OMO_SCENE_EXTERNAL_ROTATION] = {OMO_VIEW_ALONG_ARM, 80, 0},
        [OMO_SCENE_INTERNAL_ROTATION] = {OMO_VIEW_ALONG_ARM, 60, 0},
        [OMO_SCENE_PENDULUM] = {OMO_VIEW_SIDE, 0, 0},
    };
    scene->view = usual[scene->movement].view;
    scene->arc_deg = usual[scene->movement].arc_deg;
    scene->start_deg = usual[scene->movement].start_deg;
}

static const struct setting *find(const char *name)
{
    for (int i = 0; i < SETTING_COUNT; i++)
        if (strcmp(settings[i].name, name) == 0)
            return &settings[i];
    return NULL;
}

enum omo_status omo_scene_set(struct omo_scene *scene, const char *name,
                              const char *value)
{
    const struct setting *s = find(name);
    char wanted[192];
    if (!s) {
        omo_error("The simulated camera has no setting \"%s\".", name);
        return OMO_ERR_ARG;
    }
    if (!store(scene, s, value)) {
        describe(s, wanted, sizeof wanted);
        omo_error("The simulated camera's setting %s is \"%s\", but has to be %s.", name,
                  value, wanted);
        return OMO_ERR_ARG;
    }
    if (strcmp(name, "movement") == 0)
        follow_movement(scene);
    return OMO_OK;
}

struct omo_scene *omo_scene_create(void)
{
    struct omo_scene *scene = calloc(1, sizeof *scene);
    if (!scene)
        return NULL;
    if (omo_layout_load(NULL, &scene->layout) != OMO_OK) {
        free(scene);
        return NULL;
    }
    for (int i = 0; i < SETTING_COUNT; i++)
        if (settings[i].offset != 0 || settings[i].kind == CHOICE)
            store(scene, &settings[i], settings[i].value);
    return scene;
}

void omo_scene_destroy(struct omo_scene *scene)
{
    free(scene);
}

static enum omo_status apply_file(struct omo_scene *scene, GKeyFile *file,
                                  const char *path)
{
    /* On a copy, so that a mistake leaves the scene as it was. */
    struct omo_scene changed = *scene;
    char **keys = g_key_file_get_keys(file, "scene", NULL, NULL);
    enum omo_status status = OMO_OK;
    if (!keys) {
        omo_error("The scene file %s has no group [scene].", path);
        return OMO_ERR_SETTINGS;
    }
    for (int i = 0; keys[i] && status == OMO_OK; i++) {
        char *value = g_key_file_get_value(file, "scene", keys[i], NULL);
        if (strcmp(keys[i], "note") != 0 &&
            omo_scene_set(&changed, keys[i], value) != OMO_OK)
            status = OMO_ERR_SETTINGS;
        g_free(value);
    }
    g_strfreev(keys);
    if (status == OMO_OK)
        *scene = changed;
    return status;
}

enum omo_status omo_scene_load(struct omo_scene *scene, const char *name_or_path)
{
    char path[4096];
    omo_text_copy(path, sizeof path, name_or_path);
    if (!strpbrk(name_or_path, "/.")) {
        char relative[256] = "scenes/";
        omo_text_add(relative, sizeof relative, "%s.ini", name_or_path);
        if (omo_models_path(relative, path, sizeof path) != OMO_OK) {
            omo_error("There is no built-in scene \"%s\".", name_or_path);
            return OMO_ERR_OPEN;
        }
    }
    GKeyFile *file = g_key_file_new();
    GError *error = NULL;
    enum omo_status status;
    if (g_key_file_load_from_file(file, path, G_KEY_FILE_NONE, &error)) {
        status = apply_file(scene, file, path);
    } else {
        bool readable =
            g_file_test(path, G_FILE_TEST_IS_REGULAR) && error->domain != G_FILE_ERROR;
        status = readable ? OMO_ERR_SETTINGS : OMO_ERR_OPEN;
        omo_error("The scene file %s cannot be read: %s.", path, error->message);
        g_error_free(error);
    }
    g_key_file_free(file);
    return status;
}

const char *omo_scene_help(void)
{
    static char text[16384];
    if (text[0])
        return text;
    for (int i = 0; i < SETTING_COUNT; i++) {
        char wanted[192];
        describe(&settings[i], wanted, sizeof wanted);
        omo_text_add(text, sizeof text, "%s = %s\n    %s%s%s\n", settings[i].name,
                     settings[i].value, wanted, settings[i].meaning[0] ? "; " : "",
                     settings[i].meaning);
    }
    return text;
}

bool omo_scene_switched(const struct omo_scene *scene, double time_s)
{
    return scene->switch_s > 0 && time_s >= scene->switch_s;
}

double omo_scene_raise_s(const struct omo_scene *scene)
{
    return fmax(fabs(scene->arc_deg - scene->start_deg) / scene->speed_deg_per_s, 0.1);
}

double omo_scene_up_s(const struct omo_scene *scene)
{
    return omo_scene_raise_s(scene) + scene->hold_s +
           scene->ease_ups * (OMO_EASE_UP_S + scene->hold_s);
}

long omo_scene_frame_count(const struct omo_scene *scene)
{
    double one = omo_scene_up_s(scene) + omo_scene_raise_s(scene) + scene->pause_s;
    double seconds =
        scene->seconds > 0 ? scene->seconds : scene->rest_s + scene->repetitions * one;
    if (omo_scene_swings(scene) && !(scene->seconds > 0))
        seconds = omo_swung_s(scene);
    if (scene->other_arm_moves && !(scene->seconds > 0))
        seconds += scene->other_lag_s;
    long frames = (long)floor(seconds * scene->fps + 0.5);
    return frames < 1 ? 1 : frames;
}
