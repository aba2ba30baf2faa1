#include "source/clip.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#include <libavutil/display.h>

#include "omogon/log.h"

#include "source/exif.h"

#define OMO_SIDE_MAX_PX    16384
#define OMO_PICTURE_MAX_PX 64000000
/* For what has no rate: phones' and webcams' usual one would be 30, but libavformat
 * numbers pictures at 25 and their time stamps should agree with it. */
#define OMO_UNKNOWN_RATE_PERIOD_S 0.04

/* What can hold a clip or a picture, and what holds sound alone, so that the sentence can
 * say so. Not in the list: playlists that name other files, text drawn as video. */
static const char containers[] =
    "avi,matroska,webm,mov,mp4,m4a,3gp,3g2,mj2,mjpeg,mjpeg_2000,h264,hevc,m4v,av1,obu,"
    "ivf,"
    "mpeg,mpegts,mpegvideo,flv,asf,ogg,nut,mxf,dv,rawvideo,yuv4mpegpipe,gif,apng,amv,"
    "image2,bmp_pipe,gif_pipe,jpeg_pipe,jpegls_pipe,j2k_pipe,png_pipe,tiff_pipe,"
    "webp_pipe,ppm_pipe,pgm_pipe,pgmyuv_pipe,pam_pipe,"
    "aac,ac3,aiff,amr,au,caf,flac,mp3,wav,w64";

/* ---- the file itself ---- */

static enum omo_status say(enum omo_status status, const char *path, const char *what)
{
    omo_error("%s: %s", path, what);
    return status;
}

/* "shot%04d.jpg": one %d or %0Nd and no other per cent sign. */
static bool is_sequence_name(const char *path)
{
    const char *at = strchr(path, '%');

    if (at == NULL || strchr(at + 1, '%') != NULL)
        return false;
    at += 1 + strspn(at + 1, "0123456789");
    return *at == 'd';
}

static enum omo_status check_file(const char *path, bool *sequence)
{
    struct stat about;
    int file;

    *sequence = false;
    if (stat(path, &about) != 0) {
        if (errno == ENOENT && is_sequence_name(path)) {
            *sequence = true;
            return OMO_OK;
        }
        if (errno == EACCES)
            return say(OMO_ERR_OPEN, path,
                       "a folder on the way may not be entered; check its permissions");
        return say(OMO_ERR_OPEN, path,
                   "there is no such file; check its name and folder");
    }
    if (S_ISDIR(about.st_mode))
        return say(OMO_ERR_OPEN, path,
                   "is a folder; name the clips in it, or numbered pictures as "
                   "FOLDER/%04d.jpg");
    if (!S_ISREG(about.st_mode))
        return say(OMO_ERR_OPEN, path, "is not a file that can be read as a clip");
    if (about.st_size == 0)
        return say(OMO_ERR_FORMAT, path, "is empty; copy it again from the camera");
    file = open(path, O_RDONLY | O_CLOEXEC);
    if (file < 0)
        return say(OMO_ERR_OPEN, path, "may not be read; check its permissions");
    close(file);
    return OMO_OK;
}

/* The first bytes; the rest of `head` stays zero. */
static void read_head(const char *path, unsigned char head[24])
{
    FILE *file = fopen(path, "rbe");

    memset(head, 0, 24);
    if (file == NULL)
        return;
    (void)!fread(head, 1, 24, file);
    fclose(file);
}

/* An MP4 or MOV begins with a box of one of these kinds. */
static bool begins_as_mp4(const unsigned char head[24])
{
    return memcmp(head + 4, "ftyp", 4) == 0 || memcmp(head + 4, "moov", 4) == 0 ||
           memcmp(head + 4, "mdat", 4) == 0 || memcmp(head + 4, "wide", 4) == 0;
}

static int64_t big_endian_32(const unsigned char *at)
{
    return (int64_t)at[0] << 24 | at[1] << 16 | at[2] << 8 | at[3];
}

static bool is_too_large(int64_t width, int64_t height)
{
    return width > OMO_SIDE_MAX_PX || height > OMO_SIDE_MAX_PX ||
           width * height > OMO_PICTURE_MAX_PX;
}

static enum omo_status check_size(const char *path, int64_t width, int64_t height)
{
    if (!is_too_large(width, height))
        return OMO_OK;
    omo_error(
        "%s: its picture of %" PRId64 "x%" PRId64
        " is larger than 64 megapixels or 16384 pixels a side; make it smaller first",
        path, width, height);
    return OMO_ERR_FORMAT;
}

