/* The tables beside sessions.csv: format, what must never be lost, one lock for all. */
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <check.h>
#include <glib.h>
#include <glib/gstdio.h>

#include "omogon/clock.h"
#include "omogon/tables.h"
#include "omogon/text.h"
#include "record_fixture.h"
#include "table_rows.h"

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

static const struct {
    enum omo_table_kind kind;
    const char *file, *header;
    const char *row; /* of invented_row(), its id left out */
} kinds[] = {
    {OMO_TABLE_STEPS, "steps.csv",
     "id,person,session,started,ended,programme,programme_mark,step,group,kind,movement,"
     "area,side,mode,result,reason,repetitions,clockwise,counter_clockwise,unknown_way,"
     "diameter_cm,diameter_growth_cm,loose_ratio,held_s,breaths,ease_ups,stop_deg,"
     "stop_u95_deg,gain_deg,target_deg,ceiling_deg,tenderness_before,tenderness_after,"
     "pain_start,pain_most,pain_end,load_kg,sore,measured,version,note",
     ",P001,,2026-11-24T09:00:00Z,,regaining-range,,circles,swing,pendulum,,,right,,done,"
     ",,15,14,,22.50,,,,,,,,,,,,,1.0,,,0.500,calm,," OMO_VERSION ",\n"},
    {OMO_TABLE_NOTES, "notes.csv",
     "id,person,session,written,item,side,detail,value,unit,text,status,replaces",
     ",P001,,2026-11-24T09:00:00Z,woken,,,2.000,nights,\"an invented note, quoted\",ok,"
     "\n"},
    {OMO_TABLE_LIMITS, "limits.csv",
     "id,person,set_on,side,movement,ceiling_deg,allowed,load_kg,set_by,valid_until,"
     "status,replaces,note",
     ",P001,2026-11-24T09:00:00Z,right,abduction,90.000,assisted,,R1,2026-12-24,ok,,\n"},
    {OMO_TABLE_SHEET, "sheet.csv", "id,person,set_on,set_by,item,value,note",
     ",P001,2026-11-24T09:00:00Z,R1,history:clot,yes,\n"},
    {OMO_TABLE_PEOPLE, "people.csv",
     "person,set_on,set_by,birth_year,sex,height_cm,dominant_side,affected_side,note",
     "P001,2026-11-24T09:00:00Z,R1,1961,,171.50,right,left,\n"},
    {OMO_TABLE_SET_UPS, "set-ups.csv",
     "id,camera,picture_width_px,picture_height_px,frames_per_second,exposure,lens,"
     "lens_mark,distance_m,roll_deg,pitch_deg,marker_size_mm,colours,markers,cutoff_hz,"
     "models_mark,protocol,version",
     ",Desk camera,1280,720,30.000,held,desk,,2.5,-0.750,,32.000,default,"
     "shoulder disc 32 90/80; elbow disc 32 200/110,6.000,,skin over-head," OMO_VERSION
     "\n"},
    {OMO_TABLE_CHANGES, "changes.csv",
     "id,person,changed_on,changed_by,what,row,old_value,new_value,reason",
     ",P001,2026-11-24T09:00:00Z,R1,rename,,P002,P001,\n"},
};

static struct omo_table *open_table(enum omo_table_kind kind)
{
    struct omo_table *table = NULL;

    ck_assert_int_eq(omo_table_open(fixture_folder, kind, &table), OMO_OK);
    return table;
}

static void append(struct omo_table *table, enum omo_table_kind kind)
{
    union table_row row;

    invented_row(kind, &row);
    ck_assert_int_eq(omo_table_append(table, &row), OMO_OK);
}

/* ---- the format ---------------------------------------------------------------- */

START_TEST(file_and_header_are_the_published_ones)
{
    ck_assert_str_eq(omo_table_file(kinds[_i].kind), kinds[_i].file);
    ck_assert_str_eq(omo_table_header(kinds[_i].kind), kinds[_i].header);
}
END_TEST

