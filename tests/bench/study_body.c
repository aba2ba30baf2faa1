#include "study_body.h"
#include "study_course.h"
#include "study_rotation.h"

/* Shares of stature, Winter, from memory. */
#define HIP_HEIGHT   0.530
#define TRUNK        0.288
#define UPPER_ARM    0.186
#define FOREARM      0.146
#define HAND         0.108
#define HALF_BREADTH 0.129
/* Where trunk markers go, as shares of stature from the spine, and of the trunk's length
 * from the hip; our choice, after the project's placement. */
#define HIP_SIDE_RIGHT    0.095
#define HIP_FRONT_RIGHT   0.070
#define HIP_FRONT_AHEAD   0.060
#define CHEST_SIDE_RIGHT  0.090
#define CHEST_SIDE_UP     0.66
#define CHEST_FRONT_AHEAD 0.060
#define CHEST_FRONT_UP    1.00
/* The trunk bends below the thorax. */
#define BEND_END   0.5
#define BEND_STEPS 8

#define ELBOW_RADIUS_MM 38.0 /* skin over the bone's axis; our choice */
#define WRIST_RADIUS_MM 25.0
#define STICKER_M       0.030
#define BAND_M          0.030
#define SWAY_HZ         0.25
#define SWAY_ACROSS_HZ  0.19
#define BREATH_HZ       0.25
#define M_PER_MM        1e-3

static const struct space up = {0, 1, 0};
static const struct space right = {0, 0, 1};
static const struct space forward = {1, 0, 0};

/** What one pose is made of, while it is made. */
struct making {
    const struct study_person *p;
    double time_s, arm_deg;
    struct space away;      /* from the arm, level */
    struct space lean_axis; /* turning about it leans that way */
    struct space ahead;     /* towards the camera, if the person stood square to it */
    double lean_deg, bend_deg, sway_deg, sway_across_deg;
    struct study_pose *pose;
};

static double wave(const struct making *m, double hz, enum study_set_up_value phase)
{
    return sin((360.0 * hz * m->time_s + m->p->set_up[phase]) * RAD_PER_DEG);
}

/** Leaned away from the arm. */
static struct space leaned(const struct making *m, struct space a, double deg)
{
    return space_turned(a, m->lean_axis, deg);
}

/** As the thorax has turned since rest. */
static struct space with_thorax(const struct making *m, struct space a)
{
    return leaned(m, a, m->lean_deg + m->bend_deg);
}

/** The trunk's own directions as it stands at rest: not quite upright. */
static struct space standing(const struct making *m, struct space a)
{
    const double *b = m->p->body;
    return leaned(m, space_turned(a, m->away, b[STUDY_UPRIGHT_ACROSS_DEG]),
                  b[STUDY_UPRIGHT_DEG]);
}

static struct space on_thorax(const struct making *m, struct space a)
{
    return with_thorax(m, standing(m, a));
}

/** The whole body sways about the ankles. */
static struct space swayed(const struct making *m, struct space a)
{
    return space_turned(leaned(m, a, m->sway_deg), m->away, m->sway_across_deg);
}

static struct space hip_centre(const struct study_person *p)
{
    return space_times(up, HIP_HEIGHT * p->body[STUDY_STATURE_M]);
}

/** Point of the spine at a share of the trunk's length from the hip. */
static struct space spine(const struct making *m, double share)
{
    const double *b = m->p->body;
    double trunk_m = TRUNK * b[STUDY_STATURE_M] * b[STUDY_TRUNK_SCALE];
    struct space at = hip_centre(m->p), axis = standing(m, up);
    double bent = fmin(share, BEND_END), step_m = trunk_m * bent / BEND_STEPS;
    for (int i = 0; i < BEND_STEPS; i++) {
        double part = (i + 0.5) / BEND_STEPS * bent / BEND_END;
        at = space_add(at, leaned(m, axis, m->lean_deg + part * m->bend_deg), step_m);
    }
    return space_add(at, with_thorax(m, axis), trunk_m * (share - bent));
}

