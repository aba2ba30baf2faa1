/* Smoothness against the values that the authors' own program gives (Balasubramanian et
   al., IEEE Transactions on Biomedical Engineering 59 (2012), 2126; program and values
   read in their repository), and against what can be worked out by hand. */
#include <math.h>

#include <check.h>

#include "omogon/smoothness.h"

static const double TOL = 5e-6;
static double speed[400];

/** A movement of minimum jerk from 0 to 1 in `duration_s`: 30 u^2 (1 - u)^2 / duration.
 */
static double minimum_jerk(double at_s, double duration_s)
{
    double u = at_s / duration_s;
    return u > 0 && u < 1 ? 30 * u * u * (1 - u) * (1 - u) / duration_s : 0;
}

static size_t single(size_t count, double rate_hz, double duration_s)
{
    for (size_t i = 0; i < count; i++)
        speed[i] = minimum_jerk((double)i / rate_hz, duration_s);
    return count;
}

/** Two of a second, the second one begun `later_s` after the first. */
static size_t twice(size_t count, double later_s)
{
    for (size_t i = 0; i < count; i++)
        speed[i] =
            minimum_jerk((double)i / 100, 1) + minimum_jerk((double)i / 100 - later_s, 1);
    return count;
}

START_TEST(the_authors_own_example)
{
    for (int i = 0; i < 200; i++) {
        double t = -1 + 0.01 * i;
        speed[i] = exp(-5 * t * t);
    }
    ck_assert_double_eq_tol(omo_spectral_arc_length(speed, 200, 100), -1.41403, TOL);
    ck_assert_double_eq_tol(omo_log_dimensionless_jerk(speed, 200, 100), -5.81636, TOL);
}
END_TEST

START_TEST(a_movement_of_minimum_jerk)
{
    size_t count = single(101, 100, 1);
    ck_assert_double_eq_tol(omo_spectral_arc_length(speed, count, 100), -1.405829, 1e-6);
    ck_assert_double_eq_tol(omo_log_dimensionless_jerk(speed, count, 100), -5.301633,
                            1e-6);
    /* The same in twice the time, and seen by a camera: its duration does not matter. */
    count = single(201, 100, 2);
    ck_assert_double_eq_tol(omo_spectral_arc_length(speed, count, 100), -1.405829, 1e-6);
    ck_assert_double_eq_tol(omo_log_dimensionless_jerk(speed, count, 100), -5.311934,
                            1e-6);
    count = single(61, 30, 2);
    ck_assert_double_eq_tol(omo_spectral_arc_length(speed, count, 30), -1.400408, 1e-6);
    /* Worked out: -ln(720 / 1.875^2). */
    ck_assert_double_eq_tol(omo_log_dimensionless_jerk(speed, count, 30), -5.322034,
                            0.05);
    ck_assert_uint_eq(omo_speed_peaks(speed, count, 0.1), 1);
}
END_TEST

START_TEST(two_movements_are_less_smooth_the_further_they_are_apart)
{
    static const double later_s[] = {0.6, 0.8, 1.0};
    static const double value[] = {-1.763993, -2.024269, -2.244545};
    for (int i = 0; i < 3; i++) {
        size_t count = twice((size_t)(161 + 20 * i), later_s[i]);
        ck_assert_double_eq_tol(omo_spectral_arc_length(speed, count, 100), value[i],
                                1e-5);
        ck_assert_uint_eq(omo_speed_peaks(speed, count, 0.1), 2);
    }
}
END_TEST

START_TEST(speed_has_no_unit_here)
{
    size_t count = twice(181, 0.8);
    double arc = omo_spectral_arc_length(speed, count, 100);
    double jerk = omo_log_dimensionless_jerk(speed, count, 100);
    for (size_t i = 0; i < count; i++)
        speed[i] *= 57.3;
    ck_assert_double_eq_tol(omo_spectral_arc_length(speed, count, 100), arc, 1e-9);
    ck_assert_double_eq_tol(omo_log_dimensionless_jerk(speed, count, 100), jerk, 1e-9);
}
END_TEST

START_TEST(peaks_that_do_not_stand_out_are_none)
{
    static const double shaken[] = {0, 2, 5, 4.8, 5.1, 9, 10, 9.8, 10, 6, 2, 0};
    static const double flat[] = {0, 5, 5, 5, 0, 5, 5, 0};
    static const double ends_high[] = {0, 3, 8, 10};
    static const double nothing[] = {0, 0, 0};
    ck_assert_uint_eq(omo_speed_peaks(shaken, 12, 0.1), 1);
    ck_assert_uint_eq(omo_speed_peaks(shaken, 12, 0.015), 3);
    ck_assert_uint_eq(omo_speed_peaks(flat, 8, 0.1), 2);
    ck_assert_uint_eq(omo_speed_peaks(ends_high, 4, 0.1), 1);
    ck_assert_uint_eq(omo_speed_peaks(nothing, 3, 0.1), 0);
}
END_TEST

START_TEST(what_is_no_movement_has_no_smoothness)
{
    const double still[] = {0, 0, 0, 0}, bad[] = {1, NAN, 1, 1}, back[] = {1, -1, 1, 1};
    const double even[] = {1, 1, 1, 1};
    ck_assert_double_nan(omo_spectral_arc_length(still, 4, 30));
    ck_assert_double_nan(omo_spectral_arc_length(bad, 4, 30));
    ck_assert_double_nan(omo_spectral_arc_length(back, 4, 30));
    ck_assert_double_nan(omo_spectral_arc_length(even, 2, 30));
    ck_assert_double_nan(omo_spectral_arc_length(even, 4, 0));
    ck_assert_double_nan(omo_log_dimensionless_jerk(still, 4, 30));
    ck_assert_double_nan(omo_log_dimensionless_jerk(even, 4, 30));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("smoothness");
    TCase *tests = tcase_create("smoothness");
    tcase_add_test(tests, the_authors_own_example);
    tcase_add_test(tests, a_movement_of_minimum_jerk);
    tcase_add_test(tests, two_movements_are_less_smooth_the_further_they_are_apart);
    tcase_add_test(tests, speed_has_no_unit_here);
    tcase_add_test(tests, peaks_that_do_not_stand_out_are_none);
    tcase_add_test(tests, what_is_no_movement_has_no_smoothness);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed > 0;
}
