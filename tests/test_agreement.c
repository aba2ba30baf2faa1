/* Agreement against published tables. */
#include <math.h>

#include <check.h>
#include <gsl/gsl_randist.h>

#include "omogon/agreement.h"

/* Shrout and Fleiss, Psychological Bulletin 86 (1979), 420, table 2: six people, four
   judges; mean squares and coefficients as printed there. */
static const double judges[] = {9, 2, 5, 8, 6,  1, 3, 2, 8, 4, 6, 8,
                                7, 1, 2, 6, 10, 5, 6, 9, 6, 2, 4, 7};
static const double PRINTED = 0.005 + 1e-9, COMPUTED = 1e-4;

/* Bland and Altman, Lancet 1986, 307: peak flow of 17 people in l/min. */
static const double wright1[] = {494, 395, 516, 434, 476, 557, 413, 442, 650,
                                 433, 417, 656, 267, 478, 178, 423, 427};
static const double wright2[] = {490, 397, 512, 401, 470, 611, 415, 431, 638,
                                 429, 420, 633, 275, 492, 165, 372, 421};
static const double mini1[] = {512, 430, 520, 428, 500, 600, 364, 380, 658,
                               445, 432, 626, 260, 477, 259, 350, 451};

START_TEST(the_table_of_shrout_and_fleiss)
{
    /* By model: single, average; intervals by their formulas. */
    static const double single[3] = {.17, .29, .71}, average[3] = {.44, .62, .91};
    static const double low[3] = {-0.1329, 0.0188, 0.3425},
                        high[3] = {0.7226, 0.7611, 0.9459};
    static const double average_low[3] = {-0.8844, 0.0711, 0.6757},
                        average_high[3] = {0.9124, 0.9272, 0.9859};
    struct omo_agreement a;
    ck_assert_int_eq(omo_agreement_of(judges, 6, 4, 0.95, &a), OMO_OK);
    ck_assert_double_eq_tol(a.between_ms, 11.24, PRINTED);
    ck_assert_double_eq_tol(a.within_ms, 6.26, PRINTED);
    ck_assert_double_eq_tol(a.rater_ms, 32.49, PRINTED);
    ck_assert_double_eq_tol(a.error_ms, 1.02, PRINTED);
    for (int i = 0; i < 3; i++) {
        ck_assert_double_eq_tol(a.single[i].value, single[i], PRINTED);
        ck_assert_double_eq_tol(a.average[i].value, average[i], PRINTED);
        ck_assert_double_eq_tol(a.single[i].low, low[i], COMPUTED);
        ck_assert_double_eq_tol(a.single[i].high, high[i], COMPUTED);
        ck_assert_double_eq_tol(a.average[i].low, average_low[i], COMPUTED);
        ck_assert_double_eq_tol(a.average[i].high, average_high[i], COMPUTED);
    }
    ck_assert_double_eq_tol(a.single[1].value, 0.2897638, 1e-7);
    ck_assert_double_eq_tol(a.sem_consistency, sqrt(1.019444), 1e-5);
    /* raters: (32.486111 - 1.019444) / 6 beside the error */
    ck_assert_double_eq_tol(a.sem_agreement, sqrt(1.019444 + 5.244444), 1e-5);
}
END_TEST

START_TEST(limits_of_bland_and_altman)
{
    struct omo_limits l;
    ck_assert_int_eq(omo_limits_of_agreement(wright1, mini1, 17, 0.95, &l), OMO_OK);
    ck_assert_double_eq_tol(l.bias, -2.1176470588, 1e-9); /* -2.1 in the paper */
    ck_assert_double_eq_tol(l.sd, 38.7651298736, 1e-9);   /* 38.8 */
    ck_assert_double_eq_tol(l.bias_low, -22.0, 0.1);
    ck_assert_double_eq_tol(l.bias_high, 17.8, 0.1);
    ck_assert_double_eq_tol(l.lower, -78.0973016, 1e-6);
    ck_assert_double_eq_tol(l.upper, 73.8620075, 1e-6);
    /* The standard error of a limit is 16.284612, Student's t of 16 is 2.1199053. */
    ck_assert_double_eq_tol(l.upper_high - l.upper, 16.284612 * 2.1199053, 1e-4);
    ck_assert_double_eq_tol(l.lower - l.lower_low, 16.284612 * 2.1199053, 1e-4);
}
END_TEST

