#include "app/feed.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "omogon/clock.h"
#include "omogon/text.h"

/* A camera that is gone is asked for this often. */
#define REOPEN_EVERY_NS 500000000
/* A step between two time stamps that is longer than this many usual ones hides others.
 */
#define MISSED_STEPS 1.6

struct omo_feed {
    struct omo_feed_settings settings;
    struct omo_camera *camera;
    struct omo_source *source; /* simulated */
    GThread *thread;

    /* Only the feed's thread. */
    struct omo_packet *filling;
    int64_t begun_ns; /* simulated: when its time 0 was */
    double last_s;    /* time stamp of the last picture */
    double usual_step_s;

    GMutex lock; /* guards all below */
    GCond changed;
    struct omo_packet packet[3];
    struct omo_packet *waiting, *taken;
    bool fresh; /* `waiting` was not taken yet */
    bool stop;
    bool settle; /* the camera's light is to settle anew */
    int64_t fault_since_ns;
    struct omo_feed_state state;
};

static bool stopping(struct omo_feed *feed)
{
    g_mutex_lock(&feed->lock);
    bool stop = feed->stop;
    g_mutex_unlock(&feed->lock);
    return stop;
}

/** Pictures that the camera's clock says were there and never arrived. */
static int64_t missed(struct omo_feed *feed, double time_s)
{
    double step_s = time_s - feed->last_s;
    int64_t count = 0;
    if (isfinite(feed->usual_step_s) && step_s > MISSED_STEPS * feed->usual_step_s &&
        step_s < 1)
        count = (int64_t)(step_s / feed->usual_step_s + 0.5) - 1;
    else if (isfinite(step_s) && step_s > 0)
        feed->usual_step_s =
            isfinite(feed->usual_step_s)
                ? feed->usual_step_s + 0.05 * (step_s - feed->usual_step_s)
                : step_s;
    feed->last_s = time_s;
    return count;
}

static void publish(struct omo_feed *feed)
{
    int64_t gone = missed(feed, feed->filling->time_s);
    g_mutex_lock(&feed->lock);
    feed->state.fault = OMO_CAMERA_FINE;
    if (feed->camera) /* exposure is held after a while, a size may change */
        feed->state.got = *omo_camera_got(feed->camera);
    feed->state.delivered++;
    feed->state.dropped += gone + (feed->fresh ? 1 : 0);
    struct omo_packet *done = feed->filling;
    feed->filling = feed->waiting;
    feed->waiting = done;
    feed->fresh = true;
    g_cond_broadcast(&feed->changed);
    g_mutex_unlock(&feed->lock);
}

static void set_fault(struct omo_feed *feed, enum omo_camera_fault fault)
{
    g_mutex_lock(&feed->lock);
    if (feed->state.fault == OMO_CAMERA_FINE)
        feed->fault_since_ns = omo_clock_ns();
    if (feed->state.fault != fault)
        feed->state.fault_count++;
    feed->state.fault = feed->state.fault_last = fault;
    g_cond_broadcast(&feed->changed);
    g_mutex_unlock(&feed->lock);
    feed->last_s = NAN;
}

/** A scene has no camera's hurry: it waits until the picture before was taken. */
static void await_taker(struct omo_feed *feed)
{
    g_mutex_lock(&feed->lock);
    while (feed->fresh && !feed->stop)
        g_cond_wait(&feed->changed, &feed->lock);
    g_mutex_unlock(&feed->lock);
}

/** Waits unless the feed is being closed. */
static void pause_ns(struct omo_feed *feed, int64_t wait_ns)
{
    int64_t until_ns = omo_clock_ns() + wait_ns;
    while (!stopping(feed) && omo_clock_ns() < until_ns)
        omo_clock_sleep_until(MIN(until_ns, omo_clock_ns() + 50000000));
}

static bool take_settle(struct omo_feed *feed)
{
    g_mutex_lock(&feed->lock);
    bool settle = feed->settle;
    feed->settle = false;
    g_mutex_unlock(&feed->lock);
    return settle;
}

static void *run_camera(void *user)
{
    struct omo_feed *feed = user;
    while (!stopping(feed)) {
        enum omo_camera_fault fault = OMO_CAMERA_FINE;
        if (take_settle(feed))
            omo_camera_settle_again(feed->camera);
        enum omo_status status = omo_camera_next(feed->camera, feed->filling, &fault);
        if (status == OMO_OK) {
            publish(feed);
            continue;
        }
        if (status == OMO_ERR_DAMAGED) {
            g_mutex_lock(&feed->lock);
            feed->state.damaged++;
            g_mutex_unlock(&feed->lock);
            continue;
        }
        set_fault(feed, fault);
        if (fault == OMO_CAMERA_STALLED)
            continue; /* the next call waits again by itself */
        pause_ns(feed, REOPEN_EVERY_NS);
        /* What it gives afterwards is told by the next picture. */
        if (!stopping(feed) && omo_camera_reopen(feed->camera, &fault) != OMO_OK)
            set_fault(feed, fault);
    }
    return NULL;
}

static enum omo_status fill(struct omo_packet *packet, const uint8_t *bytes, size_t size)
{
    if (size > packet->room) {
        uint8_t *grown = g_try_realloc(packet->bytes, size + size / 4);
        if (!grown)
            return OMO_ERR_MEMORY;
        packet->bytes = grown;
        packet->room = size + size / 4;
    }
    memcpy(packet->bytes, bytes, size);
    packet->size = size;
    return OMO_OK;
}

