/** An invented body to draw on, shared by the tests of figures and of stills. Built from
 *  cosines here, not from the functions under test. */
#ifndef OMO_TESTS_DRAWN_BODY_H
#define OMO_TESTS_DRAWN_BODY_H

#include "omogon/draw.h"
#include "omogon/motion.h"

#define STATURE_PX 900.0

extern const struct omo_movement abduction, flexion, rotation, pendulum;

/** A standing body: `up` is its trunk. */
struct body {
    struct omo_measure_settings settings;
    struct omo_trace_row row;
    struct omo_result result;
    struct omo_point up, ahead; /**< ahead: to the middle of the body, or forward */
};

void put(struct body *b, enum omo_role role, double x, double y);
/** x_sign: picture direction in which the arm is raised. */
struct body body_at(const struct omo_movement *movement, double angle_deg, double x_sign,
                    double lean_deg);
void hide(struct body *b, enum omo_role role);
/** A point of the face of a body whose head and neck are `scale` times the usual, bent
 * back by tilt_deg at the neck, above a shoulder lifted by lift (all ratios to stature;
 * common proportions, from memory: face 0.05 wide to either side, 0.15 high). */
struct omo_point face_point(const struct body *b, double scale, double tilt_deg,
                            double lift, double around, double out);

#endif
