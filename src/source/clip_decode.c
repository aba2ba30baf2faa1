#include "source/clip.h"

#include <libavutil/log.h>

/* ---- packets ---- */

static void note_packet(struct clip *clip)
{
    const AVPacket *packet = clip->packet;
    int64_t stamp = packet->pts != AV_NOPTS_VALUE ? packet->pts : packet->dts;
    double length_s = packet->duration > 0
                          ? (double)packet->duration * av_q2d(clip->stream->time_base)
                          : clip->period_s;

    clip->packets++;
    clip->last_corrupt = (packet->flags & AV_PKT_FLAG_CORRUPT) != 0;
    if (stamp != AV_NOPTS_VALUE) {
        double end_s = (double)stamp * av_q2d(clip->stream->time_base) + length_s;

        if (!(end_s <= clip->packets_end_s))
            clip->packets_end_s = end_s;
    }
}

int omo_clip_read_packet(struct clip *clip)
{
    for (;;) {
        int result;

        av_packet_unref(clip->packet);
        result = av_read_frame(clip->container, clip->packet);
        if (result == AVERROR(EAGAIN))
            continue;
        if (result < 0) {
            clip->read_failed = clip->read_failed || result != AVERROR_EOF;
            return AVERROR_EOF;
        }
        if (clip->packet->stream_index == clip->stream->index) {
            note_packet(clip);
            return 0;
        }
    }
}

int omo_clip_read_shown_packet(struct clip *clip)
{
    int result;

    do {
        result = omo_clip_read_packet(clip);
    } while (result == 0 && ((clip->packet->flags & AV_PKT_FLAG_DISCARD) != 0 ||
                             clip->packet->size == 0));
    return result;
}

/* ---- frames ---- */

/* Not every decoder marks what it could not make out, but each complains in libav's log.
 * Decoders run in the thread that calls them, so a complaint belongs to its clip. */
static _Thread_local struct clip *listening;

static void listen(void *context, int level, const char *format, va_list arguments)
{
    (void)format;
    (void)arguments;
    if (listening != NULL && context == listening->decoder && level <= AV_LOG_ERROR)
        listening->complaint[listening->packets % CLIP_COMPLAINTS] = true;
}

void omo_clip_quiet_libav(void)
{
    av_log_set_callback(listen);
}

void omo_clip_send_packet(struct clip *clip, const AVPacket *packet)
{
    if (packet != NULL)
        clip->complaint[clip->packets % CLIP_COMPLAINTS] = false;
    clip->decoder->reordered_opaque = clip->packets;
    listening = clip;
    /* A packet that is refused is a frame that is lost; the next ones may do better. */
    (void)avcodec_send_packet(clip->decoder, packet);
    listening = NULL;
}

int omo_clip_decode_frame(struct clip *clip)
{
    for (;;) {
        int result;

        listening = clip;
        result = avcodec_receive_frame(clip->decoder, clip->frame);
        listening = NULL;
        if (result >= 0)
            return 0;
        if (result == AVERROR_EOF || clip->drained)
            return AVERROR_EOF;
        if (omo_clip_read_packet(clip) == 0) {
            omo_clip_send_packet(clip, clip->packet);
        } else {
            omo_clip_send_packet(clip, NULL);
            clip->drained = true;
        }
    }
}

bool omo_clip_complained_of(const struct clip *clip, const AVFrame *frame)
{
    int64_t packet = frame->reordered_opaque;

    return packet >= 0 && clip->packets - packet < CLIP_COMPLAINTS &&
           clip->complaint[packet % CLIP_COMPLAINTS];
}
