#include "source/clip.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <libavutil/imgutils.h>
#include <libavutil/pixdesc.h>
#include <libswscale/swscale.h>

bool omo_clip_room_make(struct clip_room *room, size_t size)
{
    uint8_t *bigger;

    if (size <= room->capacity)
        return true;
    bigger = malloc(size);
    if (bigger == NULL)
        return false;
    free(room->bytes);
    room->bytes = bigger;
    room->capacity = size;
    return true;
}

/* ---- colour ---- */

static enum omo_colour_space wide_colour(const AVFrame *frame)
{
    if (frame->color_trc == AVCOL_TRC_ARIB_STD_B67)
        return OMO_COLOUR_BT2020_HLG;
    if (frame->color_trc == AVCOL_TRC_SMPTE2084)
        return OMO_COLOUR_BT2020_PQ;
    return OMO_COLOUR_BT2020;
}

static enum omo_colour_space colour_of(const struct clip *clip, const AVFrame *frame)
{
    switch (frame->colorspace) {
    case AVCOL_SPC_BT709:
        return OMO_COLOUR_BT709;
    case AVCOL_SPC_BT470BG:
    case AVCOL_SPC_SMPTE170M:
    case AVCOL_SPC_FCC:
        return OMO_COLOUR_BT601;
    case AVCOL_SPC_BT2020_NCL:
    case AVCOL_SPC_BT2020_CL:
        return wide_colour(frame);
    default:
        break;
    }
    if (wide_colour(frame) != OMO_COLOUR_BT2020)
        return wide_colour(frame);
    /* Not stated. JPEG is always BT.601; for video the common practice of players: BT.709
     * from 720 lines on, BT.601 for standard definition. */
    if (clip->stream->codecpar->codec_id == AV_CODEC_ID_MJPEG ||
        (frame->width < frame->height ? frame->width : frame->height) <= 576)
        return OMO_COLOUR_BT601;
    return OMO_COLOUR_BT709;
}

static bool is_yuvj(enum AVPixelFormat format)
{
    return format == AV_PIX_FMT_YUVJ420P || format == AV_PIX_FMT_YUVJ422P ||
           format == AV_PIX_FMT_YUVJ444P || format == AV_PIX_FMT_YUVJ440P ||
           format == AV_PIX_FMT_YUVJ411P;
}

static bool is_full_range(const AVFrame *frame, int components)
{
    if (frame->color_range == AVCOL_RANGE_JPEG)
        return true;
    if (frame->color_range == AVCOL_RANGE_MPEG)
        return false;
    return is_yuvj(frame->format) || components < 3;
}

/* Where the first chroma sample lies, in luma pixels. */
static void place_chroma(const struct clip *clip, const AVFrame *frame,
                         struct omo_planes *planes)
{
    enum AVChromaLocation at = frame->chroma_location;
    double middle_x = (planes->scale_x - 1.0) / 2.0;
    double middle_y = (planes->scale_y - 1.0) / 2.0;
    enum AVCodecID codec = clip->stream->codecpar->codec_id;

    /* JPEG and MPEG-1 centre their samples, and so does V4L2 with the raw ones of a
     * camera
     * ("interstitially sited"); the other video standards, where they say anything, put
     * them on the left luma column (H.264 annex E, HEVC annex E). */
    if (at == AVCHROMA_LOC_UNSPECIFIED)
        at = codec == AV_CODEC_ID_MJPEG || codec == AV_CODEC_ID_MPEG1VIDEO ||
                     codec == AV_CODEC_ID_RAWVIDEO || is_yuvj(frame->format)
                 ? AVCHROMA_LOC_CENTER
                 : AVCHROMA_LOC_LEFT;
    planes->offset_x =
        at == AVCHROMA_LOC_CENTER || at == AVCHROMA_LOC_TOP || at == AVCHROMA_LOC_BOTTOM
            ? middle_x
            : 0.0;
    planes->offset_y = middle_y;
    if (at == AVCHROMA_LOC_TOPLEFT || at == AVCHROMA_LOC_TOP)
        planes->offset_y = 0.0;
    if (at == AVCHROMA_LOC_BOTTOMLEFT || at == AVCHROMA_LOC_BOTTOM)
        planes->offset_y = planes->scale_y - 1.0;
}