START_TEST(a_row_is_written_cell_by_cell)
{
    struct omo_table *table = open_table(kinds[_i].kind);
    union table_row row;
    struct stat info;
    const char *text;

    ck_assert(!fixture_there(kinds[_i].file));
    invented_row(kinds[_i].kind, &row);
    ck_assert_int_eq(omo_table_append(table, &row), OMO_OK);
    omo_table_close(table);
    text = fixture_text(kinds[_i].file) + strlen(kinds[_i].header) + 1;
    if (kinds[_i].row[0] == ',') {
        ck_assert(memcmp(text, &row, 32) == 0); /* the id comes first in row and file */
        text += 32;
    }
    ck_assert_str_eq(text, kinds[_i].row);
    ck_assert_int_eq(stat(fixture_path(kinds[_i].file), &info), 0);
    ck_assert_int_eq(info.st_mode & 0777, 0600);
}
END_TEST

START_TEST(every_cell_of_a_row_comes_back)
{
    enum omo_table_kind kind = kinds[_i].kind;
    struct omo_table *table = open_table(kind);
    struct omo_session_field field, other;
    char names[1024] = "";
    union table_row row;

    invented_row(kind, &row);
    ck_assert_int_eq(omo_table_append(table, &row), OMO_OK);
    omo_table_close(table);
    table = open_table(kind);
    ck_assert_uint_eq(omo_table_count(table), 1);
    ck_assert_ptr_null(omo_table_row(table, 1));
    for (int i = 0; omo_table_field(kind, &row, i, &field); i++) {
        ck_assert(omo_table_field(kind, omo_table_row(table, 0), i, &other));
        ck_assert_str_eq(field.text, other.text);
        omo_text_add(names, sizeof names, "%s%s", i > 0 ? "," : "", field.name);
    }
    ck_assert_str_eq(names, kinds[_i].header);
    omo_table_close(table);
}
END_TEST

START_TEST(an_empty_row_says_nothing)
{
    enum omo_table_kind kind = kinds[_i].kind;
    struct omo_session_field field;
    union table_row row;

    memset(&row, 'x', sizeof row);
    omo_table_row_init(kind, &row);
    for (int i = 0; omo_table_field(kind, &row, i, &field); i++)
        ck_assert_str_eq(field.text, strcmp(field.name, "status") == 0    ? "ok"
                                     : strcmp(field.name, "version") == 0 ? OMO_VERSION
                                                                          : "");
}
END_TEST

START_TEST(an_id_is_filled_in_and_a_given_one_kept)
{
    struct omo_table *table = open_table(OMO_TABLE_STEPS);
    union table_row first, second, third;

    invented_row(OMO_TABLE_STEPS, &first);
    invented_row(OMO_TABLE_STEPS, &second);
    invented_row(OMO_TABLE_STEPS, &third);
    ck_assert_int_eq(omo_table_append(table, &first), OMO_OK);
    ck_assert_int_eq(omo_table_append(table, &second), OMO_OK);
    ck_assert_uint_eq(strspn(first.step.id, "0123456789abcdef"), 32);
    ck_assert_uint_eq(strlen(first.step.id), 32);
    ck_assert_str_ne(first.step.id, second.step.id);
    strcpy(third.step.id, first.step.id);
    ck_assert_int_eq(omo_table_append(table, &third), OMO_OK);
    ck_assert_uint_eq(omo_table_count(table), 3);
    ck_assert_str_eq(((const struct omo_step_row *)omo_table_row(table, 2))->id,
                     first.step.id);
    omo_table_close(table);
}
END_TEST

START_TEST(a_person_without_a_pseudonym_is_not_added)
{
    struct omo_table *table = open_table(OMO_TABLE_PEOPLE);
    union table_row row;

    omo_table_row_init(OMO_TABLE_PEOPLE, &row);
    ck_assert_int_eq(omo_table_append(table, &row), OMO_ERR_ARG);
    ck_assert(!fixture_there("people.csv"));
    omo_table_close(table);
}
END_TEST

