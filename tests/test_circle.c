#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "omogon/circle.h"

typedef enum omo_status fit(const struct omo_point *, size_t, struct omo_circle *);

static const struct {
    const char *name;
    fit *fit;
} fits[] = {
    {"Kasa", omo_circle_kasa},
    {"Pratt", omo_circle_pratt},
    {"Taubin", omo_circle_taubin},
    {"geometric", omo_circle_geometric},
};
#define FITS ((int)(sizeof fits / sizeof fits[0]))

/* The example of Gander, Golub and Strebel, BIT 34, 1994. */
static const struct omo_point gander[] = {{1, 7}, {2, 6}, {5, 8}, {7, 7}, {9, 5}, {3, 7}};
#define GANDER (sizeof gander / sizeof gander[0])

/* The geometric row is printed there to four decimals (4.7398 2.9835 4.7142); its further
 * digits and the other rows are by direct minimisation of what each fit minimises. */
static const struct {
    fit *fit;
    double x, y, radius, tolerance;
} gander_rows[] = {
    {omo_circle_kasa, 4.7423312883, 3.8351226994, 4.1087615223, 1e-8},
    {omo_circle_pratt, 4.6154815168, 2.8073543972, 4.9113015969, 1e-7},
    {omo_circle_taubin, 4.6139326939, 2.7952093469, 4.8792128456, 1e-7},
    {omo_circle_geometric, 4.7397824109, 2.9835326993, 4.7142260378, 1e-6},
};

START_TEST(the_published_example_comes_out)
{
    struct omo_circle c;
    double tolerance = gander_rows[_i].tolerance;
    ck_assert_int_eq(gander_rows[_i].fit(gander, GANDER, &c), OMO_OK);
    ck_assert_double_eq_tol(c.centre.x, gander_rows[_i].x, tolerance);
    ck_assert_double_eq_tol(c.centre.y, gander_rows[_i].y, tolerance);
    ck_assert_double_eq_tol(c.radius, gander_rows[_i].radius, tolerance);
}
END_TEST

START_TEST(the_geometric_fit_has_the_smallest_distances)
{
    /* Norm of the residuals: 1.1080 in the paper (from memory). */
    struct omo_circle best, other;
    ck_assert_int_eq(omo_circle_geometric(gander, GANDER, &best), OMO_OK);
    ck_assert_double_eq_tol(best.rms * sqrt((double)GANDER), 1.1079707, 1e-6);
    for (int i = 0; i < FITS - 1; i++) {
        ck_assert_int_eq(fits[i].fit(gander, GANDER, &other), OMO_OK);
        ck_assert_double_gt(other.rms, best.rms);
    }
}
END_TEST

/** Points of a circle about (100, 50) with radius 120, from 0 by step_deg. */
static void arc(double step_deg, size_t count, struct omo_point *point)
{
    for (size_t i = 0; i < count; i++) {
        double a = (double)i * step_deg * M_PI / 180.0;
        point[i] = (struct omo_point){100 + 120 * cos(a), 50 + 120 * sin(a)};
    }
}

START_TEST(an_exact_arc_gives_its_circle_back)
{
    struct omo_point point[7];
    struct omo_circle c;
    arc(10, 7, point);
    ck_assert_int_eq(fits[_i].fit(point, 7, &c), OMO_OK);
    ck_assert_double_eq_tol(c.centre.x, 100, 1e-9);
    ck_assert_double_eq_tol(c.centre.y, 50, 1e-9);
    ck_assert_double_eq_tol(c.radius, 120, 1e-9);
    ck_assert_double_lt(c.rms, 1e-10);
}
END_TEST

