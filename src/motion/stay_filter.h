/**
 * An arm's angle apart from what breath and tremor add: its level and its speed, frame by
 * frame. The breath is a slow wave of unknown rate, so every rate of a grid is followed
 * beside the others; so is every way an arm can move. What fits best counts most.
 */
#ifndef OMO_MOTION_STAY_FILTER_H
#define OMO_MOTION_STAY_FILTER_H

#include <stdbool.h>

enum omo_stay_way {
    OMO_WAY_LEVEL,  /**< stands */
    OMO_WAY_STEADY, /**< goes on as it did */
    OMO_WAY_GENTLE, /**< changes its speed as in a slow reach */
    OMO_WAY_BRISK,  /**< changes its speed as in a quick one */
    OMO_WAY_COUNT
};
#define OMO_STAY_STATE 4  /* level, speed, breath and its quadrature */
#define OMO_STAY_RATES 13 /* of breathing */

struct omo_stay_guess {
    double mean[OMO_STAY_STATE], spread[OMO_STAY_STATE][OMO_STAY_STATE];
    double weight; /**< among the ways of its rate */
};

struct omo_stay_filter {
    struct omo_stay_guess guess[OMO_STAY_RATES][OMO_WAY_COUNT];
    double rate_weight[OMO_STAY_RATES];
    bool any;
    double time_s; /**< of the last value taken in */

    /* Values that wait to be taken in together, and those that seem to be mistakes. */
    double sum_deg, sum_s;
    int waiting, strays;
};

/** What is thought now. */
struct omo_stay_thought {
    bool any;         /**< false: nothing was seen yet */
    double level_deg; /**< without breath */
    double speed_deg_per_s;
    double still; /**< how likely it is slower than asked, 0..1 */
};

void omo_stay_filter_init(struct omo_stay_filter *filter);
/** One angle; not finite: nothing. */
void omo_stay_filter_step(struct omo_stay_filter *filter, double time_s,
                          double angle_deg);
void omo_stay_filter_think(const struct omo_stay_filter *filter, double still_deg_per_s,
                           struct omo_stay_thought *thought);

#endif
