/* How light a picture is, from a sparse grid. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/picture.h"

/* A share from a grid of some 3000 samples on an even pattern. */
#define TOL_RATIO 0.02
#define TOL_MEAN  0.51 /* the means below are whole numbers */

static uint8_t *pixels;
static struct omo_planes planes;

static void make(int width, int height, bool full_range)
{
    free(pixels);
    pixels = calloc((size_t)width * (size_t)height, 1);
    ck_assert_ptr_nonnull(pixels);
    planes = (struct omo_planes){.width = width,
                                 .height = height,
                                 .y = pixels,
                                 .y_stride = width,
                                 .full_range = full_range};
}

static void tear_down(void)
{
    free(pixels);
    pixels = NULL;
}

static void fill(int from_row, int to_row, uint8_t value)
{
    memset(pixels + (ptrdiff_t)from_row * planes.y_stride, value,
           (size_t)(to_row - from_row) * (size_t)planes.y_stride);
}

static const struct {
    int width, height;
} sizes[] = {{1280, 720}, {720, 1280}, {640, 480}, {1920, 1080},
             {64, 64},    {3, 2},      {1, 1}};
#define SIZE_COUNT ((int)(sizeof sizes / sizeof sizes[0]))

START_TEST(an_even_picture_reads_its_own_value)
{
    struct omo_luma luma;
    make(sizes[_i].width, sizes[_i].height, true);
    fill(0, planes.height, 97);
    omo_luma_read(&planes, &luma);
    ck_assert_double_eq_tol(luma.mean, 97.0, 1e-9);
    ck_assert_double_eq(luma.bright_ratio, 0.0);
    ck_assert_double_eq(luma.dark_ratio, 0.0);
}
END_TEST

START_TEST(shares_are_those_of_the_area)
{
    struct omo_luma luma;
    make(1280, 720, true);
    fill(0, 720, 100);
    fill(0, 180, 255);
    fill(648, 720, 5);
    omo_luma_read(&planes, &luma);
    ck_assert_double_eq_tol(luma.bright_ratio, 0.25, TOL_RATIO);
    ck_assert_double_eq_tol(luma.dark_ratio, 0.10, TOL_RATIO);
}
END_TEST

START_TEST(stripes_do_not_fool_the_grid)
{
    /* Every other column white, for every period that could fall in with the grid. */
    struct omo_luma luma;
    make(1280, 720, true);
    for (int period = 2; period <= 24; period += 2) {
        for (int y = 0; y < 720; y++)
            for (int x = 0; x < 1280; x++)
                pixels[y * 1280 + x] = x % period < period / 2 ? 255 : 0;
        omo_luma_read(&planes, &luma);
        ck_assert_msg(luma.bright_ratio > 0.2 && luma.bright_ratio < 0.8, "period %d: %f",
                      period, luma.bright_ratio);
    }
}
END_TEST

static const struct {
    bool full_range;
    uint8_t value;
    double mean;
    bool bright, dark;
} ranges[] = {
    {true, 235, 235, false, false},  {false, 235, 255, true, false},
    {true, 16, 16, false, false},    {false, 16, 0, false, true},
    {true, 250, 250, true, false},   {true, 249, 249, false, false},
    {true, 12, 12, false, true},     {true, 13, 13, false, false},
    {false, 254, 255, true, false},  {false, 2, 0, false, true},
    {false, 126, 128, false, false},
};
#define RANGE_COUNT ((int)(sizeof ranges / sizeof ranges[0]))

START_TEST(limited_range_is_stretched_first)
{
    struct omo_luma luma;
    make(320, 240, ranges[_i].full_range);
    fill(0, 240, ranges[_i].value);
    omo_luma_read(&planes, &luma);
    ck_assert_double_eq_tol(luma.mean, ranges[_i].mean, TOL_MEAN);
    ck_assert_double_eq(luma.bright_ratio, ranges[_i].bright ? 1.0 : 0.0);
    ck_assert_double_eq(luma.dark_ratio, ranges[_i].dark ? 1.0 : 0.0);
}
END_TEST

START_TEST(what_lies_beyond_the_width_is_not_read)
{
    struct omo_luma luma;
    make(1024, 300, true);
    fill(0, 300, 255);
    planes.width = 1000;
    for (int y = 0; y < 300; y++)
        memset(pixels + y * 1024, 40, 1000);
    omo_luma_read(&planes, &luma);
    ck_assert_double_eq_tol(luma.mean, 40.0, 1e-9);
}
END_TEST

START_TEST(without_luma_there_is_no_value)
{
    struct omo_luma luma = {1, 1, 1};
    make(64, 64, true);
    planes.y = NULL;
    omo_luma_read(&planes, &luma);
    ck_assert_double_nan(luma.mean);
    ck_assert_double_nan(luma.bright_ratio);
    ck_assert_double_nan(luma.dark_ratio);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("luma");
    TCase *tc = tcase_create("luma");
    tcase_add_checked_fixture(tc, NULL, tear_down);
    tcase_add_loop_test(tc, an_even_picture_reads_its_own_value, 0, SIZE_COUNT);
    tcase_add_test(tc, shares_are_those_of_the_area);
    tcase_add_test(tc, stripes_do_not_fool_the_grid);
    tcase_add_loop_test(tc, limited_range_is_stretched_first, 0, RANGE_COUNT);
    tcase_add_test(tc, what_lies_beyond_the_width_is_not_read);
    tcase_add_test(tc, without_luma_there_is_no_value);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