START_TEST(a_fit_moves_and_grows_with_its_points)
{
    struct omo_point moved[GANDER];
    struct omo_circle c, m;
    double grow = 1e-3;
    for (size_t i = 0; i < GANDER; i++)
        moved[i] = (struct omo_point){grow * gander[i].x + 40, grow * gander[i].y - 7};
    ck_assert_int_eq(fits[_i].fit(gander, GANDER, &c), OMO_OK);
    ck_assert_int_eq(fits[_i].fit(moved, GANDER, &m), OMO_OK);
    ck_assert_double_eq_tol(m.centre.x, grow * c.centre.x + 40, 1e-9);
    ck_assert_double_eq_tol(m.centre.y, grow * c.centre.y - 7, 1e-9);
    ck_assert_double_eq_tol(m.radius, grow * c.radius, 1e-9);
    ck_assert_double_eq_tol(m.rms, grow * c.rms, 1e-9);
}
END_TEST

START_TEST(on_a_short_noisy_arc_kasa_is_too_small_and_the_others_are_not)
{
    /* An elbow's path of 45 degrees, 0.5 px of noise: a fixed pattern, turn by turn. */
    double sum[4] = {0};
    int turns = 40;
    for (int turn = 0; turn < turns; turn++) {
        struct omo_point point[46];
        struct omo_circle c;
        arc(1, 46, point);
        for (int i = 0; i < 46; i++) {
            point[i].x += 0.5 * M_SQRT2 * sin(12.9898 * i + 78.233 * turn);
            point[i].y += 0.5 * M_SQRT2 * sin(39.3468 * i + 11.135 * turn);
        }
        for (int i = 0; i < FITS; i++) {
            ck_assert_int_eq(fits[i].fit(point, 46, &c), OMO_OK);
            sum[i] += c.radius / turns;
        }
    }
    ck_assert_double_lt(sum[0], 119.9);
    for (int i = 1; i < FITS; i++) {
        ck_assert_double_eq_tol(sum[i], 120, 0.3);
        ck_assert_double_lt(fabs(sum[i] - 120), fabs(sum[0] - 120));
    }
}
END_TEST

static const struct {
    const char *name;
    struct omo_point point[4];
    size_t count;
    enum omo_status want;
} bad[] = {
    {"two points", {{0, 0}, {1, 1}}, 2, OMO_ERR_ARG},
    {"none", {{0, 0}}, 0, OMO_ERR_ARG},
    {"on a line", {{0, 0}, {1, 2}, {2, 4}, {5, 10}}, 4, OMO_ERR_EMPTY},
    {"on a line but for rounding",
     {{.1, .3}, {.2, .6}, {.3, .9}, {.7, 2.1}},
     4,
     OMO_ERR_EMPTY},
    {"in one place", {{3, 4}, {3, 4}, {3, 4}}, 3, OMO_ERR_EMPTY},
    {"no number", {{0, 0}, {1, 1}, {NAN, 2}, {5, 5}}, 4, OMO_ERR_ARG},
    {"no end", {{0, 0}, {1, 1}, {INFINITY, 2}, {5, 5}}, 4, OMO_ERR_ARG},
};

START_TEST(points_without_a_circle_are_told)
{
    for (int i = 0; i < FITS; i++) {
        struct omo_circle c = {.radius = 7};
        enum omo_status got = fits[i].fit(bad[_i].point, bad[_i].count, &c);
        ck_assert_msg(got == bad[_i].want, "%s, %s: %s", fits[i].name, bad[_i].name,
                      omo_status_text(got));
        ck_assert_double_eq(c.radius, 7);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("circle");
    TCase *tc = tcase_create("fits");
    tcase_add_loop_test(tc, the_published_example_comes_out, 0,
                        sizeof gander_rows / sizeof gander_rows[0]);
    tcase_add_test(tc, the_geometric_fit_has_the_smallest_distances);
    tcase_add_loop_test(tc, an_exact_arc_gives_its_circle_back, 0, FITS);
    tcase_add_loop_test(tc, a_fit_moves_and_grows_with_its_points, 0, FITS);
    tcase_add_test(tc, on_a_short_noisy_arc_kasa_is_too_small_and_the_others_are_not);
    tcase_add_loop_test(tc, points_without_a_circle_are_told, 0,
                        sizeof bad / sizeof bad[0]);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
