/* Uncertainty: the Guide's arithmetic against its own worked figures, and the lines of a
 * movement's budget against what moving a marker does. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/budget.h"
#include "omogon/geometry.h"
#include "take_fixture.h"

#define DEG_PER_RAD (180.0 / M_PI)

/* ---- arithmetic ---- */

static void add(struct omo_budget *budget, double input_u, double sensitivity,
                double freedom, bool beyond)
{
    omo_budget_add(budget, &(struct omo_budget_line){.name = "source",
                                                     .unit = "unit",
                                                     .origin = "test",
                                                     .distribution = OMO_GAUSSIAN,
                                                     .input_u = input_u,
                                                     .sensitivity = sensitivity,
                                                     .freedom = freedom,
                                                     .beyond = beyond});
}

START_TEST(the_end_gauge_of_the_guide_is_reproduced)
{
    /* JCGM 100:2008, H.1, table H.1 (its figures read as others quote them, not in the
     * Guide): the unit is a nanometre here, whatever the field is called. Expected there:
     * uc^2 = 1002 nm^2, uc = 32 nm, 16.7 effective degrees of freedom. */
    struct omo_budget b;
    omo_budget_init(&b);
    add(&b, 25, 1, 18, false);               /* standard gauge */
    add(&b, 5.8, 1, 24, false);              /* repeated observations */
    add(&b, 3.9, 1, 5, false);               /* comparator, random */
    add(&b, 6.7, 1, 8, false);               /* comparator, systematic */
    add(&b, 1.2e-6, 0, INFINITY, false);     /* expansion of the standard */
    add(&b, 0.41, 0, INFINITY, false);       /* temperature of the bed */
    add(&b, 0.58e-6, 5e6, 50, false);        /* difference of expansions: 2.9 nm */
    add(&b, 0.029, -0.05 * 11500, 2, false); /* of temperatures: 16.6 nm */
    omo_budget_combine(&b);
    ck_assert_double_eq_tol(b.line[6].u_deg, 2.9, 0.05);
    ck_assert_double_eq_tol(b.line[7].u_deg, 16.6, 0.1);
    ck_assert_double_eq_tol(b.u_deg * b.u_deg, 1002, 6); /* its parts are rounded */
    ck_assert_double_eq_tol(b.u_deg, 32, 0.5);
    ck_assert_double_eq_tol(b.freedom, 16.7, 0.15);
    ck_assert(isnan(b.beyond_u95_deg));
}
END_TEST

START_TEST(the_coverage_factor_is_the_guides_table)
{
    /* JCGM 100:2008, table G.2, column 95.45 %. */
    static const struct {
        double freedom, k;
    } table_g2[] = {{1, 13.97}, {2, 4.53},  {3, 3.31},   {4, 2.87}, {5, 2.65},
                    {6, 2.52},  {7, 2.43},  {8, 2.37},   {9, 2.32}, {10, 2.28},
                    {20, 2.13}, {50, 2.05}, {100, 2.025}};
    for (size_t i = 0; i < sizeof table_g2 / sizeof table_g2[0]; i++)
        ck_assert_double_eq_tol(omo_coverage_factor(table_g2[i].freedom), table_g2[i].k,
                                0.005);
    ck_assert_double_eq(omo_coverage_factor(INFINITY), 2.0);
    ck_assert_double_eq_tol(omo_coverage_factor(1e9), 2.0, 1e-6);
}
END_TEST

START_TEST(freedom_is_that_of_what_counts)
{
    /* One estimated contribution alone keeps its own; equal ones add up; a large stated
     * one beside it makes it harmless (GUM G.4.1, formula G.2b by hand). */
    const double equal[] = {3, 3}, few[] = {4, 4};
    ck_assert_double_eq_tol(omo_effective_freedom(equal, few, 1), 4, 1e-12);
    ck_assert_double_eq_tol(omo_effective_freedom(equal, few, 2), 8, 1e-12);
    const double unlike[] = {1, 3}, mixed[] = {2, INFINITY};
    ck_assert_double_eq_tol(omo_effective_freedom(unlike, mixed, 2), 200, 1e-9);
    const double known[] = {INFINITY, INFINITY};
    ck_assert(isinf(omo_effective_freedom(equal, known, 2)));
    const double nothing[] = {0, 3}, one[] = {1, INFINITY};
    ck_assert(isinf(omo_effective_freedom(nothing, one, 2)));
}
END_TEST

