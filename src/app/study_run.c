/* A manifest from its table to traces, rows and what differs from the protocol. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/clip_run.h"
#include "app/commands.h"
#include "app/manifest.h"
#include "app/protocol_check.h"
#include "app/shards.h"
#include "omogon/csv.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define DEVIATIONS "deviations.csv"

/** A row of the manifest with what it resolves to. */
struct planned {
    struct omo_manifest_row *row; /* lent */
    struct omo_plan plan, side[2];
    struct omo_work work;
};

static void planned_clear(gpointer data)
{
    omo_plan_finish(&((struct planned *)data)->plan);
}

/** "2/8": the second of eight. */
static bool parse_shard(const char *text, int *number, int *count)
{
    int end = 0;
    *number = *count = 1;
    if (!text || (sscanf(text, "%d/%d%n", number, count, &end) == 2 && !text[end] &&
                  *number >= 1 && *number <= *count && *count <= 10000))
        return true;
    omo_error("--shard \"%s\": give which of how many, for example 2/8", text);
    return false;
}

/** Resolves the rows of the shard; all of them first, so that a mistake in the last row
 *  costs no measuring. */
static bool plan_all(const struct omo_study *study, GArray *rows, int number, int count,
                     GArray *planned)
{
    for (guint i = 0; i < rows->len; i++) {
        struct planned one = {.row = &g_array_index(rows, struct omo_manifest_row, i)};
        if ((int)(i % (guint)count) != number - 1)
            continue;
        if (!omo_plan_resolve(&one.row->words, true, &one.plan)) {
            omo_error("that is %s:%d; nothing was measured", study->manifest,
                      one.row->line);
            return false;
        }
        g_array_append_val(planned, one);
    }
    /* Pointers into the array count from now on, since it grows no more. */
    for (guint i = 0; i < planned->len; i++) {
        struct planned *one = &g_array_index(planned, struct planned, i);
        one->side[0] = one->side[1] = one->plan;
        if (one->plan.both_sides)
            omo_plan_take_side(&one->side[1], OMO_LEFT);
        one->work = (struct omo_work){.plan = one->side,
                                      .side_count = one->plan.both_sides ? 2 : 1,
                                      .stretch = &one->row->stretch,
                                      .stretch_count = 1,
                                      .words = &one->row->words};
    }
    return true;
}

/** The folder of the study, or of the shard below it. */
static enum omo_status open_record(const struct omo_study *study, int number, int count,
                                   struct omo_run *run)
{
    if (!study->shard)
        return omo_open_record(study->words, &run->record, run->directory,
                               sizeof run->directory);
    if (!study->words->out) {
        omo_error(
            "--shard needs --out DIR, the folder of the study that all shards share");
        return OMO_ERR_ARG;
    }
    enum omo_status status = omo_folder_make(study->words->out);
    g_autofree char *folder = omo_shard_folder(study->words->out, number, count);
    g_strlcpy(run->directory, folder, sizeof run->directory);
    return status == OMO_OK ? omo_record_open(folder, true, &run->record) : status;
}

/** What differs, as a table; returns how many lines, -1 when it could not be written. */
static int write_deviations(const struct omo_protocol *protocol, const GArray *planned,
                            const struct omo_clip_job *jobs, const char *directory)
{
    struct omo_csv_text table = {0};
    static const char *const columns[] = {"line", "clip",   "person",
                                          "what", "wanted", "found"};
    int count = 0;
    for (size_t i = 0; i < G_N_ELEMENTS(columns); i++)
        omo_csv_add_text(&table, columns[i]);
    omo_csv_end_row(&table);
    for (guint i = 0; i < planned->len; i++) {
        const struct planned *one = &g_array_index(planned, struct planned, i);
        for (int k = 0; k < one->work.side_count; k++) {
            const struct omo_outcome *o = &jobs[i].outcome[k];
            struct omo_session_row row =
                o->kind == OMO_OUTCOME_FAILED ? one->side[k].row : o->row;
            g_autofree char *clip = g_path_get_basename(one->row->clip);
            omo_text_copy(row.source, sizeof row.source, clip);
            count += omo_protocol_plan(protocol, &row, one->plan.measure.cutoff_hz,
                                       one->row->line, &table);
            count += omo_protocol_result(protocol, &row, one->row->line, &table);
        }
    }
    g_autofree char *path = g_build_filename(directory, DEVIATIONS, NULL);
    enum omo_status status =
        table.failed ? OMO_ERR_MEMORY
                     : omo_file_write_atomic(path, table.bytes, table.size, 0600);
    omo_csv_text_free(&table);
    if (status != OMO_OK)
        return -1;
    if (count > 0)
        omo_warning("%d things differ from the protocol; %s names them", count, path);
    return count;
}

/** Measures what is planned into an open record. */
static int measure(const struct omo_study *study, GArray *planned,
                   const struct omo_protocol *protocol, struct omo_run *run)
{
    g_autofree struct omo_clip_job *jobs = g_new0(struct omo_clip_job, planned->len);
    for (guint i = 0; i < planned->len; i++) {
        struct planned *one = &g_array_index(planned, struct planned, i);
        jobs[i] = (struct omo_clip_job){.work = &one->work, .path = one->row->clip};
    }
    bool good = omo_clip_run(run, jobs, planned->len, study->jobs, study->json);
    int differ = protocol ? write_deviations(protocol, planned, jobs, run->directory) : 0;
    omo_clip_run_finish(jobs, planned->len);
    return good && differ >= 0 ? OMO_EXIT_DONE : OMO_EXIT_FAILED;
}

int omo_study_run(const struct omo_study *study)
{
    GArray *rows = NULL;
    struct omo_protocol *protocol = NULL;
    struct omo_shards *shards = NULL;
    struct omo_run run = {.record = NULL};
    int number, count, code = OMO_EXIT_USAGE;
    if (!parse_shard(study->shard, &number, &count))
        return code;
    if (omo_manifest_read(study->manifest, study->words, &rows) != OMO_OK)
        return OMO_EXIT_FAILED;
    g_autoptr(GArray) planned = g_array_new(FALSE, TRUE, sizeof(struct planned));
    g_array_set_clear_func(planned, planned_clear);
    if (study->protocol && omo_protocol_load(study->protocol, &protocol) != OMO_OK)
        code = OMO_EXIT_FAILED;
    else if (plan_all(study, rows, number, count, planned)) {
        enum omo_status status = open_record(study, number, count, &run);
        if (status == OMO_OK && !study->shard)
            status = omo_shards_open(run.directory, &shards);
        run.shards = shards;
        code = status == OMO_ERR_ARG ? OMO_EXIT_USAGE : OMO_EXIT_FAILED;
        if (status == OMO_OK)
            code = measure(study, planned, protocol, &run);
        omo_record_close(run.record);
    }
    omo_shards_close(shards);
    omo_protocol_free(protocol);
    g_array_set_size(planned, 0); /* before the words that plans borrow */
    omo_manifest_free(rows);
    return code;
}