/* ---- the container ---- */

/* Where the name decides: JPEG after JPEG without a container looks like one picture. */
static const AVInputFormat *forced_format(const struct clip *clip)
{
    const char *end = strrchr(clip->path, '.');

    if (clip->sequence)
        return av_find_input_format("image2");
    if (end != NULL && (strcasecmp(end, ".mjpeg") == 0 || strcasecmp(end, ".mjpg") == 0))
        return av_find_input_format("mjpeg");
    return NULL;
}

static int open_container(struct clip *clip)
{
    AVDictionary *options = NULL;
    char *url = NULL;
    int result;

    /* The prefix keeps a name such as "http:x" a name. */
    if (asprintf(&url, "file:%s", clip->path) < 0)
        return AVERROR(ENOMEM);
    av_dict_set(&options, "protocol_whitelist", "file", 0);
    av_dict_set(&options, "format_whitelist", containers, 0);
    av_dict_set(&options, "pattern_type", clip->sequence ? "sequence" : "none", 0);
    av_dict_set_int(&options, "start_number_range", OMO_FIRST_NUMBERS, 0);
    result = avformat_open_input(&clip->container, url, forced_format(clip), &options);
    av_dict_free(&options);
    free(url);
    return result;
}

/* Probing decodes a frame where the container does not say enough: not a giant one. */
static bool probe_streams(struct clip *clip)
{
    unsigned count = clip->container->nb_streams;
    AVDictionary **options = calloc(count + 1, sizeof *options);
    int result;

    if (options == NULL)
        return false;
    for (unsigned i = 0; i < count; i++)
        av_dict_set_int(&options[i], "max_pixels", OMO_PICTURE_MAX_PX, 0);
    result = avformat_find_stream_info(clip->container, options);
    for (unsigned i = 0; i < count; i++)
        av_dict_free(&options[i]);
    free(options);
    return result >= 0;
}

static enum omo_status read_container(struct clip *clip)
{
    unsigned char head[24];
    int result;

    read_head(clip->path, head);
    /* A PNG says its size in its header; libavformat would decode it to find out. */
    if (memcmp(head, "\x89PNG", 4) == 0 &&
        check_size(clip->path, big_endian_32(head + 16), big_endian_32(head + 20)) !=
            OMO_OK)
        return OMO_ERR_FORMAT;
    result = open_container(clip);
    if (result == AVERROR(ENOMEM))
        return say(OMO_ERR_MEMORY, clip->path, "there is not enough memory to open it");
    if (result < 0 && clip->sequence)
        return say(OMO_ERR_OPEN, clip->path,
                   "there is no such numbered picture; check the name and its digits");
    if (result < 0 && begins_as_mp4(head))
        return say(OMO_ERR_DAMAGED, clip->path,
                   "the recording was not finished or is cut short (its index is "
                   "missing); copy it again from the camera or record it again");
    if (result < 0 || !probe_streams(clip))
        return say(OMO_ERR_FORMAT, clip->path,
                   "is not a clip or picture that can be read; MP4, MOV, AVI, MKV, WebM, "
                   "JPEG and PNG can");
    return OMO_OK;
}

static enum omo_status find_video(struct clip *clip)
{
    int index = av_find_best_stream(clip->container, AVMEDIA_TYPE_VIDEO, -1, -1, NULL, 0);

    /* A cover picture is no clip. */
    if (index < 0 ||
        (clip->container->streams[index]->disposition & AV_DISPOSITION_ATTACHED_PIC) != 0)
        return av_find_best_stream(clip->container, AVMEDIA_TYPE_AUDIO, -1, -1, NULL,
                                   0) >= 0
                   ? say(OMO_ERR_FORMAT, clip->path,
                         "holds sound only; a clip with a picture is needed")
                   : say(OMO_ERR_FORMAT, clip->path,
                         "holds no picture that can be read; it is not a clip, or it is "
                         "damaged");
    for (unsigned i = 0; i < clip->container->nb_streams; i++)
        if ((int)i != index)
            clip->container->streams[i]->discard = AVDISCARD_ALL;
    clip->stream = clip->container->streams[index];
    return OMO_OK;
}

static bool is_single_picture(const struct clip *clip)
{
    return !clip->sequence && (strcmp(clip->container->iformat->name, "image2") == 0 ||
                               omo_clip_container_is(clip, "_pipe"));
}

/* ---- size, shape, turn ---- */

