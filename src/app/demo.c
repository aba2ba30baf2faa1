#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/options.h"
#include "app/pipeline.h"
#include "app/progress_line.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/models.h"
#include "omogon/simulated.h"
#include "omogon/text.h"

/** What the scene knows of itself, frame by frame; compared with, never measured from. */
struct truth_series {
    struct omo_source *source;
    GArray *time_s, *angle_deg, *line_deg, *lean_deg, *hike_ratio;
    int64_t frames_expected;
};

static bool note_truth(const struct omo_track_frame *frame, void *user)
{
    struct truth_series *series = user;
    struct omo_truth truth;
    omo_simulated_truth(series->source, &truth);
    g_array_append_val(series->time_s, truth.time_s);
    g_array_append_val(series->angle_deg, truth.angle_deg);
    g_array_append_val(series->line_deg, truth.angle_image_deg);
    g_array_append_val(series->lean_deg, truth.trunk_lean_deg);
    g_array_append_val(series->hike_ratio, truth.hike_ratio);
    omo_progress_show((double)frame->index / (double)series->frames_expected,
                      "watching the invented person");
    return true;
}

static double at(const GArray *values, size_t index)
{
    return index < values->len ? g_array_index(values, double, index) : (double)NAN;
}

static void print_line(const char *what, double measured, double truth, int decimals,
                       const char *unit)
{
    char m[32], t[32];
    omo_number_text(measured, decimals, m, sizeof m);
    omo_number_text(truth, decimals, t, sizeof t);
    printf("  %-44s %9s %9s  %s\n", what, m, t, unit);
}

static void print_comparison(const struct omo_result *result,
                             const struct truth_series *series)
{
    const double *time_s = (const double *)(void *)series->time_s->data;
    const double *angle = (const double *)(void *)series->angle_deg->data;
    const double *line = (const double *)(void *)series->line_deg->data;
    size_t count = series->time_s->len, joint_at = 0, line_at = 0;
    double joint_max =
        omo_sustained_max_deg(time_s, angle, count, 0.2, 0.1, INFINITY, &joint_at);
    double joint_held = omo_sustained_max_deg(time_s, angle, count, 1.0, 0.1, 1.0, NULL);
    double line_max =
        omo_sustained_max_deg(time_s, line, count, 0.2, 0.1, INFINITY, &line_at);
    printf("\n  %-44s %9s %9s\n", "", "measured", "true");
    print_line("highest angle, between the joints", result->max_deg, joint_max, 1,
               "degrees");
    print_line("  which is good to, either way", result->max_u95_deg, NAN, 1, "degrees");
    print_line("highest angle, line through the stickers", result->max_deg, line_max, 1,
               "degrees");
    print_line("held for a second, between the joints", result->held_max_deg, joint_held,
               1, "degrees");
    print_line("shoulder raised at the highest", result->hike_at_max_ratio * 100,
               at(series->hike_ratio, line_at) * 100, 1, "% of the upper arm");
    print_line("trunk leaning at the highest", result->lean_at_max_deg,
               at(series->lean_deg, line_at), 1, "degrees");
    print_line("repetitions", result->repetitions, NAN, 0, "");
    puts("  The stickers lie beside the joints, and chest to hip is not the spine: that "
         "is what\n  \"good to\" allows for.");
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
                                        const struct truth_series *series)
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
    print_comparison(&result, series);
    omo_row_fill(row, &result);
    omo_text_add(picture, sizeof picture, "%s/demo.highest.jpg", directory);
    if (!omo_record_find(record, row->id, row)) {
        status = omo_trace_begin(record, "demo", info->width, info->height, &trace,
                                 row->trace);
        if (status == OMO_OK)
            status = omo_trace_finish(trace, rows, tracked->count);
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
    if (status == OMO_OK) {
        printf("\n%s\n", added ? "Saved:" : "Saved before, nothing changed:");
        printf("  %s/sessions.csv   one row a movement\n", directory);
        printf("  %s/%s   every frame\n", directory, row->trace);
        printf("  %s   the highest frame, head covered\n\n", picture);
        printf("The person and every figure are invented.\n%s", OMO_CAUTION);
    }
done:
    omo_trace_close(trace, true);
    omo_source_destroy(again);
    g_free(rows);
    return status;
}

