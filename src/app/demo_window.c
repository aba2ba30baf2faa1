#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/demo.h"
#include "app/measuring.h"
#include "app/measuring_words.h"
#include "app/pipeline.h"
#include "app/result_page.h"
#include "omogon/text.h"
#include "omogon/words.h"

/** The scene with six still seconds first, three raises and stillness at the end. */
#define LIVE_SCENE "live"

static void note_truth(const struct omo_truth *truth, void *user)
{
    omo_truth_series_add(user, truth);
}

/** Measured beside true, as sentences. */
static bool show_comparison(struct omo_screen *screen,
                            const struct omo_truth_series *truth,
                            const struct omo_saved *saved)
{
    g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
    struct omo_truth_line line[OMO_TRUTH_LINES];
    omo_truth_compare(truth, saved->first_s, saved->last_s, &saved->result, line);
    for (int i = 0; i < OMO_TRUTH_LINES; i++) {
        char m[32], t[32];
        omo_number_text(line[i].measured, line[i].decimals, m, sizeof m);
        omo_number_text(line[i].truth, line[i].decimals, t, sizeof t);
        if (m[0] && t[0])
            g_ptr_array_add(lines,
                            g_strdup_printf(omo_word("%s: measured %s, true %s %s"),
                                            line[i].what, m, t, line[i].unit));
        else if (m[0])
            g_ptr_array_add(lines,
                            g_strdup_printf("%s: %s %s", line[i].what, m, line[i].unit));
    }
    g_ptr_array_add(lines,
                    g_strdup(omo_word("The person and every figure are invented.")));
    const char *items[] = {omo_word("Done")};
    struct omo_list_page page = {.title = omo_word("What was measured, and what is true"),
                                 .lines = (const char *const *)lines->pdata,
                                 .line_count = (int)lines->len,
                                 .items = items,
                                 .item_count = 1,
                                 .chosen = 0,
                                 .foot = omo_caution_words()};
    return omo_ask_page(screen, &page, 30) == -2;
}

/** The highest frame of a fresh reading of the scene, annotated; "" when it failed. */
static void write_picture(const struct omo_measuring *m, const struct omo_saved *saved,
                          char *path, size_t size)
{
    struct omo_source *again = NULL;
    struct omo_measure_settings settings = m->plan->measure;
    settings.picture_width = m->camera.got.width;
    settings.picture_height = m->camera.got.height;
    path[0] = '\0';
    omo_text_add(path, size, "%s/demo-live.highest.jpg", m->directory);
    if (!saved->has_highest || omo_simulated_open(m->feed.scene, &again) != OMO_OK ||
        omo_highest_write(again,
                          &(struct omo_highest){&saved->highest, &saved->result,
                                                &settings, &saved->row, false},
                          path) != OMO_OK)
        path[0] = '\0';
    omo_source_destroy(again);
}

int omo_demo_in_window(const struct omo_plan *plan, struct omo_record *record,
                       const char *directory, struct omo_screen *screen,
                       struct omo_sound *sound, bool *leave)
{
    struct omo_truth_series truth;
    struct omo_scene *scene = omo_scene_create();
    struct omo_measuring m = {
        .plan = plan,
        .record = record,
        .directory = directory,
        .feed = {.scene = scene, .truth = note_truth, .user = &truth},
        .source = "demo (invented)",
        .screen = screen,
        .quiet = true,
        .sound = sound,
        .mirror = false,
        .patience_s = 30,
        .rest_s = 30,
        .movements = 1,
        .most_s = NAN,
        .saved = g_array_new(FALSE, FALSE, sizeof(struct omo_saved))};
    int code = OMO_EXIT_FAILED;
    omo_truth_series_init(&truth);
    if (omo_scene_load(scene, LIVE_SCENE) == OMO_OK)
        code = omo_measuring_run(&m);
    *leave = m.left;
    if (code == OMO_EXIT_DONE && m.saved->len > 0) {
        const struct omo_saved *saved = &g_array_index(m.saved, struct omo_saved, 0);
        char picture[4300];
        write_picture(&m, saved, picture, sizeof picture);
        omo_demo_print_comparison(&truth, saved->first_s, saved->last_s, &saved->result);
        omo_demo_print_files(directory, saved->row.trace, picture, true);
        if (!m.left)
            *leave = show_comparison(screen, &truth, saved);
    }
    omo_truth_series_finish(&truth);
    g_array_unref(m.saved);
    omo_scene_destroy(scene);
    return code;
}

bool omo_demo_page(struct omo_screen *screen, struct omo_sound *sound)
{
    g_autofree char *directory =
        g_build_filename(g_get_user_data_dir(), "omogon", "demo", NULL);
    struct omo_record *record;
    struct omo_plan plan;
    bool leave = false;
    if (!omo_demo_plan(&plan))
        return false;
    if (omo_record_open(directory, true, &record) == OMO_OK) {
        /* What fails is said by who detects it; the page before comes back. */
        (void)omo_demo_in_window(&plan, record, directory, screen, sound, &leave);
        omo_record_close(record);
    }
    omo_plan_finish(&plan);
    return leave;
}
