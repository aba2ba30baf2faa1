/* What a practitioner types into a sheet: each mistake in a sentence, nothing written
 * half. */
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <check.h>
#include <glib.h>

#include "app/people.h"
#include "omogon/models.h"
#include "omogon/text.h"
#include "person_fixture.h"
#include "record_fixture.h"

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

static struct omo_person_tables tables;
static struct omo_people_edit edit;

static bool gather(struct omo_people_words *words)
{
    words->person = "P001";
    edit = (struct omo_people_edit){.words = words, .tables = &tables};
    strcpy(edit.today, TODAY);
    strcpy(edit.now, TODAY "T09:00:00Z");
    edit.changes = g_array_new(FALSE, TRUE, sizeof(struct omo_people_change));
    ck_assert_int_eq(omo_person_tables_open(fixture_folder, &tables), OMO_OK);
    return omo_people_gather(&edit);
}

static const struct omo_people_change *change(guint index)
{
    ck_assert_uint_lt(index, edit.changes->len);
    return &g_array_index(edit.changes, struct omo_people_change, index);
}

static void finish(void)
{
    g_array_free(edit.changes, TRUE);
    omo_person_tables_close(&tables);
}

/* ---- mistakes --------------------------------------------------------------------- */

#define LIST(word)                                                                       \
    (char *[])                                                                           \
    {                                                                                    \
        word, NULL                                                                       \
    }
#define BY .set_by = "R1"

static struct {
    const char *name;
    struct omo_people_words words;
    const char *said;
} mistakes[] = {
    {"nobody says who", {.sex = "female"}, "--set-by"},
    {"a name instead of a code", {.sex = "female", .set_by = "Dr. X"}, "--set-by"},
    {"added twice", {.add = TRUE, BY}, "already"},
    {"a year to come", {.birth_year = "2030", BY}, "--birth-year"},
    {"a year that is none", {.birth_year = "young", BY}, "--birth-year"},
    {"a sex", {.sex = "x", BY}, "female, male, other"},
    {"a height in metres", {.height = "1.71", BY}, "50 to 250"},
    {"a dominant side", {.dominant = "both", BY}, "left, right"},
    {"an affected side", {.affected = "none", BY}, "left, right, both"},
    {"a history", {.history = LIST("clot,nerves"), BY}, "\"nerves\""},
    {"an area", {.taught = LIST("elbow"), BY}, "\"elbow\""},
    {"an area for everybody", {.taught = LIST("blade-back"), BY}, "has to be taught"},
    {"an area to take up", {.taken_up = LIST("elbow"), BY}, "\"elbow\""},
    {"a weight", {.weight = "heavy", BY}, "2.5 (kg)"},
    {"too heavy", {.weight = "5", BY}, "2.5 (kg)"},
    {"no such programme", {.programme = "no-such-programme", BY}, "no-such-programme"},
    {"arms", {.arms = "left", BY}, "one, both"},
    {"a limit without parts", {.limits = LIST("flexion"), BY}, "MOVEMENT:SIDE"},
    {"a limit's movement", {.limits = LIST("bend:right:90:active"), BY}, "\"bend\""},
    {"a limit's side",
     {.limits = LIST("flexion:up:90:active"), BY},
     "left, right or both"},
    {"a limit's angle", {.limits = LIST("flexion:right:900:active"), BY}, "-90 to 180"},
    {"a limit's word", {.limits = LIST("flexion:right:90:some"), BY}, "MOVEMENT:SIDE"},
    {"a limit's weight", {.limits = LIST("flexion:right:90:active:0"), BY}, "10 (kg)"},
    {"too many parts", {.limits = LIST("flexion:right:90:active:1:2"), BY}, "MOVEMENT"},
    {"withdrawn but never set",
     {.limits = LIST("scaption:left:withdrawn"), BY},
     "no such limit"},
    {"a day that is none",
     {.limits = LIST("flexion:right:90:active"), .valid_until = "2027-02-30", BY},
     "YYYY-MM-DD"},
    {"a day that has passed",
     {.limits = LIST("flexion:right:90:active"), .valid_until = "2026-11-25", BY},
     "from today on"},
    {"a day without a limit",
     {.valid_until = "2027-01-01", .sex = "male", BY},
     "--limit"},
    {"a mark", {.mark = "flexion:120", BY}, "MOVEMENT:SIDE:DEGREES"},
    {"an activity", {.activities = LIST("4:walk"), BY}, "1:, 2: or 3:"},
    {"an empty note", {.notes = LIST(""), BY}, "--note"},
};

