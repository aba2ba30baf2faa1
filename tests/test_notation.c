#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "omogon/notation.h"

static void see(double away, double toward, const char *wanted)
{
    char text[48];
    ck_assert_int_eq(omo_neutral_zero(away, toward, text, sizeof text),
                     wanted[0] != '\0');
    ck_assert_str_eq(text, wanted);
}

static void see_sftr(enum omo_pair pair, double away, double toward, double at,
                     const char *wanted)
{
    char text[48];
    ck_assert_int_eq(omo_sftr(pair, away, toward, at, text, sizeof text),
                     wanted[0] != '\0');
    ck_assert_str_eq(text, wanted);
}

START_TEST(the_handbooks_examples)
{
    /* www.physiopaed.de, Neutral-Null-Methode obere Extremitaeten, as of 2026. */
    see(180, 40, "180-0-40");
    see(45, 170, "45-0-170");
    see(60, 95, "60-0-95");
    see(70, 70, "70-0-70");
    /* www.frage.de, Neutral-Null-Methode: 10 degrees backward, 80 forward. */
    see(10, 80, "10-0-80");
}
END_TEST

START_TEST(the_zero_moves_to_the_side_that_cannot_be_reached)
{
    /* No external rotation at all: rests at 15 of internal rotation, moves to 70. (Rule
       of the method, from memory.) */
    see(-15, 70, "0-15-70");
    see(60, -20, "60-20-0");
}
END_TEST

START_TEST(sftr_as_gerhardt_and_russe_write_it)
{
    /* Gerhardt and Russe 1975, from memory. */
    see_sftr(OMO_PAIR_EXTENSION_FLEXION, 50, 170, NAN, "S: 50-0-170");
    see_sftr(OMO_PAIR_ABDUCTION_ADDUCTION, 170, 75, NAN, "F: 170-0-75");
    see_sftr(OMO_PAIR_EXTERNAL_INTERNAL_ROTATION, 60, 80, NAN, "R(F0): 60-0-80");
    see_sftr(OMO_PAIR_EXTERNAL_INTERNAL_ROTATION, 90, 80, 90, "R(F90): 90-0-80");
    see_sftr(OMO_PAIR_EXTENSION_FLEXION, -20, 110, NAN, "S: 0-20-110");
    /* A fixed joint has two numbers. */
    see_sftr(OMO_PAIR_EXTENSION_FLEXION, -15, 15, NAN, "S: 0-15");
    see_sftr(OMO_PAIR_EXTENSION_FLEXION, 30, -30, NAN, "S: 30-0");
}
END_TEST

START_TEST(at_ninety_only_where_it_was)
{
    enum omo_pair r = OMO_PAIR_EXTERNAL_INTERNAL_ROTATION;
    see_sftr(r, 50, 60, 79, "R(F80): 50-0-60");
    see_sftr(r, 50, 60, 80, "R(F90): 50-0-60");
    see_sftr(r, 50, 60, 100, "R(F90): 50-0-60");
    see_sftr(r, 50, 60, 47, "R(F45): 50-0-60");
    see_sftr(r, 50, 60, 2, "R(F0): 50-0-60");
}
END_TEST

START_TEST(halves_and_nothing)
{
    see(44.5, 169.5, "45-0-170");
    see(-0.4, 70, "0-0-70");
    see(0, 0, "0-0-0");
    see(NAN, 70, "");
    see(70, NAN, "");
    see(-30, 20, "");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("notation");
    TCase *tests = tcase_create("notation");
    tcase_add_test(tests, the_handbooks_examples);
    tcase_add_test(tests, the_zero_moves_to_the_side_that_cannot_be_reached);
    tcase_add_test(tests, sftr_as_gerhardt_and_russe_write_it);
    tcase_add_test(tests, at_ninety_only_where_it_was);
    tcase_add_test(tests, halves_and_nothing);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
