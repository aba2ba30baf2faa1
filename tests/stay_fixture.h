/** Invented reaches: an arm that rises, stops, eases up and comes down, while it trembles
 *  and breathes. Written from what was asked for, not from how stops are found. */
#ifndef OMO_TESTS_STAY_FIXTURE_H
#define OMO_TESTS_STAY_FIXTURE_H

#include <stdbool.h>
#include <stdint.h>

#define REACH_LEGS  24
#define REACH_STOPS 6

/** A part of a reach. */
enum leg_kind {
    LEG_HOLD,
    LEG_RAMP,  /**< steady, then half a second of settling */
    LEG_SMOOTH /**< begins and ends at rest */
};
struct leg {
    enum leg_kind kind;
    double from_s, to_s, from_deg, to_deg;
};

struct reach {
    struct leg leg[REACH_LEGS];
    int legs;
    double end_s, end_deg; /**< so far */
    double stop_s[REACH_STOPS], stop_deg[REACH_STOPS];
    int stops;

    /* What lies over it. */
    double tremor_deg, tremor_hz, tremor_turn;
    double breath_deg, breath_hz, breath_turn;
    double noise_deg;
    double rate_hz, dropped; /**< frames a second, and the share that is lost */
    double gap_from_s, gap_to_s;
    uint64_t random;
};

/** Repeatable: uniform between two values, and standard normal. */
double reach_between(struct reach *reach, double low, double high);
double reach_normal(struct reach *reach);

/** An empty one at rest, with random tremor (0.5 degrees, 5 to 12 Hz), breath
 *  (`breath_deg` to either side, 0.1 to 0.3 Hz), rate (15 to 60), loss, noise of 0.3. */
void reach_begin(struct reach *reach, uint64_t seed, double breath_deg);
void reach_hold(struct reach *reach, double seconds);
void reach_ramp(struct reach *reach, double to_deg, double deg_per_s);
void reach_smooth(struct reach *reach, double to_deg, double seconds);
/** The arm has come to a stop. */
void reach_stop(struct reach *reach);
/** The whole of it: rest, a raise at this speed, up to three stops 2 to 10 degrees apart,
 *  down; with a gap somewhere. */
void reach_whole(struct reach *reach, uint64_t seed, double breath_deg, double deg_per_s);

double reach_true_deg(const struct reach *reach, double time_s);
/** The next frame after `*time_s` (start below 0) and its angle, NAN in the gap; false at
 *  the end. */
bool reach_frame(struct reach *reach, double *time_s, double *angle_deg);

#endif