START_TEST(a_note_is_never_run_as_a_formula)
{
    struct omo_table *table = open_table(OMO_TABLE_NOTES);
    union table_row row;

    invented_row(OMO_TABLE_NOTES, &row);
    strcpy(row.note.text, "=1+1\n");
    ck_assert_int_eq(omo_table_append(table, &row), OMO_OK);
    ck_assert(g_str_has_suffix(fixture_text("notes.csv"), ",nights,'=1+1 ,ok,\n"));
    ck_assert_str_eq(((const struct omo_note_row *)omo_table_row(table, 0))->text,
                     "=1+1 ");
    omo_table_close(table);
}
END_TEST

/* ---- set-ups -------------------------------------------------------------------------
 */

START_TEST(a_set_up_is_written_once_and_keeps_its_id_while_nothing_changes)
{
    struct omo_record *record = fixture_open(true);
    union table_row row, again;

    invented_row(OMO_TABLE_SET_UPS, &row);
    again = row;
    ck_assert_int_eq(omo_record_set_up(record, &row.set_up), OMO_OK);
    ck_assert_uint_eq(strlen(row.set_up.id), 32);
    char *before = g_strdup(fixture_text("set-ups.csv"));
    ck_assert_int_eq(omo_record_set_up(record, &again.set_up), OMO_OK);
    ck_assert_str_eq(again.set_up.id, row.set_up.id);
    ck_assert_str_eq(fixture_text("set-ups.csv"), before);
    g_free(before);
    omo_record_close(record);
}
END_TEST

START_TEST(a_set_up_in_which_anything_differs_is_another_one)
{
    struct omo_record *record = fixture_open(true);
    union table_row row;
    struct omo_session_field field;
    GHashTable *ids = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    struct omo_set_up_row *s = &row.set_up;
    char *texts[] = {s->camera,  s->exposure,    s->lens,     s->lens_mark, s->colours,
                     s->markers, s->models_mark, s->protocol, s->version};
    double *numbers[] = {&s->frames_per_second, &s->distance_m,     &s->roll_deg,
                         &s->pitch_deg,         &s->marker_size_mm, &s->cutoff_hz};
    int *counts[] = {&s->picture_width_px, &s->picture_height_px};
    int changes = COUNT(texts) + COUNT(numbers) + COUNT(counts), columns = 0;

    for (int k = 0; k < changes; k++) {
        invented_row(OMO_TABLE_SET_UPS, &row);
        if (k < COUNT(texts))
            strcpy(texts[k], "another");
        else if (k < COUNT(texts) + COUNT(numbers))
            *numbers[k - COUNT(texts)] = 77;
        else
            *counts[k - COUNT(texts) - COUNT(numbers)] = 77;
        ck_assert_int_eq(omo_record_set_up(record, s), OMO_OK);
        ck_assert_msg(g_hash_table_add(ids, g_strdup(s->id)), "change %d", k);
    }
    /* Each column but the id has been changed once. */
    while (omo_table_field(OMO_TABLE_SET_UPS, s, columns, &field))
        columns++;
    ck_assert_int_eq(changes, columns - 1);
    g_hash_table_destroy(ids);
    omo_record_close(record);
}
END_TEST

START_TEST(a_set_up_that_cannot_be_written_is_said_once_and_has_no_id)
{
    struct omo_record *record = fixture_open(true);
    union table_row row;

    fixture_write("set-ups.csv", "id,camera\n1,another version's\n");
    invented_row(OMO_TABLE_SET_UPS, &row);
    ck_assert_int_eq(omo_record_set_up(record, &row.set_up), OMO_ERR_FORMAT);
    ck_assert_int_eq(fixture_messages, 1);
    ck_assert_str_eq(row.set_up.id, "");
    ck_assert_str_eq(fixture_text("set-ups.csv"), "id,camera\n1,another version's\n");
    omo_record_close(record);
}
END_TEST

/* ---- what must never be lost ---------------------------------------------------------
 */

static const struct {
    const char *name, *text, *said;
} strange[] = {
    {"another version's", "id,person,thing\n1,P001,x\n", "other columns"},
    {"a number that is none", NULL, "damaged in line 2"},
};