static enum omo_status watch(const struct omo_plan *plan, const char *directory,
                             struct omo_record *record)
{
    struct omo_tracked tracked = {0};
    struct omo_tracker *tracker = NULL;
    struct omo_session_row row;
    struct truth_series series = {
        .time_s = g_array_new(FALSE, FALSE, sizeof(double)),
        .angle_deg = g_array_new(FALSE, FALSE, sizeof(double)),
        .line_deg = g_array_new(FALSE, FALSE, sizeof(double)),
        .lean_deg = g_array_new(FALSE, FALSE, sizeof(double)),
        .hike_ratio = g_array_new(FALSE, FALSE, sizeof(double)),
    };
    struct omo_scene *scene = omo_scene_create();
    enum omo_status status = omo_scene_load(scene, "demo");
    if (status == OMO_OK)
        status = omo_simulated_open(scene, &series.source);
    if (status == OMO_OK)
        status = omo_tracker_create(&plan->tracker, &tracker);
    if (status == OMO_OK)
        status = begin_row(plan, &row);
    if (status == OMO_OK) {
        const struct omo_source_info *info = omo_source_info(series.source);
        series.frames_expected = MAX(info->frame_count, 1);
        omo_progress_begin();
        status = omo_track_source(series.source, tracker, note_truth, &series, &tracked);
        omo_progress_end();
        if (status == OMO_OK)
            status = measure_and_save(plan, record, directory, scene, &tracked, info,
                                      &row, &series);
    }
    omo_tracker_destroy(tracker);
    omo_tracked_finish(&tracked);
    omo_source_destroy(series.source);
    omo_scene_destroy(scene);
    g_array_unref(series.time_s);
    g_array_unref(series.angle_deg);
    g_array_unref(series.line_deg);
    g_array_unref(series.lean_deg);
    g_array_unref(series.hike_ratio);
    return status;
}

int omo_command_demo(int argc, char **argv)
{
    char *out = NULL;
    const GOptionEntry entries[] = {
        {"out", 'o', 0, G_OPTION_ARG_FILENAME, &out,
         "folder for the demo's files (default: omogon-demo here)", "DIR"},
        {0},
    };
    GOptionContext *context = g_option_context_new(NULL);
    g_option_context_set_summary(
        context, "The whole job on an invented person with a stiff right shoulder: a "
                 "simulated camera\nfilms three raises to the front, every frame is "
                 "measured from the picture alone, and\nthe result is shown beside what "
                 "the simulation knows to be true.");
    g_option_context_add_main_entries(context, entries, NULL);
    int code = OMO_EXIT_USAGE;
    struct omo_plan plan;
    /* The demo goes through the same words as a person's own call. */
    struct omo_option_words words = {.movement = g_strdup("flexion"),
                                     .side = g_strdup("right"),
                                     .person = g_strdup("DEMO")};
    if (omo_options_parse(context, &argc, &argv)) {
        if (argc > 1)
            omo_error("demo takes no \"%s\"; \"omogon demo --help\" lists the options",
                      argv[1]);
        else if (omo_plan_resolve(&words, true, &plan)) {
            struct omo_record *record;
            const char *directory = out ? out : "omogon-demo";
            code = OMO_EXIT_FAILED;
            puts(
                "An invented person raises a stiff right arm to the front, three times.");
            if (omo_record_open(directory, true, &record) == OMO_OK) {
                if (watch(&plan, directory, record) == OMO_OK)
                    code = OMO_EXIT_DONE;
                omo_record_close(record);
            }
            omo_plan_finish(&plan);
        }
    }
    g_option_context_free(context);
    omo_options_finish(&words);
    g_free(out);
    return code;
}
