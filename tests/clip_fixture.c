#include "clip_fixture.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

#include "omogon/log.h"

#define OMO_CLIPS "clips"

void clip_fixture_make(void)
{
    if (system("sh '" OMO_TEST_DATA "/make_clips.sh' " OMO_CLIPS) != 0 ||
        chdir(OMO_CLIPS) != 0) {
        fputs("the clips could not be made: is ffmpeg installed?\n", stderr);
        exit(1);
    }
}

static void keep_sentence(enum omo_log_level level, const char *text, void *user)
{
    struct clip_run *run = user;

    if (level == OMO_LOG_ERROR) {
        run->errors++;
        snprintf(run->error, sizeof run->error, "%s", text);
    } else if (level == OMO_LOG_WARNING) {
        run->warnings++;
        snprintf(run->warning, sizeof run->warning, "%s", text);
    }
}

static double sample(const uint8_t *plane, int stride, double x, double y, int width,
                     int height)
{
    int column = (int)lround(x), row = (int)lround(y);

    column = column < 0 ? 0 : column >= width ? width - 1 : column;
    row = row < 0 ? 0 : row >= height ? height - 1 : row;
    return plane[row * stride + column];
}

void clip_colour_at(const struct omo_planes *p, int x, int y, double ycbcr[3])
{
    double chroma_x = (x - p->offset_x) / p->scale_x;
    double chroma_y = (y - p->offset_y) / p->scale_y;

    ycbcr[0] =
        p->y != NULL ? sample(p->y, p->y_stride, x, y, p->width, p->height) : (double)NAN;
    ycbcr[1] = sample(p->cb, p->chroma_stride, chroma_x, chroma_y, p->chroma_width,
                      p->chroma_height);
    ycbcr[2] = sample(p->cr, p->chroma_stride, chroma_x, chroma_y, p->chroma_width,
                      p->chroma_height);
}

/* Reads every sample, so that a checker sees planes that are too small. */
static unsigned touch(const struct omo_planes *p)
{
    unsigned sum = 0;

    for (int row = 0; p->y != NULL && row < p->height; row++)
        for (int x = 0; x < p->width; x++)
            sum += p->y[(size_t)row * (size_t)p->y_stride + (size_t)x];
    for (int row = 0; row < p->chroma_height; row++)
        for (int x = 0; x < p->chroma_width; x++) {
            size_t at = (size_t)row * (size_t)p->chroma_stride + (size_t)x;

            sum += (unsigned)p->cb[at] + p->cr[at];
        }
    return sum;
}

static void read_frames(struct omo_source *source, struct clip_run *run)
{
    struct omo_frame frame;
    static volatile unsigned touched;

    while ((run->ended = omo_source_next(source, run->frames % 2 == 0, &frame)) ==
           OMO_OK) {
        touched += touch(&frame.planes);
        ck_assert_int_eq(frame.index, run->frames);
        if (run->frames == 0) {
            run->first = frame;
            clip_colour_at(&frame.planes, frame.planes.width / 2, frame.planes.height / 2,
                           run->middle);
        }
        ck_assert_int_lt(run->frames, CLIP_FRAMES_MAX);
        run->time_s[run->frames] = frame.time_s;
        run->frames++;
        run->repeated += frame.repeated;
        run->damaged += frame.damaged;
    }
    (void)touched;
}

void clip_run(const char *path, struct clip_run *run)
{
    struct omo_source *source = NULL;

    memset(run, 0, sizeof *run);
    omo_log_set_handler(keep_sentence, run);
    run->opened = omo_clip_open(path, &source);
    if (run->opened == OMO_OK) {
        run->info = *omo_source_info(source);
        read_frames(source, run);
        omo_source_destroy(source);
    } else {
        ck_assert_ptr_null(source);
    }
    omo_log_set_handler(NULL, NULL);
}

uint8_t *clip_bytes(const char *path, size_t *size)
{
    FILE *file = fopen(path, "rb");
    uint8_t *bytes;
    long length;

    ck_assert_msg(file != NULL, "%s is missing", path);
    fseek(file, 0, SEEK_END);
    length = ftell(file);
    rewind(file);
    bytes = malloc((size_t)length + 1);
    *size = fread(bytes, 1, (size_t)length, file);
    fclose(file);
    return bytes;
}

void clip_write(const char *path, const uint8_t *bytes, size_t size)
{
    FILE *file = fopen(path, "wb");

    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(bytes, 1, size, file), size);
    ck_assert_int_eq(fclose(file), 0);
}
