/**
 * OpenCV's calibration behind C functions, in a module of its own: it is loaded by who
 * calibrates, so that nothing else waits for it. No exception passes and nothing is
 * printed by it. Pixel (0, 0) is the middle of the first pixel.
 */
#ifndef OMO_BRIDGE_LENS_H
#define OMO_BRIDGE_LENS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** A chessboard by its inner corners, one row after the other. Its unit is a square. */
struct omo_bridge_board {
    int columns, rows; /**< at least 3 */
};
#define OMO_BRIDGE_CORNERS_MOST 600

/** fx, fy, cx, cy, k1, k2, p1, p2, k3 as in omogon/lens.h. */
#define OMO_BRIDGE_LENS_VALUES 9

struct omo_bridge_lens {
    double value[OMO_BRIDGE_LENS_VALUES];
    /** Of the values, the board's places in the views being unknown too. */
    double covariance[OMO_BRIDGE_LENS_VALUES][OMO_BRIDGE_LENS_VALUES];
    double deviation[OMO_BRIDGE_LENS_VALUES]; /**< as OpenCV itself gives it */
    double rms_px;
};

/** How a board stands. */
struct omo_bridge_pose {
    double rotation[9]; /**< rows one after the other; column 0 runs along the board's
                             rows, 1 along its columns, in the camera's axes */
    double
        turn_u_deg[3]; /**< standard uncertainty of a turn about the camera's x, y, z */
    double rms_px;
    double other_rotation[9]; /**< the other way a flat board may stand ... */
    double other_rms_px;      /**< ... and how well that fits; INFINITY: none */
};

struct omo_bridge_lens_ops {
    /** Looks for the whole board. corners: x and y of columns * rows places. */
    enum omo_status (*find)(const struct omo_bridge_board *board, const uint8_t *grey,
                            int width, int height, size_t stride, double *corners,
                            bool *found);
    /** From `views` times all corners. k3 is kept 0: ordinary lenses do not need it, and
     *  it bends where no corner was seen. OMO_ERR_FORMAT: no lens fits. */
    enum omo_status (*calibrate)(const struct omo_bridge_board *board,
                                 const double *corners, int views, int width, int height,
                                 struct omo_bridge_lens *lens);
    /** Of one view. OMO_ERR_FORMAT: none fits. */
    enum omo_status (*pose)(const struct omo_bridge_board *board, const double *corners,
                            const double *value, struct omo_bridge_pose *pose);
};

/** Loads the module, once; lent for good. OMO_ERR_OPEN with a sentence. */
OMO_MUST_CHECK enum omo_status omo_bridge_lens_load(
    const struct omo_bridge_lens_ops **ops);

/** What the module is asked for. */
#define OMO_BRIDGE_LENS_ENTRY "omo_bridge_lens_ops"

#ifdef __cplusplus
}
#endif

#endif
