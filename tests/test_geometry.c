#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "omogon/geometry.h"

#define TOL_DEG   1e-6
#define TOL_EXACT 1e-9

static double turn_rad(double angle_deg)
{
    return angle_deg * M_PI / 180.0;
}

/* Plane geometry worked by hand: (120, 160) leans atan(3/4) from straight down. */
static const struct {
    const char *name;
    struct omo_point elbow;
    double want_deg;
} arm_cases[] = {
    {"arm hanging out to the right", {520, 360}, 36.86989764584402},
    {"arm above the shoulder's height", {500, 100}, 135.0},
    {"arm straight up", {400, 20}, 180.0},
    {"arm nearly up", {450, 80}, 157.38013505195957},
};

START_TEST(angle_of_an_arm_against_the_vertical)
{
    struct omo_point shoulder = {400, 200};
    struct omo_point below = {400, 201};
    double got_deg = NAN;
    ck_assert_int_eq(omo_angle_at_deg(below, shoulder, arm_cases[_i].elbow, &got_deg),
                     OMO_OK);
    ck_assert_msg(fabs(got_deg - arm_cases[_i].want_deg) < TOL_DEG,
                  "%s: got %.9f, want %.9f degrees", arm_cases[_i].name, got_deg,
                  arm_cases[_i].want_deg);
}
END_TEST

START_TEST(turn_between_directions_is_signed_clockwise_on_the_picture)
{
    struct omo_point down = {0, 1}, right = {1, 0}, left = {-1, 0}, up = {0, -1};
    ck_assert_double_eq_tol(omo_turn_deg(down, left), 90.0, TOL_EXACT);
    ck_assert_double_eq_tol(omo_turn_deg(down, right), -90.0, TOL_EXACT);
    ck_assert_double_eq_tol(omo_turn_deg(right, down), 90.0, TOL_EXACT);
    ck_assert_double_eq_tol(omo_turn_deg(down, up), 180.0, TOL_EXACT);
    ck_assert_double_eq_tol(omo_turn_deg(up, down), 180.0, TOL_EXACT);
    /* 45 and 135 degrees by diagonal vectors. */
    ck_assert_double_eq_tol(fabs(omo_turn_deg(down, (struct omo_point){1, 1})), 45.0,
                            TOL_EXACT);
    ck_assert_double_eq_tol(fabs(omo_turn_deg(down, (struct omo_point){1, -1})), 135.0,
                            TOL_EXACT);
}
END_TEST

START_TEST(turn_keeps_its_precision_for_directions_that_nearly_agree)
{
    /* An arm along the trunk: acos of a rounded cosine would give NAN or 0 here. */
    double tiny_rad = 1e-9;
    struct omo_point a = {0, 250}, b = {250 * sin(tiny_rad), 250 * cos(tiny_rad)};
    ck_assert_double_eq_tol(omo_turn_deg(b, a), tiny_rad * 180.0 / M_PI, 1e-15);
}
END_TEST

START_TEST(rays_without_length_or_with_nan_give_no_angle)
{
    struct omo_point a = {1, 2}, b = {3, 4}, bad = {NAN, 0}, far_off = {INFINITY, 0};
    double out_deg = 7.0;
    ck_assert_int_eq(omo_angle_at_deg(a, a, b, &out_deg), OMO_ERR_ARG);
    ck_assert_int_eq(omo_angle_at_deg(a, b, b, &out_deg), OMO_ERR_ARG);
    ck_assert_int_eq(omo_angle_at_deg(bad, a, b, &out_deg), OMO_ERR_ARG);
    ck_assert_int_eq(omo_angle_at_deg(a, far_off, b, &out_deg), OMO_ERR_ARG);
    ck_assert_double_eq(out_deg, 7.0);
    ck_assert(isnan(omo_turn_deg((struct omo_point){0, 0}, a)));
    ck_assert(isnan(omo_turn_deg(a, bad)));
}
END_TEST

static const struct {
    const char *name;
    double angle_deg, low_deg, want_deg;
} wrap_cases[] = {
    {"inside stays", 120, -90, 120},
    {"low end belongs", -90, -90, -90},
    {"high end does not", 270, -90, -90},
    {"arm past overhead", -170, -90, 190},
    {"two turns", 725, -180, 5},
    {"two turns back", -725, -180, -5},
    {"half a turn", 180, -180, -180},
    {"just below the low end", -90.0 - 1e-13, -90, 269.9999999999999},
};

