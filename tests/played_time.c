/* Pictures in time: one every 1/rate seconds on a grid of whole microseconds, into the
   buffers that are free then. Nothing runs by itself: what has happened meanwhile is
   worked out when somebody asks. */
#include "played_stream.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/timerfd.h>
#include <time.h>

/* What outlives a played_stream. */
static long picture; /* next to be shown, counted over streams */
static long lead;    /* shows of the first picture that come before */
static bool stalled, resized;
static double jitter_us;
static int64_t back_at_us; /* when an unplugged camera returns; 0: never */
static struct played_mode other;

int64_t played_now_us(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec * INT64_C(1000000) + now.tv_nsec / 1000;
}

/* 1: as in life; 0: the next picture comes when it is asked for. */
static double speed(void)
{
    static double value = -1;
    const char *text = getenv("OMO_PLAY_SPEED");

    if (value < 0)
        value = text != NULL ? strtod(text, NULL) : 1;
    return value;
}

static int64_t due_us(void)
{
    double real = speed() > 0 ? (double)played_stream.period_us / speed() : 0;

    return played_stream.base_us + (int64_t)((double)(played_stream.step + 1) * real);
}

/* ---- readiness: the device's descriptor is a timer ---- */

static void set_timer(int file, int64_t at_us)
{
    struct itimerspec when = {0};

    if (at_us > 0) {
        when.it_value.tv_sec = at_us / 1000000;
        when.it_value.tv_nsec = at_us % 1000000 * 1000;
    }
    (void)timerfd_settime(file, TFD_TIMER_ABSTIME, &when, NULL);
}

static void arm(void)
{
    if (played_stream.owner < 0)
        return;
    if (played_stream.done_count > 0 || played_device_state() == PLAYED_STATE_GONE)
        set_timer(played_stream.owner, 1);
    else if (!played_stream.running || stalled)
        set_timer(played_stream.owner, 0);
    else
        set_timer(played_stream.owner, due_us());
}

/* ---- one picture ---- */

/* The picture to be shown now; false: the file is at its end. */
static bool content(struct played_picture *shown)
{
    const struct played_mode *mode = resized ? &other : played_stream.mode;
    const char *end = getenv("OMO_PLAY_END");
    long number = picture < 0 ? 0 : picture;

    if (number >= mode->picture_count && end != NULL && strcmp(end, "stall") == 0)
        return false;
    *shown = mode->pictures[number % mode->picture_count];
    return true;
}

static int64_t stamp_us(void)
{
    static unsigned state = 7;
    const char *clock = getenv("OMO_PLAY_STAMPS");
    int64_t stamp = played_stream.base_us + played_stream.step * played_stream.period_us;

    if (clock != NULL && strcmp(clock, "zero") == 0)
        return 0;
    if (jitter_us > 0) {
        state = state * 1103515245u + 12345u;
        stamp += llround(jitter_us * ((double)(state >> 16 & 0x7fff) / 16383.5 - 1.0));
    }
    return stamp;
}

static void note(const struct played_buffer *buffer, bool kept)
{
    const char *path = getenv("OMO_PLAY_LOG");
    FILE *log = path != NULL ? fopen(path, "a") : NULL;

    if (log == NULL)
        return;
    fprintf(log, "%ld %u %lld %zu %s\n", picture, buffer->sequence,
            (long long)buffer->stamp_us, buffer->used, kept ? "shown" : "lost");
    fclose(log);
}

static void expose(const struct played_picture *shown, const struct played_fault *damage)
{
    struct played_buffer lost = {.stamp_us = stamp_us(),
                                 .sequence = played_stream.sequence,
                                 .used = shown->size};
    struct played_buffer *buffer = &lost;

    if (played_stream.queued_count > 0) {
        unsigned index = played_stream.queued[0];
        uint8_t *bytes = played_stream.bytes + index * played_stream.length;
        size_t size =
            shown->size < played_stream.length ? shown->size : played_stream.length;

        memmove(played_stream.queued, played_stream.queued + 1,
                --played_stream.queued_count * sizeof played_stream.queued[0]);
        memcpy(bytes, shown->bytes, size);
        buffer = &played_stream.buffers[index];
        buffer->used = played_damage(damage, bytes, size);
        buffer->stamp_us = lost.stamp_us;
        buffer->sequence = lost.sequence;
        buffer->state = DONE;
        played_stream.done[played_stream.done_count++] = index;
    }
    note(buffer, buffer != &lost);
    played_stream.sequence++;
    played_stream.step++;
    played_stream.shown++;
    picture++;
}

