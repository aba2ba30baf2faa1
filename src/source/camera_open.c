/* Finding a camera, opening it, finding it again, and leaving it as it was. */
#include "source/camera.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "omogon/words.h"
#include "source/camera_parts.h"

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

/* ---- opening and closing the device ---- */

/* Every descriptor has to go: the number of an unplugged device stays taken as long as
 * one is open, and the camera would come back under another. */
void omo_camera_stop(struct omo_camera *camera)
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
    if (omo_camera_device_gone(camera->device))
        return OMO_CAMERA_NONE;
    return omo_camera_device_busy(camera->device) ? OMO_CAMERA_BUSY : OMO_CAMERA_UNUSABLE;
}

static void note_got(struct omo_camera *camera, const char *path,
                     const struct omo_bridge_mode *mode)
{
    struct omo_camera_got *got = &camera->got;
    double rate = mode->frames_per_second;

    snprintf(got->path, sizeof got->path, "%s", path);
    snprintf(got->name, sizeof got->name, "%s", camera->identity.name);
    omo_camera_format_name(mode->fourcc, got->format);
    got->width = mode->width;
    got->height = mode->height;
    got->frames_per_second = isfinite(rate) && rate > 0 ? rate : (double)NAN;
}

void omo_camera_note_locks(struct omo_camera *camera)
{
    camera->got.exposure_locked = omo_camera_light_exposure_locked(&camera->light);
    camera->got.white_balance_locked = omo_camera_light_white_locked(&camera->light);
}

static void prepare_light(struct omo_camera *camera)
{
    if (!camera->wish.lock_light)
        return;
    if (camera->light.saved)
        omo_camera_light_repeat(&camera->light, camera->device);
    else
        omo_camera_light_save(&camera->light, camera->device);
    omo_camera_note_locks(camera);
}

/* Opens the device for questions, settles the mode the first time, and starts OpenCV. */
static enum omo_camera_fault start_at(struct omo_camera *camera, const char *path)
{
    struct omo_bridge_mode got;
    enum omo_camera_fault fault = OMO_CAMERA_FINE;

    if (camera->mode.fourcc == 0 &&
        !omo_camera_choose_mode(camera->device, &camera->wish, &camera->mode))
        return OMO_CAMERA_UNUSABLE;
    if (omo_camera_device_busy(camera->device))
        return OMO_CAMERA_BUSY;
    if (omo_bridge_camera_open(path, &camera->mode, &got, &camera->bridge) != OMO_OK)
        fault = why_not(camera);
    else if (!omo_camera_format_known(got.fourcc) || got.width < 2 || got.height < 2)
        fault = OMO_CAMERA_UNUSABLE;
    if (fault != OMO_CAMERA_FINE)
        return fault;
    omo_camera_layout_read(camera->device, &got, &camera->layout);
    if (camera->layout.padded)
        return OMO_CAMERA_UNUSABLE;
    camera->stream = omo_camera_stream_find(path, camera->device);
    note_got(camera, path, &got);
    prepare_light(camera);
    return OMO_CAMERA_FINE;
}

enum omo_camera_fault omo_camera_start(struct omo_camera *camera, const char *path,
                                       const struct camera_identity *wanted)
{
    struct omo_bridge_mode mode = camera->mode;
    struct camera_identity identity;
    enum omo_camera_fault fault = OMO_CAMERA_FINE;

    camera->device = omo_camera_device_open(path, &identity, &fault);
    if (camera->device < 0)
        return fault;
    if (wanted != NULL && strcmp(identity.name, wanted->name) != 0) {
        omo_camera_stop(camera);
        return OMO_CAMERA_NONE;
    }
    camera->identity = identity;
    fault = start_at(camera, path);
    if (fault != OMO_CAMERA_FINE) {
        omo_camera_stop(camera);
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
    omo_camera_light_restore(&camera->light, camera->device);
    omo_camera_stop(camera);
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
    fault = omo_camera_start(camera, found->path, search->wanted);
    if (fault == OMO_CAMERA_FINE && search->wanted == NULL && !gives_pictures(camera))
        fault = OMO_CAMERA_STALLED;
    search->why = omo_camera_more_telling(search->why, fault);
    return fault == OMO_CAMERA_FINE;
}

static enum omo_camera_fault search_for(struct search *search)
{
    enum omo_camera_fault why;

    if (omo_camera_each(NULL, try_one, search, &why))
        return OMO_CAMERA_FINE;
    return omo_camera_more_telling(why, search->why);
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
    found = wish->path[0] != '\0' ? omo_camera_start(camera, wish->path, NULL)
                                  : search_for(&search);
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
    omo_camera_stop(camera);
    found = omo_camera_start(camera, path, &wanted);
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
        omo_camera_light_restore(&camera->light, camera->device);
    omo_camera_stop(camera);
    free(camera);
}

void omo_camera_settle_again(struct omo_camera *camera)
{
    if (!camera->wish.lock_light || camera->device < 0)
        return;
    omo_camera_light_restore(&camera->light, camera->device);
    camera->light = (struct camera_light){0};
    prepare_light(camera);
}

const struct omo_camera_got *omo_camera_got(const struct omo_camera *camera)
{
    return &camera->got;
}