START_TEST(what_lies_beyond_the_definition_is_shown_and_not_counted)
{
    struct omo_budget b;
    omo_budget_init(&b);
    ck_assert(isnan(b.u95_deg) && isnan(b.beyond_u95_deg));
    add(&b, 3, 1, INFINITY, false);
    add(&b, 4, -1, INFINITY, true);
    omo_budget_combine(&b);
    ck_assert_double_eq_tol(b.u95_deg, 6, 1e-12);
    ck_assert_double_eq_tol(b.beyond_u95_deg, 10, 1e-12);
    ck_assert_double_eq(b.coverage, 2.0);
}
END_TEST

/* ---- a movement's lines ---- */

static const struct omo_budget_line *line_of(const struct omo_budget *budget,
                                             const char *name)
{
    for (int i = 0; i < budget->count; i++) {
        if (strcmp(budget->line[i].name, name) == 0)
            return &budget->line[i];
    }
    return NULL;
}

static const struct omo_budget_line *line(const char *name)
{
    return line_of(&result.budget[OMO_MAXIMUM_HIGHEST], name);
}

static double share_deg(const char *name)
{
    const struct omo_budget_line *found = line(name);
    ck_assert_msg(found != NULL, "no line %s", name);
    return found->u_deg;
}

START_TEST(every_maximum_that_is_there_has_a_budget)
{
    struct figure f = flexion();
    f.repetitions = 3;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq(result.max_u95_deg, result.budget[OMO_MAXIMUM_HIGHEST].u95_deg);
    const double value[OMO_MAXIMUM_COUNT] = {
        [OMO_MAXIMUM_HIGHEST] = result.max_deg,
        [OMO_MAXIMUM_HELD] = result.held_max_deg,
        [OMO_MAXIMUM_MEAN] = result.mean_of_maxima_deg,
        [OMO_MAXIMUM_BEFORE_HIKE] = result.max_before_hike_deg,
    };
    for (int i = 0; i < OMO_MAXIMUM_COUNT; i++) {
        const struct omo_budget *b = &result.budget[i];
        const char *name = omo_maximum_name((enum omo_maximum)i);
        ck_assert_msg(isnan(value[i]) == (b->count == 0), "%s", name);
        ck_assert_msg(isnan(value[i]) == isnan(b->u95_deg), "%s", name);
        double sum = 0;
        for (int k = 0; k < b->count; k++) {
            const struct omo_budget_line *l = &b->line[k];
            ck_assert_msg(isfinite(l->u_deg) && l->u_deg >= 0, "%s %s", name, l->name);
            sum += l->beyond ? 0 : l->u_deg * l->u_deg;
        }
        if (b->count > 0)
            ck_assert_double_eq_tol(b->u95_deg, b->coverage * sqrt(sum), 1e-12);
    }
    ck_assert(isfinite(result.held_max_deg) && isfinite(result.mean_of_maxima_deg));
    ck_assert_ptr_null(omo_maximum_name(OMO_MAXIMUM_COUNT));
    /* An arm that never moved has a highest angle, but one the other way has none. */
    f.top_deg = -60;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(result.against_direction);
    ck_assert_int_eq(result.budget[OMO_MAXIMUM_HIGHEST].count, 0);
}
END_TEST

/** How far the highest angle goes when the marker is moved across the arm. */
static double moved_deg(enum omo_role role, double px)
{
    static struct omo_track_frame kept[FRAMES_MAX];
    double before_deg = result.max_deg;
    memcpy(kept, frames, count * sizeof *frames);
    for (size_t k = 0; k < count; k++) {
        struct omo_marker *from = &frames[k].markers.role[OMO_SHOULDER];
        struct omo_marker *to = &frames[k].markers.role[OMO_ELBOW];
        double x = to->x_px - from->x_px, y = to->y_px - from->y_px, l = hypot(x, y);
        frames[k].markers.role[role].x_px += px * -y / l;
        frames[k].markers.role[role].y_px += px * x / l;
    }
    ck_assert_int_eq(measure(), OMO_OK);
    double after_deg = result.max_deg;
    memcpy(frames, kept, count * sizeof *frames);
    ck_assert_int_eq(measure(), OMO_OK);
    return fabs(after_deg - before_deg);
}

