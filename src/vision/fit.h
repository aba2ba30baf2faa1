/**
 * A soft-edged form fitted to a window by least squares. What is fitted is the place p of
 * each sample between ground and core; the edge is a cubic step of finite width, cheap
 * and with an end.
 */
#ifndef OMO_VISION_FIT_H
#define OMO_VISION_FIT_H

#include "spot.h"
#include "window.h"

enum omo_form { OMO_FORM_ELLIPSE, OMO_FORM_BAR };

struct omo_model {
    enum omo_form form;
    double x, y, step, ground;
    double edge_px; /**< full width of the soft edge */
    /* ellipse: d^2 = a x^2 + 2 b x y + c y^2 against radius^2; light rises over a radius
     */
    double a, b, c, radius, shade_x, shade_y;
    /* bar: half lengths along its axes; light rises by shade_x over a half length, and by
     * bow (downward) from its middle to both ends; the ground beyond its ends differs by
     * ends - tilt at one and ends + tilt at the other */
    double cosine, sine, half_long, half_wide, ends, tilt, bow;
};

struct omo_fit_rules {
    bool strict;         /**< what does not fit at all is left out, not just doubted */
    double shade_sigma;  /**< likely gradient over a radius, share of the step; 0: none */
    double radius_px;    /**< known radius of an ellipse */
    double radius_sigma; /**< relative doubt about it; NAN: free */
};

/** Gauss-Newton from where the model is. *sigma_px gets the standard uncertainty of the
 *  centre. False when it runs away. */
bool omo_fit(const struct omo_window *window, const struct omo_fit_rules *rules,
             struct omo_model *model, double *sigma_px);
/** Fills cover, rim, outside, roughness, gross and misfit. */
void omo_fit_judge(const struct omo_window *window, const struct omo_model *model,
                   struct omo_spot *spot);

/** Least step between ground and core that can be a marker's, chroma units. */
#define OMO_SMALLEST_STEP 8.0

#endif
