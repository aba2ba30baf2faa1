#include "app/clip_job.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/inputs.h"
#include "omogon/log.h"
#include "omogon/text.h"

/** One movement while its clip is being read. */
struct piece {
    const struct omo_stretch *stretch;
    struct omo_outcome *outcome;
    bool wanted; /**< has to be measured in this run */
};

struct reading {
    struct omo_clip_job *job;
    struct omo_run *run;
    const struct omo_source_info *info;
    struct piece *piece;
    enum omo_status write_status;
};

static bool inside(const struct omo_stretch *stretch, double time_s)
{
    return !(time_s < stretch->start_s) && !(time_s > stretch->end_s);
}

/** Keeps what is measured so far on disk and the progress line moving. */
static bool on_frame(const struct omo_track_frame *frame, void *user)
{
    struct reading *r = user;
    struct omo_trace_row row;
    omo_trace_row_init(&row, frame);
    if (frame->repeated)
        row.quality |= OMO_QUALITY_REPEATED;
    for (int i = 0; i < r->run->stretch_count; i++) {
        struct piece *piece = &r->piece[i];
        if (!piece->outcome->trace || !inside(piece->stretch, frame->time_s))
            continue;
        r->write_status = omo_trace_add(piece->outcome->trace, &row);
        if (r->write_status != OMO_OK)
            return false;
    }
    if (r->info->frame_count > 0)
        g_atomic_int_set(&r->job->done_permille,
                         (int)MIN(frame->index * 1000 / r->info->frame_count, 1000));
    return true;
}

