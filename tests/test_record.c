/* Rows of sessions.csv: format, ids, and what must never be lost. Traces: test_traces.c.
 */
#include <fcntl.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <check.h>
#include <glib.h>
#include <glib/gstdio.h>

#include "omogon/clock.h"
#include "omogon/csv.h"
#include "omogon/text.h"
#include "record_fixture.h"

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

/* ---- the format ------------------------------------------------------------------- */

START_TEST(the_header_is_the_published_one)
{
    ck_assert_str_eq(
        omo_session_header(),
        "id,person,visit,started,movement,side,source,position,mode,view,arms,placement,"
        "reference,max_deg,max_u95_deg,held_max_deg,mean_of_maxima_deg,"
        "max_before_hike_deg,rest_deg,repetitions,hike_at_max_ratio,lean_at_max_deg,"
        "trunk_rest_offset_deg,pivot_offset_ratio,plane_turn_deg,"
        "rotation_at_abduction_deg,pain_before,pain_at_max,pain_after,pain_onset_deg,"
        "pain_end_deg,stopped_by,end_feel,rater,set_up,seen_ratio,frames_per_second,"
        "trace,version,status,replaces,note");
}
END_TEST

START_TEST(a_row_is_written_cell_by_cell)
{
    struct omo_record *record = fixture_open(true);
    char want[512];

    fixture_append(record, 7);
    omo_record_close(record);
    snprintf(
        want, sizeof want,
        "%s\n%032x,P001,,,flexion,right,clip7.avi,,,,,,,107.800,3.250,,,,,7,,,,,,,,,,,,"
        ",,,,,,,%s,ok,,\n",
        "", 0x1007, OMO_VERSION);
    ck_assert_str_eq(fixture_text("sessions.csv") + strlen(omo_session_header()), want);
}
END_TEST

START_TEST(every_cell_of_a_row_comes_back)
{
    struct omo_record *record = fixture_open(true);
    struct omo_session_row row, back;
    struct omo_session_field field, other;
    bool added;

    omo_session_row_init(&row);
    memset(row.id, 'a', 32);
    snprintf(row.note, sizeof row.note, "%s", "says \"ah\", at 90, \xC3\xA9");
    row.repetitions = 3;
    row.pain_at_max = 3;
    row.hike_at_max_ratio = 0.0831;
    row.seen_ratio = 1;
    row.frames_per_second = 29.97;
    row.lean_at_max_deg = -2.5;
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_OK);
    omo_record_close(record);
    record = fixture_open(true);
    ck_assert(omo_record_find(record, row.id, &back));
    for (int i = 0; omo_session_field(&row, i, &field); i++) {
        ck_assert(omo_session_field(&back, i, &other));
        ck_assert_str_eq(field.text, other.text);
    }
    ck_assert_str_eq(back.note, row.note);
    ck_assert(isnan(back.max_deg));
    ck_assert_double_eq_tol(back.hike_at_max_ratio, 0.083, 1e-9);
    omo_record_close(record);
}
END_TEST

START_TEST(the_fields_are_the_header_in_order)
{
    struct omo_session_row row = fixture_row(2);
    struct omo_session_field field;
    char names[2048] = "";
    int numbers = 0;

    for (int i = 0; omo_session_field(&row, i, &field); i++) {
        strcat(names, i > 0 ? "," : "");
        strcat(names, field.name);
        numbers += field.is_number;
        if (strcmp(field.name, "repetitions") == 0)
            ck_assert_str_eq(field.text, "2");
        if (strcmp(field.name, "max_deg") == 0)
            ck_assert_str_eq(field.text, "102.800");
    }
    ck_assert_str_eq(names, omo_session_header());
    ck_assert_int_eq(numbers, 20);
    ck_assert(!omo_session_field(&row, -1, &field));
}
END_TEST

