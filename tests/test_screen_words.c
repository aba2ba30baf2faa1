#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/text.h"
#include "show/screen/screen_private.h"

static const struct {
    const char *movement;
    enum omo_view view;
    double lean_deg;
    const char *words;
} leans[] = {
    /* What a positive lean is, stands with omo_trace_row.trunk_lean_deg. */
    {"flexion", OMO_VIEW_SIDE, 3.2, "trunk 3 degrees back"},
    {"flexion", OMO_VIEW_SIDE, -12.4, "trunk 12 degrees forward"},
    {"flexion", OMO_VIEW_SIDE, 1.2, "trunk 1 degree back"},
    {"flexion", OMO_VIEW_SIDE, -0.8, "trunk 1 degree forward"},
    {"extension", OMO_VIEW_SIDE, 4, "trunk 4 degrees forward"},
    {"extension", OMO_VIEW_SIDE, -4, "trunk 4 degrees back"},
    {"abduction", OMO_VIEW_FRONT, 5, "trunk 5 degrees away from the arm"},
    {"abduction", OMO_VIEW_FRONT, -1, "trunk 1 degree towards the arm"},
    {"scaption", OMO_VIEW_FRONT, 1, "trunk 1 degree away from the arm"},
    {"adduction", OMO_VIEW_FRONT, 6, "trunk 6 degrees towards the arm"},
    {"adduction", OMO_VIEW_FRONT, -6, "trunk 6 degrees away from the arm"},
    {"flexion", OMO_VIEW_SIDE, 0.4, "trunk as at rest"},
    {"flexion", OMO_VIEW_SIDE, -0.4, "trunk as at rest"},
    {"flexion", OMO_VIEW_SIDE, (double)NAN, ""},
};

START_TEST(a_lean_is_said_with_its_direction)
{
    struct omo_movement movement = {.view = leans[_i].view};
    omo_text_copy(movement.name, sizeof movement.name, leans[_i].movement);
    struct omo_measure_settings settings = {.movement = &movement};
    char text[OMO_TEXT_MOST] = "left over";
    omo_lean_words(leans[_i].lean_deg, &settings, text, sizeof text);
    ck_assert_str_eq(text, leans[_i].words);
}
END_TEST

static const struct {
    double hike_ratio;
    const char *words;
} hikes[] = {
    {0.042, "shoulder up 4 %"},    {0.0, "shoulder up 0 %"},  {-0.004, "shoulder up 0 %"},
    {-0.021, "shoulder down 2 %"}, {0.3, "shoulder up 30 %"}, {(double)NAN, ""},
};

START_TEST(a_hike_is_said_in_percent)
{
    char text[OMO_TEXT_MOST] = "left over";
    omo_hike_words(hikes[_i].hike_ratio, text, sizeof text);
    ck_assert_str_eq(text, hikes[_i].words);
}
END_TEST

static const struct {
    double u95_deg;
    const char *words;
} goods[] = {
    {2.05, "good to 3 degrees"},
    {3.0, "good to 3 degrees"},
    {2.0 + 1e-9, "good to 2 degrees"},
    {0.98, "good to 1 degree"},
    {0.0, "good to 1 degree"},
    {12.4, "good to 13 degrees"},
    {(double)NAN, ""},
    {(double)INFINITY, ""},
};

START_TEST(how_good_an_angle_is_is_said_rounded_up)
{
    char text[OMO_TEXT_MOST] = "left over";
    omo_good_to_words(goods[_i].u95_deg, text, sizeof text);
    ck_assert_str_eq(text, goods[_i].words);
}
END_TEST

START_TEST(the_chart_keeps_twenty_seconds)
{
    static struct omo_chart chart;
    for (int i = 0; i <= 3000; i++)
        omo_chart_add(&chart, i / 60.0, i, (double)NAN);
    int last = (chart.first + chart.count - 1) % OMO_CHART_MOST;
    ck_assert_double_eq_tol(chart.sample[last].time_s, 50, 1e-9);
    ck_assert_double_ge(chart.sample[chart.first].time_s, 30 - 1e-9);
    ck_assert_int_eq(chart.count, 1201);
}
END_TEST

START_TEST(the_same_frame_counts_once_in_the_chart)
{
    static struct omo_chart chart;
    omo_chart_add(&chart, 1, 10, (double)NAN);
    omo_chart_add(&chart, 1, 10, (double)NAN);
    omo_chart_add(&chart, (double)NAN, 10, (double)NAN);
    ck_assert_int_eq(chart.count, 1);
}
END_TEST

START_TEST(a_new_movement_begins_a_new_chart)
{
    static struct omo_chart chart;
    for (int i = 0; i < 100; i++)
        omo_chart_add(&chart, 5 + i / 30.0, i, (double)NAN);
    omo_chart_add(&chart, 0, 3, (double)NAN);
    ck_assert_int_eq(chart.count, 1);
}
END_TEST

START_TEST(a_camera_faster_than_the_chart_is_wide_overwrites_the_oldest)
{
    static struct omo_chart chart;
    for (int i = 0; i < 10 * OMO_CHART_MOST; i++)
        omo_chart_add(&chart, i * 1e-3, i, (double)NAN);
    ck_assert_int_eq(chart.count, OMO_CHART_MOST);
    ck_assert_double_eq_tol(chart.sample[chart.first].angle_deg[0], 9.0 * OMO_CHART_MOST,
                            1e-9);
}
END_TEST

START_TEST(every_geometry_has_a_scale_with_its_zero)
{
    struct omo_movement movement = {.geometry = (enum omo_geometry)_i};
    struct omo_measure_settings settings = {.movement = &movement};
    struct omo_range range = omo_range_of(&settings);
    ck_assert_double_lt(range.low_deg, 0);
    ck_assert_double_gt(range.high_deg, 60);
    ck_assert_int_gt(range.step_deg, 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("screen words");
    TCase *words = tcase_create("words");
    tcase_add_loop_test(words, a_lean_is_said_with_its_direction, 0,
                        (int)(sizeof leans / sizeof leans[0]));
    tcase_add_loop_test(words, how_good_an_angle_is_is_said_rounded_up, 0,
                        (int)(sizeof goods / sizeof goods[0]));
    tcase_add_loop_test(words, a_hike_is_said_in_percent, 0,
                        (int)(sizeof hikes / sizeof hikes[0]));
    suite_add_tcase(suite, words);
    TCase *chart = tcase_create("chart");
    tcase_add_test(chart, the_chart_keeps_twenty_seconds);
    tcase_add_test(chart, the_same_frame_counts_once_in_the_chart);
    tcase_add_test(chart, a_new_movement_begins_a_new_chart);
    tcase_add_test(chart, a_camera_faster_than_the_chart_is_wide_overwrites_the_oldest);
    suite_add_tcase(suite, chart);
    TCase *scale = tcase_create("scale");
    tcase_add_loop_test(scale, every_geometry_has_a_scale_with_its_zero, 0,
                        OMO_GEOMETRY_PENDULUM + 1);
    suite_add_tcase(suite, scale);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