/* ---- samples ---- */

struct samples {
    const uint8_t *bytes;
    ptrdiff_t stride; /* bytes, may be negative */
    int width, height;
    const AVComponentDescriptor *component;
};

static bool samples_lendable(const struct samples *s)
{
    return s->component->depth == 8 && s->component->step == 1 && s->stride > 0;
}

static void row_of_8_bits(const uint8_t *in, int step, int width, uint8_t *out)
{
    for (int x = 0; x < width; x++)
        out[x] = in[(ptrdiff_t)x * step];
}

/* Rounded, so that neutral stays neutral: 512 of 1023 is 128. */
static void row_of_16_bits(const uint8_t *in, const AVComponentDescriptor *component,
                           int width, uint8_t *out)
{
    int down = component->depth - 8, step = component->step / 2;
    unsigned half = down > 0 ? 1u << (down - 1) : 0u;
    unsigned mask = (1u << component->depth) - 1u;
    const uint16_t *wide = (const uint16_t *)(const void *)in;

    for (int x = 0; x < width; x++) {
        unsigned value =
            (((wide[(ptrdiff_t)x * step] >> component->shift) & mask) + half) >> down;

        out[x] = (uint8_t)(value > 255u ? 255u : value);
    }
}

static bool samples_copy(struct clip_room *room, const struct samples *s, int stride)
{
    if (!omo_clip_room_make(room, (size_t)stride * (size_t)s->height))
        return false;
    for (int row = 0; row < s->height; row++) {
        const uint8_t *in = s->bytes + row * s->stride;
        uint8_t *out = room->bytes + (size_t)row * (size_t)stride;

        if (s->component->depth == 8)
            row_of_8_bits(in, s->component->step, s->width, out);
        else
            row_of_16_bits(in, s->component, s->width, out);
    }
    return true;
}

static bool is_plain_yuv(const AVPixFmtDescriptor *format)
{
    const uint64_t other = AV_PIX_FMT_FLAG_RGB | AV_PIX_FMT_FLAG_PAL |
                           AV_PIX_FMT_FLAG_BITSTREAM | AV_PIX_FMT_FLAG_HWACCEL |
                           AV_PIX_FMT_FLAG_BAYER | AV_PIX_FMT_FLAG_FLOAT |
                           AV_PIX_FMT_FLAG_BE;

    if ((format->flags & other) != 0)
        return false;
    for (int i = 0; i < format->nb_components; i++) {
        const AVComponentDescriptor *c = &format->comp[i];
        bool byte = c->depth == 8 && c->shift == 0;
        bool word = c->depth > 8 && c->depth <= 16 && c->step % 2 == 0;
        int down_x = i == 1 || i == 2 ? format->log2_chroma_w : 0;
        /* Packed samples have to be evenly spaced (UYYVYY411 is not). */
        bool even = c->plane != format->comp[0].plane || c->step == format->comp[0].step
                                                                        << down_x;

        if ((!byte && !word) || !even)
            return false;
    }
    return true;
}

static struct samples samples_of(const AVFrame *frame, const AVPixFmtDescriptor *format,
                                 int i)
{
    const AVComponentDescriptor *c = &format->comp[i];
    int down_x = i == 0 ? 0 : format->log2_chroma_w;
    int down_y = i == 0 ? 0 : format->log2_chroma_h;

    return (struct samples){
        .bytes = frame->data[c->plane] + c->offset,
        .stride = frame->linesize[c->plane],
        .width = AV_CEIL_RSHIFT(frame->width, down_x),
        .height = AV_CEIL_RSHIFT(frame->height, down_y),
        .component = c,
    };
}

static bool take_luma(struct clip *clip, const struct samples *luma, bool need_luma,
                      struct omo_planes *planes)
{
    int stride = FFALIGN(luma->width, 32);

