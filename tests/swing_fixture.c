#include "swing_fixture.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>

#include <check.h>

#define DEG (M_PI / 180.0)
/* A hanging arm's own swing, and how fast it dies: 1.5 s for an arm's length of 0.55 m
 * as a rod; damping is our choice. */
#define OWN_SWING_S 1.5
#define DAMPING     0.10
/* A rod that hangs from a moving point swings as a pendulum of two thirds of its length.
 */
#define ROD 1.5
/* Rest before and after. */
#define REST_S 2.5
/* Circles are reached and left within this share of a lap. */
#define RAMP_LAPS 0.4

struct vec {
    double x, y, z; /* picture right, up, towards the camera */
};

static struct vec along(struct vec a, struct vec b, double f)
{
    return (struct vec){a.x + b.x * f, a.y + b.y * f, a.z + b.z * f};
}

static double dot(struct vec a, struct vec b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

static struct vec unit(struct vec a)
{
    return along((struct vec){0}, a, 1 / sqrt(dot(a, a)));
}

/* ---- chance ---- */

static double even(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (*state >> 8) / 16777216.0;
}

static double normal(uint32_t *state)
{
    double u = even(state) + 1e-9, v = even(state);
    return sqrt(-2 * log(u)) * cos(2 * M_PI * v);
}

/* ---- the set in time ---- */

/** Where in the set a time is. */
struct moment {
    double lap;    /* laps gone in this part; negative: the other way */
    double share;  /* of the part */
    double radius; /* m */
    int part;      /* -1 before, SWING_PARTS after */
    bool circles;
};

static double lasts_s(const struct swing_part *p)
{
    return p->laps == 0 ? p->seconds : fabs(p->laps) * p->seconds;
}

static double set_s(const struct swing_set *set)
{
    double sum = 0;
    for (int i = 0; i < SWING_PARTS; i++)
        sum += lasts_s(&set->part[i]);
    return sum;
}

/** Whether a part goes on in the circle that another was in. */
static bool joined(const struct swing_set *set, int part)
{
    return part >= 0 && part < SWING_PARTS && set->part[part].laps != 0;
}

static struct moment moment_at(const struct swing_set *set, double t)
{
    struct moment m = {.part = -1};
    if (t < 0)
        return m;
    for (m.part = 0; m.part < SWING_PARTS; m.part++) {
        const struct swing_part *p = &set->part[m.part];
        if (t >= lasts_s(p)) {
            t -= lasts_s(p);
            continue;
        }
        if (p->laps == 0)
            return m;
        m.circles = true;
        m.share = t / lasts_s(p);
        /* hurries and dawdles, but is on time at both ends */
        double hurry = set->ragged * 0.5 * sin(2 * M_PI * (m.share * 3)) / 3 / M_PI;
        m.lap = p->laps * (m.share + hurry);
        m.radius = (p->from_cm + (p->to_cm - p->from_cm) * m.share) / 200;
        double gone = fabs(m.lap), left = fabs(p->laps) - gone;
        if (!joined(set, m.part - 1))
            m.radius *= fmin(gone / RAMP_LAPS, 1);
        if (!joined(set, m.part + 1))
            m.radius *= fmin(left / RAMP_LAPS, 1);
        return m;
    }
    return m;
}

/** Angle on the circle, over all parts; a reversed part goes back. */
static double angle_at(const struct swing_set *set, const struct moment *m)
{
    double laps = 0.17 * (set->seed % 6);
    for (int i = 0; i < m->part && i < SWING_PARTS; i++)
        laps += set->part[i].laps;
    return 2 * M_PI * (laps + m->lap);
}

/* ---- the body ---- */

struct body {
    struct vec shoulder, elbow, wrist; /* joints */
    struct vec marker, normal;         /* of the wrist's disc or band */
    struct vec fore;
};

static double wander(const struct swing_set *set, double t, int what)
{
    double a = set->seed * 0.7 + what * 2.1;
    return sin(2 * M_PI * 0.13 * t + a) * 0.6 + sin(2 * M_PI * 0.31 * t + 2 * a) * 0.4;
}

/** What a body has to do for an arm that hangs loose to swing so: shoulder over the
 *  wrist's way, as a complex amplitude. An arm that moves by itself hardly moves it. */
static double complex body_share(const struct swing_set *set, double lap_s)
{
    double own = 2 * M_PI / OWN_SWING_S, w = 2 * M_PI / lap_s;
    if (!set->loose)
        return -0.03;
    double complex hang =
        ROD * w * w / (own * own - w * w + (double complex)I * 2 * DAMPING * own * w);
    return 1 / (1 + hang);
}

static struct body body_at(const struct swing_set *set, double t)
{
    struct moment m = moment_at(set, t);
    double angle = angle_at(set, &m);
    double radius = m.radius * (1 + set->ragged * wander(set, t, 1));
    double complex turn = radius * cexp((double complex)I * angle);
    double way = m.circles && set->part[m.part].laps < 0 ? -1 : 1;
    double complex share = m.circles ? body_share(set, set->part[m.part].seconds) : 0;
    if (way < 0) /* ahead is the other way round */
        share = conj(share);
    double complex body = turn * share;
    double drift = m.radius * set->ragged * 0.5;
    double x = creal(turn) + set->off_x_m + drift * wander(set, t, 2);
    double z = set->aspect * cimag(turn) + set->off_z_m + drift * wander(set, t, 3);
    struct vec shoulder = {creal(body), set->shoulder_m, set->aspect * cimag(body)};
    shoulder.y += set->bob_mm / 1000 * sin(2 * M_PI * 0.23 * t + set->seed);
    shoulder.x += 0.002 * wander(set, t, 4);
    shoulder.z += 0.002 * wander(set, t, 5);
    /* the arm reaches from the shoulder over where the wrist has to be */
    double a = set->upper_m, b = set->forearm_m;
    double reach = sqrt(a * a + b * b + 2 * a * b * cos(set->bend_deg * DEG));
    double dx = x - shoulder.x, dz = z - shoulder.z;
    struct vec dir = unit((struct vec){dx, -sqrt(reach * reach - dx * dx - dz * dz), dz});
    struct vec ahead = unit(along((struct vec){1, 0, 0}, dir, -dir.x));
    double first = (a * a - b * b + reach * reach) / (2 * reach);
    struct body body_now = {.shoulder = shoulder};
    body_now.elbow =
        along(along(shoulder, dir, first), ahead, -sqrt(fmax(a * a - first * first, 0)));
    body_now.wrist = along(shoulder, dir, reach);
    body_now.fore = unit(along(body_now.wrist, body_now.elbow, -1));
    struct vec out = {sin(set->yaw_deg * DEG), 0, cos(set->yaw_deg * DEG)};
    body_now.normal = unit(along(out, body_now.fore, -dot(out, body_now.fore)));
    body_now.marker =
        set->band ? body_now.wrist : along(body_now.wrist, body_now.normal, 0.025);
    return body_now;
}

/* ---- the camera ---- */

/** Right, down, ahead of the camera. */
static struct vec to_camera(const struct swing_set *set, struct vec v)
{
    double p = set->pitch_deg * DEG, r = set->roll_deg * DEG;
    double right = v.x, down = -v.y, ahead = -v.z;
    double down2 = down * cos(p) + ahead * sin(p); /* looks up: things sink */
    ahead = ahead * cos(p) - down * sin(p);
    return (struct vec){right * cos(r) - down2 * sin(r), right * sin(r) + down2 * cos(r),
                        ahead};
}

static struct vec camera_place(const struct swing_set *set)
{
    return (struct vec){-set->aside_m, set->camera_m, set->distance_m};
}

static void see(const struct swing_set *set, struct vec place, struct omo_marker *marker,
                uint32_t *chance)
{
    struct vec c = to_camera(set, along(place, camera_place(set), -1));
    double flip = set->mirrored ? -1 : 1;
    *marker = (struct omo_marker){
        .seen = OMO_SEEN,
        .x_px = 639.5 + flip * set->focal_px * c.x / c.z + set->noise_px * normal(chance),
        .y_px = 359.5 + set->focal_px * c.y / c.z + set->noise_px * normal(chance),
        .diameter_px = set->focal_px * set->marker_mm / 1000 / c.z,
        .sigma_px = set->noise_px,
    };
}

/** As large as the picture shows it: of a disc by area, of a band along the limb. */
static double seen_size_px(const struct swing_set *set, const struct body *body)
{
    struct vec c = to_camera(set, along(body->marker, camera_place(set), -1));
    struct vec ray = {c.x / c.z, c.y / c.z, 1};
    double scale = set->focal_px * set->marker_mm / 1000 / c.z;
    if (!set->band)
        return scale * sqrt(fabs(dot(to_camera(set, body->normal), ray)));
    struct vec fore = to_camera(set, body->fore);
    return scale * hypot(fore.x - fore.z * ray.x, fore.y - fore.z * ray.y);
}

static void film(const struct swing_set *set, double t, const struct body *body,
                 struct omo_track_frame *frame, uint32_t *chance)
{
    struct omo_marker *role = frame->markers.role;
    see(set, along(body->shoulder, (struct vec){0, 0.01, 0.03}, 1), &role[OMO_SHOULDER],
        chance);
    see(set, along(body->elbow, body->normal, 0.03), &role[OMO_ELBOW], chance);
    see(set, body->marker, &role[OMO_WRIST], chance);
    role[OMO_WRIST].diameter_px =
        seen_size_px(set, body) * (1 + set->size_noise * normal(chance));
    for (int i = 0; i < SWING_HIDES; i++)
        if (t >= set->hide[i].from_s && t < set->hide[i].to_s)
            role[OMO_WRIST] = (struct omo_marker){OMO_NOT_SEEN, NAN, NAN, NAN, NAN};
}

/* ---- the truth ---- */

/** Laps by the rule in pendulum.h, from the angle itself. */
struct counter {
    double gone, last;
    int way;
    bool any;
};

static void drop_lap(struct counter *c, struct swing_truth *truth)
{
    if (c->gone >= 0.8)
        *(c->way > 0 ? &truth->clockwise : &truth->counter_clockwise) += 1;
    c->gone = 0;
    c->any = false;
}

static void count_angle(struct counter *c, double laps, struct swing_truth *truth)
{
    double step = c->any ? laps - c->last : 0;
    if (step != 0 && step * c->way < 0)
        drop_lap(c, truth);
    if (step != 0)
        c->way = step > 0 ? 1 : -1;
    c->gone += fabs(step);
    c->last = laps;
    c->any = true;
    if (c->gone >= 1) {
        *(c->way > 0 ? &truth->clockwise : &truth->counter_clockwise) += 1;
        c->gone -= 1;
    }
}

struct path {
    struct vec sum, turned, last;
    double diameter;
    long count, circles;
    bool linked;
};

/** The plane the wrist goes round in, whichever way. */
static void follow_path(struct path *path, struct vec place, double way)
{
    struct vec a = path->last, b = place;
    if (path->linked) {
        struct vec n = {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z,
                        a.x * b.y - a.y * b.x};
        path->turned = along(path->turned, n, -way); /* upwards */
    }
    path->sum = along(path->sum, place, 1);
    path->last = place;
    path->linked = true;
    path->count++;
}

static bool hides(const struct swing_set *set, double t)
{
    for (int i = 0; i < SWING_HIDES; i++)
        if (t >= set->hide[i].from_s && t < set->hide[i].to_s)
            return true;
    return false;
}

static void make_truth(const struct swing_set *set, struct swing_truth *truth)
{
    struct counter counter = {0};
    struct path path = {0};
    /* near enough for areas not to depend on it */
    struct vec middle = {set->off_x_m, set->shoulder_m - 0.5, set->off_z_m};
    double hidden_s = 0;
    *truth = (struct swing_truth){0};
    for (double t = 0; t < set_s(set); t += 0.005) {
        struct moment m = moment_at(set, t);
        const struct swing_part *part = &set->part[m.part];
        if (!m.circles) {
            if (part->seconds > 1)
                drop_lap(&counter, truth);
            path.linked = false;
            continue;
        }
        hidden_s = hides(set, t) ? hidden_s + 0.005 : 0;
        if (hidden_s > 0.55 * part->seconds)
            drop_lap(&counter, truth);
        else if (hidden_s == 0)
            count_angle(&counter, angle_at(set, &m) / (2 * M_PI), truth);
        struct body body = body_at(set, t);
        follow_path(&path, along(body.marker, middle, -1), part->laps > 0 ? 1 : -1);
        if (m.share > RAMP_LAPS / fabs(part->laps) &&
            1 - m.share > RAMP_LAPS / fabs(part->laps)) {
            path.diameter += m.radius * (1 + set->aspect);
            path.circles++;
        }
    }
    drop_lap(&counter, truth);
    struct vec place = along(middle, path.sum, 1.0 / (double)path.count);
    struct vec towards = unit(along(camera_place(set), place, -1));
    truth->off_plane_deg = asin(dot(unit(path.turned), towards)) / DEG;
    truth->diameter_cm = 100 * path.diameter / (double)path.circles;
}

/* ---- the set before the pendulum ---- */

void swing_watch(const struct swing_set *set, struct swing_truth *truth,
                 struct omo_pendulum_view *last,
                 void (*look)(const struct omo_pendulum_view *view, void *user),
                 void *user)
{
    struct omo_pendulum_settings settings;
    struct omo_pendulum *pendulum = NULL;
    uint32_t chance = set->seed * 7919u + 1u;
    omo_pendulum_settings_default(&settings);
    settings.wrist_mm = set->size_untold ? (double)NAN : set->marker_mm;
    settings.band = set->band;
    settings.mirrored = set->mirrored;
    settings.focal_px = set->focal_px;
    if (set->level_told) {
        settings.roll_deg = set->roll_deg;
        settings.pitch_deg = set->pitch_deg;
    }
    make_truth(set, truth);
    ck_assert_int_eq(omo_pendulum_create(&settings, &pendulum), OMO_OK);
    double lasts = set_s(set) + 2 * REST_S;
    for (long k = 0; (double)k / set->fps < lasts; k++) {
        double t = (double)k / set->fps - REST_S;
        struct omo_track_frame frame = {.index = k, .time_s = t};
        struct body body = body_at(set, t);
        film(set, t, &body, &frame, &chance);
        omo_pendulum_step(pendulum, &frame, last);
        if (look != NULL)
            look(last, user);
    }
    omo_pendulum_finish(pendulum, last);
    omo_pendulum_destroy(pendulum);
}

void swing_run(const struct swing_set *set, struct swing_truth *truth,
               struct omo_pendulum_view *last)
{
    swing_watch(set, truth, last, NULL, NULL);
}