static const struct {
    const char *name, *text, *cell;
} guarded[] = {
    {"a formula gets an apostrophe", "=1+1", "'=1+1"},
    {"so does a plus", "+1", "'+1"},
    {"so does a minus", "-1", "'-1"},
    {"so does an at sign", "@x", "'@x"},
    {"an apostrophe before a formula gets another", "'=1", "''=1"},
    {"another apostrophe does not", "'tis", "'tis"},
    {"plain text does not", "stopped at 90 = pain", "stopped at 90 = pain"},
    {"a line end becomes a blank", "two\nlines", "two lines"},
    {"a tab before a formula becomes a blank", "\t=1", " =1"},
};

START_TEST(a_note_is_never_run_as_a_formula)
{
    struct omo_record *record = fixture_open(true);
    struct omo_session_row row = fixture_row(1), back;
    bool added;

    snprintf(row.note, sizeof row.note, "%s", guarded[_i].text);
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_OK);
    g_autofree char *want = g_strconcat(",ok,,", guarded[_i].cell, "\n", NULL);
    ck_assert_msg(g_str_has_suffix(fixture_text("sessions.csv"), want), "%s",
                  guarded[_i].name);
    ck_assert(omo_record_find(record, row.id, &back));
    if (strpbrk(guarded[_i].text, "\n\t") == NULL)
        ck_assert_str_eq(back.note, guarded[_i].text);
    omo_record_close(record);
}
END_TEST

/* ---- ids and pseudonyms ----------------------------------------------------------- */

/* First half of SHA-256("abc"), FIPS 180-4's first example. */
START_TEST(an_id_is_the_published_hash)
{
    struct omo_id *id = omo_id_create();
    char text[33];

    omo_id_add(id, "a", 1);
    omo_id_add(id, "bc", 2);
    omo_id_finish(id, text);
    ck_assert_str_eq(text, "ba7816bf8f01cfea414140de5dae2223");
}
END_TEST

START_TEST(settings_change_the_id)
{
    static const char *const values[] = {"flexion", "extension", ""};
    char text[3][33], plain[33];
    struct omo_id *id;

    for (int i = 0; i < 3; i++) {
        id = omo_id_create();
        omo_id_add_text(id, "movement", values[i]);
        omo_id_finish(id, text[i]);
    }
    ck_assert_str_ne(text[0], text[1]);
    ck_assert_str_ne(text[0], text[2]);
    id = omo_id_create();
    omo_id_add(id, "movement=flexion\n", 17);
    omo_id_finish(id, plain);
    ck_assert_str_eq(text[0], plain);
}
END_TEST

static const struct {
    const char *text;
    bool valid;
} pseudonyms[] = {
    {"P001", true},
    {"a", true},
    {"1234567890123456", true},
    {"7", true},
    {"1985", true},
    {"99999999", true},
    {"123456", true},
    {"maybe12", true},
    {"12mango3", true},
    {"", false},
    {"12345678901234567", false},
    {"P 1", false},
    {"P-1", false},
    {"a@b", false},
    {"\xC3\xA9", false},
    {"../x", false},
    {"19610503", false},
    {"03051961", false},
    {"05271961", false},
    {"610503", false},
    {"030561", false},
    {"3may1961", false},
    {"12Oct61", false},
    {"20261124A", false},
    {"P001\n", false},
};

START_TEST(a_pseudonym_is_a_short_code_and_no_date)
{
    ck_assert_msg(omo_pseudonym_valid(pseudonyms[_i].text) == pseudonyms[_i].valid, "%s",
                  pseudonyms[_i].text);
}
END_TEST

/* ---- appending -------------------------------------------------------------------- */

