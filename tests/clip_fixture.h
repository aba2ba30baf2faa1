/** Clips that tests read, and what a whole clip gave. */
#ifndef OMO_CLIP_FIXTURE_H
#define OMO_CLIP_FIXTURE_H

#include <stddef.h>
#include <stdint.h>

#include "omogon/source.h"

enum { CLIP_FRAMES_MAX = 400 };

/** What came of reading a clip to its end. */
struct clip_run {
    enum omo_status opened, ended;
    struct omo_source_info info;
    int frames, repeated, damaged;
    double time_s[CLIP_FRAMES_MAX];
    struct omo_frame first; /**< its planes are gone: only the numbers are good */
    double middle[3];       /**< Y, Cb, Cr at the middle of the first frame */
    int errors, warnings;
    char error[400], warning[400]; /**< the last sentence of each */
};

/** Makes the clips once; ends the program when ffmpeg is missing. Changes into their
 *  folder, so that tests name them plainly. */
void clip_fixture_make(void);
/** Opens, reads every frame, closes. */
void clip_run(const char *path, struct clip_run *run);
/** A whole file in memory; free() it. */
uint8_t *clip_bytes(const char *path, size_t *size);
void clip_write(const char *path, const uint8_t *bytes, size_t size);
/** Values of Y, Cb, Cr nearest to a coded pixel. */
void clip_colour_at(const struct omo_planes *planes, int x, int y, double ycbcr[3]);

#endif
