/**
 * A V4L2 camera through the OpenCV bridge. Not in libomogon: OpenCV is only linked into
 * the program.
 */
#ifndef OMO_SOURCE_CAMERA_H
#define OMO_SOURCE_CAMERA_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "omogon/picture.h"
#include "omogon/status.h"

/** One camera that could be opened: "/dev/video0" and what it calls itself. */
struct omo_camera_entry {
    char path[64];
    char name[64];
};
/** Capture devices, in order of their number. `folder` NULL: /dev. Count, at most `most`.
 */
int omo_camera_list(const char *folder, struct omo_camera_entry *entries, int most);

struct omo_camera_wish {
    char path[64];            /**< "" = the first that gives pictures */
    int width, height;        /**< 0 = the best of 1920x1080 and 1280x720 at 30 or more */
    double frames_per_second; /**< 0 = 30 or more */
    bool lock_light;          /**< exposure and white balance locked after settling */
};

/** What the camera really gives. */
struct omo_camera_got {
    char path[64], name[64];
    char format[8]; /**< "MJPG", "YUYV", "NV12" */
    int width, height;
    double frames_per_second; /**< as the driver says, NAN unknown */
    bool exposure_locked, white_balance_locked;
};

/** Why there is no picture. */
enum omo_camera_fault {
    OMO_CAMERA_FINE,
    OMO_CAMERA_NONE,      /**< no camera at all, or none with this name */
    OMO_CAMERA_DENIED,    /**< no permission */
    OMO_CAMERA_BUSY,      /**< another program has it */
    OMO_CAMERA_UNUSABLE,  /**< not a camera, or no format that can be read */
    OMO_CAMERA_UNPLUGGED, /**< it was there and is gone */
    OMO_CAMERA_STALLED,   /**< no picture for longer than a second */
    OMO_CAMERA_RESIZED,   /**< pictures of another size arrive */
};
/** One sentence with the remedy, English (a key of the translations); constant. */
const char *omo_camera_fault_text(enum omo_camera_fault fault);
/** Why the list is empty: NONE, or that there are cameras which may not be opened
 * (DENIED), are kept from it by another program (BUSY), or give nothing that can be read.
 */
enum omo_camera_fault omo_camera_list_fault(const char *folder);

/** One delivered picture's bytes; `bytes` belongs to the caller and is reused. */
struct omo_packet {
    uint8_t *bytes;
    size_t size, room;
    char format[8];
    int width, height;
    enum omo_colour_space colour; /**< of raw formats, as the driver says */
    bool full_range;
    int64_t index;        /**< counts delivered pictures, from 0, over reopenings too */
    double time_s;        /**< the driver's own stamp, CLOCK_MONOTONIC */
    int64_t delivered_ns; /**< omo_clock_ns() when it arrived here */
};
void omo_packet_finish(struct omo_packet *packet);

struct omo_camera;
/** Opens and starts. OMO_ERR_OPEN with *fault set; silent: the caller speaks, since live
 * it goes to the window too. */
OMO_MUST_CHECK enum omo_status omo_camera_open(const struct omo_camera_wish *wish,
                                               struct omo_camera **out,
                                               enum omo_camera_fault *fault);
/** Restores exposure and white balance as they were. NULL is fine. */
void omo_camera_destroy(struct omo_camera *camera);
const struct omo_camera_got *omo_camera_got(const struct omo_camera *camera);

/**
 * Waits for the next picture, at most about a second. OMO_OK; OMO_ERR_DAMAGED: a picture
 * came that is empty or broken off, go on; OMO_ERR_OPEN: *fault says why none comes.
 * After UNPLUGGED call omo_camera_reopen() now and then, after RESIZED once to go on with
 * the new size; after anything else just call again. A signal does not end the wait.
 */
OMO_MUST_CHECK enum omo_status omo_camera_next(struct omo_camera *camera,
                                               struct omo_packet *packet,
                                               enum omo_camera_fault *fault);
/** Tries the same camera again with the same format, wherever it is plugged in now.
 * OMO_OK when pictures can be expected; omo_camera_got() says what is different.
 */
OMO_MUST_CHECK enum omo_status omo_camera_reopen(struct omo_camera *camera,
                                                 enum omo_camera_fault *fault);

/** The light has changed: gives exposure and white balance back, lets them settle on the
 * pictures that come, and locks them anew. Nothing if they were not to be locked. */
void omo_camera_settle_again(struct omo_camera *camera);

/**
 * Packets to planes: MJPEG through the JPEG decoder (nothing is converted), YUYV and NV12
 * by taking their samples apart. Planes are lent until the next call. One thread at a
 * time. OMO_ERR_DAMAGED: no picture in it; *damaged: there is one, with broken data.
 */
struct omo_unpacker;
OMO_MUST_CHECK enum omo_status omo_unpacker_create(struct omo_unpacker **out);
void omo_unpacker_destroy(struct omo_unpacker *unpacker);
OMO_MUST_CHECK enum omo_status omo_unpack(struct omo_unpacker *unpacker,
                                          const struct omo_packet *packet, bool need_luma,
                                          struct omo_planes *planes, bool *damaged);

#endif
