#include "app/desk_look.h"

#include <math.h>

#include "omogon/clock.h"
#include "omogon/log.h"
#include "omogon/words.h"

#define LOOK_S    5.0 /* a breath, at a desk; our choice */
#define SETTLE_S  2.0 /* to let the arm down after the sentence */
#define SILENCE_S 8.0 /* without a picture the camera is given up */
#define WAIT_MS   100

/** What looks. */
struct eye {
    struct omo_feed *feed;
    struct omo_tracker *tracker;
    struct omo_unpacker *unpacker;
    struct omo_desk_wait *wait;
};

/** A packet's markers; false when it was broken. */
static bool track(struct eye *eye, const struct omo_packet *packet,
                  struct omo_track_frame *out)
{
    struct omo_planes planes;
    bool damaged;
    if (omo_unpack(eye->unpacker, packet, false, &planes, &damaged) != OMO_OK || damaged)
        return false;
    struct omo_frame frame = {.planes = planes,
                              .turned = {0, planes.width, planes.height},
                              .index = packet->index,
                              .time_s = packet->time_s};
    *out = (struct omo_track_frame){.index = packet->index, .time_s = packet->time_s};
    return omo_tracker_step(eye->tracker, &frame, &out->markers) == OMO_OK;
}

/** Frames of some seconds by their own time; `frames` NULL passes them over. */
static enum omo_status look(struct eye *eye, double seconds, GArray *frames)
{
    int64_t heard_ns = omo_clock_ns();
    double first_s = NAN;
    while (omo_clock_ns() - heard_ns < (int64_t)(SILENCE_S * 1e9)) {
        struct omo_track_frame frame;
        struct omo_feed_state state;
        g_main_context_iteration(NULL, FALSE); /* where signals come in */
        if (eye->wait->stopped)
            return OMO_ERR_CANCELLED;
        const struct omo_packet *packet = omo_feed_take(eye->feed, WAIT_MS);
        omo_feed_state(eye->feed, &state);
        if (!packet && state.ended)
            break;
        if (!packet || !track(eye, packet, &frame))
            continue;
        heard_ns = omo_clock_ns();
        first_s = isnan(first_s) ? frame.time_s : first_s;
        if (frame.time_s - first_s >= seconds)
            return OMO_OK;
        if (frames)
            g_array_append_val(frames, frame);
    }
    omo_warning("%s",
                omo_word("The camera gave no pictures, so nothing was measured; the "
                         "questions are asked all the same."));
    return OMO_ERR_EMPTY;
}

static enum omo_status look_twice(struct eye *eye, struct omo_desk_asker *asker,
                                  GArray *found, GArray *let_go)
{
    enum omo_status status = look(eye, LOOK_S, found);
    if (status != OMO_OK)
        return status;
    omo_desk_say(asker,
                 omo_word("Let the shoulder sink and the arm hang for a moment: the "
                          "camera is on."));
    status = look(eye, SETTLE_S, NULL);
    return status == OMO_OK ? look(eye, LOOK_S, let_go) : status;
}

static enum omo_status measure(const struct omo_plan *plan, const GArray *found,
                               const GArray *let_go, struct omo_desk_figures *out)
{
    enum omo_status status =
        omo_desk_measure(&plan->measure,
                         (const struct omo_track_frame *)(const void *)found->data,
                         found->len,
                         (const struct omo_track_frame *)(const void *)let_go->data,
                         let_go->len, out);
    if (status == OMO_ERR_EMPTY)
        omo_warning("%s", omo_word("No markers on shoulder and elbow were in view, so "
                                   "nothing was measured."));
    return status;
}

enum omo_status omo_desk_look(const struct omo_plan *plan,
                              const struct omo_feed_settings *feed,
                              struct omo_desk_wait *wait, struct omo_desk_asker *asker,
                              struct omo_desk_figures *out)
{
    struct eye eye = {.wait = wait};
    enum omo_camera_fault fault = OMO_CAMERA_FINE;
    enum omo_status status = omo_feed_open(feed, &eye.feed, &fault);
    if (status != OMO_OK) {
        if (fault != OMO_CAMERA_FINE)
            omo_warning("%s", omo_word(omo_camera_fault_text(fault)));
        return status;
    }
    GArray *found = g_array_new(FALSE, FALSE, sizeof(struct omo_track_frame));
    GArray *let_go = g_array_new(FALSE, FALSE, sizeof(struct omo_track_frame));
    status = omo_tracker_create(&plan->tracker, &eye.tracker);
    if (status == OMO_OK)
        status = omo_unpacker_create(&eye.unpacker);
    if (status == OMO_OK)
        status = look_twice(&eye, asker, found, let_go);
    omo_feed_close(eye.feed);
    omo_tracker_destroy(eye.tracker);
    omo_unpacker_destroy(eye.unpacker);
    if (status == OMO_OK)
        status = measure(plan, found, let_go, out);
    g_array_unref(found);
    g_array_unref(let_go);
    return status;
}
