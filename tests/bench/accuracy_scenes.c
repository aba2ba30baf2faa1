#include "accuracy_scenes.h"

#include <string.h>

#include "omogon/picture.h"

/* Colours that scenes below wear on purpose near a sticker's. */
#define LIKE_SHOULDER "70 150 90"
#define LIKE_WRIST    "170 60 120"

const struct accuracy_scene accuracy_scenes[] = {
    /* Good light, the movements in turn. */
    {"good light, flexion", false, {{"seed", "11"}}},
    {"good light, 4:2:2", false, {{"subsampling", "422"}, {"seed", "12"}}},
    {"abduction, left", false, {{"movement", "abduction"}, {"side", "left"}}},
    {"chest marker, extension",
     false,
     {{"movement", "extension"}, {"markers", "shoulder elbow wrist hip chest"}}},
    {"external rotation", false, {{"movement", "external-rotation"}}},
    {"internal rotation, left",
     false,
     {{"movement", "internal-rotation"}, {"side", "left"}}},
    {"scaption, seated", false, {{"movement", "scaption"}, {"position", "seated"}}},
    /* Light and camera. */
    {"dim, warm, noisy",
     false,
     {{"exposure_stops", "-1.2"}, {"cast", "130 100 62"}, {"noise", "7"}}},
    {"cool light", false, {{"cast", "88 100 122"}, {"noise", "5"}}},
    {"light fades and returns",
     false,
     {{"drift_ratio", "-0.6"}, {"drift_s", "5"}, {"cast", "115 100 80"}}},
    {"low sun, glossy stickers", false, {{"sun_ratio", "1.2"}, {"gloss_ratio", "0.6"}}},
    {"fast, long exposure",
     false,
     {{"movement", "abduction"}, {"speed_deg_per_s", "220"}, {"shutter_ratio", "0.6"}}},
    {"far away, small stickers",
     false,
     {{"distance_m", "3"}, {"sticker_mm", "27"}, {"field_deg", "62"}}},
    {"camera is knocked", false, {{"bump_s", "5"}, {"bump_px", "25"}}},
    {"640x480, 4:2:0", false, {{"width", "640"}, {"height", "480"}, {"field_deg", "55"}}},
    {"low quality JPEG", false, {{"quality", "50"}, {"noise", "5"}}},
    /* What is in the room. */
    {"look-alikes, bright room",
     false,
     {{"look_alikes", "6"}, {"furniture", "bright"}, {"movement", "abduction"}}},
    {"mirror and screen",
     false,
     {{"mirror", "yes"}, {"screen", "yes"}, {"movement", "abduction"}}},
    {"second person with markers",
     false,
     {{"second_person", "marked"}, {"movement", "abduction"}}},
    {"markers on both arms",
     false,
     {{"movement", "abduction"}, {"other_arm_markers", "shoulder elbow wrist"}}},
    /* The person. */
    {"helper's hand over markers",
     false,
     {{"helper", "elbow 3-4.5, wrist 6-7.5, shoulder 8.5-9.5"}}},
    {"turned away, fallen off",
     false,
     {{"hide", "elbow 3-4, shoulder 5-6"}, {"fall", "wrist 7"}}},
    {"sleeves in near colours",
     false,
     {{"sleeve", "long"}, {"sleeve_colour", LIKE_SHOULDER}, {"shirt", LIKE_WRIST}}},
    {"dark skin, gloves, dim",
     false,
     {{"skin", "0.95"}, {"gloves", "yes"}, {"exposure_stops", "-0.8"}, {"noise", "5"}}},
    {"long hair, beard",
     false,
     {{"hair", "long"}, {"beard", "yes"}, {"movement", "abduction"}}},
    {"lean, hike, turned body",
     false,
     {{"lean_deg", "12"}, {"hike_ratio", "0.12"}, {"yaw_deg", "15"}}},
    {"bands", false, {{"shape", "band"}}},
    {"all stickers green", false, {{"one_colour", "40 170 70"}}},
    /* Real rooms behind. */
    {"room: sofa, office",
     true,
     {{"room", "footage:gestures/closer_00_002f0bab.jpg"}, {"movement", "abduction"}}},
    {"room: orange bag",
     true,
     {{"room", "footage:gestures/closer_02_283f2242.jpg"}, {"seed", "22"}}},
    {"room: sofa near, warm",
     true,
     {{"room", "footage:gestures/down_01_1a689c21.jpg"},
      {"cast", "125 100 70"},
      {"noise", "5"}}},
    {"room: desks, dim",
     true,
     {{"room", "footage:gestures/photo_04_55718f24.jpg"},
      {"movement", "abduction"},
      {"side", "left"},
      {"exposure_stops", "-1"},
      {"noise", "6"}}},
    {"room: window, look-alikes",
     true,
     {{"room", "footage:gestures/down_00_00e579dc.jpg"}, {"look_alikes", "4"}}},
    {"room: cluttered desk, fast",
     true,
     {{"room", "footage:gestures/photo_09_be8218c3.jpg"},
      {"speed_deg_per_s", "180"},
      {"shutter_ratio", "0.5"},
      {"movement", "abduction"}}},
    {"room: changes every second",
     true,
     {{"room", "footage:gestures"}, {"room_s", "1"}, {"seed", "27"}}},
    {"room: man in orange hoodie",
     true,
     {{"room", "footage:signing/book.mkv"}, {"movement", "abduction"}}},
    {"room: blue panel, 4:2:2",
     true,
     {{"room", "footage:signing/again.mkv"}, {"subsampling", "422"}}},
    {"room: signing, helper",
     true,
     {{"room", "footage:signing/night.mkv"}, {"helper", "elbow 3-4, shoulder 6-7"}}},
};
const int accuracy_scene_count = sizeof accuracy_scenes / sizeof *accuracy_scenes;