START_TEST(sensitivities_are_what_moving_a_marker_does)
{
    /* With chest and hip the trunk's line does not hang on the shoulder. */
    struct figure f = flexion();
    f.chest = true;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    struct omo_budget b = result.budget[OMO_MAXIMUM_HIGHEST];
    /* The figure has 0.4 px a mm. */
    ck_assert_double_eq_tol(moved_deg(OMO_ELBOW, 1 * 0.4),
                            line_of(&b, "elbow-marker")->sensitivity, 0.002);
    ck_assert_double_eq_tol(moved_deg(OMO_SHOULDER, 1 * 0.4),
                            line_of(&b, "shoulder-marker")->sensitivity, 0.002);
    /* 38 mm off the axis, turned by a degree. */
    ck_assert_double_eq_tol(moved_deg(OMO_ELBOW, 38 * sin(1 / DEG_PER_RAD) * 0.4),
                            line_of(&b, "axial-rotation")->sensitivity, 0.002);
}
END_TEST

START_TEST(the_uncertainty_grows_as_less_of_the_trunk_is_seen)
{
    struct figure f = {.movement = "flexion",
                       .side = OMO_RIGHT,
                       .hip = true,
                       .chest = true,
                       .rest_deg = 4,
                       .top_deg = 130};
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    double both = result.max_u95_deg;
    double camera_deg[] = {share_deg("lens"), share_deg("level")};
    f.chest = false;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    double hip = result.max_u95_deg;
    f.hip = false;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    double shift = result.max_u95_deg;
    /* Without the beginning and the end there is no rest. */
    film(&f);
    ck_assert_int_eq(omo_measure(&settings, frames + 75, count - 120, rows, &result),
                     OMO_OK);
    double none = result.max_u95_deg;
    ck_assert_int_eq(result.reference, OMO_REFERENCE_NONE);
    ck_assert_double_gt(both, 2);
    ck_assert_double_gt(hip, both);
    ck_assert_double_gt(shift, hip);
    ck_assert_double_gt(none, shift);
    ck_assert_double_lt(none, 20);
    /* By hand for chest and hip at 130, on an arm of 300 mm: shoulder 13 mm = 2.483,
     * elbow 5 mm = 0.955, 15 degrees at 38 mm = 1.9, plane 12 degrees there sqrt(3) *
     * 0.62, trunk 0.95 in an arc of 50, here of 130, and its skin 0.8 at 150, growing with
     * the power 1.5; pixels 0.068 (arm) and 0.058 (trunk); lens and level as they come.
     */
    double plane = 130 - omo_projected_angle_deg(130, 12);
    double camera = pow(camera_deg[0], 2) + pow(camera_deg[1], 2);
    double want =
        2 * sqrt(pow(13 / 300.0 * 180 / M_PI, 2) + pow(5 / 300.0 * 180 / M_PI, 2) +
                 pow(15 * 38 / 300.0, 2) + 3 * plane * plane + camera +
                 pow(0.95 * 50 / 130.0, 2) + pow(0.8 * pow(130 / 150.0, 1.5), 2) +
                 pow(0.1 * M_SQRT2 / 120 * 180 / M_PI, 2) +
                 pow(0.1 * M_SQRT2 / 140 * 180 / M_PI, 2));
    ck_assert_double_eq_tol(both, want, 1e-3);
}
END_TEST

