#include "body_model.h"

#include <math.h>
#include <string.h>

#define UPPER_ARM_MM 300.0
#define FOREARM_MM   250.0
#define TRUNK_MM     490.0 /* hip to shoulder along the trunk */
#define CHEST_MM     350.0 /* hip to chest */
#define PICTURE_W    1280
#define PICTURE_H    720
#define MARKER_MM    30.0

struct vec {
    double x, y, z;
};

static struct vec scaled(double k, struct vec a)
{
    return (struct vec){k * a.x, k * a.y, k * a.z};
}

static struct vec plus(struct vec a, struct vec b)
{
    return (struct vec){a.x + b.x, a.y + b.y, a.z + b.z};
}

static struct vec mix(double ka, struct vec a, double kb, struct vec b)
{
    return plus(scaled(ka, a), scaled(kb, b));
}

static struct vec cross(struct vec a, struct vec b)
{
    return (struct vec){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z,
                        a.x * b.y - a.y * b.x};
}

static double dot(struct vec a, struct vec b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

static double rad(double deg)
{
    return deg * M_PI / 180.0;
}

/** A person's own directions. */
struct person {
    struct vec forward, head, right;
};

static struct person stand(const struct figure *f)
{
    struct person p = {.forward = {1, 0, 0}, .head = {0, 0, 1}};
    double side = f->side == OMO_RIGHT ? 1 : -1;
    if (f->position == OMO_SUPINE) {
        p.forward = (struct vec){0, 0, 1};
        p.head = (struct vec){-1, 0, 0};
    } else if (f->position == OMO_PRONE) {
        p.forward = (struct vec){0, 0, -1};
        p.head = (struct vec){1, 0, 0};
    } else if (f->position == OMO_SIDE_LYING) {
        /* the measured side is uppermost */
        p.head = (struct vec){0, side, 0};
    }
    p.right = cross(p.forward, p.head);
    return p;
}

static bool is(const struct figure *f, const char *movement)
{
    return strcmp(f->movement, movement) == 0;
}

static bool is_rotation(const struct figure *f)
{
    return is(f, "external-rotation") || is(f, "internal-rotation");
}

static bool from_the_side(const struct figure *f)
{
    return is(f, "flexion") || is(f, "extension") || is(f, "pendulum");
}

/** Direction away from the trunk in which the arm is raised. */
static struct vec raise_direction(const struct figure *f, const struct person *p)
{
    double side = f->side == OMO_RIGHT ? 1 : -1;
    struct vec outward = scaled(side, p->right);
    if (is(f, "pendulum") && f->position == OMO_PRONE)
        return p->head;
    if (is(f, "flexion") || is(f, "pendulum"))
        return p->forward;
    if (is(f, "extension"))
        return scaled(-1, p->forward);
    return is(f, "adduction") ? scaled(-1, outward) : outward;
}

/** Direction of an arm at angle 0. */
static struct vec zero_direction(const struct figure *f, const struct person *trunk)
{
    if (is(f, "pendulum"))
        return (struct vec){0, 0, -1};
    return scaled(-1, trunk->head);
}

struct camera {
    struct vec right, down;
};

static struct camera aim(struct vec looks, struct vec head)
{
    struct vec up = {0, 0, 1};
    if (fabs(looks.z) > 0.5)
        up = head; /* looking down: head to the picture's top */
    return (struct camera){.right = cross(looks, up), .down = scaled(-1, up)};
}

static struct camera camera_of(const struct figure *f, const struct person *p,
                               struct vec upper_arm)
{
    double side = f->side == OMO_RIGHT ? 1 : -1;
    if (is_rotation(f))
        return aim(scaled(-1, upper_arm), p->head);
    if (from_the_side(f))
        return aim(scaled(-side, p->right), p->head);
    return aim(scaled(f->from_behind ? 1 : -1, p->forward), p->head);
}

double figure_share(const struct figure *f, double t)
{
    double rest = f->rest_s > 0 ? f->rest_s : 2, move = f->move_s > 0 ? f->move_s : 2,
           hold = f->hold_s > 0 ? f->hold_s : 1.5;
    double period = rest + 2 * move + hold;
    double in = fmod(t, period);
    if (in < rest || t >= period * (f->repetitions > 0 ? f->repetitions : 1))
        return 0;
    if (in < rest + move)
        return 0.5 - 0.5 * cos(M_PI * (in - rest) / move);
    if (in < rest + move + hold)
        return 1;
    return 0.5 + 0.5 * cos(M_PI * (in - rest - move - hold) / move);
}

double figure_duration_s(const struct figure *f)
{
    double rest = f->rest_s > 0 ? f->rest_s : 2, move = f->move_s > 0 ? f->move_s : 2,
           hold = f->hold_s > 0 ? f->hold_s : 1.5;
    return (rest + 2 * move + hold) * (f->repetitions > 0 ? f->repetitions : 1) + 1;
}

static double rate_of(const struct figure *f)
{
    return f->rate_hz > 0 ? f->rate_hz : 30;
}

size_t figure_frames(const struct figure *f)
{
    return (size_t)floor(figure_duration_s(f) * rate_of(f)) + 1;
}

double figure_angle_deg(const struct figure *f, double t)
{
    return f->rest_deg + (f->top_deg - f->rest_deg) * figure_share(f, t);
}

static void show(const struct figure *f, const struct camera *c, struct vec at,
                 struct omo_marker *m)
{
    double scale = f->scale_px_per_mm > 0 ? f->scale_px_per_mm : 0.4;
    m->seen = OMO_SEEN;
    m->x_px = 640 + scale * dot(at, c->right);
    m->y_px = 360 + scale * dot(at, c->down);
    if (f->mirrored)
        m->x_px = PICTURE_W - 1 - m->x_px;
    m->diameter_px = scale * MARKER_MM;
    m->sigma_px = 0.1;
}

/** Direction of the forearm: turned from the upper arm, or about it. */
static struct vec forearm_of(const struct figure *f, const struct person *p,
                             const struct person *trunk, struct vec upper, double a)
{
    double side = f->side == OMO_RIGHT ? 1 : -1;
    if (is_rotation(f)) {
        double out = is(f, "external-rotation") ? 1 : -1;
        struct vec up = f->arm_at_side ? scaled(side, p->right) : p->head;
        return mix(cos(a), p->forward, out * sin(a), up);
    }
    /* An elbow bends the forearm on towards the raise. */
    struct vec raise = raise_direction(f, trunk);
    double b = a + rad(f->elbow_flexion_deg);
    if (f->plane_deg > 0)
        return upper;
    return mix(cos(b), zero_direction(f, trunk), sin(b), raise);
}

void figure_markers(const struct figure *f, double t, struct omo_markers *markers)
{
    struct person p = stand(f);
    double a = rad(figure_angle_deg(f, t)), share = figure_share(f, t);
    double side = f->side == OMO_RIGHT ? 1 : -1;
    double lean = rad(f->lean_deg * share);

    /* The trunk turns against the raise. */
    struct vec raise = raise_direction(f, &p);
    struct person trunk = p;
    trunk.head = mix(cos(lean), p.head, -sin(lean), raise);
    if (from_the_side(f))
        trunk.forward = cross(trunk.head, p.right);
    else
        trunk.right = cross(p.forward, trunk.head);

    struct vec up = raise_direction(f, &trunk), outside = cross(p.forward, p.head);
    if (f->plane_deg > 0) {
        struct vec off = from_the_side(f) ? scaled(side, trunk.right) : trunk.forward;
        up = mix(cos(rad(f->plane_deg)), up, sin(rad(f->plane_deg)), off);
    }
    struct vec upper = mix(cos(a), zero_direction(f, &trunk), sin(a), up);
    if (is_rotation(f))
        upper = f->arm_at_side ? scaled(-1, p.head) : scaled(side, outside);

    /* The pelvis stays, hip and all; the trunk turns about its middle, below the chest.
     */
    struct vec hip = {0, 0, 0};
    struct vec turned =
        mix(side * f->chest_aside_mm, trunk.right, -side * f->chest_aside_mm, p.right);
    struct vec shoulder = plus(turned, scaled(TRUNK_MM + f->hike_mm * share, trunk.head));
    struct vec chest = plus(turned, scaled(CHEST_MM, trunk.head));
    if (f->chest_aside_mm > 0)
        chest = plus(chest, scaled(-side * f->chest_aside_mm, trunk.right));
    struct vec elbow = plus(shoulder, scaled(UPPER_ARM_MM, upper));
    struct vec wrist =
        plus(elbow, scaled(FOREARM_MM, forearm_of(f, &p, &trunk, upper, a)));
    /* The shoulder's marker stands out from the hip's line by a constant. */
    double out = TRUNK_MM * tan(rad(f->hip_offset_deg));
    struct vec aside = from_the_side(f) ? trunk.forward : scaled(side, trunk.right);
    shoulder = plus(shoulder, scaled(out, aside));
    elbow = plus(elbow, scaled(out, aside));
    wrist = plus(wrist, scaled(out, aside));

    struct camera c = camera_of(f, &p, upper);
    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        markers->role[role] = (struct omo_marker){.seen = OMO_NOT_SEEN,
                                                  .x_px = NAN,
                                                  .y_px = NAN,
                                                  .diameter_px = NAN,
                                                  .sigma_px = NAN};
    if (!is_rotation(f))
        show(f, &c, shoulder, &markers->role[OMO_SHOULDER]);
    show(f, &c, elbow, &markers->role[OMO_ELBOW]);
    if (f->wrist || is_rotation(f))
        show(f, &c, wrist, &markers->role[OMO_WRIST]);
    if (f->hip)
        show(f, &c, hip, &markers->role[OMO_HIP]);
    if (f->chest)
        show(f, &c, chest, &markers->role[OMO_CHEST]);
}

void figure_film(const struct figure *f, struct omo_track_frame *frames, size_t count)
{
    for (size_t k = 0; k < count; k++) {
        frames[k] = (struct omo_track_frame){.index = (int64_t)k,
                                             .time_s = (double)k / rate_of(f)};
        figure_markers(f, frames[k].time_s, &frames[k].markers);
    }
}

void figure_settings(const struct figure *f, const struct omo_movement_table *table,
                     struct omo_measure_settings *settings)
{
    omo_measure_settings_default(settings);
    settings->movement = omo_movement_find(table, f->movement);
    settings->side = f->side;
    settings->position = f->position;
    settings->from_behind = f->from_behind;
    settings->mirrored = f->mirrored;
    settings->facing_left = (f->side == OMO_LEFT) != f->mirrored;
    settings->marker_size_mm = MARKER_MM;
    settings->picture_width = PICTURE_W;
    settings->picture_height = PICTURE_H;
    /* This figure's markers are on its joints: nothing is to be corrected, and angles are
     * exact. */
    settings->no_correction = true;
}

double figure_noise(unsigned *state)
{
    /* Sum of twelve uniform numbers from a linear congruential generator. */
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        *state = *state * 1664525u + 1013904223u;
        sum += (double)(*state >> 8) / 16777216.0;
    }
    return sum;
}
