/**
 * What a body's markers can look like in a picture: lengths as shares of stature, the
 * trunk's direction, what joints allow. Costs are squared standard deviations; bounds are
 * wide enough for real people, clothes and marker placement.
 */
#ifndef OMO_VISION_FIGURE_H
#define OMO_VISION_FIGURE_H

#include <stdbool.h>

#include "omogon/body.h"
#include "omogon/layout.h"
#include "omogon/vision.h"

/** From a shoulder's band no acromion's marker is farther than this, shares of stature:
 * 170 mm of someone 1.7 m tall, 110 mm down the arm and 60 mm up the trunk; our choice.
 */
#define OMO_ACROMION_FROM_BAND 0.10

/** How the person stands to the camera. */
struct omo_figure_frame {
    struct omo_layout layout;
    enum omo_view view;
    enum omo_position position;
    double forward_x; /**< +1 or -1: where on the picture the arm is expected to go */
    double size_mm[OMO_ROLE_COUNT]; /**< of the markers; NAN unknown */
    bool
        shoulder_band; /**< the shoulder's marker is a band: it goes round with the arm */
    bool either_hip; /**< the hip's marker may be on the other side of the trunk, which is
                          upright; front view */
};
void omo_figure_frame_init(struct omo_figure_frame *frame,
                           const struct omo_tracker_settings *settings,
                           const struct omo_layout *layout);

/** Markers of one supposed body, upright px. */
struct omo_figure {
    bool there[OMO_ROLE_COUNT];
    double x_px[OMO_ROLE_COUNT], y_px[OMO_ROLE_COUNT];
    double diameter_px[OMO_ROLE_COUNT];
};

/** Cost of the whole arrangement at its best stature; INFINITY when impossible.
 *  `stature_px` (may be NULL) gets that stature. */
double omo_figure_cost(const struct omo_figure_frame *frame,
                       const struct omo_figure *figure, double *stature_px);
/** Elevation of the upper arm against the figure's trunk (or the vertical), positive in
 *  the expected direction, [-180, 180); NAN without shoulder and elbow. */
double omo_figure_elevation_deg(const struct omo_figure_frame *frame,
                                const struct omo_figure *figure);

#endif