START_TEST(a_new_record_is_private_and_empty)
{
    struct omo_record *record;
    struct stat info;

    ck_assert_int_eq(omo_record_open(fixture_path("deep/record"), true, &record), OMO_OK);
    ck_assert_uint_eq(omo_record_count(record), 0);
    ck_assert_ptr_null(omo_record_row(record, 0));
    ck_assert(!omo_record_has(record, fixture_row(1).id));
    ck_assert(!fixture_there("deep/record/sessions.csv"));
    fixture_append(record, 1);
    ck_assert_int_eq(stat(fixture_path("deep/record"), &info), 0);
    ck_assert_int_eq(info.st_mode & 0777, 0700);
    ck_assert_int_eq(stat(fixture_path("deep/record/sessions.csv"), &info), 0);
    ck_assert_int_eq(info.st_mode & 0777, 0600);
    ck_assert_int_eq(stat(fixture_path("deep/record/.sessions.lock"), &info), 0);
    ck_assert_int_eq(info.st_mode & 0777, 0600);
    omo_record_close(record);
    omo_record_close(NULL);
    ck_assert_int_eq(fixture_messages, 0);
}
END_TEST

START_TEST(the_same_id_is_not_added_again)
{
    struct omo_record *record = fixture_open(true);
    struct omo_session_row row = fixture_row(1), back;
    bool added = true;

    fixture_append(record, 1);
    row.max_deg = 12;
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_OK);
    ck_assert(!added);
    ck_assert_uint_eq(omo_record_count(record), 1);
    ck_assert(omo_record_has(record, row.id));
    ck_assert(omo_record_find(record, row.id, &back));
    ck_assert_double_eq_tol(back.max_deg, 101.8, 1e-9);
    omo_record_close(record);
}
END_TEST

START_TEST(a_withdrawn_row_does_not_count_as_measured)
{
    struct omo_record *record = fixture_open(true);
    struct omo_session_row row = fixture_row(1);
    bool added = false;

    fixture_append(record, 1);
    strcpy(row.status, "withdrawn");
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_OK);
    ck_assert(added);
    ck_assert(!omo_record_has(record, row.id));
    fixture_append(record, 1);
    ck_assert(omo_record_has(record, row.id));
    ck_assert_uint_eq(omo_record_count(record), 3);
    omo_record_close(record);
}
END_TEST

START_TEST(a_row_without_an_id_is_refused)
{
    struct omo_record *record = fixture_open(true);
    struct omo_session_row row;
    bool added = true;

    omo_session_row_init(&row);
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_ERR_ARG);
    ck_assert(added);
    ck_assert(!fixture_there("sessions.csv"));
    omo_record_close(record);
}
END_TEST

START_TEST(rows_of_another_program_are_seen)
{
    struct omo_record *one = fixture_open(true), *two = fixture_open(true);

    for (int i = 0; i < 20; i += 2) {
        fixture_append(one, i);
        ck_assert(omo_record_has(two, fixture_row(i).id));
        fixture_append(two, i + 1);
        ck_assert(omo_record_has(one, fixture_row(i + 1).id));
    }
    ck_assert_uint_eq(omo_record_count(one), 20);
    for (size_t i = 0; i < 20; i++)
        ck_assert_int_eq(omo_record_row(one, i)->repetitions, (int)i);
    omo_record_close(one);
    omo_record_close(two);
}
END_TEST

static int64_t fast_clock(void *user)
{
    int64_t *now_ns = user;

    return *now_ns += 1000000000;
}

START_TEST(a_record_that_another_program_keeps_locked_is_busy)
{
    struct omo_record *record = fixture_open(true);
    int lock = open(fixture_path(".sessions.lock"), O_RDWR);
    struct omo_session_row row = fixture_row(1);
    bool added = false;
    int64_t now_ns = 0;

    omo_clock_set_source(fast_clock, &now_ns);
    ck_assert_int_eq(flock(lock, LOCK_EX), 0);
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_ERR_BUSY);
    ck_assert_int_eq(fixture_messages, 1);
    ck_assert_ptr_nonnull(strstr(fixture_message, "another program"));
    ck_assert_int_ge(now_ns, 20000000000);
    omo_clock_set_source(NULL, NULL);
    close(lock);
    fixture_append(record, 1);
    omo_record_close(record);
}
END_TEST

/* ---- what interrupted runs, editors and full disks leave -------------------------- */