/* ---- faults ---- */

static void unplug(const struct played_fault *fault)
{
    played_device_set_state(PLAYED_STATE_GONE);
    played_stream.running = false;
    played_stream.done_count = 0;
    back_at_us = fault->has_argument ? played_now_us() + llround(fault->argument * 1e6)
                                     : INT64_C(0);
}

static void come_back(void)
{
    back_at_us = 0;
    played_stream_forget();
    played_device_set_state(PLAYED_STATE_FREE);
    played_device_replugged();
}

static void resize(void)
{
    const char *path = getenv("OMO_PLAY_OTHER");

    if (path != NULL && other.picture_count == 0)
        played_pictures_read_jpeg(path, &other);
    resized = other.picture_count > 0 && !resized;
}

/* True: the fault damages the picture that comes. */
static bool come_true(const struct played_fault *fault)
{
    switch (fault->kind) {
    case PLAYED_UNPLUG:
        unplug(fault);
        break;
    case PLAYED_REPLUG:
        come_back();
        break;
    case PLAYED_STALL:
        stalled = !fault->has_argument;
        played_stream.base_us += llround(fault->argument * 1e6);
        break;
    case PLAYED_GO:
        stalled = false;
        played_stream.base_us =
            played_now_us() - played_stream.step * played_stream.period_us;
        break;
    case PLAYED_DROP:
        picture += lround(fault->argument);
        played_stream.step += lround(fault->argument);
        played_stream.sequence += (unsigned)lround(fault->argument);
        break;
    case PLAYED_JITTER:
        jitter_us = fault->argument;
        break;
    case PLAYED_RESIZE:
        resize();
        break;
    case PLAYED_BUSY:
        played_device_set_state(PLAYED_STATE_BUSY);
        break;
    case PLAYED_HELD:
        played_device_set_state(PLAYED_STATE_HELD);
        break;
    case PLAYED_DENIED:
        played_device_set_state(PLAYED_STATE_DENIED);
        break;
    case PLAYED_MISSING:
        played_device_set_state(PLAYED_STATE_GONE);
        break;
    case PLAYED_NO_CAMERA:
        played_device_set_state(PLAYED_STATE_NO_CAMERA);
        break;
    case PLAYED_FREE:
        played_device_set_state(PLAYED_STATE_FREE);
        break;
    default:
        return true;
    }
    return false;
}

static struct played_fault waiting_damage;

/* Those that were commanded, and with a picture those planned for it. */
static void look_for_faults(long until)
{
    struct played_fault fault;

    if (back_at_us != 0 && played_now_us() >= back_at_us)
        come_back();
    while ((fault = played_fault_due(until)).kind != PLAYED_NOTHING)
        if (come_true(&fault))
            waiting_damage = fault;
}

/* ---- time passes ---- */

static bool is_due(void)
{
    if (!played_stream.running || stalled)
        return false;
    if (speed() <= 0)
        return played_stream.queued_count > 0 && played_stream.done_count == 0;
    return due_us() <= played_now_us();
}

static bool step_once(void)
{
    struct played_fault none = {.kind = PLAYED_NOTHING};
    struct played_picture shown;

    look_for_faults(-1);
    if (!is_due())
        return false;
    if (lead == 0)
        look_for_faults(picture);
    if (!is_due())
        return false;
    if (!content(&shown)) {
        stalled = true;
        return false;
    }
    if (lead > 0) {
        lead--;
        picture--; /* the first is shown again */
        expose(&shown, &none);
        return true;
    }
    expose(&shown, &waiting_damage);
    waiting_damage = none;
    return true;
}

void played_stream_look(void)
{
    static bool begun;
    const char *text = getenv("OMO_PLAY_LEAD");

    if (!begun) {
        begun = true;
        lead = text != NULL ? strtol(text, NULL, 10) : 0;
    }
    while (step_once())
        ;
    arm();
}
