/* Trace files: their format, their names, and what interrupted runs leave of them. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <check.h>
#include <glib.h>

#include "record_fixture.h"

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

static const char frame_line[] = "3,0.100000,,13.500,13.500,,,0.000,0.013,,hip,no-wrist,"
                                 "1280,720,640.123,200.500,18.250,"
                                 "1,641.000,400.000,17.000,2,,,,0,,,,0,,,,0,,,,0\n";

static struct omo_trace_file *begin(struct omo_record *record, const char *stem,
                                    char name[256])
{
    struct omo_trace_file *trace = NULL;

    ck_assert_int_eq(omo_trace_begin(record, stem, 1280, 720, &trace, name), OMO_OK);
    return trace;
}

static void add(struct omo_trace_file *trace, int number)
{
    struct omo_trace_row row = fixture_frame(number);

    ck_assert_int_eq(omo_trace_add(trace, &row), OMO_OK);
}

static void finish(struct omo_trace_file *trace, int count)
{
    struct omo_trace_row rows[16];

    for (int i = 0; i < count; i++) {
        rows[i] = fixture_frame(i);
        rows[i].angle_deg = i;
    }
    ck_assert_int_eq(omo_trace_finish(trace, rows, (size_t)count), OMO_OK);
}

static void append_for(struct omo_record *record, int number, const char *trace)
{
    struct omo_session_row row = fixture_row(number);
    bool added = false;

    snprintf(row.trace, sizeof row.trace, "%s", trace);
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_OK);
    ck_assert(added);
}

static int lines_of(const char *name)
{
    int lines = 0;

    for (const char *c = fixture_text(name); *c != '\0'; c++)
        lines += *c == '\n';
    return lines;
}

/* A run that ends without a word, as a killed one does: nothing is closed or flushed. */
static void in_a_killed_run(void (*act)(void))
{
    pid_t child = fork();
    int how;

    if (child == 0) {
        act();
        _exit(0);
    }
    ck_assert_int_eq(waitpid(child, &how, 0), child);
    ck_assert_int_eq(how, 0);
}

/* ---- the format ------------------------------------------------------------------- */

START_TEST(the_header_is_the_published_one)
{
    ck_assert_str_eq(omo_trace_header(),
                     "frame,time_s,angle_deg,angle_raw_deg,angle_image_deg,"
                     "angle_vertical_deg,elbow_flexion_deg,trunk_lean_deg,hike_ratio,"
                     "hike_mm,reference,quality,picture_width_px,picture_height_px,"
                     "shoulder_x_px,shoulder_y_px,shoulder_diameter_px,shoulder_seen,"
                     "elbow_x_px,elbow_y_px,elbow_diameter_px,elbow_seen,"
                     "wrist_x_px,wrist_y_px,wrist_diameter_px,wrist_seen,"
                     "hip_x_px,hip_y_px,hip_diameter_px,hip_seen,"
                     "chest_x_px,chest_y_px,chest_diameter_px,chest_seen,"
                     "acromion_x_px,acromion_y_px,acromion_diameter_px,acromion_seen");
}
END_TEST

START_TEST(the_columns_follow_the_order_of_the_roles)
{
    const char *at = omo_trace_header();

    for (int role = 0; role < OMO_ROLE_COUNT; role++) {
        g_autofree char *column =
            g_strdup_printf(",%s_x_px,", omo_role_name((enum omo_role)role));

        at = strstr(at, column);
        ck_assert_ptr_nonnull(at);
    }
}
END_TEST

START_TEST(frames_so_far_are_in_the_file)
{
    struct omo_record *record = fixture_open(true);
    char name[256];
    struct omo_trace_file *trace = begin(record, "clip", name);
    g_autofree char *want = g_strconcat(omo_trace_header(), "\n", frame_line, NULL);
    struct stat info;

    ck_assert_str_eq(name, "clip.trace.csv");
    ck_assert_int_eq(lines_of(name), 1);
    add(trace, 3);
    ck_assert_str_eq(fixture_text(name), want);
    ck_assert_int_eq(stat(fixture_path(name), &info), 0);
    ck_assert_int_eq(info.st_mode & 0777, 0600);
    omo_trace_close(trace, true);
    omo_trace_close(NULL, true);
    omo_record_close(record);
}
END_TEST

