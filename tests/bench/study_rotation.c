#include "study_rotation.h"

#include "study_course.h"

/* Shares of stature, Winter, from memory. */
#define UPPER_ARM 0.186
#define FOREARM   0.146
#define HAND      0.108

#define POINT_OF_ELBOW_MM 20.0 /* behind the joint, on the forearm's line; our choice */
#define WRIST_RADIUS_MM   25.0
#define ELBOW_STICKER_MM  5.0 /* nobody puts a band on the point of the elbow */
#define STICKER_M         0.030
#define M_PER_MM          1e-3
/* A bench holds the trunk: this much of what is done to get higher is left. Our choice.
 */
#define LEAN_LEFT 0.2

static const struct space forward = {1, 0, 0};

struct space study_rotation_arm(const struct study_person *p)
{
    double a = p->abduction_deg * RAD_PER_DEG;
    return (struct space){0, -cos(a), sin(a)};
}

/** The forearm's way round: straight ahead, and a quarter further. */
struct turn {
    struct space axis, ahead, out;
};

static struct turn turn_of(const struct study_person *p, struct space arm)
{
    struct turn t = {.axis = arm};
    t.ahead = space_unit(space_add(forward, arm, -space_dot(forward, arm)));
    /* External rotation takes the forearm out, or towards the head. */
    double sense = p->of.movement == STUDY_EXTERNAL ? 1.0 : -1.0;
    t.out = space_times(space_cross(t.ahead, arm), -sense);
    return t;
}

/** How the upper arm really lies: off the camera's line and off level, more so later. */
static struct space lying_arm(const struct study_person *p, double arm_deg)
{
    double off_deg = p->body[STUDY_PLANE_DEG] +
                     p->body[STUDY_PLANE_DRIFT_DEG] * study_grown(arm_deg, 1.0);
    struct space arm = space_turned(study_rotation_arm(p), forward, off_deg);
    struct space level = space_unit(space_cross(forward, arm));
    return space_turned(arm, level, p->body[STUDY_TOWEL_DEG]);
}

static double turned_deg(struct space forearm, const struct turn *t)
{
    return atan2(space_dot(forearm, t->out), space_dot(forearm, t->ahead)) / RAD_PER_DEG;
}

/** The same against a thorax that rolls the forearm's way by so much. */
static void write_truth(const struct study_person *p, double arm_deg, double rolled_deg,
                        struct study_pose *pose)
{
    pose->rest_deg = pose->line_deg = arm_deg - rolled_deg;
    pose->thorax_deg = pose->rest_deg - p->body[STUDY_UPRIGHT_DEG];
}

static void put_wrist(const struct study_person *p, double roll_deg, const struct turn *t,
                      struct space fore, struct study_pose *pose)
{
    const double *s = p->set_up;
    struct space across = space_cross(t->axis, fore);
    if (p->of.set == STUDY_BANDS) {
        pose->marker[OMO_WRIST] =
            space_add(pose->wrist, across, s[STUDY_WRIST_BAND_ACROSS_MM] * M_PER_MM);
        return;
    }
    double sigma_mm = p->of.set == STUDY_STICKERS5 ? 5.0 : 8.0;
    double round_deg = roll_deg + s[STUDY_WRIST_STICKER_ACROSS] * sigma_mm /
                                      WRIST_RADIUS_MM / RAD_PER_DEG;
    struct space out = space_turned(t->axis, fore, round_deg);
    pose->facing[OMO_WRIST] = out;
    pose->marker[OMO_WRIST] = space_add(pose->wrist, out, WRIST_RADIUS_MM * M_PER_MM);
    pose->marker[OMO_WRIST] =
        space_add(pose->marker[OMO_WRIST], fore,
                  s[STUDY_WRIST_STICKER_ALONG] * sigma_mm * M_PER_MM);
}

static void put_elbow(const struct study_person *p, const struct turn *t,
                      struct space fore, struct study_pose *pose)
{
    const double *s = p->set_up;
    double sigma_mm = p->of.set == STUDY_STICKERS8 ? 8.0 : ELBOW_STICKER_MM;
    double across_mm = s[STUDY_ELBOW_STICKER_ACROSS] * sigma_mm;
    double behind_mm = POINT_OF_ELBOW_MM + s[STUDY_ELBOW_STICKER_ALONG] * sigma_mm;
    struct space at = space_add(pose->elbow, fore, -behind_mm * M_PER_MM);
    pose->marker[OMO_ELBOW] =
        space_add(at, space_cross(t->axis, fore), across_mm * M_PER_MM);
    pose->facing[OMO_ELBOW] = t->axis;
}

void study_rotation_pose(const struct study_person *p, double time_s, double arm_deg,
                         struct study_pose *pose)
{
    (void)time_s; /* nobody sways lying down */
    const double *b = p->body;
    double stature_m = b[STUDY_STATURE_M], a = arm_deg * RAD_PER_DEG;
    double way = study_way(p, arm_deg);
    double bend = (90.0 + b[STUDY_BENT_DEG]) * RAD_PER_DEG;
    struct space arm = lying_arm(p, arm_deg);
    struct turn t = turn_of(p, arm);
    struct space fore = space_add(space_times(t.ahead, cos(a)), t.out, sin(a));
    /* Bent by less than a right angle the forearm points on along the upper arm. */
    fore = space_add(space_times(fore, sin(bend)), arm, cos(bend));
    *pose = (struct study_pose){0};
    pose->elbow = space_times(arm, UPPER_ARM * stature_m * b[STUDY_UPPER_ARM_SCALE]);
    pose->wrist =
        space_add(pose->elbow, fore, FOREARM * stature_m * b[STUDY_FOREARM_SCALE]);
    pose->fingertips = space_add(pose->wrist, fore, HAND * stature_m);
    put_elbow(p, &t, fore, pose);
    put_wrist(p, b[STUDY_FOREARM_ROLL_DEG] * way, &t, fore, pose);
    pose->along[OMO_WRIST] = fore;
    for (int i = 0; i < OMO_ROLE_COUNT; i++)
        pose->marker_m[i] = STICKER_M;
    write_truth(p, turned_deg(fore, &t), LEAN_LEFT * study_lean_deg(p, arm_deg), pose);
}