START_TEST(each_mistake_is_one_sentence)
{
    person_affected("right"); /* so that the person is there */
    ck_assert_msg(!gather(&mistakes[_i].words), "%s", mistakes[_i].name);
    ck_assert_msg(fixture_messages >= 1, "%s", mistakes[_i].name);
    ck_assert_msg(strstr(fixture_message, mistakes[_i].said) != NULL, "%s: %s",
                  mistakes[_i].name, fixture_message);
    ck_assert_msg(strstr(fixture_message, "P001") == NULL, "%s", mistakes[_i].name);
    if (mistakes[_i].words.programme == NULL)
        ck_assert_msg(fixture_messages == 1, "%s", mistakes[_i].name);
    finish();
}
END_TEST

START_TEST(somebody_who_is_not_in_the_list_has_to_be_added)
{
    struct omo_people_words words = {.sex = "female", BY};

    ck_assert(!gather(&words));
    ck_assert_ptr_nonnull(strstr(fixture_message, "--add"));
    finish();
}
END_TEST

/* ---- changes ---------------------------------------------------------------------- */

START_TEST(one_row_holds_all_that_is_new_of_a_person)
{
    struct omo_people_words words = {.birth_year = "1961", .height = "171.5", BY};

    person_affected("right");
    ck_assert(gather(&words));
    ck_assert_uint_eq(edit.changes->len, 1);
    ck_assert_int_eq(change(0)->kind, OMO_TABLE_PEOPLE);
    ck_assert_int_eq(change(0)->row.person.birth_year, 1961);
    ck_assert_double_eq_tol(change(0)->row.person.height_cm, 171.5, 1e-9);
    ck_assert_str_eq(change(0)->row.person.affected_side, "right");
    ck_assert_str_eq(change(0)->row.person.set_by, "R1");
    ck_assert_str_eq(change(0)->row.person.set_on, TODAY "T09:00:00Z");
    ck_assert_ptr_nonnull(strstr(change(0)->said, "1961 (before: nothing)"));
    finish();
}
END_TEST

START_TEST(what_the_sheet_says_already_is_no_change)
{
    struct omo_people_words words = {.affected = "right",
                                     .history = LIST("clot"),
                                     .no_history = LIST("fracture"),
                                     .not_taught = LIST("blade-front"),
                                     .weight = "1.5",
                                     .limits = LIST("flexion:right:90:active"),
                                     BY};

    person_affected("right");
    person_fact("history:clot", "yes", TODAY);
    person_fact("weight", "1.50", TODAY);
    person_limit("flexion", "right", 90, "active", "", "ok");
    ck_assert(gather(&words));
    ck_assert_uint_eq(edit.changes->len, 0);
    finish();
}
END_TEST

START_TEST(a_limit_takes_the_place_of_the_one_before_and_says_so)
{
    struct omo_people_words words = {.limits = LIST("flexion:right:100:assisted:0.5"),
                                     .valid_until = TODAY,
                                     BY};
    const struct omo_limit_row *row;

    person_affected("right");
    person_limit("flexion", "right", 90, "active", "2026-10-01", "ok");
    ck_assert(gather(&words));
    ck_assert_uint_eq(edit.changes->len, 1);
    row = &change(0)->row.limit;
    ck_assert_double_eq_tol(row->ceiling_deg, 100, 1e-9);
    ck_assert_double_eq_tol(row->load_kg, 0.5, 1e-9);
    ck_assert_str_eq(row->allowed, "assisted");
    ck_assert_str_eq(row->valid_until, TODAY);
    ck_assert_str_eq(row->status, "ok");
    ck_assert_str_eq(row->replaces,
                     omo_person_limit(&tables, "P001", "flexion", "right")->id);
    ck_assert_ptr_nonnull(strstr(change(0)->said, "up to 100.0 degrees"));
    ck_assert_ptr_nonnull(strstr(change(0)->said, "before: up to 90.0 degrees"));
    finish();
}
END_TEST

START_TEST(a_limit_is_withdrawn_by_a_row_of_its_own)
{
    struct omo_people_words words = {.limits = LIST("flexion:right:withdrawn"), BY};

    person_affected("right");
    person_limit("flexion", "right", 90, "active", "", "ok");
    ck_assert(gather(&words));
    ck_assert_str_eq(change(0)->row.limit.status, "withdrawn");
    ck_assert_uint_eq(strlen(change(0)->row.limit.replaces), 32);
    finish();
}
END_TEST

