/* What the rules get to know of earlier sessions and steps. */
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

/* ---- past sessions ---------------------------------------------------------------- */

START_TEST(past_sessions_are_newest_first_and_only_those_that_count)
{
    struct omo_session_row row = person_session(1, "2026-11-20");

    person_record(&row);
    row = person_session(2, "2026-11-22");
    person_record(&row);
    row = person_session(3, "2026-11-21"); /* entered late */
    person_record(&row);
    row = person_session(4, "2026-11-23");
    person_record(&row);
    strcpy(row.status, "withdrawn");
    person_record(&row);
    row = person_session(5, "2026-11-24");
    strcpy(row.person, "P002");
    person_record(&row);
    person_load();
    ck_assert_uint_eq(person_state.past_count, 3);
    ck_assert_str_eq(person_state.past[0].date, "2026-11-22");
    ck_assert_str_eq(person_state.past[1].date, "2026-11-21");
    ck_assert_str_eq(person_state.past[2].date, "2026-11-20");
    ck_assert_double_eq_tol(person_state.past[0].mean_of_maxima_deg, 102, 1e-9);
    ck_assert_double_eq_tol(person_state.past[0].u95_deg, 3.25, 1e-9);
}
END_TEST

START_TEST(of_a_day_the_last_one_counts_and_modes_are_apart)
{
    struct omo_session_row row = person_session(1, "2026-11-20");

    person_record(&row);
    row = person_session(2, "2026-11-20");
    person_record(&row);
    row = person_session(3, "2026-11-20");
    strcpy(row.mode, "assisted");
    person_record(&row);
    row = person_session(4, "2026-11-19");
    strcpy(row.mode, "");
    person_record(&row);
    person_load();
    ck_assert_uint_eq(person_state.past_count, 3);
    ck_assert_str_eq(person_state.past[0].mode, "assisted");
    ck_assert_double_eq_tol(person_state.past[1].mean_of_maxima_deg, 102, 1e-9);
    ck_assert_str_eq(person_state.past[2].mode, "active");
}
END_TEST

START_TEST(another_protocol_is_never_mixed_in)
{
    struct omo_session_row row = person_session(1, "2026-11-20");

    person_record(&row);
    row = person_session(2, "2026-11-21");
    strcpy(row.arms, "both");
    person_record(&row);
    person_load();
    ck_assert_uint_eq(person_state.past_count, 2);
    person_fact("arms", "one", TODAY);
    person_load();
    ck_assert_uint_eq(person_state.past_count, 1);
    ck_assert_str_eq(person_state.past[0].date, "2026-11-20");
}
END_TEST

START_TEST(how_sore_a_day_was_is_what_was_told_that_day)
{
    struct omo_session_row row = person_session(1, "2026-11-20");
    struct omo_step_row sore = person_step("measure", "done", "2026-11-21");

    person_record(&row);
    person_calm_day("2026-11-20");
    row = person_session(2, "2026-11-21"); /* a step says so, whatever the answers */
    person_record(&row);
    person_calm_day("2026-11-21");
    strcpy(sore.sore, "middle");
    person_append(OMO_TABLE_STEPS, &sore);
    row = person_session(3, "2026-11-22"); /* nobody asked */
    person_record(&row);
    row = person_session(4, "2026-11-23");
    person_record(&row);
    person_calm_day("2026-11-23");
    person_note("pain-now", 9, "2026-11-23"); /* asked again */
    person_load();
    ck_assert_uint_eq(person_state.past_count, 4);
    ck_assert_int_eq(person_state.past[0].sore, OMO_SORE_SORE);
    ck_assert_int_eq(person_state.past[1].sore, OMO_SORE_SORE);
    ck_assert_int_eq(person_state.past[2].sore, OMO_SORE_MIDDLE);
    ck_assert_int_eq(person_state.past[3].sore, OMO_SORE_CALM);
    ck_assert(!person_state.past[0].comfortable && !person_state.past[1].comfortable);
    ck_assert(person_state.past[2].comfortable && person_state.past[3].comfortable);
}
END_TEST

static const struct {
    const char *name;
    double before, at_max;
    const char *stopped_by, *result;
    bool comfortable;
} endings[] = {
    {"no pain told", NAN, NAN, "", "done", true},
    {"a little", 1, 2, "", "done", true},
    {"pain at the limit", 3, 4, "", "done", false},
    {"two points over the start", 0, 2, "", "done", false},
    {"stopped by pain", NAN, NAN, "pain", "done", false},
    {"the step ended for pain", NAN, NAN, "", "pain", false},
};

