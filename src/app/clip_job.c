#include "app/clip_piece.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/circles.h"
#include "app/corrections.h"
#include "app/inputs.h"
#include "app/lens_plan.h"
#include "app/overlay.h"
#include "app/provenance.h"
#include "app/set_up.h"
#include "app/sides_text.h"
#include "omogon/log.h"
#include "omogon/text.h"

struct reading {
    struct omo_clip_job *job;
    struct omo_run *run;
    const struct omo_source_info *info;
    struct piece *piece;
    double end_s; /* of the last stretch; INFINITY: the clip's */
    bool past_end;
    enum omo_status write_status;
};

static bool inside(const struct omo_stretch *stretch, double time_s)
{
    return !(time_s < stretch->start_s) && !(time_s > stretch->end_s);
}

/** Keeps what is measured so far on disk and the progress line moving. */
static bool on_frame(const struct omo_track_frame *frame, int side, void *user)
{
    struct reading *r = user;
    struct omo_trace_row row;
    omo_trace_row_init(&row, frame);
    if (frame->repeated)
        row.quality |= OMO_QUALITY_REPEATED;
    for (int i = 0; i < omo_clip_piece_count(r->job); i++) {
        struct piece *piece = &r->piece[i];
        if (piece->which != side || !piece->wanted || !piece->outcome->trace ||
            !inside(piece->stretch, frame->time_s))
            continue;
        r->write_status = omo_trace_add(piece->outcome->trace, &row);
        if (r->write_status != OMO_OK)
            return false;
    }
    if (frame->time_s > r->end_s) {
        r->past_end = true;
        return false; /* nothing of what comes is wanted */
    }
    if (r->info->frame_count > 0)
        g_atomic_int_set(&r->job->done_permille,
                         (int)MIN(frame->index * 1000 / r->info->frame_count, 1000));
    return true;
}

