/* Pivot and plane: an arm whose shoulder marker is not on the joint, made from closed
 * forms that the fit does not use. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "motion/movements.h"
#include "motion/pivot.h"
#include "omogon/geometry.h"
#include "omogon/motion.h"

#define RAD         (M_PI / 180.0)
#define PX_PER_MM   0.4
#define UPPER_MM    300.0
#define FORE_MM     235.0
#define RATE_HZ     30.0
#define DISTANCE_MM 2300.0
#define BELOW_MM    350.0 /* the picture's middle below the shoulder */
#define CHEST_X_MM  (-170.0)
#define HIP_Y_MM    480.0
#define CENTRE_X    639.5
#define CENTRE_Y    359.5
#define FRAMES      300
#define REST_S      2.0
#define RAISE_S     6.0

/* One abduction of a right arm, seen from the front, to the left of the picture. */
struct arm {
    double top_deg;
    double up_mm, ahead_mm; /* marker from the joint, at rest */
    double share;           /* of the arm's angle by which that offset turns */
    double plane_deg;
    double bend_deg;  /* elbow */
    double askew_deg; /* the person, to the camera */
    double lean_deg;  /* of the trunk at the top, away from the arm */
    double left;      /* 1: a left arm */
};

static struct omo_movement_table *table;
static struct omo_measure_settings settings;
static struct omo_track_frame frames[FRAMES];
static struct omo_trace_row rows[FRAMES];
static struct omo_result result;

static void set_up(void)
{
    ck_assert_int_eq(omo_movement_table_load(NULL, &table), OMO_OK);
    omo_measure_settings_default(&settings);
    settings.movement = omo_movement_find(table, "abduction");
    settings.picture_width = 1280;
    settings.picture_height = 720;
    settings.marker_size_mm = 30;
}

static void tear_down(void)
{
    omo_movement_table_destroy(table);
}

static double angle_at(const struct arm *arm, double time_s)
{
    double share = fmin(fmax((time_s - REST_S) / RAISE_S, 0.0), 1.0);
    return 5.0 + (arm->top_deg - 5.0) * 0.5 * (1.0 - cos(M_PI * share));
}

/** A place of the body, so far behind the shoulder, on the picture of someone who leans
 *  about the pelvis' middle and stands askew about the shoulder at rest. */
static struct omo_marker marker(const struct arm *arm, double lean_deg, double x_mm,
                                double y_mm, double behind_mm)
{
    double way = arm->left > 0 ? 1.0 : -1.0;
    double c = cos(lean_deg * RAD), s = sin(lean_deg * RAD);
    double across = x_mm - CHEST_X_MM, down = y_mm - HIP_Y_MM;
    double x = CHEST_X_MM + across * c + down * s;
    double y = HIP_Y_MM - across * s + down * c;
    double askew = arm->askew_deg * RAD;
    double behind = x * sin(askew) + behind_mm * cos(askew);
    x = x * cos(askew) - behind_mm * sin(askew);
    double px_per_mm = PX_PER_MM / (1.0 + behind / DISTANCE_MM);
    return (struct omo_marker){OMO_SEEN, CENTRE_X + way * x * px_per_mm,
                               CENTRE_Y + (y - BELOW_MM) * px_per_mm, 30 * px_per_mm,
                               0.05};
}

static void film(const struct arm *arm)
{
    settings.side = arm->left > 0 ? OMO_LEFT : OMO_RIGHT;
    double c = cos(arm->plane_deg * RAD), s = sin(arm->plane_deg * RAD);
    for (size_t k = 0; k < FRAMES; k++) {
        double time_s = (double)k / RATE_HZ, deg = angle_at(arm, time_s);
        double turn = arm->share * deg * RAD, fore = (deg + arm->bend_deg) * RAD;
        double x = UPPER_MM * sin(deg * RAD), y = UPPER_MM * cos(deg * RAD);
        double far = x + FORE_MM * sin(fore);
        double lean = arm->lean_deg * (deg - 5.0) / (arm->top_deg - 5.0);
        struct omo_markers *m = &frames[k].markers;
        frames[k].index = (int64_t)k;
        frames[k].time_s = time_s;
        m->role[OMO_SHOULDER] =
            marker(arm, lean, arm->ahead_mm * cos(turn) - arm->up_mm * sin(turn),
                   -arm->ahead_mm * sin(turn) - arm->up_mm * cos(turn), 0);
        m->role[OMO_ELBOW] = marker(arm, lean, x * c, y, x * s);
        m->role[OMO_WRIST] = marker(arm, lean, far * c, y + FORE_MM * cos(fore), far * s);
        m->role[OMO_HIP] = marker(arm, 0, -100, HIP_Y_MM, 0);
        m->role[OMO_CHEST] = marker(arm, lean, CHEST_X_MM, 20, 0);
    }
}