START_TEST(repeatability_of_one_meter)
{
    double values[34];
    struct omo_agreement a;
    for (int i = 0; i < 17; i++) {
        values[2 * i] = wright1[i];
        values[2 * i + 1] = wright2[i];
    }
    ck_assert_int_eq(omo_agreement_of(values, 17, 2, 0.95, &a), OMO_OK);
    /* Root mean square of the differences over sqrt(2); the paper's coefficient is twice
       the root mean square, 43.2. */
    ck_assert_double_eq_tol(a.within_sd, 15.3067, 1e-3);
    ck_assert_double_eq_tol(2 * sqrt(2) * a.within_sd, 43.2938, 1e-3);
    ck_assert_double_eq_tol(a.repeatability, 1.96 * sqrt(2) * 15.3067, 1e-3);
}
END_TEST

START_TEST(detectable_changes)
{
    ck_assert_double_eq_tol(omo_detectable_change(3, 0.95), 8.315576, 1e-3);
    ck_assert_double_eq_tol(omo_detectable_change(3, 0.90), 6.979144, 1e-3);
}
END_TEST

START_TEST(a_difference_that_grows_with_the_mean_is_told)
{
    double first[12], second[12];
    struct omo_limits l;
    for (int i = 0; i < 12; i++) {
        double truth = 60 + 8 * i;
        first[i] = 1.2 * truth + (i % 3 - 1) * 0.5;
        second[i] = truth + (i % 2) * 0.5;
    }
    ck_assert_int_eq(omo_limits_of_agreement(first, second, 12, 0.95, &l), OMO_OK);
    ck_assert_double_eq_tol(l.slope, 0.2 / 1.1, 0.01);
    ck_assert_double_lt(l.slope_p, 1e-6);
}
END_TEST

START_TEST(nothing_is_made_up)
{
    struct omo_agreement a = {.people = 77};
    struct omo_limits l = {.pairs = 77};
    const double same[] = {5, 5, 5, 5, 5, 5}, gap[] = {1, 2, NAN, 4};
    ck_assert_int_eq(omo_agreement_of(same, 3, 2, 0.95, &a), OMO_ERR_EMPTY);
    ck_assert_int_eq(omo_agreement_of(gap, 2, 2, 0.95, &a), OMO_ERR_ARG);
    ck_assert_int_eq(omo_agreement_of(judges, 1, 4, 0.95, &a), OMO_ERR_ARG);
    ck_assert_int_eq(omo_agreement_of(judges, 6, 4, 1, &a), OMO_ERR_ARG);
    ck_assert_uint_eq(a.people, 77);
    ck_assert_int_eq(omo_limits_of_agreement(same, same, 3, 0.95, &l), OMO_ERR_EMPTY);
    ck_assert_int_eq(omo_limits_of_agreement(same, same, 2, 0.95, &l), OMO_ERR_ARG);
    ck_assert_uint_eq(l.pairs, 77);
}
END_TEST

START_TEST(a_difference_that_is_the_same_for_everybody_is_no_error)
{
    /* What is left of 5.3 by rounding, with and without it cancelling out. */
    double values[24], first[12], second[12];
    struct omo_agreement a;
    struct omo_limits l;
    for (int shift = 0; shift < 50; shift++) {
        for (int i = 0; i < 12; i++) {
            first[i] = values[2 * i] = 60.123 + 7.7 * i + 0.011 * i * i;
            second[i] = values[2 * i + 1] = values[2 * i] + 0.1 * shift + 0.3;
        }
        ck_assert_int_eq(omo_agreement_of(values, 12, 2, 0.95, &a), OMO_ERR_EMPTY);
        ck_assert_int_eq(omo_limits_of_agreement(first, second, 12, 0.95, &l),
                         OMO_ERR_EMPTY);
    }
    /* A thousandth of a degree in one value is an error. */
    values[0] += 0.001;
    ck_assert_int_eq(omo_agreement_of(values, 12, 2, 0.95, &a), OMO_OK);
    ck_assert_double_eq_tol(a.error_ms, 0.001 * 0.001 / 2 / 12, 1e-12);
}
END_TEST

