#include "omogon/clip_writer.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#include <libavformat/avformat.h>

#include "omogon/files.h"
#include "omogon/log.h"

#define TICKS_PER_S 1000 /* of .mkv; .avi counts frames */

struct omo_clip_writer {
    AVFormatContext *format;
    AVStream *stream;
    char *path, *hidden;
    double frames_per_second;
    int64_t last, frames;
    bool even; /* frames have no times of their own */
};

/** Whether a name ends so, in any case. */
static bool ends_in(const char *path, const char *wanted)
{
    const char *slash = strrchr(path, '/'), *name = slash != NULL ? slash + 1 : path;
    const char *ending = strrchr(name, '.');
    return ending != NULL && strcasecmp(ending, wanted) == 0;
}

bool omo_clip_writer_takes(const char *path)
{
    return ends_in(path, ".mkv") || ends_in(path, ".avi");
}

static enum omo_status say(const struct omo_clip_writer *writer, int error)
{
    char why[AV_ERROR_MAX_STRING_SIZE] = "";
    av_strerror(error, why, sizeof why);
    omo_error("%s cannot be written: %s", writer->path, why);
    return OMO_ERR_IO;
}

static void release(struct omo_clip_writer *writer)
{
    if (writer->format != NULL) {
        avio_closep(&writer->format->pb);
        avformat_free_context(writer->format);
    }
    free(writer->path);
    free(writer->hidden);
    free(writer);
}

/** ".clip.mkv.writing" beside "clip.mkv" */
static char *hidden_name(const char *path)
{
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    size_t room = strlen(path) + sizeof "..writing";
    char *hidden = malloc(room);
    if (hidden != NULL)
        snprintf(hidden, room, "%.*s.%s.writing", (int)(name - path), path, name);
    return hidden;
}

static int begin(struct omo_clip_writer *writer, int width, int height)
{
    AVCodecParameters *codec = writer->stream->codecpar;
    int file =
        open(writer->hidden, O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (file < 0)
        return AVERROR(errno);
    /* Otherwise what a killed run left keeps its mode, and the umask has its say. */
    int error = fchmod(file, 0600) != 0 ? AVERROR(errno) : 0;
    close(file);
    if (error < 0)
        return error;
    codec->codec_type = AVMEDIA_TYPE_VIDEO;
    codec->codec_id = AV_CODEC_ID_MJPEG;
    codec->format = AV_PIX_FMT_YUVJ420P;
    codec->width = width;
    codec->height = height;
    codec->color_range = AVCOL_RANGE_JPEG;
    writer->stream->avg_frame_rate = av_d2q(writer->frames_per_second, 1001000);
    writer->stream->time_base = writer->even ? av_inv_q(writer->stream->avg_frame_rate)
                                             : (AVRational){1, TICKS_PER_S};
    error = avio_open(&writer->format->pb, writer->hidden, AVIO_FLAG_WRITE);
    /* The same pictures are the same file: no date, no name of a program. */
    writer->format->flags |= AVFMT_FLAG_BITEXACT;
    return error < 0 ? error : avformat_write_header(writer->format, NULL);
}

enum omo_status omo_clip_writer_begin(const char *path, int width, int height,
                                      double frames_per_second,
                                      struct omo_clip_writer **out)
{
    bool matroska = ends_in(path, ".mkv");
    if (!omo_clip_writer_takes(path)) {
        omo_error("a video ends in .mkv or .avi, not as %s does", path);
        return OMO_ERR_ARG;
    }
    struct omo_clip_writer *writer = calloc(1, sizeof *writer);
    if (writer == NULL)
        return OMO_ERR_MEMORY;
    writer->path = strdup(path);
    writer->hidden = hidden_name(path);
    writer->even = !matroska;
    writer->last = -1;
    writer->frames_per_second = frames_per_second > 0 ? frames_per_second : 25;
    int error = avformat_alloc_output_context2(&writer->format, NULL,
                                               matroska ? "matroska" : "avi", NULL);
    if (error >= 0)
        writer->stream = avformat_new_stream(writer->format, NULL);
    if (writer->path == NULL || writer->hidden == NULL || writer->stream == NULL) {
        release(writer);
        return OMO_ERR_MEMORY;
    }
    error = begin(writer, width, height);
    if (error < 0) {
        enum omo_status status = say(writer, error);
        unlink(writer->hidden);
        release(writer);
        return status;
    }
    *out = writer;
    return OMO_OK;
}

enum omo_status omo_clip_writer_add(struct omo_clip_writer *writer, const uint8_t *jpeg,
                                    size_t size, double time_s)
{
    AVPacket *packet = av_packet_alloc();
    int error = packet == NULL ? AVERROR(ENOMEM) : av_new_packet(packet, (int)size);
    if (error >= 0) {
        int64_t at = writer->even ? writer->frames : llround(time_s * TICKS_PER_S);
        at = at > writer->last ? at : writer->last + 1;
        writer->last = at;
        writer->frames++;
        memcpy(packet->data, jpeg, size);
        packet->pts = packet->dts = at;
        packet->flags |= AV_PKT_FLAG_KEY;
        packet->stream_index = writer->stream->index;
        av_packet_rescale_ts(packet,
                             writer->even ? av_inv_q(writer->stream->avg_frame_rate)
                                          : (AVRational){1, TICKS_PER_S},
                             writer->stream->time_base);
        error = av_write_frame(writer->format, packet);
    }
    av_packet_free(&packet);
    return error < 0 ? say(writer, error) : OMO_OK;
}

/** On disk before it has its name, and the name on disk before it is said to be there. */
static enum omo_status put_in_place(const struct omo_clip_writer *writer)
{
    int file = open(writer->hidden, O_RDONLY | O_CLOEXEC);
    int error = file < 0 || fsync(file) != 0 ? errno : 0;
    if (file >= 0)
        close(file);
    if (error == 0 && rename(writer->hidden, writer->path) != 0)
        error = errno;
    if (error != 0) {
        unlink(writer->hidden);
        return say(writer, AVERROR(error));
    }
    char *slash = strrchr(writer->hidden, '/');
    if (slash != NULL)
        slash[slash == writer->hidden] = '\0'; /* the folder alone; "/" stays "/" */
    error = omo_folder_sync(slash != NULL ? writer->hidden : ".");
    if (error == 0)
        return OMO_OK;
    omo_error("%s is written but may not outlast a power cut: %s", writer->path,
              strerror(error));
    return OMO_ERR_IO;
}

enum omo_status omo_clip_writer_end(struct omo_clip_writer *writer, bool keep)
{
    if (writer == NULL)
        return OMO_OK;
    enum omo_status status = OMO_OK;
    int error = av_write_trailer(writer->format);
    if (error >= 0)
        error = avio_closep(&writer->format->pb);
    if (!keep || error < 0) {
        status = keep ? say(writer, error) : OMO_OK;
        unlink(writer->hidden);
    } else {
        status = put_in_place(writer);
    }
    release(writer);
    return status;
}