static void *run_scene(void *user)
{
    struct omo_feed *feed = user;
    const struct omo_source_info *info = omo_source_info(feed->source);
    int64_t index = 0;
    feed->begun_ns = omo_clock_ns();
    while (!stopping(feed)) {
        const uint8_t *bytes;
        size_t size;
        double time_s;
        enum omo_status status =
            omo_simulated_next_jpeg(feed->source, &bytes, &size, &time_s);
        struct omo_packet *packet = feed->filling;
        if (status == OMO_OK)
            status = fill(packet, bytes, size);
        if (status != OMO_OK)
            break;
        if (feed->settings.truth) {
            struct omo_truth truth;
            omo_simulated_truth(feed->source, &truth);
            feed->settings.truth(&truth, feed->settings.user);
        }
        /* Where rendering takes longer than life, scene time runs slower than the clock:
         * no picture is skipped. */
        int64_t due_ns = feed->begun_ns + (int64_t)(time_s * 1e9);
        if (due_ns < omo_clock_ns())
            feed->begun_ns += omo_clock_ns() - due_ns;
        else
            omo_clock_sleep_until(due_ns);
        omo_text_copy(packet->format, sizeof packet->format, "MJPG");
        packet->width = info->width;
        packet->height = info->height;
        packet->index = index++;
        packet->time_s = time_s;
        await_taker(feed);
        packet->delivered_ns = omo_clock_ns();
        publish(feed);
    }
    await_taker(feed);
    g_mutex_lock(&feed->lock);
    feed->state.ended = true;
    g_cond_broadcast(&feed->changed);
    g_mutex_unlock(&feed->lock);
    return NULL;
}

static enum omo_status open_source(struct omo_feed *feed, enum omo_camera_fault *fault)
{
    if (!feed->settings.scene) {
        enum omo_status status =
            omo_camera_open(&feed->settings.wish, &feed->camera, fault);
        if (status == OMO_OK)
            feed->state.got = *omo_camera_got(feed->camera);
        return status;
    }
    enum omo_status status = omo_simulated_open(feed->settings.scene, &feed->source);
    if (status != OMO_OK)
        return status;
    const struct omo_source_info *info = omo_source_info(feed->source);
    struct omo_camera_got *got = &feed->state.got;
    got->width = info->width;
    got->height = info->height;
    got->frames_per_second = info->frames_per_second;
    omo_text_copy(got->format, sizeof got->format, "MJPG");
    omo_text_copy(got->name, sizeof got->name, "simulated camera");
    return OMO_OK;
}

enum omo_status omo_feed_open(const struct omo_feed_settings *settings,
                              struct omo_feed **out, enum omo_camera_fault *fault)
{
    struct omo_feed *feed = g_new0(struct omo_feed, 1);
    *fault = OMO_CAMERA_FINE;
    feed->settings = *settings;
    feed->last_s = feed->usual_step_s = NAN;
    feed->filling = &feed->packet[0];
    feed->waiting = &feed->packet[1];
    feed->taken = &feed->packet[2];
    g_mutex_init(&feed->lock);
    g_cond_init(&feed->changed);
    enum omo_status status = open_source(feed, fault);
    if (status != OMO_OK) {
        omo_feed_close(feed);
        return status;
    }
    feed->thread = g_thread_new("capture", feed->camera ? run_camera : run_scene, feed);
    *out = feed;
    return OMO_OK;
}

void omo_feed_close(struct omo_feed *feed)
{
    if (!feed)
        return;
    g_mutex_lock(&feed->lock);
    feed->stop = true;
    g_cond_broadcast(&feed->changed);
    g_mutex_unlock(&feed->lock);
    if (feed->thread)
        g_thread_join(feed->thread);
    omo_camera_destroy(feed->camera);
    omo_source_destroy(feed->source);
    if (feed->settings.scene)
        for (int i = 0; i < 3; i++)
            g_free(feed->packet[i].bytes);
    else
        for (int i = 0; i < 3; i++)
            omo_packet_finish(&feed->packet[i]);
    g_mutex_clear(&feed->lock);
    g_cond_clear(&feed->changed);
    g_free(feed);
}

const struct omo_packet *omo_feed_take(struct omo_feed *feed, int wait_ms)
{
    gint64 until_us = g_get_monotonic_time() + (gint64)wait_ms * 1000;
    const struct omo_packet *packet = NULL;
    g_mutex_lock(&feed->lock);
    while (!feed->fresh && !feed->state.ended && !feed->stop &&
           g_cond_wait_until(&feed->changed, &feed->lock, until_us))
        ;
    if (feed->fresh) {
        struct omo_packet *newest = feed->waiting;
        feed->waiting = feed->taken;
        feed->taken = newest;
        feed->fresh = false;
        g_cond_broadcast(&feed->changed);
        packet = newest;
    }
    g_mutex_unlock(&feed->lock);
    return packet;
}

void omo_feed_settle_again(struct omo_feed *feed)
{
    g_mutex_lock(&feed->lock);
    feed->settle = true;
    g_mutex_unlock(&feed->lock);
}

void omo_feed_state(struct omo_feed *feed, struct omo_feed_state *state)
{
    g_mutex_lock(&feed->lock);
    *state = feed->state;
    state->fault_s = feed->state.fault == OMO_CAMERA_FINE
                         ? 0
                         : (double)(omo_clock_ns() - feed->fault_since_ns) / 1e9;
    g_mutex_unlock(&feed->lock);
}
