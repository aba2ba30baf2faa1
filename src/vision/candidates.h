/**
 * Patches that may be markers: sifted cheaply by size and form, measured only when
 * somebody asks, and judged as markers apart from where they lie.
 */
#ifndef OMO_VISION_CANDIDATES_H
#define OMO_VISION_CANDIDATES_H

#include "blobs.h"
#include "palette.h"
#include "spot.h"

#define OMO_CANDIDATES_MAX 64
/** A spot that costs more than this is no marker; in squared standard deviations. */
#define OMO_SPOT_COST_MAX 12.0

struct omo_candidate {
    int class_index;
    double x_px, y_px;        /**< upright */
    double coded_x, coded_y;  /**< as the planes lie */
    struct omo_outline guess; /**< from the patch, coded */
    double reach_px;          /**< longest half extent of the patch */
    double diameter_px;       /**< from the patch until measured */
    bool tried, good;         /**< measured; and it has an outline */
    struct omo_spot spot;
    double cost;   /**< as a marker, when good */
    int owner;     /**< role or entry that took it in this frame, or -1 */
    int bystander; /**< index of the thing it is known as, or -1 */
};

/** What a frame offers and what is needed to measure it. */
struct omo_view_of_frame {
    const struct omo_planes *planes;
    const struct omo_colour_map *map;
    struct omo_turned turned, back; /**< coded to upright, and the other way */
    double width, height;           /**< upright, px */
    double shutter;                 /**< likely exposure, share of that time */
    double step_s;                  /**< time since the frame before */
};
void omo_view_of_frame_init(struct omo_view_of_frame *view, const struct omo_frame *frame,
                            const struct omo_colour_map *map);

struct omo_candidates {
    int count;
    struct omo_candidate item[OMO_CANDIDATES_MAX];
};

/** What a patch may look like; sizes in px. `loose` lets anything but threads pass. */
struct omo_sieve {
    double smallest_px, largest_px;
    double largest_aspect, least_fill;
};
/** Adds what passes; a patch that is there already is not added again. */
void omo_candidates_sift(struct omo_candidates *candidates, const struct omo_blobs *blobs,
                         const struct omo_view_of_frame *view,
                         const struct omo_sieve *sieve);
/** Measures once; later calls answer from memory. True when good. */
bool omo_candidate_measure(struct omo_candidate *candidate,
                           const struct omo_view_of_frame *view, enum omo_shape shape);
/** How unlike a marker of this shape a spot is, in squared standard deviations. `smear`
 *  is the motion that may have blurred it, in diameters of the marker. */
double omo_spot_cost(const struct omo_spot *spot, enum omo_shape shape, double smear);

/** Nothing seems to cover a part of it: round enough, its rim complete. */
bool omo_spot_whole(const struct omo_spot *spot, enum omo_shape shape);

#endif