START_TEST(people_for_a_width)
{
    /* More of them for a narrower interval, fewer with more raters, none for nonsense. */
    ck_assert_uint_gt(omo_icc_people(0.8, 2, 0.1, 0.95),
                      omo_icc_people(0.8, 2, 0.2, 0.95));
    ck_assert_uint_gt(omo_icc_people(0.8, 2, 0.2, 0.95),
                      omo_icc_people(0.8, 4, 0.2, 0.95));
    ck_assert_uint_eq(omo_icc_people(1, 2, 0.2, 0.95), 0);
    ck_assert_uint_eq(omo_icc_people(0.8, 1, 0.2, 0.95), 0);
    /* 8 z^2 (1 - r)^2 (1 + (k - 1) r)^2 / (k (k - 1) w^2) + 1, by hand for r .7, k 3, w
       .2: 8 * 3.841459 * 0.09 * 5.76 / (6 * 0.04) + 1 = 67.4 */
    ck_assert_uint_eq(omo_icc_people(0.7, 3, 0.2, 0.95), 68);
}
END_TEST

START_TEST(one_pair_a_person_gives_the_ordinary_limits)
{
    double difference[17];
    int person[17], side[17];
    struct omo_limits ordinary;
    struct omo_pair_limits l;
    for (int i = 0; i < 17; i++) {
        difference[i] = wright1[i] - mini1[i];
        person[i] = 3 * i; /* numbers may have gaps */
        side[i] = 90 - 2 * i;
    }
    ck_assert_int_eq(omo_limits_of_agreement(wright1, mini1, 17, 0.95, &ordinary),
                     OMO_OK);
    for (int sides = 0; sides < 2; sides++) {
        ck_assert_int_eq(omo_limits_of_pairs(difference, person, sides ? side : NULL, 17,
                                             0.95, &l),
                         OMO_OK);
        ck_assert_uint_eq(l.people, 17);
        ck_assert_double_eq_tol(l.limits.bias, ordinary.bias, 1e-9);
        ck_assert_double_eq_tol(l.limits.sd, ordinary.sd, 1e-6);
        ck_assert_double_eq_tol(l.limits.lower, ordinary.lower, 1e-6);
        ck_assert_double_eq_tol(l.limits.upper, ordinary.upper, 1e-6);
        ck_assert_double_eq_tol(l.limits.bias_low, ordinary.bias_low, 1e-6);
        ck_assert_double_eq_tol(l.limits.bias_high, ordinary.bias_high, 1e-6);
        ck_assert_double_eq_tol(l.df, 16, 1e-6);
        ck_assert(isnan(l.person) && isnan(l.side));
    }
}
END_TEST

START_TEST(a_balanced_table_of_pairs_is_its_analysis_of_variance)
{
    /* Four people, three pairs each; by hand: means 2, 5, 3, 8, of all 4.5; squares
       within people 2 + 8 + 2 + 14 = 26 on 8 degrees of freedom, between them 3 *
       (6.25 + .25 + 2.25 + 12.25) = 63 on 3. */
    const double difference[] = {1, 2, 3, 3, 5, 7, 2, 3, 4, 6, 7, 11};
    const int person[] = {0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3};
    const double within = 26. / 8, between = 63. / 3, person_variance = (21 - 3.25) / 3;
    struct omo_pair_limits l;
    ck_assert_int_eq(omo_limits_of_pairs(difference, person, NULL, 12, 0.95, &l), OMO_OK);
    ck_assert_double_eq_tol(l.limits.bias, 4.5, 1e-9);
    ck_assert_double_eq_tol(l.within, within, COMPUTED);
    ck_assert_double_eq_tol(l.person, person_variance, COMPUTED);
    double total = within + person_variance;
    ck_assert_double_eq_tol(l.limits.upper, 4.5 + 1.96 * sqrt(total), COMPUTED);
    ck_assert_double_eq_tol(l.limits.lower, 4.5 - 1.96 * sqrt(total), COMPUTED);
    /* The bias has the error of the mean square between people, on its 3 degrees of
       freedom (Student's 3.182446); the sum of variances is that square over 3 and two
       thirds of the one within, whose variances are 2 MS^2 / df. */
    ck_assert_double_eq_tol(l.limits.bias_high - 4.5, 3.182446 * sqrt(between / 12),
                            COMPUTED);
    double spread = 2 * (between / 3) * (between / 3) / 3 +
                    2 * (within * 2 / 3) * (within * 2 / 3) / 8;
    ck_assert_double_eq_tol(l.df, 2 * total * total / spread, 1e-3);
}
END_TEST

/** Share of limits whose interval has the true one, both of each random table: 10 people
 *  with 1 to 3 pairs of each side. */
