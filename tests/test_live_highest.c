/* The highest of a live movement, and what must not count for it. */
#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "live_fixture.h"

/* The trunk's constant moves a little while the rest goes on. */
#define TOL_REST_DEG 0.1

static struct figure figure_of(const char *movement)
{
    return (struct figure){.movement = movement,
                           .side = OMO_RIGHT,
                           .hip = true,
                           .rest_deg = 4};
}

static size_t raise_began(void)
{
    size_t k = 0;
    while (k < fed_count && (seen[k].events & OMO_EVENT_RAISE_BEGAN) == 0)
        k++;
    ck_assert_uint_lt(k, fed_count);
    return k;
}

START_TEST(the_highest_goes_by_the_rule_of_maxima)
{
    struct figure f = figure_of("abduction");
    begin_live(&f);
    reach_neutral();
    raise_arm(80);
    move_arm(100, 1);
    double before_deg = last_view()->best_deg;
    stage.angle_deg = 140; /* three frames are no maximum */
    keep_still(0.1);
    stage.angle_deg = 100;
    keep_still(0.1);
    ck_assert_double_le(last_view()->best_deg, 100.001);
    ck_assert_double_ge(last_view()->best_deg, before_deg);
    move_arm(4, 2);
    keep_still(1);
    size_t first = raise_began(), count = fed_count - first;
    double *time_s = calloc(count, sizeof *time_s);
    double *angle_deg = calloc(count, sizeof *angle_deg);
    ck_assert(time_s != NULL && angle_deg != NULL);
    for (size_t k = 0; k < count; k++) {
        time_s[k] = seen[first + k].time_s;
        angle_deg[k] = seen[first + k].angle_image_deg;
    }
    double want_deg =
        omo_sustained_max_deg(time_s, angle_deg, count, 0.2, 0.1, INFINITY, NULL);
    ck_assert_double_eq_tol(last_view()->best_deg, want_deg, TOL_REST_DEG);
    free(time_s);
    free(angle_deg);
}
END_TEST

START_TEST(a_picture_that_stands_still_sets_no_record)
{
    struct figure f = figure_of("flexion");
    begin_live(&f);
    reach_neutral();
    move_arm(60, 1.5);
    double before_deg = last_view()->best_deg;
    stage.angle_deg = 90;
    feed();
    stage.repeated = true; /* the arm moves on unseen */
    size_t from = fed_count;
    keep_still(0.5);
    stage.repeated = false;
    stage.angle_deg = 50;
    keep_still(0.5);
    for (size_t k = from; k < fed_count; k++)
        ck_assert_double_le(seen[k].best_deg, 60.001);
    ck_assert_double_ge(last_view()->best_deg, before_deg);
}
END_TEST

START_TEST(damaged_frames_count_for_nothing)
{
    struct figure f = figure_of("flexion");
    begin_live(&f);
    reach_neutral();
    move_arm(60, 1.5);
    stage.damaged = true;
    stage.angle_deg = 150;
    keep_still(1);
    ck_assert_uint_ne(last_view()->quality & OMO_QUALITY_DAMAGED, 0);
    stage.damaged = false;
    stage.angle_deg = 60;
    keep_still(1);
    ck_assert_double_le(last_view()->best_deg, 60.001);
    ck_assert_int_eq(last_view()->phase, OMO_PHASE_RAISE);
}
END_TEST

START_TEST(a_new_highest_is_told_while_it_rises)
{
    struct figure f = figure_of("flexion");
    begin_live(&f);
    reach_neutral();
    raise_arm(90);
    size_t from = fed_count;
    raise_arm(70);
    ck_assert_int_eq(events_since(from, OMO_EVENT_NEW_BEST), 0);
    raise_arm(120);
    ck_assert_int_gt(events_since(from, OMO_EVENT_NEW_BEST), 0);
    for (size_t k = from + 1; k < fed_count; k++) {
        if ((seen[k].events & OMO_EVENT_NEW_BEST) != 0)
            ck_assert_double_gt(seen[k].best_deg, seen[k - 1].best_deg);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("live highest");
    TCase *tc = tcase_create("highest");
    tcase_add_checked_fixture(tc, load_live_table, drop_live_table);
    tcase_set_timeout(tc, 60);
    tcase_add_test(tc, the_highest_goes_by_the_rule_of_maxima);
    tcase_add_test(tc, a_picture_that_stands_still_sets_no_record);
    tcase_add_test(tc, damaged_frames_count_for_nothing);
    tcase_add_test(tc, a_new_highest_is_told_while_it_rises);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