START_TEST(the_finished_rows_replace_the_file)
{
    struct omo_record *record = fixture_open(true);
    char name[256];
    struct omo_trace_file *trace = begin(record, "clip", name);
    struct omo_trace_row row = fixture_frame(9);

    for (int i = 0; i < 3; i++)
        add(trace, i);
    finish(trace, 5);
    ck_assert_int_eq(lines_of(name), 6);
    ck_assert_ptr_nonnull(strstr(fixture_text(name), "\n4,0.133333,4.000,14.500,"));
    ck_assert_int_eq(omo_trace_add(trace, &row), OMO_ERR_IO);
    append_for(record, 1, name);
    omo_trace_close(trace, true);
    omo_record_close(record);
    ck_assert_int_eq(lines_of(name), 6);
    ck_assert_int_eq(fixture_entries(), 2);
    ck_assert(!fixture_there(".clip.trace.csv.writing"));
}
END_TEST

START_TEST(what_was_written_is_read_back)
{
    struct omo_record *record = fixture_open(true);
    char name[256];
    struct omo_trace_file *trace = begin(record, "walk", name);
    finish(trace, 5);
    omo_trace_close(trace, true);
    omo_record_close(record);
    struct omo_trace back;
    ck_assert_int_eq(omo_trace_read(fixture_path(name), &back), OMO_OK);
    ck_assert_uint_eq(back.count, 5);
    ck_assert_int_eq(back.picture_width, 1280);
    ck_assert_int_eq(back.picture_height, 720);
    for (int i = 0; i < 5; i++) {
        struct omo_trace_row want = fixture_frame(i);
        const struct omo_trace_row *got = &back.rows[i];
        ck_assert_int_eq(got->frame, want.frame);
        ck_assert_double_eq_tol(got->time_s, want.time_s, 5e-7);
        ck_assert_double_eq(got->angle_deg, i);
        ck_assert_double_eq_tol(got->angle_raw_deg, want.angle_raw_deg, 5e-4);
        ck_assert_int_eq(isnan(got->hike_mm), isnan(want.hike_mm));
        ck_assert_uint_eq(got->quality, want.quality);
        ck_assert_int_eq(got->reference, want.reference);
        for (int role = 0; role < OMO_ROLE_COUNT; role++) {
            const struct omo_marker *a = &got->markers.role[role];
            const struct omo_marker *b = &want.markers.role[role];
            ck_assert_int_eq(a->seen, b->seen);
            if (b->seen)
                ck_assert_double_eq_tol(a->x_px, b->x_px, 5e-4);
            else
                ck_assert(isnan(a->x_px));
        }
    }
    omo_trace_free(&back);
    ck_assert_ptr_null(back.rows);
}
END_TEST

START_TEST(a_file_that_is_no_trace_is_named_with_its_line)
{
    static const char *const texts[] = {
        "frame,time_s,angle_deg,hike_ratio\n0,0.0,1,0\n", /* no trunk_lean_deg */
        "time_s,angle_deg,hike_ratio,trunk_lean_deg\n0.0,1,0,0\n0.1,much,0,0\n",
        "time_s,angle_deg,hike_ratio,trunk_lean_deg\n0.0,\"1,0,0\n", ""};
    static const char *const said[] = {"trunk_lean_deg", "line 3", "line 2", "time_s"};
    for (int i = 0; i < COUNT(texts); i++) {
        struct omo_trace back = {.count = 77};
        fixture_write("odd.trace.csv", texts[i]);
        ck_assert_int_eq(omo_trace_read(fixture_path("odd.trace.csv"), &back),
                         OMO_ERR_FORMAT);
        ck_assert_uint_eq(back.count, 77);
        ck_assert_msg(strstr(fixture_message, said[i]), "%s", fixture_message);
    }
}
END_TEST

START_TEST(a_finished_trace_without_frames_is_a_header)
{
    struct omo_record *record = fixture_open(true);
    char name[256];
    struct omo_trace_file *trace = begin(record, "clip", name);

    ck_assert_int_eq(omo_trace_finish(trace, NULL, 0), OMO_OK);
    ck_assert_int_eq(lines_of(name), 1);
    omo_trace_close(trace, true);
    omo_record_close(record);
}
END_TEST

