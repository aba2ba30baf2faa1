/** The chroma samples round a marker, copied out for several looks. */
#ifndef OMO_VISION_WINDOW_H
#define OMO_VISION_WINDOW_H

#include <stdbool.h>

#include "omogon/picture.h"

/** Samples a window may hold; a large marker is read at every second, third ... one. */
#define OMO_WINDOW_MOST 1536

struct omo_window {
    int count;       /**< multiple of 4; the last ones may be padding of weight 0 */
    double unit_px2; /**< picture area of one sample */
    float x[OMO_WINDOW_MOST], y[OMO_WINDOW_MOST]; /**< px from the centre asked for */
    float b[OMO_WINDOW_MOST], r[OMO_WINDOW_MOST]; /**< raw chroma */
    float p[OMO_WINDOW_MOST]; /**< place between ground (0) and core (step) */
    float w[OMO_WINDOW_MOST]; /**< 1, or 0 for padding */
};

/** Reads all samples within `reach` px of (x, y). */
void omo_window_fill(struct omo_window *window, const struct omo_planes *planes, double x,
                     double y, double reach);

/** The line from ground to core in the chroma plane: place = u b + v r - zero. */
struct omo_axis {
    double u, v, zero, step;
};
/** Mean raw chroma of the samples between two radii, by their place on an axis (NULL:
 * all) between low and high; false when there is none. */
bool omo_window_mean(const struct omo_window *window, double inner, double outer,
                     const struct omo_axis *axis, double low, double high, double out[2]);
/** Fills p. */
void omo_window_project(struct omo_window *window, const struct omo_axis *axis);

struct omo_moments {
    double mass, x, y, xx, xy, yy;
};
/** Moments with weights that rise from 0 at 25 % of the step to 1 at 75 %, so that flat
 *  tops do not feel shading. False when hardly anything is there. */
bool omo_window_moments(const struct omo_window *window, double step,
                        struct omo_moments *m);

#endif
