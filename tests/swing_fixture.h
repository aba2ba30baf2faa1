/** A body that leans forward and lets an arm circle before a camera, as noisy markers,
 *  with what is true of it. It shares nothing with src/motion. */
#ifndef OMO_TESTS_SWING_FIXTURE_H
#define OMO_TESTS_SWING_FIXTURE_H

#include <stdbool.h>
#include <stdint.h>

#include "omogon/pendulum.h"

#define SWING_PARTS 6
#define SWING_HIDES 3

/** A stretch of the set: so many laps, or a stop. */
struct swing_part {
    double laps;    /* clockwise as seen from above, negative the other way; 0: a stop */
    double seconds; /* of one lap, or of the stop */
    double from_cm, to_cm; /* diameter, growing evenly */
};

struct swing_set {
    const char *name;
    struct swing_part part[SWING_PARTS];
    struct {
        double from_s, to_s; /* the wrist's marker, from the start of the first part */
    } hide[SWING_HIDES];

    /* the person */
    double shoulder_m, upper_m, forearm_m; /* height of the leaning shoulder; lengths */
    double yaw_deg;                        /* wrist's marker looks past the camera */
    double bend_deg;                       /* of the elbow */
    bool loose; /* the body swings the arm; else the arm moves by itself */
    bool band;
    double marker_mm;
    double ragged;           /* radius, speed and middle wander by this share */
    double aspect;           /* depth over width */
    double off_x_m, off_z_m; /* circle's middle from under the shoulder */
    double bob_mm;           /* of the shoulder, not in step */

    /* the camera */
    double camera_m, distance_m, aside_m; /* height; to the shoulder; to picture left */
    double pitch_deg, roll_deg;           /* as omo_lens has them */
    double focal_px, fps;
    bool level_told; /* the pendulum knows roll and pitch */
    bool mirrored, size_untold;
    double noise_px, size_noise; /* of a centre; of a diameter, a share */
    uint32_t seed;
};

/** A usual set: five laps clockwise, 30 cm, camera a little above. */
struct swing_set swing_set_usual(void);
/** One nobody chose. */
struct swing_set swing_set_random(uint32_t seed);

struct swing_truth {
    int clockwise, counter_clockwise;
    double diameter_cm;   /* mean of the whole set */
    double off_plane_deg; /* of the camera, from above positive */
    double seconds;
};

/** Runs the set through a pendulum. */
void swing_run(const struct swing_set *set, struct swing_truth *truth,
               struct omo_pendulum_view *last);
/** The same with a look at every frame. */
void swing_watch(const struct swing_set *set, struct swing_truth *truth,
                 struct omo_pendulum_view *last,
                 void (*look)(const struct omo_pendulum_view *view, void *user),
                 void *user);

#endif
