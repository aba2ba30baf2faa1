#include "motion/rotation.h"

#include <math.h>

#include "motion/budget_camera.h"

/* An elbow within this of a right angle. Our choice: at 30 degrees off the forearm's part
 * across the upper arm is still 0.87 of its length. */
#define RIGHT_ANGLE_DEG 30.0
/* How much longer than possible a forearm may look, from a wrong length and from noise.
 */
#define EXCESS_MAX 0.12
/* Beyond this the sine changes by less than 0.75 % a degree. Our choice. */
#define INSENSITIVE_DEG 65.0

/* Seen on the near side of zero alone, a hand that was hidden for so long may have been
 * farther out than was ever seen; beyond zero it has come out again. */
#define BLIND_DEG 0.0
#define HIDDEN_S  0.1

#define DEG_PER_RAD (180.0 / M_PI)

struct vec {
    double x, y, z;
};

static double dot(struct vec a, struct vec b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

/** From a marker on the skin that faces the camera to the bone: away from the line of
 *  sight, in its plane. */
static struct vec below_skin(struct vec v, struct vec ray, double skin)
{
    double length = sqrt(dot(v, v)), far = sqrt(dot(ray, ray));
    struct vec eye = {-ray.x / far, -ray.y / far, -ray.z / far};
    double along = dot(eye, v) / (length * length);
    struct vec out = {eye.x - along * v.x, eye.y - along * v.y, eye.z - along * v.z};
    double width = sqrt(dot(out, out));
    if (!(width > 0.0))
        return v; /* end on: no side is nearer */
    double step = skin * length / width;
    return (struct vec){v.x - step * out.x, v.y - step * out.y, v.z - step * out.z};
}

struct omo_front_direction omo_front_solve(const struct omo_front_forearm *f)
{
    /* In forearm lengths; z away from the camera. */
    struct vec elbow = {f->joint.x / f->length_px, f->joint.y / f->length_px,
                        f->focal_px / f->length_px};
    struct vec ray = {f->wrist.x, f->wrist.y, f->focal_px};
    double skin = f->skin_ratio, whole2 = 1.0 + skin * skin;
    /* |t ray - elbow|^2 = whole2; by the cross product, which does not cancel. */
    struct vec beside = {ray.y * elbow.z - ray.z * elbow.y,
                         ray.z * elbow.x - ray.x * elbow.z,
                         ray.x * elbow.y - ray.y * elbow.x};
    double a = dot(ray, ray), b = dot(ray, elbow);
    double inside = a * whole2 - dot(beside, beside);
    double t = (b - sqrt(fmax(inside, 0.0))) / a;
    struct vec v = {t * ray.x - elbow.x, t * ray.y - elbow.y, t * ray.z - elbow.z};
    double length = sqrt(dot(v, v));
    v = below_skin(v, ray, skin);
    double across = v.x * f->upper.y - v.y * f->upper.x;
    double along = (v.x * f->upper.x + v.y * f->upper.y) / sqrt(dot(v, v));
    return (struct omo_front_direction){
        .turn_deg = atan2(across, -v.z) * DEG_PER_RAD,
        .bend_deg = acos(fmax(-1.0, fmin(1.0, along))) * DEG_PER_RAD,
        .excess = fmax(length / sqrt(whole2) - 1.0, 0.0),
    };
}

/* ---- a frame ---- */

static double upper_arm_px(const struct omo_markers *m)
{
    return omo_point_distance(omo_place(m, OMO_SHOULDER), omo_place(m, OMO_ELBOW));
}

static bool arm_seen(const struct omo_markers *m)
{
    return omo_seen(m, OMO_SHOULDER) && omo_seen(m, OMO_ELBOW) &&
           omo_seen(m, OMO_WRIST) && upper_arm_px(m) > 0.0;
}

/** Of what is seen in a frame; false: not all is. */
static bool forearm_of(const struct omo_take *take, const struct omo_markers *m,
                       struct omo_front_forearm *f)
{
    const struct omo_measure_settings *s = take->settings;
    const struct omo_allowances *a = &s->movement->allowances;
    if (!arm_seen(m))
        return false;
    double above = a->elbow_above_ratio;
    struct omo_lens room;
    const double *lens = omo_front_lens(s, &room)->value;
    struct omo_point centre = {lens[OMO_LENS_CX], lens[OMO_LENS_CY]};
    struct omo_point elbow = omo_point_sub(omo_place(m, OMO_ELBOW), centre);
    struct omo_point line =
        omo_point_sub(omo_place(m, OMO_ELBOW), omo_place(m, OMO_SHOULDER));
    double upper_px = upper_arm_px(m);
    f->upper = (struct omo_point){line.x / upper_px, line.y / upper_px};
    f->joint = (struct omo_point){elbow.x + above * line.x, elbow.y + above * line.y};
    f->wrist = omo_point_sub(omo_place(m, OMO_WRIST), centre);
    f->length_px = take->forearm.known ? take->forearm.px : a->forearm_ratio * upper_px;
    f->focal_px = lens[OMO_LENS_FX];
    f->skin_ratio = a->wrist_skin_ratio;
    return f->length_px > 0.0;
}

const struct omo_lens *omo_front_lens(const struct omo_measure_settings *s,
                                      struct omo_lens *room)
{
    if (s->lens != NULL)
        return s->lens;
    omo_lens_default(s->picture_width, s->picture_height, room);
    return room;
}

/** +1: the movement goes to picture right. */
static double outward(const struct omo_take *take)
{
    return -take->axes.sign;
}

double omo_front_abduction_deg(const struct omo_take *take, size_t k)
{
    const struct omo_markers *m = &take->frames[k].markers;
    if (!omo_seen(m, OMO_SHOULDER) || !omo_seen(m, OMO_ELBOW) || !(upper_arm_px(m) > 0.0))
        return NAN;
    struct omo_point line =
        omo_point_sub(omo_place(m, OMO_ELBOW), omo_place(m, OMO_SHOULDER));
    return atan2(outward(take) * line.x, line.y) * DEG_PER_RAD;
}

void omo_front_read(struct omo_take *take, size_t k)
{
    static const unsigned bit[] = {[OMO_SHOULDER] = OMO_QUALITY_NO_SHOULDER,
                                   [OMO_ELBOW] = OMO_QUALITY_NO_ELBOW,
                                   [OMO_WRIST] = OMO_QUALITY_NO_WRIST};
    const struct omo_markers *m = &take->frames[k].markers;
    struct omo_trace_row *row = &take->rows[k];
    struct omo_front_forearm forearm;
    take->segment_deg[k] = take->length_px[k] = NAN;
    for (int r = OMO_SHOULDER; r <= OMO_WRIST; r++) {
        if (!omo_seen(m, (enum omo_role)r))
            row->quality |= bit[r];
        else if (m->role[r].seen == OMO_PLACED_BY_HAND)
            row->quality |= OMO_QUALITY_EDITED;
    }
    if (!forearm_of(take, m, &forearm))
        return;
    struct omo_front_direction way = omo_front_solve(&forearm);
    if (fabs(way.bend_deg - 90.0) > RIGHT_ANGLE_DEG || way.excess > EXCESS_MAX) {
        row->quality |= OMO_QUALITY_ELBOW_ANGLE;
        return;
    }
    take->length_px[k] =
        omo_point_distance(omo_place(m, OMO_ELBOW), omo_place(m, OMO_WRIST));
    take->segment_deg[k] = outward(take) * way.turn_deg;
    if (fabs(way.turn_deg) > INSENSITIVE_DEG)
        row->quality |= OMO_QUALITY_INSENSITIVE;
    if (omo_front_abduction_deg(take, k) > take->settings->movement->allowances.away_deg)
        row->quality |= OMO_QUALITY_ELBOW_AWAY;
}

/* ---- a turning trunk ---- */

/** Breastbone to shoulder across the picture; NAN. */
static double chest_px(const struct omo_take *take, size_t k)
{
    if (!omo_clear_at(take, k, OMO_SHOULDER) || !omo_clear_at(take, k, OMO_CHEST))
        return NAN;
    const struct omo_markers *m = &take->frames[k].markers;
    return fabs(m->role[OMO_SHOULDER].x_px - m->role[OMO_CHEST].x_px);
}

void omo_front_rest(struct omo_take *take)
{
    size_t kept = 0;
    for (size_t k = take->rest.first; take->rest.found && k <= take->rest.last; k++) {
        double px = chest_px(take, k);
        if (isfinite(px))
            take->work[kept++] = px;
    }
    take->forearm.rest_chest_px = omo_median(take->work, kept);
}

void omo_front_pose(struct omo_take *take, size_t k)
{
    const struct omo_allowances *a = &take->settings->movement->allowances;
    struct omo_trace_row *row = &take->rows[k];
    struct omo_front_forearm forearm;
    row->elbow_flexion_deg = NAN;
    if (forearm_of(take, &take->frames[k].markers, &forearm))
        row->elbow_flexion_deg = omo_front_solve(&forearm).bend_deg;
    double rest_px = take->forearm.rest_chest_px, px = chest_px(take, k);
    if (rest_px > 0.0 && fabs(px - rest_px) > a->trunk_turned_ratio * rest_px &&
        isfinite(take->segment_deg[k]))
        row->quality |= OMO_QUALITY_TRUNK_TURNED;
}

/* ---- the blind place ---- */

bool omo_front_top_hidden(const struct omo_take *take, double highest_deg)
{
    if (take->settings->movement->geometry != OMO_GEOMETRY_FORESHORTENED ||
        !(highest_deg < BLIND_DEG))
        return false;
    size_t hidden = 0;
    for (size_t k = 0; k < take->count; k++)
        hidden +=
            !take->ignored[k] &&
            (take->rows[k].quality & (OMO_QUALITY_NO_ELBOW | OMO_QUALITY_NO_WRIST)) != 0;
    return (double)hidden * take->step_s >= HIDDEN_S;
}

/* ---- how far out the arm is held ---- */

void omo_find_abduction(struct omo_take *take)
{
    struct omo_result *result = take->result;
    enum omo_geometry geometry = take->settings->movement->geometry;
    if (geometry != OMO_GEOMETRY_ROTATION && geometry != OMO_GEOMETRY_FORESHORTENED)
        return;
    result->rotation_at_abduction_deg = take->settings->rotation_at_abduction_deg;
    if (geometry == OMO_GEOMETRY_ROTATION || isfinite(result->rotation_at_abduction_deg))
        return;
    for (size_t k = 0; k < take->count; k++)
        if (take->rows[k].frame == result->frame_at_max)
            result->rotation_at_abduction_deg = omo_front_abduction_deg(take, k);
}

/* ---- uncertainty ---- */

/** Larger of the two changes of the angle when a quantity goes up or down by its standard
 *  uncertainty: near 90 degrees the sine is flat, and one side alone would mislead. */
static double effect_deg(const struct omo_front_forearm *f, double *quantity, double u)
{
    double middle_deg = omo_front_solve(f).turn_deg, was = *quantity, most_deg = 0.0;
    for (int way = -1; way <= 1; way += 2) {
        *quantity = was + way * u;
        double deg = omo_front_solve(f).turn_deg - middle_deg;
        most_deg = fmax(most_deg, fabs(omo_wrap_deg(deg, -180.0)));
    }
    *quantity = was;
    return most_deg;
}

/** Adds a line whose input changes one or two quantities, by `scale` of them a unit. */
static void add_line(struct omo_budget *budget, const struct omo_front_forearm *f,
                     double *first, double *second, double scale,
                     struct omo_budget_line line)
{
    double u_deg = effect_deg(f, first, scale * line.input_u);
    if (second != NULL)
        u_deg = hypot(u_deg, effect_deg(f, second, scale * line.input_u));
    line.distribution = OMO_GAUSSIAN;
    line.freedom = INFINITY;
    line.sensitivity = line.input_u > 0.0 ? u_deg / line.input_u : 0.0;
    omo_budget_add(budget, &line);
}

static void add_stated(struct omo_budget *budget, const char *name, double input_u,
                       double sensitivity)
{
    omo_budget_add(budget, &(struct omo_budget_line){.name = name,
                                                     .unit = "deg",
                                                     .origin = omo_origin_stated,
                                                     .distribution = OMO_GAUSSIAN,
                                                     .input_u = input_u,
                                                     .sensitivity = sensitivity,
                                                     .freedom = INFINITY});
}

/** Noise and place of the two bands. */
static void add_bands(const struct omo_take *take, const struct omo_markers *m,
                      struct omo_front_forearm *f, struct omo_budget *budget)
{
    const struct omo_allowances *a = &take->settings->movement->allowances;
    double px_per_mm = f->length_px / a->forearm_mm;
    add_line(budget, f, &f->joint.x, &f->joint.y, 1.0,
             (struct omo_budget_line){"elbow-pixels", "px", omo_origin_measured,
                                      .input_u = omo_sigma_px(m, OMO_ELBOW)});
    add_line(budget, f, &f->wrist.x, &f->wrist.y, 1.0,
             (struct omo_budget_line){"wrist-pixels", "px", omo_origin_measured,
                                      .input_u = omo_sigma_px(m, OMO_WRIST)});
    add_line(budget, f, &f->joint.x, &f->joint.y, px_per_mm,
             (struct omo_budget_line){"elbow-marker", "mm", omo_origin_stated,
                                      .input_u = a->band_mm});
    add_line(budget, f, &f->wrist.x, &f->wrist.y, px_per_mm,
             (struct omo_budget_line){"wrist-marker", "mm", omo_origin_stated,
                                      .input_u = a->band_mm});
}

void omo_front_budget(const struct omo_take *take, size_t k, struct omo_budget *budget)
{
    const struct omo_allowances *a = &take->settings->movement->allowances;
    const struct omo_markers *m = &take->frames[k].markers;
    struct omo_front_forearm f;
    struct omo_lens room;
    const struct omo_lens *lens = omo_front_lens(take->settings, &room);
    if (!isfinite(take->segment_deg[k]) || !forearm_of(take, m, &f))
        return;
    double length_u = take->forearm.known ? take->forearm.u_ratio : a->guess_ratio;
    add_bands(take, m, &f, budget);
    add_line(budget, &f, &f.length_px, NULL, f.length_px / 100.0,
             (struct omo_budget_line){"forearm-length", "%", omo_origin_stated,
                                      .input_u = 100.0 * length_u});
    add_line(budget, &f, &f.skin_ratio, NULL, 0.01,
             (struct omo_budget_line){"wrist-skin", "%", omo_origin_stated,
                                      .input_u = 100.0 * a->skin_ratio});
    add_line(budget, &f, &f.focal_px, NULL, 1.0,
             (struct omo_budget_line){
                 "lens", "px",
                 lens->source == OMO_LENS_ASSUMED ? "assumed lens" : "lens profile",
                 .input_u = sqrt(lens->covariance[OMO_LENS_FX][OMO_LENS_FX])});
    add_stated(budget, "facing", a->facing_deg, 1.0);
}

/* The arm is off the camera's line by h sideways and v upwards, and the elbow off a right
 * angle by b. All are unknown with mean zero, so that their products have no first order,
 * and the root mean square of a product is the product of both (GUM 5.1.2, note). */
void omo_along_budget(const struct omo_take *take, size_t k, double segment_mm,
                      struct omo_budget *budget)
{
    const struct omo_measure_settings *s = take->settings;
    const struct omo_allowances *a = &s->movement->allowances;
    if (s->movement->geometry != OMO_GEOMETRY_ROTATION)
        return;
    double c = cos(take->rows[k].angle_deg / DEG_PER_RAD);
    double sine = sin(take->rows[k].angle_deg / DEG_PER_RAD);
    double aside = tan(a->plane_deg / DEG_PER_RAD);
    double up = tan(a->arm_level_deg / DEG_PER_RAD);
    /* Straight ahead, square to the arm, tips by v along it and is seen aside by v h; of
     * that the forearm at angle w has cos(w) as its own part, and across it again so. */
    add_stated(budget, "arm-level", a->arm_level_deg, aside * c * c);
    /* Of its length across the arm the forearm has the share tan(b) along it, which is
     * seen as a shift by tan(b) (h, v). */
    add_stated(budget, "elbow-bent", a->elbow_bent_deg, hypot(aside * c, up * sine));
    if (!s->band[OMO_WRIST] && segment_mm > 0.0)
        add_stated(budget, "forearm-turn", a->forearm_turn_deg,
                   a->wrist_off_axis_mm / segment_mm);
}
