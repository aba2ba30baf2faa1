#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/most_probable.h"

#define TOL 1e-9
/* A search ends below 1e-8 standard deviations; those here are up to 2. */
#define TOL_SEARCH 1e-7

static double room[1000];

/* ---- measurements of a constant: everything is known in closed form ---- */

struct readings {
    const double *value;
    size_t count;
};

static void constant(void *context, const double *at, double *residual, double *jacobian)
{
    const struct readings *r = context;
    for (size_t i = 0; i < r->count; i++) {
        residual[i] = at[0] - r->value[i];
        if (jacobian != NULL)
            jacobian[i] = 1.0;
    }
}

static struct omo_probable_task constant_task(const struct readings *r,
                                              const struct omo_prior *prior)
{
    return (struct omo_probable_task){.unknowns = 1,
                                      .residuals = r->count,
                                      .prior = prior,
                                      .residuals_at = constant,
                                      .context = (void *)r};
}

START_TEST(readings_and_belief_are_weighed_by_their_variances)
{
    /* The normal mean with a normal prior: precision n + 1 / s^2. */
    const double value[] = {11, 12, 13.5, 9};
    struct readings r = {value, 4};
    struct omo_prior prior = {8, 0.5};
    struct omo_probable_task task = constant_task(&r, &prior);
    struct omo_probable p;
    ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_OK);
    ck_assert(p.converged);
    ck_assert_int_eq(p.unknowns, 1);
    double mean = (8 * 4 + 45.5) / (4 + 4);
    ck_assert_double_eq_tol(p.parameter[0], mean, TOL);
    ck_assert_double_eq_tol(p.covariance[0][0], 1.0 / 8, TOL);
    double chi_square = 0;
    for (int i = 0; i < 4; i++)
        chi_square += (value[i] - mean) * (value[i] - mean);
    ck_assert_double_eq_tol(p.chi_square, chi_square, TOL);
    ck_assert_double_eq_tol(p.prior_chi_square, (mean - 8) * (mean - 8) / 0.25, TOL);
}
END_TEST

/** log density of readings ~ normal(m 1, I + s^2 1 1'), by Sherman and Morrison. */
static double log_density(const struct readings *r, struct omo_prior prior)
{
    double sum = 0, square = 0, n = (double)r->count, s2 = prior.sd * prior.sd;
    for (size_t i = 0; i < r->count; i++) {
        double off = r->value[i] - prior.mean;
        sum += off;
        square += off * off;
    }
    double form = square - s2 * sum * sum / (1 + n * s2);
    return -0.5 * (form + log(1 + n * s2) + n * log(2 * M_PI));
}

START_TEST(evidence_of_a_linear_model_is_its_density)
{
    const double value[] = {11, 12, 13.5, 9, 10.25};
    struct readings r = {value, 5};
    const struct omo_prior priors[] = {{8, 0.5}, {8, 20}, {11, 2}};
    double evidence[3];
    for (int i = 0; i < 3; i++) {
        struct omo_probable_task task = constant_task(&r, &priors[i]);
        struct omo_probable p;
        ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_OK);
        evidence[i] = p.log_evidence;
        ck_assert_double_eq_tol(evidence[i], log_density(&r, priors[i]), TOL);
    }
    /* Too sure and wrong is worse than unsure; right is best. */
    ck_assert_double_gt(evidence[2], evidence[1]);
    ck_assert_double_gt(evidence[1], evidence[0]);
}
END_TEST

START_TEST(without_measurements_the_belief_comes_back)
{
    struct readings r = {NULL, 0};
    struct omo_prior prior = {-3, 0.25};
    double start = 5;
    struct omo_probable_task task = constant_task(&r, &prior);
    struct omo_probable p;
    task.start = &start;
    ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_OK);
    ck_assert(p.converged);
    ck_assert_double_eq_tol(p.parameter[0], -3, TOL);
    ck_assert_double_eq_tol(p.covariance[0][0], 0.0625, TOL);
    ck_assert_double_eq_tol(p.log_evidence, 0, TOL);
}
END_TEST