START_TEST(wrapping_puts_an_angle_into_its_range)
{
    double got_deg = omo_wrap_deg(wrap_cases[_i].angle_deg, wrap_cases[_i].low_deg);
    ck_assert_msg(fabs(got_deg - wrap_cases[_i].want_deg) < TOL_EXACT, "%s: got %.12f",
                  wrap_cases[_i].name, got_deg);
    ck_assert_double_ge(got_deg, wrap_cases[_i].low_deg);
    ck_assert_double_lt(got_deg, wrap_cases[_i].low_deg + 360.0);
}
END_TEST

START_TEST(wrapping_never_reaches_the_open_end)
{
    /* A remainder of -1e-20 plus 360 rounds to 360. */
    ck_assert_double_eq(omo_wrap_deg(-1e-20, 0), 0.0);
    ck_assert(isnan(omo_wrap_deg(NAN, -90)));
    ck_assert(isnan(omo_wrap_deg(INFINITY, -90)));
}
END_TEST

/* Computed from atan2(sin a cos p, cos a), parallel projection. */
static const struct {
    double angle_deg, plane_deg, image_deg, ratio;
} projection_cases[] = {
    {45, 30, 40.893395, 0.935414},
    {60, 40, 52.995498, 0.830733},
    {120, 30, 123.690068, 0.901388},
};

START_TEST(projection_out_of_the_picture_plane_and_back)
{
    double a_deg = projection_cases[_i].angle_deg, p_deg = projection_cases[_i].plane_deg;
    double image_deg = omo_projected_angle_deg(a_deg, p_deg);
    double ratio = omo_foreshortening_ratio(a_deg, p_deg);
    ck_assert_double_eq_tol(image_deg, projection_cases[_i].image_deg, TOL_DEG);
    ck_assert_double_eq_tol(ratio, projection_cases[_i].ratio, 1e-6);
    ck_assert_double_eq_tol(omo_unprojected_angle_deg(image_deg, ratio), a_deg,
                            TOL_EXACT);
}
END_TEST

START_TEST(foreshortening_tells_how_far_out_of_plane_the_arm_is)
{
    ck_assert_double_eq_tol(acos(omo_foreshortening_ratio(45, 30)) * 180.0 / M_PI,
                            20.704811, TOL_DEG);
}
END_TEST

START_TEST(projection_is_exact_along_and_across_the_trunk)
{
    for (double p_deg = 0; p_deg < 90; p_deg += 15) {
        ck_assert_double_eq_tol(omo_projected_angle_deg(0, p_deg), 0, TOL_EXACT);
        ck_assert_double_eq_tol(omo_projected_angle_deg(90, p_deg), 90, TOL_EXACT);
        ck_assert_double_eq_tol(omo_projected_angle_deg(180, p_deg), 180, TOL_EXACT);
    }
}
END_TEST

START_TEST(largest_projection_error_follows_its_closed_form)
{
    static const struct {
        double plane_deg, want_deg;
    } rows[] = {{10, 0.4386}, {20, 1.7817}, {30, 4.1172}, {45, 9.8793}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double want_deg = rows[i].want_deg;
        ck_assert_double_eq_tol(omo_projection_error_max_deg(rows[i].plane_deg), want_deg,
                                1e-4);
        double worst_deg = 0;
        for (double a_deg = 0; a_deg <= 180; a_deg += 0.01) {
            double off = omo_projected_angle_deg(a_deg, rows[i].plane_deg) - a_deg;
            worst_deg = fmax(worst_deg, fabs(off));
        }
        ck_assert_double_eq_tol(worst_deg, want_deg, 1e-3);
    }
}
END_TEST