static double image_max_deg(void)
{
    double max_deg = -INFINITY;
    for (size_t k = 0; k < FRAMES; k++)
        max_deg = fmax(max_deg, rows[k].angle_image_deg);
    return max_deg;
}

static double measure(const struct arm *arm)
{
    film(arm);
    ck_assert_int_eq(omo_measure(&settings, frames, FRAMES, rows, &result), OMO_OK);
    return result.max_deg;
}

static struct arm usual(double top_deg)
{
    return (struct arm){.top_deg = top_deg, .bend_deg = 10};
}

START_TEST(a_marker_above_the_joint_reads_low_and_is_corrected)
{
    /* 40 mm above on 300 mm reads 82.405 for 90 degrees, 129.057 for 135 and 157.016 for
     * 160: closed form, checked in test_geometry.c. */
    static const struct {
        double top_deg, image_deg;
    } at[] = {{90, 82.405357}, {135, 129.057194}, {160, 157.015599}};
    for (size_t i = 0; i < sizeof at / sizeof at[0]; i++) {
        struct arm arm = usual(at[i].top_deg);
        arm.up_mm = 40;
        double max_deg = measure(&arm);
        ck_assert_double_eq_tol(image_max_deg(), at[i].image_deg, 0.02);
        /* The fit believes in a blade that turns; this one does not. Half is gained at
         * the least, and what is left lies within what is stated. */
        double left_deg = fabs(max_deg - at[i].top_deg);
        ck_assert_double_lt(left_deg, result.max_u95_deg);
        if (at[i].top_deg < 150)
            ck_assert_double_lt(left_deg, 0.5 * (at[i].top_deg - at[i].image_deg));
    }
}
END_TEST

START_TEST(an_offset_that_turns_with_the_blade_is_found)
{
    static const double tops[] = {60, 90, 120, 150, 170};
    settings.shoulder_place = OMO_PLACE_ON_EDGE;
    for (size_t i = 0; i < sizeof tops / sizeof tops[0]; i++) {
        struct arm arm = usual(tops[i]);
        arm.up_mm = 30;
        arm.share = 0.33;
        double max_deg = measure(&arm);
        ck_assert_double_lt(fabs(max_deg - tops[i]), 1.5);
        ck_assert_double_lt(fabs(max_deg - tops[i]),
                            0.5 * fabs(image_max_deg() - tops[i]));
        ck_assert_double_gt(result.pivot_offset_ratio, 0.05);
        ck_assert_double_lt(result.pivot_offset_ratio, 0.16);
    }
}
END_TEST

START_TEST(markers_on_the_joints_lose_little)
{
    static const double tops[] = {45, 90, 135, 170};
    settings.shoulder_place = OMO_PLACE_OVER_HEAD;
    for (size_t i = 0; i < sizeof tops / sizeof tops[0]; i++) {
        struct arm arm = usual(tops[i]);
        ck_assert_double_lt(fabs(measure(&arm) - tops[i]), 1.0);
    }
}
END_TEST

