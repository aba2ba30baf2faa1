/* What lens, level and shutter leave uncertain, against drawing them at random. */
#include <math.h>
#include <string.h>

#include <check.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "lens_fixture.h"

#define DRAWS 20000
/* A standard deviation from 20000 draws is good to 0.5 %; the rest is for what first
 * order leaves out. */
#define TOL_SHARE 0.03

static gsl_rng *dice;

static void begin(void)
{
    dice = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(dice, 20261125);
}

static void end(void)
{
    gsl_rng_free(dice);
}

static const struct omo_lens_line lines[] = {
    {{640, 200}, {640, 420}}, /* upright, in the middle */
    {{250, 180}, {420, 330}}, /* an arm, left */
    {{1100, 600}, {1240, 380}},
    {{100, 90}, {110, 640}}, /* upright, at the border */
};
#define LINES ((int)(sizeof lines / sizeof lines[0]))

static double direction_deg(const struct omo_lens *lens, const struct omo_lens_line *a,
                            const struct omo_lens_line *b)
{
    struct omo_point down = {0, 1};
    struct omo_point line = omo_point_sub(omo_lens_straighten(lens, true, a->to),
                                          omo_lens_straighten(lens, true, a->from));
    if (b != NULL)
        down = omo_point_sub(omo_lens_straighten(lens, true, b->to),
                             omo_lens_straighten(lens, true, b->from));
    return omo_turn_deg(down, line);
}

/** Covariances with correlations, as a calibration leaves them. */
static struct omo_lens uncertain_lens(void)
{
    static const double u[OMO_LENS_VALUES] = {2.5, 2.5, 3, 2, 0.006, 0.02, 5e-4, 4e-4, 0};
    struct omo_lens lens = webcam();
    for (int i = 0; i < OMO_LENS_VALUES; i++)
        for (int k = 0; k < OMO_LENS_VALUES; k++)
            lens.covariance[i][k] = i == k ? u[i] * u[i] : 0;
    int pairs[][2] = {{OMO_LENS_FX, OMO_LENS_FY}, {OMO_LENS_K1, OMO_LENS_K2}};
    double share[] = {0.97, -0.9};
    for (int p = 0; p < 2; p++) {
        int i = pairs[p][0], k = pairs[p][1];
        lens.covariance[i][k] = lens.covariance[k][i] = share[p] * u[i] * u[k];
    }
    lens.roll_deg = 2;
    lens.pitch_deg = -9;
    lens.roll_u_deg = 0.4;
    lens.pitch_u_deg = 0.7;
    return lens;
}

/** Root mean square deviation when the lens is drawn from its covariance. */
static double drawn_lens_u_deg(const struct omo_lens *lens, const struct omo_lens_line *a,
                               const struct omo_lens_line *b)
{
    gsl_matrix *root = gsl_matrix_calloc(OMO_LENS_VALUES, OMO_LENS_VALUES);
    for (size_t i = 0; i < OMO_LENS_VALUES; i++)
        for (size_t k = 0; k < OMO_LENS_VALUES; k++)
            gsl_matrix_set(root, i, k,
                           lens->covariance[i][k] * (i == k ? 1 + 1e-9 : 1) +
                               (i == k ? 1e-18 : 0));
    ck_assert_int_eq(gsl_linalg_cholesky_decomp1(root), 0);
    double middle_deg = direction_deg(lens, a, b), sum = 0;
    for (int n = 0; n < DRAWS; n++) {
        struct omo_lens drawn = *lens;
        double z[OMO_LENS_VALUES];
        for (size_t i = 0; i < OMO_LENS_VALUES; i++) {
            z[i] = gsl_ran_gaussian(dice, 1);
            for (size_t k = 0; k <= i; k++)
                drawn.value[i] += gsl_matrix_get(root, i, k) * z[k];
        }
        double off_deg = omo_wrap_deg(direction_deg(&drawn, a, b) - middle_deg, -180);
        sum += off_deg * off_deg;
    }
    gsl_matrix_free(root);
    return sqrt(sum / DRAWS);
}

static double drawn_level_u_deg(const struct omo_lens *lens,
                                const struct omo_lens_line *a,
                                const struct omo_lens_line *b)
{
    double middle_deg = direction_deg(lens, a, b), sum = 0;
    for (int n = 0; n < DRAWS; n++) {
        struct omo_lens drawn = *lens;
        drawn.roll_deg += gsl_ran_gaussian(dice, lens->roll_u_deg);
        drawn.pitch_deg += gsl_ran_gaussian(dice, lens->pitch_u_deg);
        double off_deg = omo_wrap_deg(direction_deg(&drawn, a, b) - middle_deg, -180);
        sum += off_deg * off_deg;
    }
    return sqrt(sum / DRAWS);
}

static void agree(const char *what, double got_deg, double want_deg)
{
    ck_assert_msg(fabs(got_deg - want_deg) < TOL_SHARE * want_deg + 1e-4,
                  "%s: %.4f degrees, drawn %.4f", what, got_deg, want_deg);
}

START_TEST(a_calibrated_lens_leaves_what_drawing_it_leaves)
{
    struct omo_lens lens = uncertain_lens();
    const struct omo_lens_line *a = &lines[_i], *b = &lines[(_i + 1) % LINES];
    agree("lens", omo_lens_angle_u_deg(&lens, a->from, a->to),
          drawn_lens_u_deg(&lens, a, NULL));
    agree("lens between", omo_lens_between_u_deg(&lens, a, b),
          drawn_lens_u_deg(&lens, a, b));
}
END_TEST