START_TEST(a_limit_may_stand_for_every_movement_and_both_arms)
{
    struct omo_people_words words = {.limits = LIST("all:both:none:assisted"), BY};

    person_affected("right");
    ck_assert(gather(&words));
    ck_assert_str_eq(change(0)->row.limit.movement, "");
    ck_assert_str_eq(change(0)->row.limit.side, "both");
    ck_assert_ptr_nonnull(strstr(change(0)->said, "every movement, both arms"));
    finish();
}
END_TEST

START_TEST(a_starter_is_kept_by_its_name_and_a_file_by_its_whole_path)
{
    struct omo_people_words words = {.programme = "desk-days", BY};
    g_autofree char *text = NULL;
    char starter[512];

    person_affected("right");
    ck_assert(gather(&words));
    ck_assert_str_eq(change(0)->row.sheet.item, "programme");
    ck_assert_str_eq(change(0)->row.sheet.value, "desk-days");
    finish();
    ck_assert_int_eq(omo_models_path("programmes/desk-days.ini", starter, sizeof starter),
                     OMO_OK);
    ck_assert(g_file_get_contents(starter, &text, NULL, NULL));
    fixture_write("own.ini", text);
    ck_assert_int_eq(chdir(fixture_folder), 0);
    words.programme = "own.ini";
    ck_assert(gather(&words));
    ck_assert_str_eq(change(0)->row.sheet.value, fixture_path("own.ini"));
    finish();
}
END_TEST

START_TEST(several_changes_are_several_rows_in_order)
{
    struct omo_people_words words = {.history = LIST("clot,fracture"),
                                     .taught = LIST("armpit-back"),
                                     .taken_up = LIST("blade-back"),
                                     .weight = "none",
                                     .mark = "flexion:right:120:above",
                                     .activities = LIST("2:reach the top shelf"),
                                     .notes = LIST("an invented remark"),
                                     BY};
    static const char *const items[] = {
        "history:clot",        "history:fracture", "taught:armpit-back",
        "taken-up:blade-back", "weight",           "mark",
        "activity:2"};
    static const char *const values[] = {"yes",
                                         "yes",
                                         "yes",
                                         "yes",
                                         "none",
                                         "flexion:right:120:above",
                                         "reach the top shelf"};

    person_affected("right");
    ck_assert(gather(&words));
    ck_assert_uint_eq(edit.changes->len, COUNT(items) + 1);
    for (guint i = 0; i < COUNT(items); i++) {
        ck_assert_str_eq(change(i)->row.sheet.item, items[i]);
        ck_assert_str_eq(change(i)->row.sheet.value, values[i]);
        ck_assert_str_eq(change(i)->row.sheet.set_by, "R1");
    }
    ck_assert_str_eq(change(COUNT(items))->row.note.text, "an invented remark");
    ck_assert_str_eq(change(COUNT(items))->row.note.detail, "R1");
    finish();
}
END_TEST

START_TEST(a_limit_has_expired_the_day_after)
{
    struct omo_limit_row row = {.valid_until = "2026-11-26"};

    ck_assert(!omo_limit_expired(&row, "2026-11-26"));
    ck_assert(omo_limit_expired(&row, "2026-11-27"));
    row.valid_until[0] = '\0';
    ck_assert(!omo_limit_expired(&row, "2026-11-27"));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("people_edit");
    TCase *tests = tcase_create("people_edit");
    SRunner *runner = srunner_create(suite);
    int failed;

    tcase_add_checked_fixture(tests, fixture_make, fixture_remove);
    tcase_add_loop_test(tests, each_mistake_is_one_sentence, 0, COUNT(mistakes));
    tcase_add_test(tests, somebody_who_is_not_in_the_list_has_to_be_added);
    tcase_add_test(tests, one_row_holds_all_that_is_new_of_a_person);
    tcase_add_test(tests, what_the_sheet_says_already_is_no_change);
    tcase_add_test(tests, a_limit_takes_the_place_of_the_one_before_and_says_so);
    tcase_add_test(tests, a_limit_is_withdrawn_by_a_row_of_its_own);
    tcase_add_test(tests, a_limit_may_stand_for_every_movement_and_both_arms);
    tcase_add_test(tests, a_starter_is_kept_by_its_name_and_a_file_by_its_whole_path);
    tcase_add_test(tests, several_changes_are_several_rows_in_order);
    tcase_add_test(tests, a_limit_has_expired_the_day_after);
    suite_add_tcase(suite, tests);
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