START_TEST(one_wild_reading_pulls_by_huber_s_bound_and_no_more)
{
    /* Ten readings at 0, one at 100 or at 1e6: 10 p = k, so p = k / 10. */
    double value[11] = {0};
    struct readings r = {value, 11};
    struct omo_prior prior = {0, INFINITY};
    struct omo_probable_task task = constant_task(&r, &prior);
    struct omo_probable p;
    task.huber = 1.345;
    for (double wild = 100; wild < 1e7; wild *= 1e4) {
        value[10] = wild;
        ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_OK);
        ck_assert(p.converged);
        ck_assert_double_eq_tol(p.parameter[0], 0.1345, 1e-6);
        ck_assert_double_eq_tol(p.covariance[0][0], 0.1, 1e-2);
        ck_assert(isnan(p.log_evidence));
        /* 10 p^2 for the squares, 2 k (r - k / 2) for the wild one. */
        double off = wild - 0.1345;
        ck_assert_double_eq_tol(p.chi_square / wild,
                                (0.1345 * 1.345 + 2 * 1.345 * (off - 1.345 / 2)) / wild,
                                1e-8);
    }
    task.huber = 0;
    ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_OK);
    ck_assert_double_eq_tol(p.parameter[0], value[10] / 11, 1e-6);
}
END_TEST

START_TEST(huber_s_density_is_divided_by_its_area)
{
    /* With every reading within the bound only the area under exp(-loss) differs from the
     * normal one; it is summed here by small steps. */
    const double value[] = {0.2, -0.4, 0.5, 0.1};
    struct readings r = {value, 4};
    struct omo_prior prior = {0, 1};
    struct omo_probable_task task = constant_task(&r, &prior);
    struct omo_probable p;
    double k = 1.5, area = 0, step = 1e-3;
    for (double x = -40; x < 40; x += step)
        area += step * exp(fabs(x) > k ? -k * (fabs(x) - 0.5 * k) : -0.5 * x * x);
    task.huber = k;
    ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_OK);
    ck_assert_double_eq_tol(p.log_evidence,
                            log_density(&r, prior) + 2 * log(2 * M_PI) - 4 * log(area),
                            1e-5);
}
END_TEST

/* ---- curved models ---- */

/** Rosenbrock's valley (Computer Journal 3, 1960) as two residuals. */
static void valley(void *context, const double *at, double *residual, double *jacobian)
{
    int *derivatives = context;
    residual[0] = 10 * (at[1] - at[0] * at[0]);
    residual[1] = 1 - at[0];
    if (jacobian == NULL)
        return;
    ++*derivatives;
    memcpy(jacobian, (const double[]){-20 * at[0], 10, -1, 0}, 4 * sizeof *jacobian);
}

static const struct omo_prior valley_prior[2] = {{-1.2, INFINITY}, {1, INFINITY}};

START_TEST(a_bent_valley_is_followed_to_its_end)
{
    /* J at (1, 1) is -20 10 / -1 0, so (J'J)^-1 is 1 2 / 2 4.01. */
    int derivatives = 0;
    struct omo_probable_task task = {.unknowns = 2,
                                     .residuals = 2,
                                     .prior = valley_prior,
                                     .residuals_at = valley,
                                     .context = &derivatives,
                                     .differences = _i == 1};
    struct omo_probable p;
    ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_OK);
    ck_assert(p.converged);
    ck_assert_int_eq(derivatives > 0, _i == 0);
    ck_assert_double_eq_tol(p.parameter[0], 1, TOL_SEARCH);
    ck_assert_double_eq_tol(p.parameter[1], 1, TOL_SEARCH);
    ck_assert_double_eq_tol(p.covariance[0][0], 1, TOL_SEARCH);
    ck_assert_double_eq_tol(p.covariance[0][1], 2, TOL_SEARCH);
    ck_assert_double_eq_tol(p.covariance[1][0], 2, TOL_SEARCH);
    ck_assert_double_eq_tol(p.covariance[1][1], 4.01, TOL_SEARCH);
    ck_assert(isnan(p.log_evidence));
    /* Of a sum, and of a difference: 1 + 4.01 +- 2 * 2. */
    ck_assert_double_eq_tol(omo_probable_sd(&p, (const double[]){1, 1}), sqrt(9.01),
                            TOL_SEARCH);
    ck_assert_double_eq_tol(omo_probable_sd(&p, (const double[]){1, -1}), sqrt(1.01),
                            TOL_SEARCH);
}
END_TEST

