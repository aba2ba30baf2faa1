/**
 * The only door to OpenCV, and the only C++ behind it. No exception passes it and nothing
 * of OpenCV is printed; pictures come as the bytes the camera sent.
 */
#ifndef OMO_BRIDGE_BRIDGE_H
#define OMO_BRIDGE_BRIDGE_H

#include <stddef.h>
#include <stdint.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What a camera is asked for, and what it then says it gives. */
struct omo_bridge_mode {
    uint32_t fourcc; /**< as V4L2 spells it */
    int width, height;
    double frames_per_second; /**< 0 or less: not known */
};

struct omo_bridge_camera;
/**
 * Opens a V4L2 device; pictures flow from the first grab on. *got is what the driver made
 * of the wish. OMO_ERR_OPEN has no reason: ask the device. The first call of the process
 * settles how long a grab waits, about a second, through the environment.
 */
OMO_MUST_CHECK enum omo_status omo_bridge_camera_open(const char *path,
                                                      const struct omo_bridge_mode *wish,
                                                      struct omo_bridge_mode *got,
                                                      struct omo_bridge_camera **out);
void omo_bridge_camera_destroy(struct omo_bridge_camera *camera);

/** Waits for a picture, at most about a second. OMO_ERR_IO: none came. The very first
 *  picture of a stream is left out. */
OMO_MUST_CHECK enum omo_status omo_bridge_camera_grab(struct omo_bridge_camera *camera);
/** The driver's time stamp of the picture last grabbed, in microseconds of its clock. */
int64_t omo_bridge_camera_time_us(const struct omo_bridge_camera *camera);
/** The bytes of the picture last grabbed, lent until the next call; *size 0: it is empty.
 */
OMO_MUST_CHECK enum omo_status omo_bridge_camera_bytes(struct omo_bridge_camera *camera,
                                                       const uint8_t **bytes,
                                                       size_t *size);

#ifdef __cplusplus
}
#endif

#endif