START_TEST(a_long_trace_is_written_in_pieces_without_a_seam)
{
    enum { FRAMES = 3000 };
    struct omo_record *record = fixture_open(true);
    struct omo_trace_row *rows = g_new(struct omo_trace_row, FRAMES);
    char name[256], start[16];
    struct omo_trace_file *trace = begin(record, "clip", name);
    const char *line;

    for (int i = 0; i < FRAMES; i++)
        rows[i] = fixture_frame(i);
    ck_assert_int_eq(omo_trace_finish(trace, rows, FRAMES), OMO_OK);
    line = fixture_text(name);
    for (int i = 0; i < FRAMES; i++) {
        line = strchr(line, '\n') + 1;
        snprintf(start, sizeof start, "%d,", i);
        ck_assert(g_str_has_prefix(line, start));
    }
    ck_assert_str_eq(strchr(line, '\n'), "\n");
    omo_trace_close(trace, true);
    omo_record_close(record);
    g_free(rows);
}
END_TEST

/* ---- names ------------------------------------------------------------------------ */

START_TEST(a_name_in_the_record_is_numbered)
{
    static const char *const want[] = {"clip.trace.csv", "clip-2.trace.csv",
                                       "clip-3.trace.csv"};
    struct omo_record *record = fixture_open(true);
    char name[256];

    for (int i = 0; i < 3; i++) {
        struct omo_trace_file *trace = begin(record, "clip", name);

        ck_assert_str_eq(name, want[i]);
        finish(trace, i);
        append_for(record, i, name);
        omo_trace_close(trace, true);
        omo_record_close(record);
        record = fixture_open(true);
    }
    for (int i = 0; i < 3; i++)
        ck_assert_int_eq(lines_of(want[i]), i + 1);
    omo_record_close(record);
}
END_TEST

START_TEST(a_name_that_is_being_written_is_numbered)
{
    struct omo_record *one = fixture_open(true), *two = fixture_open(true);
    char first[256], second[256], third[256];
    struct omo_trace_file *a = begin(one, "clip", first);
    struct omo_trace_file *b = begin(two, "clip", second);
    struct omo_trace_file *c = begin(one, "clip", third);

    ck_assert_str_eq(second, "clip-2.trace.csv");
    ck_assert_str_eq(third, "clip-3.trace.csv");
    add(a, 0);
    add(b, 0);
    add(b, 1);
    ck_assert_int_eq(lines_of(first), 2);
    ck_assert_int_eq(lines_of(second), 3);
    omo_trace_close(a, false);
    omo_trace_close(b, false);
    omo_trace_close(c, false);
    ck_assert_int_eq(fixture_entries(), 0);
    omo_record_close(one);
    omo_record_close(two);
}
END_TEST

START_TEST(opening_a_record_leaves_traces_in_the_making_alone)
{
    struct omo_record *record = fixture_open(true), *other;
    char name[256];
    struct omo_trace_file *trace = begin(record, "clip", name);

    add(trace, 0);
    other = fixture_open(true);
    ck_assert(fixture_there(".clip.trace.csv.writing"));
    add(trace, 1);
    ck_assert_int_eq(lines_of(name), 3);
    omo_record_close(other);
    omo_trace_close(trace, true);
    omo_record_close(record);
}
END_TEST

START_TEST(a_finished_file_of_that_name_is_never_overwritten)
{
    struct omo_record *record;
    char name[256];
    struct omo_trace_file *trace;

    fixture_write("clip.trace.csv", "somebody's own\n");
    record = fixture_open(true);
    trace = begin(record, "clip", name);
    ck_assert_str_eq(name, "clip-2.trace.csv");
    omo_trace_close(trace, false);
    omo_record_close(record);
    ck_assert_str_eq(fixture_text("clip.trace.csv"), "somebody's own\n");
}
END_TEST