START_TEST(a_search_cut_short_says_so)
{
    int derivatives = 0;
    struct omo_probable_task task = {.unknowns = 2,
                                     .residuals = 2,
                                     .prior = valley_prior,
                                     .residuals_at = valley,
                                     .context = &derivatives,
                                     .iterations_max = 3};
    struct omo_probable p;
    ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_OK);
    ck_assert(!p.converged);
    ck_assert_int_eq(p.iterations, 3);
    /* Downhill all the same: 24.2 at the start. */
    ck_assert_double_lt(p.chi_square, 24.2);
}
END_TEST

static void logarithm(void *context, const double *at, double *residual, double *jacobian)
{
    (void)context;
    residual[0] = log(at[0]) + 2;
    if (jacobian != NULL)
        jacobian[0] = 1 / at[0];
}

START_TEST(a_step_to_where_the_model_does_not_exist_is_shortened)
{
    /* From 5 the first full step leads to 5 - 5 (log 5 + 2) < 0. */
    struct omo_prior prior = {5, INFINITY};
    struct omo_probable_task task = {.unknowns = 1,
                                     .residuals = 1,
                                     .prior = &prior,
                                     .residuals_at = logarithm};
    for (int i = 0; i < 2; i++) {
        struct omo_probable p;
        task.differences = i == 1;
        ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_OK);
        ck_assert(p.converged);
        ck_assert_double_eq_tol(p.parameter[0], exp(-2), TOL_SEARCH);
    }
}
END_TEST

/** A straight line down to 0.5 whose slope is not known below 1. */
static void half_known(void *context, const double *at, double *residual,
                       double *jacobian)
{
    (void)context;
    residual[0] = at[0] - 0.5;
    if (jacobian != NULL)
        jacobian[0] = at[0] < 1 ? (double)NAN : 1.0;
}

START_TEST(a_place_without_a_slope_is_not_gone_to)
{
    struct omo_prior prior = {5, 100};
    struct omo_probable_task task = {.unknowns = 1,
                                     .residuals = 1,
                                     .prior = &prior,
                                     .residuals_at = half_known};
    struct omo_probable p;
    ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_OK);
    ck_assert(!p.converged);
    ck_assert_double_ge(p.parameter[0], 1);
    ck_assert_double_lt(p.parameter[0], 5);
    ck_assert_double_eq_tol(p.chi_square, pow(p.parameter[0] - 0.5, 2), TOL);
    ck_assert_double_eq_tol(p.covariance[0][0], 1 / (1 + 1e-4), TOL);
}
END_TEST

/** Only the sum of two unknowns is seen. */
static void sum_of_two(void *context, const double *at, double *residual,
                       double *jacobian)
{
    (void)context;
    for (int i = 0; i < 5; i++) {
        residual[i] = at[0] + at[1] - 6;
        if (jacobian != NULL)
            jacobian[2 * i] = jacobian[2 * i + 1] = 1;
    }
}

START_TEST(a_direction_nothing_speaks_of_is_told_or_left_to_the_prior)
{
    struct omo_prior prior[2] = {{1, INFINITY}, {1, INFINITY}};
    struct omo_probable_task task = {.unknowns = 2,
                                     .residuals = 5,
                                     .prior = prior,
                                     .residuals_at = sum_of_two};
    struct omo_probable p = {.unknowns = 77};
    ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_ERR_EMPTY);
    ck_assert_int_eq(p.unknowns, 77);

    prior[0].sd = prior[1].sd = 3;
    ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_OK);
    /* Sum: precision 5 + 1 / 18. Difference: the priors alone, variance 18. */
    ck_assert_double_eq_tol(omo_probable_sd(&p, (const double[]){1, 1}),
                            1 / sqrt(5 + 1.0 / 18), TOL);
    ck_assert_double_eq_tol(omo_probable_sd(&p, (const double[]){1, -1}), sqrt(18), 1e-8);
    ck_assert_double_eq_tol(p.parameter[0], p.parameter[1], TOL);
}
END_TEST

/* ---- a dozen unknowns of very different size ---- */

/** Harmonics: sum of a_j cos(j x) with unknown j in units of 10^(j - 6). */
static void harmonics(void *context, const double *at, double *residual, double *jacobian)
{
    (void)context;
    for (int i = 0; i < 48; i++) {
        double x = (i + 0.5) * M_PI / 48, sum = 0;
        for (int j = 0; j < OMO_UNKNOWNS; j++) {
            double slope = cos(j * x) * pow(10, 6 - j) / 0.01;
            sum += slope * at[j];
            if (jacobian != NULL)
                jacobian[i * OMO_UNKNOWNS + j] = slope;
        }
        residual[i] = sum - cos(3 * x) / 0.01;
    }
}

