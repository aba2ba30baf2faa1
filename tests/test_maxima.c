/* The rule for maxima on bare numbers. */
#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "body_model.h"
#include "omogon/filter.h"

#define ROWS_MAX   200
#define ANY_SPREAD ((double)INFINITY)

static double t30[ROWS_MAX], a30[ROWS_MAX];

static void even_times(size_t n)
{
    for (size_t i = 0; i < n; i++)
        t30[i] = (double)i / 30;
}

START_TEST(a_glitch_of_few_frames_sets_no_record)
{
    even_times(90);
    for (size_t i = 0; i < 90; i++)
        a30[i] = 100;
    /* Six frames reach over 5/30 s only, seven over 0.2 s. */
    for (size_t i = 40; i < 46; i++)
        a30[i] = 150;
    size_t at = 0;
    ck_assert_double_eq(omo_sustained_max_deg(t30, a30, 90, 0.2, 0.1, ANY_SPREAD, &at),
                        100);
    a30[46] = 149;
    a30[43] = 152;
    ck_assert_double_eq(omo_sustained_max_deg(t30, a30, 90, 0.2, 0.1, ANY_SPREAD, &at),
                        149);
    ck_assert_uint_eq(at, 43);
}
END_TEST

START_TEST(a_window_may_bridge_a_tenth_of_a_second_but_no_more)
{
    even_times(60);
    for (size_t i = 0; i < 60; i++)
        a30[i] = i < 20 ? 90 : NAN;
    a30[30] = a30[31] = a30[32] = 120;
    a30[36] = 121; /* three frames missing before it */
    ck_assert_double_eq(omo_sustained_max_deg(t30, a30, 60, 0.2, 0.1, ANY_SPREAD, NULL),
                        120);
    a30[37] = 121;
    a30[36] = NAN; /* four missing: 30..32 cannot join 37 */
    ck_assert_double_eq(omo_sustained_max_deg(t30, a30, 60, 0.2, 0.1, ANY_SPREAD, NULL),
                        90);
}
END_TEST

START_TEST(a_held_maximum_has_to_stay_within_a_degree)
{
    even_times(120);
    for (size_t i = 0; i < 120; i++)
        a30[i] = 60 + 40 * sin((double)i / 30 * M_PI / 4);
    /* The top of the swing stays within 1 degree over 1 s? It loses 40 (1 - cos(22.5)).
     */
    ck_assert(isnan(omo_sustained_max_deg(t30, a30, 120, 1, 0.1, 1, NULL)));
    for (size_t i = 70; i < 101; i++)
        a30[i] = 88 + 0.9 * (double)(i % 2);
    ck_assert_double_eq(omo_sustained_max_deg(t30, a30, 120, 1, 0.1, 1, NULL), 88);
}
END_TEST

START_TEST(the_maximum_agrees_with_trying_every_window)
{
    unsigned state = 3;
    for (int round = 0; round < 60; round++) {
        size_t n = 40 + (size_t)round;
        double now_s = 0;
        for (size_t i = 0; i < n; i++) {
            now_s += 0.02 + 0.02 * fabs(figure_noise(&state));
            t30[i] = now_s;
            a30[i] = 90 + 20 * figure_noise(&state);
            if (fabs(figure_noise(&state)) < 0.25)
                a30[i] = NAN;
        }
        double step_s = omo_median_step_s(t30, n), spread = round % 2 ? 25 : ANY_SPREAD;
        double want = NAN;
        for (size_t i = 0; i < n; i++) {
            if (isnan(a30[i]))
                continue;
            double low = a30[i], high = a30[i];
            size_t last = i;
            for (size_t j = i + 1; j < n; j++) {
                if (isnan(a30[j]))
                    continue;
                if (omo_gap_between(t30[last], t30[j], step_s, 0.1))
                    break;
                last = j;
                low = fmin(low, a30[j]);
                high = fmax(high, a30[j]);
                if (t30[j] - t30[i] >= 0.2 && high - low <= spread && !(low <= want))
                    want = low;
            }
        }
        double got = omo_sustained_max_deg(t30, a30, n, 0.2, 0.1, spread, NULL);
        ck_assert_msg(got == want || (isnan(got) && isnan(want)), "round %d: %f, %f",
                      round, got, want);
    }
}
END_TEST

START_TEST(negative_angles_have_a_maximum_too)
{
    even_times(30);
    for (size_t i = 0; i < 30; i++)
        a30[i] = -40 + (double)(i % 3);
    ck_assert_double_eq(omo_sustained_max_deg(t30, a30, 30, 0.2, 0.1, ANY_SPREAD, NULL),
                        -40);
}
END_TEST

START_TEST(no_window_no_maximum)
{
    size_t at = 77;
    even_times(10);
    for (size_t i = 0; i < 10; i++)
        a30[i] = NAN;
    ck_assert(isnan(omo_sustained_max_deg(t30, a30, 10, 0.2, 0.1, ANY_SPREAD, &at)));
    ck_assert(isnan(omo_sustained_max_deg(t30, a30, 0, 0.2, 0.1, ANY_SPREAD, &at)));
    a30[0] = 5;
    ck_assert(isnan(omo_sustained_max_deg(t30, a30, 1, 0.2, 0.1, ANY_SPREAD, &at)));
    for (size_t i = 0; i < 10; i++) {
        a30[i] = 5;
        t30[i] = 1;
    }
    ck_assert(isnan(omo_sustained_max_deg(t30, a30, 10, 0.2, 0.1, ANY_SPREAD, &at)));
    ck_assert_uint_eq(at, 77);
}
END_TEST

START_TEST(low_frame_rates_have_no_gaps_of_their_own)
{
    for (size_t i = 0; i < 20; i++) {
        t30[i] = (double)i / 5; /* 0.2 s apart, nothing missing */
        a30[i] = 50 + (double)i;
    }
    ck_assert_double_eq(omo_sustained_max_deg(t30, a30, 20, 0.2, 0.1, ANY_SPREAD, NULL),
                        68);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("maxima");
    TCase *tc = tcase_create("maxima");
    tcase_add_test(tc, a_glitch_of_few_frames_sets_no_record);
    tcase_add_test(tc, a_window_may_bridge_a_tenth_of_a_second_but_no_more);
    tcase_add_test(tc, a_held_maximum_has_to_stay_within_a_degree);
    tcase_add_test(tc, the_maximum_agrees_with_trying_every_window);
    tcase_add_test(tc, negative_angles_have_a_maximum_too);
    tcase_add_test(tc, no_window_no_maximum);
    tcase_add_test(tc, low_frame_rates_have_no_gaps_of_their_own);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
