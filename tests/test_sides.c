/* The difference between two arms against curves whose difference is known beforehand. */
#include <check.h>
#include <math.h>

#include "omogon/sides.h"

enum { FRAMES = 300, FPS = 30 };
#define TOL_DEG 1e-9

static struct omo_trace_row rows[2][FRAMES];
static struct omo_result result[2];

/** A smooth raise to `top_deg` that begins at `from_s` and takes 2 s, 1 s at the top. */
static double raise_deg(double time_s, double from_s, double top_deg)
{
    double t = time_s - from_s, way = t < 2 ? t / 2 : t < 3 ? 1 : (5 - t) / 2;
    way = fmin(fmax(way, 0), 1);
    return top_deg * way * way * (3 - 2 * way);
}

static void put_arm(enum omo_side side, double from_s, double top_deg)
{
    for (int k = 0; k < FRAMES; k++)
        rows[side][k] = (struct omo_trace_row){.frame = 10 + k,
                                               .time_s = (double)k / FPS,
                                               .angle_deg = raise_deg((double)k / FPS,
                                                                      from_s, top_deg)};
}

/** What a measurement says of the rows: the rule for maxima. */
static void read_arm(enum omo_side side, double u95_deg)
{
    double time_s[FRAMES], angle_deg[FRAMES];
    size_t at = 0;
    for (int k = 0; k < FRAMES; k++) {
        time_s[k] = rows[side][k].time_s;
        angle_deg[k] = rows[side][k].angle_deg;
    }
    result[side] = (struct omo_result){.max_u95_deg = u95_deg};
    result[side].max_deg =
        omo_sustained_max_deg(time_s, angle_deg, FRAMES, 0.2, 0.1, INFINITY, &at);
    result[side].frame_at_max = rows[side][at].frame;
}

static enum omo_status compare(struct omo_side_difference *out)
{
    const struct omo_trace_row *const both[2] = {rows[OMO_LEFT], rows[OMO_RIGHT]};
    const struct omo_result *const results[2] = {&result[OMO_LEFT], &result[OMO_RIGHT]};
    return omo_sides_compare(both, FRAMES, results, out);
}

static const struct {
    const char *name;
    double left_from_s, left_deg, right_from_s, right_deg;
    enum omo_side higher;
    double same_second_deg, of_maxima_deg;
} pairs[] = {
    {"alike", 2, 150, 2, 150, OMO_RIGHT, 0, 0},
    {"the left one lower", 2, 110, 2, 150, OMO_RIGHT, 40, 40},
    {"the right one lower", 2, 150, 2, 95, OMO_LEFT, 55, 55},
    {"a lag within the second spent at the top", 2, 150, 2.4, 150, OMO_RIGHT, 0, 0},
    {"one after the other", 0, 120, 5, 130, OMO_RIGHT, 130, 10},
};
enum { PAIR_COUNT = sizeof pairs / sizeof pairs[0] };

START_TEST(a_difference_is_that_of_the_curves)
{
    struct omo_side_difference d;
    put_arm(OMO_LEFT, pairs[_i].left_from_s, pairs[_i].left_deg);
    put_arm(OMO_RIGHT, pairs[_i].right_from_s, pairs[_i].right_deg);
    read_arm(OMO_LEFT, 3);
    read_arm(OMO_RIGHT, 4);
    ck_assert_int_eq(compare(&d), OMO_OK);
    ck_assert_msg(d.higher == pairs[_i].higher, "%s", pairs[_i].name);
    ck_assert_msg(fabs(d.same_second_deg - pairs[_i].same_second_deg) < TOL_DEG,
                  "%s: same second %.9f", pairs[_i].name, d.same_second_deg);
    ck_assert_msg(fabs(d.of_maxima_deg - pairs[_i].of_maxima_deg) < TOL_DEG,
                  "%s: of maxima %.9f", pairs[_i].name, d.of_maxima_deg);
    ck_assert_double_eq_tol(d.u95_deg, 5, TOL_DEG); /* 3, 4, 5 */
}
END_TEST

