#include "app/lens_plan.h"

#include <string.h>

#include "app/lens_file.h"
#include "app/pipeline.h"
#include "omogon/log.h"
#include "omogon/text.h"

static void use(struct omo_plan *plan, const struct omo_lens_profile *profile)
{
    char sentence[128] = "";
    plan->has_lens = true;
    plan->lens = profile->lens;
    omo_text_copy(plan->lens_name, sizeof plan->lens_name, profile->name);
    omo_text_add(sentence, sizeof sentence, "Lens profile %s.", profile->name);
    omo_row_note(&plan->row, sentence);
}

bool omo_plan_resolve_lens(const struct omo_option_words *w, struct omo_plan *plan)
{
    struct omo_lens_profile profile;
    plan->lens_data = w->data;
    plan->lens_kept = !w->out;
    plan->lens_chosen = w->lens != NULL;
    if (!w->lens || !strcmp(w->lens, "none"))
        return true;
    if (!plan->movement) {
        omo_error("--lens changes no sticker's position, only angles; leave it out with "
                  "--stickers-only");
        return false;
    }
    if (omo_lens_load(w->data, w->lens, &profile, &plan->lens_text) != OMO_OK)
        return false;
    use(plan, &profile);
    return true;
}

void omo_plan_camera_lens(struct omo_plan *plan, const char *camera)
{
    struct omo_lens_profile profile;
    char name[64];
    if (!camera[0] || !plan->movement)
        return;
    if (plan->lens_chosen) {
        const char *chosen = plan->has_lens ? plan->lens_name : "none";
        g_autofree char *path = omo_lens_path(plan->lens_data, chosen);
        /* A file from elsewhere has no name to be found by. */
        if (plan->lens_kept &&
            (!plan->has_lens || g_file_test(path, G_FILE_TEST_IS_REGULAR)))
            omo_lens_remember(plan->lens_data, camera, chosen);
        return;
    }
    omo_lens_remembered(plan->lens_data, camera, name, sizeof name);
    if (name[0] && strcmp(name, "none") != 0 &&
        omo_lens_load(plan->lens_data, name, &profile, NULL) == OMO_OK)
        use(plan, &profile);
}

bool omo_plan_fit_lens(const struct omo_plan *plan, int width, int height,
                       struct omo_lens *room, const struct omo_lens **lens)
{
    *lens = NULL;
    if (!plan->has_lens)
        return true;
    if (!omo_lens_scale(&plan->lens, width, height, room)) {
        omo_error(
            "the lens profile \"%s\" is of pictures of another shape (%d x %d, here "
            "%d x %d); calibrate in this size, or use --lens none",
            plan->lens_name, plan->lens.width, plan->lens.height, width, height);
        return false;
    }
    *lens = room;
    return true;
}
