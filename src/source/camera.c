#include "source/camera.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "omogon/clock.h"
#include "source/camera_parts.h"

/* A grab waits a second for its picture; one that fails sooner did not wait. */
#define WAITED_US INT64_C(800000)
/* A stream that does not come back by itself within three waits is started anew. */
#define STALLS_BEFORE_RESTART 3
/* One picture of another size is damage; this many alike are a change. */
#define ALIKE_FOR_A_CHANGE 3
/* Nearer than this to the monotonic clock a driver's stamp is one of it. */
#define STAMP_NEAR_US INT64_C(2000000)

/* The driver stamps with the system's own clock, whatever ours is at the moment. */
static int64_t monotonic_us(void)
{
    struct timespec now;

    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec * INT64_C(1000000) + now.tv_nsec / 1000;
}

static void wait_a_moment(void)
{
    const struct timespec moment = {.tv_nsec = 100000000};

    (void)nanosleep(&moment, NULL);
}

/* ---- no picture ---- */

static enum omo_camera_fault unplugged(struct omo_camera *camera)
{
    omo_camera_stop(camera);
    camera->unplugged = true;
    return OMO_CAMERA_UNPLUGGED;
}

/* The same device once more, as it was. */
static enum omo_camera_fault restart(struct omo_camera *camera)
{
    const struct camera_identity wanted = camera->identity;
    char path[sizeof camera->got.path];
    enum omo_camera_fault fault;

    memcpy(path, camera->got.path, sizeof path);
    omo_camera_stop(camera);
    fault = omo_camera_start(camera, path, &wanted);
    return fault == OMO_CAMERA_NONE ? unplugged(camera) : fault;
}

static enum omo_camera_fault why_none(struct omo_camera *camera, bool waited)
{
    enum omo_camera_fault fault;

    if (omo_camera_device_gone(camera->device))
        return unplugged(camera);
    camera->stalls++;
    if (waited && camera->stalls % STALLS_BEFORE_RESTART != 0)
        return OMO_CAMERA_STALLED;
    /* OpenCV does not get out of a stream that could not be started, nor a camera always
     * out of one that it has stopped. */
    if (!waited)
        wait_a_moment();
    fault = restart(camera);
    return fault == OMO_CAMERA_FINE ? OMO_CAMERA_STALLED : fault;
}

/* A signal ends OpenCV's wait early, so one early end is tried again. */
static bool grab(struct omo_camera *camera, bool *waited)
{
    for (int attempt = 0; attempt < 2; attempt++) {
        int64_t began_us = monotonic_us();

        if (omo_bridge_camera_grab(camera->bridge) == OMO_OK)
            return true;
        *waited = monotonic_us() - began_us >= WAITED_US;
        if (*waited || omo_camera_device_gone(camera->device))
            return false;
    }
    return false;
}

/* ---- a picture ---- */

/* Some drivers stamp with another clock, or not at all, and a stamp may jump; then the
 * time of arrival stands in. Time goes forward in any case. */
static int64_t time_of(struct omo_camera *camera, int64_t stamp_us)
{
    int64_t now_us = monotonic_us();

    if (camera->stamps == STAMPS_NEW)
        camera->stamps =
            llabs(now_us - stamp_us) <= STAMP_NEAR_US ? STAMPS_GOOD : STAMPS_USELESS;
    if (camera->stamps == STAMPS_USELESS)
        stamp_us = now_us;
    if (stamp_us <= camera->last_us)
        stamp_us = now_us > camera->last_us ? now_us : camera->last_us + 1;
    camera->last_us = stamp_us;
    return stamp_us;
}

static bool is_jpeg(const struct omo_camera *camera)
{
    return strcmp(camera->got.format, "MJPG") == 0;
}

static size_t raw_size(const struct omo_camera *camera)
{
    size_t area = (size_t)camera->got.width * (size_t)camera->got.height;

    return strcmp(camera->got.format, "YUYV") == 0 ? area * 2 : area / 2 * 3;
}

/* The picture's size, or none if it is broken off. `used`: bytes that came, -1 unknown.
 */