START_TEST(a_half_last_line_is_cut_off_and_said)
{
    struct omo_record *record = fixture_open(true);

    fixture_append(record, 1);
    omo_record_close(record);
    g_autofree char *before = g_strdup(fixture_text("sessions.csv"));
    g_autofree char *half = g_strconcat(before, "0000000000000000,P0", NULL);
    fixture_write("sessions.csv", half);
    record = fixture_open(true);
    ck_assert_uint_eq(omo_record_count(record), 1);
    fixture_append(record, 2);
    ck_assert_int_eq(fixture_warnings, 1);
    ck_assert_uint_eq(omo_record_count(record), 2);
    ck_assert(g_str_has_prefix(fixture_text("sessions.csv"), before));
    ck_assert_ptr_null(strstr(fixture_text("sessions.csv"), "0000000000000000,P0\n"));
    omo_record_close(record);
    record = fixture_open(true);
    ck_assert_uint_eq(omo_record_count(record), 2);
    ck_assert_int_eq(fixture_messages, 1);
    omo_record_close(record);
}
END_TEST

/* A row cut within its note has all its columns; only the mark in the lock file tells it
   from one that an editor saved without the last line end. */
START_TEST(a_half_line_with_all_columns_is_cut_when_marked)
{
    struct omo_record *record = fixture_open(true);
    struct omo_session_row row = fixture_row(2);
    char mark[64];
    bool added;

    fixture_append(record, 1);
    g_autofree char *before = g_strdup(fixture_text("sessions.csv"));
    strcpy(row.note, "a long note");
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_OK);
    omo_record_close(record);
    g_autofree char *whole = g_strdup(fixture_text("sessions.csv"));
    g_autofree char *half = g_strndup(whole, strlen(whole) - 5);
    fixture_write("sessions.csv", half);
    snprintf(mark, sizeof mark, "%zu sessions.csv\n", strlen(before));
    fixture_write(".sessions.lock", mark);
    record = fixture_open(true);
    ck_assert_uint_eq(omo_record_count(record), 1);
    ck_assert_str_eq(fixture_text("sessions.csv"), before);
    ck_assert_str_eq(fixture_text(".sessions.lock"), "");
    ck_assert_int_eq(fixture_warnings, 1);
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_OK);
    ck_assert(added);
    ck_assert_str_eq(fixture_text("sessions.csv"), whole);
    omo_record_close(record);
}
END_TEST

START_TEST(a_whole_row_without_its_line_end_is_kept)
{
    struct omo_record *record = fixture_open(true);

    fixture_append(record, 1);
    fixture_append(record, 2);
    omo_record_close(record);
    g_autofree char *text = g_strdup(fixture_text("sessions.csv"));
    text[strlen(text) - 1] = '\0';
    fixture_write("sessions.csv", text);
    record = fixture_open(true);
    ck_assert(omo_record_has(record, fixture_row(2).id));
    fixture_append(record, 3);
    ck_assert_uint_eq(omo_record_count(record), 3);
    omo_record_close(record);
    record = fixture_open(true);
    ck_assert_uint_eq(omo_record_count(record), 3);
    ck_assert_int_eq(fixture_messages, 0);
    omo_record_close(record);
}
END_TEST

START_TEST(a_table_saved_by_a_spreadsheet_is_still_read)
{
    struct omo_record *record = fixture_open(true);

    fixture_append(record, 1);
    omo_record_close(record);
    g_auto(GStrv) lines = g_strsplit(fixture_text("sessions.csv"), "\n", -1);
    g_autofree char *joined = g_strjoinv("\r\n", lines);
    g_autofree char *text = g_strconcat("\xEF\xBB\xBF", joined, "\r\n", NULL);
    fixture_write("sessions.csv", text);
    record = fixture_open(true);
    ck_assert(omo_record_has(record, fixture_row(1).id));
    fixture_append(record, 2);
    omo_record_close(record);
    record = fixture_open(true);
    ck_assert_uint_eq(omo_record_count(record), 2);
    ck_assert_int_eq(fixture_messages, 0);
    omo_record_close(record);
}
END_TEST

