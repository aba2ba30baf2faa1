/** What the camera's files share. Everything here talks to the device itself, beside
 *  OpenCV, through V4L2. */
#ifndef OMO_SOURCE_CAMERA_PARTS_H
#define OMO_SOURCE_CAMERA_PARTS_H

#include <stdbool.h>
#include <stdint.h>

#include "bridge/bridge.h"
#include "source/camera.h"

/** ioctl() that goes on after a signal. 0, or -1 with errno. */
int omo_camera_ask(int device, unsigned long request, void *argument);

/** Who answers at a device. */
struct camera_identity {
    char name[64]; /**< what it calls itself */
    char bus[64];  /**< where it is plugged in */
};
/**
 * Opens a capture device for questions. The file descriptor, or -1 with *fault: NONE,
 * DENIED, BUSY, or UNUSABLE when it is no camera or has no format that can be read.
 */
int omo_camera_device_open(const char *path, struct camera_identity *identity,
                           enum omo_camera_fault *fault);
/** The device is not there any more. */
bool omo_camera_device_gone(int device);
/** Another program streams from it. */
bool omo_camera_device_busy(int device);

/** One line of the list: a device and who it is. */
struct camera_found {
    char path[64];
    struct camera_identity identity;
};
/** Calls `each` for every camera in order of its number until it returns true, which is
 *  then the result. *why: the most telling fault of those that could not be asked. */
bool omo_camera_each(const char *folder,
                     bool (*each)(const struct camera_found *, void *), void *user,
                     enum omo_camera_fault *why);
/** Of two faults the one a person can do more about. */
enum omo_camera_fault omo_camera_more_telling(enum omo_camera_fault a,
                                              enum omo_camera_fault b);

/** How the samples of the pictures are meant, as the driver says. */
struct camera_layout {
    enum omo_colour_space colour;
    bool full_range;
    bool padded; /**< rows have bytes after their end, which OpenCV does not know */
};
void omo_camera_layout_read(int device, const struct omo_bridge_mode *mode,
                            struct camera_layout *layout);

/**
 * The file descriptor OpenCV streams through, or -1. OpenCV keeps quiet about how many
 * bytes a picture really has: of a picture that was cut short in transfer the rest would
 * be the picture before.
 */
int omo_camera_stream_find(const char *path, int not_this);
/** Bytes of the picture with this time stamp; -1 when they cannot be learnt. */
int64_t omo_camera_stream_used(int stream, int64_t time_us);

/** The best the device offers for the wish; false: no format that can be read. */
bool omo_camera_choose_mode(int device, const struct omo_camera_wish *wish,
                            struct omo_bridge_mode *mode);
/** A format this program can take apart. */
bool omo_camera_format_known(uint32_t fourcc);
void omo_camera_format_name(uint32_t fourcc, char name[8]);

/** Exposure and white balance: as they were, and as they were locked. */
#define CAMERA_LIGHT_PAIRS 3
struct camera_light {
    struct camera_light_pair {
        bool there;           /**< the driver has the switch */
        bool locked;          /**< it was set by us */
        int automatic, value; /**< before we touched them, the value while on manual */
        bool has_value;       /**< the value can be read */
        int locked_value;     /**< what it was locked at */
        int watched;          /**< value last seen while settling */
        int64_t unchanged_since_ns;
    } pair[CAMERA_LIGHT_PAIRS];
    bool priority_there;
    int priority; /**< before we touched it */
    int64_t began_ns, looked_ns;
    bool saved, done;
};
/** Notes how things are. Once a run: a camera that was replugged has forgotten. */
void omo_camera_light_save(struct camera_light *light, int device);
/** Watches the automatic values settle and locks them. True as soon as that is done. */
bool omo_camera_light_watch(struct camera_light *light, int device, int64_t now_ns);
/** Locks again at the values of before, after a replug. */
void omo_camera_light_repeat(struct camera_light *light, int device);
void omo_camera_light_restore(struct camera_light *light, int device);
bool omo_camera_light_exposure_locked(const struct camera_light *light);
bool omo_camera_light_white_locked(const struct camera_light *light);

/** Width and height a JPEG's header states; false: it is none, or ends before them. */
bool omo_camera_jpeg_size(const uint8_t *bytes, size_t size, int *width, int *height);

/* ---- the camera itself ---- */

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

/** Closes everything of the device; what was given is kept. */
void omo_camera_stop(struct omo_camera *camera);
/** Opens the device at the path, in the mode of before if there was one. `wanted` (or
 *  NULL) is who has to answer: a number may have gone to another camera. */
enum omo_camera_fault omo_camera_start(struct omo_camera *camera, const char *path,
                                       const struct camera_identity *wanted);
/** Puts into `got` what is held now. */
void omo_camera_note_locks(struct omo_camera *camera);

#endif