START_TEST(a_session_that_ended_for_pain_was_not_comfortable)
{
    struct omo_session_row row = person_session(1, "2026-11-20");
    struct omo_step_row own = person_step("measure", endings[_i].result, "2026-11-20");

    person_calm_day("2026-11-20");
    row.pain_before = endings[_i].before;
    row.pain_at_max = endings[_i].at_max;
    omo_text_copy(row.stopped_by, sizeof row.stopped_by, endings[_i].stopped_by);
    person_record(&row);
    omo_text_copy(own.measured, sizeof own.measured, row.id);
    own.pain_start = own.pain_most = NAN;
    person_append(OMO_TABLE_STEPS, &own);
    person_load();
    ck_assert_msg(person_state.past[0].comfortable == endings[_i].comfortable, "%s",
                  endings[_i].name);
}
END_TEST

/* ---- past steps ------------------------------------------------------------------- */

START_TEST(only_steps_that_were_done_count_each_once)
{
    struct omo_step_row row = person_step("pendulum", "begun", "2026-11-20");

    person_append(OMO_TABLE_STEPS, &row);
    person_load();
    ck_assert_uint_eq(person_state.past_step_count, 0);
    strcpy(row.result, "done"); /* under the same id */
    row.clockwise = 20;
    row.diameter_cm = 32;
    person_append(OMO_TABLE_STEPS, &row);
    row = person_step("press", "skipped", "2026-11-21");
    person_append(OMO_TABLE_STEPS, &row);
    row = person_step("press", "not-offered", "2026-11-21");
    person_append(OMO_TABLE_STEPS, &row);
    row = person_step("", "done", "2026-11-21"); /* the session's own row */
    person_append(OMO_TABLE_STEPS, &row);
    person_load();
    ck_assert_uint_eq(person_state.past_step_count, 1);
    ck_assert_int_eq(person_state.past_steps[0].kind, OMO_STEP_PENDULUM);
    ck_assert_int_eq(person_state.past_steps[0].clockwise, 20);
    ck_assert_int_eq(person_state.past_steps[0].counter_clockwise, 0);
    ck_assert_double_eq_tol(person_state.past_steps[0].diameter_cm, 32, 1e-9);
    ck_assert(!person_state.past_steps[0].discomfort &&
              !person_state.past_steps[0].ended_by_sign);
}
END_TEST

static const struct {
    const char *name, *result;
    double start, most;
    bool discomfort, sign;
} hurts[] = {
    {"as at the start", "done", 1, 1, false, false},
    {"more than at the start", "done", 1, 2, true, false},
    {"not asked", "done", NAN, NAN, true, false},
    {"none, start not asked", "done", NAN, 0, false, false},
    {"ended for pain", "pain", 0, 0, true, false},
    {"ended by a sign", "sign", 0, 0, true, true},
};

START_TEST(a_step_hurt_when_pain_rose_or_nobody_asked)
{
    struct omo_step_row row = person_step("pendulum", hurts[_i].result, "2026-11-20");

    row.pain_start = hurts[_i].start;
    row.pain_most = hurts[_i].most;
    person_append(OMO_TABLE_STEPS, &row);
    person_load();
    ck_assert_msg(person_state.past_steps[0].discomfort == hurts[_i].discomfort, "%s",
                  hurts[_i].name);
    ck_assert_msg(person_state.past_steps[0].ended_by_sign == hurts[_i].sign, "%s",
                  hurts[_i].name);
}
END_TEST

START_TEST(an_area_that_is_taken_up_again_begins_anew)
{
    struct omo_step_row row = person_step("press", "sign", "2026-11-20");

    strcpy(row.area, "blade-back");
    person_append(OMO_TABLE_STEPS, &row);
    person_fact("taken-up:blade-back", "yes", "2026-11-21T00:00:00Z");
    person_load();
    ck_assert_uint_eq(person_state.past_step_count, 0);
    row = person_step("press", "done", "2026-11-22");
    strcpy(row.area, "blade-back");
    person_append(OMO_TABLE_STEPS, &row);
    person_load();
    ck_assert_uint_eq(person_state.past_step_count, 1);
    ck_assert_str_eq(person_state.past_steps[0].date, "2026-11-22");
    ck_assert_str_eq(person_state.past_steps[0].area, "blade-back");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("person_past");
    TCase *tests = tcase_create("person_past");
    SRunner *runner = srunner_create(suite);
    int failed;

    tcase_add_checked_fixture(tests, fixture_make, person_end);
    tcase_add_test(tests, past_sessions_are_newest_first_and_only_those_that_count);
    tcase_add_test(tests, of_a_day_the_last_one_counts_and_modes_are_apart);
    tcase_add_test(tests, another_protocol_is_never_mixed_in);
    tcase_add_test(tests, how_sore_a_day_was_is_what_was_told_that_day);
    tcase_add_loop_test(tests, a_session_that_ended_for_pain_was_not_comfortable, 0,
                        COUNT(endings));
    tcase_add_test(tests, only_steps_that_were_done_count_each_once);
    tcase_add_loop_test(tests, a_step_hurt_when_pain_rose_or_nobody_asked, 0,
                        COUNT(hurts));
    tcase_add_test(tests, an_area_that_is_taken_up_again_begins_anew);
    suite_add_tcase(suite, tests);
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
