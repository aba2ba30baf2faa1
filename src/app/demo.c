#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/budget_words.h"
#include "app/commands.h"
#include "app/demo.h"
#include "app/measure_options.h"
#include "app/options.h"
#include "app/pipeline.h"
#include "app/progress_line.h"
#include "app/set_up.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/models.h"
#include "omogon/simulated.h"
#include "omogon/text.h"
#include "omogon/words.h"

/** The demo in lines of text: the scene is read as fast as it can be. */
struct watching {
    struct omo_truth_series truth;
    struct omo_source *source;
    int64_t frames_expected;
    bool budget;
};

static bool note_truth(const struct omo_track_frame *frame, int side, void *user)
{
    (void)side;
    struct watching *watching = user;
    struct omo_truth truth;
    omo_simulated_truth(watching->source, &truth);
    omo_truth_series_add(&watching->truth, &truth);
    omo_progress_show((double)frame->index / (double)watching->frames_expected,
                      omo_word("watching the invented person"));
    return true;
}

void omo_demo_print_comparison(const struct omo_truth_series *series, double first_s,
                               double last_s, const struct omo_result *result)
{
    struct omo_truth_line line[OMO_TRUTH_LINES];
    omo_truth_compare(series, first_s, last_s, result, line);
    printf("\n  %-44s %9s %9s\n", "", omo_word("measured"), omo_word("true"));
    for (int i = 0; i < OMO_TRUTH_LINES; i++) {
        char m[32], t[32];
        omo_number_text(line[i].measured, line[i].decimals, m, sizeof m);
        omo_number_text(line[i].truth, line[i].decimals, t, sizeof t);
        /* The field counts characters, not bytes. */
        int pad = 44 - (int)g_utf8_strlen(line[i].what, -1);
        printf("  %s%*s %9s %9s  %s\n", line[i].what, MAX(pad, 0), "", m, t,
               line[i].unit);
    }
    puts(omo_word(
        "  The stickers lie beside the joints, and chest to hip is not the spine: "
        "that is what\n  \"good to\" allows for."));
}

void omo_demo_print_files(const char *directory, const char *trace, const char *picture,
                          bool added)
{
    printf("\n%s\n",
           added ? omo_word("Saved:") : omo_word("Saved before, nothing changed:"));
    printf(omo_word("  %s/sessions.csv   one row a movement\n"), directory);
    printf(omo_word("  %s/%s   every frame\n"), directory, trace);
    if (picture[0])
        printf(omo_word("  %s   the highest frame, head covered\n"), picture);
    printf("\n%s\n%s", omo_word("The person and every figure are invented."),
           omo_word(OMO_CAUTION));
}

/** The demo's row: same data, same id. */
static enum omo_status begin_row(const struct omo_plan *plan, struct omo_session_row *row)
{
    char path[4096];
    g_autofree char *scene = NULL;
    gsize size = 0;
    if (omo_models_path("scenes/demo.ini", path, sizeof path) != OMO_OK ||
        !g_file_get_contents(path, &scene, &size, NULL)) {
        omo_error("the scene models/scenes/demo.ini is missing; install omogon again or "
                  "set OMOGON_MODELS");
        return OMO_ERR_OPEN;
    }
    struct omo_id *id = omo_id_create();
    omo_id_add(id, scene, size);
    omo_plan_identify(plan, id);
    *row = plan->row;
    omo_id_finish(id, row->id);
    omo_text_copy(row->source, sizeof row->source, "demo (invented)");
    return OMO_OK;
}

/** Measures the frames, saves trace, row and picture, prints what came out. */
static enum omo_status measure_and_save(const struct omo_plan *plan,
                                        struct omo_record *record, const char *directory,
                                        const struct omo_scene *scene,
                                        const struct omo_tracked *tracked,
                                        const struct omo_source_info *info,
                                        struct omo_session_row *row,
                                        const struct watching *watching)
{
    struct omo_measure_settings settings = plan->measure;
    struct omo_result result;
    struct omo_trace_file *trace = NULL;
    struct omo_source *again = NULL;
    char picture[4200] = "";
    bool added = false;
    settings.picture_width = info->width;
    settings.picture_height = info->height;
    struct omo_trace_row *rows = g_new0(struct omo_trace_row, tracked->count + 1);
    enum omo_status status =
        omo_measure(&settings, tracked->frame, tracked->count, rows, &result);
    if (status == OMO_ERR_EMPTY)
        omo_error("the invented person's markers were not found; please report this");
    if (status != OMO_OK)
        goto done;
    omo_demo_print_comparison(&watching->truth, -INFINITY, INFINITY, &result);
    omo_row_fill(row, &result);
    if (watching->budget) {
        putchar('\n');
        omo_budget_print(result.budget, row);
    }
    omo_text_add(picture, sizeof picture, "%s/demo.highest.jpg", directory);
    if (!omo_record_find(record, row->id, row)) {
        status = omo_trace_begin(record, "demo", info->width, info->height, &trace,
                                 row->trace);
        if (status == OMO_OK)
            status = omo_trace_finish(trace, rows, tracked->count);
        struct omo_set_up_row set_up;
        omo_set_up_fill(plan,
                        &(struct omo_set_up_seen){"simulated camera", "", info->width,
                                                  info->height, info->frames_per_second,
                                                  rows, tracked->count},
                        &set_up);
        if (status == OMO_OK)
            omo_set_up_save(record, &set_up, row);
        if (status == OMO_OK)
            status = omo_record_append(record, row, &added);
    }
    const struct omo_trace_row *highest =
        omo_row_of_frame(rows, tracked->count, result.frame_at_max);
    if (status == OMO_OK && highest)
        status = omo_simulated_open(scene, &again);
    if (status == OMO_OK && again)
        status = omo_highest_write(again,
                                   &(struct omo_highest){highest, &result, &settings, row,
                                                         false},
                                   picture);
    if (status == OMO_OK)
        omo_demo_print_files(directory, row->trace, picture, added);
done:
    omo_trace_close(trace, true);
    omo_source_destroy(again);
    g_free(rows);
    return status;
}