static void write_picture(struct omo_clip_job *job, struct omo_outcome *outcome,
                          const struct omo_highest *highest)
{
    struct omo_source *source = NULL;
    char path[sizeof outcome->picture];
    omo_clip_picture_path(job->run, outcome->row.trace, path, sizeof path);
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
static void say_nothing_found(const struct omo_clip_job *job, const struct piece *piece,
                              const struct omo_track_frame *frames)
{
    unsigned needed = piece->plan->movement->needed;
    size_t count = piece->count;
    bool both = job->work->side_count > 1;
    char missing[128] = "", whose[32] = "";
    if (both)
        omo_text_add(whose, sizeof whose, " of the %s arm", piece->plan->row.side);
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
        omo_error("no %s marker%s was found in %s; check the light and the colours with "
                  "\"omogon colours\", and %s; the trace was kept",
                  missing, whose, job->path,
                  both ? "that both arms carry stickers and hang apart at first"
                       : "--side");
    else
        omo_error("the markers%s in %s were never seen together; check that none is "
                  "covered; the trace was kept",
                  whose, job->path);
}

/** The tracked frames of a stretch, with what was placed by hand; sets the piece's count.
 */
static const struct omo_track_frame *frames_of(const struct omo_clip_job *job,
                                               struct piece *piece,
                                               const struct omo_tracked *tracked)
{
    size_t first = 0;
    piece->count = 0;
    for (size_t i = 0; i < tracked->count; i++) {
        if (!inside(piece->stretch, tracked->frame[i].time_s))
            continue;
        if (piece->count++ == 0)
            first = i;
    }
    /* Each arm's frames are its own, and nobody else looks at them afterwards. */
    if (job->work->corrections &&
        omo_corrections_apply(job->work->corrections, tracked->frame + first,
                              piece->count) < job->work->corrections->len)
        omo_warning("%s: some of the corrections are of frames that are not measured",
                    job->path);
    return tracked->frame + first;
}

static void fail(struct omo_clip_job *job, struct piece *piece, bool keep_trace)
{
    job->failed = true;
    piece->outcome->kind = OMO_OUTCOME_FAILED;
    omo_trace_close(piece->outcome->trace, keep_trace);
    piece->outcome->trace = NULL;
}

/** Draws over the pictures what was measured in them. */
static void write_overlays(struct omo_clip_job *job, struct piece *piece,
                           const struct omo_measure_settings *settings)
{
    const struct omo_overlay overlay = {job->path,          piece->rows,
                                        piece->count,       &piece->result,
                                        settings,           &piece->outcome->row,
                                        job->run->show_head};
    if (job->work->overlay && omo_overlay_video(&overlay, job->work->overlay) != OMO_OK)
        job->failed = true;
    if (job->work->sheet && omo_overlay_sheet(&overlay, job->work->sheet) != OMO_OK)
        job->failed = true;
}

/** Fills the row of what was measured and draws what is wanted of it. */
static void report_piece(struct omo_clip_job *job, struct piece *piece,
                         const struct omo_measure_settings *settings,
                         const char *broken_off)
{
    struct omo_outcome *o = piece->outcome;
    if (o->trace) {
        omo_row_fill(&o->row, &piece->result);
        omo_set_up_fill(piece->plan,
                        &(struct omo_set_up_seen){"clip", "", settings->picture_width,
                                                  settings->picture_height,
                                                  piece->result.frames_per_second,
                                                  piece->rows, piece->count},
                        &o->set_up);
        if (broken_off)
            omo_row_note(&o->row, broken_off);
        if (o->circles[0])
            omo_row_note(&o->row, o->circles);
        if (piece->result.against_direction)
            omo_warning("%s: %s", job->path, piece->result.note);
    }
    const struct omo_trace_row *row =
        omo_row_of_frame(piece->rows, piece->count, piece->result.frame_at_max);
    if (piece->picture_wanted && row)
        write_picture(job, o,
                      &(struct omo_highest){row, &piece->result, settings, &o->row,
                                            job->run->show_head});
    write_overlays(job, piece, settings);
}

/** Measures one stretch out of the tracked frames and finishes its trace. */
static void measure_piece(struct omo_clip_job *job, struct piece *piece,
                          const struct omo_tracked *tracked,
                          const struct omo_source_info *info, const char *broken_off)
{
    struct omo_outcome *o = piece->outcome;
    struct omo_measure_settings settings = piece->plan->measure;
    struct omo_lens lens;
    settings.picture_width = info->width;
    settings.picture_height = info->height;
    const struct omo_track_frame *frames = frames_of(job, piece, tracked);
    piece->rows = g_try_malloc0_n(piece->count + 1, sizeof *piece->rows);
    enum omo_status status = OMO_ERR_MEMORY;
    if (!omo_plan_fit_lens(piece->plan, info->width, info->height, &lens, &settings.lens))
        status = OMO_ERR_ARG; /* said */
    else if (piece->rows)
        status =
            omo_measure(&settings, frames, piece->count, piece->rows, &piece->result);
    else
        omo_error(
            "%s is too long for this machine's memory; cut it with --start and --end",
            job->path);

    piece->measured = status == OMO_OK;
    if (status == OMO_ERR_EMPTY)
        say_nothing_found(job, piece, frames);
    if (o->trace && (piece->measured || status == OMO_ERR_EMPTY)) {
        status = omo_trace_finish(o->trace, piece->rows, piece->count);
        if (status != OMO_OK)
            piece->measured = false;
    }
    struct omo_pendulum_view circles;
    if (piece->measured && settings.movement->geometry == OMO_GEOMETRY_PENDULUM &&
        omo_circles_count(&settings, &piece->plan->tracker.set, frames, piece->count,
                          &circles))
        omo_circles_text(&circles, o->circles, sizeof o->circles);
    if (piece->measured)
        memcpy(o->budget, piece->result.budget, sizeof o->budget);
    if (piece->measured)
        report_piece(job, piece, &settings, broken_off);
    else
        fail(job, piece, true);
}

/** Holds the two arms of each stretch against each other. */
static void compare_sides(struct omo_clip_job *job, struct piece *piece)
{
    for (int i = 0; job->work->side_count > 1 && i < omo_clip_piece_count(job); i += 2) {
        const struct omo_trace_row *rows[2];
        const struct omo_result *result[2];
        struct omo_side_difference difference;
        if (!piece[i].measured || !piece[i + 1].measured)
            continue;
        for (int k = 0; k < 2; k++) {
            rows[piece[i + k].which] = piece[i + k].rows;
            result[piece[i + k].which] = &piece[i + k].result;
        }
        if (omo_sides_compare(rows, piece[i].count, result, &difference) != OMO_OK)
            continue;
        for (int k = 0; k < 2; k++) {
            struct omo_outcome *o = piece[i + k].outcome;
            char note[160];
            o->compared = true;
            o->difference = difference;
            omo_sides_note(&difference, (enum omo_side)piece[i + k].which, note,
                           sizeof note);
            if (o->kind == OMO_OUTCOME_NEW && note[0])
                omo_row_note(&o->row, note);
        }
    }
}

/** Tracks one arm, or both; tracked has two places. */
static enum omo_status track(struct omo_clip_job *job, struct omo_source *source,
                             struct reading *reading, struct omo_tracked *tracked)
{
    const struct omo_tracker_settings *settings = &job->work->plan->tracker;
    struct omo_tracker *tracker = NULL;
    struct omo_pair *pair = NULL;
    enum omo_status status;
    if (job->work->side_count > 1) {
        status = omo_pair_create(settings, &pair);
        if (status == OMO_OK)
            status = omo_track_pair(source, pair, on_frame, reading, tracked);
    } else {
        status = omo_tracker_create(settings, &tracker);
        if (status == OMO_OK)
            status = omo_track_source(source, tracker, on_frame, reading, tracked);
    }
    omo_tracker_destroy(tracker);
    omo_pair_destroy(pair);
    return status;
}

static double end_of(const struct omo_clip_job *job)
{
    double end_s = -INFINITY;
    for (int i = 0; i < job->work->stretch_count; i++) {
        double end = job->work->stretch[i].end_s;
        end_s = isnan(end) ? (double)INFINITY : fmax(end_s, end);
    }
    return end_s;
}

/** Reads the clip once for all movements that need it. */
static void read_and_measure(struct omo_clip_job *job, struct omo_source *source,
                             struct piece *piece)
{
    const struct omo_source_info *info = omo_source_info(source);
    struct omo_tracked tracked[2] = {{0}};
    struct reading reading = {job, job->run, info, piece, end_of(job), false, OMO_OK};
    enum omo_status status = track(job, source, &reading, tracked);
    if (status == OMO_ERR_CANCELLED && reading.past_end)
        status = OMO_OK;
    size_t frames = MAX(tracked[0].count, tracked[1].count);
    char broken_off[160] = "";
    if (status == OMO_ERR_DAMAGED) {
        job->failed = true;
        omo_text_add(broken_off, sizeof broken_off,
                     "The clip breaks off after %zu frames", frames);
        if (info->frame_count > (int64_t)frames)
            omo_text_add(broken_off, sizeof broken_off, " of about %lld",
                         (long long)info->frame_count);
        omo_text_add(broken_off, sizeof broken_off, ".");
    }
    bool usable = status == OMO_OK || (status == OMO_ERR_DAMAGED && frames > 0);
    for (int i = 0; i < omo_clip_piece_count(job); i++) {
        if (piece[i].wanted && usable)
            measure_piece(job, &piece[i], &tracked[piece[i].which], info,
                          broken_off[0] ? broken_off : NULL);
        else if (piece[i].wanted)
            fail(job, &piece[i], frames > 0);
    }
    compare_sides(job, piece);
    for (int i = 0; i < omo_clip_piece_count(job); i++)
        g_free(piece[i].rows);
    omo_tracked_finish(&tracked[0]);
    omo_tracked_finish(&tracked[1]);
}

/** Before the row is saved, so that a row that is there has its provenance. */
static void write_provenance(struct omo_clip_job *job, const char *content,
                             struct piece *piece)
{
    const struct omo_provenance what = {job->work, piece->plan, piece->stretch,
                                        job->path, content,     &piece->outcome->row};
    if (piece->outcome->kind == OMO_OUTCOME_NEW &&
        omo_provenance_write(job->run->directory, &what) != OMO_OK)
        fail(job, piece, true);
}

void omo_clip_job_run(struct omo_clip_job *job)
{
    const struct omo_work *work = job->work;
    struct omo_run *run = job->run;
    struct omo_source *source = NULL;
    struct piece *piece = g_new0(struct piece, omo_clip_piece_count(job));
    char content[65] = "";
    bool any = false;
    for (int i = 0; i < omo_clip_piece_count(job); i++) {
        const struct omo_plan *plan = &work->plan[i % work->side_count];
        piece[i] = (struct piece){.stretch = &work->stretch[i / work->side_count],
                                  .outcome = &job->outcome[i],
                                  .plan = plan,
                                  .which = work->side_count > 1 ? plan->tracker.side : 0};
    }

    enum omo_status status = omo_clip_open(job->path, &source);
    if (status == OMO_OK)
        status = omo_input_hash(job->path, content);

    status = omo_clip_claim(job, status, content,
                            status == OMO_OK ? omo_source_info(source) : NULL, piece);

    if (status != OMO_OK) {
        job->failed = true;
        for (int i = 0; i < omo_clip_piece_count(job); i++) {
            omo_trace_close(job->outcome[i].trace, false);
            job->outcome[i].trace = NULL;
            job->outcome[i].kind = OMO_OUTCOME_FAILED;
        }
    } else {
        for (int i = 0; i < omo_clip_piece_count(job); i++)
            any |= piece[i].wanted;
        if (any)
            read_and_measure(job, source, piece);
        for (int i = 0; work->words && i < omo_clip_piece_count(job); i++)
            write_provenance(job, content, &piece[i]);
    }
    omo_source_destroy(source);
    g_free(piece);
    g_mutex_lock(&run->lock);
    job->done = true;
    g_atomic_int_set(&job->done_permille, 1000);
    g_cond_broadcast(&run->changed);
    g_mutex_unlock(&run->lock);
}
