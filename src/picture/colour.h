/** Constants of the colour spaces, shared by the files of this folder. */
#ifndef OMO_PICTURE_COLOUR_H
#define OMO_PICTURE_COLOUR_H

#include "omogon/picture.h"

/** Weights of red and blue in luma; green has the rest. */
struct omo_luma_weights {
    double red, blue;
};

struct omo_luma_weights omo_luma_weights_of(enum omo_colour_space colour);

/** Gains from a chroma plane (centred on 128) and from luma to R'G'B' of 0..255. */
struct omo_ycbcr_to_rgb {
    double luma_gain, luma_zero;
    double red_from_cr, green_from_cb, green_from_cr, blue_from_cb;
};

struct omo_ycbcr_to_rgb omo_ycbcr_to_rgb_of(enum omo_colour_space colour,
                                            bool full_range);

#endif