START_TEST(pixel_noise_alone_is_the_uncertainty_where_nothing_is_allowed)
{
    /* Arm of 120 px at 120 degrees, trunk of 196 px, 0.1 px a axis. The shoulder is in
     * both lines: moved across the arm it turns it by 1/120, and the trunk by -cos(120)
     * / 196 at once; moved along the arm, the trunk alone by sin(120) / 196. */
    struct figure f = {.movement = "flexion",
                       .side = OMO_RIGHT,
                       .hip = true,
                       .rest_deg = 4,
                       .top_deg = 120};
    struct omo_movement bare = *omo_movement_find(table, "flexion");
    memset(&bare.allowances, 0, sizeof bare.allowances);
    film(&f);
    settings.movement = &bare;
    ck_assert_int_eq(measure(), OMO_OK);
    double arm = 1 / 120.0, trunk = 1 / 196.0, a = 120 * M_PI / 180;
    double shared = arm * arm + trunk * trunk - 2 * arm * trunk * cos(a);
    double want = 2 * 0.1 * sqrt(arm * arm + trunk * trunk + shared) * 180 / M_PI;
    ck_assert_double_eq_tol(2 * share_deg("pixels"), want, 1e-3);
    ck_assert_double_eq_tol(2 * hypot(share_deg("pixels"),
                                      hypot(share_deg("lens"), share_deg("level"))),
                            result.max_u95_deg, 1e-3);
    /* By moving each marker by a little, without the formula. */
    double sum = 0;
    size_t at = (size_t)result.frame_at_max;
    double angle_deg = rows[at].angle_image_deg;
    struct omo_track_frame still = frames[at];
    for (int role = 0; role < OMO_ROLE_COUNT; role++) {
        if (still.markers.role[role].seen == OMO_NOT_SEEN)
            continue;
        for (int axis = 0; axis < 2; axis++) {
            frames[at] = still;
            *(axis ? &frames[at].markers.role[role].y_px
                   : &frames[at].markers.role[role].x_px) += 0.1;
            ck_assert_int_eq(measure(), OMO_OK);
            sum += pow(rows[at].angle_image_deg - angle_deg, 2);
        }
    }
    ck_assert_double_eq_tol(2 * sqrt(sum), want, 1e-3);
}
END_TEST

START_TEST(a_band_takes_the_arms_own_rotation_out)
{
    struct figure f = flexion();
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    const struct omo_allowances *a = &settings.movement->allowances;
    double sticker = result.max_u95_deg;
    ck_assert_double_eq_tol(share_deg("elbow-marker"), a->elbow_mm / 300 * DEG_PER_RAD,
                            0.01);
    /* 15 degrees at 38 mm on 300 mm: 1.9 degrees. */
    ck_assert_double_eq_tol(share_deg("axial-rotation"),
                            a->off_axis_mm / 300 * a->roll_deg, 0.02);
    settings.band[OMO_ELBOW] = true;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_ptr_null(line("axial-rotation"));
    ck_assert_double_eq_tol(share_deg("elbow-marker"), a->band_mm / 300 * DEG_PER_RAD,
                            0.01);
    ck_assert_double_lt(result.max_u95_deg, sticker);
    /* A band elsewhere changes nothing here. */
    settings.band[OMO_ELBOW] = false;
    settings.band[OMO_WRIST] = true;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq(result.max_u95_deg, sticker);
}
END_TEST

START_TEST(a_sleeve_and_a_stated_placement_count)
{
    struct figure f = flexion();
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    const struct omo_allowances *a = &settings.movement->allowances;
    settings.sleeve = true;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq(line("elbow-marker")->input_u, a->sleeve_mm);
    ck_assert_double_gt(a->sleeve_mm, a->elbow_mm);
    settings.placement_mm = 3;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq(line("elbow-marker")->input_u, 3);
    settings.band[OMO_ELBOW] = true;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq(line("elbow-marker")->input_u, a->band_mm);
}
END_TEST

START_TEST(the_arms_length_comes_from_the_markers_size_where_it_is_known)
{
    struct figure f = flexion();
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    double known = line("elbow-marker")->sensitivity;
    ck_assert_double_eq_tol(known, DEG_PER_RAD / 300, 1e-3);
    settings.marker_size_mm *= 1.2; /* all is a fifth larger */
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(line("elbow-marker")->sensitivity, known / 1.2, 1e-9);
    settings.marker_size_mm = NAN;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(line("elbow-marker")->sensitivity, DEG_PER_RAD / 300, 1e-9);
    settings.marker_size_mm = 1000; /* a mistake, not a giant */
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(line("elbow-marker")->sensitivity, DEG_PER_RAD / 300, 1e-9);
}
END_TEST