static enum omo_status check_shape(const struct clip *clip)
{
    AVRational shape = clip->stream->sample_aspect_ratio;
    double ratio = shape.num > 0 && shape.den > 0 ? av_q2d(shape) : 1.0;

    if (clip->width < 1 || clip->height < 1)
        return say(OMO_ERR_DAMAGED, clip->path,
                   "does not say how large its picture is; it is damaged or cut short");
    if (!clip->still && !clip->sequence && fabs(ratio - 1.0) > 0.01) {
        omo_error("%s: its pixels are not square (%d:%d), which would bend every angle; "
                  "make them square first, for example with ffmpeg -vf "
                  "scale=iw*sar:ih,setsar=1",
                  clip->path, shape.num, shape.den);
        return OMO_ERR_FORMAT;
    }
    return check_size(clip->path, clip->width, clip->height);
}

/* The matrix maps coded (x, y) to shown (a x + c y, b x + d y), y down. Where coded
 * "right" points to is the turn; a negative determinant is a flip, taken out first. */
static void read_display_matrix(struct clip *clip)
{
    const int32_t *m =
        (const int32_t *)(const void *)av_stream_get_side_data(clip->stream,
                                                               AV_PKT_DATA_DISPLAYMATRIX,
                                                               NULL);
    double a, b, c, d;

    if (m == NULL)
        return;
    a = m[0], b = m[1], c = m[3], d = m[4];
    if (a * d - b * c < 0.0) {
        clip->mirrored = true;
        a = -a;
        b = -b;
    }
    if (a == 0.0 && b == 0.0)
        return;
    clip->turned.quarter_turns = (int)lround(atan2(b, a) * 2.0 / M_PI) & 3;
}

/* EXIF 2.3, tag 0x0112: how the stored rows and columns lie in the scene. */
static void read_exif(struct clip *clip, const AVPacket *packet)
{
    static const struct {
        bool mirrored;
        int quarter_turns;
    } meaning[9] = {{false, 0}, {false, 0}, {true, 0}, {false, 2}, {true, 2},
                    {true, 3},  {false, 1}, {true, 1}, {false, 3}};
    int orientation = omo_exif_orientation(packet->data, (size_t)packet->size);

    clip->mirrored = meaning[orientation].mirrored;
    clip->turned.quarter_turns = meaning[orientation].quarter_turns;
}

/* ---- the decoder ---- */

static enum omo_status open_decoder(struct clip *clip)
{
    const AVCodec *codec = avcodec_find_decoder(clip->stream->codecpar->codec_id);

    if (codec == NULL) {
        omo_error("%s: its coding (%s) is not known here; convert it to H.264 in MP4",
                  clip->path, avcodec_get_name(clip->stream->codecpar->codec_id));
        return OMO_ERR_FORMAT;
    }
    clip->decoder = avcodec_alloc_context3(codec);
    if (clip->decoder == NULL ||
        avcodec_parameters_to_context(clip->decoder, clip->stream->codecpar) < 0)
        return say(OMO_ERR_MEMORY, clip->path, "there is not enough memory to open it");
    clip->decoder->pkt_timebase = clip->stream->time_base;
    clip->decoder->thread_count = 1;
    clip->decoder->max_pixels = OMO_PICTURE_MAX_PX;
    /* Broken frames are given, marked as such, rather than left out. */
    clip->decoder->flags |= AV_CODEC_FLAG_OUTPUT_CORRUPT;
    if (avcodec_open2(clip->decoder, codec, NULL) < 0) {
        omo_error("%s: its decoder (%s) cannot be started; convert it to H.264 in MP4",
                  clip->path, codec->name);
        return OMO_ERR_FORMAT;
    }
    return OMO_OK;
}

/* Our own JPEG decoder takes packets that are one whole picture of the stream's size.
 * Interlaced cards put two half pictures into one packet: those go to libavcodec. */
static enum omo_status try_jpeg(struct clip *clip)
{
    const AVCodecParameters *about = clip->stream->codecpar;
    const AVPacket *packet = clip->packet;
    struct omo_planes planes;
    enum omo_status status;

    clip->jpeg_packets = false;
    if (packet->size < 2 || packet->data[0] != 0xff || packet->data[1] != 0xd8)
        return OMO_OK;
    status = omo_jpeg_decode(clip->jpeg, packet->data, (size_t)packet->size, false,
                             &planes, NULL);
    if (status == OMO_ERR_FORMAT) {
        omo_error("%s: its picture cannot be used: %s", clip->path,
                  omo_jpeg_fault(clip->jpeg));
        return status;
    }
    if (status != OMO_OK) { /* a film may go on after a broken first frame */
        clip->jpeg_packets = !clip->still && about->width > 0 && about->height > 0;
        return OMO_OK;
    }
    if (clip->still || about->width == 0) {
        clip->width = planes.width;
        clip->height = planes.height;
    }
    clip->jpeg_packets = planes.width == clip->width && planes.height == clip->height;
    return OMO_OK;
}

