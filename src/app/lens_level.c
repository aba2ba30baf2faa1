#include "app/lens_level.h"

#include <math.h>
#include <string.h>

#include "omogon/log.h"

/* Seen from far, a flat board that leans towards the camera looks like one that leans
 * away. The two are told apart when one fits this much better, or hardly differ. Our
 * choice. */
#define CLEARLY_BETTER 2.0
#define HARDLY_DEG     1.0

#define DEG_PER_RAD (180.0 / M_PI)

/** Straight down in the camera's axes: of the board's two directions, both ways, the one
 *  that points most down the picture. */
static void down_of(const double rotation[9], double down[3])
{
    double most = -INFINITY;
    for (int column = 0; column < 2; column++)
        for (int sign = -1; sign <= 1; sign += 2) {
            if (sign * rotation[3 + column] <= most)
                continue;
            most = sign * rotation[3 + column];
            for (int i = 0; i < 3; i++)
                down[i] = sign * rotation[3 * i + column];
        }
}

static bool doubtful(const struct omo_bridge_pose *pose, double roll_deg,
                     double pitch_deg)
{
    double down[3], other_roll_deg, other_pitch_deg;
    if (!(pose->other_rms_px < CLEARLY_BETTER * pose->rms_px))
        return false;
    down_of(pose->other_rotation, down);
    omo_lens_level_from_down(down, &other_roll_deg, &other_pitch_deg);
    return fabs(other_roll_deg - roll_deg) > HARDLY_DEG ||
           fabs(other_pitch_deg - pitch_deg) > HARDLY_DEG;
}

void omo_lens_upright_add(struct omo_lens_upright *u, const double *corners)
{
    struct omo_bridge_pose pose;
    double down[3], roll_deg, pitch_deg;
    if (u->ops->pose(&u->board, corners, u->lens.value, &pose) != OMO_OK)
        return;
    down_of(pose.rotation, down);
    omo_lens_level_from_down(down, &roll_deg, &pitch_deg);
    if (doubtful(&pose, roll_deg, pitch_deg)) {
        u->doubtful++;
        return;
    }
    if (fabs(roll_deg) > OMO_LENS_TILT_MOST_DEG ||
        fabs(pitch_deg) > OMO_LENS_TILT_MOST_DEG) {
        u->lying++;
        return;
    }
    u->views++;
    u->roll_sum += roll_deg;
    u->pitch_sum += pitch_deg;
    u->roll_squares += roll_deg * roll_deg;
    u->pitch_squares += pitch_deg * pitch_deg;
    u->roll_u_squares += pose.turn_u_deg[2] * pose.turn_u_deg[2];
    u->pitch_u_squares += pose.turn_u_deg[0] * pose.turn_u_deg[0];
}

/** Of a mean: scatter of the views or what each says of itself, whichever is more. */
static double mean_variance(double sum, double squares, double u_squares, int views)
{
    double mean = sum / views;
    double scatter = views > 1 ? (squares - views * mean * mean) / (views - 1) : 0;
    return fmax(scatter, u_squares / views) / views;
}

/** Where the optical axis meets the picture turns the camera as a whole. */
static double axis_variance(const struct omo_lens *lens)
{
    double focal = lens->value[OMO_LENS_FY];
    return lens->covariance[OMO_LENS_CY][OMO_LENS_CY] / (focal * focal) * DEG_PER_RAD *
           DEG_PER_RAD;
}

enum omo_status omo_lens_upright_finish(const struct omo_lens_upright *u,
                                        struct omo_lens *lens)
{
    if (u->views == 0 && u->doubtful > 0) {
        omo_error("the board is too small in the picture to tell how it stands; bring it "
                  "nearer, until it fills half the picture");
        return OMO_ERR_EMPTY;
    }
    if (u->views == 0 && u->lying > 0) {
        omo_error("the board does not stand upright before the camera; set it on a level "
                  "table, its rows level and its face vertical");
        return OMO_ERR_EMPTY;
    }
    if (u->views == 0) {
        omo_error("no board that holds still was found; set the printed board upright on "
                  "a level table, whole in the picture, in good light");
        return OMO_ERR_EMPTY;
    }
    lens->roll_deg = u->roll_sum / u->views;
    lens->pitch_deg = u->pitch_sum / u->views;
    lens->roll_u_deg =
        sqrt(mean_variance(u->roll_sum, u->roll_squares, u->roll_u_squares, u->views) +
             OMO_LENS_ROWS_U_DEG * OMO_LENS_ROWS_U_DEG);
    lens->pitch_u_deg =
        sqrt(mean_variance(u->pitch_sum, u->pitch_squares, u->pitch_u_squares, u->views) +
             axis_variance(lens) + OMO_LENS_FACE_U_DEG * OMO_LENS_FACE_U_DEG);
    return OMO_OK;
}

enum omo_status omo_lens_hang(struct omo_lens *lens, struct omo_point top,
                              struct omo_point bottom, double point_u_px)
{
    double pitch_deg = isnan(lens->pitch_deg) ? 0 : lens->pitch_deg;
    double pitch_u_deg =
        isnan(lens->pitch_deg) ? OMO_LENS_PITCH_ASSUMED_U_DEG : lens->pitch_u_deg;
    double roll_deg = omo_lens_plumb_roll_deg(lens, top, bottom, pitch_deg);
    double length = omo_point_distance(top, bottom);
    if (!(fabs(roll_deg) <= OMO_LENS_TILT_MOST_DEG) || !(length > 0) ||
        !(top.y < bottom.y)) {
        omo_error("these two points are no plumb line, one below the other; give its "
                  "upper end, "
                  "then its lower end, as far apart as the picture allows");
        return OMO_ERR_ARG;
    }
    double more_deg = omo_lens_plumb_roll_deg(lens, top, bottom, pitch_deg + pitch_u_deg);
    double by_points = sqrt(2.0) * point_u_px / length * DEG_PER_RAD;
    lens->roll_deg = roll_deg;
    lens->roll_u_deg = sqrt(pow(more_deg - roll_deg, 2) + by_points * by_points +
                            OMO_LENS_STRING_U_DEG * OMO_LENS_STRING_U_DEG);
    return OMO_OK;
}
