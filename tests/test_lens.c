/* The lens's model and its inverse, the level, the limits. OpenCV's own undistortion is
 * compared in the test lens_reference. */
#include <math.h>

#include <check.h>

#include "lens_fixture.h"

#define TOL_PX  1e-9
#define TOL_DEG 1e-9

static const struct {
    const char *name;
    double k1, k2, p1, p2, k3;
} bends[] = {
    {"none", 0, 0, 0, 0, 0},
    {"barrel", -0.28, 0.09, 0, 0, -0.01},
    {"cushion", 0.12, -0.03, 0, 0, 0.02},
    {"off centre", -0.05, 0.02, 0.004, -0.003, 0},
    {"everything", -0.21, 0.11, 0.002, 0.003, -0.03},
};
#define BENDS ((int)(sizeof bends / sizeof bends[0]))

static struct omo_lens bent(int which)
{
    struct omo_lens lens = webcam();
    lens.value[OMO_LENS_K1] = bends[which].k1;
    lens.value[OMO_LENS_K2] = bends[which].k2;
    lens.value[OMO_LENS_P1] = bends[which].p1;
    lens.value[OMO_LENS_P2] = bends[which].p2;
    lens.value[OMO_LENS_K3] = bends[which].k3;
    return lens;
}

START_TEST(undistorting_takes_back_what_the_lens_does_everywhere)
{
    struct omo_lens lens = bent(_i);
    ck_assert_msg(omo_lens_valid(&lens), "%s", bends[_i].name);
    for (double x = 0; x < 1280; x += 31.9)
        for (double y = 0; y < 720; y += 23.9) {
            struct omo_point ideal = omo_lens_undistort(&lens, (struct omo_point){x, y});
            struct omo_point back = omo_lens_distort(&lens, ideal);
            ck_assert_msg(fabs(back.x - x) < TOL_PX && fabs(back.y - y) < TOL_PX,
                          "%s at (%g, %g): back at (%.12f, %.12f)", bends[_i].name, x, y,
                          back.x, back.y);
        }
}
END_TEST

/* By hand: a ray at x = 0.5 with k1 = -0.2 is bent to 0.5 (1 - 0.2 / 4) = 0.475; with
 * p1 = 0.01 a ray at y = 0.5 goes to 0.5 + 0.01 (0.25 + 0.5) = 0.5075. */
START_TEST(distortion_follows_its_formula)
{
    struct omo_lens lens = bent(0);
    lens.value[OMO_LENS_K1] = -0.2;
    struct omo_point p = omo_lens_distort(&lens, (struct omo_point){655 + 470, 349});
    ck_assert_double_eq_tol(p.x, 655 + 940 * 0.475, TOL_PX);
    ck_assert_double_eq_tol(p.y, 349, TOL_PX);
    lens.value[OMO_LENS_K1] = 0;
    lens.value[OMO_LENS_P1] = 0.01;
    p = omo_lens_distort(&lens, (struct omo_point){655, 349 + 472});
    ck_assert_double_eq_tol(p.y, 349 + 944 * 0.5075, TOL_PX);
    ck_assert_double_eq_tol(p.x, 655, TOL_PX);
}
END_TEST

static const struct {
    double roll_deg, pitch_deg;
} stands[] = {{0, 0}, {3, 0}, {-7.5, 0}, {0, 12}, {0, -20}, {4, 15}, {-11, -9}, {30, 25}};
#define STANDS ((int)(sizeof stands / sizeof stands[0]))

START_TEST(straightened_points_are_those_of_a_level_camera)
{
    for (int i = 0; i < BENDS; i++) {
        struct omo_lens lens = bent(i);
        lens.roll_deg = stands[_i].roll_deg;
        lens.pitch_deg = stands[_i].pitch_deg;
        lens.roll_u_deg = lens.pitch_u_deg = 0.1;
        int inside = 0;
        for (double x = -1; x <= 1; x += 0.25)
            for (double y = -1.5; y <= 1.5; y += 0.25) {
                struct omo_point seen = shown(&lens, x, y, 2.2);
                if (!(seen.x > 0 && seen.x < 1279 && seen.y > 0 && seen.y < 719))
                    continue;
                struct omo_point p = omo_lens_straighten(&lens, true, seen);
                ck_assert_double_eq_tol(p.x, 655 + 940 * x / 2.2, 1e-7);
                ck_assert_double_eq_tol(p.y, 349 + 940 * y / 2.2, 1e-7);
                inside++;
            }
        ck_assert_int_gt(inside, 15);
    }
}
END_TEST

