#include "app/live.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "omogon/clock.h"
#include "omogon/log.h"

/* A movement whose person has walked off is over. */
#define GONE_S 60
/* Without any marker for so long, only so many pictures a second are looked at. */
#define IDLE_AFTER_S 10
#define IDLE_EVERY_S 0.2
#define NEVER_S      86400
#define TAKE_WAIT_MS 200

/** A picture's planes live in their unpacker's buffers, so each place has its own. */
struct place {
    struct omo_unpacker *unpacker;
    struct omo_live_now now;
};

struct omo_live_run {
    struct omo_live_run_settings settings;
    GThread *thread;

    /* Only the measuring thread. */
    struct omo_live_arms arms;
    struct place *writing;
    struct omo_live_view last[OMO_LIVE_ARMS];
    uint64_t digest;   /* of the picture before */
    int width, height; /* of the pictures so far; 0 before the first */
    double first_s;    /* the first picture's time stamp is time 0 */
    double seen_s;     /* when any marker was seen last */
    double looked_s;   /* when a picture was looked at last */
    bool saving, raised;

    GMutex lock; /* guards all below */
    struct place place[3];
    struct place *ready, *shown;
    bool fresh, stop, again;
    unsigned presses; /* bits of 1u << enum omo_live_press */
    struct omo_live_count count;
    enum omo_status status;
};

/** Asked for by the other thread since the last picture. */
static void take_orders(struct omo_live_run *run)
{
    g_mutex_lock(&run->lock);
    unsigned presses = run->presses;
    bool again = run->again;
    run->presses = 0;
    run->again = false;
    g_mutex_unlock(&run->lock);
    if (again && run->last[0].phase == OMO_PHASE_ENDED)
        omo_live_arms_again(&run->arms);
    for (int p = OMO_PRESS_MARK; p <= OMO_PRESS_STOP; p++)
        if (presses & (1u << p))
            omo_live_press(run->arms.live, (enum omo_live_press)p);
}

/** The views: one for each arm. */
static void end_saving(struct omo_live_run *run, const struct omo_live_view *view,
                       const char *note)
{
    if (!run->saving)
        return;
    omo_saver_end(run->settings.saver, view, run->raised, note);
    run->saving = false;
    run->raised = false;
    g_mutex_lock(&run->lock);
    run->count.movements++;
    g_mutex_unlock(&run->lock);
}

/** Sends what belongs to a movement to the saver. */
static void save(struct omo_live_run *run, const struct omo_live_look *look, int width,
                 int height)
{
    const struct omo_live_view *view = look->view;
    if (!run->settings.saver)
        return;
    if (view->events & OMO_EVENT_NEUTRAL) {
        const struct omo_track_frame *frames[OMO_LIVE_ARMS];
        size_t count = 0;
        for (int i = 0; i < run->arms.count; i++)
            frames[i] = omo_live_frames(run->arms.live, i, &count);
        omo_saver_begin(run->settings.saver, width, height, frames, count);
        run->saving = true;
    } else if (run->saving && view->phase != OMO_PHASE_ENDED) {
        omo_saver_add(run->settings.saver, look->frame);
    }
    if (view->events & OMO_EVENT_RAISE_BEGAN)
        run->raised = true;
    if (view->events & OMO_EVENT_ENDED)
        end_saving(run, view, "");
}

static void publish(struct omo_live_run *run)
{
    g_mutex_lock(&run->lock);
    struct place *done = run->writing;
    if (run->fresh) /* never shown: what happened in it must not be lost */
        for (int i = 0; i < run->arms.count; i++)
            done->now.view[i].events |= run->ready->now.view[i].events;
    run->writing = run->ready;
    run->ready = done;
    run->fresh = true;
    g_mutex_unlock(&run->lock);
    if (run->settings.wake)
        run->settings.wake(run->settings.user);
}

static bool any_seen(const struct omo_live_look *look, int arms)
{
    for (int i = 0; i < arms; i++)
        for (int r = 0; r < OMO_ROLE_COUNT; r++)
            if (look->frame[i].markers.role[r].seen != OMO_NOT_SEEN)
                return true;
    return false;
}

