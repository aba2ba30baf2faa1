#include "study_camera.h"
#include "study_rotation.h"

#define BORDER_PX 3.0
#define TABLE_M   1.25 /* mean height; beside a bench the camera stands at the arm's */

void study_camera_place(const struct study_person *p, struct study_camera *camera)
{
    const double *s = p->set_up;
    bool lying = study_is_rotation(p->of.movement);
    double azimuth_deg = p->azimuth_deg + p->camera_side * 90.0 + s[STUDY_TURN_DEG];
    struct space up = {0, 1, 0}, from = space_level(azimuth_deg);
    double height_m = s[STUDY_HEIGHT_M];
    if (lying) {
        up = (struct space){1, 0, 0};
        from = space_turned(study_rotation_arm(p), up, s[STUDY_TURN_DEG]);
        height_m -= TABLE_M;
    }
    struct space look = space_times(from, -1.0);
    struct space x = space_cross(look, up);
    look = space_turned(look, x, s[STUDY_PITCH_DEG]);
    struct space y = space_times(space_turned(up, x, s[STUDY_PITCH_DEG]), -1.0);
    *camera = (struct study_camera){
        .at = space_add(space_times(from, s[STUDY_DISTANCE_M]), up, height_m),
        .look = look,
        .x = space_turned(x, look, s[STUDY_ROLL_DEG]),
        .y = space_turned(y, look, s[STUDY_ROLL_DEG]),
        .focal_px = STUDY_WIDTH / 2.0 / tan(s[STUDY_FIELD_DEG] / 2.0 * RAD_PER_DEG),
        .centre_x_px = (STUDY_WIDTH - 1) / 2.0 + s[STUDY_CENTRE_X_PX],
        .centre_y_px = (STUDY_HEIGHT - 1) / 2.0 + s[STUDY_CENTRE_Y_PX],
        .radial = s[STUDY_RADIAL],
        .readout_s = s[STUDY_READOUT_S],
    };
}

struct omo_point study_camera_see(const struct study_camera *c, struct space point,
                                  double *px_per_m)
{
    struct space ray = space_add(point, c->at, -1.0);
    double depth_m = space_dot(ray, c->look);
    double x = space_dot(ray, c->x) / depth_m, y = space_dot(ray, c->y) / depth_m;
    double stretch = c->focal_px * (1.0 + c->radial * (x * x + y * y));
    *px_per_m = c->focal_px / depth_m;
    return (struct omo_point){c->centre_x_px + stretch * x, c->centre_y_px + stretch * y};
}

bool study_camera_holds(struct omo_point place, double diameter_px)
{
    double room_px = diameter_px / 2.0 + BORDER_PX;
    return place.x > room_px && place.x < STUDY_WIDTH - 1 - room_px &&
           place.y > room_px && place.y < STUDY_HEIGHT - 1 - room_px;
}
