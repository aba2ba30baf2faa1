/* Many clips at once: a pool of threads, rows saved and told in the order of the call. */
#include "app/clip_run.h"

#include <stdio.h>
#include <string.h>

#include <cjson/cJSON.h>

#include "app/budget_words.h"
#include "app/commands.h"
#include "app/pipeline.h"
#include "app/progress_line.h"
#include "app/set_up.h"
#include "app/sides_text.h"
#include "omogon/text.h"
#include "omogon/words.h"

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
        printf("  %s: row %.8s, trace %s\n", o->gathered ? "gathered" : "saved",
               o->row.id, o->row.trace);
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
static cJSON *outcome_json(const struct omo_clip_job *job, const struct omo_outcome *o)
{
    cJSON *object = omo_row_json(&o->row);
    if (job->run->budget)
        cJSON_AddItemToObject(object, "budget", omo_budget_json(o->budget));
    if (job->work->side_count > 1) {
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
    for (int k = 0; k < job->work->stretch_count * job->work->side_count; k++) {
        struct omo_outcome *o = &job->outcome[k];
        if (!save_outcome(run, o)) {
            good = false;
            continue;
        }
        if (array) {
            cJSON_AddItemToArray(array, outcome_json(job, o));
            continue;
        }
        omo_progress_erase();
        print_outcome(run, job->path, o);
        if (o->compared && (k + 1) % job->work->side_count == 0) {
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

bool omo_clip_run(struct omo_run *run, struct omo_clip_job *jobs, guint count,
                  int job_count, bool json)
{
    g_mutex_init(&run->lock);
    g_cond_init(&run->changed);
    run->next_claim = 0;
    GThreadPool *pool = g_thread_pool_new(run_job, NULL, job_count, TRUE, NULL);
    omo_progress_begin();
    for (guint i = 0; i < count; i++) {
        const struct omo_work *work = jobs[i].work;
        jobs[i].run = run;
        jobs[i].number = (int)i;
        jobs[i].outcome =
            g_new0(struct omo_outcome, (guint)(work->stretch_count * work->side_count));
        g_thread_pool_push(pool, &jobs[i], NULL);
    }
    bool good = collect(run, jobs, count, json);
    g_thread_pool_free(pool, FALSE, TRUE);
    omo_progress_end();
    if (!json) {
        /* Where nothing could be measured there may be none. */
        char *record = g_build_filename(run->directory, "sessions.csv", NULL);
        if (g_file_test(record, G_FILE_TEST_EXISTS))
            printf(omo_word("The record is %s/sessions.csv\n"), run->directory);
        g_free(record);
        printf("\n%s", omo_word(OMO_CAUTION));
    }
    g_cond_clear(&run->changed);
    g_mutex_clear(&run->lock);
    return good;
}

bool omo_clip_measure_alone(struct omo_run *run, struct omo_clip_job *job)
{
    const int pieces = job->work->stretch_count * job->work->side_count;
    g_mutex_init(&run->lock);
    g_cond_init(&run->changed);
    job->run = run;
    job->outcome = g_new0(struct omo_outcome, (guint)pieces);
    omo_clip_job_run(job);
    for (int i = 0; i < pieces; i++)
        omo_trace_close(job->outcome[i].trace, true);
    g_cond_clear(&run->changed);
    g_mutex_clear(&run->lock);
    return !job->failed;
}

void omo_clip_run_finish(struct omo_clip_job *jobs, guint count)
{
    for (guint i = 0; i < count; i++)
        g_free(jobs[i].outcome);
}
