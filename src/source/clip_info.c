#include "source/clip.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#include "omogon/log.h"
#include "omogon/text.h"

bool omo_clip_container_is(const struct clip *clip, const char *name)
{
    return strstr(clip->container->iformat->name, name) != NULL;
}

/* ---- what is known about the whole ---- */

double omo_clip_rate_hz(const struct clip *clip)
{
    AVRational rate = clip->stream->avg_frame_rate;

    if (clip->still)
        return NAN;
    if (rate.num <= 0 || rate.den <= 0)
        rate = clip->stream->r_frame_rate;
    return rate.num > 0 && rate.den > 0 ? av_q2d(rate) : (double)NAN;
}

static double tagged_duration_s(const struct clip *clip)
{
    const AVDictionaryEntry *tag =
        av_dict_get(clip->stream->metadata, "DURATION", NULL, AV_DICT_IGNORE_SUFFIX);
    int hours, minutes;
    double seconds;

    /* Matroska files carry "00:00:02.040000000" for each track. */
    if (tag == NULL || sscanf(tag->value, "%d:%d:", &hours, &minutes) != 2 ||
        strlen(tag->value) < 8)
        return NAN;
    if (!omo_number_parse(strrchr(tag->value, ':') + 1, &seconds))
        return NAN;
    return hours * 3600.0 + minutes * 60.0 + seconds;
}

static int64_t frames_promised(const struct clip *clip)
{
    if (clip->expected_packets >= 0)
        return clip->expected_packets;
    if (clip->expected_end_s > clip->start_s)
        return (int64_t)lround((clip->expected_end_s - clip->start_s) / clip->period_s);
    if (clip->container->duration > 0 && isfinite(omo_clip_rate_hz(clip)))
        return (int64_t)lround((double)clip->container->duration / AV_TIME_BASE /
                               clip->period_s);
    return -1;
}

/* What the header promises, before anything is read. MOV and MP4 list every frame (after
 * their edit list); AVI counts them, pauses included; Matroska has a length per track. A
 * length that libavformat worked out from the file's end cannot show a missing end. */
void omo_clip_expect(struct clip *clip)
{
    AVStream *stream = clip->stream;
    double unit_s = av_q2d(stream->time_base);

    clip->start_s =
        stream->start_time == AV_NOPTS_VALUE ? 0.0 : (double)stream->start_time * unit_s;
    clip->expected_packets = -1;
    clip->expected_end_s = NAN;
    if (clip->still)
        clip->expected_packets = 1;
    else if (clip->sequence)
        clip->expected_packets = stream->duration > 0 ? stream->duration : -1;
    else if (omo_clip_container_is(clip, "mp4") && stream->nb_frames > 0)
        clip->expected_packets = avformat_index_get_entries_count(stream);
    else if (omo_clip_container_is(clip, "avi") && stream->nb_frames > 0)
        clip->expected_end_s = clip->start_s + (double)stream->nb_frames * unit_s;
    else if (isfinite(tagged_duration_s(clip)))
        clip->expected_end_s = tagged_duration_s(clip);
    else if (clip->container->nb_streams == 1 && clip->container->duration > 0 &&
             clip->container->duration_estimation_method == AVFMT_DURATION_FROM_STREAM)
        clip->expected_end_s = (double)clip->container->duration / AV_TIME_BASE;
    clip->promised_frames = frames_promised(clip);
}

static void write_time(time_t seconds, char *out, size_t size)
{
    struct tm parts;

    if (gmtime_r(&seconds, &parts) == NULL ||
        strftime(out, size, "%Y-%m-%dT%H:%M:%SZ", &parts) == 0)
        *out = '\0';
}

static bool creation_time(const AVDictionary *metadata, time_t *seconds)
{
    const AVDictionaryEntry *tag = av_dict_get(metadata, "creation_time", NULL, 0);
    struct tm parts = {0};
    const char *end;

    if (tag == NULL)
        return false;
    end = strptime(tag->value, "%Y-%m-%dT%H:%M:%S", &parts);
    if (end == NULL)
        end = strptime(tag->value, "%Y-%m-%d %H:%M:%S", &parts);
    if (end == NULL)
        return false;
    *seconds = timegm(&parts);
    /* Cameras without a clock write the first second of 1904 or 1970. */
    return *seconds > 86400;
}

/* The file, or the first picture of a sequence. */
static bool first_file(const struct clip *clip, struct stat *about)
{
    char name[4096];

    if (!clip->sequence)
        return stat(clip->path, about) == 0;
    for (int number = 0; number < OMO_FIRST_NUMBERS; number++)
        if (av_get_frame_filename2(name, sizeof name, clip->path, number, 0) == 0 &&
            stat(name, about) == 0)
            return true;
    return false;
}

static void find_started(const struct clip *clip, char *out, size_t size)
{
    struct stat about;
    time_t seconds;

    if (creation_time(clip->container->metadata, &seconds) ||
        creation_time(clip->stream->metadata, &seconds))
        write_time(seconds, out, size);
    else if (first_file(clip, &about))
        write_time(about.st_mtime, out, size);
}

void omo_clip_fill_info(const struct clip *clip, struct omo_source_info *info)
{
    bool lying = clip->turned.quarter_turns % 2 != 0;

    memset(info, 0, sizeof *info);
    info->width = lying ? clip->height : clip->width;
    info->height = lying ? clip->width : clip->height;
    info->frames_per_second = omo_clip_rate_hz(clip);
    info->frame_count = clip->promised_frames;
    omo_text_copy(info->codec, sizeof info->codec,
                  avcodec_get_name(clip->stream->codecpar->codec_id));
    find_started(clip, info->started, sizeof info->started);
}

/* ---- what the user should know before the figures ---- */

static void warn_slow_motion(const struct clip *clip)
{
    const AVDictionaryEntry *tag =
        av_dict_get(clip->container->metadata, "com.android.capture.fps", NULL, 0);
    double taken, played = omo_clip_rate_hz(clip);

    if (tag != NULL && omo_number_parse(tag->value, &taken) && taken > 1.2 * played)
        omo_warning("%s: was taken at %.0f frames a second but plays at %.0f: its times "
                    "and speeds are those of the slow playback, its angles are right",
                    clip->path, taken, played);
}

void omo_clip_warn(const struct clip *clip)
{
    if (clip->untimed && !clip->still)
        omo_warning(
            "%s: has no time stamps; %.0f frames a second are assumed, and speeds "
            "and repetition times are as right as that",
            clip->path, 1.0 / clip->period_s);
    if (!clip->jpeg_packets && clip->frame->interlaced_frame)
        omo_warning(
            "%s: its picture is interlaced, which blurs what moves; deinterlace it "
            "first, for example with ffmpeg -vf bwdif",
            clip->path);
    warn_slow_motion(clip);
}
