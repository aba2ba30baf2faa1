/* What only the driver knows about the pictures that come through OpenCV. */
#include <dirent.h>
#include <stdlib.h>
#include <sys/stat.h>

#include <linux/videodev2.h>

#include "source/camera_parts.h"

#define BUFFERS_MOST 32

/* ---- colours and rows ---- */

static enum omo_colour_space colour_of(const struct v4l2_pix_format *format)
{
    switch (format->ycbcr_enc) {
    case V4L2_YCBCR_ENC_709:
        return OMO_COLOUR_BT709;
    case V4L2_YCBCR_ENC_BT2020:
        return OMO_COLOUR_BT2020;
    case V4L2_YCBCR_ENC_DEFAULT:
        break;
    default:
        return OMO_COLOUR_BT601;
    }
    switch (format->colorspace) {
    case V4L2_COLORSPACE_REC709:
        return OMO_COLOUR_BT709;
    case V4L2_COLORSPACE_BT2020:
        return OMO_COLOUR_BT2020;
    default:
        return OMO_COLOUR_BT601;
    }
}

static bool is_full_range(const struct v4l2_pix_format *format)
{
    if (format->quantization != V4L2_QUANTIZATION_DEFAULT)
        return format->quantization == V4L2_QUANTIZATION_FULL_RANGE;
    return V4L2_MAP_QUANTIZATION_DEFAULT(false, format->colorspace, format->ycbcr_enc) ==
           V4L2_QUANTIZATION_FULL_RANGE;
}

void omo_camera_layout_read(int device, const struct omo_bridge_mode *mode,
                            struct camera_layout *layout)
{
    struct v4l2_format format = {.type = V4L2_BUF_TYPE_VIDEO_CAPTURE};
    const struct v4l2_pix_format *pix = &format.fmt.pix;
    unsigned row = (unsigned)mode->width * (mode->fourcc == V4L2_PIX_FMT_YUYV ? 2u : 1u);

    *layout = (struct camera_layout){.colour = OMO_COLOUR_BT601};
    if (mode->fourcc == V4L2_PIX_FMT_MJPEG) {
        layout->full_range = true;
        return;
    }
    if (omo_camera_ask(device, VIDIOC_G_FMT, &format) < 0)
        return;
    layout->colour = colour_of(pix);
    layout->full_range = is_full_range(pix);
    layout->padded = pix->bytesperline > row;
}

/* ---- how much of a picture came ---- */

static bool is_device(int file, dev_t device)
{
    struct stat about;

    return fstat(file, &about) == 0 && S_ISCHR(about.st_mode) && about.st_rdev == device;
}

static bool query(int stream, unsigned index, struct v4l2_buffer *buffer)
{
    *buffer = (struct v4l2_buffer){.type = V4L2_BUF_TYPE_VIDEO_CAPTURE,
                                   .memory = V4L2_MEMORY_MMAP,
                                   .index = index};
    return omo_camera_ask(stream, VIDIOC_QUERYBUF, buffer) == 0;
}

int omo_camera_stream_find(const char *path, int not_this)
{
    struct stat device;
    struct dirent *entry;
    DIR *open_files;
    int found = -1;

    if (stat(path, &device) != 0 || !S_ISCHR(device.st_mode))
        return -1;
    open_files = opendir("/proc/self/fd");
    if (open_files == NULL)
        return -1;
    while (found < 0 && (entry = readdir(open_files)) != NULL) {
        char *end;
        long file = strtol(entry->d_name, &end, 10);
        struct v4l2_buffer buffer;

        if (end != entry->d_name && *end == '\0' && file != not_this &&
            is_device((int)file, device.st_rdev) && query((int)file, 0, &buffer))
            found = (int)file;
    }
    closedir(open_files);
    return found;
}

int64_t omo_camera_stream_used(int stream, int64_t time_us)
{
    struct v4l2_buffer buffer;

    if (stream < 0)
        return -1;
    for (unsigned i = 0; i < BUFFERS_MOST && query(stream, i, &buffer); i++)
        if ((buffer.flags & (V4L2_BUF_FLAG_QUEUED | V4L2_BUF_FLAG_DONE)) == 0 &&
            buffer.timestamp.tv_sec * INT64_C(1000000) + buffer.timestamp.tv_usec ==
                time_us)
            return buffer.bytesused;
    return -1;
}