START_TEST(a_band_is_brought_to_the_depth_of_the_shoulders_sticker)
{
    /* By central projection: the sticker straight before the joint, the band round the
     * bone, 40 mm further off than the sticker and so drawn to the picture's middle. */
    enum { BEHIND_MM = 40, AHEAD_MM = 60, DOWN_MM = -350 };
    static const double tops[] = {30, 60, 90, 150};
    double none[OMO_PIVOT_UNKNOWNS] = {0};
    struct omo_pivot_scale scale = {.distance_mm = DISTANCE_MM,
                                    .trunk_mm = 450,
                                    .arc_deg = 150,
                                    .elbow_behind_mm = BEHIND_MM,
                                    .wrist_behind_mm = BEHIND_MM};
    for (size_t i = 0; i < sizeof tops / sizeof tops[0]; i++) {
        double nearer = DISTANCE_MM / (DISTANCE_MM + BEHIND_MM);
        double s = sin(tops[i] * RAD), c = cos(tops[i] * RAD);
        struct omo_pivot_view view = {
            .shoulder = {AHEAD_MM, DOWN_MM},
            .elbow = {(AHEAD_MM + UPPER_MM * s) * nearer,
                      (DOWN_MM + UPPER_MM * c) * nearer},
            .wrist = {(AHEAD_MM + (UPPER_MM + FORE_MM) * s) * nearer,
                      (DOWN_MM + (UPPER_MM + FORE_MM) * c) * nearer},
            .wrist_seen = true,
        };
        struct omo_pivot_reading read = omo_pivot_read(none, &scale, &view, tops[i]);
        ck_assert_double_eq_tol(read.angle_deg, tops[i], 1e-6);
        ck_assert_double_eq_tol(read.length_mm, UPPER_MM, 1e-6);
        ck_assert_double_eq_tol(read.forearm_mm, FORE_MM, 1e-6);
        ck_assert_double_eq_tol(read.bend_deg, 0, 1e-6);
        /* What the picture alone says is off by the closed form. */
        double image_deg =
            atan2(view.elbow.ahead - AHEAD_MM, view.elbow.down - DOWN_MM) / RAD;
        scale.elbow_behind_mm = 0;
        read = omo_pivot_read(none, &scale, &view, tops[i]);
        ck_assert_double_eq_tol(read.angle_deg, image_deg, 1e-6);
        scale.elbow_behind_mm = BEHIND_MM;
        ck_assert_double_gt(fabs(image_deg - tops[i]), 0.1);
    }
}
END_TEST

START_TEST(a_turned_plane_shows_in_the_length_and_is_corrected)
{
    /* Parallel projection reads 136.78 for 135 degrees in a plane turned by 20 (closed
     * form, checked in test_geometry.c); from 2.3 m more, when the arm comes nearer. */
    struct arm arm = usual(135);
    arm.plane_deg = -20;
    settings.shoulder_place = OMO_PLACE_OVER_HEAD;
    double max_deg = measure(&arm);
    ck_assert_double_gt(image_max_deg(), omo_projected_angle_deg(135, 20));
    ck_assert_double_lt(fabs(max_deg - 135), 0.75 * fabs(image_max_deg() - 135));
    ck_assert_double_lt(result.plane_turn_deg, -8);
}
END_TEST

START_TEST(someone_askew_who_leans_comes_nearer_and_is_corrected)
{
    /* Twelve degrees askew and leaning by ten, the shoulder comes nearer by 17 mm and the
     * elbow by as much less: unallowed for it reads 0.9 degrees off. */
    static const double ways[] = {-12, 12};
    settings.shoulder_place = OMO_PLACE_OVER_HEAD;
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        struct arm arm = usual(150);
        arm.askew_deg = ways[i];
        double still_deg = measure(&arm);
        arm.lean_deg = 10;
        ck_assert_double_lt(fabs(measure(&arm) - still_deg), 0.65);
        ck_assert_double_lt(fabs(result.max_deg - 150), result.max_u95_deg);
    }
}
END_TEST

START_TEST(a_small_arc_falls_back_to_what_is_believed_and_says_so)
{
    struct arm arm = usual(18);
    arm.up_mm = 30;
    measure(&arm);
    ck_assert(isnan(result.pivot_offset_ratio));
    ck_assert(isnan(result.plane_turn_deg));
    ck_assert_ptr_nonnull(strstr(result.note, "too small"));
    /* And it gains. */
    arm.top_deg = 45;
    double max_deg = measure(&arm);
    ck_assert_double_lt(fabs(max_deg - 45), fabs(image_max_deg() - 45));
    ck_assert_ptr_null(strstr(result.note, "too small"));
}
END_TEST

