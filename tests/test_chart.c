/* A course of weeks as a figure: what can be seen of it, by whom, and in words. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>
#include <glib.h>

#include "draw/course_points.h"
#include "omogon/chart.h"

/* Web Content Accessibility Guidelines 2.2: 1.4.3 for words, 1.4.11 for what is drawn. */
static const double WORDS_MIN = 4.5, DRAWN_MIN = 3;

#define MANY 3000
static struct omo_chart_point points[MANY];

static struct omo_chart chart_of(size_t count)
{
    for (size_t i = 0; i < count; i++)
        points[i] = (struct omo_chart_point){.day = 20000 + 3.0 * (double)i,
                                             .mean_deg = 90 + (double)(i % 7),
                                             .u95_deg = 4,
                                             .highest_deg = 95 + (double)(i % 7),
                                             .before_hike_deg = i % 2 ? 70 : (double)NAN,
                                             .pain = 3};
    return (struct omo_chart){.what = "arm to the front & <more>",
                              .points = points,
                              .count = count,
                              .has_trend = true,
                              .trend_deg_per_day = 0.1,
                              .trend_low_deg_per_day = 0.05,
                              .trend_high_deg_per_day = 0.15,
                              .trend_at_0_deg = 90 - 0.1 * 20000,
                              .other_deg = 170,
                              .mark_deg = NAN,
                              .range_low_deg = 150,
                              .range_high_deg = 180,
                              .range_source = "an invented source",
                              .width = 720,
                              .height = 400};
}

START_TEST(everything_stands_out_from_its_ground)
{
    for (int dark = 0; dark < 2; dark++) {
        const struct omo_chart_colours *c = omo_chart_colours(dark);
        const uint32_t grounds[] = {c->ground, c->band};
        for (int i = 0; i < 2; i++) {
            ck_assert_double_ge(omo_contrast_ratio(c->text, grounds[i]), WORDS_MIN);
            ck_assert_double_ge(omo_contrast_ratio(c->quiet, grounds[i]), WORDS_MIN);
            ck_assert_double_ge(omo_contrast_ratio(c->mean, grounds[i]), DRAWN_MIN);
            ck_assert_double_ge(omo_contrast_ratio(c->hike, grounds[i]), DRAWN_MIN);
            ck_assert_double_ge(omo_contrast_ratio(c->trend, grounds[i]), DRAWN_MIN);
        }
    }
}
END_TEST

START_TEST(nothing_is_drawn_in_a_colour_that_was_not_checked)
{
    for (int dark = 0; dark < 2; dark++) {
        struct omo_chart chart = chart_of(30);
        chart.dark = dark;
        const struct omo_chart_colours *c = omo_chart_colours(dark);
        struct omo_figure *figure = omo_chart_figure(&chart);
        for (size_t i = 0; i < omo_figure_count(figure); i++) {
            const struct omo_mark *mark = omo_figure_at(figure, i);
            if (mark->kind == OMO_MARK_TEXT)
                ck_assert(mark->colour == c->text || mark->colour == c->quiet);
            else if (mark->kind == OMO_MARK_SHAPE)
                ck_assert(mark->colour == c->ground || mark->colour == c->band ||
                          mark->colour == c->hike);
            else
                ck_assert(mark->colour == c->mean || mark->colour == c->hike ||
                          mark->colour == c->trend || mark->colour == c->quiet ||
                          mark->colour == c->grid);
        }
        omo_figure_destroy(figure);
    }
}
END_TEST

START_TEST(nothing_leaves_the_figure)
{
    static const double sizes[][2] = {{240, 160}, {320, 200}, {720, 400}, {1600, 700}};
    for (size_t k = 0; k < G_N_ELEMENTS(sizes); k++) {
        struct omo_chart chart = chart_of(25);
        chart.width = sizes[k][0];
        chart.height = sizes[k][1];
        chart.small = chart.width < 320;
        struct omo_figure *figure = omo_chart_figure(&chart);
        for (size_t i = 0; i < omo_figure_count(figure); i++) {
            const struct omo_mark *mark = omo_figure_at(figure, i);
            for (size_t p = 0; p < mark->count; p++) {
                ck_assert_double_ge(mark->points[p].x, -0.5);
                ck_assert_double_le(mark->points[p].x, chart.width);
                ck_assert_double_ge(mark->points[p].y, -0.5);
                ck_assert_double_le(mark->points[p].y, chart.height);
            }
            if (mark->kind == OMO_MARK_TEXT || mark->kind == OMO_MARK_RING) {
                ck_assert_double_ge(mark->at.y, 0);
                ck_assert_double_le(mark->at.y, chart.height);
            }
        }
        omo_figure_destroy(figure);
    }
}
END_TEST

