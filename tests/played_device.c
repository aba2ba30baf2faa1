/* What the device says of itself, and its settings. */
#include "played_parts.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <linux/videodev2.h>

static struct played_mode modes[PLAYED_MODES];
static int mode_count, current;
static double rate;
static enum played_state state;
static int life;
static bool moved;

static const char *text_of(const char *variable, const char *otherwise)
{
    const char *text = getenv(variable);

    return text != NULL ? text : otherwise;
}

/* ---- life ---- */

void played_device_begin(void)
{
    mode_count = played_modes_read(getenv("OMO_PLAY_OFFER"), modes);
    if (mode_count > 0)
        rate = modes[0].rates[0];
    played_faults_begin();
    played_settings_note();
}

const char *played_device_path(void)
{
    return moved ? text_of("OMO_PLAY_MOVES_TO", text_of("OMO_PLAY_DEVICE", "/dev/video0"))
                 : text_of("OMO_PLAY_DEVICE", "/dev/video0");
}

enum played_state played_device_state(void)
{
    return state;
}

void played_device_set_state(enum played_state now)
{
    state = now;
}

/* A camera that lost its power has forgotten its settings. */
void played_device_replugged(void)
{
    moved = true;
    life++;
    played_settings_forget();
}

int played_device_life(void)
{
    return life;
}

int played_device_open_error(void)
{
    switch (state) {
    case PLAYED_STATE_GONE:
        return ENOENT;
    case PLAYED_STATE_DENIED:
        return EACCES;
    case PLAYED_STATE_HELD:
        return EBUSY;
    default:
        return 0;
    }
}

/* ---- formats ---- */

static int query_capability(struct v4l2_capability *capability)
{
    if (state == PLAYED_STATE_NO_CAMERA)
        return -ENOTTY;
    memset(capability, 0, sizeof *capability);
    snprintf((char *)capability->driver, sizeof capability->driver, "played");
    snprintf((char *)capability->card, sizeof capability->card, "%s",
             text_of("OMO_PLAY_NAME", "Played camera"));
    snprintf((char *)capability->bus_info, sizeof capability->bus_info, "played-1");
    capability->device_caps = V4L2_CAP_VIDEO_CAPTURE | V4L2_CAP_STREAMING;
    capability->capabilities =
        capability->device_caps | V4L2_CAP_DEVICE_CAPS | V4L2_CAP_META_CAPTURE;
    return 0;
}

/* The index-th mode that fits; formats may repeat with other sizes. */
static int nth_mode(unsigned index, bool (*fits)(const struct played_mode *, uint32_t),
                    uint32_t fourcc)
{
    for (int i = 0; i < mode_count; i++)
        if (fits(&modes[i], fourcc) && index-- == 0)
            return i;
    return -1;
}

static bool begins_format(const struct played_mode *mode, uint32_t unused)
{
    (void)unused;
    for (const struct played_mode *m = modes; m < mode; m++)
        if (m->fourcc == mode->fourcc)
            return false;
    return true;
}

static bool has_format(const struct played_mode *mode, uint32_t fourcc)
{
    return mode->fourcc == fourcc;
}

static int enumerate_format(struct v4l2_fmtdesc *format)
{
    int i = nth_mode(format->index, begins_format, 0);

    if (i < 0)
        return -EINVAL;
    format->pixelformat = modes[i].fourcc;
    return 0;
}

static int enumerate_size(struct v4l2_frmsizeenum *size)
{
    int i = nth_mode(size->index, has_format, size->pixel_format);

    if (i < 0)
        return -EINVAL;
    size->type = V4L2_FRMSIZE_TYPE_DISCRETE;
    size->discrete.width = (unsigned)modes[i].width;
    size->discrete.height = (unsigned)modes[i].height;
    return 0;
}

static struct v4l2_fract interval_of(double frames_per_second)
{
    struct v4l2_fract interval = {.numerator = 1000};

    interval.denominator = (unsigned)lround(frames_per_second * 1000.0);
    if (interval.denominator % 1000 == 0) {
        interval.numerator = 1;
        interval.denominator /= 1000;
    }
    return interval;
}

static int enumerate_interval(struct v4l2_frmivalenum *interval)
{
    for (int i = 0; i < mode_count; i++)
        if (modes[i].fourcc == interval->pixel_format &&
            modes[i].width == (int)interval->width &&
            modes[i].height == (int)interval->height &&
            interval->index < (unsigned)modes[i].rate_count) {
            interval->type = V4L2_FRMIVAL_TYPE_DISCRETE;
            interval->discrete = interval_of(modes[i].rates[interval->index]);
            return 0;
        }
    return -EINVAL;
}

static void describe(const struct played_mode *mode, struct v4l2_pix_format *pix)
{
    bool yuyv = mode->fourcc == V4L2_PIX_FMT_YUYV;

    memset(pix, 0, sizeof *pix);
    pix->width = (unsigned)mode->width;
    pix->height = (unsigned)mode->height;
    pix->pixelformat = mode->fourcc;
    pix->field = V4L2_FIELD_NONE;
    pix->bytesperline =
        mode->fourcc == V4L2_PIX_FMT_MJPEG ? 0 : pix->width * (yuyv ? 2u : 1u);
    pix->sizeimage = pix->width * pix->height * 2;
    pix->colorspace = V4L2_COLORSPACE_SRGB;
    if (strcmp(text_of("OMO_PLAY_RANGE", "limited"), "full") == 0)
        pix->quantization = V4L2_QUANTIZATION_FULL_RANGE;
}

