/** Rendered frames kept in memory as JPEG bytes with their truth, played to and fro. */
#ifndef OMOGON_BENCH_STORED_FRAMES_H
#define OMOGON_BENCH_STORED_FRAMES_H

#include <stddef.h>
#include <stdint.h>

#include "omogon/simulated.h"

struct stored_frame {
    uint8_t *bytes;
    size_t size;
    struct omo_truth truth;
};

struct stored_frames {
    struct stored_frame *frame;
    size_t count;
    double mean_size_bytes;
};

/** Renders `count` frames of a scene; settings is a NULL-terminated list of name, value.
 *  Exits the program with a sentence when that fails. */
void stored_frames_render(struct stored_frames *stored, const char *scene_name,
                          const char *const *settings, size_t count);
void stored_frames_free(struct stored_frames *stored);

/** The frame to show at a step: 0 1 2 .. n-1 n-1 .. 1 0 0 1 .., so that a stored arm
 *  moves without jumps for any number of steps. */
const struct stored_frame *stored_frames_at(const struct stored_frames *stored,
                                            int64_t step);

#endif
