#include "source/clip.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <libavutil/imgutils.h>
#include <libavutil/pixdesc.h>
#include <libswscale/swscale.h>

#include "omogon/log.h"

void omo_clip_destroy(void *self)
{
    struct clip *clip = self;

    avcodec_free_context(&clip->decoder);
    avformat_close_input(&clip->container);
    av_packet_free(&clip->packet);
    av_packet_free(&clip->packet_before);
    av_frame_free(&clip->frame);
    av_frame_free(&clip->frame_before);
    av_frame_free(&clip->scaled);
    sws_freeContext(clip->scaler);
    omo_jpeg_destroy(clip->jpeg);
    for (int i = 0; i < 3; i++) {
        free(clip->room[i].bytes);
        free(clip->mirror_room[i].bytes);
    }
    free(clip->path);
    free(clip);
}

/* ---- the end ---- */

static enum omo_status say_cut(const struct clip *clip, int64_t promised)
{
    const char *about = clip->expected_packets >= 0 ? "" : "about ";

    if (clip->still)
        omo_error(
            "%s: the picture is cut short or damaged; copy it again from the camera",
            clip->path);
    else if (promised > clip->frames)
        omo_error("%s: breaks off after %" PRId64 " of %s%" PRId64
                  " frames; copy it again from the camera if it is longer there",
                  clip->path, clip->frames, about, promised);
    else
        omo_error("%s: breaks off after %" PRId64
                  " frames; copy it again from the camera if it is longer there",
                  clip->path, clip->frames);
    return OMO_ERR_DAMAGED;
}

/* How many frames the header promised, -1 when it promised no more than was read. */
static int64_t missing_against(const struct clip *clip)
{
    double missing_s = clip->expected_end_s - clip->packets_end_s;

    if (clip->expected_packets >= 0)
        return clip->packets < clip->expected_packets ? clip->expected_packets : -1;
    /* Headers round to a millisecond; muxers differ in the last frame's length. */
    if (missing_s > 1.5 * clip->period_s + 0.002)
        return clip->frames + (int64_t)lround(missing_s / clip->period_s);
    return -1;
}

static enum omo_status judge_end(const struct clip *clip)
{
    int64_t promised = missing_against(clip);
    bool broken = clip->read_failed || clip->last_corrupt ||
                  (clip->last_damaged && (clip->still || clip->sequence));

    if (promised >= 0 || broken)
        return say_cut(clip, promised >= 0 ? promised : clip->promised_frames);
    if (clip->damaged_frames > 0)
        omo_warning("%s: %" PRId64 " of %" PRId64
                    " frames are damaged; what cannot be seen in them is left out",
                    clip->path, clip->damaged_frames, clip->frames);
    return OMO_END;
}

/* ---- time ---- */

static double frame_time_s(struct clip *clip, int64_t stamp)
{
    double time_s = 0.0;
    bool good = stamp != AV_NOPTS_VALUE;

    if (good)
        time_s = (double)stamp * av_q2d(clip->stream->time_base);
    if (clip->time_known && !(good && time_s > clip->last_time_s)) {
        if (!clip->time_guessed && !clip->untimed)
            omo_warning("%s: frame %" PRId64 " has no time stamp of its own; such frames "
                        "are taken to follow at the nominal rate",
                        clip->path, clip->frames);
        clip->time_guessed = true;
        time_s = clip->last_time_s + clip->period_s;
    }
    clip->time_known = true;
    clip->last_time_s = time_s;
    return time_s;
}

/* ---- repeated ---- */

static bool same_packet(const AVPacket *a, const AVPacket *b)
{
    return a->size == b->size && memcmp(a->data, b->data, (size_t)a->size) == 0;
}

static bool same_picture(const AVFrame *a, const AVFrame *b)
{
    const AVPixFmtDescriptor *format = av_pix_fmt_desc_get(a->format);

    if (format == NULL || (format->flags & AV_PIX_FMT_FLAG_PAL) != 0)
        return false;
    if (a->format != b->format || a->width != b->width || a->height != b->height)
        return false;
    for (int plane = 0; plane < 4 && a->data[plane] != NULL; plane++) {
        int bytes = av_image_get_linesize(a->format, a->width, plane);
        int down_y = plane == 1 || plane == 2 ? format->log2_chroma_h : 0;
        int rows = AV_CEIL_RSHIFT(a->height, down_y);

        if (bytes <= 0 || b->data[plane] == NULL)
            return false;
        for (int row = 0; row < rows; row++)
            if (memcmp(a->data[plane] + (ptrdiff_t)row * a->linesize[plane],
                       b->data[plane] + (ptrdiff_t)row * b->linesize[plane],
                       (size_t)bytes) != 0)
                return false;
    }
    return true;
}