/* As drivers do: the format if it is there, else the first, at the nearest size. */
static int nearest_mode(const struct v4l2_pix_format *pix)
{
    uint32_t fourcc = modes[0].fourcc;
    int best = 0;
    long best_off = -1;

    for (int i = 0; i < mode_count; i++)
        if (modes[i].fourcc == pix->pixelformat)
            fourcc = pix->pixelformat;
    for (int i = 0; i < mode_count; i++) {
        long off = labs((long)modes[i].width - (long)pix->width) +
                   labs((long)modes[i].height - (long)pix->height);

        if (modes[i].fourcc == fourcc && (best_off < 0 || off < best_off)) {
            best = i;
            best_off = off;
        }
    }
    return best;
}

static double nearest_rate(const struct played_mode *mode, double wanted)
{
    double best = mode->rates[0];

    for (int i = 1; i < mode->rate_count; i++)
        if (fabs(mode->rates[i] - wanted) < fabs(best - wanted))
            best = mode->rates[i];
    return best;
}

static int set_format(int file, struct v4l2_format *format)
{
    if (state == PLAYED_STATE_BUSY || played_stream_owned_by_other(file) ||
        played_stream_running())
        return -EBUSY;
    current = nearest_mode(&format->fmt.pix);
    rate = nearest_rate(&modes[current], rate);
    describe(&modes[current], &format->fmt.pix);
    return 0;
}

static int get_rate(struct v4l2_streamparm *parameters)
{
    memset(&parameters->parm, 0, sizeof parameters->parm);
    parameters->parm.capture.capability = V4L2_CAP_TIMEPERFRAME;
    parameters->parm.capture.timeperframe = interval_of(rate);
    return 0;
}

static int set_rate(struct v4l2_streamparm *parameters)
{
    struct v4l2_fract wanted = parameters->parm.capture.timeperframe;

    if (played_stream_running())
        return -EBUSY;
    if (wanted.numerator > 0 && wanted.denominator > 0)
        rate =
            nearest_rate(&modes[current], (double)wanted.denominator / wanted.numerator);
    return get_rate(parameters);
}

/* ---- the switchboard ---- */

static int ask_about_buffers(int file, bool waits, unsigned long request, void *argument)
{
    struct v4l2_requestbuffers *wanted = argument;

    switch (request) {
    case VIDIOC_REQBUFS:
        if (state == PLAYED_STATE_BUSY || played_stream_owned_by_other(file))
            return -EBUSY;
        return played_stream_request(file, &modes[current], &wanted->count);
    case VIDIOC_QUERYBUF:
        return played_stream_query(file, argument);
    case VIDIOC_QBUF:
        return played_stream_queue(file, argument);
    case VIDIOC_DQBUF:
        return played_stream_dequeue(file, waits, argument);
    case VIDIOC_STREAMON:
        return state == PLAYED_STATE_BUSY ? -EBUSY : played_stream_start(file, rate);
    case VIDIOC_STREAMOFF:
        return played_stream_stop(file);
    default:
        return -ENOTTY;
    }
}

static int ask(int file, bool waits, unsigned long request, void *argument)
{
    struct v4l2_format *format = argument;

    switch (request) {
    case VIDIOC_QUERYCAP:
        return query_capability(argument);
    case VIDIOC_ENUM_FMT:
        return enumerate_format(argument);
    case VIDIOC_ENUM_FRAMESIZES:
        return enumerate_size(argument);
    case VIDIOC_ENUM_FRAMEINTERVALS:
        return enumerate_interval(argument);
    case VIDIOC_G_FMT:
        describe(&modes[current], &format->fmt.pix);
        return 0;
    case VIDIOC_TRY_FMT:
        describe(&modes[nearest_mode(&format->fmt.pix)], &format->fmt.pix);
        return 0;
    case VIDIOC_S_FMT:
        return set_format(file, format);
    case VIDIOC_G_PARM:
        return get_rate(argument);
    case VIDIOC_S_PARM:
        return set_rate(argument);
    case VIDIOC_G_INPUT:
        *(int *)argument = 0;
        return 0;
    case VIDIOC_S_INPUT:
        return *(int *)argument == 0 ? 0 : -EINVAL;
    case VIDIOC_QUERYCTRL:
        return played_settings_query(argument);
    case VIDIOC_G_CTRL:
        return played_settings_get(argument);
    case VIDIOC_S_CTRL:
        return played_settings_set(argument);
    default:
        return ask_about_buffers(file, waits, request, argument);
    }
}

int played_device_ask(int file, bool waits, unsigned long request, void *argument)
{
    int result;

    played_stream_look();
    if (state == PLAYED_STATE_GONE)
        return -ENODEV;
    if (mode_count == 0 && request != VIDIOC_QUERYCAP)
        return -EINVAL;
    result = ask(file, waits, request, argument);
    played_stream_look();
    return result;
}
