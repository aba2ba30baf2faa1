#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/live_report.h"
#include "app/measure_options.h"
#include "app/measuring_limits.h"
#include "app/options.h"
#include "app/pipeline.h"
#include "app/short_set.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* The last sentence is heard to its end, but nobody waits long for it. */
#define SPEECH_MOST_S 6

static GOptionContext *make_context(struct omo_measure_words *w)
{
    GOptionContext *context = g_option_context_new(NULL);
    omo_options_add(context, &w->common);
    omo_measure_options_add(context, w);
    omo_help_texts(
        context,
        OMO_WORD("Measures with the camera, hands free: stand (or sit, or lie) still "
                 "with the arm "
                 "at rest;\nafter six seconds a tone says that measuring begins. Raise "
                 "the arm as "
                 "far as is comfortable\nand lower it, up to five times; fifteen still "
                 "seconds "
                 "end "
                 "it. Any key or presentation\nremote marks where pain begins or ends, "
                 "so does a "
                 "pause of a second; \"enough for today\" (E)\nis always one press. The "
                 "figures "
                 "are saved by themselves."),
        OMO_WORD("Examples:\n"
                 "  omogon measure --movement flexion --side right\n"
                 "  omogon measure -m abduction -s left --person P07 --movements 2\n"
                 "  omogon measure -m abduction -s both\n"
                 "  omogon measure --short-set --person P07\n"
                 "  omogon measure -m flexion -s right --simulated live --no-window\n\n"
                 "Exit: 0 done; 1 no camera, no picture for too long, or a file not "
                 "written; 2 "
                 "the call\nis wrong.\n"),
        true);
    return context;
}

static int list_cameras(void)
{
    struct omo_camera_entry entry[16];
    int count = omo_camera_list(NULL, entry, G_N_ELEMENTS(entry));
    for (int i = 0; i < count; i++)
        printf("%s  %s\n", entry[i].path, entry[i].name);
    if (count == 0)
        omo_error("%s", omo_word(omo_camera_fault_text(omo_camera_list_fault(NULL))));
    return count > 0 ? OMO_EXIT_DONE : OMO_EXIT_FAILED;
}

/** Camera and switches of this run are the next one's defaults. */
static void remember(const struct omo_measure_words *w, const struct omo_measuring *m,
                     struct omo_preferences *preferences)
{
    if (w->scene || w->common.out)
        return;
    if (w->camera)
        omo_preferences_camera(preferences, w->camera, m->camera.got.name);
    preferences->mirror = m->mirror;
    omo_text_copy(preferences->movement, sizeof preferences->movement,
                  m->plan->row.movement);
    omo_text_copy(preferences->side, sizeof preferences->side,
                  m->plan->both_sides ? "both" : m->plan->row.side);
    omo_preferences_save(preferences);
}

static int measure(const struct omo_measure_words *w, const struct omo_plan *plan)
{
    struct omo_preferences preferences;
    struct omo_measuring m = {0};
    struct omo_scene *scene = NULL;
    char directory[4096], why[256];
    int code = OMO_EXIT_USAGE;
    omo_preferences_load(&preferences);
    if (!omo_measure_resolve(w, plan, &preferences, &m, &scene))
        goto done;
    enum omo_status status = omo_measure_open_screen(w, &m.screen);
    if (status != OMO_OK) {
        code = status == OMO_ERR_ARG ? OMO_EXIT_USAGE : OMO_EXIT_FAILED;
        goto done;
    }
    code = OMO_EXIT_FAILED;
    if (omo_open_record(&w->common, &m.record, directory, sizeof directory) != OMO_OK)
        goto done;
    m.directory = directory;
    m.quiet = w->json;
    if (!omo_measuring_limits(&m, plan, why, sizeof why)) {
        if (why[0])
            omo_error("%s (\"omogon people --person %s\" shows the limits)", why,
                      plan->row.person);
        goto done;
    }
    m.saved = g_array_new(FALSE, FALSE, sizeof(struct omo_saved));
    if (omo_sound_open(omo_words_language(), &m.sound) != OMO_OK)
        m.sound = NULL;
    omo_measuring_catch_signals();
    code = omo_measuring_run(&m);
    remember(w, &m, &preferences);
    omo_live_report(&m, w->json, w->budget);
    if (m.sound && m.sound_on && !omo_measuring_interrupted())
        omo_sound_wait(m.sound, SPEECH_MOST_S);
done:
    omo_sound_destroy(m.sound);
    omo_screen_destroy(m.screen);
    if (m.saved)
        g_array_unref(m.saved);
    if (m.record)
        omo_record_close(m.record);
    omo_scene_destroy(scene);
    return code;
}

int omo_command_measure(int argc, char **argv)
{
    struct omo_measure_words w = {.common.takes_both_sides = true};
    struct omo_plan plan;
    GOptionContext *context = make_context(&w);
    int code = OMO_EXIT_USAGE;
    if (omo_options_parse(context, &argc, &argv)) {
        if (argc > 1)
            omo_error("measure takes no \"%s\"; clips are measured by \"omogon trace\"",
                      argv[1]);
        else if (w.list)
            code = list_cameras();
        else if (w.common.data && w.common.out)
            omo_error("--data and --out exclude each other; name one folder");
        else if (w.short_set)
            code = omo_short_set_run(&w);
        else if (omo_plan_resolve(&w.common, true, &plan)) {
            code = measure(&w, &plan);
            omo_plan_finish(&plan);
        }
    }
    g_option_context_free(context);
    omo_measure_words_finish(&w);
    return code;
}