/* The widest gap held for 0.2 s, looked for by brute force over seven frames in a row. */
START_TEST(the_widest_difference_lasts_and_is_dated)
{
    struct omo_side_difference d;
    double widest = 0, peak_s = 0;
    put_arm(OMO_LEFT, 2.6, 140);
    put_arm(OMO_RIGHT, 2, 140);
    read_arm(OMO_LEFT, 3);
    read_arm(OMO_RIGHT, 3);
    for (int k = 0; k + 6 < FRAMES; k++) {
        double low = INFINITY, high = 0, high_s = 0;
        for (int i = k; i <= k + 6; i++) {
            double gap = rows[OMO_RIGHT][i].angle_deg - rows[OMO_LEFT][i].angle_deg;
            low = fmin(low, fabs(gap));
            if (fabs(gap) > high) {
                high = fabs(gap);
                high_s = rows[OMO_RIGHT][i].time_s;
            }
        }
        if (low > widest + TOL_DEG) {
            widest = low;
            peak_s = high_s;
        }
    }
    ck_assert_int_eq(compare(&d), OMO_OK);
    ck_assert_double_eq_tol(d.largest_deg, widest, TOL_DEG);
    /* Rising it leads, falling it is ahead as well: one is the other's mirror image. */
    ck_assert(fabs(d.largest_s - peak_s) < 1e-9 || d.largest_higher == OMO_LEFT);
    ck_assert_double_gt(d.largest_deg, 40);
}
END_TEST

START_TEST(an_arm_that_was_not_seen_at_the_top_leaves_no_difference_there)
{
    struct omo_side_difference d;
    put_arm(OMO_LEFT, 2, 150);
    put_arm(OMO_RIGHT, 2, 100);
    read_arm(OMO_LEFT, 3);
    read_arm(OMO_RIGHT, 3);
    for (int k = 0; k < FRAMES; k++)
        if (rows[OMO_RIGHT][k].time_s > 3 && rows[OMO_RIGHT][k].time_s < 6)
            rows[OMO_RIGHT][k].angle_deg = NAN;
    ck_assert_int_eq(compare(&d), OMO_OK);
    ck_assert(isnan(d.same_second_deg));
    ck_assert_double_eq_tol(d.of_maxima_deg, 50, TOL_DEG);
    ck_assert(isfinite(d.largest_deg));
}
END_TEST

START_TEST(a_damaged_frame_counts_for_nothing)
{
    struct omo_side_difference d;
    put_arm(OMO_LEFT, 2, 150);
    put_arm(OMO_RIGHT, 2, 100);
    read_arm(OMO_LEFT, 3);
    read_arm(OMO_RIGHT, 3);
    for (int k = 130; k < 133; k++) { /* a gap below 0.1 s would be bridged */
        rows[OMO_RIGHT][k].angle_deg = -80;
        rows[OMO_RIGHT][k].quality = OMO_QUALITY_DAMAGED;
    }
    ck_assert_int_eq(compare(&d), OMO_OK);
    ck_assert_double_eq_tol(d.same_second_deg, 50, TOL_DEG);
    ck_assert_double_eq_tol(d.largest_deg, 50, TOL_DEG);
}
END_TEST

START_TEST(without_a_highest_angle_there_is_nothing_to_compare)
{
    struct omo_side_difference d = {.largest_deg = 7};
    put_arm(OMO_LEFT, 2, 150);
    put_arm(OMO_RIGHT, 2, 100);
    for (int side = 0; side < 2; side++) {
        read_arm(OMO_LEFT, 3);
        read_arm(OMO_RIGHT, 3);
        result[side].max_deg = NAN;
        ck_assert_int_eq(compare(&d), OMO_ERR_EMPTY);
    }
    ck_assert_double_eq_tol(d.largest_deg, 7, TOL_DEG);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("sides");
    TCase *all = tcase_create("all");
    tcase_add_loop_test(all, a_difference_is_that_of_the_curves, 0, PAIR_COUNT);
    tcase_add_test(all, the_widest_difference_lasts_and_is_dated);
    tcase_add_test(all, an_arm_that_was_not_seen_at_the_top_leaves_no_difference_there);
    tcase_add_test(all, a_damaged_frame_counts_for_nothing);
    tcase_add_test(all, without_a_highest_angle_there_is_nothing_to_compare);
    suite_add_tcase(suite, all);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
