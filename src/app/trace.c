#include <cjson/cJSON.h>
#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/budget_words.h"
#include "app/clip_job.h"
#include "app/commands.h"
#include "app/inputs.h"
#include "app/options.h"
#include "app/progress_line.h"
#include "app/rise_from.h"
#include "app/set_up.h"
#include "app/sides_text.h"
#include "app/stickers_only.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

/** The words of a call. */
struct trace_words {
    struct omo_option_words common;
    char **starts, **ends, **files;
    char *jobs, *list, *rise_from;
    gboolean json, picture, show_head, stickers_only, budget;
};

static GOptionContext *make_context(struct trace_words *w)
{
    const GOptionEntry entries[] = {
        {"start", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->starts,
         OMO_WORD(
             "where a movement begins, by the clip's own time stamps; once a movement"),
         "S"},
        {"end", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->ends, OMO_WORD("where it ends"),
         "S"},
        {"jobs", 'j', 0, G_OPTION_ARG_STRING, &w->jobs,
         OMO_WORD("clips measured at once (default: one a processor)"), "N"},
        {"list", 0, 0, G_OPTION_ARG_FILENAME, &w->list,
         OMO_WORD("a text file with one clip a line (- for standard input)"), "FILE"},
        {"json", 0, 0, G_OPTION_ARG_NONE, &w->json,
         OMO_WORD("figures as one JSON array on standard output"), NULL},
        {"budget", 0, 0, G_OPTION_ARG_NONE, &w->budget,
         OMO_WORD("what the figures are good to, source by source"), NULL},
        {"picture", 0, 0, G_OPTION_ARG_NONE, &w->picture,
         OMO_WORD("one annotated JPEG of each highest frame, the head covered"), NULL},
        {"show-head", 0, 0, G_OPTION_ARG_NONE, &w->show_head,
         OMO_WORD("leave the head visible in that picture (with the person's consent)"),
         NULL},
        {"rise-from", 0, 0, G_OPTION_ARG_FILENAME, &w->rise_from,
         OMO_WORD("a trace of the same person (the other side, an earlier session): what "
                  "the shoulder's rise is judged against"),
         "TRACE"},
        {"stickers-only", 0, 0, G_OPTION_ARG_NONE, &w->stickers_only,
         OMO_WORD("positions of the named stickers of --colours, without a body"), NULL},
        {G_OPTION_REMAINING, 0, 0, G_OPTION_ARG_FILENAME_ARRAY, &w->files, NULL, NULL},
        {0},
    };
    GOptionContext *context = g_option_context_new("FILE...");
    omo_options_add(context, &w->common);
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(context,
                   OMO_WORD(
                       "Measures clips: an angle for every frame (a trace file), and for "
                       "each movement "
                       "its\nhighest angle with its uncertainty (a row in sessions.csv). "
                       "A clip is one "
                       "movement\nunless --start and --end say otherwise. FILE is a "
                       "video, a numbered "
                       "sequence of\npictures (\"dir/%04d.jpg\") or a folder of videos."),
                   OMO_WORD("Examples:\n"
                            "  omogon trace arm.mp4 --movement flexion --side right\n"
                            "  omogon trace visit3/ --movement abduction --side left "
                            "--person P07 --jobs 4\n"
                            "  omogon trace long.mov -m flexion -s right --start 3 --end "
                            "9 --start 14 --end "
                            "20\n"
                            "  omogon trace raise.mp4 --movement abduction --side both\n"
                            "  omogon trace wheel.mp4 --stickers-only --colours "
                            "wheel.ini --out wheel/\n\n"
                            "Exit: 0 done; 1 a clip could not be measured whole or a "
                            "file not written; 2 the "
                            "call\nis wrong.\n"),
                   true);
    return context;
}

/** --start and --end in pairs. */
static bool parse_stretches(const struct trace_words *w, GArray *stretches)
{
    guint starts = w->starts ? g_strv_length(w->starts) : 0;
    guint ends = w->ends ? g_strv_length(w->ends) : 0;
    guint count = MAX(MAX(starts, ends), 1);
    if (ends > 0 && starts > 0 && starts != ends) {
        omo_error("%u --start and %u --end do not pair up; give both for each movement",
                  starts, ends);
        return false;
    }
    for (guint i = 0; i < count; i++) {
        struct omo_stretch stretch = {NAN, NAN};
        if ((i < starts && !omo_number_parse(w->starts[i], &stretch.start_s)) ||
            (i < ends && !omo_number_parse(w->ends[i], &stretch.end_s))) {
            omo_error("--start and --end take seconds with a dot, for example 3.5");
            return false;
        }
        if (stretch.end_s <= stretch.start_s) {
            omo_error("--end %s is not after --start %s", w->ends[i], w->starts[i]);
            return false;
        }
        g_array_append_val(stretches, stretch);
    }
    return true;
}

