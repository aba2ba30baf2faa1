/* Opening and naming devices. /sys is not looked at: what a device is, it says itself. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <linux/videodev2.h>

#include "source/camera_parts.h"

/* The kernel's own limit for the numbers of video devices. */
#define NUMBERS 256

int omo_camera_ask(int device, unsigned long request, void *argument)
{
    int result;

    do
        result = ioctl(device, request, argument);
    while (result < 0 && errno == EINTR);
    return result;
}

static enum omo_camera_fault fault_of_error(int error)
{
    switch (error) {
    case ENOENT:
    case ENODEV:
    case ENXIO:
    case ENOTDIR:
        return OMO_CAMERA_NONE;
    case EACCES:
    case EPERM:
        return OMO_CAMERA_DENIED;
    case EBUSY:
        return OMO_CAMERA_BUSY;
    default:
        return OMO_CAMERA_UNUSABLE;
    }
}

static bool has_known_format(int device)
{
    struct v4l2_fmtdesc format = {.type = V4L2_BUF_TYPE_VIDEO_CAPTURE};

    for (; omo_camera_ask(device, VIDIOC_ENUM_FMT, &format) == 0; format.index++)
        if (omo_camera_format_known(format.pixelformat))
            return true;
    return false;
}

/* A webcam has a second device beside the one with the pictures; it shares its name, and
 * only its own capabilities tell them apart. */
static enum omo_camera_fault identify(int device, struct camera_identity *identity)
{
    struct v4l2_capability capability = {0};
    unsigned own;

    if (omo_camera_ask(device, VIDIOC_QUERYCAP, &capability) < 0)
        return errno == ENODEV ? OMO_CAMERA_NONE : OMO_CAMERA_UNUSABLE;
    own = (capability.capabilities & V4L2_CAP_DEVICE_CAPS) != 0 ? capability.device_caps
                                                                : capability.capabilities;
    if ((own & V4L2_CAP_VIDEO_CAPTURE) == 0 || (own & V4L2_CAP_STREAMING) == 0 ||
        !has_known_format(device))
        return OMO_CAMERA_UNUSABLE;
    snprintf(identity->name, sizeof identity->name, "%.*s", (int)sizeof capability.card,
             (const char *)capability.card);
    snprintf(identity->bus, sizeof identity->bus, "%.*s", (int)sizeof capability.bus_info,
             (const char *)capability.bus_info);
    return OMO_CAMERA_FINE;
}

int omo_camera_device_open(const char *path, struct camera_identity *identity,
                           enum omo_camera_fault *fault)
{
    int device = open(path, O_RDWR | O_NONBLOCK | O_CLOEXEC);
    enum omo_camera_fault found;

    if (device < 0) {
        *fault = fault_of_error(errno);
        return -1;
    }
    found = identify(device, identity);
    if (found != OMO_CAMERA_FINE) {
        close(device);
        *fault = found;
        return -1;
    }
    return device;
}

bool omo_camera_device_gone(int device)
{
    struct v4l2_capability capability = {0};

    return omo_camera_ask(device, VIDIOC_QUERYCAP, &capability) < 0;
}

/* To free no buffers is nothing done, but only who may stream is allowed it. */
bool omo_camera_device_busy(int device)
{
    struct v4l2_requestbuffers request = {.count = 0,
                                          .type = V4L2_BUF_TYPE_VIDEO_CAPTURE,
                                          .memory = V4L2_MEMORY_MMAP};

    return omo_camera_ask(device, VIDIOC_REQBUFS, &request) < 0 && errno == EBUSY;
}

/* ---- listing ---- */

static int telling(enum omo_camera_fault fault)
{
    switch (fault) {
    case OMO_CAMERA_BUSY:
        return 5;
    case OMO_CAMERA_DENIED:
        return 4;
    case OMO_CAMERA_STALLED:
        return 3;
    case OMO_CAMERA_UNUSABLE:
        return 2;
    case OMO_CAMERA_NONE:
    case OMO_CAMERA_UNPLUGGED:
    case OMO_CAMERA_RESIZED:
        return 1;
    case OMO_CAMERA_FINE:
        break;
    }
    return 0;
}

enum omo_camera_fault omo_camera_more_telling(enum omo_camera_fault a,
                                              enum omo_camera_fault b)
{
    return telling(b) > telling(a) ? b : a;
}

bool omo_camera_each(const char *folder,
                     bool (*each)(const struct camera_found *, void *), void *user,
                     enum omo_camera_fault *why)
{
    bool stop = false;

    *why = OMO_CAMERA_NONE;
    for (int number = 0; number < NUMBERS && !stop; number++) {
        struct camera_found found;
        enum omo_camera_fault fault = OMO_CAMERA_FINE;
        int length = snprintf(found.path, sizeof found.path, "%s/video%d",
                              folder != NULL ? folder : "/dev", number);
        int device;

        if (length < 0 || (size_t)length >= sizeof found.path)
            continue; /* such a path does not fit into an entry */
        device = omo_camera_device_open(found.path, &found.identity, &fault);
        if (device < 0) {
            *why = omo_camera_more_telling(*why, fault);
            continue;
        }
        close(device);
        stop = each(&found, user);
    }
    return stop;
}

struct listing {
    struct omo_camera_entry *entries;
    int count, most;
};

static bool list_one(const struct camera_found *found, void *user)
{
    struct listing *listing = user;
    struct omo_camera_entry *entry;

    if (listing->count >= listing->most)
        return true;
    entry = &listing->entries[listing->count++];
    memcpy(entry->path, found->path, sizeof entry->path);
    memcpy(entry->name, found->identity.name, sizeof entry->name);
    return false;
}

int omo_camera_list(const char *folder, struct omo_camera_entry *entries, int most)
{
    struct listing listing = {.entries = entries, .most = most};
    enum omo_camera_fault why;

    (void)omo_camera_each(folder, list_one, &listing, &why);
    return listing.count;
}

enum omo_camera_fault omo_camera_list_fault(const char *folder)
{
    struct omo_camera_entry first;
    struct listing listing = {.entries = &first, .most = 1};
    enum omo_camera_fault why;

    (void)omo_camera_each(folder, list_one, &listing, &why);
    return listing.count > 0 ? OMO_CAMERA_FINE : why;
}