static enum omo_status no_picture(const struct clip *clip)
{
    return say(
        OMO_ERR_DAMAGED, clip->path,
        "no picture in it can be decoded; it is damaged or cut short, copy it again "
        "from the camera");
}

/* Reads the first frame, so that opening fails here and size and turn are the true ones.
 */
static enum omo_status read_first(struct clip *clip)
{
    bool jpeg = clip->stream->codecpar->codec_id == AV_CODEC_ID_MJPEG;
    enum omo_status status;

    if ((jpeg ? omo_clip_read_shown_packet(clip) : omo_clip_read_packet(clip)) != 0)
        return no_picture(clip);
    status = jpeg ? try_jpeg(clip) : OMO_OK;
    if (status != OMO_OK)
        return status;
    if (jpeg && (clip->still || clip->sequence))
        read_exif(clip, clip->packet);
    clip->pending = true;
    if (clip->jpeg_packets)
        return OMO_OK;
    status = open_decoder(clip);
    if (status != OMO_OK)
        return status;
    omo_clip_send_packet(clip, clip->packet);
    if (omo_clip_decode_frame(clip) != 0)
        return no_picture(clip);
    clip->width = clip->frame->width;
    clip->height = clip->frame->height;
    return OMO_OK;
}

/* ---- the whole ---- */

static bool prepare(struct clip *clip, const char *path)
{
    clip->path = strdup(path);
    clip->jpeg = omo_jpeg_create();
    clip->packet = av_packet_alloc();
    clip->packet_before = av_packet_alloc();
    clip->frame = av_frame_alloc();
    clip->frame_before = av_frame_alloc();
    clip->packets_end_s = NAN;
    clip->period_s = OMO_UNKNOWN_RATE_PERIOD_S;
    return clip->path != NULL && clip->jpeg != NULL && clip->packet != NULL &&
           clip->packet_before != NULL && clip->frame != NULL &&
           clip->frame_before != NULL;
}

static enum omo_status open_clip(struct clip *clip)
{
    enum omo_status status = read_container(clip);

    if (status == OMO_OK)
        status = find_video(clip);
    if (status != OMO_OK)
        return status;
    clip->still = is_single_picture(clip);
    clip->untimed =
        clip->sequence || (clip->container->iformat->flags & AVFMT_NOTIMESTAMPS) != 0;
    clip->width = clip->stream->codecpar->width;
    clip->height = clip->stream->codecpar->height;
    if (omo_clip_rate_hz(clip) > 0.0)
        clip->period_s = 1.0 / omo_clip_rate_hz(clip);
    omo_clip_expect(clip);
    read_display_matrix(clip);
    status = check_size(clip->path, clip->width, clip->height);
    if (status == OMO_OK)
        status = read_first(clip);
    if (status == OMO_OK)
        status = check_shape(clip);
    if (status != OMO_OK)
        return status;
    clip->turned.coded_width = clip->width;
    clip->turned.coded_height = clip->height;
    omo_clip_warn(clip);
    return OMO_OK;
}

enum omo_status omo_clip_open(const char *path, struct omo_source **source)
{
    static const struct omo_source_ops ops = {omo_clip_next, omo_clip_destroy};
    struct omo_source_info info;
    enum omo_status status;
    struct clip *clip;
    bool sequence;

    status = check_file(path, &sequence);
    if (status != OMO_OK)
        return status;
    omo_clip_quiet_libav();
    clip = calloc(1, sizeof *clip);
    if (clip == NULL)
        return say(OMO_ERR_MEMORY, path, "there is not enough memory to open it");
    clip->sequence = sequence;
    if (prepare(clip, path))
        status = open_clip(clip);
    else
        status = say(OMO_ERR_MEMORY, path, "there is not enough memory to open it");
    if (status != OMO_OK) {
        omo_clip_destroy(clip);
        return status;
    }
    omo_clip_fill_info(clip, &info);
    *source = omo_source_wrap(&ops, clip, &info);
    if (*source == NULL)
        return say(OMO_ERR_MEMORY, path, "there is not enough memory to open it");
    return OMO_OK;
}
