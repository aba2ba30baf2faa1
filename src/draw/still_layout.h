/** Composes the figure of an annotated still. */
#ifndef OMO_DRAW_STILL_LAYOUT_H
#define OMO_DRAW_STILL_LAYOUT_H

#include "draw/head.h"
#include "omogon/draw.h"

struct omo_still_layout {
    struct omo_figure *figure; /**< the caller's to destroy */
    int width, height;         /**< of photograph and strip together, px */
    int photo_height;          /**< of the enlarged photograph */
    int factor;
};

/** width and height are the upright photograph's before enlargement. */
void omo_still_compose(const struct omo_still *still, int width, int height, int factor,
                       const struct omo_head_region *region, int region_count,
                       struct omo_still_layout *layout);

#endif
