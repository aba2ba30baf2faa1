#include "app/overlay.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "app/pipeline.h"
#include "app/progress_line.h"
#include "omogon/clip_writer.h"
#include "omogon/draw.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/source.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define JPEG_QUALITY  85
#define SHEET_COLUMNS 3
#define SHEET_MOST    9           /* pictures */
#define SHEET_WIDTH   560         /* of each, px, about */
#define WITHHELD      0xff404040u /* the ground of a picture that is not shown */
#define WRITING       0xfff4f4f4u

/** Pixels of a size that stays the same for a whole video. */
struct canvas {
    uint32_t *pixels;
    int width, height;
};

/** As the annotated still is drawn. Silent; OMO_ERR_EMPTY without a located head. */
static enum omo_status still(const struct omo_overlay *o, const struct omo_frame *frame,
                             const struct omo_trace_row *row, bool show_head,
                             struct canvas *out)
{
    char caption[200] = "", time[32], quality[100];
    struct omo_result shown = *o->result;
    omo_number_text(row->time_s, 2, time, sizeof time);
    omo_quality_text(row->quality, quality, sizeof quality);
    omo_text_add(caption, sizeof caption, "%s, %s; frame %lld, %s s; %s",
                 o->session->movement, o->session->side, (long long)row->frame, time,
                 quality);
    shown.max_deg = row->angle_deg;
    shown.max_u95_deg = NAN;
    return omo_still_paint(&(struct omo_still){.planes = &frame->planes,
                                               .quarter_turns =
                                                   frame->turned.quarter_turns,
                                               .row = row,
                                               .result = &shown,
                                               .settings = o->settings,
                                               .caption = caption,
                                               .show_head = show_head},
                           &out->pixels, &out->width, &out->height);
}

static void clear(struct canvas *canvas, uint32_t colour)
{
    for (size_t i = 0; i < (size_t)canvas->width * (size_t)canvas->height; i++)
        canvas->pixels[i] = colour;
}

/** Says on a plain ground what is not shown, and of when. */
static enum omo_status withhold(const struct omo_trace_row *row, struct canvas *canvas)
{
    char when[100] = "", time[32];
    double size = fmin(canvas->width, canvas->height) / 24.0;
    struct omo_figure *figure = omo_figure_create(canvas->width, canvas->height);
    if (!figure)
        return OMO_ERR_MEMORY;
    omo_number_text(row->time_s, 2, time, sizeof time);
    omo_text_add(when, sizeof when, omo_word("frame %lld, %s s"), (long long)row->frame,
                 time);
    const char *const line[] = {omo_word("withheld: the head cannot be located"), when};
    for (int i = 0; i < 2; i++)
        omo_figure_add(figure,
                       &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                          .at = {canvas->width / 2.0,
                                                 canvas->height / 2.0 + 1.5 * i * size},
                                          .text = line[i],
                                          .size = size,
                                          .anchor = OMO_ANCHOR_MIDDLE,
                                          .colour = WRITING});
    clear(canvas, WITHHELD);
    enum omo_status status = omo_figure_paint(figure, canvas->pixels, canvas->width,
                                              canvas->height, canvas->width);
    omo_figure_destroy(figure);
    return status;
}

/** The frame as it is drawn; one whose head cannot be covered is withheld. The first one
 *  gives the canvas its size. */
static enum omo_status paint(const struct omo_overlay *o, const struct omo_frame *frame,
                             const struct omo_trace_row *row, struct canvas *out,
                             bool *withheld)
{
    struct canvas drawn = {0};
    enum omo_status status = still(o, frame, row, o->show_head, &drawn);
    *withheld = status == OMO_ERR_EMPTY;
    /* Without a canvas the size is wanted all the same; no pixel of it is kept. */
    if (*withheld && !out->pixels) {
        status = still(o, frame, row, true, &drawn);
        *out = drawn;
    }
    if (*withheld)
        return out->pixels ? withhold(row, out) : status;
    if (status != OMO_OK)
        return status;
    if (!out->pixels) {
        *out = drawn;
        return OMO_OK;
    }
    /* One with fewer words below goes on in the ground of those. */
    clear(out, drawn.pixels[(size_t)(drawn.height - 1) * (size_t)drawn.width]);
    for (int y = 0; y < MIN(drawn.height, out->height); y++)
        memcpy(out->pixels + (size_t)y * (size_t)out->width,
               drawn.pixels + (size_t)y * (size_t)drawn.width,
               (size_t)MIN(drawn.width, out->width) * sizeof *drawn.pixels);
    free(drawn.pixels);
    return OMO_OK;
}

