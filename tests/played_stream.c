/* Pictures in time: one every 1/rate seconds on a grid of whole microseconds, into the
   buffers that are free then. Nothing runs by itself: what has happened meanwhile is
   worked out when somebody asks. */
#include "played_parts.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/timerfd.h>
#include <time.h>
#include <unistd.h>

#include <linux/videodev2.h>

#define BUFFERS 32

struct buffer {
    enum { IDLE, QUEUED, DONE } state;
    size_t used;
    int64_t stamp_us;
    unsigned sequence;
};

static struct {
    int owner; /* the descriptor that has the buffers, or -1 */
    bool running;
    const struct played_mode *mode;
    struct buffer buffers[BUFFERS];
    unsigned count;
    size_t length; /* of one buffer, whole pages */
    int memory;
    uint8_t *bytes;
    unsigned queued[BUFFERS], queued_count, done[BUFFERS], done_count;
    int64_t base_us, period_us;
    long step;  /* periods since the base */
    long shown; /* of this stream */
    unsigned sequence;
} stream = {.owner = -1, .memory = -1};

/* What outlives a stream. */
static long picture; /* next to be shown, counted over streams */
static long lead;    /* shows of the first picture that come before */
static bool stalled, resized;
static double jitter_us;
static int64_t back_at_us; /* when an unplugged camera returns; 0: never */
static struct played_mode other;

static int64_t now_us(void)
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
    double real = speed() > 0 ? (double)stream.period_us / speed() : 0;

    return stream.base_us + (int64_t)((double)(stream.step + 1) * real);
}

/* The mappings of who streamed stay as they are. */
static void forget(void)
{
    if (stream.bytes != NULL)
        munmap(stream.bytes, stream.count * stream.length);
    if (stream.memory >= 0)
        close(stream.memory);
    stream.bytes = NULL;
    stream.memory = stream.owner = -1;
    stream.count = stream.queued_count = stream.done_count = 0;
    stream.running = false;
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
    if (stream.owner < 0)
        return;
    if (stream.done_count > 0 || played_device_state() == PLAYED_STATE_GONE)
        set_timer(stream.owner, 1);
    else if (!stream.running || stalled)
        set_timer(stream.owner, 0);
    else
        set_timer(stream.owner, due_us());
}

/* ---- one picture ---- */

/* The picture to be shown now; false: the file is at its end. */
static bool content(struct played_picture *shown)
{
    const struct played_mode *mode = resized ? &other : stream.mode;
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
    int64_t stamp = stream.base_us + stream.step * stream.period_us;

    if (clock != NULL && strcmp(clock, "zero") == 0)
        return 0;
    if (jitter_us > 0) {
        state = state * 1103515245u + 12345u;
        stamp += llround(jitter_us * ((double)(state >> 16 & 0x7fff) / 16383.5 - 1.0));
    }
    return stamp;
}

static void note(const struct buffer *buffer, bool kept)
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
    struct buffer lost = {.stamp_us = stamp_us(),
                          .sequence = stream.sequence,
                          .used = shown->size};
    struct buffer *buffer = &lost;

    if (stream.queued_count > 0) {
        unsigned index = stream.queued[0];
        uint8_t *bytes = stream.bytes + index * stream.length;
        size_t size = shown->size < stream.length ? shown->size : stream.length;

        memmove(stream.queued, stream.queued + 1,
                --stream.queued_count * sizeof stream.queued[0]);
        memcpy(bytes, shown->bytes, size);
        buffer = &stream.buffers[index];
        buffer->used = played_damage(damage, bytes, size);
        buffer->stamp_us = lost.stamp_us;
        buffer->sequence = lost.sequence;
        buffer->state = DONE;
        stream.done[stream.done_count++] = index;
    }
    note(buffer, buffer != &lost);
    stream.sequence++;
    stream.step++;
    stream.shown++;
    picture++;
}

/* ---- faults ---- */

static void unplug(const struct played_fault *fault)
{
    played_device_set_state(PLAYED_STATE_GONE);
    stream.running = false;
    stream.done_count = 0;
    back_at_us =
        fault->has_argument ? now_us() + llround(fault->argument * 1e6) : INT64_C(0);
}

static void come_back(void)
{
    back_at_us = 0;
    forget();
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
        stream.base_us += llround(fault->argument * 1e6);
        break;
    case PLAYED_GO:
        stalled = false;
        stream.base_us = now_us() - stream.step * stream.period_us;
        break;
    case PLAYED_DROP:
        picture += lround(fault->argument);
        stream.step += lround(fault->argument);
        stream.sequence += (unsigned)lround(fault->argument);
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

    if (back_at_us != 0 && now_us() >= back_at_us)
        come_back();
    while ((fault = played_fault_due(until)).kind != PLAYED_NOTHING)
        if (come_true(&fault))
            waiting_damage = fault;
}

/* ---- time passes ---- */

