/** The camera of the simulation study: true perspective, radial distortion, rows that are
 *  read one after the other. */
#ifndef STUDY_CAMERA_H
#define STUDY_CAMERA_H

#include "omogon/geometry.h"

#include "study_body.h"

enum { STUDY_WIDTH = 1280, STUDY_HEIGHT = 720 };

struct study_camera {
    struct space at, look, x, y; /**< x to the picture's right, y down */
    double focal_px, centre_x_px, centre_y_px, radial, readout_s;
};

void study_camera_place(const struct study_person *person, struct study_camera *camera);
/** Where a point is seen, and how many pixels a metre there has. */
struct omo_point study_camera_see(const struct study_camera *camera, struct space point,
                                  double *px_per_m);
/** True when a marker there is wholly in the picture. */
bool study_camera_holds(struct omo_point place, double diameter_px);

#endif
