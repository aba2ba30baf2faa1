/* The buffers of the played camera and who has them. */
#include "played_stream.h"

#include <errno.h>
#include <math.h>
#include <string.h>
#include <sys/mman.h>
#include <time.h>
#include <unistd.h>

#include <linux/videodev2.h>

struct played_stream played_stream = {.owner = -1, .memory = -1};

void played_stream_forget(void)
{
    if (played_stream.bytes != NULL)
        munmap(played_stream.bytes, played_stream.count * played_stream.length);
    if (played_stream.memory >= 0)
        close(played_stream.memory);
    played_stream.bytes = NULL;
    played_stream.memory = played_stream.owner = -1;
    played_stream.count = played_stream.queued_count = played_stream.done_count = 0;
    played_stream.running = false;
}

/* ---- buffers ---- */

bool played_stream_owned_by_other(int file)
{
    return played_stream.owner >= 0 && played_stream.owner != file;
}

int played_stream_request(int file, const struct played_mode *mode, unsigned *count)
{
    size_t page = 4096, room = (size_t)mode->width * (size_t)mode->height * 2;

    if (played_stream.running)
        return -EBUSY;
    played_stream_forget();
    if (*count == 0)
        return 0;
    if (*count > PLAYED_BUFFERS)
        *count = PLAYED_BUFFERS;
    if (room < mode->largest)
        room = mode->largest;
    played_stream.length = (room + page - 1) / page * page;
    played_stream.count = *count;
    played_stream.memory = memfd_create("played camera", MFD_CLOEXEC);
    if (played_stream.memory < 0 ||
        ftruncate(played_stream.memory,
                  (off_t)(played_stream.count * played_stream.length)) != 0)
        return -ENOMEM;
    played_stream.bytes =
        mmap(NULL, played_stream.count * played_stream.length, PROT_READ | PROT_WRITE,
             MAP_SHARED, played_stream.memory, 0);
    if (played_stream.bytes == MAP_FAILED)
        return -ENOMEM;
    memset(played_stream.buffers, 0, sizeof played_stream.buffers);
    played_stream.owner = file;
    played_stream.mode = mode;
    return 0;
}

static void describe(unsigned index, struct v4l2_buffer *buffer)
{
    const struct played_buffer *b = &played_stream.buffers[index];

    buffer->index = index;
    buffer->length = (unsigned)played_stream.length;
    buffer->m.offset = (unsigned)(index * played_stream.length);
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
    if (buffer->index >= played_stream.count)
        return -EINVAL;
    describe(buffer->index, buffer);
    return 0;
}

int played_stream_queue(int file, struct v4l2_buffer *buffer)
{
    struct played_buffer *b;

    if (played_stream_owned_by_other(file))
        return -EBUSY;
    if (buffer->index >= played_stream.count ||
        played_stream.buffers[buffer->index].state != IDLE)
        return -EINVAL;
    b = &played_stream.buffers[buffer->index];
    b->state = QUEUED;
    played_stream.queued[played_stream.queued_count++] = buffer->index;
    return 0;
}

int played_stream_dequeue(int file, bool waits, struct v4l2_buffer *buffer)
{
    unsigned index;

    if (played_stream_owned_by_other(file) || played_stream.count == 0)
        return -EINVAL;
    while (played_stream.done_count == 0) {
        const struct timespec moment = {.tv_nsec = 1000000};

        if (played_device_state() == PLAYED_STATE_GONE)
            return -ENODEV;
        if (!played_stream.running)
            return -EINVAL;
        if (!waits)
            return -EAGAIN;
        nanosleep(&moment, NULL);
        played_stream_look();
    }
    index = played_stream.done[0];
    memmove(played_stream.done, played_stream.done + 1,
            --played_stream.done_count * sizeof played_stream.done[0]);
    played_stream.buffers[index].state = IDLE;
    describe(index, buffer);
    return 0;
}

/* ---- on and off ---- */

int played_stream_start(int file, double frames_per_second)
{
    if (played_stream_owned_by_other(file) || played_stream.count == 0)
        return -EINVAL;
    if (played_stream.running)
        return 0;
    played_stream.running = true;
    played_stream.base_us = played_now_us();
    played_stream.period_us = llround(1e6 / frames_per_second);
    played_stream.step = played_stream.shown = 0;
    played_stream.sequence = 0;
    return 0;
}

int played_stream_stop(int file)
{
    if (played_stream_owned_by_other(file))
        return -EBUSY;
    played_stream.running = false;
    played_stream.queued_count = played_stream.done_count = 0;
    for (unsigned i = 0; i < played_stream.count; i++)
        played_stream.buffers[i].state = IDLE;
    return 0;
}

bool played_stream_running(void)
{
    return played_stream.running;
}

long played_stream_shown(void)
{
    return played_stream.running ? played_stream.shown : 0;
}

int played_stream_memory(void)
{
    return played_stream.memory;
}

void played_stream_closed(int file)
{
    if (played_stream.owner == file)
        played_stream_forget();
}