static enum omo_status watch(const struct omo_plan *plan, const char *directory,
                             struct omo_record *record, bool budget)
{
    struct omo_tracked tracked = {0};
    struct omo_tracker *tracker = NULL;
    struct omo_session_row row;
    struct watching watching = {.budget = budget};
    omo_truth_series_init(&watching.truth);
    struct omo_scene *scene = omo_scene_create();
    enum omo_status status = omo_scene_load(scene, "demo");
    if (status == OMO_OK)
        status = omo_simulated_open(scene, &watching.source);
    if (status == OMO_OK)
        status = omo_tracker_create(&plan->tracker, &tracker);
    if (status == OMO_OK)
        status = begin_row(plan, &row);
    if (status == OMO_OK) {
        const struct omo_source_info *info = omo_source_info(watching.source);
        watching.frames_expected = MAX(info->frame_count, 1);
        omo_progress_begin();
        status =
            omo_track_source(watching.source, tracker, note_truth, &watching, &tracked);
        omo_progress_end();
        if (status == OMO_OK)
            status = measure_and_save(plan, record, directory, scene, &tracked, info,
                                      &row, &watching);
    }
    omo_tracker_destroy(tracker);
    omo_tracked_finish(&tracked);
    omo_source_destroy(watching.source);
    omo_scene_destroy(scene);
    omo_truth_series_finish(&watching.truth);
    return status;
}

/** As text where there is no window to open. */
static int run(const struct omo_plan *plan, const char *directory, bool in_window,
               bool budget)
{
    struct omo_record *record;
    struct omo_screen *screen = NULL;
    int code = OMO_EXIT_FAILED;
    if (omo_record_open(directory, true, &record) != OMO_OK)
        return code;
    const struct omo_screen_settings settings = {.title = "omogon"};
    if (in_window && omo_screen_open(&settings, &screen) == OMO_OK) {
        struct omo_sound *sound = NULL;
        if (omo_sound_open(omo_words_language(), &sound) != OMO_OK)
            sound = NULL;
        omo_measuring_catch_signals();
        bool leave;
        code = omo_demo_in_window(plan, record, directory, screen, sound, &leave);
        if (sound && !omo_measuring_interrupted())
            omo_sound_wait(sound, 3);
        omo_sound_destroy(sound);
        omo_screen_destroy(screen);
    } else {
        puts(omo_word(
            "An invented person raises a stiff right arm to the front, three times."));
        if (watch(plan, directory, record, budget) == OMO_OK)
            code = OMO_EXIT_DONE;
    }
    omo_record_close(record);
    return code;
}

bool omo_demo_plan(struct omo_plan *plan)
{
    /* The demo goes through the same words as a person's own call. */
    struct omo_option_words words = {.movement = g_strdup("flexion"),
                                     .side = g_strdup("right"),
                                     .person = g_strdup("DEMO")};
    bool good = omo_plan_resolve(&words, true, plan);
    omo_options_finish(&words);
    return good;
}

int omo_command_demo(int argc, char **argv)
{
    char *out = NULL;
    gboolean no_window = FALSE, budget = FALSE;
    const GOptionEntry entries[] = {
        {"out", 'o', 0, G_OPTION_ARG_FILENAME, &out,
         OMO_WORD("folder for the demo's files (default: omogon-demo here)"), "DIR"},
        {"no-window", 0, 0, G_OPTION_ARG_NONE, &no_window,
         OMO_WORD("in the terminal, as fast as the machine can"), NULL},
        {"budget", 0, 0, G_OPTION_ARG_NONE, &budget,
         OMO_WORD("in the terminal: also what the figures are good to, source by source"),
         NULL},
        {0},
    };
    GOptionContext *context = g_option_context_new(NULL);
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD("The whole job on an invented person with a stiff right shoulder: a "
                 "simulated camera\nfilms three raises to the front, every frame is "
                 "measured from the picture alone, and\nthe result is shown beside what "
                 "the simulation knows to be true. In the window where\nthere is a "
                 "display, at the pace of life; else in the terminal."),
        NULL, false);
    int code = OMO_EXIT_USAGE;
    struct omo_plan plan;
    if (omo_options_parse(context, &argc, &argv)) {
        if (argc > 1)
            omo_error("demo takes no \"%s\"; \"omogon demo --help\" lists the options",
                      argv[1]);
        else if (omo_demo_plan(&plan)) {
            bool window = !no_window && !budget && omo_display_there();
            code = run(&plan, out ? out : "omogon-demo", window, budget);
            omo_plan_finish(&plan);
        }
    }
    g_option_context_free(context);
    g_free(out);
    return code;
}
