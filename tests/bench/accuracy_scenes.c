#include "accuracy_scenes.h"

#include <stdio.h>
#include <string.h>

#include <glib.h>

#include "omogon/log.h"
#include "omogon/models.h"

const struct accuracy_scene accuracy_scenes[] = {
    /* Good light, and the movements in turn. */
    {"good-light-420", NULL, {{0}}, NULL},
    {"good-light-422", NULL, {{0}}, NULL},
    {"small-reference-420", NULL, {{0}}, NULL},
    {"abduction-left", NULL, {{0}}, NULL},
    {"abduction-behind", NULL, {{0}}, NULL},
    {"adduction", NULL, {{0}}, NULL},
    {"extension", NULL, {{0}}, NULL},
    {"external-rotation", NULL, {{0}}, NULL},
    {"internal-rotation", NULL, {{0}}, NULL},
    {"external-rotation-supine-45", NULL, {{0}}, NULL},
    {"external-rotation-front", NULL, {{0}}, NULL},
    {"seated", NULL, {{0}}, NULL},
    {"supine", NULL, {{0}}, NULL},
    {"side-lying", NULL, {{0}}, NULL},
    {"trick-movements", NULL, {{0}}, NULL},
    {"demo", NULL, {{0}}, NULL},
    /* Light and camera. */
    {"dim-warm", NULL, {{0}}, NULL},
    {"cool-light", NULL, {{0}}, NULL},
    {"slow-drift", NULL, {{0}}, NULL},
    {"low-sun", NULL, {{0}}, NULL},
    {"glossy", NULL, {{0}}, NULL},
    {"fast-blur", NULL, {{0}}, NULL},
    {"small-stickers", NULL, {{0}}, NULL},
    {"large-stickers", NULL, {{0}}, NULL},
    {"bump", NULL, {{0}}, NULL},
    {"uneven-time", NULL, {{0}}, NULL},
    {"small picture", "good-light-420", {{"width", "640"}, {"height", "480"}}, NULL},
    {"strong compression", "good-light-420", {{"quality", "50"}}, NULL},
    /* What else is in the room. */
    {"look-alikes", NULL, {{0}}, NULL},
    {"mirror", NULL, {{0}}, NULL},
    {"screen", NULL, {{0}}, NULL},
    {"second-person", NULL, {{0}}, NULL},
    {"both-arms", NULL, {{0}}, NULL},
    {"both-raised", NULL, {{0}}, NULL},
    {"both-lagging", NULL, {{0}}, NULL},
    {"acromion", NULL, {{0}}, NULL},
    {"look-alikes, screen, warm",
     "look-alikes",
     {{"screen", "yes"}, {"cast", "125 100 70"}, {"noise", "6"}},
     NULL},
    /* The person. */
    {"helper-hand", NULL, {{0}}, NULL},
    {"turned-away", NULL, {{0}}, NULL},
    {"marker-falls", NULL, {{0}}, NULL},
    {"near-sleeves", NULL, {{0}}, NULL},
    {"gloves", NULL, {{0}}, NULL},
    {"beard", NULL, {{0}}, NULL},
    {"long-hair", NULL, {{0}}, NULL},
    {"light-skin", NULL, {{0}}, NULL},
    {"dark-skin", NULL, {{0}}, NULL},
    {"bands", NULL, {{0}}, NULL},
    {"one-colour", NULL, {{0}}, NULL},
    /* Real rooms behind. */
    {"room-sofa", NULL, {{0}}, NULL},
    {"room-office", NULL, {{0}}, NULL},
    {"room-whiteboard", NULL, {{0}}, NULL},
    {"room-orange-bag", NULL, {{0}}, NULL},
    {"room-desk", NULL, {{0}}, NULL},
    {"room-window", NULL, {{0}}, NULL},
    {"room-moving", NULL, {{0}}, NULL},
    {"room-moving-panel", NULL, {{0}}, NULL},
    {"room-changing", NULL, {{0}}, NULL},
    {"room-sofa, warm, dim",
     "room-sofa",
     {{"cast", "130 100 62"}, {"exposure_stops", "-1.2"}, {"noise", "7"}},
     NULL},
    {"room-orange-bag, fast",
     "room-orange-bag",
     {{"speed_deg_per_s", "200"}, {"repetitions", "5"}, {"shutter_ratio", "0.6"}},
     NULL},
};
const int accuracy_scene_count = sizeof accuracy_scenes / sizeof *accuracy_scenes;

static const char *file_of(const struct accuracy_scene *scene)
{
    return scene->file ? scene->file : scene->title;
}

static bool load_keys(GKeyFile *keys, struct omo_scene *out)
{
    gchar **names = g_key_file_get_keys(keys, "scene", NULL, NULL);
    bool fine = names != NULL;
    for (int i = 0; fine && names[i]; i++) {
        gchar *value = g_key_file_get_value(keys, "scene", names[i], NULL);
        fine = omo_scene_set(out, names[i], value) == OMO_OK;
        g_free(value);
    }
    g_strfreev(names);
    return fine;
}