START_TEST(the_assumed_lens_leaves_what_drawing_it_leaves)
{
    struct omo_lens lens;
    omo_lens_default(1280, 720, &lens);
    const struct omo_lens_line *a = &lines[_i];
    double u_deg = omo_lens_angle_u_deg(&lens, a->from, a->to);
    double drawn_deg = drawn_lens_u_deg(&lens, a, NULL);
    /* So wide that what is left out of the second order shows. */
    ck_assert_msg(fabs(u_deg - drawn_deg) < 0.1 * drawn_deg + 0.01,
                  "line %d: %.4f degrees, drawn %.4f", _i, u_deg, drawn_deg);
    ck_assert_double_lt(u_deg, 3);
}
END_TEST

START_TEST(a_level_leaves_what_drawing_it_leaves)
{
    struct omo_lens lens = uncertain_lens();
    const struct omo_lens_line *a = &lines[_i], *b = &lines[(_i + 1) % LINES];
    agree("level", omo_lens_level_u_deg(&lens, a->from, a->to),
          drawn_level_u_deg(&lens, a, NULL));
    agree("level between", omo_lens_level_between_u_deg(&lens, a, b),
          drawn_level_u_deg(&lens, a, b));
}
END_TEST

START_TEST(a_level_that_is_not_known_counts_as_assumed)
{
    struct omo_lens lens = webcam(), assumed = lens;
    assumed.roll_deg = assumed.pitch_deg = 0;
    assumed.roll_u_deg = OMO_LENS_ROLL_ASSUMED_U_DEG;
    assumed.pitch_u_deg = OMO_LENS_PITCH_ASSUMED_U_DEG;
    const struct omo_lens_line *a = &lines[_i];
    double u_deg = omo_lens_level_u_deg(&lens, a->from, a->to);
    ck_assert_double_eq_tol(u_deg, omo_lens_level_u_deg(&assumed, a->from, a->to), 1e-12);
    agree("assumed level", u_deg, drawn_level_u_deg(&assumed, a, NULL));
}
END_TEST

START_TEST(a_roll_counts_one_to_one_against_the_vertical_and_not_between_lines)
{
    struct omo_lens lens = webcam();
    lens.roll_deg = lens.pitch_deg = 0;
    lens.roll_u_deg = 0.5;
    lens.pitch_u_deg = 0;
    ck_assert_double_eq_tol(omo_lens_level_u_deg(&lens, lines[1].from, lines[1].to), 0.5,
                            1e-9);
    ck_assert_double_eq_tol(omo_lens_level_between_u_deg(&lens, &lines[1], &lines[2]), 0,
                            1e-9);
}
END_TEST

START_TEST(a_line_without_length_has_no_uncertainty)
{
    struct omo_lens lens = uncertain_lens();
    struct omo_point p = {300, 300};
    ck_assert(isnan(omo_lens_angle_u_deg(&lens, p, p)));
    ck_assert(isnan(omo_lens_level_u_deg(&lens, p, p)));
}
END_TEST

/* 100 degrees a second, 30 ms, an upper arm of 127 of 720 rows: half a degree. */
START_TEST(a_rolling_shutter_counts_by_speed_and_rows)
{
    struct omo_lens lens = webcam();
    lens.readout_s = 0.030;
    ck_assert_double_eq_tol(omo_lens_shutter_u_deg(&lens, -100, 127.0 / 720), 0.529,
                            1e-3);
    ck_assert_double_eq_tol(omo_lens_shutter_u_deg(&lens, 0, 1), 0, 1e-12);
    double sum = 0;
    for (int n = 0; n < DRAWS; n++) {
        double readout_s = gsl_ran_flat(dice, 0, OMO_LENS_READOUT_MOST_S);
        sum += pow(80 * readout_s * 0.4, 2);
    }
    agree("shutter", omo_lens_shutter_u_deg(NULL, 80, -0.4), sqrt(sum / DRAWS));
    lens.readout_s = NAN;
    ck_assert_double_eq_tol(omo_lens_shutter_u_deg(&lens, 80, 0.4),
                            omo_lens_shutter_u_deg(NULL, 80, 0.4), 1e-12);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("lens uncertainty");
    TCase *tcase = tcase_create("lens uncertainty");
    tcase_set_timeout(tcase, 60);
    tcase_add_checked_fixture(tcase, begin, end);
    tcase_add_loop_test(tcase, a_calibrated_lens_leaves_what_drawing_it_leaves, 0, LINES);
    tcase_add_loop_test(tcase, the_assumed_lens_leaves_what_drawing_it_leaves, 0, LINES);
    tcase_add_loop_test(tcase, a_level_leaves_what_drawing_it_leaves, 0, LINES);
    tcase_add_loop_test(tcase, a_level_that_is_not_known_counts_as_assumed, 0, LINES);
    tcase_add_test(tcase,
                   a_roll_counts_one_to_one_against_the_vertical_and_not_between_lines);
    tcase_add_test(tcase, a_line_without_length_has_no_uncertainty);
    tcase_add_test(tcase, a_rolling_shutter_counts_by_speed_and_rows);
    suite_add_tcase(suite, tcase);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed > 0;
}
