#include <math.h>

#include "motion/swing.h"

/* A marker of this size where none is told: for what is too small to be a circle alone.
 */
#define USUAL_MM 32.0
/* Standard uncertainties of the camera's pitch, our choice: a level that was measured or
 * given, and a camera tilted until the hand is in the picture. */
#define PITCH_KNOWN_U_DEG  1.5
#define PITCH_BY_EYE_U_DEG 10.0

#define DEG_PER_RAD (180.0 / M_PI)

static double dot(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

static bool positive(double value)
{
    return isfinite(value) && value > 0.0;
}

static bool take_lens(const struct omo_pendulum_settings *s, struct omo_swing_eye *eye)
{
    if (s->picture_width <= 0 || s->picture_height <= 0)
        return false;
    if (s->lens != NULL) {
        eye->lens = *s->lens;
        return omo_lens_valid(&eye->lens) && eye->lens.width == s->picture_width &&
               eye->lens.height == s->picture_height;
    }
    omo_lens_default(s->picture_width, s->picture_height, &eye->lens);
    if (!isnan(s->focal_px)) {
        if (!positive(s->focal_px))
            return false;
        eye->lens.value[OMO_LENS_FX] = eye->lens.value[OMO_LENS_FY] = s->focal_px;
    }
    eye->lens.roll_deg = s->roll_deg;
    eye->lens.pitch_deg = s->pitch_deg;
    return !isinf(s->roll_deg) && !isinf(s->pitch_deg);
}

enum omo_status omo_swing_eye_init(const struct omo_pendulum_settings *settings,
                                   struct omo_swing_eye *eye)
{
    *eye = (struct omo_swing_eye){.band = settings->band, .mirrored = settings->mirrored};
    eye->size_known = !isnan(settings->wrist_mm);
    eye->size_mm = eye->size_known ? settings->wrist_mm : USUAL_MM;
    if (!positive(eye->size_mm) || !take_lens(settings, eye))
        return OMO_ERR_ARG;
    double roll_deg = eye->lens.roll_deg, pitch_deg = eye->lens.pitch_deg;
    eye->horizon_u_deg = isnan(pitch_deg) ? PITCH_BY_EYE_U_DEG : PITCH_KNOWN_U_DEG;
    omo_lens_down(isnan(roll_deg) ? 0.0 : roll_deg, isnan(pitch_deg) ? 0.0 : pitch_deg,
                  eye->down);
    /* What is level and as near as can be to the optical axis is ahead. */
    double length = hypot(eye->down[0], eye->down[1]);
    for (int i = 0; i < 3; i++)
        eye->ahead[i] = ((i == 2) - eye->down[2] * eye->down[i]) / length;
    for (int i = 0; i < 3; i++) {
        int j = (i + 1) % 3, k = (i + 2) % 3;
        eye->right[i] = eye->down[j] * eye->ahead[k] - eye->down[k] * eye->ahead[j];
    }
    return OMO_OK;
}

static bool look(const struct omo_swing_eye *eye, const struct omo_marker *marker,
                 double ray[3])
{
    if (marker->seen == OMO_NOT_SEEN)
        return false;
    struct omo_point p =
        omo_lens_undistort(&eye->lens, (struct omo_point){marker->x_px, marker->y_px});
    ray[0] = (p.x - eye->lens.value[OMO_LENS_CX]) / eye->lens.value[OMO_LENS_FX];
    ray[1] = (p.y - eye->lens.value[OMO_LENS_CY]) / eye->lens.value[OMO_LENS_FY];
    ray[2] = 1.0;
    return isfinite(ray[0]) && isfinite(ray[1]);
}

static double below(const struct omo_swing_eye *eye, const double ray[3])
{
    return atan2(dot(ray, eye->down), hypot(dot(ray, eye->right), dot(ray, eye->ahead)));
}

static double across(const struct omo_swing_eye *eye, const double ray[3])
{
    return atan2(dot(ray, eye->right), dot(ray, eye->ahead)) * cos(below(eye, ray));
}

/** Pixels a marker of one millimetre has at a distance of one millimetre, on a limb that
 *  hangs straight down; a disc looks to where the camera stands. */
static double size_at_one(const struct omo_swing_eye *eye, const double ray[3])
{
    double focal_px = eye->lens.value[OMO_LENS_FX], length = sqrt(dot(ray, ray));
    if (!eye->band)
        return focal_px * length *
               sqrt(hypot(dot(ray, eye->right), dot(ray, eye->ahead)));
    return focal_px * length *
           hypot(eye->down[0] - eye->down[2] * ray[0],
                 eye->down[1] - eye->down[2] * ray[1]);
}

static double angle_between(const double a[3], const double b[3])
{
    double c[3];
    for (int i = 0; i < 3; i++)
        c[i] = a[(i + 1) % 3] * b[(i + 2) % 3] - a[(i + 2) % 3] * b[(i + 1) % 3];
    return atan2(sqrt(dot(c, c)), dot(a, b));
}

bool omo_swing_see(const struct omo_swing_eye *eye, const struct omo_track_frame *frame,
                   struct omo_swing_sample *sample)
{
    const struct omo_marker *role = frame->markers.role;
    double wrist[3], elbow[3], shoulder[3], bend_deg;
    if (!look(eye, &role[OMO_WRIST], wrist) || !positive(role[OMO_WRIST].diameter_px))
        return false;
    bool has_elbow = look(eye, &role[OMO_ELBOW], elbow);
    bool has_shoulder = look(eye, &role[OMO_SHOULDER], shoulder);
    double side = eye->mirrored ? -1.0 : 1.0;
    *sample = (struct omo_swing_sample){
        .time_s = frame->time_s,
        .across = side * across(eye, wrist),
        .down = below(eye, wrist),
        .near = log(role[OMO_WRIST].diameter_px / size_at_one(eye, wrist)),
        .shoulder_across = has_shoulder ? side * across(eye, shoulder) : (double)NAN,
        .elbow_across = has_elbow ? side * across(eye, elbow) : (double)NAN,
        .arm = has_shoulder ? angle_between(shoulder, wrist) : (double)NAN,
        .bend_deg = NAN,
    };
    if (has_elbow && has_shoulder &&
        omo_angle_at_deg((struct omo_point){shoulder[0], shoulder[1]},
                         (struct omo_point){elbow[0], elbow[1]},
                         (struct omo_point){wrist[0], wrist[1]}, &bend_deg) == OMO_OK)
        sample->bend_deg = 180.0 - bend_deg;
    return true;
}