bool scene_load(const struct accuracy_scene *scene, struct omo_scene *out)
{
    if (scene->keys)
        return load_keys(scene->keys, out);
    bool fine = omo_scene_load(out, file_of(scene)) == OMO_OK;
    for (int i = 0; fine && i < SCENE_CHANGES_MAX && scene->change[i].name; i++)
        fine =
            omo_scene_set(out, scene->change[i].name, scene->change[i].value) == OMO_OK;
    return fine;
}

/* The settings that concern the measuring side are never among the changes. */
static const char *value_of(GKeyFile *file, const char *name, const char *otherwise,
                            char *value, size_t size)
{
    gchar *text = g_key_file_get_value(file, "scene", name, NULL);
    g_strlcpy(value, text ? text : otherwise, size);
    g_free(text);
    return value;
}

static bool is_yes(GKeyFile *file, const char *name)
{
    char value[16];
    return strcmp(value_of(file, name, "no", value, sizeof value), "yes") == 0;
}

static bool load_colours(GKeyFile *file, struct omo_marker_set *set)
{
    char value[64];
    const char *name = "default";
    if (strcmp(value_of(file, "shape", "disc", value, sizeof value), "band") == 0)
        name = "bands";
    if (strcmp(value_of(file, "one_colour", "", value, sizeof value), "") != 0)
        name = "green";
    if (strstr(value_of(file, "markers", "", value, sizeof value), "acromion"))
        name = "acromion";
    return omo_set_load(name, set) == OMO_OK;
}

/** Where the movement is usually seen from, or where the scene says. */
static enum omo_view view_of(GKeyFile *file, const char *movement, bool rotation)
{
    char view[32];
    const char *usual = "front";
    if (rotation)
        usual = "along-arm";
    else if (strcmp(movement, "flexion") == 0 || strcmp(movement, "extension") == 0)
        usual = "side";
    value_of(file, "view", usual, view, sizeof view);
    if (strcmp(view, "along-arm") == 0)
        return OMO_VIEW_ALONG_ARM;
    return strcmp(view, "side") == 0 ? OMO_VIEW_SIDE : OMO_VIEW_FRONT;
}

static unsigned needed_of(bool rotation, enum omo_view view)
{
    const unsigned shoulder = 1u << OMO_SHOULDER, elbow = 1u << OMO_ELBOW,
                   wrist = 1u << OMO_WRIST;
    if (view == OMO_VIEW_ALONG_ARM)
        return elbow | wrist;
    return rotation ? shoulder | elbow | wrist : shoulder | elbow;
}

static bool facts_of_file(GKeyFile *file, struct scene_facts *facts)
{
    char movement[64], value[512];
    struct omo_tracker_settings *tracker = &facts->tracker;
    memset(facts, 0, sizeof *facts);
    value_of(file, "movement", "flexion", movement, sizeof movement);
    const bool rotation = strstr(movement, "rotation") != NULL;
    facts->chest = strstr(value_of(file, "markers", "", value, sizeof value), "chest");
    facts->both = is_yes(file, "other_arm_moves");
    facts->real_room =
        g_str_has_prefix(value_of(file, "room", "", value, sizeof value), "footage:");
    tracker->body = true;
    value_of(file, "side", "right", value, sizeof value);
    tracker->side = strcmp(value, "left") == 0 ? OMO_LEFT : OMO_RIGHT;
    tracker->view = view_of(file, movement, rotation);
    /* Towards a camera in front the forearm points out of the picture and has no line. */
    facts->forearm = tracker->view == OMO_VIEW_ALONG_ARM;
    facts->towards = rotation && !facts->forearm;
    tracker->position = omo_position_from_name(
        value_of(file, "position", "standing", value, sizeof value));
    tracker->from_behind = is_yes(file, "from_behind");
    tracker->mirrored = is_yes(file, "mirrored");
    /* The measured side is turned to the camera: a left one faces picture left. */
    tracker->facing_left = (tracker->side == OMO_LEFT) != tracker->mirrored;
    tracker->needed = needed_of(rotation, tracker->view);
    return load_colours(file, &tracker->set);
}

bool scene_facts_read(const struct accuracy_scene *scene, struct scene_facts *facts)
{
    if (scene->keys)
        return facts_of_file(scene->keys, facts);
    char relative[128], path[4096];
    GKeyFile *file = g_key_file_new();
    snprintf(relative, sizeof relative, "scenes/%s.ini", file_of(scene));
    bool fine = omo_models_path(relative, path, sizeof path) == OMO_OK &&
                g_key_file_load_from_file(file, path, G_KEY_FILE_NONE, NULL);
    if (!fine)
        omo_error("The scene %s cannot be read.", relative);
    else
        fine = facts_of_file(file, facts);
    g_key_file_free(file);
    return fine;
}
