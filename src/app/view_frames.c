#include "app/view_frames.h"

#include <glib.h>
#include <string.h>

#include "omogon/log.h"

#define KEPT_BYTES ((size_t)64 << 20)
#define KEPT_MIN   2
#define KEPT_MAX   1024

struct kept {
    struct omo_frame frame; /* its planes lie in `bytes` */
    uint8_t *bytes;
};

struct omo_view_frames {
    char *clip;
    struct omo_source *source;
    int64_t last; /* decoded; -1 none */
    struct kept kept[KEPT_MAX];
    size_t count, oldest;
};

struct omo_view_frames *omo_view_frames_create(const char *clip)
{
    struct omo_view_frames *frames = g_new0(struct omo_view_frames, 1);
    frames->clip = g_strdup(clip);
    frames->last = -1;
    return frames;
}

void omo_view_frames_destroy(struct omo_view_frames *frames)
{
    if (!frames)
        return;
    for (size_t i = 0; i < frames->count; i++)
        g_free(frames->kept[i].bytes);
    omo_source_destroy(frames->source);
    g_free(frames->clip);
    g_free(frames);
}

static size_t bytes_of(const struct omo_planes *p)
{
    return (size_t)p->width * (size_t)p->height +
           2 * (size_t)p->chroma_width * (size_t)p->chroma_height;
}

/** Row by row without what lies between them; a plane that is not there stays so. */
static const uint8_t *copy_plane(const uint8_t *from, int stride, int width, int height,
                                 uint8_t **to)
{
    const uint8_t *begin = *to;
    if (!from)
        return NULL;
    for (int y = 0; y < height; y++, *to += width)
        memcpy(*to, from + (size_t)y * (size_t)stride, (size_t)width);
    return begin;
}

static void fill(struct kept *kept, const struct omo_frame *frame)
{
    const struct omo_planes *p = &frame->planes;
    g_free(kept->bytes);
    uint8_t *to = kept->bytes = g_malloc(bytes_of(p));
    kept->frame = *frame;
    kept->frame.planes.y = copy_plane(p->y, p->y_stride, p->width, p->height, &to);
    kept->frame.planes.cb =
        copy_plane(p->cb, p->chroma_stride, p->chroma_width, p->chroma_height, &to);
    kept->frame.planes.cr =
        copy_plane(p->cr, p->chroma_stride, p->chroma_width, p->chroma_height, &to);
    kept->frame.planes.y_stride = p->width;
    kept->frame.planes.chroma_stride = p->chroma_width;
}

static void keep(struct omo_view_frames *frames, const struct omo_frame *frame)
{
    size_t limit =
        CLAMP(KEPT_BYTES / MAX(bytes_of(&frame->planes), 1), KEPT_MIN, KEPT_MAX);
    if (frames->count < limit) {
        fill(&frames->kept[frames->count++], frame);
        return;
    }
    fill(&frames->kept[frames->oldest], frame);
    frames->oldest = (frames->oldest + 1) % frames->count;
}

static const struct omo_frame *find(const struct omo_view_frames *frames, int64_t number)
{
    for (size_t i = 0; i < frames->count; i++)
        if (frames->kept[i].frame.index == number)
            return &frames->kept[i].frame;
    return NULL;
}

enum omo_status omo_view_frames_get(struct omo_view_frames *frames, int64_t number,
                                    const struct omo_frame **out)
{
    enum omo_status status = OMO_OK;
    *out = find(frames, number);
    if (!*out && frames->source && frames->last > number) {
        omo_source_destroy(frames->source);
        frames->source = NULL;
    }
    if (!*out && !frames->source) {
        frames->last = -1;
        status = omo_clip_open(frames->clip, &frames->source);
    }
    while (status == OMO_OK && !*out) {
        struct omo_frame frame;
        status = omo_source_next(frames->source, true, &frame);
        if (status != OMO_OK)
            break;
        frames->last = frame.index;
        if (!find(frames, frame.index))
            keep(frames, &frame);
        if (frame.index >= number)
            *out = find(frames, number);
        if (frame.index >= number && !*out)
            status = OMO_ERR_EMPTY;
    }
    if (status != OMO_OK)
        omo_error("frame %lld of %s cannot be read again", (long long)number,
                  frames->clip);
    return status;
}
