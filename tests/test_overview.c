/* One arm against the other, why movements stopped, what help adds: every figure worked
 * out by hand beside it. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <check.h>

#include "omogon/overview.h"
#include "omogon/text.h"
#include "record_fixture.h"

#define TOL  1e-9
#define MOST 8

static struct omo_record *record;
static struct omo_progress *progress;
static int number;

/** Appends an invented session; `kind` is "MODE POSITION ARMS STOPPED". */
static void add(const char *movement, const char *side, const char *day, double mean_deg,
                const char *kind)
{
    struct omo_session_row row = fixture_row(++number);
    char mode[16] = "", position[16] = "", arms[8] = "", stopped[16] = "";
    bool added = false;
    ck_assert_int_ge(sscanf(kind, "%15s %15s %7s %15s", mode, position, arms, stopped),
                     3);
    snprintf(row.started, sizeof row.started, "%sT08:00:00Z", day);
    omo_text_copy(row.movement, sizeof row.movement, movement);
    omo_text_copy(row.side, sizeof row.side, side);
    omo_text_copy(row.mode, sizeof row.mode, strcmp(mode, "-") ? mode : "");
    omo_text_copy(row.position, sizeof row.position, position);
    omo_text_copy(row.arms, sizeof row.arms, arms);
    omo_text_copy(row.stopped_by, sizeof row.stopped_by, stopped);
    row.mean_of_maxima_deg = mean_deg;
    ck_assert_int_eq(omo_record_append(record, &row, &added), OMO_OK);
    ck_assert(added);
}

static void read_progress(void)
{
    ck_assert_int_eq(omo_progress_read(record,
                                       &(struct omo_progress_filter){.person = "P001"},
                                       NULL, &progress),
                     OMO_OK);
}

static void begin(void)
{
    fixture_make();
    number = 0;
    progress = NULL;
    record = fixture_open(true);
}

static void end(void)
{
    omo_progress_free(progress);
    omo_record_close(record);
    fixture_remove();
}

static const char *movement_of(const struct omo_overview_percent *one)
{
    return omo_progress_newest(one->affected)->row->movement;
}

START_TEST(the_least_comes_first_and_the_newest_sessions_count)
{
    struct omo_overview_percent percent[MOST];
    add("flexion", "right", "2026-03-01", 90, "active standing one");
    add("flexion", "right", "2026-03-08", 120, "active standing one");
    add("flexion", "left", "2026-03-08", 160, "active standing one");
    add("external-rotation", "right", "2026-03-08", 20, "active supine one");
    add("external-rotation", "left", "2026-03-01", 70, "active supine one");
    add("external-rotation", "left", "2026-03-05", 80, "active supine one");
    read_progress();
    ck_assert_uint_eq(omo_overview_percents(progress, "right", "", percent, MOST), 2);
    ck_assert_str_eq(movement_of(&percent[0]), "external-rotation");
    ck_assert_double_eq_tol(percent[0].percent, 25, TOL); /* 20 of 80 */
    ck_assert_double_eq_tol(percent[0].other_deg, 80, TOL);
    ck_assert_str_eq(movement_of(&percent[1]), "flexion");
    ck_assert_double_eq_tol(percent[1].percent, 75, TOL); /* 120 of 160 */
    ck_assert_double_eq_tol(percent[1].affected_deg, 120, TOL);
    ck_assert_uint_eq(percent[1].affected->count, 2);
    ck_assert_uint_eq(percent[1].other->count, 1);
    /* From the other arm's point of view: 80 of 20, 160 of 120. */
    ck_assert_uint_eq(omo_overview_percents(progress, "left", NULL, percent, MOST), 2);
    ck_assert_double_eq_tol(percent[0].percent, 400.0 / 3, TOL);
    ck_assert_double_eq_tol(percent[1].percent, 400, TOL);
    ck_assert_uint_eq(omo_overview_percents(progress, "right", "", percent, 1), 1);
    ck_assert_str_eq(movement_of(&percent[0]), "external-rotation");
    ck_assert_uint_eq(omo_overview_percents(progress, "right", "", percent, 0), 0);
}
END_TEST

START_TEST(where_neither_arm_is_a_measure_all_is_blank)
{
    static const char *const words[] = {"both", "", NULL};
    struct omo_overview_percent percent[MOST];
    add("flexion", "right", "2026-03-01", 90, "active standing one");
    add("flexion", "left", "2026-03-01", 160, "active standing one");
    read_progress();
    for (int i = 0; i < 3; i++) {
        ck_assert_uint_eq(omo_overview_percents(progress, words[i], "", percent, MOST),
                          0);
        ck_assert(isnan(
            omo_overview_percent(progress, omo_progress_at(progress, 0), words[i])));
    }
    /* Of the other arm's own course as well. */
    ck_assert_double_eq_tol(omo_overview_percent(progress, omo_progress_at(progress, 0),
                                                 "right"),
                            56.25, TOL);
    ck_assert(
        isnan(omo_overview_percent(progress, omo_progress_at(progress, 1), "right")));
}
END_TEST

