/** A camera with a lens and a stand, seen from the other side: where it shows a point of
 * the room. Written apart from the library, after the formulas at the top of
 * omogon/lens.h. */
#ifndef OMO_TESTS_LENS_FIXTURE_H
#define OMO_TESTS_LENS_FIXTURE_H

#include "omogon/lens.h"

#ifdef __cplusplus
extern "C" {
#endif

/** A webcam of 1280x720 with some barrel distortion; level and readout not known. */
struct omo_lens webcam(void);
/** Pixel at which a point is shown: x right, y down along gravity, z ahead along the
 * floor, any unit; the camera at (0, 0, 0) has the lens's roll and pitch (NAN: 0). */
struct omo_point shown(const struct omo_lens *lens, double x, double y, double z);

#ifdef __cplusplus
}
#endif

#endif
