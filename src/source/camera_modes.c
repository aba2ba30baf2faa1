/* Which of the formats, sizes and rates a camera offers. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <linux/videodev2.h>

#include "source/camera_parts.h"

/* 30 as cameras spell it: 30000/1001 counts as well. */
#define RATE_WANTED_HZ 30.0
#define RATE_ENOUGH_HZ 29.5
#define FULL_PX        (1920.0 * 1080.0)

/* The compressed format first: a USB 2 port carries 1280x720 at 30 no other way. */
static const uint32_t known_formats[] = {V4L2_PIX_FMT_MJPEG, V4L2_PIX_FMT_YUYV,
                                         V4L2_PIX_FMT_NV12};
static const int preferred_sizes[][2] = {{1920, 1080}, {1280, 720}};
/* Where a driver gives ranges or nothing, these are asked for. */
static const int usual_sizes[][2] = {{1920, 1080}, {1280, 720}, {640, 480}};

#define COUNT_OF(array) (sizeof(array) / sizeof((array)[0]))

bool omo_camera_format_known(uint32_t fourcc)
{
    for (size_t i = 0; i < COUNT_OF(known_formats); i++)
        if (known_formats[i] == fourcc)
            return true;
    return false;
}

void omo_camera_format_name(uint32_t fourcc, char name[8])
{
    memset(name, 0, 8);
    for (int i = 0; i < 4; i++)
        name[i] = (char)(fourcc >> (8 * i) & 0xff);
}

struct choice {
    int device;
    const struct omo_camera_wish *wish;
    struct omo_bridge_mode best;
    double score;
    bool found;
};

/* ---- rates ---- */

/* The rate nearest to what is wished; with no wish the slowest that is enough, since more
 * only costs time, else the fastest. */
static double better_rate(const struct choice *choice, double a, double b)
{
    double wish = choice->wish->frames_per_second;

    if (isnan(a))
        return b;
    if (wish > 0)
        return fabs(b - wish) < fabs(a - wish) ? b : a;
    if (a >= RATE_ENOUGH_HZ && b >= RATE_ENOUGH_HZ)
        return fmin(a, b);
    return fmax(a, b);
}

static double rate_of(const struct v4l2_fract *interval)
{
    return interval->numerator > 0 ? (double)interval->denominator / interval->numerator
                                   : (double)NAN;
}

static double rate_in_range(const struct choice *choice,
                            const struct v4l2_frmival_stepwise *range)
{
    double slowest = rate_of(&range->max), fastest = rate_of(&range->min);
    double wanted = choice->wish->frames_per_second > 0 ? choice->wish->frames_per_second
                                                        : RATE_WANTED_HZ;

    if (isnan(slowest) || isnan(fastest))
        return NAN;
    return fmin(fmax(wanted, slowest), fastest);
}

static double rate_offered(const struct choice *choice, uint32_t fourcc, int width,
                           int height)
{
    struct v4l2_frmivalenum offered = {.pixel_format = fourcc,
                                       .width = (unsigned)width,
                                       .height = (unsigned)height};
    double rate = NAN;

    for (; omo_camera_ask(choice->device, VIDIOC_ENUM_FRAMEINTERVALS, &offered) == 0;
         offered.index++) {
        double one;

        if (offered.type != V4L2_FRMIVAL_TYPE_DISCRETE)
            return rate_in_range(choice, &offered.stepwise);
        one = rate_of(&offered.discrete);
        if (!isnan(one))
            rate = better_rate(choice, rate, one);
    }
    return rate;
}

/* ---- which is best ---- */

static double format_rank(uint32_t fourcc)
{
    size_t i = 0;

    while (i < COUNT_OF(known_formats) && known_formats[i] != fourcc)
        i++;
    return (double)(COUNT_OF(known_formats) - i);
}

/* The nearer to the size that was named the better, then the rate, then the format. */
static double score_for_size(const struct omo_camera_wish *wish,
                             const struct omo_bridge_mode *mode, double rate)
{
    double off = abs(mode->width - wish->width) + abs(mode->height - wish->height);

    return -off * 1e3 + 10.0 * fmin(rate, RATE_WANTED_HZ) + format_rank(mode->fourcc);
}