static const struct {
    const char *stem, *want;
} stems[] = {
    {"P001-20261124T100500-flexion-right",
     "P001-20261124T100500-flexion-right.trace.csv"},
    {"my clip, 2", "my clip, 2.trace.csv"},
    {"../up", "_._up.trace.csv"},
    {".hidden", "_hidden.trace.csv"},
    {"-x", "_x.trace.csv"},
    {"=x", "_x.trace.csv"},
    {"", "trace.trace.csv"},
    {"two\nlines", "two_lines.trace.csv"},
    {"caf\xC3\xA9", "caf\xC3\xA9.trace.csv"},
    {"\xFF", "\xEF\xBF\xBD.trace.csv"},
};

START_TEST(a_stem_becomes_a_safe_file_name)
{
    struct omo_record *record = fixture_open(true);
    char name[256];
    struct omo_trace_file *trace = begin(record, stems[_i].stem, name);

    ck_assert_str_eq(name, stems[_i].want);
    ck_assert(fixture_there(name));
    omo_trace_close(trace, false);
    omo_record_close(record);
}
END_TEST

START_TEST(a_very_long_stem_still_names_two_files)
{
    struct omo_record *record = fixture_open(false);
    g_autofree char *stem = g_strnfill(400, 'x');
    char first[256], second[256];
    struct omo_trace_file *a = begin(record, stem, first),
                          *b = begin(record, stem, second);

    finish(a, 1);
    finish(b, 2);
    ck_assert_str_ne(first, second);
    ck_assert_int_eq(lines_of(first), 2);
    ck_assert_int_eq(lines_of(second), 3);
    omo_trace_close(a, false);
    omo_trace_close(b, false);
    omo_record_close(record);
}
END_TEST

START_TEST(traces_of_a_kept_record_are_in_their_own_folder)
{
    struct omo_record *record = fixture_open(false);
    char name[256];
    struct omo_trace_file *trace = begin(record, "clip", name);
    struct stat info;

    ck_assert_str_eq(name, "traces/clip.trace.csv");
    ck_assert(fixture_there("traces/clip.trace.csv"));
    ck_assert_int_eq(stat(fixture_path("traces"), &info), 0);
    ck_assert_int_eq(info.st_mode & 0777, 0700);
    finish(trace, 1);
    append_for(record, 1, name);
    omo_trace_close(trace, true);
    trace = begin(record, "clip", name);
    ck_assert_str_eq(name, "traces/clip-2.trace.csv");
    omo_trace_close(trace, false);
    omo_record_close(record);
}
END_TEST

/* ---- leftovers -------------------------------------------------------------------- */

static void write_three_frames(void)
{
    struct omo_record *record = fixture_open(true);
    char name[256];
    struct omo_trace_file *trace = begin(record, "clip", name);

    for (int i = 0; i < 3; i++)
        add(trace, i);
}

START_TEST(a_killed_runs_frames_stay_until_the_movement_is_measured_again)
{
    struct omo_record *record;
    struct omo_trace_file *trace;
    char name[256];

    in_a_killed_run(write_three_frames);
    ck_assert_int_eq(lines_of("clip.trace.csv"), 4);
    record = fixture_open(true);
    ck_assert_int_eq(lines_of("clip.trace.csv"), 4);
    trace = begin(record, "clip", name);
    ck_assert_str_eq(name, "clip.trace.csv");
    ck_assert_int_eq(lines_of("clip.trace.csv"), 1);
    omo_trace_close(trace, false);
    omo_record_close(record);
    ck_assert_int_eq(fixture_messages, 0);
}
END_TEST

START_TEST(a_half_line_of_a_killed_run_is_cut_when_the_record_is_opened)
{
    FILE *file;

    in_a_killed_run(write_three_frames);
    file = fopen(fixture_path("clip.trace.csv"), "a");
    fputs("3,0.10", file);
    fclose(file);
    omo_record_close(fixture_open(true));
    ck_assert_int_eq(lines_of("clip.trace.csv"), 4);
    ck_assert(g_str_has_suffix(fixture_text("clip.trace.csv"), "\n"));
}
END_TEST