    if (samples_lendable(luma)) {
        planes->y = luma->bytes;
        planes->y_stride = (int)luma->stride;
        return true;
    }
    if (!need_luma)
        return true;
    if (!samples_copy(&clip->room[0], luma, stride))
        return false;
    planes->y = clip->room[0].bytes;
    planes->y_stride = stride;
    return true;
}

static bool take_chroma(struct clip *clip, const struct samples *cb,
                        const struct samples *cr, struct omo_planes *planes)
{
    int stride = FFALIGN(cb->width, 32);

    planes->chroma_width = cb->width;
    planes->chroma_height = cb->height;
    if (samples_lendable(cb) && samples_lendable(cr) && cb->stride == cr->stride) {
        planes->cb = cb->bytes;
        planes->cr = cr->bytes;
        planes->chroma_stride = (int)cb->stride;
        return true;
    }
    if (!samples_copy(&clip->room[1], cb, stride) ||
        !samples_copy(&clip->room[2], cr, stride))
        return false;
    planes->cb = clip->room[1].bytes;
    planes->cr = clip->room[2].bytes;
    planes->chroma_stride = stride;
    return true;
}

static bool neutral_chroma(struct clip *clip, struct omo_planes *planes)
{
    int stride;

    planes->scale_x = planes->scale_y = 2.0;
    planes->offset_x = planes->offset_y = 0.5;
    planes->chroma_width = (planes->width + 1) / 2;
    planes->chroma_height = (planes->height + 1) / 2;
    stride = FFALIGN(planes->chroma_width, 32);
    if (!omo_clip_room_make(&clip->room[1],
                            (size_t)stride * (size_t)planes->chroma_height))
        return false;
    memset(clip->room[1].bytes, 128, (size_t)stride * (size_t)planes->chroma_height);
    planes->cb = planes->cr = clip->room[1].bytes;
    planes->chroma_stride = stride;
    return true;
}

static bool planes_from_yuv(struct clip *clip, const AVFrame *frame, bool need_luma,
                            struct omo_planes *planes)
{
    const AVPixFmtDescriptor *format = av_pix_fmt_desc_get(frame->format);
    bool coloured = format->nb_components >= 3;
    struct samples luma = samples_of(frame, format, 0);
    struct omo_planes got = {.width = frame->width, .height = frame->height};

    got.colour = colour_of(clip, frame);
    got.full_range = is_full_range(frame, format->nb_components);
    if (!take_luma(clip, &luma, need_luma, &got))
        return false;
    if (coloured) {
        struct samples cb = samples_of(frame, format, 1);
        struct samples cr = samples_of(frame, format, 2);

        got.scale_x = 1 << format->log2_chroma_w;
        got.scale_y = 1 << format->log2_chroma_h;
        place_chroma(clip, frame, &got);
        if (!take_chroma(clip, &cb, &cr, &got))
            return false;
    } else if (!neutral_chroma(clip, &got)) {
        return false;
    }
    *planes = got;
    return true;
}

/* ---- everything else: RGB, palettes, big-endian ---- */

static bool scale_frame(struct clip *clip, const AVFrame *frame)
{
    const int *bt601 = sws_getCoefficients(SWS_CS_ITU601);

    if (clip->scaled == NULL)
        clip->scaled = av_frame_alloc();
    if (clip->scaled == NULL)
        return false;
    if (clip->scaled->width != frame->width || clip->scaled->height != frame->height) {
        av_frame_unref(clip->scaled);
        clip->scaled->format = AV_PIX_FMT_YUV444P;
        clip->scaled->width = frame->width;
        clip->scaled->height = frame->height;
        if (av_frame_get_buffer(clip->scaled, 0) < 0)
            return false;
    }
    clip->scaler =
        sws_getCachedContext(clip->scaler, frame->width, frame->height, frame->format,
                             frame->width, frame->height, AV_PIX_FMT_YUV444P,
                             SWS_BICUBIC | SWS_ACCURATE_RND | SWS_FULL_CHR_H_INP |
                                 SWS_FULL_CHR_H_INT,
                             NULL, NULL, NULL);
    if (clip->scaler == NULL)
        return false;
    (void)sws_setColorspaceDetails(clip->scaler, bt601, 1, bt601, 1, 0, 1 << 16, 1 << 16);
    return sws_scale(clip->scaler, (const uint8_t *const *)frame->data, frame->linesize,
                     0, frame->height, clip->scaled->data, clip->scaled->linesize) > 0;
}