/** Positions in pictures of another size mean something else: everything begins anew. */
static enum omo_status follow_size(struct omo_live_run *run, int width, int height)
{
    if (run->width == width && run->height == height)
        return OMO_OK;
    bool changed =
        run->width > 0 || run->settings.width != width || run->settings.height != height;
    run->width = width;
    run->height = height;
    if (!changed)
        return OMO_OK;
    end_saving(run, run->last, "The camera's pictures changed their size.");
    return omo_live_arms_make(&run->arms, width, height);
}

/** True when this picture may be left out because nobody is there. */
static bool rests(struct omo_live_run *run, double time_s)
{
    if (!(time_s - run->seen_s > IDLE_AFTER_S) || run->saving)
        return false;
    return time_s - run->looked_s < IDLE_EVERY_S && time_s >= run->looked_s;
}

/** True for the very bytes of the picture before: a camera that shows one twice. */
static bool repeats(struct omo_live_run *run, const struct omo_packet *packet)
{
    /* FNV-1a over words of eight bytes: pictures are told apart, nothing is kept secret.
     */
    uint64_t digest = UINT64_C(14695981039346656037) ^ packet->size, word;
    size_t at = 0;
    for (; at + sizeof word <= packet->size; at += sizeof word) {
        memcpy(&word, packet->bytes + at, sizeof word);
        digest = (digest ^ word) * UINT64_C(1099511628211);
    }
    for (; at < packet->size; at++)
        digest = (digest ^ packet->bytes[at]) * UINT64_C(1099511628211);
    bool same = run->digest == digest;
    run->digest = digest;
    return same;
}

static enum omo_status measure(struct omo_live_run *run, const struct omo_packet *packet)
{
    struct omo_live_now *now = &run->writing->now;
    bool broken = false;
    if (isnan(run->first_s))
        run->first_s = run->seen_s = packet->time_s;
    /* Differences of time stamps in whole microseconds, as the driver gives them. */
    double time_s = rint((packet->time_s - run->first_s) * 1e6) / 1e6;
    if (rests(run, packet->time_s)) {
        g_mutex_lock(&run->lock);
        run->count.skipped++;
        g_mutex_unlock(&run->lock);
        return OMO_OK;
    }
    run->looked_s = packet->time_s;
    enum omo_status status = omo_unpack(run->writing->unpacker, packet,
                                        run->settings.need_luma, &now->planes, &broken);
    if (status == OMO_ERR_DAMAGED || status == OMO_ERR_FORMAT) {
        g_mutex_lock(&run->lock);
        run->count.broken++;
        g_mutex_unlock(&run->lock);
        return OMO_OK;
    }
    if (status != OMO_OK)
        return status;
    status = follow_size(run, now->planes.width, now->planes.height);
    if (status != OMO_OK)
        return status;
    struct omo_frame picture = {.planes = now->planes,
                                .turned = {0, now->planes.width, now->planes.height},
                                .index = packet->index,
                                .time_s = time_s,
                                .damaged = broken,
                                .repeated = repeats(run, packet)};
    struct omo_live_look look = {0};
    status = omo_live_arms_step(&run->arms, &picture, &look);
    if (status != OMO_OK)
        return status;
    if (any_seen(&look, run->arms.count))
        run->seen_s = packet->time_s;
    else if (run->saving && packet->time_s - run->seen_s > GONE_S)
        omo_live_press(run->arms.live, OMO_PRESS_STOP);
    memcpy(now->view, look.view, sizeof now->view);
    now->frame = packet->index;
    now->delivered_ns = packet->delivered_ns;
    now->picture_width = now->planes.width;
    now->picture_height = now->planes.height;
    now->idle = packet->time_s - run->seen_s > IDLE_AFTER_S;
    save(run, &look, now->picture_width, now->picture_height);
    if (run->settings.frame)
        run->settings.frame(look.frame, look.view, run->settings.frame_user);
    now->cue = omo_live_arms_judge(&run->arms, &now->planes, now->view, &now->cue_arm);
    memcpy(run->last, now->view, sizeof run->last);
    g_mutex_lock(&run->lock);
    run->count.measured++;
    run->count.broken += broken;
    g_mutex_unlock(&run->lock);
    publish(run);
    return OMO_OK;
}

static bool stopping(struct omo_live_run *run)
{
    g_mutex_lock(&run->lock);
    bool stop = run->stop;
    g_mutex_unlock(&run->lock);
    return stop;
}