START_TEST(a_table_that_is_not_understood_is_left_alone)
{
    struct omo_table *table = NULL;
    char *text = strange[_i].text != NULL
                     ? g_strdup(strange[_i].text)
                     : g_strconcat(omo_table_header(OMO_TABLE_LIMITS),
                                   "\n1,P001,,right,flexion,much,,,,,ok,,\n", NULL);

    fixture_write("limits.csv", text);
    ck_assert_int_eq(omo_table_open(fixture_folder, OMO_TABLE_LIMITS, &table),
                     OMO_ERR_FORMAT);
    ck_assert_ptr_null(table);
    ck_assert_int_eq(fixture_messages, 1);
    ck_assert_msg(strstr(fixture_message, strange[_i].said) != NULL, "%s: %s",
                  strange[_i].name, fixture_message);
    ck_assert_ptr_nonnull(strstr(fixture_message, "limits.csv"));
    ck_assert_str_eq(fixture_text("limits.csv"), text);
    g_free(text);
}
END_TEST

START_TEST(what_a_killed_run_left_is_cut_by_whoever_locks_next)
{
    struct omo_table *table = open_table(OMO_TABLE_STEPS);
    char mark[64];

    append(table, OMO_TABLE_STEPS);
    g_autofree char *before = g_strdup(fixture_text("steps.csv"));
    append(table, OMO_TABLE_STEPS);
    omo_table_close(table);
    g_autofree char *whole = g_strdup(fixture_text("steps.csv"));
    /* All columns are there and only the end of the last one is missing. */
    g_autofree char *half = g_strndup(whole, strlen(whole) - 1);
    fixture_write("steps.csv", half);
    snprintf(mark, sizeof mark, "%zu steps.csv\n", strlen(before));
    fixture_write(".sessions.lock", mark);
    if (_i == 0)
        omo_record_close(fixture_open(true));
    else
        omo_table_close(open_table(_i == 1 ? OMO_TABLE_NOTES : OMO_TABLE_STEPS));
    ck_assert_str_eq(fixture_text("steps.csv"), before);
    ck_assert_str_eq(fixture_text(".sessions.lock"), "");
    ck_assert_int_eq(fixture_warnings, 1);
    table = open_table(OMO_TABLE_STEPS);
    ck_assert_uint_eq(omo_table_count(table), 1);
    omo_table_close(table);
}
END_TEST

START_TEST(a_mark_that_names_another_file_mends_nothing)
{
    static const char kept[] = "an invented half line";

    fixture_write("letter.txt", kept);
    fixture_write(".sessions.lock", "0 letter.txt\n");
    omo_table_close(open_table(OMO_TABLE_STEPS));
    ck_assert_str_eq(fixture_text("letter.txt"), kept);
    ck_assert_str_eq(fixture_text(".sessions.lock"), "");
    ck_assert_int_eq(fixture_messages, 0);
}
END_TEST

START_TEST(a_failed_append_changes_neither_file_nor_row)
{
    struct omo_table *table = open_table(OMO_TABLE_NOTES);
    union table_row row;

    append(table, OMO_TABLE_NOTES);
    g_autofree char *before = g_strdup(fixture_text("notes.csv"));
    g_autofree char *damaged = g_strconcat(before, "half\nanother\n", NULL);
    fixture_write("notes.csv", damaged);
    invented_row(OMO_TABLE_NOTES, &row);
    ck_assert_int_eq(omo_table_append(table, &row), OMO_ERR_FORMAT);
    ck_assert_str_eq(row.note.id, "");
    ck_assert_str_eq(fixture_text("notes.csv"), damaged);
    ck_assert_int_eq(fixture_messages, 1);
    omo_table_close(table);
}
END_TEST

static int64_t fast_clock(void *user)
{
    int64_t *now_ns = user;

    return *now_ns += 1000000000;
}

START_TEST(every_table_waits_for_the_one_lock)
{
    struct omo_table *table = open_table(kinds[_i].kind);
    int lock = open(fixture_path(".sessions.lock"), O_RDWR);
    union table_row row;
    int64_t now_ns = 0;

    omo_clock_set_source(fast_clock, &now_ns);
    ck_assert_int_eq(flock(lock, LOCK_EX), 0);
    invented_row(kinds[_i].kind, &row);
    ck_assert_int_eq(omo_table_append(table, &row), OMO_ERR_BUSY);
    ck_assert_ptr_nonnull(strstr(fixture_message, "another program"));
    omo_clock_set_source(NULL, NULL);
    close(lock);
    append(table, kinds[_i].kind);
    omo_table_close(table);
}
END_TEST