START_TEST(level_is_only_taken_out_when_it_is_wanted_and_known)
{
    struct omo_lens lens = webcam();
    struct omo_point seen = {200, 500};
    struct omo_point plain = omo_lens_straighten(&lens, true, seen);
    lens.roll_deg = 5;
    lens.roll_u_deg = 0.2;
    struct omo_point unlevelled = omo_lens_straighten(&lens, false, seen);
    ck_assert_double_eq_tol(unlevelled.x, plain.x, TOL_PX);
    ck_assert_double_eq_tol(unlevelled.y, plain.y, TOL_PX);
    struct omo_point levelled = omo_lens_straighten(&lens, true, seen);
    ck_assert(omo_point_distance(levelled, plain) > 10);
}
END_TEST

/* A line of a far, small plane through the optical axis is seen in parallel projection,
 * where a pitch e makes tan(theta') = tan(theta) / cos(e). */
START_TEST(pitch_has_its_closed_form_and_is_taken_out)
{
    struct omo_lens lens = webcam();
    for (int i = 0; i < OMO_LENS_VALUES; i++)
        if (i >= OMO_LENS_K1)
            lens.value[i] = 0;
    lens.value[OMO_LENS_FY] = lens.value[OMO_LENS_FX];
    lens.roll_deg = 0;
    lens.pitch_deg = 20;
    lens.roll_u_deg = lens.pitch_u_deg = 0;
    double e = 20 * M_PI / 180, theta = 50 * M_PI / 180;
    /* At distance 1 the axis meets (0, -sin e, cos e); the line is tiny. */
    double size = 1e-6;
    struct omo_point from = shown(&lens, 0, -sin(e), cos(e));
    struct omo_point to =
        shown(&lens, size * sin(theta), -sin(e) + size * cos(theta), cos(e));
    double seen_deg = -omo_turn_deg((struct omo_point){0, 1}, omo_point_sub(to, from));
    ck_assert_double_eq_tol(seen_deg, atan(tan(theta) / cos(e)) * 180 / M_PI, 1e-4);
    double got_deg = -omo_turn_deg((struct omo_point){0, 1},
                                   omo_point_sub(omo_lens_straighten(&lens, true, to),
                                                 omo_lens_straighten(&lens, true, from)));
    ck_assert_double_eq_tol(got_deg, 50, 1e-4);
}
END_TEST

START_TEST(roll_and_pitch_come_back_from_straight_down)
{
    double down[3], roll_deg, pitch_deg;
    omo_lens_down(stands[_i].roll_deg, stands[_i].pitch_deg, down);
    for (int i = 0; i < 3; i++)
        down[i] *= 3.7;
    omo_lens_level_from_down(down, &roll_deg, &pitch_deg);
    ck_assert_double_eq_tol(roll_deg, stands[_i].roll_deg, TOL_DEG);
    ck_assert_double_eq_tol(pitch_deg, stands[_i].pitch_deg, TOL_DEG);
}
END_TEST

START_TEST(a_plumb_line_gives_the_roll)
{
    struct omo_lens lens = webcam();
    lens.roll_deg = stands[_i].roll_deg;
    lens.pitch_deg = stands[_i].pitch_deg;
    for (double x = -0.4; x <= 0.4; x += 0.2) {
        struct omo_point top = shown(&lens, x, -0.3, 2), low = shown(&lens, x, 0.4, 2);
        double roll_deg = omo_lens_plumb_roll_deg(&lens, top, low, lens.pitch_deg);
        ck_assert_double_eq_tol(roll_deg, lens.roll_deg, 1e-8);
    }
    struct omo_point one = {400, 300};
    ck_assert(isnan(omo_lens_plumb_roll_deg(&lens, one, one, 0)));
}
END_TEST

START_TEST(a_lens_scales_with_the_picture_and_keeps_its_rays)
{
    struct omo_lens lens = webcam(), big, odd = lens;
    lens.covariance[OMO_LENS_FX][OMO_LENS_K1] =
        lens.covariance[OMO_LENS_K1][OMO_LENS_FX] = -0.3;
    ck_assert(omo_lens_scale(&lens, 1920, 1080, &big));
    ck_assert_int_eq(big.width, 1920);
    ck_assert(omo_lens_valid(&big));
    /* The middle of the picture's left upper quarter, by pixel edges. */
    struct omo_point small_at =
        omo_lens_undistort(&lens, (struct omo_point){319.5, 179.5});
    struct omo_point big_at = omo_lens_undistort(&big, (struct omo_point){479.5, 269.5});
    ck_assert_double_eq_tol((small_at.x + 0.5) * 1.5, big_at.x + 0.5, 1e-8);
    ck_assert_double_eq_tol((small_at.y + 0.5) * 1.5, big_at.y + 0.5, 1e-8);
    ck_assert_double_eq_tol(big.covariance[OMO_LENS_FX][OMO_LENS_K1], -0.45, 1e-12);
    ck_assert(!omo_lens_scale(&lens, 640, 480, &odd));
    ck_assert_int_eq(odd.width, 1280);
    ck_assert(!omo_lens_scale(&lens, 0, 720, &odd));
}
END_TEST

