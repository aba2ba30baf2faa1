/**
 * A stick figure in space and a camera without perspective, for the tests of motion. It
 * knows vectors and joint angles only; how a picture is read is what is tested.
 */
#ifndef OMO_TESTS_BODY_MODEL_H
#define OMO_TESTS_BODY_MODEL_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/motion.h"

/** A take to be made. Lengths in mm. */
struct figure {
    const char *movement;
    enum omo_side side;
    enum omo_position position;
    bool from_behind, mirrored;
    bool hip, chest, wrist; /**< markers that are there */
    bool arm_at_side;       /**< rotations: upper arm along the trunk, not held out */
    double scale_px_per_mm; /**< 0: 0.4 */
    double hip_offset_deg;  /**< shoulder-hip line against the trunk */
    double
        chest_aside_mm; /**< front view: chest marker nearer the middle than the hip's */
    double rest_deg, top_deg;      /**< joint angle between which it moves */
    int repetitions;               /**< 0: 1 */
    double rest_s, move_s, hold_s; /**< 0: 2, 2, 1.5 */
    double lean_deg;               /**< at the top, growing with the angle */
    double hike_mm;                /**< likewise */
    double elbow_flexion_deg;
    double plane_deg; /**< elevation: turn of the arm's plane out of the picture's */
    double rate_hz;   /**< 0: 30 */
};

/** Joint angle at a time, and how far up the movement is (0..1). */
double figure_angle_deg(const struct figure *figure, double time_s);
double figure_share(const struct figure *figure, double time_s);
double figure_duration_s(const struct figure *figure);
size_t figure_frames(const struct figure *figure);

/** Markers of one instant. */
void figure_markers(const struct figure *figure, double time_s,
                    struct omo_markers *markers);
/** Fills `count` frames at the figure's rate. */
void figure_film(const struct figure *figure, struct omo_track_frame *frames,
                 size_t count);
/** The settings that go with it. */
void figure_settings(const struct figure *figure, const struct omo_movement_table *table,
                     struct omo_measure_settings *settings);

/** Repeatable noise, standard normal. */
double figure_noise(unsigned *state);

#endif
