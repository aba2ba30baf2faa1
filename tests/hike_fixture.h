/** People whose shoulder rises while the arm does: naturally, and with a hitch. */
#ifndef OMO_TESTS_HIKE_FIXTURE_H
#define OMO_TESTS_HIKE_FIXTURE_H

#include "take_fixture.h"

/** How a shoulder and its marker go with the arm. Lengths in mm, upper arm 300. */
struct shoulder {
    double setting_deg, setting_width_deg; /**< natural rise and shoulder blade begin */
    double natural_mm;                     /**< at 150 degrees */
    double blade_share;                    /**< turn of the blade over the arm's */
    double marker_up_mm, marker_out_mm;    /**< from the joint, arm down */
    double slide_mm;                       /**< of the skin, growing with the arm */
    double onset_deg, hitch_mm, over_deg;  /**< hitch; over_deg 0: none */
    bool even; /**< the hitch rises evenly, else with a soft start and end */
};

/** A random one; `hitches` gives it a hitch between 35 and 15 degrees below the top. */
struct shoulder random_shoulder(unsigned *state, double top_deg, bool hitches);
/** The hitch alone at an angle, mm. */
double hitch_at(const struct shoulder *s, double angle_deg);
/** Films the figure with this shoulder, pixel noise of 0.15 px, in frames[]. The trunk is
 *  upright. A raise counts from 0; `raise` -1 lets all of them hitch. */
void film_shoulder(const struct figure *f, const struct shoulder *s, int raise,
                   unsigned *state);

#endif