START_TEST(pivot_offset_bends_the_angle_and_its_inverse_restores_it)
{
    /* Marker 40 mm above the joint, 300 mm arm: atan2(L sin a, h + L cos a). */
    static const struct {
        double angle_deg, image_deg;
    } rows[] = {{30, 26.579755}, {90, 82.405357}, {135, 129.057194}, {160, 157.015599}};
    double ratio = 40.0 / 300.0;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double image_deg = omo_pivot_image_angle_deg(rows[i].angle_deg, ratio);
        ck_assert_double_eq_tol(image_deg, rows[i].image_deg, TOL_DEG);
        ck_assert_double_eq_tol(omo_pivot_true_angle_deg(image_deg, ratio),
                                rows[i].angle_deg, TOL_EXACT);
    }
    ck_assert(isnan(omo_pivot_true_angle_deg(90, 1.5)));
    ck_assert(isnan(omo_pivot_true_angle_deg(NAN, 0.1)));
}
END_TEST

START_TEST(largest_pivot_error_follows_its_closed_form)
{
    /* asin(h / L), at an image angle of 90: by the sine law in the triangle of marker,
     * joint and elbow. */
    static const struct {
        double offset_mm, want_deg;
    } rows[] = {{30, 5.7392}, {40, 7.6623}, {50, 9.5941}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double ratio = rows[i].offset_mm / 300, worst_deg = 0, at_deg = NAN;
        for (double a_deg = 0; a_deg <= 180; a_deg += 0.01) {
            double off = a_deg - omo_pivot_image_angle_deg(a_deg, ratio);
            at_deg = off > worst_deg ? a_deg : at_deg;
            worst_deg = fmax(worst_deg, off);
        }
        ck_assert_double_eq_tol(worst_deg, rows[i].want_deg, 1e-4);
        ck_assert_double_eq_tol(at_deg, 90 + rows[i].want_deg, 0.1);
    }
}
END_TEST

START_TEST(depth_ten_centimetres_off_the_plane_scales_by_four_percent)
{
    /* z / (d - z), pinhole: the allowance for parallel projection is judged by it. */
    ck_assert_double_eq_tol(100 * 0.10 / (2.5 - 0.10), 4.166667, TOL_DEG);
    struct omo_point far_point = {0.5 / 2.5, 0}, near_point = {0.5 / 2.4, 0};
    ck_assert_double_eq_tol(100 * omo_point_distance(near_point, far_point) / far_point.x,
                            4.166667, TOL_DEG);
}
END_TEST

START_TEST(a_circle_of_arms_reads_back_its_angle)
{
    struct omo_point down = {0, 1};
    for (int a_deg = -179; a_deg <= 180; a_deg++) {
        struct omo_point arm = {-140 * sin(turn_rad(a_deg)), 140 * cos(turn_rad(a_deg))};
        ck_assert_double_eq_tol(omo_turn_deg(down, arm), a_deg, TOL_EXACT);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("geometry");
    TCase *tc = tcase_create("angles");
    tcase_add_loop_test(tc, angle_of_an_arm_against_the_vertical, 0,
                        sizeof arm_cases / sizeof arm_cases[0]);
    tcase_add_test(tc, turn_between_directions_is_signed_clockwise_on_the_picture);
    tcase_add_test(tc, turn_keeps_its_precision_for_directions_that_nearly_agree);
    tcase_add_test(tc, rays_without_length_or_with_nan_give_no_angle);
    tcase_add_loop_test(tc, wrapping_puts_an_angle_into_its_range, 0,
                        sizeof wrap_cases / sizeof wrap_cases[0]);
    tcase_add_test(tc, wrapping_never_reaches_the_open_end);
    tcase_add_test(tc, a_circle_of_arms_reads_back_its_angle);
    suite_add_tcase(suite, tc);
    tc = tcase_create("closed forms");
    tcase_add_loop_test(tc, projection_out_of_the_picture_plane_and_back, 0,
                        sizeof projection_cases / sizeof projection_cases[0]);
    tcase_add_test(tc, foreshortening_tells_how_far_out_of_plane_the_arm_is);
    tcase_add_test(tc, projection_is_exact_along_and_across_the_trunk);
    tcase_add_test(tc, largest_projection_error_follows_its_closed_form);
    tcase_add_test(tc, pivot_offset_bends_the_angle_and_its_inverse_restores_it);
    tcase_add_test(tc, largest_pivot_error_follows_its_closed_form);
    tcase_add_test(tc, depth_ten_centimetres_off_the_plane_scales_by_four_percent);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