START_TEST(a_rotation_is_about_two_markers_and_the_level)
{
    struct figure f = {.movement = "external-rotation",
                       .side = OMO_RIGHT,
                       .wrist = true,
                       .rest_deg = 0,
                       .top_deg = 60};
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_ptr_null(line("shoulder-marker"));
    ck_assert_ptr_null(line("axial-rotation"));
    /* The trunk as it lies counts against the thorax alone. */
    ck_assert(line("not-upright")->beyond);
    ck_assert_double_gt(share_deg("elbow-marker"), 0);
    ck_assert_double_gt(share_deg("wrist-marker"), 0);
    ck_assert_double_ge(share_deg("level"), OMO_LENS_ROLL_ASSUMED_U_DEG - 1e-3);
}
END_TEST

/** Angle seen from far away of a forearm that is turned by 40 degrees about an upper arm
 *  which is turned aside from the camera's line and then tipped upwards, with the elbow
 *  bent by so much less than a right angle. All in degrees; directions in space by their
 *  own vectors: x to the right, y up, z from the camera along the arm. */
static double seen_deg(double aside_deg, double up_deg, double less_deg)
{
    double h = aside_deg / DEG_PER_RAD, v = up_deg / DEG_PER_RAD, w = 40 / DEG_PER_RAD,
           b = less_deg / DEG_PER_RAD;
    double arm[2] = {cos(v) * sin(h), sin(v)}; /* x and y alone are seen */
    double ahead[2] = {-sin(v) * sin(h), cos(v)};
    double out[2] = {cos(h), 0}, fore[2];
    for (int i = 0; i < 2; i++)
        fore[i] = cos(b) * (cos(w) * ahead[i] + sin(w) * out[i]) + sin(b) * arm[i];
    return atan2(fore[0], fore[1]) * DEG_PER_RAD;
}

/** What changes its sign with the tip and the bend. */
static double product_deg(double aside_deg, double up_deg, double less_deg)
{
    return fabs(seen_deg(aside_deg, up_deg, less_deg) -
                seen_deg(aside_deg, less_deg > 0 ? up_deg : -up_deg, -less_deg)) /
           2;
}

START_TEST(an_arm_off_the_cameras_line_counts_as_it_is_seen)
{
    struct figure f = {.movement = "external-rotation",
                       .side = OMO_RIGHT,
                       .wrist = true,
                       .rest_deg = 0,
                       .top_deg = 40};
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    const struct omo_allowances *a = &settings.movement->allowances;
    /* A tenth of what is allowed for, so that the next order is gone. */
    double h = a->plane_deg / 10, v = a->arm_level_deg / 10, b = a->elbow_bent_deg / 10;
    ck_assert_double_eq_tol(share_deg("arm-level"), 100 * product_deg(h, v, 0), 0.02);
    double bent_deg = hypot(product_deg(h, 0, b), product_deg(0, v, b));
    ck_assert_double_eq_tol(share_deg("elbow-bent"), 100 * bent_deg, 0.05);
    /* 11.5 degrees at 25 mm on 250 mm: 1.15; nothing round a band. */
    ck_assert_double_eq_tol(share_deg("forearm-turn"), 1.15, 0.05);
    settings.band[OMO_WRIST] = true;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_ptr_null(line("forearm-turn"));
}
END_TEST

START_TEST(not_upright_at_rest_counts_against_the_true_thorax_alone)
{
    struct figure f = flexion(); /* shoulder to hip, made vertical at rest */
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    const struct omo_budget *b = &result.budget[OMO_MAXIMUM_HIGHEST];
    const struct omo_budget_line *upright = line("not-upright");
    ck_assert_ptr_nonnull(upright);
    ck_assert(upright->beyond);
    ck_assert_double_eq_tol(b->beyond_u95_deg,
                            sqrt(pow(b->u95_deg, 2) + pow(2 * upright->u_deg, 2)), 1e-12);
    /* And its camera's roll is in every angle that starts from the vertical. */
    ck_assert_double_ge(share_deg("level"), OMO_LENS_ROLL_ASSUMED_U_DEG - 1e-3);
    /* Chest and hip without a rest are taken as they are and carry their own direction,
     * and a camera's roll turns both lines: little is left. */
    struct figure own = flexion();
    own.chest = true;
    film(&own);
    count -= 75 + 45;
    memmove(frames, frames + 75, count * sizeof *frames);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(!line("not-upright")->beyond);
    ck_assert(isnan(b->beyond_u95_deg));
    ck_assert_double_lt(share_deg("level"), 0.8);
}
END_TEST