START_TEST(two_that_are_open_see_each_others_rows)
{
    struct omo_table *one = open_table(OMO_TABLE_SHEET);
    struct omo_table *other = open_table(OMO_TABLE_SHEET);
    struct omo_record *record = fixture_open(true);

    append(one, OMO_TABLE_SHEET);
    fixture_append(record, 1);
    append(other, OMO_TABLE_SHEET);
    ck_assert_uint_eq(omo_table_count(other), 2);
    ck_assert_uint_eq(omo_table_count(one), 1);
    ck_assert_int_eq(omo_table_refresh(one), OMO_OK);
    ck_assert_uint_eq(omo_table_count(one), 2);
    omo_record_close(record);
    omo_table_close(one);
    omo_table_close(other);
    omo_table_close(NULL);
    ck_assert_int_eq(fixture_messages, 0);
}
END_TEST

START_TEST(a_folder_that_cannot_be_written_is_read_and_said_once)
{
    struct omo_table *table;
    union table_row row;

    fixture_drop_root();
    table = open_table(OMO_TABLE_PEOPLE);
    append(table, OMO_TABLE_PEOPLE);
    omo_table_close(table);
    ck_assert_int_eq(unlink(fixture_path(".sessions.lock")), 0);
    ck_assert_int_eq(g_chmod(fixture_folder, 0500), 0);
    table = open_table(OMO_TABLE_PEOPLE);
    ck_assert_uint_eq(omo_table_count(table), 1);
    invented_row(OMO_TABLE_PEOPLE, &row);
    ck_assert_int_eq(omo_table_append(table, &row), OMO_ERR_IO);
    ck_assert_int_eq(fixture_messages, 1);
    omo_table_close(table);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("tables");
    TCase *format = tcase_create("format");
    TCase *durable = tcase_create("durable");
    SRunner *runner = srunner_create(suite);
    int failed;

    tcase_add_checked_fixture(format, fixture_make, fixture_remove);
    tcase_add_loop_test(format, file_and_header_are_the_published_ones, 0, COUNT(kinds));
    tcase_add_loop_test(format, a_row_is_written_cell_by_cell, 0, COUNT(kinds));
    tcase_add_loop_test(format, every_cell_of_a_row_comes_back, 0, COUNT(kinds));
    tcase_add_loop_test(format, an_empty_row_says_nothing, 0, COUNT(kinds));
    tcase_add_test(format, an_id_is_filled_in_and_a_given_one_kept);
    tcase_add_test(format, a_person_without_a_pseudonym_is_not_added);
    tcase_add_test(format, a_note_is_never_run_as_a_formula);
    tcase_add_test(format,
                   a_set_up_is_written_once_and_keeps_its_id_while_nothing_changes);
    tcase_add_test(format, a_set_up_in_which_anything_differs_is_another_one);
    tcase_add_test(format, a_set_up_that_cannot_be_written_is_said_once_and_has_no_id);
    suite_add_tcase(suite, format);
    tcase_add_checked_fixture(durable, fixture_make, fixture_remove);
    tcase_add_loop_test(durable, a_table_that_is_not_understood_is_left_alone, 0,
                        COUNT(strange));
    tcase_add_loop_test(durable, what_a_killed_run_left_is_cut_by_whoever_locks_next, 0,
                        3);
    tcase_add_test(durable, a_mark_that_names_another_file_mends_nothing);
    tcase_add_test(durable, a_failed_append_changes_neither_file_nor_row);
    tcase_add_loop_test(durable, every_table_waits_for_the_one_lock, 0, COUNT(kinds));
    tcase_add_test(durable, two_that_are_open_see_each_others_rows);
    tcase_add_test(durable, a_folder_that_cannot_be_written_is_read_and_said_once);
    suite_add_tcase(suite, durable);
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
