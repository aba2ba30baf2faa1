#include "source/camera.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <linux/videodev2.h>

#include "omogon/clock.h"
#include "omogon/words.h"
#include "source/camera_parts.h"

/* A grab waits a second for its picture; one that fails sooner did not wait. */
#define WAITED_US INT64_C(800000)
/* A stream that does not come back by itself within three waits is started anew. */
#define STALLS_BEFORE_RESTART 3
/* One picture of another size is damage; this many alike are a change. */
#define ALIKE_FOR_A_CHANGE 3
/* Nearer than this to the monotonic clock a driver's stamp is one of it. */
#define STAMP_NEAR_US INT64_C(2000000)

struct omo_camera {
    struct omo_camera_wish wish;
    struct omo_camera_got got;
    struct omo_bridge_mode mode; /* as it was asked for the first time */
    struct camera_identity identity;
    struct camera_light light;
    struct camera_layout layout;

    /* Of the device as it is open now. */
    struct omo_bridge_camera *bridge; /* NULL: not open */
    int device;                       /* for questions beside OpenCV, or -1 */
    int stream;                       /* OpenCV's own, lent, or -1 */
    bool pending;                     /* a picture is grabbed already */
    bool unplugged;
    int stalls;
    int width, height; /* of the pictures; 0 before the first */
    int other_width, other_height, other_count;
    enum { STAMPS_NEW, STAMPS_GOOD, STAMPS_USELESS } stamps;

    int64_t index;   /* of the next picture delivered */
    int64_t last_us; /* its predecessor's time */
};

const char *omo_camera_fault_text(enum omo_camera_fault fault)
{
    switch (fault) {
    case OMO_CAMERA_FINE:
        return "";
    case OMO_CAMERA_NONE:
        return OMO_WORD("No camera was found. Plug it in, or choose another one.");
    case OMO_CAMERA_DENIED:
        return OMO_WORD(
            "This account may not use the camera. Add it to the group \"video\" and "
            "log in again.");
    case OMO_CAMERA_BUSY:
        return OMO_WORD("Another program is using the camera. Close that program.");
    case OMO_CAMERA_UNUSABLE:
        return OMO_WORD(
            "This device gives no pictures that can be read. Choose another camera.");
    case OMO_CAMERA_UNPLUGGED:
        return OMO_WORD(
            "The camera was unplugged. Plug it in again; what was measured is kept.");
    case OMO_CAMERA_STALLED:
        return OMO_WORD(
            "The camera sends no pictures. Unplug it, then plug it in again.");
    case OMO_CAMERA_RESIZED:
        return OMO_WORD(
            "The camera sends pictures of another size now. Begin the movement again.");
    }
    return "";
}

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

/* ---- opening and closing the device ---- */

/* Every descriptor has to go: the number of an unplugged device stays taken as long as
 * one is open, and the camera would come back under another. */
static void stop(struct omo_camera *camera)
{
    omo_bridge_camera_destroy(camera->bridge);
    if (camera->device >= 0)
        close(camera->device);
    camera->bridge = NULL;
    camera->device = camera->stream = -1;
    camera->pending = false;
    camera->stalls = 0;
    camera->width = camera->height = 0;
    camera->other_count = 0;
    camera->stamps = STAMPS_NEW;
}

/* Why OpenCV could not open what is there. */
static enum omo_camera_fault why_not(const struct omo_camera *camera)
{
    if (camera_device_gone(camera->device))
        return OMO_CAMERA_NONE;
    return camera_device_busy(camera->device) ? OMO_CAMERA_BUSY : OMO_CAMERA_UNUSABLE;
}

static void note_got(struct omo_camera *camera, const char *path,
                     const struct omo_bridge_mode *mode)
{
    struct omo_camera_got *got = &camera->got;
    double rate = mode->frames_per_second;

    snprintf(got->path, sizeof got->path, "%s", path);
    snprintf(got->name, sizeof got->name, "%s", camera->identity.name);
    camera_format_name(mode->fourcc, got->format);
    got->width = mode->width;
    got->height = mode->height;
    got->frames_per_second = isfinite(rate) && rate > 0 ? rate : (double)NAN;
}

static void note_locks(struct omo_camera *camera)
{
    camera->got.exposure_locked = camera_light_exposure_locked(&camera->light);
    camera->got.white_balance_locked = camera_light_white_locked(&camera->light);
}

static void prepare_light(struct omo_camera *camera)
{
    if (!camera->wish.lock_light)
        return;
    if (camera->light.saved)
        camera_light_repeat(&camera->light, camera->device);
    else
        camera_light_save(&camera->light, camera->device);
    note_locks(camera);
}

/* Opens the device for questions, settles the mode the first time, and starts OpenCV. */
static enum omo_camera_fault start_at(struct omo_camera *camera, const char *path)
{
    struct omo_bridge_mode got;
    enum omo_camera_fault fault = OMO_CAMERA_FINE;

    if (camera->mode.fourcc == 0 &&
        !camera_choose_mode(camera->device, &camera->wish, &camera->mode))
        return OMO_CAMERA_UNUSABLE;
    if (camera_device_busy(camera->device))
        return OMO_CAMERA_BUSY;
    if (omo_bridge_camera_open(path, &camera->mode, &got, &camera->bridge) != OMO_OK)
        fault = why_not(camera);
    else if (!camera_format_known(got.fourcc) || got.width < 2 || got.height < 2)
        fault = OMO_CAMERA_UNUSABLE;
    if (fault != OMO_CAMERA_FINE)
        return fault;
    camera_layout_read(camera->device, &got, &camera->layout);
    if (camera->layout.padded)
        return OMO_CAMERA_UNUSABLE;
    camera->stream = camera_stream_find(path, camera->device);
    note_got(camera, path, &got);
    prepare_light(camera);
    return OMO_CAMERA_FINE;
}