START_TEST(a_lens_profile_takes_the_place_of_what_is_assumed)
{
    struct figure f = flexion();
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    double lens_deg = share_deg("lens"), level_deg = share_deg("level");
    ck_assert_str_eq(line("lens")->origin, "assumed lens");
    struct omo_lens lens;
    omo_lens_default(settings.picture_width, settings.picture_height, &lens);
    lens.roll_deg = lens.pitch_deg = 0;
    lens.roll_u_deg = 0.1;
    lens.pitch_u_deg = 0.2;
    lens.readout_s = 0.02;
    memset(lens.covariance, 0, sizeof lens.covariance);
    settings.lens = &lens;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_str_eq(line("lens")->origin, "lens profile");
    ck_assert_str_eq(line("level")->origin, "lens profile");
    ck_assert_str_eq(line("rolling-shutter")->origin, "lens profile");
    ck_assert_double_eq_tol(line("rolling-shutter")->input_u, 20, 1e-9);
    ck_assert_double_lt(share_deg("lens"), 1e-6);
    ck_assert_double_gt(lens_deg, 1e-3);
    const struct omo_markers *m = &frames[result.frame_at_max].markers;
    struct omo_point from = {m->role[OMO_SHOULDER].x_px, m->role[OMO_SHOULDER].y_px};
    struct omo_point to = {m->role[OMO_ELBOW].x_px, m->role[OMO_ELBOW].y_px};
    ck_assert_double_eq(share_deg("level"), omo_lens_level_u_deg(&lens, from, to));
    ck_assert_double_lt(share_deg("level"), level_deg / 4);
}
END_TEST

START_TEST(rows_read_one_after_the_other_matter_while_the_arm_moves)
{
    /* Held still at the top: nothing. Turned round at once: half the movement's speed is
     * seen beside the top, times the arm's share of the picture's height. */
    struct figure f = flexion();
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_lt(share_deg("rolling-shutter"), 0.02);
    ck_assert_int_eq(line("rolling-shutter")->distribution, OMO_RECTANGULAR);
    ck_assert_double_eq_tol(line("rolling-shutter")->input_u, 33 / sqrt(3), 1e-9);
    /* The take ends on the way up, at its fastest. */
    size_t k = 0;
    while (figure_share(&f, frames[k].time_s) < 0.5)
        k++;
    count = k + 1;
    ck_assert_int_eq(measure(), OMO_OK);
    size_t at = (size_t)result.frame_at_max;
    ck_assert_uint_eq(at, k);
    double speed = (figure_angle_deg(&f, frames[k].time_s) -
                    figure_angle_deg(&f, frames[k - 1].time_s)) *
                   30;
    const struct omo_markers *m = &frames[k].markers;
    double share = fabs(m->role[OMO_ELBOW].y_px - m->role[OMO_SHOULDER].y_px) /
                   settings.picture_height;
    ck_assert_double_gt(speed, 40);
    ck_assert_double_eq_tol(share_deg("rolling-shutter"), 33e-3 / sqrt(3) * speed * share,
                            0.01);
    /* Of an unknown height the worst is taken. */
    settings.picture_height = 0;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(share_deg("rolling-shutter"), 33e-3 / sqrt(3) * speed, 0.03);
}
END_TEST