/** The table as a spreadsheet saves it where the comma is the decimal sign. */
static char *with_semicolons(const char *text)
{
    g_autoptr(GString) out = g_string_new("\xEF\xBB\xBF");
    struct omo_csv_table *table = NULL;

    ck_assert_int_eq(omo_csv_parse(text, strlen(text), &table, NULL), OMO_OK);
    for (size_t row = 0; row < omo_csv_rows(table); row++) {
        for (size_t i = 0; i < omo_csv_columns(table, row); i++) {
            g_autofree char *cell = g_strdup(omo_csv_cell(table, row, i));
            double value;

            if (row > 0 && omo_number_parse(cell, &value))
                g_strdelimit(cell, ".", ',');
            g_string_append(out, i > 0 ? ";" : "");
            if (strpbrk(cell, ";\"")) {
                g_auto(GStrv) parts = g_strsplit(cell, "\"", -1);
                g_autofree char *doubled = g_strjoinv("\"\"", parts);
                g_string_append_printf(out, "\"%s\"", doubled);
            } else {
                g_string_append(out, cell);
            }
        }
        g_string_append(out, "\r\n");
    }
    omo_csv_destroy(table);
    return g_string_free(g_steal_pointer(&out), FALSE);
}

START_TEST(a_table_with_semicolons_and_decimal_commas_is_put_back)
{
    struct omo_record *record = fixture_open(true);
    struct omo_session_row row = fixture_row(1), back;
    bool added;

    snprintf(row.note, sizeof row.note, "=semi;colon, comma \"quoted\" 1,5");
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_OK);
    fixture_append(record, 2);
    omo_record_close(record);
    g_autofree char *standard = g_strdup(fixture_text("sessions.csv"));
    g_autofree char *edited = with_semicolons(standard);
    ck_assert_ptr_nonnull(strpbrk(strchr(edited, 10), ","));
    fixture_write("sessions.csv", edited);
    record = fixture_open(true);
    ck_assert_int_eq(fixture_warnings, 1);
    ck_assert(omo_record_find(record, row.id, &back));
    ck_assert_str_eq(back.note, row.note);
    ck_assert_double_eq(back.max_deg, omo_record_row(record, 0)->max_deg);
    fixture_append(record, 3);
    omo_record_close(record);
    ck_assert_str_eq(fixture_text("sessions.csv.edited-1"), edited);
    g_autofree char *now = g_strdup(fixture_text("sessions.csv"));
    ck_assert(g_str_has_prefix(now, standard));
    record = fixture_open(true);
    ck_assert_uint_eq(omo_record_count(record), 3);
    ck_assert_int_eq(fixture_warnings, 1); /* said once */
    omo_record_close(record);
}
END_TEST

START_TEST(a_bad_number_in_such_a_table_is_named_by_its_line)
{
    struct omo_record *record = fixture_open(true);

    for (int i = 1; i <= 3; i++)
        fixture_append(record, i);
    omo_record_close(record);
    g_autofree char *edited = with_semicolons(fixture_text("sessions.csv"));
    char *third = edited;
    for (int i = 0; i < 3; i++)
        third = strchr(third, '\n') + 1;
    char *number = strstr(third, "3,250"); /* with a thousands mark it is no number */
    ck_assert_ptr_nonnull(number);
    memcpy(number, "3.2,0", 5);
    fixture_write("sessions.csv", edited);
    ck_assert_int_eq(omo_record_open(fixture_folder, true, &record), OMO_ERR_FORMAT);
    ck_assert_ptr_nonnull(strstr(fixture_message, "line 4"));
    ck_assert_str_eq(fixture_text("sessions.csv"), edited);
    ck_assert(!fixture_there("sessions.csv.edited-1"));
}
END_TEST

