/* The words that one movement of the short set is measured with. */
#include <string.h>

#include "app/short_set.h"
#include "omogon/text.h"

/* Of an invented person, dressed for each movement. */
#define SCENE      "live"
#define SCENE_WORD "set"

static char *copy(const char *text)
{
    return text ? g_strdup(text) : NULL;
}

void omo_short_set_words(const struct omo_measure_words *given, const char *visit,
                         const struct omo_short_set_item *item,
                         struct omo_measure_words *words)
{
    struct omo_option_words *common = &words->common;
    *words = (struct omo_measure_words){0};
    common->movement = g_strdup(item->movement);
    common->side = g_strdup(omo_side_name(item->side));
    common->person = copy(given->common.person);
    common->visit = g_strdup(visit);
    common->rater = copy(given->common.rater);
    common->note = copy(given->common.note);
    common->mode = copy(given->common.mode);
    common->colours = copy(given->common.colours);
    common->marker_size = copy(given->common.marker_size);
    common->lens = copy(given->common.lens);
    common->data = copy(given->common.data);
    common->out = copy(given->common.out);
    common->placement = copy(given->common.placement);
    common->shoulder_marker = copy(given->common.shoulder_marker);
    words->camera = copy(given->camera);
    words->size = copy(given->size);
    words->patience = copy(given->patience);
    words->sound = given->sound;
    words->no_sound = given->no_sound;
    words->flash = given->flash;
    words->no_mirror = given->no_mirror;
    words->photo_stills = given->photo_stills;
    if (given->scene)
        words->scene = g_strdup(strcmp(given->scene, SCENE_WORD) ? given->scene : SCENE);
}

/** An invented person on the back turns the forearm, by less than an arm is raised. */
static bool lay_down(struct omo_scene *scene)
{
    return omo_scene_set(scene, "position", "supine") == OMO_OK &&
           omo_scene_set(scene, "arc_deg", "55") == OMO_OK &&
           omo_scene_set(scene, "start_deg", "0") == OMO_OK;
}

bool omo_short_set_dress(struct omo_scene *scene, const struct omo_short_set_item *item,
                         const struct omo_camera_wish *wish)
{
    char width[16] = "", height[16] = "";
    if (!scene)
        return true;
    omo_text_add(width, sizeof width, "%d", wish->width);
    omo_text_add(height, sizeof height, "%d", wish->height);
    return (wish->width <= 0 || (omo_scene_set(scene, "width", width) == OMO_OK &&
                                 omo_scene_set(scene, "height", height) == OMO_OK)) &&
           omo_scene_set(scene, "movement", item->movement) == OMO_OK &&
           omo_scene_set(scene, "side", omo_side_name(item->side)) == OMO_OK &&
           (item->place < OMO_SET_LYING_LEFT || lay_down(scene));
}
