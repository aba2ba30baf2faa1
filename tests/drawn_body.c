#include "drawn_body.h"

#include <glib.h>
#include <math.h>

#include "draw/directions.h"

const struct omo_movement abduction = {.name = "abduction",
                                       .geometry = OMO_GEOMETRY_ELEVATION,
                                       .view = OMO_VIEW_FRONT,
                                       .sign = 1,
                                       .wrap_low_deg = -90};
const struct omo_movement flexion = {.name = "flexion",
                                     .geometry = OMO_GEOMETRY_ELEVATION,
                                     .view = OMO_VIEW_SIDE,
                                     .sign = -1,
                                     .wrap_low_deg = -90};
const struct omo_movement rotation = {.name = "external-rotation",
                                      .geometry = OMO_GEOMETRY_ROTATION,
                                      .view = OMO_VIEW_ALONG_ARM,
                                      .sign = -1,
                                      .wrap_low_deg = -180};
const struct omo_movement pendulum = {.name = "pendulum",
                                      .geometry = OMO_GEOMETRY_PENDULUM,
                                      .view = OMO_VIEW_SIDE,
                                      .sign = -1,
                                      .wrap_low_deg = -180};

void put(struct body *b, enum omo_role role, double x, double y)
{
    b->row.markers.role[role] = (struct omo_marker){
        .seen = OMO_SEEN, .x_px = x, .y_px = y, .diameter_px = 16, .sigma_px = 0.1};
}

struct body body_at(const struct omo_movement *movement, double angle_deg, double x_sign,
                    double lean_deg)
{
    struct body b = {.settings = {.movement = movement,
                                  .side = OMO_RIGHT,
                                  .position = OMO_STANDING,
                                  .cutoff_hz = 6},
                     .result = {.max_deg = angle_deg, .max_u95_deg = 5.2},
                     .row = {.frame = 7,
                             .angle_deg = angle_deg,
                             .angle_image_deg = angle_deg,
                             .reference = OMO_REFERENCE_HIP}};
    for (int i = 0; i < OMO_ROLE_COUNT; i++)
        b.row.markers.role[i] = (struct omo_marker){OMO_NOT_SEEN, NAN, NAN, NAN, NAN};
    double lean = lean_deg * G_PI / 180, turn = angle_deg * G_PI / 180 + lean;
    double x = 600, y = 320, arm = 0.186 * STATURE_PX, trunk = 0.288 * STATURE_PX;
    b.up = (struct omo_point){-x_sign * sin(lean), -cos(lean)};
    b.ahead = (struct omo_point){-x_sign * cos(lean), sin(lean)};
    double ex = x + x_sign * arm * sin(turn), ey = y + arm * cos(turn);
    put(&b, OMO_SHOULDER, x, y);
    put(&b, OMO_ELBOW, ex, ey);
    put(&b, OMO_WRIST, ex + x_sign * 0.146 * STATURE_PX * sin(turn),
        ey + 0.146 * STATURE_PX * cos(turn));
    put(&b, OMO_HIP, x - trunk * b.up.x, y - trunk * b.up.y);
    return b;
}

void hide(struct body *b, enum omo_role role)
{
    b->row.markers.role[role] = (struct omo_marker){OMO_NOT_SEEN, NAN, NAN, NAN, NAN};
}

struct omo_point face_point(const struct body *b, double scale, double tilt_deg,
                            double lift, double around, double out)
{
    bool front = b->settings.movement->view == OMO_VIEW_FRONT;
    double middle = front ? 0.129 * scale : 0, half = front ? 0.05 : 0.06;
    double forward = front ? 0 : 0.03;
    // From the base of the neck.
    struct omo_point p = {(forward + half * out * cos(around)) * scale,
                          (0.095 + 0.075 * out * sin(around)) * scale};
    p = omo_turned_point(p, tilt_deg);
    double across = (middle + p.x) * STATURE_PX, up = (0.03 - lift + p.y) * STATURE_PX;
    const struct omo_marker *s = &b->row.markers.role[OMO_SHOULDER];
    return (struct omo_point){s->x_px + across * b->ahead.x + up * b->up.x,
                              s->y_px + across * b->ahead.y + up * b->up.y};
}