START_TEST(a_header_without_its_line_end_is_gone_on_with)
{
    struct omo_record *record;

    fixture_write("sessions.csv", omo_session_header());
    record = fixture_open(true);
    fixture_append(record, 1);
    omo_record_close(record);
    record = fixture_open(true);
    ck_assert_uint_eq(omo_record_count(record), 1);
    omo_record_close(record);
}
END_TEST

static const struct {
    const char *name, *before, *after, *said;
} foreign[] = {
    {"another version's columns", "id,person,max\n1,P001,90\n", NULL, "other columns"},
    {"one column more", NULL, ",extra\n", "other columns"},
    {"a text that is no table", "Dear reader,\n", NULL, "other columns"},
    {"half a header", "id,person,vi", NULL, "other columns"},
    {"a row too short", NULL, "\n1,P001\n", "line 2"},
    {"an open quote", NULL, "\n\"1,P001\n", "line 2"},
    {"bytes that are no text", NULL, "\n\xFF\n", "line 2"},
    {"a word where a number belongs", NULL,
     "\n0001,,,,,,,,,,,,,high,,,,,,,,,,,,,,,,,,,,,,,,,,,,\n", "line 2"},
    {"a negative count", NULL, "\n0001,,,,,,,,,,,,,,,,,,,-3,,,,,,,,,,,,,,,,,,,,,,\n",
     "line 2"},
    {"a row without an id", NULL, "\n,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,\n",
     "line 2"},
};

START_TEST(a_table_that_is_not_ours_is_refused_and_left_alone)
{
    struct omo_record *record = NULL;
    g_autofree char *text =
        g_strconcat(foreign[_i].before ? foreign[_i].before : omo_session_header(),
                    foreign[_i].after, NULL);

    fixture_write("sessions.csv", text);
    ck_assert_msg(omo_record_open(fixture_folder, true, &record) == OMO_ERR_FORMAT, "%s",
                  foreign[_i].name);
    ck_assert_ptr_null(record);
    ck_assert_int_eq(fixture_messages, 1);
    ck_assert_msg(strstr(fixture_message, foreign[_i].said) != NULL, "%s: said %s",
                  foreign[_i].name, fixture_message);
    ck_assert_str_eq(fixture_text("sessions.csv"), text);
}
END_TEST

START_TEST(a_table_damaged_while_open_gets_no_row)
{
    struct omo_record *record = fixture_open(true);
    struct omo_session_row row = fixture_row(2);
    bool added = false;

    fixture_append(record, 1);
    fixture_write("sessions.csv", "something else\n");
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_ERR_FORMAT);
    ck_assert(!added);
    ck_assert_int_eq(fixture_messages, 1);
    ck_assert_str_eq(fixture_text("sessions.csv"), "something else\n");
    omo_record_close(record);
}
END_TEST

START_TEST(a_row_that_does_not_fit_leaves_the_table_as_it_was)
{
    struct omo_record *record = fixture_open(true);
    struct omo_session_row row = fixture_row(2);
    struct rlimit limit, small;
    bool added = false;

    fixture_append(record, 1);
    g_autofree char *before = g_strdup(fixture_text("sessions.csv"));
    /* The system itself cuts the write short, as a full disk does. */
    signal(SIGXFSZ, SIG_IGN);
    ck_assert_int_eq(getrlimit(RLIMIT_FSIZE, &limit), 0);
    small = limit;
    small.rlim_cur = strlen(before) + 10;
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &small), 0);
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_ERR_IO);
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &limit), 0);
    ck_assert(!added);
    ck_assert_int_eq(fixture_messages, 1);
    ck_assert_ptr_nonnull(strstr(fixture_message, "nothing was saved in"));
    ck_assert_str_eq(fixture_text("sessions.csv"), before);
    ck_assert(!omo_record_has(record, row.id));
    fixture_append(record, 2);
    ck_assert_uint_eq(omo_record_count(record), 2);
    omo_record_close(record);
}
END_TEST