static bool size_of(const struct omo_camera *camera, const uint8_t *bytes, size_t size,
                    int64_t used, int *width, int *height)
{
    if (size == 0)
        return false;
    if (is_jpeg(camera))
        return omo_camera_jpeg_size(bytes, size, width, height);
    *width = camera->got.width;
    *height = camera->got.height;
    return size >= raw_size(camera) && (used < 0 || (size_t)used >= raw_size(camera));
}

/* The first picture settles the size. */
static enum omo_camera_fault compare_size(struct omo_camera *camera, int width,
                                          int height)
{
    if (camera->width == 0) {
        camera->width = camera->got.width = width;
        camera->height = camera->got.height = height;
    }
    if (width == camera->width && height == camera->height) {
        camera->other_count = 0;
        return OMO_CAMERA_FINE;
    }
    if (width != camera->other_width || height != camera->other_height)
        camera->other_count = 0;
    camera->other_width = width;
    camera->other_height = height;
    camera->other_count++;
    return OMO_CAMERA_RESIZED;
}

static enum omo_status fill(struct omo_camera *camera, struct omo_packet *packet,
                            const uint8_t *bytes, size_t size, int64_t stamp_us)
{
    if (size > packet->room) {
        size_t room = size + size / 4; /* the next may be a little larger */
        uint8_t *bigger = malloc(room);

        if (bigger == NULL)
            return OMO_ERR_MEMORY;
        free(packet->bytes);
        packet->bytes = bigger;
        packet->room = room;
    }
    memcpy(packet->bytes, bytes, size);
    packet->size = size;
    memcpy(packet->format, camera->got.format, sizeof packet->format);
    packet->width = camera->width;
    packet->height = camera->height;
    packet->colour = camera->layout.colour;
    packet->full_range = camera->layout.full_range;
    packet->index = camera->index++;
    packet->time_s = (double)time_of(camera, stamp_us) / 1e6;
    packet->delivered_ns = omo_clock_ns();
    return OMO_OK;
}

static enum omo_status take(struct omo_camera *camera, struct omo_packet *packet,
                            enum omo_camera_fault *fault)
{
    int64_t stamp_us = omo_bridge_camera_time_us(camera->bridge);
    /* OpenCV gives the buffer back to the driver as it hands out the bytes. */
    int64_t used =
        is_jpeg(camera) ? -1 : omo_camera_stream_used(camera->stream, stamp_us);
    const uint8_t *bytes;
    size_t size;
    int width, height;
    enum omo_status status = omo_bridge_camera_bytes(camera->bridge, &bytes, &size);

    if (status == OMO_ERR_MEMORY)
        return status;
    if (status != OMO_OK || !size_of(camera, bytes, size, used, &width, &height))
        return OMO_ERR_DAMAGED;
    if (compare_size(camera, width, height) != OMO_CAMERA_FINE) {
        if (camera->other_count < ALIKE_FOR_A_CHANGE)
            return OMO_ERR_DAMAGED;
        *fault = OMO_CAMERA_RESIZED;
        return OMO_ERR_OPEN;
    }
    return fill(camera, packet, bytes, size, stamp_us);
}

enum omo_status omo_camera_next(struct omo_camera *camera, struct omo_packet *packet,
                                enum omo_camera_fault *fault)
{
    bool waited = false;
    enum omo_status status;

    *fault = OMO_CAMERA_FINE;
    if (camera->bridge == NULL && !camera->unplugged) {
        wait_a_moment();
        *fault = restart(camera);
    }
    if (camera->bridge == NULL) {
        *fault = camera->unplugged ? OMO_CAMERA_UNPLUGGED : *fault;
        return OMO_ERR_OPEN;
    }
    if (!camera->pending && !grab(camera, &waited)) {
        *fault = why_none(camera, waited);
        return OMO_ERR_OPEN;
    }
    camera->pending = false;
    camera->stalls = 0;
    status = take(camera, packet, fault);
    if (camera->wish.lock_light &&
        omo_camera_light_watch(&camera->light, camera->device, omo_clock_ns()))
        omo_camera_note_locks(camera);
    return status;
}
