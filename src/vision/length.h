/** Lengths without the care for overflow that hypot takes: pixels are never that large. */
#ifndef OMO_VISION_LENGTH_H
#define OMO_VISION_LENGTH_H

#include <math.h>

static inline double omo_length(double dx, double dy)
{
    return sqrt(dx * dx + dy * dy);
}

#endif