START_TEST(a_folder_that_cannot_be_written_is_read_and_said_once)
{
    struct omo_session_row row = fixture_row(2);
    struct omo_trace_file *trace = NULL;
    struct omo_record *record;
    char name[256] = "x";
    bool added = false;

    fixture_drop_root();
    record = fixture_open(true);
    fixture_append(record, 1);
    omo_record_close(record);
    ck_assert_int_eq(unlink(fixture_path(".sessions.lock")), 0);
    ck_assert_int_eq(g_chmod(fixture_path("sessions.csv"), 0400), 0);
    ck_assert_int_eq(g_chmod(fixture_folder, 0500), 0);
    record = fixture_open(true);
    ck_assert(omo_record_has(record, fixture_row(1).id));
    ck_assert_int_eq(fixture_messages, 0);
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_ERR_IO);
    ck_assert_int_eq(fixture_messages, 1);
    ck_assert_ptr_nonnull(strstr(fixture_message, "choose a folder"));
    ck_assert_int_eq(omo_trace_begin(record, "a", 1, 1, &trace, name), OMO_ERR_IO);
    ck_assert_int_eq(fixture_messages, 2);
    ck_assert_str_eq(name, "x");
    omo_record_close(record);
}
END_TEST

START_TEST(a_file_in_the_folders_place_is_one_sentence)
{
    struct omo_record *record = NULL;

    fixture_write("file", "x");
    ck_assert_int_eq(omo_record_open(fixture_path("file"), true, &record), OMO_ERR_OPEN);
    ck_assert_ptr_null(record);
    ck_assert_int_eq(fixture_messages, 1);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("record");
    TCase *tests = tcase_create("record");
    SRunner *runner = srunner_create(suite);
    int failed;

    tcase_add_checked_fixture(tests, fixture_make, fixture_remove);
    tcase_add_test(tests, the_header_is_the_published_one);
    tcase_add_test(tests, a_row_is_written_cell_by_cell);
    tcase_add_test(tests, every_cell_of_a_row_comes_back);
    tcase_add_test(tests, the_fields_are_the_header_in_order);
    tcase_add_loop_test(tests, a_note_is_never_run_as_a_formula, 0, COUNT(guarded));
    tcase_add_test(tests, an_id_is_the_published_hash);
    tcase_add_test(tests, settings_change_the_id);
    tcase_add_loop_test(tests, a_pseudonym_is_a_short_code_and_no_date, 0,
                        COUNT(pseudonyms));
    tcase_add_test(tests, a_new_record_is_private_and_empty);
    tcase_add_test(tests, the_same_id_is_not_added_again);
    tcase_add_test(tests, a_withdrawn_row_does_not_count_as_measured);
    tcase_add_test(tests, a_row_without_an_id_is_refused);
    tcase_add_test(tests, rows_of_another_program_are_seen);
    tcase_add_test(tests, a_record_that_another_program_keeps_locked_is_busy);
    tcase_add_test(tests, a_half_last_line_is_cut_off_and_said);
    tcase_add_test(tests, a_half_line_with_all_columns_is_cut_when_marked);
    tcase_add_test(tests, a_whole_row_without_its_line_end_is_kept);
    tcase_add_test(tests, a_table_saved_by_a_spreadsheet_is_still_read);
    tcase_add_test(tests, a_table_with_semicolons_and_decimal_commas_is_put_back);
    tcase_add_test(tests, a_bad_number_in_such_a_table_is_named_by_its_line);
    tcase_add_test(tests, a_header_without_its_line_end_is_gone_on_with);
    tcase_add_loop_test(tests, a_table_that_is_not_ours_is_refused_and_left_alone, 0,
                        COUNT(foreign));
    tcase_add_test(tests, a_table_damaged_while_open_gets_no_row);
    tcase_add_test(tests, a_row_that_does_not_fit_leaves_the_table_as_it_was);
    tcase_add_test(tests, a_folder_that_cannot_be_written_is_read_and_said_once);
    tcase_add_test(tests, a_file_in_the_folders_place_is_one_sentence);
    suite_add_tcase(suite, tests);
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
