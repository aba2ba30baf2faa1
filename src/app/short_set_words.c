/* The words that one movement of the short set is measured with. */
#include <string.h>

#include "app/short_set.h"
#include "omogon/text.h"

/* Of an invented person, dressed for each movement. */
#define SCENE      "live"
#define SCENE_WORD "set"

void omo_short_set_words(const struct omo_measure_words *given, const char *visit,
                         const struct omo_short_set_item *item,
                         struct omo_measure_words *words)
{
    struct omo_option_words *common = &words->common;
    omo_measure_words_share(given, words);
    common->movement = g_strdup(item->movement);
    common->side = g_strdup(omo_side_name(item->side));
    common->person = given->common.person ? g_strdup(given->common.person) : NULL;
    common->mode = given->common.mode ? g_strdup(given->common.mode) : NULL;
    common->visit = g_strdup(visit);
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
    return omo_scene_dress(scene, item->movement, item->side, wish) &&
           (!scene || item->place < OMO_SET_LYING_LEFT || lay_down(scene));
}
