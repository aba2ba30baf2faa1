/* What the rules get to know of a person out of the sheet and the limits. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <check.h>
#include <glib.h>

#include "app/person_state.h"
#include "omogon/text.h"
#include "person_fixture.h"
#include "record_fixture.h"

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

/* ---- the sheet -------------------------------------------------------------------- */

START_TEST(nothing_known_is_an_empty_state)
{
    person_load();
    ck_assert(!person_state.affected_known && !person_state.taught_front &&
              !person_state.taught_armpit);
    ck_assert(!person_state.weight_ticked && !person_state.mark_told);
    ck_assert_uint_eq(person_state.history, 0);
    ck_assert_uint_eq(person_state.limit_count + person_state.past_count +
                          person_state.past_step_count,
                      0);
    ck_assert(isnan(person_state.told_mark_deg));
    ck_assert_str_eq(person_state.today, TODAY);
    omo_person_state_free(NULL);
}
END_TEST

START_TEST(the_affected_side_is_the_last_one_entered)
{
    person_affected("left");
    person_affected("right");
    person_load();
    ck_assert(person_state.affected_known && person_state.affected == OMO_RIGHT);
    person_affected("both");
    person_load();
    ck_assert(!person_state.affected_known);
    ck_assert_uint_eq(person_state.history, OMO_HISTORY_BOTH_SIDES);
}
END_TEST

START_TEST(every_word_of_the_history_is_its_bit_until_it_is_taken_back)
{
    g_autofree char *item = g_strconcat("history:", omo_history_name(_i), NULL);

    person_fact(item, "yes", TODAY);
    person_load();
    ck_assert_uint_eq(person_state.history, 1u << _i);
    person_fact(item, "no", TODAY);
    person_load();
    ck_assert_uint_eq(person_state.history, 0);
}
END_TEST

START_TEST(ticks_are_what_the_sheet_says_last)
{
    person_fact("taught:blade-front", "yes", TODAY);
    person_fact("weight", "1.50", TODAY);
    person_fact("mark", "flexion:right:120:above", TODAY);
    person_load();
    ck_assert(person_state.taught_front && !person_state.taught_armpit &&
              person_state.weight_ticked);
    ck_assert_double_eq_tol(person_state.weight_most_kg, 1.5, 1e-9);
    ck_assert(person_state.mark_told);
    ck_assert_double_eq_tol(person_state.told_mark_deg, 120, 1e-9);
    ck_assert_str_eq(person_state.told_movement, "flexion");
    ck_assert_str_eq(person_state.told_side, "right");
    person_fact("taught:blade-front", "no", TODAY);
    person_fact("taught:armpit-back", "yes", TODAY);
    person_fact("weight", "none", TODAY);
    person_fact("mark", "none", TODAY);
    person_load();
    ck_assert(!person_state.taught_front && person_state.taught_armpit &&
              !person_state.weight_ticked);
    ck_assert(!person_state.mark_told && isnan(person_state.told_mark_deg));
}
END_TEST

/* ---- limits ----------------------------------------------------------------------- */

START_TEST(the_last_limit_of_a_movement_and_side_counts_though_expired)
{
    person_limit("flexion", "right", 60, "assisted", "2026-10-01", "ok");
    person_limit("flexion", "left", 70, "active", "", "ok");
    person_limit("flexion", "right", 90, "active", "2026-11-01", "ok");
    person_limit("abduction", "right", 45, "active", "", "ok");
    person_limit("abduction", "right", 45, "active", "", "withdrawn");
    person_load();
    ck_assert_uint_eq(person_state.limit_count, 2);
    ck_assert_str_eq(person_state.limits[0].side, "right");
    ck_assert_double_eq_tol(person_state.limits[0].ceiling_deg, 90, 1e-9);
    ck_assert_int_eq(person_state.limits[0].allowed, OMO_ALLOWED_ACTIVE);
    ck_assert_str_eq(person_state.limits[0].valid_until, "2026-11-01");
    ck_assert(isnan(person_state.limits[0].load_kg));
    ck_assert_str_eq(person_state.limits[1].side, "left");
}
END_TEST

START_TEST(a_word_that_is_not_known_allows_nothing)
{
    person_limit("flexion", "right", 60, "a little", "", "ok");
    person_load();
    ck_assert_int_eq(person_state.limits[0].allowed, OMO_ALLOWED_NONE);
}
END_TEST

START_TEST(limits_that_cannot_be_read_are_no_state)
{
    g_autofree char *text =
        g_strconcat(omo_table_header(OMO_TABLE_LIMITS), "\nhalf\nmore\n", NULL);

    fixture_write("limits.csv", text);
    ck_assert_int_eq(omo_person_state_load(fixture_folder, "P001", TODAY, &person_state),
                     OMO_ERR_FORMAT);
    ck_assert_int_eq(fixture_messages, 1);
    ck_assert_ptr_nonnull(strstr(fixture_message, "limits.csv"));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("person_state");
    TCase *tests = tcase_create("person_state");
    SRunner *runner = srunner_create(suite);
    int failed;

    tcase_add_checked_fixture(tests, fixture_make, person_end);
    tcase_add_test(tests, nothing_known_is_an_empty_state);
    tcase_add_test(tests, the_affected_side_is_the_last_one_entered);
    tcase_add_loop_test(tests,
                        every_word_of_the_history_is_its_bit_until_it_is_taken_back, 0,
                        OMO_HISTORY_BITS);
    tcase_add_test(tests, ticks_are_what_the_sheet_says_last);
    tcase_add_test(tests, the_last_limit_of_a_movement_and_side_counts_though_expired);
    tcase_add_test(tests, a_word_that_is_not_known_allows_nothing);
    tcase_add_test(tests, limits_that_cannot_be_read_are_no_state);
    suite_add_tcase(suite, tests);
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
