/**
 * One marker measured to a fraction of a pixel on the chroma planes.
 *
 * A soft-edged ellipse on an even ground is fitted by least squares to the chroma
 * projected on the direction from ground to marker. Compared with a thresholded centroid
 * it leans on the low spatial frequencies that a JPEG keeps, bears shading, highlights
 * and a covered part, and yields its own uncertainty. A band is fitted as a soft-edged
 * bar, lit from one side as the limb under it is; its soft moments say which way it lies.
 */
#ifndef OMO_VISION_SPOT_H
#define OMO_VISION_SPOT_H

#include "colour.h"

/** An outline about its centre: d^2 = a x^2 + 2 b x y + c y^2 with a c - b^2 = 1, and the
 *  edge at d = radius, which is then the radius of the circle of equal area. */
struct omo_outline {
    double radius_px, a, b, c;
};
/** Short over long axis, 0..1. */
double omo_outline_axis_ratio(const struct omo_outline *outline);
/** Least ratio of the outline's extent to another's, over all directions. */
double omo_outline_least_ratio(const struct omo_outline *outline,
                               const struct omo_outline *other);
/** Longest half axis, px. */
double omo_outline_reach_px(const struct omo_outline *outline);

/** Where to look and what is known beforehand; coded picture px. */
struct omo_spot_start {
    enum omo_shape shape;
    double x_px, y_px;
    struct omo_outline outline; /**< a round guess does when nothing is known */
    bool outline_known;         /**< keep its form; false: take the form seen */
    double radius_sigma;        /**< relative doubt about its radius; NAN: free */
    bool smeared;               /**< drawn out by motion: faint ends are its own */
    double reach_px;            /**< longest half extent; 0: the outline's */
};

struct omo_spot {
    double x_px, y_px;
    double sigma_px;            /**< standard uncertainty of the centre, per axis */
    struct omo_outline outline; /**< as fitted */
    struct omo_outline seen;    /**< from the soft moments alone, before any fit */
    double width_px;            /**< disc: diameter of equal area; band: along the limb */
    double core[2], ground[2];  /**< BT.601 chroma of the middle and of what is around */
    double contrast;            /**< |core - ground| over |core| */
    double cover;               /**< share of the area that looks like the middle, 0..1 */
    double rim;       /**< the same of the area's outer part, where an occluder bites */
    double roughness; /**< rms residual over the contrast, gross ones left out */
    double uneven;    /**< the part of it in which neighbouring samples agree: no noise */
    double gross;     /**< share of samples that do not fit at all: highlight, bite */
    double misfit;    /**< like roughness, but gross residuals count little: for choosing
                           between places of a partly covered marker */
    double outside;   /**< share of the ring around it that looks like the middle */
};

/** False when nothing that could be a marker is there; *spot untouched then. */
bool omo_spot_measure(const struct omo_planes *planes, const struct omo_colour_map *map,
                      const struct omo_spot_start *start, struct omo_spot *spot);

#endif