/* ---- video ---------------------------------------------------------------------------
 */

struct video {
    struct omo_clip_writer *writer;
    const char *path;
    double begin_s;
};

static enum omo_status add_picture(struct video *video, const struct omo_overlay *o,
                                   const struct canvas *canvas, double time_s)
{
    uint8_t *jpeg = NULL;
    size_t size = 0;
    enum omo_status status = OMO_OK;
    if (!video->writer) {
        status = omo_clip_writer_begin(video->path, canvas->width, canvas->height,
                                       o->result->frames_per_second, &video->writer);
        video->begin_s = time_s;
    }
    if (status != OMO_OK)
        return status;
    status = omo_jpeg_encode_rgb32(canvas->pixels, canvas->width, canvas->height,
                                   canvas->width, JPEG_QUALITY, &jpeg, &size);
    if (status == OMO_OK)
        status = omo_clip_writer_add(video->writer, jpeg, size, time_s - video->begin_s);
    free(jpeg);
    return status;
}

/** Calls `use` for each frame of the movement, in order. */
static enum omo_status each_frame(const struct omo_overlay *o,
                                  enum omo_status (*use)(void *user, size_t index,
                                                         const struct omo_frame *frame),
                                  void *user)
{
    struct omo_source *source = NULL;
    struct omo_frame frame;
    size_t at = 0;
    enum omo_status status = omo_clip_open(o->clip, &source);
    while (status == OMO_OK && at < o->count) {
        status = omo_source_next(source, true, &frame);
        while (status == OMO_OK && at < o->count && o->rows[at].frame < frame.index)
            at++;
        if (status == OMO_OK && at < o->count && o->rows[at].frame == frame.index)
            status = use(user, at++, &frame);
    }
    omo_source_destroy(source);
    /* A clip that breaks off was said when it was measured. */
    return status == OMO_END || status == OMO_ERR_DAMAGED ? OMO_OK : status;
}

struct video_job {
    const struct omo_overlay *overlay;
    struct video video;
    struct canvas canvas;
    size_t drawn, withheld; /* frames, the second among the first */
};

static enum omo_status draw_frame(void *user, size_t index, const struct omo_frame *frame)
{
    struct video_job *job = user;
    const struct omo_overlay *o = job->overlay;
    bool withheld;
    enum omo_status status = paint(o, frame, &o->rows[index], &job->canvas, &withheld);
    job->drawn++;
    job->withheld += withheld;
    omo_progress_show((double)index / (double)o->count, omo_word("drawing"));
    return status == OMO_OK
               ? add_picture(&job->video, o, &job->canvas, o->rows[index].time_s)
               : status;
}

enum omo_status omo_overlay_video(const struct omo_overlay *overlay, const char *path)
{
    struct video_job job = {.overlay = overlay, .video = {.path = path}};
    enum omo_status status = each_frame(overlay, draw_frame, &job);
    if (status == OMO_OK && job.withheld == job.drawn) {
        omo_error(
            "%s was not written: in no frame could the head be located and covered; "
            "a hip marker settles it",
            path);
        status = OMO_ERR_EMPTY;
    }
    enum omo_status ended = omo_clip_writer_end(job.video.writer, status == OMO_OK);
    free(job.canvas.pixels);
    if (status == OMO_OK && ended == OMO_OK && job.withheld > 0)
        omo_warning(omo_word("%s: %zu of %zu frames are withheld: the head cannot be "
                             "located in them; a hip marker settles it"),
                    path, job.withheld, job.drawn);
    return status == OMO_OK ? ended : status;
}

/* ---- sheet ---------------------------------------------------------------------------
 */