static void make_hip(const struct making *m)
{
    const struct study_person *p = m->p;
    bool side = study_is_from_side(p->of.movement);
    double breadth_m = p->body[STUDY_STATURE_M] * p->body[STUDY_BREADTH_SCALE];
    double across_mm = p->set_up[STUDY_HIP_ACROSS_MM];
    struct space off = space_times(right, side ? HIP_SIDE_RIGHT * breadth_m
                                               : HIP_FRONT_RIGHT * breadth_m);
    if (!side)
        off = space_add(off, forward, HIP_FRONT_AHEAD * breadth_m);
    off = space_add(off, side ? forward : right, across_mm * M_PER_MM);
    off = space_add(off, up, p->set_up[STUDY_HIP_ALONG_MM] * M_PER_MM);
    m->pose->marker[OMO_HIP] = space_sum(hip_centre(p), standing(m, off));
    m->pose->facing[OMO_HIP] = standing(m, m->ahead);
    m->pose->hips = hip_centre(p);
}

static void make_chest(const struct making *m)
{
    const struct study_person *p = m->p;
    bool side = study_is_from_side(p->of.movement);
    double breadth_m = p->body[STUDY_STATURE_M] * p->body[STUDY_BREADTH_SCALE];
    double slide_mm = p->body[STUDY_CHEST_SLIDE_MM] * study_grown(m->arm_deg, 1.0);
    double towards = p->body[STUDY_CHEST_SLIDE_TOWARDS_DEG] * RAD_PER_DEG;
    double along_mm = p->set_up[STUDY_CHEST_ALONG_MM] + slide_mm * sin(towards);
    double across_mm = p->set_up[STUDY_CHEST_ACROSS_MM] + slide_mm * cos(towards);
    double breath_mm =
        p->body[STUDY_BREATH_MM] * wave(m, BREATH_HZ, STUDY_BREATH_PHASE_DEG);
    struct space off = side ? space_times(right, CHEST_SIDE_RIGHT * breadth_m)
                            : space_times(forward, CHEST_FRONT_AHEAD * breadth_m);
    off = space_add(off, side ? forward : right, across_mm * M_PER_MM);
    off = space_add(off, up, along_mm * M_PER_MM);
    off = space_add(off, forward, breath_mm * M_PER_MM);
    m->pose->marker[OMO_CHEST] =
        space_sum(spine(m, side ? CHEST_SIDE_UP : CHEST_FRONT_UP), on_thorax(m, off));
    m->pose->facing[OMO_CHEST] = on_thorax(m, m->ahead);
    m->pose->neck = spine(m, 1.0);
}

/** The girdle, the joint on it and the marker on the blade. */
static void make_shoulder(const struct making *m)
{
    const struct study_person *p = m->p;
    const double *b = p->body, *s = p->set_up;
    double late = study_grown(m->arm_deg, 1.0);
    double rise = study_rise_mm(p, m->arm_deg) + study_hike_mm(p, m->arm_deg) +
                  b[STUDY_BREATH_RISE_MM] * wave(m, BREATH_HZ, STUDY_BREATH_PHASE_DEG);
    struct space off = {study_protraction_mm(p, m->arm_deg) * M_PER_MM, rise * M_PER_MM,
                        HALF_BREADTH * b[STUDY_STATURE_M] * b[STUDY_BREADTH_SCALE]};
    struct space girdle = space_sum(spine(m, 1.0), on_thorax(m, off));
    struct space shift = {b[STUDY_SHIFT_FORWARD_MM], b[STUDY_SHIFT_UP_MM],
                          b[STUDY_SHIFT_RIGHT_MM]};
    m->pose->joint = space_add(girdle, on_thorax(m, shift), late * M_PER_MM);

    bool edge = p->of.placement == STUDY_EDGE;
    struct space toward = space_times(m->away, -1.0);
    struct space marker = space_times(up, s[edge ? STUDY_EDGE_UP_MM : STUDY_HEAD_UP_MM]);
    marker =
        space_add(marker, toward, s[edge ? STUDY_EDGE_ALONG_MM : STUDY_HEAD_ALONG_MM]);
    marker = space_add(marker, m->ahead, s[STUDY_SHOULDER_DEPTH_MM]);
    /* Upward rotation tips what is on top of the blade away from the arm. */
    marker = leaned(m, marker, study_blade_deg(p, m->arm_deg));
    double slide_mm =
        b[STUDY_SLIDE_MM] * study_grown(m->arm_deg, b[STUDY_SLIDE_EXPONENT]);
    double towards = b[STUDY_SLIDE_TOWARDS_DEG] * RAD_PER_DEG;
    marker = space_add(marker, up, slide_mm * sin(towards));
    marker = space_add(marker, toward, slide_mm * cos(towards));
    m->pose->marker[OMO_SHOULDER] = space_add(girdle, with_thorax(m, marker), M_PER_MM);
    m->pose->facing[OMO_SHOULDER] = with_thorax(m, m->ahead);
}