START_TEST(ten_years_are_gathered_and_none_is_left_out)
{
    struct omo_chart chart = chart_of(MANY);
    struct course_dot dots[90];
    ck_assert_uint_eq(omo_course_dots(&chart, dots, 90), 90);
    size_t sessions = 0;
    for (int i = 0; i < 90; i++) {
        sessions += dots[i].sessions;
        ck_assert(i == 0 || dots[i].day > dots[i - 1].day);
        /* 33 or 34 neighbouring means of 90 to 96, seven by seven */
        ck_assert_double_eq(dots[i].low_deg, 90);
        ck_assert_double_eq(dots[i].high_deg, 96);
        ck_assert_double_ge(dots[i].mean_deg, 92);
        ck_assert_double_le(dots[i].mean_deg, 94);
    }
    ck_assert_uint_eq(sessions, MANY);
    struct omo_figure *figure = omo_chart_figure(&chart);
    ck_assert_uint_lt(omo_figure_count(figure), 600);
    omo_figure_destroy(figure);
}
END_TEST

START_TEST(few_sessions_are_drawn_as_they_are)
{
    struct omo_chart chart = chart_of(3);
    struct course_dot dots[8];
    ck_assert_uint_eq(omo_course_dots(&chart, dots, 8), 3);
    ck_assert_double_eq(dots[1].mean_deg, 91);
    ck_assert_double_eq(dots[1].low_deg, 87);
    ck_assert_double_eq(dots[1].high_deg, 95);
    ck_assert_double_eq(dots[1].before_hike_deg, 70);
    ck_assert_double_nan(dots[0].before_hike_deg);
}
END_TEST

START_TEST(a_few_degrees_do_not_look_like_a_leap)
{
    struct omo_chart chart = chart_of(3);
    struct course_dot dots[8];
    double low, high;
    chart.other_deg = chart.range_low_deg = chart.range_high_deg = NAN;
    size_t count = omo_course_dots(&chart, dots, 8);
    omo_course_scale(&chart, dots, count, &low, &high);
    ck_assert_double_ge(high - low, 60);
    ck_assert_double_le(low, 70);
    ck_assert_double_ge(high, 97);
}
END_TEST

START_TEST(the_ends_of_the_interval_cross_in_the_middle)
{
    struct omo_chart chart = chart_of(5); /* days 20000, 20003 ... 20012 */
    double deg, low, high;
    omo_course_trend(&chart, 20006, &deg, &low, &high);
    ck_assert_double_eq_tol(low, high, 1e-9);
    ck_assert_double_eq_tol(deg, 90.6, 1e-9);
    omo_course_trend(&chart, 20012, &deg, &low, &high);
    ck_assert_double_eq_tol(deg, 91.2, 1e-9);
    ck_assert_double_eq_tol(low, 90.9, 1e-9);
    ck_assert_double_eq_tol(high, 91.5, 1e-9);
}
END_TEST

/** Counts words of a figure's SVG while its form is checked. */
static void take_start(GMarkupParseContext *context, const char *element,
                       const char **names, const char **values, gpointer data,
                       GError **error)
{
    (void)context, (void)names, (void)values, (void)error;
    int *texts = data;
    *texts += !strcmp(element, "text");
    ck_assert_str_ne(element, "script");
    ck_assert_str_ne(element, "image");
}