struct sheet_job {
    const struct omo_overlay *overlay;
    size_t wanted[SHEET_MOST];
    int count, drawn, withheld; /* pictures; the last among those drawn */
    struct canvas canvas, sheet;
    int step, cell_width,
        cell_height; /* a picture's step-th pixels, and what comes of it */
};

/** The mean of step by step pixels. */
static uint32_t mean_of(const struct canvas *canvas, int x, int y, int step)
{
    unsigned sum[3] = {0};
    for (int j = 0; j < step; j++)
        for (int i = 0; i < step; i++) {
            uint32_t pixel =
                canvas->pixels[(size_t)(y + j) * (size_t)canvas->width + (size_t)(x + i)];
            for (int c = 0; c < 3; c++)
                sum[c] += pixel >> (8 * c) & 0xff;
        }
    uint32_t mean = 0xff000000u;
    for (int c = 0; c < 3; c++)
        mean |= (sum[c] / (unsigned)(step * step)) << (8 * c);
    return mean;
}

static bool begin_sheet(struct sheet_job *job)
{
    int rows = (job->count + SHEET_COLUMNS - 1) / SHEET_COLUMNS;
    job->step = MAX(1, (job->canvas.width + SHEET_WIDTH / 2) / SHEET_WIDTH);
    job->cell_width = job->canvas.width / job->step;
    job->cell_height = job->canvas.height / job->step;
    job->sheet.width = MIN(job->count, SHEET_COLUMNS) * job->cell_width;
    job->sheet.height = rows * job->cell_height;
    job->sheet.pixels = calloc((size_t)job->sheet.width * (size_t)job->sheet.height,
                               sizeof *job->sheet.pixels);
    return job->sheet.pixels != NULL;
}

static enum omo_status put_on_sheet(void *user, size_t index,
                                    const struct omo_frame *frame)
{
    struct sheet_job *job = user;
    bool wanted = false, withheld;
    for (int i = 0; i < job->count; i++)
        wanted |= job->wanted[i] == index;
    if (!wanted)
        return OMO_OK;
    enum omo_status status =
        paint(job->overlay, frame, &job->overlay->rows[index], &job->canvas, &withheld);
    if (status != OMO_OK)
        return status;
    if (!job->sheet.pixels && !begin_sheet(job))
        return OMO_ERR_MEMORY;
    int left = job->drawn % SHEET_COLUMNS * job->cell_width;
    int top = job->drawn / SHEET_COLUMNS * job->cell_height;
    for (int y = 0; y < job->cell_height; y++)
        for (int x = 0; x < job->cell_width; x++)
            job->sheet.pixels[(size_t)(top + y) * (size_t)job->sheet.width +
                              (size_t)(left + x)] =
                mean_of(&job->canvas, x * job->step, y * job->step, job->step);
    job->drawn++;
    job->withheld += withheld;
    return OMO_OK;
}

bool omo_overlay_sheet_takes(const char *path)
{
    const char *ending = strrchr(path, '.');
    return ending && (g_ascii_strcasecmp(ending, ".jpg") == 0 ||
                      g_ascii_strcasecmp(ending, ".jpeg") == 0);
}

enum omo_status omo_overlay_sheet(const struct omo_overlay *overlay, const char *path)
{
    struct sheet_job job = {.overlay = overlay, .count = 1};
    uint8_t *jpeg = NULL;
    size_t size = 0;
    for (int i = 0; i < overlay->result->repetitions && job.count < SHEET_MOST; i++)
        job.wanted[job.count++] = overlay->result->repetition[i].peak;
    enum omo_status status = each_frame(overlay, put_on_sheet, &job);
    if (status == OMO_OK && job.withheld == job.drawn) {
        omo_error(
            "%s was not written: in none of its frames could the head be located and "
            "covered; a hip marker settles it",
            path);
        status = OMO_ERR_EMPTY;
    }
    if (status == OMO_OK)
        status =
            omo_jpeg_encode_rgb32(job.sheet.pixels, job.sheet.width, job.sheet.height,
                                  job.sheet.width, JPEG_QUALITY, &jpeg, &size);
    if (status == OMO_OK)
        status = omo_file_write_atomic(path, jpeg, size, 0600);
    free(jpeg);
    free(job.canvas.pixels);
    free(job.sheet.pixels);
    return status;
}