START_TEST(a_trace_without_a_whole_header_is_removed)
{
    fixture_write(".clip.trace.csv.writing", "");
    fixture_write("clip.trace.csv", "frame,ti");
    omo_record_close(fixture_open(true));
    ck_assert_int_eq(fixture_entries(), 0);
    ck_assert(!fixture_there(".clip.trace.csv.writing"));
}
END_TEST

static void save_without_closing(void)
{
    struct omo_record *record = fixture_open(true);
    char name[256];
    struct omo_trace_file *trace = begin(record, "clip", name);

    finish(trace, 2);
    append_for(record, 1, name);
}

START_TEST(a_run_killed_after_its_row_was_saved_keeps_its_trace)
{
    struct omo_record *record;
    struct omo_trace_file *trace;
    char name[256];

    in_a_killed_run(save_without_closing);
    record = fixture_open(true);
    ck_assert(!fixture_there(".clip.trace.csv.writing"));
    trace = begin(record, "clip", name);
    ck_assert_str_eq(name, "clip-2.trace.csv");
    omo_trace_close(trace, false);
    ck_assert_int_eq(lines_of("clip.trace.csv"), 3);
    omo_record_close(record);
}
END_TEST

START_TEST(a_trace_kept_without_a_row_is_not_reused_by_the_same_run)
{
    struct omo_record *record = fixture_open(true);
    char name[256];
    struct omo_trace_file *trace = begin(record, "clip", name);

    finish(trace, 2);
    omo_trace_close(trace, true);
    trace = begin(record, "clip", name);
    ck_assert_str_eq(name, "clip-2.trace.csv");
    omo_trace_close(trace, false);
    omo_record_close(record);
    ck_assert_int_eq(lines_of("clip.trace.csv"), 3);
    /* Measured again later, it takes its own place. */
    record = fixture_open(true);
    trace = begin(record, "clip", name);
    ck_assert_str_eq(name, "clip.trace.csv");
    omo_trace_close(trace, false);
    omo_record_close(record);
}
END_TEST

START_TEST(parts_of_killed_writes_are_swept)
{
    fixture_write(".clip.trace.csv.1-0.omogon-tmp", "half");
    omo_record_close(fixture_open(true));
    ck_assert(!fixture_there(".clip.trace.csv.1-0.omogon-tmp"));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("traces");
    TCase *tests = tcase_create("traces");
    SRunner *runner = srunner_create(suite);
    int failed;

    tcase_add_checked_fixture(tests, fixture_make, fixture_remove);
    tcase_add_test(tests, the_header_is_the_published_one);
    tcase_add_test(tests, the_columns_follow_the_order_of_the_roles);
    tcase_add_test(tests, frames_so_far_are_in_the_file);
    tcase_add_test(tests, the_finished_rows_replace_the_file);
    tcase_add_test(tests, what_was_written_is_read_back);
    tcase_add_test(tests, a_file_that_is_no_trace_is_named_with_its_line);
    tcase_add_test(tests, a_finished_trace_without_frames_is_a_header);
    tcase_add_test(tests, a_long_trace_is_written_in_pieces_without_a_seam);
    tcase_add_test(tests, a_name_in_the_record_is_numbered);
    tcase_add_test(tests, a_name_that_is_being_written_is_numbered);
    tcase_add_test(tests, opening_a_record_leaves_traces_in_the_making_alone);
    tcase_add_test(tests, a_finished_file_of_that_name_is_never_overwritten);
    tcase_add_loop_test(tests, a_stem_becomes_a_safe_file_name, 0, COUNT(stems));
    tcase_add_test(tests, a_very_long_stem_still_names_two_files);
    tcase_add_test(tests, traces_of_a_kept_record_are_in_their_own_folder);
    tcase_add_test(tests, a_killed_runs_frames_stay_until_the_movement_is_measured_again);
    tcase_add_test(tests, a_half_line_of_a_killed_run_is_cut_when_the_record_is_opened);
    tcase_add_test(tests, a_trace_without_a_whole_header_is_removed);
    tcase_add_test(tests, a_run_killed_after_its_row_was_saved_keeps_its_trace);
    tcase_add_test(tests, a_trace_kept_without_a_row_is_not_reused_by_the_same_run);
    tcase_add_test(tests, parts_of_killed_writes_are_swept);
    suite_add_tcase(suite, tests);
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