static double covered(double person_sd, double side_sd, double within_sd)
{
    enum { TABLES = 2000, MOST = 60 };
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    double limit =
        1.96 * sqrt(person_sd * person_sd + side_sd * side_sd + within_sd * within_sd);
    int times = 0;
    gsl_rng_set(random, 20);
    for (int table = 0; table < TABLES; table++) {
        double difference[MOST];
        int person[MOST], side[MOST];
        size_t pairs = 0;
        double of_person = 0;
        struct omo_pair_limits l;
        for (int i = 0; i < 20; i++) {
            if (i % 2 == 0)
                of_person = gsl_ran_gaussian(random, person_sd);
            double of_side = of_person + gsl_ran_gaussian(random, side_sd);
            for (size_t more = 1 + gsl_rng_uniform_int(random, 3); more; more--) {
                person[pairs] = i / 2;
                side[pairs] = i;
                difference[pairs++] = of_side + gsl_ran_gaussian(random, within_sd);
            }
        }
        ck_assert_int_eq(omo_limits_of_pairs(difference, person, side, pairs, 0.95, &l),
                         OMO_OK);
        times += l.limits.upper_low < limit && limit < l.limits.upper_high;
        times += l.limits.lower_low < -limit && -limit < l.limits.lower_high;
    }
    gsl_rng_free(random);
    return times / (2.0 * TABLES);
}

START_TEST(the_interval_of_a_limit_has_the_true_one_as_often_as_it_says)
{
    /* Within 0.925 to 0.975: Bradley's liberal criterion (British Journal of Mathematical
       and Statistical Psychology 31 (1978), 144, from memory). */
    static const double sd[][3] = {{2, 1, 2}, {4, 0.5, 1}, {0, 0, 2}};
    for (size_t i = 0; i < sizeof sd / sizeof *sd; i++) {
        double share = covered(sd[i][0], sd[i][1], sd[i][2]);
        ck_assert_double_eq_tol(share, 0.95, 0.025);
    }
}
END_TEST

START_TEST(pairs_that_have_no_limits)
{
    struct omo_pair_limits l = {.people = 77};
    const double difference[] = {1, 2, 4, 3}, same[] = {.3, .3, .3, .3},
                 gap[] = {1, 2, NAN, 3}, people[] = {1, 1, 4, 4};
    const int one[] = {5, 5, 5, 5}, two[] = {0, 0, 1, 1}, none[] = {0, -1, 1, 1},
              crossed[] = {0, 1, 0, 1};
    ck_assert_int_eq(omo_limits_of_pairs(difference, one, NULL, 4, .95, &l), OMO_ERR_ARG);
    ck_assert_int_eq(omo_limits_of_pairs(difference, none, NULL, 4, .95, &l),
                     OMO_ERR_ARG);
    ck_assert_int_eq(omo_limits_of_pairs(difference, two, crossed, 4, .95, &l),
                     OMO_ERR_ARG);
    ck_assert_int_eq(omo_limits_of_pairs(difference, two, NULL, 2, .95, &l), OMO_ERR_ARG);
    ck_assert_int_eq(omo_limits_of_pairs(difference, two, NULL, 4, 1, &l), OMO_ERR_ARG);
    ck_assert_int_eq(omo_limits_of_pairs(gap, two, NULL, 4, .95, &l), OMO_ERR_ARG);
    ck_assert_int_eq(omo_limits_of_pairs(same, two, NULL, 4, .95, &l), OMO_ERR_EMPTY);
    ck_assert_int_eq(omo_limits_of_pairs(people, two, NULL, 4, .95, &l), OMO_ERR_EMPTY);
    ck_assert_uint_eq(l.people, 77);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("agreement");
    TCase *tests = tcase_create("agreement");
    tcase_add_test(tests, the_table_of_shrout_and_fleiss);
    tcase_add_test(tests, limits_of_bland_and_altman);
    tcase_add_test(tests, repeatability_of_one_meter);
    tcase_add_test(tests, detectable_changes);
    tcase_add_test(tests, a_difference_that_grows_with_the_mean_is_told);
    tcase_add_test(tests, nothing_is_made_up);
    tcase_add_test(tests, a_difference_that_is_the_same_for_everybody_is_no_error);
    tcase_add_test(tests, people_for_a_width);
    tcase_add_test(tests, one_pair_a_person_gives_the_ordinary_limits);
    tcase_add_test(tests, a_balanced_table_of_pairs_is_its_analysis_of_variance);
    tcase_add_test(tests, the_interval_of_a_limit_has_the_true_one_as_often_as_it_says);
    tcase_add_test(tests, pairs_that_have_no_limits);
    tcase_set_timeout(tests, 60); /* thousands of fits, under sanitizers too */
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed > 0;
}
