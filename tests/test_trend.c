#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "omogon/trend.h"

#define EXACT 1e-12

START_TEST(sen_1968_as_corrected)
{
    /* Sen 1968, J. Am. Stat. Assoc. 63:1379, example; the interval with the slips in its
       list of slopes corrected (four published reimplementations agree). */
    const double t[] = {1, 2, 3, 4, 10, 12, 18}, y[] = {9, 15, 19, 20, 45, 55, 78};
    struct omo_trend trend;
    ck_assert_int_eq(omo_trend_fit(t, y, 7, 0.93, &trend), OMO_OK);
    ck_assert_double_eq_tol(trend.slope, 4, EXACT);
    ck_assert_double_eq_tol(trend.low, 26.0 / 7, EXACT);
    ck_assert_double_eq_tol(trend.high, 35.0 / 8, EXACT);
    ck_assert_double_eq_tol(trend.intercept, 20 - 4 * 4, EXACT);
    ck_assert_uint_eq(trend.pairs, 21);
}
END_TEST

START_TEST(theils_slope_with_an_even_number_of_pairs)
{
    /* Hollander and Wolfe, Nonparametric Statistical Methods, data from memory: the mean
       of the two middle slopes. */
    const double t[] = {1, 2, 3, 4, 5}, y[] = {1.26, 1.27, 1.12, 1.16, 1.03};
    struct omo_trend trend;
    ck_assert_int_eq(omo_trend_fit(t, y, 5, 0.95, &trend), OMO_OK);
    ck_assert_double_eq_tol(trend.slope, -0.05625, EXACT);
}
END_TEST

START_TEST(a_fifth_of_odd_days_does_not_bend_it)
{
    double t[50], y[50];
    for (int i = 0; i < 50; i++) {
        t[i] = i;
        y[i] = 90 + 0.1 * i + (i % 5 == 0 ? -40 : 0);
    }
    struct omo_trend trend;
    ck_assert_int_eq(omo_trend_fit(t, y, 50, 0.95, &trend), OMO_OK);
    ck_assert_double_eq_tol(trend.slope, 0.1, 0.02);
}
END_TEST

START_TEST(what_has_no_value_is_left_out)
{
    const double t[] = {0, 1, NAN, 3, 4}, y[] = {1, NAN, 7, 4, 5};
    struct omo_trend trend;
    ck_assert_int_eq(omo_trend_fit(t, y, 5, 0.95, &trend), OMO_OK);
    ck_assert_double_eq_tol(trend.slope, 1, EXACT);
    ck_assert_uint_eq(trend.pairs, 3);
}
END_TEST

START_TEST(what_has_no_slope_is_told)
{
    const double t[] = {2, 2, 2}, y[] = {1, 2, 3};
    struct omo_trend trend = {.slope = 42};
    ck_assert_int_eq(omo_trend_fit(t, y, 3, 0.95, &trend), OMO_ERR_EMPTY);
    ck_assert_int_eq(omo_trend_fit(t, y, 0, 0.95, &trend), OMO_ERR_EMPTY);
    ck_assert_int_eq(omo_trend_fit(t, y, 3, 1, &trend), OMO_ERR_ARG);
    ck_assert_int_eq(omo_trend_fit(t, y, OMO_TREND_MOST + 1, 0.95, &trend), OMO_ERR_ARG);
    ck_assert_double_eq(trend.slope, 42);
}
END_TEST

#define COURSES 2000
#define DAYS    84 /* twelve weeks */

/** Uniform in 0..1. */
static double uniform(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (*state >> 8) / 16777216.0;
}

/** How many of 2,000 courses of `count` sessions, a day to `gap` days apart, have the
 *  truth in their interval; errors are a sum of twelve uniforms. */
static int covering(int count, int gap, unsigned seed)
{
    unsigned state = seed;
    int covered = 0;
    for (int course = 0; course < COURSES; course++) {
        double t[DAYS], y[DAYS], day = 0;
        for (int i = 0; i < count; i++) {
            double error = -6;
            for (int k = 0; k < 12; k++)
                error += uniform(&state);
            day += 1 + floor(gap * uniform(&state));
            t[i] = day;
            y[i] = 100 + 0.05 * day + 3 * error;
        }
        struct omo_trend trend;
        ck_assert_int_eq(omo_trend_fit(t, y, (size_t)count, 0.95, &trend), OMO_OK);
        covered += trend.low <= 0.05 && 0.05 <= trend.high;
    }
    if (getenv("OMO_TEST_TELL"))
        printf("%d sessions, up to %d days apart: the truth is in %d of %d intervals\n",
               count, gap, covered, COURSES);
    return covered;
}

START_TEST(the_interval_covers_the_truth_as_often_as_it_says)
{
    /* Thirty uneven days, twelve weeks of every day, and two weeks. */
    const int count[] = {30, DAYS, 14}, gap[] = {3, 1, 1};
    for (unsigned i = 0; i < sizeof count / sizeof count[0]; i++) {
        int covered = covering(count[i], gap[i], 7 + i);
        /* Three standard errors of a share of 0.95 in 2,000 are 0.015. */
        ck_assert_int_ge(covered, 1870);
        ck_assert_int_le(covered, 1930);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("trend");
    TCase *tests = tcase_create("trend");
    tcase_add_test(tests, sen_1968_as_corrected);
    tcase_add_test(tests, theils_slope_with_an_even_number_of_pairs);
    tcase_add_test(tests, a_fifth_of_odd_days_does_not_bend_it);
    tcase_add_test(tests, what_has_no_value_is_left_out);
    tcase_add_test(tests, what_has_no_slope_is_told);
    tcase_add_test(tests, the_interval_covers_the_truth_as_often_as_it_says);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