static bool parse_jobs(const char *text, int *jobs)
{
    long long value = g_get_num_processors();
    if (text && (!omo_integer_parse(text, &value) || value < 1 || value > 256)) {
        omo_error("--jobs \"%s\" is no number of clips; give 1 to 256", text);
        return false;
    }
    *jobs = (int)value;
    return true;
}

static void run_job(gpointer data, gpointer user)
{
    (void)user;
    omo_clip_job_run(data);
}

/** Waits for one job while showing how far all are. */
static void await_job(struct omo_run *run, struct omo_clip_job *jobs, guint count,
                      guint i)
{
    g_mutex_lock(&run->lock);
    while (!jobs[i].done) {
        double sum = 0;
        char what[64] = "";
        for (guint k = 0; k < count; k++)
            sum += g_atomic_int_get(&jobs[k].done_permille);
        omo_text_add(what, sizeof what, "clip %u of %u", i + 1, count);
        omo_progress_show(sum / 1000 / count, what);
        g_cond_wait_until(&run->changed, &run->lock, g_get_monotonic_time() + 100000);
    }
    g_mutex_unlock(&run->lock);
}

static void print_outcome(const struct omo_run *run, const char *path,
                          const struct omo_outcome *o)
{
    char text[640];
    omo_row_text(&o->row, text, sizeof text);
    printf("%s\n  %s\n", path, text);
    if (o->row.note[0])
        printf("  note: %s\n", o->row.note);
    if (o->kind == OMO_OUTCOME_KNOWN)
        printf("  measured before, nothing changed: row %.8s, trace %s\n", o->row.id,
               o->row.trace);
    else
        printf("  saved: row %.8s, trace %s\n", o->row.id, o->row.trace);
    if (o->picture[0])
        printf("  picture: %s\n", o->picture);
    if (run->budget)
        omo_budget_print(o->budget, &o->row);
}

/** Appends a finished movement and lets go of its trace; false when it was not saved. */
static bool save_outcome(struct omo_run *run, struct omo_outcome *o)
{
    bool added = false;
    if (o->kind != OMO_OUTCOME_NEW)
        return o->kind == OMO_OUTCOME_KNOWN;
    g_mutex_lock(&run->lock);
    omo_set_up_save(run->record, &o->set_up, &o->row);
    enum omo_status status = omo_record_append(run->record, &o->row, &added);
    /* Another program may have saved the same movement meanwhile: its trace stands. */
    omo_trace_close(o->trace, status != OMO_OK || added);
    o->trace = NULL;
    if (status == OMO_OK && !added) {
        o->kind = OMO_OUTCOME_KNOWN;
        omo_record_find(run->record, o->row.id, &o->row);
    }
    g_mutex_unlock(&run->lock);
    return status == OMO_OK;
}

/** The row's object and, of both arms at once, how far the other arm was off. */
static cJSON *outcome_json(const struct omo_run *run, const struct omo_outcome *o)
{
    cJSON *object = omo_row_json(&o->row);
    if (run->budget)
        cJSON_AddItemToObject(object, "budget", omo_budget_json(o->budget));
    if (run->side_count > 1) {
        bool left = strcmp(o->row.side, omo_side_name(OMO_LEFT)) == 0;
        omo_sides_add_json(object, o->compared ? &o->difference : NULL,
                           left ? OMO_LEFT : OMO_RIGHT);
    }
    return object;
}

/** Saves and tells one clip's movements; returns whether all went well. */
static bool collect_one(struct omo_run *run, struct omo_clip_job *job, cJSON *array)
{
    bool good = !job->failed;
    for (int k = 0; k < run->stretch_count * run->side_count; k++) {
        struct omo_outcome *o = &job->outcome[k];
        if (!save_outcome(run, o)) {
            good = false;
            continue;
        }
        if (array) {
            cJSON_AddItemToArray(array, outcome_json(run, o));
            continue;
        }
        omo_progress_erase();
        print_outcome(run, job->path, o);
        if (o->compared && (k + 1) % run->side_count == 0) {
            char text[480];
            omo_sides_text(&o->difference, text, sizeof text);
            printf("  %s\n", text);
        }
        fflush(stdout);
    }
    return good;
}

