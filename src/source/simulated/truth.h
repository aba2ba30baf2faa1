/** What is true of a frame: marker centres, coverage and angles. */
#ifndef OMOGON_SIMULATED_TRUTH_H
#define OMOGON_SIMULATED_TRUTH_H

#include "omogon/simulated.h"
#include "pose.h"
#include "raster.h"

struct omo_truth_maker {
    const struct omo_scene *scene;
    double zero_x, zero_y; /**< picture direction of a trunk hanging down, unturned */
    /** Of the measured arm and of the other one. */
    struct omo_truth_arm {
        double turn_sign;     /**< picture turn that counts positive */
        double rest_turn_deg; /**< trunk line through the markers against that, at rest */
        double rest_hike_mm;
    } arm[2];
};

void omo_truth_prepare(struct omo_truth_maker *maker, const struct omo_scene *scene);
/** masks: one a role and arm, as left by drawing the frame. */
void omo_truth_make(const struct omo_truth_maker *maker, const struct omo_mask *masks,
                    double time_s, struct omo_truth *truth);

#endif