START_TEST(a_bent_elbow_says_nothing_about_the_shoulder)
{
    struct arm arm = usual(120);
    arm.up_mm = 30;
    arm.share = 0.33;
    arm.bend_deg = 70;
    double bent_deg = measure(&arm);
    ck_assert_ptr_nonnull(strstr(result.note, "elbow was bent"));
    for (size_t k = 0; k < FRAMES; k++)
        frames[k].markers.role[OMO_WRIST].seen = OMO_NOT_SEEN;
    ck_assert_int_eq(omo_measure(&settings, frames, FRAMES, rows, &result), OMO_OK);
    ck_assert_double_eq_tol(result.max_deg, bent_deg, 1e-9);
    ck_assert_double_lt(fabs(bent_deg - 120), 2.5);
}
END_TEST

START_TEST(the_uncorrected_angle_stays_in_its_own_column)
{
    struct arm arm = usual(120);
    arm.up_mm = 30;
    measure(&arm);
    double corrected_deg = result.max_deg, u95_deg = result.max_u95_deg;
    double image_deg = image_max_deg();
    settings.no_correction = true;
    measure(&arm);
    ck_assert(image_max_deg() == image_deg);
    ck_assert_double_eq_tol(result.max_deg, image_deg, 0.02);
    ck_assert_double_gt(fabs(corrected_deg - image_deg), 2);
    ck_assert(isnan(result.pivot_offset_ratio));
    ck_assert_double_ne(result.max_u95_deg, u95_deg);
}
END_TEST

START_TEST(both_sides_are_corrected_alike)
{
    struct arm arm = usual(140);
    arm.up_mm = 25;
    arm.plane_deg = 10;
    double right_deg = measure(&arm);
    arm.left = 1;
    ck_assert_double_eq_tol(measure(&arm), right_deg, 1e-6);
}
END_TEST

START_TEST(the_budget_tells_what_the_fit_leaves_open)
{
    struct arm arm = usual(120);
    measure(&arm);
    double sticker_deg = result.max_u95_deg;
    settings.band[OMO_ELBOW] = settings.band[OMO_WRIST] = true;
    measure(&arm);
    ck_assert_double_lt(result.max_u95_deg, sticker_deg);
    bool fit = false;
    const struct omo_budget *b = &result.budget[OMO_MAXIMUM_HIGHEST];
    for (int i = 0; i < b->count; i++)
        fit |= strcmp(b->line[i].name, "pivot-and-plane") == 0 && b->line[i].u_deg > 0.3;
    ck_assert(fit);
}
END_TEST

START_TEST(mistakes_in_the_priors_are_told)
{
    struct omo_pivot_priors priors;
    const char *none = "[upper-arm]\nsd_ratio=0.1\n";
    const char *certain = "[upper-arm]\nsd_ratio=0\nsource=our choice\n";
    ck_assert_int_eq(omo_pivot_priors_parse(none, strlen(none), "p.ini", &priors),
                     OMO_ERR_SETTINGS);
    ck_assert_int_eq(omo_pivot_priors_parse(certain, strlen(certain), "p.ini", &priors),
                     OMO_ERR_SETTINGS);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("pivot");
    TCase *tests = tcase_create("fit");
    tcase_set_timeout(tests, 60);
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, a_marker_above_the_joint_reads_low_and_is_corrected);
    tcase_add_test(tests, an_offset_that_turns_with_the_blade_is_found);
    tcase_add_test(tests, markers_on_the_joints_lose_little);
    tcase_add_test(tests, a_band_is_brought_to_the_depth_of_the_shoulders_sticker);
    tcase_add_test(tests, a_turned_plane_shows_in_the_length_and_is_corrected);
    tcase_add_test(tests, someone_askew_who_leans_comes_nearer_and_is_corrected);
    tcase_add_test(tests, a_small_arc_falls_back_to_what_is_believed_and_says_so);
    tcase_add_test(tests, a_bent_elbow_says_nothing_about_the_shoulder);
    tcase_add_test(tests, the_uncorrected_angle_stays_in_its_own_column);
    tcase_add_test(tests, both_sides_are_corrected_alike);
    tcase_add_test(tests, the_budget_tells_what_the_fit_leaves_open);
    tcase_add_test(tests, mistakes_in_the_priors_are_told);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
