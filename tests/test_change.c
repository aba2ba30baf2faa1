#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>

#include "omogon/change.h"

#define COURSES 1000
#define DAYS    84

static struct omo_change_settings usual(void)
{
    struct omo_change_settings s;
    ck_assert_int_eq(omo_change_settings_load(NULL, &s), OMO_OK);
    return s;
}

/** Uniform in (0, 1). */
static double uniform(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return ((*state >> 8) + 0.5) / 16777216.0;
}

static double normal(unsigned *state)
{
    return gsl_cdf_ugaussian_Pinv(uniform(state));
}

struct kind {
    double change_mdc; /* true change by the end, in smallest detectable changes */
    double spread;     /* of people's own error about the instrument's, log scale */
    double sem_ratio;  /* people's error in the instrument's, at the median */
    double come;       /* share of days with a session */
};

/** How many courses are told of a change that the last course of each kind has. */
static int told(const struct kind *kind, unsigned seed)
{
    struct omo_change_settings s = usual();
    unsigned state = seed;
    int count = 0;
    for (int course = 0; course < COURSES; course++) {
        double day[DAYS], mean[DAYS];
        size_t n = 0;
        double sem = s.sem_deg * kind->sem_ratio * exp(kind->spread * normal(&state));
        double change = kind->change_mdc * 1.96 * sqrt(2) * sem;
        for (int d = 0; d < DAYS; d++) {
            double error = normal(&state);
            if (uniform(&state) > kind->come)
                continue;
            day[n] = d;
            mean[n++] = 100 + change * d / (DAYS - 1) + sem * error;
        }
        struct omo_change out;
        ck_assert_int_eq(omo_change_judge(&s, day, mean, n, &out), OMO_OK);
        count += out.state == OMO_CHANGE_MORE;
    }
    if (getenv("OMO_TEST_TELL"))
        printf("changed by %g, spread %g, error %g, come %g: %d of %d told\n",
               kind->change_mdc, kind->spread, kind->sem_ratio, kind->come, count,
               COURSES);
    return count;
}

START_TEST(few_unchanged_people_are_ever_told_of_a_change)
{
    /* Twelve weeks of daily sessions: at most 7 in 100, however their own error lies. */
    const struct kind kind[] = {{0, 0, 1, 1},
                                {0, 0.3, 1, 1},
                                {0, 0.3, 1, 0.6},
                                {0, 0, 0.5, 1},
                                {0, 0.2, 1.4, 1.0}};
    for (size_t i = 0; i < sizeof kind / sizeof kind[0]; i++) {
        int count = told(&kind[i], 100 + (unsigned)i);
        ck_assert_msg(count <= 70, "kind %zu: %d of %d unchanged courses", i, count,
                      COURSES);
    }
}
END_TEST

START_TEST(most_people_who_changed_by_half_more_than_is_detectable_are_told)
{
    const struct kind kind[] = {{1.5, 0, 1, 1},
                                {1.5, 0.3, 1, 1},
                                {1.5, 0.3, 1, 0.6},
                                {-1.5, 0.3, 1, 1}};
    for (size_t i = 0; i < sizeof kind / sizeof kind[0]; i++) {
        int count = told(&kind[i], 200 + (unsigned)i);
        ck_assert_msg(count >= 800, "kind %zu: %d of %d changed courses", i, count,
                      COURSES);
    }
}
END_TEST

START_TEST(the_limit_is_students_with_the_shrunk_error)
{
    /* Alternating by 2: own error 2/sqrt(2); 15 days, the first look in the 17th session.
     */
    struct omo_change_settings s = usual();
    double day[17], mean[17];
    for (int i = 0; i < 17; i++) {
        day[i] = i;
        mean[i] = 100 + (i % 2) * 2;
    }
    struct omo_change out;
    ck_assert_int_eq(omo_change_judge(&s, day, mean, 17, &out), OMO_OK);
    ck_assert_int_eq(out.state, OMO_CHANGE_WITHIN);
    ck_assert_int_eq(out.looks, 1);
    double own_df = 16 * 2.0 / 3, df = own_df + 8;
    double sem = sqrt((own_df * 2 + 8 * 3.6 * 3.6) / df);
    ck_assert_double_eq_tol(out.own_sem_deg, sqrt(2), 1e-12);
    ck_assert_double_eq_tol(out.sem_deg, sem, 1e-12);
    ck_assert_double_eq_tol(out.df, df, 1e-12);
    double t = gsl_cdf_tdist_Qinv(0.05 / 2 / 6 / 2, df);
    ck_assert_double_eq_tol(out.error_deg, t * sem * sqrt(2.0 / 3), 1e-9);
}
END_TEST

START_TEST(it_takes_two_sessions_running)
{
    struct omo_change_settings s = usual();
    double day[19], mean[19];
    for (int i = 0; i < 19; i++) {
        day[i] = i;
        mean[i] = i < 10 ? 100 : 130;
    }
    struct omo_change out;
    ck_assert_int_eq(omo_change_judge(&s, day, mean, 16, &out), OMO_OK);
    ck_assert_int_eq(out.state, OMO_CHANGE_NO_LOOK);
    ck_assert_int_eq(omo_change_judge(&s, day, mean, 17, &out), OMO_OK);
    ck_assert_int_eq(out.state, OMO_CHANGE_ONCE);
    ck_assert_int_eq(omo_change_judge(&s, day, mean, 18, &out), OMO_OK);
    ck_assert_int_eq(out.state, OMO_CHANGE_MORE);
    ck_assert_uint_eq(out.told_at, 17);
    ck_assert_double_eq_tol(out.change_deg, 30, 1e-12);
    /* A last session that falls back takes the first one back. */
    mean[17] = mean[18] = 60;
    ck_assert_int_eq(omo_change_judge(&s, day, mean, 18, &out), OMO_OK);
    ck_assert_int_eq(out.state, OMO_CHANGE_WITHIN);
}
END_TEST

START_TEST(few_sessions_and_bad_days)
{
    struct omo_change_settings s = usual();
    const double day[] = {0, 1, 2, 30, 31}, mean[] = {1, 2, 3, NAN, 50};
    const double fallen[] = {0, 1, 0, 2, 3};
    struct omo_change out;
    ck_assert_int_eq(omo_change_judge(&s, day, mean, 5, &out), OMO_OK);
    ck_assert_int_eq(out.state, OMO_CHANGE_FEW);
    ck_assert(isnan(out.change_deg));
    ck_assert_int_eq(omo_change_judge(&s, fallen, day, 5, &out), OMO_ERR_ARG);
    s.last = 0;
    ck_assert_int_eq(omo_change_judge(&s, day, mean, 5, &out), OMO_ERR_ARG);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("change");
    TCase *tests = tcase_create("change");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, few_unchanged_people_are_ever_told_of_a_change);
    tcase_add_test(tests,
                   most_people_who_changed_by_half_more_than_is_detectable_are_told);
    tcase_add_test(tests, the_limit_is_students_with_the_shrunk_error);
    tcase_add_test(tests, it_takes_two_sessions_running);
    tcase_add_test(tests, few_sessions_and_bad_days);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