static void *work(void *user)
{
    struct omo_live_run *run = user;
    while (!stopping(run)) {
        const struct omo_packet *packet = omo_feed_take(run->settings.feed, TAKE_WAIT_MS);
        take_orders(run);
        if (!packet) {
            struct omo_feed_state state;
            omo_feed_state(run->settings.feed, &state);
            if (run->settings.wake)
                run->settings.wake(run->settings.user);
            if (state.ended)
                break;
            continue;
        }
        enum omo_status status = measure(run, packet);
        if (status != OMO_OK) {
            omo_error("measuring stopped: %s; what was measured is kept",
                      omo_status_text(status));
            g_mutex_lock(&run->lock);
            run->status = status;
            g_mutex_unlock(&run->lock);
            break;
        }
    }
    /* The pictures ended, nobody chose to. */
    end_saving(run, run->last, "");
    if (run->settings.wake)
        run->settings.wake(run->settings.user);
    return NULL;
}

static void release(struct omo_live_run *run)
{
    for (int i = 0; i < 3; i++)
        omo_unpacker_destroy(run->place[i].unpacker);
    omo_live_arms_finish(&run->arms);
    g_mutex_clear(&run->lock);
    g_free(run);
}

/** Raises as wished for; who is only watched is never done for being still. */
static void fit_course(struct omo_live_settings *course,
                       const struct omo_live_run_settings *settings)
{
    if (settings->raises_most > 0)
        course->raises_most = settings->raises_most;
    if (settings->saver)
        return;
    course->end_still_s = NEVER_S;
    course->raises_most = 0;
    course->pause_s = 0;
}

enum omo_status omo_live_run_start(const struct omo_live_run_settings *settings,
                                   struct omo_live_run **out)
{
    struct omo_live_run *run = g_new0(struct omo_live_run, 1);
    run->settings = *settings;
    run->first_s = NAN;
    run->looked_s = -INFINITY;
    for (int i = 0; i < OMO_LIVE_ARMS; i++)
        run->last[i].pain_onset_deg = run->last[i].pain_end_deg = NAN;
    g_mutex_init(&run->lock);
    omo_live_arms_init(&run->arms, settings->plan, settings->arms);
    fit_course(&run->arms.course, settings);
    enum omo_status status =
        omo_live_arms_make(&run->arms, settings->width, settings->height);
    for (int i = 0; i < 3 && status == OMO_OK; i++)
        status = omo_unpacker_create(&run->place[i].unpacker);
    if (status != OMO_OK) {
        release(run);
        return status;
    }
    run->writing = &run->place[0];
    run->ready = &run->place[1];
    run->shown = &run->place[2];
    run->thread = g_thread_new("measure", work, run);
    *out = run;
    return OMO_OK;
}

void omo_live_run_finish(struct omo_live_run *run)
{
    if (!run)
        return;
    g_mutex_lock(&run->lock);
    run->stop = true;
    g_mutex_unlock(&run->lock);
    g_thread_join(run->thread);
    release(run);
}

bool omo_live_run_take(struct omo_live_run *run, const struct omo_live_now **now)
{
    g_mutex_lock(&run->lock);
    bool fresh = run->fresh;
    if (fresh) {
        struct place *newest = run->ready;
        run->ready = run->shown;
        run->shown = newest;
        run->fresh = false;
        *now = &newest->now;
    }
    g_mutex_unlock(&run->lock);
    return fresh;
}

void omo_live_run_press(struct omo_live_run *run, enum omo_live_press press)
{
    g_mutex_lock(&run->lock);
    run->presses |= 1u << press;
    g_mutex_unlock(&run->lock);
}

void omo_live_run_again(struct omo_live_run *run)
{
    g_mutex_lock(&run->lock);
    run->again = true;
    g_mutex_unlock(&run->lock);
}

void omo_live_run_count(struct omo_live_run *run, struct omo_live_count *count)
{
    g_mutex_lock(&run->lock);
    *count = run->count;
    g_mutex_unlock(&run->lock);
}

enum omo_status omo_live_run_status(struct omo_live_run *run)
{
    g_mutex_lock(&run->lock);
    enum omo_status status = run->status;
    g_mutex_unlock(&run->lock);
    return status;
}