static void identify(const struct omo_clip_job *job, const struct omo_stretch *stretch,
                     const char *content, char id_out[33])
{
    char number[32];
    struct omo_id *id = omo_id_create();
    omo_id_add_text(id, "content", content);
    omo_plan_identify(job->run->plan, id);
    omo_number_text(stretch->start_s, 6, number, sizeof number);
    omo_id_add_text(id, "start_s", number);
    omo_number_text(stretch->end_s, 6, number, sizeof number);
    omo_id_add_text(id, "end_s", number);
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

static void picture_path(const struct omo_run *run, const char *trace, char *out,
                         size_t size)
{
    g_autofree char *stem = g_strndup(trace, strlen(trace) - strlen(".trace.csv"));
    out[0] = '\0';
    omo_text_add(out, size, "%s/%s.highest.jpg", run->directory, stem);
}

/** Gives each stretch its row, and a trace unless it has been measured before. */
static enum omo_status claim(struct omo_clip_job *job, const char *content,
                             const struct omo_source_info *info, struct piece *piece)
{
    struct omo_run *run = job->run;
    char stem[200];
    omo_input_stem(job->path, stem, sizeof stem);
    for (int i = 0; i < run->stretch_count; i++) {
        struct omo_outcome *o = piece[i].outcome;
        char id[33];
        identify(job, piece[i].stretch, content, id);
        if (omo_record_find(run->record, id, &o->row)) {
            char path[sizeof o->picture];
            o->kind = OMO_OUTCOME_KNOWN;
            picture_path(run, o->row.trace, path, sizeof path);
            piece[i].wanted = run->picture && !g_file_test(path, G_FILE_TEST_EXISTS);
            continue;
        }
        o->row = run->plan->row;
        omo_text_copy(o->row.id, sizeof o->row.id, id);
        g_autofree char *base = g_path_get_basename(job->path);
        omo_text_copy(o->row.source, sizeof o->row.source, base);
        omo_text_copy(o->row.started, sizeof o->row.started, info->started);
        enum omo_status status = omo_trace_begin(run->record, stem, info->width,
                                                 info->height, &o->trace, o->row.trace);
        if (status != OMO_OK)
            return status;
        o->kind = OMO_OUTCOME_NEW;
        piece[i].wanted = true;
    }
    return OMO_OK;
}

static void write_picture(struct omo_clip_job *job, struct omo_outcome *outcome,
                          const struct omo_highest *highest)
{
    struct omo_source *source = NULL;
    char path[sizeof outcome->picture];
    picture_path(job->run, outcome->row.trace, path, sizeof path);
    enum omo_status status = omo_clip_open(job->path, &source);
    if (status == OMO_OK)
        status = omo_highest_write(source, highest, path);
    omo_source_destroy(source);
    if (status == OMO_OK)
        omo_text_copy(outcome->picture, sizeof outcome->picture, path);
    else
        job->failed = true;
}

/** Says which markers a stretch lacked. */
static void say_nothing_found(const struct omo_clip_job *job,
                              const struct omo_track_frame *frames, size_t count)
{
    unsigned needed = job->run->plan->movement->needed;
    char missing[128] = "";
    for (int role = 0; role < OMO_ROLE_COUNT; role++) {
        size_t seen = 0;
        for (size_t i = 0; i < count; i++)
            seen += frames[i].markers.role[role].seen != OMO_NOT_SEEN;
        if ((needed & (1u << role)) && seen < count / 50 + 1)
            omo_text_add(missing, sizeof missing, "%s%s", missing[0] ? " and " : "",
                         omo_role_name((enum omo_role)role));
    }
    if (count == 0)
        omo_error("%s has no frame in the wanted stretch; check --start and --end",
                  job->path);
    else if (missing[0])
        omo_error("no %s marker was found in %s; check the light and the colours with "
                  "\"omogon colours\", and --side; the trace was kept",
                  missing, job->path);
    else
        omo_error("the markers in %s were never seen together; check that none is "
                  "covered; the trace was kept",
                  job->path);
}

/** Measures one stretch out of the tracked frames and finishes its trace. */
static void measure_piece(struct omo_clip_job *job, struct piece *piece,
                          const struct omo_tracked *tracked,
                          const struct omo_source_info *info, const char *broken_off)
{
    struct omo_outcome *o = piece->outcome;
    struct omo_measure_settings settings = job->run->plan->measure;
    settings.picture_width = info->width;
    settings.picture_height = info->height;
    size_t first = 0, count = 0;
    for (size_t i = 0; i < tracked->count; i++) {
        if (!inside(piece->stretch, tracked->frame[i].time_s))
            continue;
        if (count++ == 0)
            first = i;
    }
    const struct omo_track_frame *frames = tracked->frame + first;
    struct omo_trace_row *rows = g_try_malloc0_n(count + 1, sizeof *rows);
    struct omo_result result;
    enum omo_status status = OMO_ERR_MEMORY;
    if (rows)
        status = omo_measure(&settings, frames, count, rows, &result);
    else
        omo_error(
            "%s is too long for this machine's memory; cut it with --start and --end",
            job->path);

    bool measured = status == OMO_OK;
    if (status == OMO_ERR_EMPTY)
        say_nothing_found(job, frames, count);
    if (o->trace && (measured || status == OMO_ERR_EMPTY)) {
        status = omo_trace_finish(o->trace, rows, count);
        if (status != OMO_OK)
            measured = false;
    }
    if (measured && o->trace) {
        omo_row_fill(&o->row, &result);
        if (broken_off)
            omo_row_note(&o->row, broken_off);
        if (result.against_direction)
            omo_warning("%s: %s", job->path, result.note);
    }
    if (measured && job->run->picture) {
        const struct omo_trace_row *row =
            omo_row_of_frame(rows, count, result.frame_at_max);
        if (row)
            write_picture(job, o,
                          &(struct omo_highest){row, &result, &settings, &o->row,
                                                job->run->show_head});
    }
    if (!measured) {
        job->failed = true;
        o->kind = OMO_OUTCOME_FAILED;
        omo_trace_close(o->trace, true);
        o->trace = NULL;
    }
    g_free(rows);
}

/** Reads the clip once for all stretches that need it. */
static void read_and_measure(struct omo_clip_job *job, struct omo_source *source,
                             struct piece *piece)
{
    const struct omo_source_info *info = omo_source_info(source);
    struct omo_tracked tracked = {0};
    struct omo_tracker *tracker = NULL;
    struct reading reading = {job, job->run, info, piece, OMO_OK};
    enum omo_status status = omo_tracker_create(&job->run->plan->tracker, &tracker);
    if (status == OMO_OK)
        status = omo_track_source(source, tracker, on_frame, &reading, &tracked);

    char broken_off[160] = "";
    if (status == OMO_ERR_DAMAGED) {
        job->failed = true;
        omo_text_add(broken_off, sizeof broken_off,
                     "The clip breaks off after %zu frames", tracked.count);
        if (info->frame_count > (int64_t)tracked.count)
            omo_text_add(broken_off, sizeof broken_off, " of about %lld",
                         (long long)info->frame_count);
        omo_text_add(broken_off, sizeof broken_off, ".");
    }
    bool usable = status == OMO_OK || (status == OMO_ERR_DAMAGED && tracked.count > 0);
    for (int i = 0; i < job->run->stretch_count; i++) {
        if (!piece[i].wanted)
            continue;
        if (usable) {
            measure_piece(job, &piece[i], &tracked, info,
                          broken_off[0] ? broken_off : NULL);
        } else {
            job->failed = true;
            piece[i].outcome->kind = OMO_OUTCOME_FAILED;
            omo_trace_close(piece[i].outcome->trace, tracked.count > 0);
            piece[i].outcome->trace = NULL;
        }
    }
    omo_tracker_destroy(tracker);
    omo_tracked_finish(&tracked);
}

void omo_clip_job_run(struct omo_clip_job *job)
{
    struct omo_run *run = job->run;
    struct omo_source *source = NULL;
    struct piece *piece = g_new0(struct piece, run->stretch_count);
    char content[65] = "";
    bool any = false;
    for (int i = 0; i < run->stretch_count; i++)
        piece[i] = (struct piece){&run->stretch[i], &job->outcome[i], false};

    enum omo_status status = omo_clip_open(job->path, &source);
    if (status == OMO_OK)
        status = omo_input_hash(job->path, content);

    await_turn(job);
    if (status == OMO_OK)
        status = claim(job, content, omo_source_info(source), piece);
    pass_turn(job);

    if (status != OMO_OK) {
        job->failed = true;
        for (int i = 0; i < run->stretch_count; i++) {
            omo_trace_close(job->outcome[i].trace, false);
            job->outcome[i].trace = NULL;
            job->outcome[i].kind = OMO_OUTCOME_FAILED;
        }
    } else {
        for (int i = 0; i < run->stretch_count; i++)
            any |= piece[i].wanted;
        if (any)
            read_and_measure(job, source, piece);
    }
    omo_source_destroy(source);
    g_free(piece);
    g_mutex_lock(&run->lock);
    job->done = true;
    g_atomic_int_set(&job->done_permille, 1000);
    g_cond_broadcast(&run->changed);
    g_mutex_unlock(&run->lock);
}