/* First what is asked for, compressed and at full rate. Otherwise picture lines and rate
 * weigh alike: half of either makes the measurement about half as good. Above 1920x1080
 * only the computing grows. */
static double score_freely(const struct omo_bridge_mode *mode, double rate)
{
    double area = (double)mode->width * mode->height;

    if (mode->fourcc == V4L2_PIX_FMT_MJPEG && rate >= RATE_ENOUGH_HZ)
        for (size_t i = 0; i < COUNT_OF(preferred_sizes); i++)
            if (mode->width == preferred_sizes[i][0] &&
                mode->height == preferred_sizes[i][1])
                return 1e6 - (double)i;
    return sqrt(area > FULL_PX ? 0.8 * FULL_PX : area) * fmin(rate, RATE_ENOUGH_HZ) +
           format_rank(mode->fourcc);
}

static void consider(struct choice *choice, uint32_t fourcc, int width, int height)
{
    struct omo_bridge_mode mode = {.fourcc = fourcc, .width = width, .height = height};
    /* A driver that does not tell its rates usually gives the usual one. */
    double rate = rate_offered(choice, fourcc, width, height), score;

    mode.frames_per_second = isnan(rate) ? 0 : rate;
    rate = isnan(rate) ? RATE_WANTED_HZ : rate;
    score = choice->wish->width > 0 && choice->wish->height > 0
                ? score_for_size(choice->wish, &mode, rate)
                : score_freely(&mode, rate);
    if (choice->found && score <= choice->score)
        return;
    choice->best = mode;
    choice->score = score;
    choice->found = true;
}

/* ---- sizes ---- */

static bool fits(const struct v4l2_frmsize_stepwise *range, int width, int height)
{
    unsigned w = (unsigned)width, h = (unsigned)height;
    unsigned step_w = range->step_width > 0 ? range->step_width : 1;
    unsigned step_h = range->step_height > 0 ? range->step_height : 1;

    return w >= range->min_width && w <= range->max_width && h >= range->min_height &&
           h <= range->max_height && (w - range->min_width) % step_w == 0 &&
           (h - range->min_height) % step_h == 0;
}

static void consider_range(struct choice *choice, uint32_t fourcc,
                           const struct v4l2_frmsize_stepwise *range)
{
    const struct omo_camera_wish *wish = choice->wish;
    bool any = false;

    if (wish->width > 0 && wish->height > 0 &&
        (range == NULL || fits(range, wish->width, wish->height)))
        consider(choice, fourcc, wish->width, wish->height);
    for (size_t i = 0; i < COUNT_OF(usual_sizes); i++)
        if (range == NULL || fits(range, usual_sizes[i][0], usual_sizes[i][1])) {
            consider(choice, fourcc, usual_sizes[i][0], usual_sizes[i][1]);
            any = true;
        }
    if (!any && range != NULL)
        consider(choice, fourcc, (int)range->max_width, (int)range->max_height);
}

static void consider_format(struct choice *choice, uint32_t fourcc)
{
    struct v4l2_frmsizeenum size = {.pixel_format = fourcc};

    for (; omo_camera_ask(choice->device, VIDIOC_ENUM_FRAMESIZES, &size) == 0;
         size.index++) {
        if (size.type != V4L2_FRMSIZE_TYPE_DISCRETE) {
            consider_range(choice, fourcc, &size.stepwise);
            return;
        }
        consider(choice, fourcc, (int)size.discrete.width, (int)size.discrete.height);
    }
    if (size.index == 0)
        consider_range(choice, fourcc, NULL);
}

bool omo_camera_choose_mode(int device, const struct omo_camera_wish *wish,
                            struct omo_bridge_mode *mode)
{
    struct choice choice = {.device = device, .wish = wish};
    struct v4l2_fmtdesc format = {.type = V4L2_BUF_TYPE_VIDEO_CAPTURE};

    for (; omo_camera_ask(device, VIDIOC_ENUM_FMT, &format) == 0; format.index++)
        if (omo_camera_format_known(format.pixelformat))
            consider_format(&choice, format.pixelformat);
    if (choice.found)
        *mode = choice.best;
    return choice.found;
}