static bool planes_by_scaler(struct clip *clip, const AVFrame *frame,
                             struct omo_planes *planes)
{
    if (!scale_frame(clip, frame))
        return false;
    *planes = (struct omo_planes){
        .width = frame->width,
        .height = frame->height,
        .chroma_width = frame->width,
        .chroma_height = frame->height,
        .y = clip->scaled->data[0],
        .cb = clip->scaled->data[1],
        .cr = clip->scaled->data[2],
        .y_stride = clip->scaled->linesize[0],
        .chroma_stride = clip->scaled->linesize[1],
        .scale_x = 1.0,
        .scale_y = 1.0,
        .colour = OMO_COLOUR_BT601,
        .full_range = true,
    };
    return true;
}

bool omo_clip_planes_from_frame(struct clip *clip, const AVFrame *frame, bool need_luma,
                                struct omo_planes *planes)
{
    const AVPixFmtDescriptor *format = av_pix_fmt_desc_get(frame->format);

    if (format == NULL)
        return false;
    if (is_plain_yuv(format) && frame->format != AV_PIX_FMT_XYZ12LE)
        return planes_from_yuv(clip, frame, need_luma, planes);
    return planes_by_scaler(clip, frame, planes);
}

bool omo_clip_planes_neutral(struct clip *clip, struct omo_planes *planes)
{
    struct omo_planes got = {.width = clip->width,
                             .height = clip->height,
                             .colour = OMO_COLOUR_BT601,
                             .full_range = true};
    int stride = FFALIGN(got.width, 32);
    size_t size = (size_t)stride * (size_t)got.height;

    if (!neutral_chroma(clip, &got) || !omo_clip_room_make(&clip->room[0], size))
        return false;
    memset(clip->room[0].bytes, 128, size);
    got.y = clip->room[0].bytes;
    got.y_stride = stride;
    *planes = got;
    return true;
}

/* ---- mirrored ---- */

static const uint8_t *mirror_plane(struct clip_room *room, const uint8_t *plane,
                                   int stride, int width, int height)
{
    if (!omo_clip_room_make(room, (size_t)width * (size_t)height))
        return NULL;
    for (int row = 0; row < height; row++) {
        const uint8_t *in = plane + (size_t)row * (size_t)stride;
        uint8_t *out = room->bytes + (size_t)row * (size_t)width;

        for (int x = 0; x < width; x++)
            out[x] = in[width - 1 - x];
    }
    return room->bytes;
}

bool omo_clip_planes_mirror(struct clip *clip, struct omo_planes *planes)
{
    struct omo_planes p = *planes;

    if (p.y != NULL)
        p.y = mirror_plane(&clip->mirror_room[0], p.y, p.y_stride, p.width, p.height);
    p.cb = mirror_plane(&clip->mirror_room[1], p.cb, p.chroma_stride, p.chroma_width,
                        p.chroma_height);
    p.cr = mirror_plane(&clip->mirror_room[2], p.cr, p.chroma_stride, p.chroma_width,
                        p.chroma_height);
    if (p.cb == NULL || p.cr == NULL || (planes->y != NULL && p.y == NULL))
        return false;
    p.y_stride = p.y != NULL ? p.width : 0;
    p.chroma_stride = p.chroma_width;
    /* The sample that came last is the first now. */
    p.offset_x = p.width - 1 - ((p.chroma_width - 1) * p.scale_x + p.offset_x);
    *planes = p;
    return true;
}
