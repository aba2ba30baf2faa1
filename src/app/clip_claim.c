/* What a clip's movements are called, and which of them have to be measured. */
#include <stdio.h>
#include <string.h>

#include "app/clip_piece.h"
#include "app/corrections.h"
#include "app/inputs.h"
#include "app/shards.h"
#include "omogon/text.h"

int omo_clip_piece_count(const struct omo_clip_job *job)
{
    return job->work->stretch_count * job->work->side_count;
}

static void identify(const struct omo_clip_job *job, const struct piece *piece,
                     const char *content, char id_out[33])
{
    char number[32];
    struct omo_id *id = omo_id_create();
    omo_id_add_text(id, "content", content);
    omo_plan_identify(piece->plan, id);
    omo_number_text(piece->stretch->start_s, 6, number, sizeof number);
    omo_id_add_text(id, "start_s", number);
    omo_number_text(piece->stretch->end_s, 6, number, sizeof number);
    omo_id_add_text(id, "end_s", number);
    if (job->work->corrections)
        omo_corrections_identify(job->work->corrections, id);
    omo_id_finish(id, id_out);
}

/** Waits for the clips named before this one to have their file names. */
static void await_turn(struct omo_clip_job *job)
{
    struct omo_run *run = job->run;
    g_mutex_lock(&run->lock);
    while (run->next_claim != job->number)
        g_cond_wait(&run->changed, &run->lock);
}

static void pass_turn(struct omo_clip_job *job)
{
    struct omo_run *run = job->run;
    run->next_claim++;
    g_cond_broadcast(&run->changed);
    g_mutex_unlock(&run->lock);
}

void omo_clip_picture_path(const struct omo_run *run, const char *trace, char *out,
                           size_t size)
{
    g_autofree char *stem = g_strndup(trace, strlen(trace) - strlen(".trace.csv"));
    out[0] = '\0';
    omo_text_add(out, size, "%s/%s.highest.jpg", run->directory, stem);
}

/** Begins the trace and the row of a movement that was not measured before. */
static enum omo_status begin(struct omo_clip_job *job, const char *id,
                             const struct omo_source_info *info, struct piece *piece)
{
    struct omo_outcome *o = piece->outcome;
    char stem[200];
    omo_input_stem(job->path, stem, sizeof stem);
    if (job->work->side_count > 1)
        omo_text_add(stem, sizeof stem, "-%s", piece->plan->row.side);
    o->row = piece->plan->row;
    omo_text_copy(o->row.id, sizeof o->row.id, id);
    g_autofree char *base = g_path_get_basename(job->path);
    omo_text_copy(o->row.source, sizeof o->row.source, base);
    omo_text_copy(o->row.started, sizeof o->row.started, info->started);
    return omo_trace_begin(job->run->record, stem, info->width, info->height, &o->trace,
                           o->row.trace);
}

/** Takes a movement over that a shard measured: its row, its set-up and its trace. */
static enum omo_status gather(struct omo_clip_job *job, const char *id,
                              const struct omo_source_info *info, struct piece *piece)
{
    const struct omo_shards *shards = job->run->shards;
    struct omo_outcome *o = piece->outcome;
    const char *directory = NULL;
    const struct omo_session_row *row = omo_shards_find(shards, id, &directory);
    struct omo_trace trace;
    enum omo_status status = begin(job, id, info, piece);
    if (status != OMO_OK)
        return status;
    g_autofree char *path = g_build_filename(directory, row->trace, NULL);
    char name[sizeof o->row.trace];
    omo_text_copy(name, sizeof name, o->row.trace);
    o->row = *row;
    omo_text_copy(o->row.trace, sizeof o->row.trace, name);
    o->gathered = omo_shards_set_up(shards, row, &o->set_up);
    status = omo_trace_read(path, &trace);
    if (status != OMO_OK)
        return status;
    status = omo_trace_finish(o->trace, trace.rows, trace.count);
    omo_trace_free(&trace);
    o->gathered = true;
    return status;
}

/** Gives each movement its row, and a trace unless it has been measured before. Two sides
 *  are compared every time, so both are measured even then. */
static enum omo_status claim(struct omo_clip_job *job, const char *content,
                             const struct omo_source_info *info, struct piece *piece)
{
    struct omo_run *run = job->run;
    for (int i = 0; i < omo_clip_piece_count(job); i++) {
        struct omo_outcome *o = piece[i].outcome;
        char id[33];
        identify(job, &piece[i], content, id);
        if (omo_record_find(run->record, id, &o->row)) {
            char path[sizeof o->picture];
            o->kind = OMO_OUTCOME_KNOWN;
            omo_clip_picture_path(run, o->row.trace, path, sizeof path);
            piece[i].picture_wanted =
                run->picture && !g_file_test(path, G_FILE_TEST_EXISTS);
            piece[i].wanted = piece[i].picture_wanted || run->budget ||
                              job->work->side_count > 1 || job->work->overlay ||
                              job->work->sheet;
            continue;
        }
        const char *directory;
        bool known = run->shards && omo_shards_find(run->shards, id, &directory);
        enum omo_status status =
            known ? gather(job, id, info, &piece[i]) : begin(job, id, info, &piece[i]);
        if (status != OMO_OK)
            return status;
        o->kind = OMO_OUTCOME_NEW;
        if (known)
            continue;
        piece[i].wanted = true;
        piece[i].picture_wanted = run->picture;
    }
    return OMO_OK;
}

enum omo_status omo_clip_claim(struct omo_clip_job *job, enum omo_status opened,
                               const char *content, const struct omo_source_info *info,
                               struct piece *piece)
{
    await_turn(job);
    if (opened == OMO_OK)
        opened = claim(job, content, info, piece);
    pass_turn(job);
    return opened;
}