START_TEST(its_svg_is_well_formed_and_has_words)
{
    struct omo_chart chart = chart_of(12);
    struct omo_figure *figure = omo_chart_figure(&chart);
    g_autofree char *words = omo_chart_words(&chart);
    char *bytes = NULL;
    size_t size = 0;
    int texts = 0;
    ck_assert_int_eq(omo_figure_bytes(figure, OMO_FIGURE_SVG, chart.what, words, &bytes,
                                      &size),
                     OMO_OK);
    const GMarkupParser parser = {.start_element = take_start};
    GMarkupParseContext *context = g_markup_parse_context_new(&parser, 0, &texts, NULL);
    ck_assert(g_markup_parse_context_parse(context, bytes, (gssize)size, NULL));
    ck_assert(g_markup_parse_context_end_parse(context, NULL));
    g_markup_parse_context_free(context);
    ck_assert_int_gt(texts, 10);
    ck_assert_ptr_nonnull(strstr(bytes, "arm to the front &amp; &lt;more&gt;</text>"));
    ck_assert_ptr_nonnull(strstr(bytes, "<title id=\"figure-title\">"));
    ck_assert_ptr_nonnull(strstr(bytes, "12 sessions"));
    ck_assert_ptr_nonnull(strstr(bytes, "an invented source"));
    ck_assert_ptr_nonnull(strstr(bytes, "2024-10-04")); /* day 20000 */
    /* The one address is the name of the format; nothing is fetched. */
    const char *address = strstr(bytes, "http");
    ck_assert(g_str_has_prefix(address, "http://www.w3.org/2000/svg"));
    ck_assert_ptr_null(strstr(address + 1, "http"));
    free(bytes);
    omo_figure_destroy(figure);
}
END_TEST

START_TEST(the_same_figure_is_the_same_file)
{
    for (int kind = OMO_FIGURE_SVG; kind <= OMO_FIGURE_PNG; kind++) {
        char *bytes[2];
        size_t size[2];
        for (int i = 0; i < 2; i++) {
            struct omo_chart chart = chart_of(12);
            struct omo_figure *figure = omo_chart_figure(&chart);
            ck_assert_int_eq(omo_figure_bytes(figure, (enum omo_figure_kind)kind, "a",
                                              "b", &bytes[i], &size[i]),
                             OMO_OK);
            omo_figure_destroy(figure);
        }
        ck_assert_uint_eq(size[0], size[1]);
        ck_assert_mem_eq(bytes[0], bytes[1], size[0]);
        free(bytes[0]);
        free(bytes[1]);
    }
}
END_TEST

START_TEST(without_a_session_there_is_no_figure)
{
    struct omo_chart chart = chart_of(1);
    chart.count = 0;
    ck_assert_ptr_null(omo_chart_figure(&chart));
    chart.count = 1;
    struct omo_figure *figure = omo_chart_figure(&chart);
    ck_assert_ptr_nonnull(figure);
    omo_figure_destroy(figure);
    chart.width = 10;
    ck_assert_ptr_null(omo_chart_figure(&chart));
}
END_TEST

START_TEST(a_kind_of_file_is_told_by_its_end)
{
    enum omo_figure_kind kind = OMO_FIGURE_SVG;
    ck_assert(omo_figure_kind_of("a.b/course.PDF", &kind) && kind == OMO_FIGURE_PDF);
    ck_assert(omo_figure_kind_of("x.png", &kind) && kind == OMO_FIGURE_PNG);
    ck_assert(!omo_figure_kind_of("svg", &kind));
    ck_assert(!omo_figure_kind_of("course.svg.txt", &kind));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("chart");
    TCase *tests = tcase_create("chart");
    tcase_add_test(tests, everything_stands_out_from_its_ground);
    tcase_add_test(tests, nothing_is_drawn_in_a_colour_that_was_not_checked);
    tcase_add_test(tests, nothing_leaves_the_figure);
    tcase_add_test(tests, ten_years_are_gathered_and_none_is_left_out);
    tcase_add_test(tests, few_sessions_are_drawn_as_they_are);
    tcase_add_test(tests, a_few_degrees_do_not_look_like_a_leap);
    tcase_add_test(tests, the_ends_of_the_interval_cross_in_the_middle);
    tcase_add_test(tests, its_svg_is_well_formed_and_has_words);
    tcase_add_test(tests, the_same_figure_is_the_same_file);
    tcase_add_test(tests, without_a_session_there_is_no_figure);
    tcase_add_test(tests, a_kind_of_file_is_told_by_its_end);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed > 0;
}
