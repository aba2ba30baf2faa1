#include "app/saver.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "app/lens_plan.h"
#include "app/pipeline.h"
#include "omogon/log.h"
#include "omogon/text.h"

enum order_kind { ORDER_BEGIN, ORDER_END };

/** Begins and ends, each at its place among the frames. */
struct order {
    enum order_kind kind;
    size_t at;         /* frames of the queue that come before it */
    int width, height; /* BEGIN */
    bool keep;         /* END, as those below */
    struct omo_live_view view;
    char note[256];
};

struct omo_saver {
    struct omo_saver_settings settings;
    GThread *thread;

    /* Only the saver's thread. */
    struct omo_trace_file *trace;
    GArray *frames; /* struct omo_track_frame of the movement in progress */
    int width, height;
    bool open;
    struct omo_session_row row;

    GMutex lock; /* guards all below */
    GCond changed;
    GArray *queue;  /* struct omo_track_frame, not yet written */
    GArray *orders; /* struct order */
    GQueue done;    /* struct omo_saved *, owned */
    bool busy, stop;
    bool promised; /* a begin without its end is queued or open */
    enum omo_status status;
};

static void note_status(struct omo_saver *saver, enum omo_status status)
{
    g_mutex_lock(&saver->lock);
    if (saver->status == OMO_OK)
        saver->status = status;
    g_mutex_unlock(&saver->lock);
}

static void begin(struct omo_saver *saver, const struct order *order)
{
    const struct omo_plan *plan = saver->settings.plan;
    struct omo_session_row *row = &saver->row;
    char stem[128] = "";
    g_array_set_size(saver->frames, 0);
    saver->width = order->width;
    saver->height = order->height;
    saver->open = true;
    *row = plan->row;
    omo_text_copy(row->source, sizeof row->source, saver->settings.source);
    if (saver->settings.real_time) {
        g_autoptr(GDateTime) now = g_date_time_new_now_utc();
        g_autofree char *started = g_date_time_format(now, "%Y-%m-%dT%H:%M:%SZ");
        g_autofree char *stamp = g_date_time_format(now, "%Y%m%dT%H%M%S");
        omo_text_copy(row->started, sizeof row->started, started);
        omo_text_add(stem, sizeof stem, "%s%s%s-", row->person, row->person[0] ? "-" : "",
                     stamp);
    } else {
        omo_text_add(stem, sizeof stem, "%s%s", row->person, row->person[0] ? "-" : "");
    }
    omo_text_add(stem, sizeof stem, "%s-%s", row->movement, row->side);
    enum omo_status status = omo_trace_begin(saver->settings.record, stem, order->width,
                                             order->height, &saver->trace, row->trace);
    if (status != OMO_OK)
        note_status(saver, status);
}

static void write_frame(struct omo_saver *saver, const struct omo_track_frame *frame)
{
    struct omo_trace_row row;
    if (!saver->open)
        return;
    g_array_append_val(saver->frames, *frame);
    if (!saver->trace)
        return;
    omo_trace_row_init(&row, frame);
    if (frame->repeated)
        row.quality |= OMO_QUALITY_REPEATED;
    enum omo_status status = omo_trace_add(saver->trace, &row);
    if (status == OMO_OK)
        return;
    note_status(saver, status);
    omo_trace_close(saver->trace, true);
    saver->trace = NULL;
}

/** The frames' own figures are the content that a live row is known by. */
static void identify(struct omo_saver *saver, const struct omo_trace_row *rows)
{
    struct omo_id *id = omo_id_create();
    omo_id_add_text(id, "started", saver->row.started);
    omo_plan_identify(saver->settings.plan, id);
    for (guint i = 0; i < saver->frames->len; i++) {
        const struct omo_trace_row *row = &rows[i];
        omo_id_add(id, &row->frame, sizeof row->frame);
        omo_id_add(id, &row->time_s, sizeof row->time_s);
        for (int r = 0; r < OMO_ROLE_COUNT; r++) {
            const struct omo_marker *m = &row->markers.role[r];
            const double place[] = {m->x_px, m->y_px};
            if (m->seen != OMO_NOT_SEEN)
                omo_id_add(id, place, sizeof place);
        }
    }
    omo_id_finish(id, saver->row.id);
}

