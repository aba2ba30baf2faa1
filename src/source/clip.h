/** The clip source's parts: a file through libavformat, its frames as planes. */
#ifndef OMO_SOURCE_CLIP_H
#define OMO_SOURCE_CLIP_H

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>

#include "omogon/source.h"

struct SwsContext;

/* A numbered sequence may begin anywhere below. */
#define OMO_FIRST_NUMBERS 10000

/** How many packets back a complaint is remembered: more than decoders reorder. */
enum { CLIP_COMPLAINTS = 64 };

/** Room for one plane that is not lent from a decoder; it only ever grows. */
struct clip_room {
    uint8_t *bytes;
    size_t capacity;
};

struct clip {
    char *path; /**< as the user wrote it, for sentences */
    AVFormatContext *container;
    AVStream *stream;
    bool still;    /**< one picture, no time */
    bool sequence; /**< numbered pictures */
    bool untimed;  /**< the file has no time stamps; libavformat makes them up */

    /* JPEG packets go to our own decoder, everything else to libavcodec. */
    bool jpeg_packets;
    struct omo_jpeg *jpeg;
    AVCodecContext *decoder;         /**< NULL with jpeg_packets */
    bool complaint[CLIP_COMPLAINTS]; /**< of libavcodec about a packet, by its number */
    AVPacket *packet, *packet_before;
    AVFrame *frame, *frame_before;
    bool pending;     /**< packet or frame was read at opening and not yet given */
    bool drained;     /**< the decoder was told that nothing follows */
    bool have_before; /**< packet_before or frame_before can be compared with */
    struct SwsContext *scaler;
    AVFrame *scaled;

    struct clip_room room[3], mirror_room[3];
    struct omo_turned turned;
    bool mirrored; /**< the container asks for a left-right flip before turning */
    int width, height;

    double period_s;   /**< nominal */
    bool time_known;   /**< last_time_s is set */
    bool time_guessed; /**< said already */
    double last_time_s;

    int64_t promised_frames;  /**< what the header leads one to expect, -1 unknown */
    int64_t expected_packets; /**< -1 unknown */
    double start_s, expected_end_s; /**< the end NAN if unknown */
    int64_t packets;                /**< read so far */
    int64_t frames;                 /**< given so far */
    int64_t damaged_frames;
    bool last_damaged;
    bool read_failed;     /**< the container's end was not where its header says */
    bool last_corrupt;    /**< the last packet was cut */
    double packets_end_s; /**< end of the latest packet in time, NAN none */
};

/** The next packet of the video, AVERROR_EOF at the end or when reading fails. */
int omo_clip_read_packet(struct clip *clip);
/** The same without what is not to be shown: before an edit list's start, or an empty
 *  chunk that stands for a pause. */
int omo_clip_read_shown_packet(struct clip *clip);
/** Silences libav for the whole process and listens to its complaints instead. */
void omo_clip_quiet_libav(void);
/** Hands a packet to libavcodec, NULL for "nothing follows". */
void omo_clip_send_packet(struct clip *clip, const AVPacket *packet);
/** Whether libavcodec complained while it decoded this frame's packet. */
bool omo_clip_complained_of(const struct clip *clip, const AVFrame *frame);
/** The next frame of libavcodec in clip->frame, AVERROR_EOF at the end. */
int omo_clip_decode_frame(struct clip *clip);

/** Planes lent from or made of a decoded frame. False when out of memory or when the
 *  pixel format cannot be converted. */
bool omo_clip_planes_from_frame(struct clip *clip, const AVFrame *frame, bool need_luma,
                                struct omo_planes *planes);
/** Planes in which nothing can be seen, for a frame that could not be decoded. */
bool omo_clip_planes_neutral(struct clip *clip, struct omo_planes *planes);
/** Replaces planes by copies flipped left to right. */
bool omo_clip_planes_mirror(struct clip *clip, struct omo_planes *planes);
bool omo_clip_room_make(struct clip_room *room, size_t size);

/** Nominal rate of frames, NAN for a still or when it is not stated. */
double omo_clip_rate_hz(const struct clip *clip);
bool omo_clip_container_is(const struct clip *clip, const char *name);
/** Fills in what the header promises; before the first packet is read. */
void omo_clip_expect(struct clip *clip);
void omo_clip_fill_info(const struct clip *clip, struct omo_source_info *info);
/** Says what is fine for angles but should be known before the figures are read. */
void omo_clip_warn(const struct clip *clip);

void omo_clip_destroy(void *self);
enum omo_status omo_clip_next(void *self, bool need_luma, struct omo_frame *frame);

#endif