const char *scene_setting(const struct accuracy_scene *scene, const char *name,
                          const char *otherwise)
{
    for (int i = 0; i < SCENE_SETTINGS_MAX && scene->setting[i].name; i++)
        if (strcmp(scene->setting[i].name, name) == 0)
            return scene->setting[i].value;
    return otherwise;
}

static bool says(const struct accuracy_scene *scene, const char *name, const char *value)
{
    return strcmp(scene_setting(scene, name, ""), value) == 0;
}

/* One colour for all: what the user would have learnt from the picture. */
static void make_one_colour(struct omo_marker_set *set)
{
    for (int i = 1; i < set->count; i++) {
        set->entry[i].cb = set->entry[0].cb;
        set->entry[i].cr = set->entry[0].cr;
        set->entry[i].luma = set->entry[0].luma;
    }
}

void scene_tracker_settings(const struct accuracy_scene *scene,
                            const struct omo_marker_set *colours,
                            struct omo_tracker_settings *settings)
{
    const char *movement = scene_setting(scene, "movement", "flexion");
    const bool rotation = strstr(movement, "rotation") != NULL;
    const bool side_view =
        strcmp(movement, "flexion") == 0 || strcmp(movement, "extension") == 0;
    memset(settings, 0, sizeof *settings);
    settings->set = *colours;
    settings->body = true;
    settings->side = says(scene, "side", "left") ? OMO_LEFT : OMO_RIGHT;
    settings->view = rotation    ? OMO_VIEW_ALONG_ARM
                     : side_view ? OMO_VIEW_SIDE
                                 : OMO_VIEW_FRONT;
    settings->position =
        omo_position_from_name(scene_setting(scene, "position", "standing"));
    /* The measured side is turned to the camera: a left one faces picture left. */
    settings->facing_left = settings->side == OMO_LEFT && !says(scene, "view", "front");
    settings->needed = rotation ? 1u << OMO_ELBOW | 1u << OMO_WRIST
                                : 1u << OMO_SHOULDER | 1u << OMO_ELBOW;
    if (scene_setting(scene, "one_colour", NULL))
        make_one_colour(&settings->set);
    for (int i = 0; i < settings->set.count && says(scene, "shape", "band"); i++)
        settings->set.entry[i].shape = OMO_BAND;
}