/* ---- frames ---- */

static enum omo_status size_changed(const struct clip *clip, int width, int height)
{
    omo_error("%s: the picture size changes from %dx%d to %dx%d at frame %" PRId64
              "; cut the clip there and measure the parts one by one",
              clip->path, clip->width, clip->height, width, height, clip->frames);
    return OMO_ERR_DAMAGED;
}

static enum omo_status no_memory(const struct clip *clip)
{
    omo_error("%s: there is not enough memory for its pictures; close other programs",
              clip->path);
    return OMO_ERR_MEMORY;
}

static enum omo_status jpeg_frame(struct clip *clip, bool need_luma,
                                  struct omo_frame *frame)
{
    const AVPacket *packet = clip->packet;
    enum omo_status status =
        omo_jpeg_decode(clip->jpeg, packet->data, (size_t)packet->size, need_luma,
                        &frame->planes, &frame->damaged);
    bool fits = status == OMO_OK && frame->planes.width == clip->width &&
                frame->planes.height == clip->height;

    if (status == OMO_ERR_MEMORY)
        return no_memory(clip);
    if (status == OMO_OK && !fits && !frame->damaged)
        return size_changed(clip, frame->planes.width, frame->planes.height);
    if (!fits) {
        frame->damaged = true;
        if (!omo_clip_planes_neutral(clip, &frame->planes))
            return no_memory(clip);
    }
    frame->repeated = clip->have_before && same_packet(packet, clip->packet_before);
    return OMO_OK;
}

static enum omo_status decoded_frame(struct clip *clip, bool need_luma,
                                     struct omo_frame *frame)
{
    const AVFrame *picture = clip->frame;

    if (picture->width != clip->width || picture->height != clip->height)
        return size_changed(clip, picture->width, picture->height);
    if (!omo_clip_planes_from_frame(clip, picture, need_luma, &frame->planes))
        return no_memory(clip);
    frame->damaged = (picture->flags & AV_FRAME_FLAG_CORRUPT) != 0 ||
                     picture->decode_error_flags != 0 ||
                     omo_clip_complained_of(clip, picture);
    frame->repeated = clip->have_before && same_picture(picture, clip->frame_before);
    return OMO_OK;
}

/* Fills packet or frame with the next one to show; AVERROR_EOF at the end. */
static int advance(struct clip *clip)
{
    if (clip->pending) {
        clip->pending = false;
        return 0;
    }
    if (!clip->jpeg_packets) {
        FFSWAP(AVFrame *, clip->frame, clip->frame_before);
        clip->have_before = clip->frames > 0;
        return omo_clip_decode_frame(clip);
    }
    FFSWAP(AVPacket *, clip->packet, clip->packet_before);
    clip->have_before = clip->frames > 0;
    for (;;) {
        int result = omo_clip_read_packet(clip);

        /* Before an edit list's start, or an empty chunk that stands for a pause. */
        if (result == 0 &&
            ((clip->packet->flags & AV_PKT_FLAG_DISCARD) != 0 || clip->packet->size == 0))
            continue;
        return result;
    }
}

enum omo_status omo_clip_next(void *self, bool need_luma, struct omo_frame *frame)
{
    struct clip *clip = self;
    struct omo_frame got = {.turned = clip->turned, .index = clip->frames};
    enum omo_status status;

    if (advance(clip) != 0)
        return judge_end(clip);
    if (clip->jpeg_packets)
        status = jpeg_frame(clip, need_luma, &got);
    else
        status = decoded_frame(clip, need_luma, &got);
    if (status != OMO_OK)
        return status;
    if (clip->mirrored && !omo_clip_planes_mirror(clip, &got.planes))
        return no_memory(clip);
    if (clip->jpeg_packets)
        got.time_s =
            frame_time_s(clip, clip->packet->pts != AV_NOPTS_VALUE ? clip->packet->pts
                                                                   : clip->packet->dts);
    else
        got.time_s = frame_time_s(clip, clip->frame->best_effort_timestamp);
    clip->frames++;
    clip->last_damaged = got.damaged;
    clip->damaged_frames += got.damaged;
    *frame = got;
    return OMO_OK;
}