static void fill_row(struct omo_saver *saver, const struct order *order,
                     const struct omo_result *result)
{
    struct omo_session_row *row = &saver->row;
    omo_row_fill(row, result);
    row->pain_onset_deg = order->view.pain_onset_deg;
    row->pain_end_deg = order->view.pain_end_deg;
    if (order->view.end == OMO_END_ENOUGH || order->view.end == OMO_END_STOP)
        omo_text_copy(row->stopped_by, sizeof row->stopped_by, "chose");
    if (order->note[0])
        omo_row_note(row, order->note);
}

/** Measures the movement as a file's, replaces its trace, appends its row. */
static enum omo_status finish(struct omo_saver *saver, const struct order *order,
                              struct omo_saved *saved)
{
    struct omo_measure_settings measure = saver->settings.plan->measure;
    struct omo_lens lens;
    const struct omo_track_frame *frames =
        (const struct omo_track_frame *)(void *)saver->frames->data;
    size_t count = saver->frames->len;
    g_autofree struct omo_trace_row *rows = g_new0(struct omo_trace_row, count + 1);
    bool added = false;
    measure.picture_width = saver->width;
    measure.picture_height = saver->height;
    if (!omo_plan_fit_lens(saver->settings.plan, saver->width, saver->height, &lens,
                           &measure.lens))
        return OMO_ERR_SETTINGS; /* said; not to be, for nothing was measured with it */
    enum omo_status status = omo_measure(&measure, frames, count, rows, &saved->result);
    if (status != OMO_OK)
        return status;
    fill_row(saver, order, &saved->result);
    identify(saver, rows);
    const struct omo_trace_row *highest =
        omo_row_of_frame(rows, count, saved->result.frame_at_max);
    saved->has_highest = highest != NULL;
    if (highest)
        saved->highest = *highest;
    saved->first_s = frames[0].time_s;
    saved->last_s = frames[count - 1].time_s;
    if (!saver->trace)
        return OMO_ERR_IO; /* said when it failed */
    status = omo_trace_finish(saver->trace, rows, count);
    if (status == OMO_OK)
        status = omo_record_append(saver->settings.record, &saver->row, &added);
    /* The same again (a simulated scene): the trace that stands is enough. */
    omo_trace_close(saver->trace, status != OMO_OK || added);
    saver->trace = NULL;
    if (status == OMO_OK && !added)
        omo_record_find(saver->settings.record, saver->row.id, &saver->row);
    return status;
}

static void end(struct omo_saver *saver, const struct order *order)
{
    struct omo_saved *saved = g_new0(struct omo_saved, 1);
    saved->status = order->keep && saver->frames->len > 0 ? finish(saver, order, saved)
                                                          : OMO_ERR_EMPTY;
    saved->row = saver->row;
    if (saved->status != OMO_OK && saved->status != OMO_ERR_EMPTY)
        note_status(saver, saved->status);
    omo_trace_close(saver->trace, saved->status != OMO_ERR_EMPTY);
    saver->trace = NULL;
    saver->open = false;
    g_mutex_lock(&saver->lock);
    g_queue_push_tail(&saver->done, saved);
    g_mutex_unlock(&saver->lock);
}

/** Works through frames and orders in the sequence in which they came. */
static void work(struct omo_saver *saver, const GArray *frames, const GArray *orders)
{
    size_t written = 0;
    for (guint i = 0; i <= orders->len; i++) {
        const struct order *order =
            i < orders->len ? &g_array_index(orders, struct order, i) : NULL;
        size_t until = order ? order->at : frames->len;
        for (; written < until; written++)
            write_frame(saver, &g_array_index(frames, struct omo_track_frame, written));
        if (order && order->kind == ORDER_BEGIN)
            begin(saver, order);
        else if (order)
            end(saver, order);
    }
}

static void *run(void *user)
{
    struct omo_saver *saver = user;
    /* Two lists that change places: none is made while it runs. */
    GArray *frames = g_array_new(FALSE, FALSE, sizeof(struct omo_track_frame));
    GArray *orders = g_array_new(FALSE, FALSE, sizeof(struct order));
    g_mutex_lock(&saver->lock);
    for (;;) {
        while (saver->queue->len == 0 && saver->orders->len == 0 && !saver->stop)
            g_cond_wait(&saver->changed, &saver->lock);
        if (saver->queue->len == 0 && saver->orders->len == 0)
            break;
        GArray *full = saver->queue, *given = saver->orders;
        saver->queue = frames;
        saver->orders = orders;
        saver->busy = true;
        g_mutex_unlock(&saver->lock);
        work(saver, full, given);
        g_array_set_size(full, 0);
        g_array_set_size(given, 0);
        frames = full;
        orders = given;
        g_mutex_lock(&saver->lock);
        saver->busy = false;
        g_cond_broadcast(&saver->changed);
    }
    g_mutex_unlock(&saver->lock);
    g_array_unref(frames);
    g_array_unref(orders);
    return NULL;
}