static bool is_due(void)
{
    if (!stream.running || stalled)
        return false;
    if (speed() <= 0)
        return stream.queued_count > 0 && stream.done_count == 0;
    return due_us() <= now_us();
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

/* ---- buffers ---- */

bool played_stream_owned_by_other(int file)
{
    return stream.owner >= 0 && stream.owner != file;
}

int played_stream_request(int file, const struct played_mode *mode, unsigned *count)
{
    size_t page = 4096, room = (size_t)mode->width * (size_t)mode->height * 2;

    if (stream.running)
        return -EBUSY;
    forget();
    if (*count == 0)
        return 0;
    if (*count > BUFFERS)
        *count = BUFFERS;
    if (room < mode->largest)
        room = mode->largest;
    stream.length = (room + page - 1) / page * page;
    stream.count = *count;
    stream.memory = memfd_create("played camera", MFD_CLOEXEC);
    if (stream.memory < 0 ||
        ftruncate(stream.memory, (off_t)(stream.count * stream.length)) != 0)
        return -ENOMEM;
    stream.bytes = mmap(NULL, stream.count * stream.length, PROT_READ | PROT_WRITE,
                        MAP_SHARED, stream.memory, 0);
    if (stream.bytes == MAP_FAILED)
        return -ENOMEM;
    memset(stream.buffers, 0, sizeof stream.buffers);
    stream.owner = file;
    stream.mode = mode;
    return 0;
}

static void describe(unsigned index, struct v4l2_buffer *buffer)
{
    const struct buffer *b = &stream.buffers[index];

    buffer->index = index;
    buffer->length = (unsigned)stream.length;
    buffer->m.offset = (unsigned)(index * stream.length);
    buffer->bytesused = (unsigned)b->used;
    buffer->timestamp.tv_sec = b->stamp_us / 1000000;
    buffer->timestamp.tv_usec = b->stamp_us % 1000000;
    buffer->sequence = b->sequence;
    buffer->field = V4L2_FIELD_NONE;
    buffer->memory = V4L2_MEMORY_MMAP;
    buffer->flags = V4L2_BUF_FLAG_TIMESTAMP_MONOTONIC | V4L2_BUF_FLAG_MAPPED |
                    (b->state == QUEUED ? V4L2_BUF_FLAG_QUEUED : 0u) |
                    (b->state == DONE ? V4L2_BUF_FLAG_DONE : 0u);
}

int played_stream_query(int file, struct v4l2_buffer *buffer)
{
    if (played_stream_owned_by_other(file))
        return -EBUSY;
    if (buffer->index >= stream.count)
        return -EINVAL;
    describe(buffer->index, buffer);
    return 0;
}

int played_stream_queue(int file, struct v4l2_buffer *buffer)
{
    struct buffer *b;

    if (played_stream_owned_by_other(file))
        return -EBUSY;
    if (buffer->index >= stream.count || stream.buffers[buffer->index].state != IDLE)
        return -EINVAL;
    b = &stream.buffers[buffer->index];
    b->state = QUEUED;
    stream.queued[stream.queued_count++] = buffer->index;
    return 0;
}

int played_stream_dequeue(int file, bool waits, struct v4l2_buffer *buffer)
{
    unsigned index;

    if (played_stream_owned_by_other(file) || stream.count == 0)
        return -EINVAL;
    while (stream.done_count == 0) {
        const struct timespec moment = {.tv_nsec = 1000000};

        if (played_device_state() == PLAYED_STATE_GONE)
            return -ENODEV;
        if (!stream.running)
            return -EINVAL;
        if (!waits)
            return -EAGAIN;
        nanosleep(&moment, NULL);
        played_stream_look();
    }
    index = stream.done[0];
    memmove(stream.done, stream.done + 1, --stream.done_count * sizeof stream.done[0]);
    stream.buffers[index].state = IDLE;
    describe(index, buffer);
    return 0;
}

/* ---- on and off ---- */

int played_stream_start(int file, double frames_per_second)
{
    if (played_stream_owned_by_other(file) || stream.count == 0)
        return -EINVAL;
    if (stream.running)
        return 0;
    stream.running = true;
    stream.base_us = now_us();
    stream.period_us = llround(1e6 / frames_per_second);
    stream.step = stream.shown = 0;
    stream.sequence = 0;
    return 0;
}

int played_stream_stop(int file)
{
    if (played_stream_owned_by_other(file))
        return -EBUSY;
    stream.running = false;
    stream.queued_count = stream.done_count = 0;
    for (unsigned i = 0; i < stream.count; i++)
        stream.buffers[i].state = IDLE;
    return 0;
}

bool played_stream_running(void)
{
    return stream.running;
}

long played_stream_shown(void)
{
    return stream.running ? stream.shown : 0;
}

int played_stream_memory(void)
{
    return stream.memory;
}

void played_stream_closed(int file)
{
    if (stream.owner == file)
        forget();
}