/* `wanted` (or NULL) is who has to answer at the path: a number may have gone to another
 * camera. */
static enum omo_camera_fault start(struct omo_camera *camera, const char *path,
                                   const struct camera_identity *wanted)
{
    struct omo_bridge_mode mode = camera->mode;
    struct camera_identity identity;
    enum omo_camera_fault fault = OMO_CAMERA_FINE;

    camera->device = camera_device_open(path, &identity, &fault);
    if (camera->device < 0)
        return fault;
    if (wanted != NULL && strcmp(identity.name, wanted->name) != 0) {
        stop(camera);
        return OMO_CAMERA_NONE;
    }
    camera->identity = identity;
    fault = start_at(camera, path);
    if (fault != OMO_CAMERA_FINE) {
        stop(camera);
        camera->mode = mode;
    }
    return fault;
}

/* ---- finding one ---- */

struct search {
    struct omo_camera *camera;
    const struct camera_identity *wanted; /* NULL: any that gives pictures */
    bool same_bus;
    enum omo_camera_fault why;
};

/* A camera that gives none is left as it was, for the next one to be tried. */
static bool gives_pictures(struct omo_camera *camera)
{
    camera->pending = omo_bridge_camera_grab(camera->bridge) == OMO_OK;
    if (camera->pending)
        return true;
    camera_light_restore(&camera->light, camera->device);
    stop(camera);
    camera->mode = (struct omo_bridge_mode){0};
    camera->light = (struct camera_light){0};
    return false;
}

static bool try_one(const struct camera_found *found, void *user)
{
    struct search *search = user;
    struct omo_camera *camera = search->camera;
    enum omo_camera_fault fault;

    if (search->wanted != NULL &&
        (strcmp(found->identity.name, search->wanted->name) != 0 ||
         (search->same_bus && strcmp(found->identity.bus, search->wanted->bus) != 0)))
        return false;
    fault = start(camera, found->path, search->wanted);
    if (fault == OMO_CAMERA_FINE && search->wanted == NULL && !gives_pictures(camera))
        fault = OMO_CAMERA_STALLED;
    search->why = camera_more_telling(search->why, fault);
    return fault == OMO_CAMERA_FINE;
}

static enum omo_camera_fault search_for(struct search *search)
{
    enum omo_camera_fault why;

    if (camera_each(NULL, try_one, search, &why))
        return OMO_CAMERA_FINE;
    return camera_more_telling(why, search->why);
}

enum omo_status omo_camera_open(const struct omo_camera_wish *wish,
                                struct omo_camera **out, enum omo_camera_fault *fault)
{
    struct omo_camera *camera = calloc(1, sizeof *camera);
    struct search search = {.camera = camera, .why = OMO_CAMERA_NONE};
    enum omo_camera_fault found;

    if (camera == NULL)
        return OMO_ERR_MEMORY;
    camera->wish = *wish;
    camera->device = camera->stream = -1;
    camera->last_us = INT64_MIN;
    found = wish->path[0] != '\0' ? start(camera, wish->path, NULL) : search_for(&search);
    *fault = found;
    if (found != OMO_CAMERA_FINE) {
        free(camera);
        return OMO_ERR_OPEN;
    }
    *out = camera;
    return OMO_OK;
}

/* The place it had first, then any where the same camera answers: the same socket before
 * another one. */
enum omo_status omo_camera_reopen(struct omo_camera *camera, enum omo_camera_fault *fault)
{
    const struct camera_identity wanted = camera->identity;
    struct search search = {.camera = camera, .wanted = &wanted};
    enum omo_camera_fault found;
    char path[sizeof camera->got.path];

    memcpy(path, camera->got.path, sizeof path);
    stop(camera);
    found = start(camera, path, &wanted);
    for (int pass = 0; pass < 2 && found == OMO_CAMERA_NONE; pass++) {
        search.same_bus = pass == 0;
        found = search_for(&search);
    }
    camera->unplugged = found == OMO_CAMERA_NONE;
    *fault = found == OMO_CAMERA_NONE ? OMO_CAMERA_UNPLUGGED : found;
    return found == OMO_CAMERA_FINE ? OMO_OK : OMO_ERR_OPEN;
}

void omo_camera_destroy(struct omo_camera *camera)
{
    if (camera == NULL)
        return;
    /* The stream ends first: some drivers take no setting while it runs. */
    omo_bridge_camera_destroy(camera->bridge);
    camera->bridge = NULL;
    if (camera->device >= 0)
        camera_light_restore(&camera->light, camera->device);
    stop(camera);
    free(camera);
}

const struct omo_camera_got *omo_camera_got(const struct omo_camera *camera)
{
    return &camera->got;
}

/* ---- no picture ---- */

static enum omo_camera_fault unplugged(struct omo_camera *camera)
{
    stop(camera);
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
    stop(camera);
    fault = start(camera, path, &wanted);
    return fault == OMO_CAMERA_NONE ? unplugged(camera) : fault;
}

static enum omo_camera_fault why_none(struct omo_camera *camera, bool waited)
{
    enum omo_camera_fault fault;

    if (camera_device_gone(camera->device))
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
        if (*waited || camera_device_gone(camera->device))
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
        return camera_jpeg_size(bytes, size, width, height);
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
    int64_t used = is_jpeg(camera) ? -1 : camera_stream_used(camera->stream, stamp_us);
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
        camera_light_watch(&camera->light, camera->device, omo_clock_ns()))
        note_locks(camera);
    return status;
}
