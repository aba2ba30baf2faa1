#include "app/placement_page.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "app/measuring_words.h"
#include "app/result_page.h"
#include "omogon/placement.h"
#include "omogon/words.h"

/** What the page shows now. */
struct placement {
    struct omo_placement_settings settings;
    bool good_arm; /**< the measured arm is the good one */
};

static void paint(uint32_t *pixels, int width, int height, int stride_pixels, void *user)
{
    struct omo_placement_settings settings = *(struct omo_placement_settings *)user;
    struct omo_figure *figure = NULL;
    settings.width = width;
    settings.height = height;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            pixels[(size_t)y * (size_t)stride_pixels + (size_t)x] = 0xffffffffu;
    if (omo_placement_figure(&settings, &figure, NULL) != OMO_OK)
        return;
    if (omo_figure_paint(figure, pixels, width, height, stride_pixels) != OMO_OK)
        memset(pixels, 0xff, sizeof *pixels); /* an empty picture is better than half */
    omo_figure_destroy(figure);
}

/** The steps as numbered lines. */
static GPtrArray *list_steps(const struct placement *placement)
{
    GPtrArray *lines = g_ptr_array_new_with_free_func(g_free);
    struct omo_placement_step step[OMO_PLACEMENT_STEPS];
    int count = omo_placement_steps(&placement->settings, !placement->good_arm, step);
    for (int i = 0; i < count; i++)
        g_ptr_array_add(lines, g_strdup_printf("%d. %s", i + 1, step[i].words));
    return lines;
}

/** Shows it until Back; true: the window was left. */
static bool run(struct omo_screen *screen, struct placement *placement)
{
    static const enum omo_view next_view[] = {[OMO_VIEW_FRONT] = OMO_VIEW_SIDE,
                                              [OMO_VIEW_SIDE] = OMO_VIEW_ALONG_ARM,
                                              [OMO_VIEW_ALONG_ARM] = OMO_VIEW_FRONT};
    int chosen = 4;
    for (;;) {
        g_autoptr(GPtrArray) lines = list_steps(placement);
        struct omo_placement_settings *s = &placement->settings;
        const char *items[] = {s->view == OMO_VIEW_FRONT
                                   ? omo_word("Show it from the side")
                               : s->view == OMO_VIEW_SIDE
                                   ? omo_word("Show it along the arm")
                                   : omo_word("Show it from the front"),
                               s->side == OMO_LEFT ? omo_word("Show your right arm")
                                                   : omo_word("Show your left arm"),
                               placement->good_arm ? omo_word("This arm is the stiff one")
                                                   : omo_word("This arm is the good one"),
                               s->modest ? omo_word("Draw it with light clothes")
                                         : omo_word("Draw it with loose clothes"),
                               omo_word("Back")};
        struct omo_list_page page = {.title = omo_word("Where the markers go"),
                                     .lines = (const char *const *)lines->pdata,
                                     .line_count = (int)lines->len,
                                     .items = items,
                                     .item_count = (int)G_N_ELEMENTS(items),
                                     .chosen = chosen,
                                     .foot = omo_placement_caution(0),
                                     .figure = paint,
                                     .user = s};
        int item = omo_ask_page(screen, &page, INFINITY);
        if (item == -2)
            return true;
        if (item == 4 || item < 0)
            return false;
        chosen = item;
        if (item == 0)
            s->view = next_view[s->view];
        else if (item == 1)
            s->side = s->side == OMO_LEFT ? OMO_RIGHT : OMO_LEFT;
        else if (item == 2)
            placement->good_arm = !placement->good_arm;
        else
            s->modest = !s->modest;
    }
}

bool omo_placement_page(struct omo_screen *screen,
                        const struct omo_preferences *preferences,
                        const struct omo_movement_table *table)
{
    const struct omo_movement *movement = omo_movement_find(table, preferences->movement);
    struct placement placement = {
        .settings = {.view = movement ? movement->view : OMO_VIEW_FRONT,
                     .side = strcmp(omo_preferences_arm(preferences), "left")
                                 ? OMO_RIGHT
                                 : OMO_LEFT}};
    return run(screen, &placement);
}

bool omo_placement_help(struct omo_screen *screen,
                        const struct omo_measure_settings *settings,
                        const struct omo_marker_set *set)
{
    struct placement placement = {.settings = {.view = settings->movement->view,
                                               .from_behind = settings->from_behind,
                                               .side = settings->side,
                                               .bands = settings->band[OMO_WRIST]}};
    for (int i = 0; i < set->count; i++)
        placement.settings.acromion |=
            omo_role_from_name(set->entry[i].name) == OMO_ACROMION;
    return run(screen, &placement);
}
