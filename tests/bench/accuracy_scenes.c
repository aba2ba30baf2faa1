#include "accuracy_scenes.h"

#include <stdio.h>
#include <string.h>

#include <glib.h>

#include "omogon/log.h"
#include "omogon/models.h"

const struct accuracy_scene accuracy_scenes[] = {
    /* Good light, and the movements in turn. */
    {"good-light-420", NULL, {{0}}},
    {"good-light-422", NULL, {{0}}},
    {"small-reference-420", NULL, {{0}}},
    {"abduction-left", NULL, {{0}}},
    {"abduction-behind", NULL, {{0}}},
    {"adduction", NULL, {{0}}},
    {"extension", NULL, {{0}}},
    {"external-rotation", NULL, {{0}}},
    {"internal-rotation", NULL, {{0}}},
    {"seated", NULL, {{0}}},
    {"supine", NULL, {{0}}},
    {"side-lying", NULL, {{0}}},
    {"trick-movements", NULL, {{0}}},
    {"demo", NULL, {{0}}},
    /* Light and camera. */
    {"dim-warm", NULL, {{0}}},
    {"cool-light", NULL, {{0}}},
    {"slow-drift", NULL, {{0}}},
    {"low-sun", NULL, {{0}}},
    {"glossy", NULL, {{0}}},
    {"fast-blur", NULL, {{0}}},
    {"small-stickers", NULL, {{0}}},
    {"large-stickers", NULL, {{0}}},
    {"bump", NULL, {{0}}},
    {"uneven-time", NULL, {{0}}},
    {"small picture", "good-light-420", {{"width", "640"}, {"height", "480"}}},
    {"strong compression", "good-light-420", {{"quality", "50"}}},
    /* What else is in the room. */
    {"look-alikes", NULL, {{0}}},
    {"mirror", NULL, {{0}}},
    {"screen", NULL, {{0}}},
    {"second-person", NULL, {{0}}},
    {"both-arms", NULL, {{0}}},
    {"look-alikes, screen, warm",
     "look-alikes",
     {{"screen", "yes"}, {"cast", "125 100 70"}, {"noise", "6"}}},
    /* The person. */
    {"helper-hand", NULL, {{0}}},
    {"turned-away", NULL, {{0}}},
    {"marker-falls", NULL, {{0}}},
    {"near-sleeves", NULL, {{0}}},
    {"gloves", NULL, {{0}}},
    {"beard", NULL, {{0}}},
    {"long-hair", NULL, {{0}}},
    {"light-skin", NULL, {{0}}},
    {"dark-skin", NULL, {{0}}},
    {"bands", NULL, {{0}}},
    {"one-colour", NULL, {{0}}},
    /* Real rooms behind. */
    {"room-sofa", NULL, {{0}}},
    {"room-office", NULL, {{0}}},
    {"room-whiteboard", NULL, {{0}}},
    {"room-orange-bag", NULL, {{0}}},
    {"room-desk", NULL, {{0}}},
    {"room-window", NULL, {{0}}},
    {"room-moving", NULL, {{0}}},
    {"room-moving-panel", NULL, {{0}}},
    {"room-changing", NULL, {{0}}},
    {"room-sofa, warm, dim",
     "room-sofa",
     {{"cast", "130 100 62"}, {"exposure_stops", "-1.2"}, {"noise", "7"}}},
    {"room-orange-bag, fast",
     "room-orange-bag",
     {{"speed_deg_per_s", "200"}, {"repetitions", "5"}, {"shutter_ratio", "0.6"}}},
};
const int accuracy_scene_count = sizeof accuracy_scenes / sizeof *accuracy_scenes;

static const char *file_of(const struct accuracy_scene *scene)
{
    return scene->file ? scene->file : scene->title;
}

bool scene_load(const struct accuracy_scene *scene, struct omo_scene *out)
{
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
    return omo_set_load(name, set) == OMO_OK;
}

static bool facts_of_file(GKeyFile *file, struct scene_facts *facts)
{
    char movement[64], value[512];
    struct omo_tracker_settings *tracker = &facts->tracker;
    memset(facts, 0, sizeof *facts);
    value_of(file, "movement", "flexion", movement, sizeof movement);
    facts->rotation = strstr(movement, "rotation") != NULL;
    const bool side_view =
        strcmp(movement, "flexion") == 0 || strcmp(movement, "extension") == 0;
    facts->chest = strstr(value_of(file, "markers", "", value, sizeof value), "chest");
    facts->real_room =
        g_str_has_prefix(value_of(file, "room", "", value, sizeof value), "footage:");
    tracker->body = true;
    value_of(file, "side", "right", value, sizeof value);
    tracker->side = strcmp(value, "left") == 0 ? OMO_LEFT : OMO_RIGHT;
    tracker->view = OMO_VIEW_FRONT;
    if (facts->rotation)
        tracker->view = OMO_VIEW_ALONG_ARM;
    else if (side_view)
        tracker->view = OMO_VIEW_SIDE;
    tracker->position = omo_position_from_name(
        value_of(file, "position", "standing", value, sizeof value));
    tracker->from_behind = is_yes(file, "from_behind");
    tracker->mirrored = is_yes(file, "mirrored");
    /* The measured side is turned to the camera: a left one faces picture left. */
    tracker->facing_left = tracker->side == OMO_LEFT;
    tracker->needed = facts->rotation ? 1u << OMO_ELBOW | 1u << OMO_WRIST
                                      : 1u << OMO_SHOULDER | 1u << OMO_ELBOW;
    return load_colours(file, &tracker->set);
}

bool scene_facts_read(const struct accuracy_scene *scene, struct scene_facts *facts)
{
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