/** Takes the finished jobs in order; returns whether all went well. */
static bool collect(struct omo_run *run, struct omo_clip_job *jobs, guint count,
                    bool json)
{
    bool good = true;
    cJSON *array = json ? cJSON_CreateArray() : NULL;
    for (guint i = 0; i < count; i++) {
        await_job(run, jobs, count, i);
        good &= collect_one(run, &jobs[i], array);
    }
    if (json)
        omo_json_print(array);
    return good;
}

static int measure_all(const struct trace_words *w, const struct omo_plan *plan,
                       GPtrArray *paths, GArray *stretches, int job_count)
{
    struct omo_plan side[2] = {*plan, *plan};
    if (plan->both_sides)
        omo_plan_take_side(&side[1], OMO_LEFT);
    struct omo_run run = {.plan = side,
                          .side_count = plan->both_sides ? 2 : 1,
                          .stretch = (const struct omo_stretch *)(void *)stretches->data,
                          .stretch_count = (int)stretches->len,
                          .picture = w->picture,
                          .budget = w->budget,
                          .show_head = w->show_head};
    if (omo_open_record(&w->common, &run.record, run.directory, sizeof run.directory) !=
        OMO_OK)
        return OMO_EXIT_FAILED;
    g_mutex_init(&run.lock);
    g_cond_init(&run.changed);

    struct omo_clip_job *jobs = g_new0(struct omo_clip_job, paths->len);
    GThreadPool *pool = g_thread_pool_new(run_job, NULL, job_count, TRUE, NULL);
    omo_progress_begin();
    for (guint i = 0; i < paths->len; i++) {
        jobs[i] = (struct omo_clip_job){.run = &run,
                                        .path = paths->pdata[i],
                                        .number = (int)i,
                                        .outcome = g_new0(struct omo_outcome,
                                                          stretches->len *
                                                              (guint)run.side_count)};
        g_thread_pool_push(pool, &jobs[i], NULL);
    }
    bool good = collect(&run, jobs, paths->len, w->json);
    g_thread_pool_free(pool, FALSE, TRUE);
    omo_progress_end();
    if (!w->json) {
        printf(omo_word("The record is %s/sessions.csv\n"), run.directory);
        printf("\n%s", omo_word(OMO_CAUTION));
    }
    for (guint i = 0; i < paths->len; i++)
        g_free(jobs[i].outcome);
    g_free(jobs);
    omo_record_close(run.record);
    g_cond_clear(&run.changed);
    g_mutex_clear(&run.lock);
    return good ? OMO_EXIT_DONE : OMO_EXIT_FAILED;
}

/** Everything after the words are parsed. */
static int run_trace(const struct trace_words *w)
{
    int failed = 0, job_count, code = OMO_EXIT_USAGE;
    g_autoptr(GArray) stretches = g_array_new(FALSE, FALSE, sizeof(struct omo_stretch));
    struct omo_plan plan;
    struct omo_rise rise; /* lent to the plan */
    if (!w->files && !w->list) {
        omo_error("no clip is named; \"omogon trace --help\" shows examples");
        return OMO_EXIT_USAGE;
    }
    if (w->common.data && w->common.out) {
        omo_error("--data and --out exclude each other; name one folder");
        return OMO_EXIT_USAGE;
    }
    if (!parse_stretches(w, stretches) || !parse_jobs(w->jobs, &job_count) ||
        !omo_plan_resolve(&w->common, !w->stickers_only, &plan))
        return OMO_EXIT_USAGE;
    if (w->rise_from && omo_rise_from(w->rise_from, &rise) != OMO_OK) {
        omo_plan_finish(&plan);
        return OMO_EXIT_FAILED;
    }
    plan.measure.expected_rise = w->rise_from ? &rise : NULL;
    GPtrArray *paths = omo_inputs_expand(w->files, w->list, &failed);
    if (paths->len == 0)
        code = OMO_EXIT_FAILED;
    else if (w->stickers_only)
        code = omo_trace_stickers(&w->common, &plan, paths);
    else
        code = measure_all(w, &plan, paths, stretches, job_count);
    if (failed > 0)
        code = OMO_EXIT_FAILED;
    g_ptr_array_unref(paths);
    omo_plan_finish(&plan);
    return code;
}

int omo_command_trace(int argc, char **argv)
{
    struct trace_words w = {.common.takes_both_sides = true};
    GOptionContext *context = make_context(&w);
    int code = omo_options_parse(context, &argc, &argv) ? run_trace(&w) : OMO_EXIT_USAGE;
    g_option_context_free(context);
    omo_options_finish(&w.common);
    g_strfreev(w.starts);
    g_strfreev(w.ends);
    g_strfreev(w.files);
    g_free(w.jobs);
    g_free(w.list);
    g_free(w.rise_from);
    return code;
}
