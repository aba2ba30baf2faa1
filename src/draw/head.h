/** Where the head of the measured person must be, to cover it. */
#ifndef OMO_DRAW_HEAD_H
#define OMO_DRAW_HEAD_H

#include "omogon/geometry.h"
#include "omogon/layout.h"
#include "omogon/motion.h"

#define OMO_HEAD_POINTS  64
#define OMO_HEAD_REGIONS 2

/** A closed outline, upright picture coordinates. */
struct omo_head_region {
    struct omo_point outline[OMO_HEAD_POINTS];
};

/**
 * Regions that hold the head even if the body's proportions are 20 % off, the head is
 * bent and the shoulder lifted: one where it is known on which side of the marker the
 * head is, two where it may be either. Returns their number; 0: it cannot be told.
 */
int omo_head_regions(const struct omo_measure_settings *settings,
                     const struct omo_trace_row *row, const struct omo_result *result,
                     const struct omo_layout *layout,
                     struct omo_head_region region[OMO_HEAD_REGIONS]);

#endif