struct omo_saver *omo_saver_create(const struct omo_saver_settings *settings)
{
    struct omo_saver *saver = g_new0(struct omo_saver, 1);
    saver->settings = *settings;
    saver->frames = g_array_new(FALSE, FALSE, sizeof(struct omo_track_frame));
    saver->queue = g_array_new(FALSE, FALSE, sizeof(struct omo_track_frame));
    saver->orders = g_array_new(FALSE, FALSE, sizeof(struct order));
    g_queue_init(&saver->done);
    g_mutex_init(&saver->lock);
    g_cond_init(&saver->changed);
    saver->thread = g_thread_new("save", run, saver);
    return saver;
}

void omo_saver_destroy(struct omo_saver *saver)
{
    if (!saver)
        return;
    if (saver->promised) {
        struct omo_live_view view = {.pain_onset_deg = NAN, .pain_end_deg = NAN};
        omo_saver_end(saver, &view, true, "");
    }
    g_mutex_lock(&saver->lock);
    saver->stop = true;
    g_cond_broadcast(&saver->changed);
    g_mutex_unlock(&saver->lock);
    g_thread_join(saver->thread);
    g_queue_clear_full(&saver->done, g_free);
    g_array_unref(saver->frames);
    g_array_unref(saver->queue);
    g_array_unref(saver->orders);
    g_mutex_clear(&saver->lock);
    g_cond_clear(&saver->changed);
    g_free(saver);
}

static void give(struct omo_saver *saver, struct order *order)
{
    g_mutex_lock(&saver->lock);
    order->at = saver->queue->len;
    g_array_append_val(saver->orders, *order);
    saver->promised = order->kind == ORDER_BEGIN;
    g_cond_broadcast(&saver->changed);
    g_mutex_unlock(&saver->lock);
}

void omo_saver_begin(struct omo_saver *saver, int picture_width, int picture_height,
                     const struct omo_track_frame *frames, size_t count)
{
    struct order order = {.kind = ORDER_BEGIN,
                          .width = picture_width,
                          .height = picture_height};
    give(saver, &order);
    g_mutex_lock(&saver->lock);
    g_array_append_vals(saver->queue, frames, (guint)count);
    g_cond_broadcast(&saver->changed);
    g_mutex_unlock(&saver->lock);
}

void omo_saver_add(struct omo_saver *saver, const struct omo_track_frame *frame)
{
    g_mutex_lock(&saver->lock);
    g_array_append_val(saver->queue, *frame);
    g_cond_broadcast(&saver->changed);
    g_mutex_unlock(&saver->lock);
}

void omo_saver_end(struct omo_saver *saver, const struct omo_live_view *view, bool keep,
                   const char *note)
{
    struct order order = {.kind = ORDER_END, .keep = keep, .view = *view};
    omo_text_copy(order.note, sizeof order.note, note);
    give(saver, &order);
}

bool omo_saver_take(struct omo_saver *saver, struct omo_saved *out)
{
    g_mutex_lock(&saver->lock);
    struct omo_saved *saved = g_queue_pop_head(&saver->done);
    g_mutex_unlock(&saver->lock);
    if (!saved)
        return false;
    *out = *saved;
    g_free(saved);
    return true;
}

void omo_saver_wait(struct omo_saver *saver)
{
    g_mutex_lock(&saver->lock);
    while (saver->busy || saver->queue->len > 0 || saver->orders->len > 0)
        g_cond_wait(&saver->changed, &saver->lock);
    g_mutex_unlock(&saver->lock);
}

enum omo_status omo_saver_status(struct omo_saver *saver)
{
    g_mutex_lock(&saver->lock);
    enum omo_status status = saver->status;
    g_mutex_unlock(&saver->lock);
    return status;
}