/** A limb's end with the directions about it: along the limb, towards the camera as the
 *  limb lay at rest, and across both. */
struct limb {
    struct space end, along, facing, across;
};

/** Its marker, round the limb's axis or on the skin. */
static void put_on_limb(const struct making *m, enum omo_role role, const struct limb *l,
                        enum study_set_up_value band, enum study_set_up_value sticker,
                        double radius_mm)
{
    const double *s = m->p->set_up;
    bool round = m->p->of.set == STUDY_BANDS;
    double sigma_mm = m->p->of.set == STUDY_STICKERS5 ? 5.0 : 8.0;
    double along_mm = round ? s[band] : s[sticker] * sigma_mm;
    struct space at = space_add(l->end, l->along, along_mm * M_PER_MM), out = l->facing;
    if (round) {
        at = space_add(at, l->across, s[band + 1] * M_PER_MM);
        at = space_add(at, l->facing, s[band + 2] * M_PER_MM);
    } else {
        double round_deg = s[sticker + 1] * sigma_mm / radius_mm / RAD_PER_DEG;
        out = space_turned(l->facing, l->along, round_deg);
        at = space_add(at, out, radius_mm * M_PER_MM);
    }
    m->pose->marker[role] = at;
    m->pose->facing[role] = out;
    m->pose->along[role] = l->along;
}

/** The arm's plane, as far as it has turned on the way. */
static struct limb upper_arm(const struct making *m)
{
    const struct study_person *p = m->p;
    double azimuth_deg = p->azimuth_deg + p->body[STUDY_PLANE_DEG] +
                         p->body[STUDY_PLANE_DRIFT_DEG] * study_grown(m->arm_deg, 1.0);
    double a = m->arm_deg * RAD_PER_DEG;
    struct space out = space_level(azimuth_deg);
    struct limb l = {
        .along = space_add(space_times(out, sin(a)), up, -cos(a)),
        .facing = space_level(azimuth_deg + p->camera_side * 90.0),
        .across = space_add(space_times(out, cos(a)), up, sin(a)),
    };
    l.along = with_thorax(m, l.along);
    l.facing = with_thorax(m, l.facing);
    l.across = with_thorax(m, l.across);
    return l;
}

static void roll(struct limb *l, double deg)
{
    l->facing = space_turned(l->facing, l->along, deg);
    l->across = space_turned(l->across, l->along, deg);
}

/** The forearm bends to the front of the arm and carries out to its outer side. */
static struct limb forearm(const struct making *m, const struct limb *arm)
{
    const struct study_person *p = m->p;
    /* Turn of the arm's front from facing the camera towards the way it rises: palm
     * forward, thumb up, palm to the body. */
    static const double front_deg[STUDY_MOVEMENTS] = {90, 0, 45, -90, 0, 0};
    double turn = front_deg[p->of.movement] * RAD_PER_DEG;
    struct space front =
        space_add(space_times(arm->facing, cos(turn)), arm->across, sin(turn));
    struct space outer =
        study_is_from_side(p->of.movement)
            ? arm->facing
            : space_add(space_times(arm->across, cos(turn)), arm->facing, -sin(turn));
    double bend = (p->body[STUDY_ELBOW_DEG] +
                   p->body[STUDY_ELBOW_CHANGE_DEG] * study_way(p, m->arm_deg));
    bend = fmax(bend, 0.0) * RAD_PER_DEG;
    double carry = p->body[STUDY_CARRYING_DEG] * RAD_PER_DEG;
    struct space ahead = space_add(space_times(arm->along, cos(bend)), front, sin(bend));
    struct limb l = {
        .along = space_add(space_times(ahead, cos(carry)), outer, sin(carry)),
    };
    struct space facing =
        space_add(arm->facing, l.along, -space_dot(arm->facing, l.along));
    l.facing = space_unit(facing);
    /* On the same side of the limb as the upper arm's. */
    l.across = space_cross(l.along, l.facing);
    if (space_dot(l.across, arm->across) < 0.0)
        l.across = space_times(l.across, -1.0);
    return l;
}