START_TEST(units_of_the_unknowns_do_not_matter)
{
    struct omo_prior prior[OMO_UNKNOWNS];
    for (int j = 0; j < OMO_UNKNOWNS; j++)
        prior[j] = (struct omo_prior){0, INFINITY};
    struct omo_probable_task task = {.unknowns = OMO_UNKNOWNS,
                                     .residuals = 48,
                                     .prior = prior,
                                     .residuals_at = harmonics};
    struct omo_probable p;
    ck_assert_int_eq(omo_most_probable(&task, room, &p), OMO_OK);
    ck_assert(p.converged);
    for (int j = 0; j < OMO_UNKNOWNS; j++) {
        double unit = pow(10, j - 6);
        ck_assert_double_eq_tol(p.parameter[j] / unit, j == 3 ? 1 : 0, TOL);
        /* The cosines are orthogonal over these points: 48 and 24 times 1 / 0.01^2. */
        double variance = 1e-4 / (j == 0 ? 48 : 24);
        ck_assert_double_eq_tol(p.covariance[j][j] / (unit * unit), variance, 1e-12);
    }
}
END_TEST

START_TEST(the_same_task_gives_the_same_bits)
{
    int derivatives = 0;
    struct omo_probable_task task = {.unknowns = 2,
                                     .residuals = 2,
                                     .prior = valley_prior,
                                     .residuals_at = valley,
                                     .context = &derivatives};
    struct omo_probable first, second;
    memset(&first, 0, sizeof first);
    memset(&second, 0, sizeof second);
    memset(room, 0xff, sizeof room);
    ck_assert_int_eq(omo_most_probable(&task, room, &first), OMO_OK);
    ck_assert_int_eq(omo_most_probable(&task, room, &second), OMO_OK);
    ck_assert_mem_eq(first.parameter, second.parameter, sizeof first.parameter);
    ck_assert_mem_eq(first.covariance, second.covariance, sizeof first.covariance);
    ck_assert_int_eq(first.iterations, second.iterations);
}
END_TEST

START_TEST(an_unsound_task_is_refused)
{
    const double value[] = {1, 2};
    struct readings r = {value, 2};
    struct omo_prior prior = {0, 1};
    struct omo_probable_task good = constant_task(&r, &prior);
    struct omo_probable p = {.unknowns = 77};
    double start = NAN;
    for (int i = 0; i < 8; i++) {
        struct omo_probable_task task = good;
        prior = (struct omo_prior){i == 3 ? NAN : 0, i == 4 ? 0 : i == 5 ? NAN : 1};
        task.unknowns = i == 0 ? 0 : i == 1 ? OMO_UNKNOWNS + 1 : 1;
        task.huber = i == 2 ? -1 : 0;
        task.iterations_max = i == 6 ? -1 : 0;
        task.start = i == 7 ? &start : NULL;
        ck_assert_msg(omo_most_probable(&task, room, &p) == OMO_ERR_ARG, "fault %d", i);
    }
    ck_assert_int_eq(p.unknowns, 77);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("most probable");
    TCase *tc = tcase_create("linear");
    tcase_add_test(tc, readings_and_belief_are_weighed_by_their_variances);
    tcase_add_test(tc, evidence_of_a_linear_model_is_its_density);
    tcase_add_test(tc, without_measurements_the_belief_comes_back);
    tcase_add_test(tc, one_wild_reading_pulls_by_huber_s_bound_and_no_more);
    tcase_add_test(tc, huber_s_density_is_divided_by_its_area);
    tcase_add_test(tc, units_of_the_unknowns_do_not_matter);
    suite_add_tcase(suite, tc);
    tc = tcase_create("curved");
    tcase_add_loop_test(tc, a_bent_valley_is_followed_to_its_end, 0, 2);
    tcase_add_test(tc, a_search_cut_short_says_so);
    tcase_add_test(tc, a_step_to_where_the_model_does_not_exist_is_shortened);
    tcase_add_test(tc, a_place_without_a_slope_is_not_gone_to);
    tcase_add_test(tc, a_direction_nothing_speaks_of_is_told_or_left_to_the_prior);
    tcase_add_test(tc, the_same_task_gives_the_same_bits);
    tcase_add_test(tc, an_unsound_task_is_refused);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
