/* Segmented regression: known breaks come back, a gentle course has none. */
#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "omogon/segmented.h"

#define POINTS 80

static double x[POINTS], y[POINTS];
static const struct omo_stretch_limits limits = {.from_least = 20,
                                                 .margin = 8,
                                                 .width_least = 12,
                                                 .width_most = 44};

/** The stretch as it is described in the header, written once more. */
static double stretch(double at, double from, double width, double soft)
{
    double v = (at - from) / width;
    if (v <= 0)
        return 0;
    return v >= 1 ? 1 : (1 - soft) * v + soft * v * v * (3 - 2 * v);
}

static double course(double at)
{
    return 0.01 - 2e-4 * at + 3e-6 * at * at;
}

static void draw(double from, double width, double rise, double soft)
{
    for (size_t i = 0; i < POINTS; i++) {
        x[i] = 5 + 2 * (double)i;
        y[i] = course(x[i]) + rise * stretch(x[i], from, width, soft);
    }
}

static const struct {
    double from, width, rise, soft;
} shapes[] = {
    {60, 25, 0.1, 0},    {31.3, 13.7, 0.05, 0.5}, {128.6, 40, 0.2, 1},
    {90, 44, 0.08, 0.5}, {145, 30, 0.1, 0},
};

START_TEST(an_exact_stretch_comes_back)
{
    struct omo_stretch_fit fit;
    draw(shapes[_i].from, shapes[_i].width, shapes[_i].rise, shapes[_i].soft);
    ck_assert_int_eq(omo_stretch_fit(x, y, POINTS, &limits, &fit), OMO_OK);
    /* The last halving of the grid is 0.04 of x and 0.07 of the width. */
    ck_assert_double_eq_tol(fit.from, shapes[_i].from, 0.3);
    ck_assert_double_eq_tol(fit.soft, shapes[_i].soft, 1e-9);
    if (shapes[_i].from + shapes[_i].width < x[POINTS - 1]) { /* its end is seen */
        ck_assert_double_eq_tol(fit.width, shapes[_i].width, 1.0);
        ck_assert_double_eq_tol(fit.rise, shapes[_i].rise, 0.04 * shapes[_i].rise);
    }
    ck_assert_double_eq_tol(fit.rise_seen,
                            fit.rise *
                                stretch(x[POINTS - 1], fit.from, fit.width, fit.soft),
                            1e-9);
    ck_assert_double_le(fit.rms, 0.002 * shapes[_i].rise);
    ck_assert_double_le(fit.chance, 1e-9);
    for (size_t i = 0; i < POINTS; i++)
        ck_assert_double_eq_tol(omo_stretch_course(&fit, x[i]), course(x[i]),
                                0.05 * shapes[_i].rise);
}
END_TEST

START_TEST(noise_on_a_gentle_course_is_told_by_its_chance)
{
    unsigned state = 5;
    int small = 0;
    for (int trial = 0; trial < 200; trial++) {
        struct omo_stretch_fit fit;
        draw(60, 25, 0, 0);
        for (size_t i = 0; i < POINTS; i++) {
            double sum = -6; /* twelve uniform numbers: about normal */
            for (int k = 0; k < 12; k++) {
                state = state * 1664525u + 1013904223u;
                sum += (double)(state >> 8) / 16777216.0;
            }
            y[i] += 1e-3 * sum;
        }
        if (omo_stretch_fit(x, y, POINTS, &limits, &fit) == OMO_OK)
            small += fit.chance <= 0.001;
    }
    /* 0.2 were expected if the breaks were not searched for; the search makes it more. */
    ck_assert_int_le(small, 6);
}
END_TEST

START_TEST(what_cannot_be_fitted_is_said_and_nothing_written)
{
    struct omo_stretch_fit fit = {.from = 7};
    struct omo_stretch_limits bad = limits;
    draw(60, 25, 0.1, 0);
    ck_assert_int_eq(omo_stretch_fit(x, y, OMO_STRETCH_POINTS_MIN - 1, &limits, &fit),
                     OMO_ERR_EMPTY);
    ck_assert_int_eq(omo_stretch_fit(x, y, 0, &limits, &fit), OMO_ERR_EMPTY);
    bad.margin = 100; /* no place is left */
    ck_assert_int_eq(omo_stretch_fit(x, y, POINTS, &bad, &fit), OMO_ERR_EMPTY);
    bad = limits;
    bad.width_least = 0;
    ck_assert_int_eq(omo_stretch_fit(x, y, POINTS, &bad, &fit), OMO_ERR_ARG);
    bad = limits;
    bad.width_most = 5;
    ck_assert_int_eq(omo_stretch_fit(x, y, POINTS, &bad, &fit), OMO_ERR_ARG);
    y[3] = NAN;
    ck_assert_int_eq(omo_stretch_fit(x, y, POINTS, &limits, &fit), OMO_ERR_ARG);
    draw(60, 25, 0.1, 0);
    x[4] = x[3];
    ck_assert_int_eq(omo_stretch_fit(x, y, POINTS, &limits, &fit), OMO_ERR_ARG);
    for (size_t i = 0; i < POINTS; i++) {
        x[i] = (double)i;
        y[i] = 1; /* no curve at all */
    }
    ck_assert_int_eq(omo_stretch_fit(x, y, POINTS, &limits, &fit) == OMO_ERR_ARG, 0);
    ck_assert_double_le(fabs(fit.rise), 1e-9);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("segmented");
    TCase *tc = tcase_create("stretch");
    tcase_add_loop_test(tc, an_exact_stretch_comes_back, 0,
                        sizeof shapes / sizeof shapes[0]);
    tcase_add_test(tc, noise_on_a_gentle_course_is_told_by_its_chance);
    tcase_add_test(tc, what_cannot_be_fitted_is_said_and_nothing_written);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