START_TEST(what_was_measured_otherwise_is_no_measure)
{
    struct omo_overview_percent percent[MOST];
    add("flexion", "right", "2026-03-01", 90, "active standing one");
    add("flexion", "left", "2026-03-01", 160, "active supine one");
    add("abduction", "right", "2026-03-01", 70, "active standing one");
    add("abduction", "left", "2026-03-01", 170, "assisted standing one");
    add("extension", "right", "2026-03-01", 30, "active standing one");
    add("extension", "left", "2026-03-01", -5, "active standing one"); /* nor below 0 */
    add("scaption", "right", "2026-03-01", 60, "active standing both");
    add("scaption", "left", "2026-03-01", 120, "active standing both");
    read_progress();
    ck_assert_uint_eq(omo_overview_percents(progress, "right", "one", percent, MOST), 0);
    ck_assert_uint_eq(omo_overview_percents(progress, "right", "both", percent, MOST), 1);
    ck_assert_double_eq_tol(percent[0].percent, 50, TOL);
}
END_TEST

START_TEST(one_line_a_movement_active_before_help_and_of_two_the_newest)
{
    struct omo_overview_percent percent[MOST];
    add("flexion", "right", "2026-03-20", 140, "assisted standing one");
    add("flexion", "left", "2026-03-20", 175, "assisted standing one");
    add("flexion", "right", "2026-03-01", 100, "active supine one");
    add("flexion", "left", "2026-03-01", 160, "active supine one");
    add("flexion", "right", "2026-03-02", 80, "active standing one");
    add("flexion", "left", "2026-03-02", 160, "active standing one");
    add("internal-rotation", "right", "2026-03-02", 30, "passive supine one");
    add("internal-rotation", "left", "2026-03-02", 60, "passive supine one");
    read_progress();
    ck_assert_uint_eq(omo_overview_percents(progress, "right", "", percent, MOST), 2);
    /* Both 50 %: by name. */
    ck_assert_str_eq(movement_of(&percent[0]), "flexion");
    ck_assert_double_eq_tol(percent[0].affected_deg, 80, TOL);
    ck_assert_double_eq_tol(percent[0].percent, 50, TOL);
    ck_assert_str_eq(movement_of(&percent[1]), "internal-rotation");
    ck_assert_double_eq_tol(percent[1].percent, 50, TOL);
}
END_TEST

START_TEST(ends_are_counted_by_what_was_told)
{
    static const char *const kinds[] = {"active standing one stiff",
                                        "active standing one stiff",
                                        "active standing one pain",
                                        "active standing one weak",
                                        "active standing one limit",
                                        "active standing one"};
    for (int i = 0; i < 6; i++)
        add("flexion", "right", "2026-03-01", 90, kinds[i]);
    read_progress();
    struct omo_overview_stops stops = omo_overview_stops_of(omo_progress_at(progress, 0));
    ck_assert_int_eq(stops.stiff, 2);
    ck_assert_int_eq(stops.pain, 1);
    ck_assert_int_eq(stops.weak, 1);
    ck_assert_int_eq(stops.known, 5);
}
END_TEST

START_TEST(help_is_set_against_the_same_without_help)
{
    add("flexion", "right", "2026-03-01", 90, "- standing one"); /* no mode: active */
    add("flexion", "right", "2026-03-02", 130, "assisted supine one");
    add("flexion", "left", "2026-03-02", 131, "assisted standing one");
    add("flexion", "right", "2026-03-02", 120, "assisted standing one");
    read_progress();
    const struct omo_progress_course *active = omo_progress_at(progress, 0);
    const struct omo_progress_course *help = omo_overview_assisted(progress, active);
    ck_assert_ptr_nonnull(help);
    ck_assert_double_eq_tol(omo_progress_newest(help)->mean_deg, 120, TOL);
    ck_assert_ptr_null(omo_overview_assisted(progress, help));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("overview");
    TCase *tests = tcase_create("overview");
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, the_least_comes_first_and_the_newest_sessions_count);
    tcase_add_test(tests, where_neither_arm_is_a_measure_all_is_blank);
    tcase_add_test(tests, what_was_measured_otherwise_is_no_measure);
    tcase_add_test(tests, one_line_a_movement_active_before_help_and_of_two_the_newest);
    tcase_add_test(tests, ends_are_counted_by_what_was_told);
    tcase_add_test(tests, help_is_set_against_the_same_without_help);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
