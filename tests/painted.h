/** Painted chroma planes with area-sampled discs on neutral ground: truth by
 * construction, without the simulated camera. */
#ifndef OMO_TESTS_PAINTED_H
#define OMO_TESTS_PAINTED_H

#include "omogon/picture.h"

struct painted {
    struct omo_planes planes;
    uint8_t *cb, *cr;
    double *b, *r; /* before rounding, from 128 */
};

/** Neutral planes; scale 1 is 4:4:4, 2 is 4:2:0; offset_x 0 with scale 2 is MPEG's left
 *  siting. */
void painted_init(struct painted *p, int width, int height, int scale, double offset_x);
void painted_finish(struct painted *p);
void painted_clear(struct painted *p);
/** A disc of an sRGB colour, every sample by the share of its area that is covered. */
void painted_disc(struct painted *p, double x_px, double y_px, double diameter_px,
                  const double rgb[3]);
/** A band on a limb: half lengths along and across its long way, which is turned by
 *  turn_deg; light changes by `light` from its middle to an end. */
void painted_band(struct painted *p, double x_px, double y_px, const double half_px[2],
                  double turn_deg, double light, const double rgb[3]);
/** Rounds to the planes, with Gaussian noise of `noise` grey levels from a seed. */
void painted_develop(struct painted *p, double noise, uint64_t *seed);
/** Uniform in [0, 1). */
double painted_random(uint64_t *seed);

#endif
