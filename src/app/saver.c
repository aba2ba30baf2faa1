#include "app/saver.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "app/live_movement.h"
#include "omogon/text.h"

enum order_kind { ORDER_BEGIN, ORDER_END };

/** Begins and ends, each at its place among the frames. */
struct order {
    enum order_kind kind;
    size_t at;         /* frames of the queue that come before it */
    int width, height; /* BEGIN */
    bool keep;         /* END, as those below */
    struct omo_live_view view[OMO_SAVER_ARMS];
    char note[256];
};

struct omo_saver {
    struct omo_saver_settings settings;
    GThread *thread;

    /* Only the saver's thread. */
    struct omo_live_movement movement;

    GMutex lock; /* guards all below */
    GCond changed;
    GArray *queue;  /* struct omo_track_frame, not yet written; the arms take turns */
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

static void end(struct omo_saver *saver, const struct order *order)
{
    struct omo_saved *saved[OMO_SAVER_ARMS];
    for (int i = 0; i < saver->settings.arms; i++)
        saved[i] = g_new0(struct omo_saved, 1);
    note_status(saver, omo_live_movement_end(&saver->movement, order->view, order->keep,
                                             order->note, saved));
    g_mutex_lock(&saver->lock);
    for (int i = 0; i < saver->settings.arms; i++)
        g_queue_push_tail(&saver->done, saved[i]);
    g_mutex_unlock(&saver->lock);
}

/** Works through frames and orders in the sequence in which they came. */
static void work(struct omo_saver *saver, const GArray *frames, const GArray *orders)
{
    size_t written = 0, arms = (size_t)saver->settings.arms;
    for (guint i = 0; i <= orders->len; i++) {
        const struct order *order =
            i < orders->len ? &g_array_index(orders, struct order, i) : NULL;
        size_t until = order ? order->at : frames->len;
        for (; written < until; written++)
            note_status(saver,
                        omo_live_movement_add(
                            &saver->movement, (int)(written % arms),
                            &g_array_index(frames, struct omo_track_frame, written)));
        if (order && order->kind == ORDER_BEGIN)
            note_status(saver, omo_live_movement_begin(&saver->movement, order->width,
                                                       order->height));
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
    omo_live_movement_init(&saver->movement, &saver->settings);
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
        struct omo_live_view view[OMO_SAVER_ARMS];
        for (int i = 0; i < OMO_SAVER_ARMS; i++)
            view[i] = (struct omo_live_view){.pain_onset_deg = NAN, .pain_end_deg = NAN};
        omo_saver_end(saver, view, true, "");
    }
    g_mutex_lock(&saver->lock);
    saver->stop = true;
    g_cond_broadcast(&saver->changed);
    g_mutex_unlock(&saver->lock);
    g_thread_join(saver->thread);
    g_queue_clear_full(&saver->done, g_free);
    omo_live_movement_finish(&saver->movement);
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
                     const struct omo_track_frame *const frames[], size_t count)
{
    struct order order = {.kind = ORDER_BEGIN,
                          .width = picture_width,
                          .height = picture_height};
    give(saver, &order);
    g_mutex_lock(&saver->lock);
    for (size_t k = 0; k < count; k++)
        for (int i = 0; i < saver->settings.arms; i++)
            g_array_append_val(saver->queue, frames[i][k]);
    g_cond_broadcast(&saver->changed);
    g_mutex_unlock(&saver->lock);
}

void omo_saver_add(struct omo_saver *saver, const struct omo_track_frame *frame)
{
    g_mutex_lock(&saver->lock);
    g_array_append_vals(saver->queue, frame, (guint)saver->settings.arms);
    g_cond_broadcast(&saver->changed);
    g_mutex_unlock(&saver->lock);
}

void omo_saver_end(struct omo_saver *saver, const struct omo_live_view *view, bool keep,
                   const char *note)
{
    struct order order = {.kind = ORDER_END, .keep = keep};
    for (int i = 0; i < saver->settings.arms; i++)
        order.view[i] = view[i];
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