START_TEST(the_assumed_lens_lies_between_60_and_78_degrees)
{
    struct omo_lens lens;
    double across_deg, up_deg;
    omo_lens_default(1280, 720, &lens);
    ck_assert(omo_lens_valid(&lens));
    ck_assert_int_eq(lens.source, OMO_LENS_ASSUMED);
    omo_lens_view_deg(&lens, &across_deg, &up_deg);
    ck_assert_double_eq_tol(across_deg, 69, 1e-9);
    ck_assert_double_eq_tol(up_deg,
                            2 * atan(tan(34.5 * M_PI / 180) * 720 / 1280) * 180 / M_PI,
                            1e-9);
    /* 640 / tan(30) = 1108.5 and 640 / tan(39) = 790.3: their difference over sqrt(12).
     */
    ck_assert_double_eq_tol(sqrt(lens.covariance[OMO_LENS_FX][OMO_LENS_FX]), 91.85, 0.01);
    /* It moves nothing. */
    struct omo_point p = omo_lens_straighten(&lens, true, (struct omo_point){77, 600});
    ck_assert_double_eq_tol(p.x, 77, TOL_PX);
    ck_assert_double_eq_tol(p.y, 600, TOL_PX);
}
END_TEST

START_TEST(a_lens_that_cannot_be_computed_with_is_not_valid)
{
    struct omo_lens lens = webcam();
    ck_assert(omo_lens_valid(&lens));
    lens.value[OMO_LENS_K1] = -2; /* folds the picture back on itself */
    ck_assert(!omo_lens_valid(&lens));
    lens = webcam();
    lens.value[OMO_LENS_FX] = 0;
    ck_assert(!omo_lens_valid(&lens));
    lens = webcam();
    lens.value[OMO_LENS_P2] = NAN;
    ck_assert(!omo_lens_valid(&lens));
    lens = webcam();
    lens.covariance[2][2] = -1;
    ck_assert(!omo_lens_valid(&lens));
    lens = webcam();
    lens.roll_deg = 50;
    lens.roll_u_deg = 0.1;
    ck_assert(!omo_lens_valid(&lens));
    lens = webcam();
    lens.roll_deg = 1; /* without its uncertainty */
    ck_assert(!omo_lens_valid(&lens));
    lens = webcam();
    lens.width = 0;
    ck_assert(!omo_lens_valid(&lens));
    lens = webcam();
    lens.readout_s = -0.01;
    ck_assert(!omo_lens_valid(&lens));
}
END_TEST

START_TEST(no_value_stays_no_value)
{
    struct omo_lens lens = webcam();
    struct omo_point none = {NAN, NAN};
    ck_assert(isnan(omo_lens_undistort(&lens, none).x));
    ck_assert(isnan(omo_lens_straighten(&lens, true, none).y));
    /* Where no ray leads. */
    lens.value[OMO_LENS_K1] = -0.3;
    lens.value[OMO_LENS_K2] = 0;
    ck_assert(isnan(omo_lens_undistort(&lens, (struct omo_point){9000, 0}).x));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("lens");
    TCase *tcase = tcase_create("lens");
    tcase_add_loop_test(tcase, undistorting_takes_back_what_the_lens_does_everywhere, 0,
                        BENDS);
    tcase_add_test(tcase, distortion_follows_its_formula);
    tcase_add_loop_test(tcase, straightened_points_are_those_of_a_level_camera, 0,
                        STANDS);
    tcase_add_test(tcase, level_is_only_taken_out_when_it_is_wanted_and_known);
    tcase_add_test(tcase, pitch_has_its_closed_form_and_is_taken_out);
    tcase_add_loop_test(tcase, roll_and_pitch_come_back_from_straight_down, 0, STANDS);
    tcase_add_loop_test(tcase, a_plumb_line_gives_the_roll, 0, STANDS);
    tcase_add_test(tcase, a_lens_scales_with_the_picture_and_keeps_its_rays);
    tcase_add_test(tcase, the_assumed_lens_lies_between_60_and_78_degrees);
    tcase_add_test(tcase, a_lens_that_cannot_be_computed_with_is_not_valid);
    tcase_add_test(tcase, no_value_stays_no_value);
    suite_add_tcase(suite, tcase);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed > 0;
}
