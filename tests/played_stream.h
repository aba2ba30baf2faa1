/* The stream as the two who make it see it: its buffers (played_stream.c) and what
   becomes of them in time (played_time.c). */
#ifndef PLAYED_STREAM_H
#define PLAYED_STREAM_H

#include "played_parts.h"

#define PLAYED_BUFFERS 32

struct played_buffer {
    enum { IDLE, QUEUED, DONE } state;
    size_t used;
    int64_t stamp_us;
    unsigned sequence;
};

struct played_stream {
    int owner; /* the descriptor that has the buffers, or -1 */
    bool running;
    const struct played_mode *mode;
    struct played_buffer buffers[PLAYED_BUFFERS];
    unsigned count;
    size_t length; /* of one buffer, whole pages */
    int memory;
    uint8_t *bytes;
    unsigned queued[PLAYED_BUFFERS], queued_count, done[PLAYED_BUFFERS], done_count;
    int64_t base_us, period_us;
    long step;  /* periods since the base */
    long shown; /* of this stream */
    unsigned sequence;
};

extern struct played_stream played_stream;

/* Of CLOCK_MONOTONIC. */
int64_t played_now_us(void);
/* Takes buffers and owner away; the mappings of who streamed stay as they are. */
void played_stream_forget(void);

#endif