START_TEST(few_repetitions_widen_the_mean_and_the_factor)
{
    struct figure f = flexion();
    f.repetitions = 3;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.repetitions, 3);
    const struct omo_budget *mean = &result.budget[OMO_MAXIMUM_MEAN];
    const struct omo_budget *highest = &result.budget[OMO_MAXIMUM_HIGHEST];
    const struct omo_budget_line *l = line_of(mean, "repetitions");
    ck_assert_ptr_nonnull(l);
    ck_assert_ptr_null(line_of(highest, "repetitions"));
    ck_assert_double_eq(l->freedom, 2);
    ck_assert_double_lt(l->u_deg, 0.05); /* all alike */
    /* The second one's top is turned by 20 degrees. */
    size_t first = result.repetition[1].first, last = result.repetition[1].last;
    for (size_t k = first; k <= last; k++) {
        struct omo_marker *s = &frames[k].markers.role[OMO_SHOULDER];
        struct omo_marker *e = &frames[k].markers.role[OMO_ELBOW];
        double back = 20 / DEG_PER_RAD * figure_share(&f, frames[k].time_s);
        double x = e->x_px - s->x_px, y = e->y_px - s->y_px;
        e->x_px = s->x_px + x * cos(back) - y * sin(back);
        e->y_px = s->y_px + x * sin(back) + y * cos(back);
    }
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.repetitions, 3);
    double other = result.repetition[1].max_deg;
    ck_assert_double_eq_tol(fabs(other - result.repetition[0].max_deg), 20, 0.5);
    /* Two of 140 and one of 120 or 160: SD 20 / sqrt(3), of the mean 20 / 3. */
    l = line_of(mean, "repetitions");
    ck_assert_double_eq_tol(l->u_deg, 20.0 / 3, 0.2);
    double rest = sqrt(pow(mean->u_deg, 2) - pow(l->u_deg, 2));
    ck_assert_double_eq_tol(mean->freedom, 2 * pow(mean->u_deg / l->u_deg, 4), 1e-9);
    ck_assert_double_eq_tol(rest, highest->u_deg, 1e-9);
    ck_assert_double_gt(mean->coverage, 2.5);
    ck_assert_double_eq(highest->coverage, 2);
    /* A single one has no spread to tell. */
    f.repetitions = 1;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_ptr_null(line_of(mean, "repetitions"));
    ck_assert_double_eq(mean->u95_deg, highest->u95_deg);
}
END_TEST

static Suite *suite(void)
{
    Suite *s = suite_create("budget");
    TCase *tc = tcase_create("arithmetic");
    tcase_add_test(tc, the_end_gauge_of_the_guide_is_reproduced);
    tcase_add_test(tc, the_coverage_factor_is_the_guides_table);
    tcase_add_test(tc, freedom_is_that_of_what_counts);
    tcase_add_test(tc, what_lies_beyond_the_definition_is_shown_and_not_counted);
    suite_add_tcase(s, tc);
    tc = tcase_create("lines");
    tcase_add_checked_fixture(tc, load_table, drop_table);
    tcase_add_test(tc, every_maximum_that_is_there_has_a_budget);
    tcase_add_test(tc, sensitivities_are_what_moving_a_marker_does);
    tcase_add_test(tc, the_uncertainty_grows_as_less_of_the_trunk_is_seen);
    tcase_add_test(tc, pixel_noise_alone_is_the_uncertainty_where_nothing_is_allowed);
    tcase_add_test(tc, a_band_takes_the_arms_own_rotation_out);
    tcase_add_test(tc, a_sleeve_and_a_stated_placement_count);
    tcase_add_test(tc, the_arms_length_comes_from_the_markers_size_where_it_is_known);
    tcase_add_test(tc, a_rotation_is_about_two_markers_and_the_level);
    tcase_add_test(tc, an_arm_off_the_cameras_line_counts_as_it_is_seen);
    tcase_add_test(tc, not_upright_at_rest_counts_against_the_true_thorax_alone);
    tcase_add_test(tc, a_lens_profile_takes_the_place_of_what_is_assumed);
    tcase_add_test(tc, rows_read_one_after_the_other_matter_while_the_arm_moves);
    tcase_add_test(tc, few_repetitions_widen_the_mean_and_the_factor);
    suite_add_tcase(s, tc);
    return s;
}

int main(void)
{
    SRunner *runner = srunner_create(suite());
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
