/** The circles of a pendulum in a clip: counted, and said. */
#ifndef OMO_APP_CIRCLES_H
#define OMO_APP_CIRCLES_H

#include <stddef.h>

#include "omogon/motion.h"
#include "omogon/pendulum.h"
#include "omogon/vision.h"

/** Counts the circles of a stretch. `set` says how large the wrist's marker is. False
 * when memory runs out. */
bool omo_circles_count(const struct omo_measure_settings *measure,
                       const struct omo_marker_set *set,
                       const struct omo_track_frame *frames, size_t count,
                       struct omo_pendulum_view *circles);
/** A sentence for the row's note. */
void omo_circles_text(const struct omo_pendulum_view *circles, char *text, size_t size);

#endif