static void make_arm(const struct making *m)
{
    const struct study_person *p = m->p;
    const double *b = p->body;
    double stature_m = b[STUDY_STATURE_M];
    struct study_pose *pose = m->pose;
    struct limb arm = upper_arm(m);
    double part = pow(study_way(p, m->arm_deg), b[STUDY_ARM_ROLL_EXPONENT]);
    roll(&arm, b[STUDY_ARM_ROLL_DEG] * part);
    double arm_m = UPPER_ARM * stature_m * b[STUDY_UPPER_ARM_SCALE];
    double forearm_m = FOREARM * stature_m * b[STUDY_FOREARM_SCALE];
    arm.end = pose->elbow = space_add(pose->joint, arm.along, arm_m);
    struct limb fore = forearm(m, &arm);
    roll(&fore, b[STUDY_FOREARM_ROLL_DEG] * part);
    fore.end = pose->wrist = space_add(pose->elbow, fore.along, forearm_m);
    pose->fingertips = space_add(pose->wrist, fore.along, HAND * stature_m);
    put_on_limb(m, OMO_ELBOW, &arm, STUDY_ELBOW_BAND_ALONG_MM, STUDY_ELBOW_STICKER_ALONG,
                ELBOW_RADIUS_MM);
    put_on_limb(m, OMO_WRIST, &fore, STUDY_WRIST_BAND_ALONG_MM, STUDY_WRIST_STICKER_ALONG,
                WRIST_RADIUS_MM);
}

static void make_truth(const struct making *m)
{
    struct study_pose *pose = m->pose;
    struct space arm = space_add(pose->elbow, pose->joint, -1.0);
    double sign = m->arm_deg < 0.0 ? -1.0 : 1.0;
    struct space down = space_times(up, -1.0);
    bool side = study_is_from_side(m->p->of.movement);
    /* How the line from the hip to the chest has turned since rest. */
    struct space now = space_add(spine(m, side ? CHEST_SIDE_UP : CHEST_FRONT_UP),
                                 hip_centre(m->p), -1.0);
    double turned_deg = space_angle_deg(now, standing(m, up));
    pose->rest_deg = sign * space_angle_deg(arm, with_thorax(m, down));
    pose->thorax_deg = sign * space_angle_deg(arm, on_thorax(m, down));
    pose->line_deg = sign * space_angle_deg(arm, leaned(m, down, turned_deg));
}

static void sway(const struct making *m)
{
    struct study_pose *pose = m->pose;
    pose->joint = swayed(m, pose->joint);
    pose->elbow = swayed(m, pose->elbow);
    pose->wrist = swayed(m, pose->wrist);
    pose->fingertips = swayed(m, pose->fingertips);
    pose->hips = swayed(m, pose->hips);
    pose->neck = swayed(m, pose->neck);
    for (int i = 0; i < OMO_ROLE_COUNT; i++)
        pose->marker[i] = swayed(m, pose->marker[i]);
}

void study_pose_at(const struct study_person *p, double time_s, double arm_deg,
                   struct study_pose *pose)
{
    if (study_is_rotation(p->of.movement)) {
        study_rotation_pose(p, time_s, arm_deg, pose);
        return;
    }
    *pose = (struct study_pose){0};
    double shoulder_mm = (HIP_HEIGHT + TRUNK) * p->body[STUDY_STATURE_M] / M_PER_MM;
    struct making m = {
        .p = p,
        .time_s = time_s,
        .arm_deg = arm_deg,
        .away = space_times(space_level(p->azimuth_deg), -1.0),
        .ahead = space_level(p->azimuth_deg + p->camera_side * 90.0),
        .lean_deg = study_lean_deg(p, arm_deg),
        .bend_deg = study_bend_deg(p, arm_deg),
        .pose = pose,
    };
    m.lean_axis = space_cross(up, m.away);
    m.sway_deg = p->body[STUDY_SWAY_MM] / shoulder_mm / RAD_PER_DEG *
                 wave(&m, SWAY_HZ, STUDY_SWAY_PHASE_DEG);
    m.sway_across_deg = p->body[STUDY_SWAY_ACROSS_MM] / shoulder_mm / RAD_PER_DEG *
                        wave(&m, SWAY_ACROSS_HZ, STUDY_SWAY_ACROSS_PHASE_DEG);
    make_hip(&m);
    make_chest(&m);
    make_shoulder(&m);
    make_arm(&m);
    make_truth(&m); /* sway turns arm and trunk alike */
    sway(&m);
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        bool band = p->of.set == STUDY_BANDS && (i == OMO_ELBOW || i == OMO_WRIST);
        pose->marker_m[i] = band ? BAND_M : STICKER_M;
    }
}
