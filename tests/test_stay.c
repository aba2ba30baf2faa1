/* Reach and rest: when an arm has stopped, where, how far it eases up, and what is none.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <check.h>

#include "omogon/stay.h"
#include "stay_fixture.h"

/* What was asked for. */
#define WITHIN_S 1.0
#define TOL_DEG  1.0
/* "1 degree of breathing" is read both ways: from breathed out to breathed in, where no
 * run may fail, and to either side, where a stop in a hundred may. */
#define BREATH_DEG        0.5
#define BREATH_DOUBLE_DEG 1.0
#define DOUBLE_SHARE      0.99
/* Runs take several times as long under a sanitizer. */
#define RUNS   (160 / OMO_STAGE_STEP)
#define RAISES (32 / OMO_STAGE_STEP)

static struct omo_stay *stay;
static struct omo_stay_view view;
static struct omo_stay_settings settings;

static void set_up(void)
{
    omo_stay_settings_default(&settings);
    ck_assert_int_eq(omo_stay_create(&settings, &stay), OMO_OK);
}

static void take_down(void)
{
    omo_stay_destroy(stay);
}

static void anew(void)
{
    take_down();
    ck_assert_int_eq(omo_stay_create(&settings, &stay), OMO_OK);
}

static double speed_of(uint64_t seed)
{
    static const double speeds[] = {3, 8, 15, 40};
    return speeds[seed % 4];
}

/* ---- random runs ---- */

struct count {
    int stops, missed, more, late, off, gain_off;
    double latest_s, worst_deg, worst_gain_deg;
};

/** What was named at each stop a second after the arm had come to it, and at its end. */
struct named {
    int count;
    double began_s[REACH_STOPS], soon_deg[REACH_STOPS], last_deg[REACH_STOPS],
        gain_deg[REACH_STOPS];
};

static void run(struct reach *r, struct named *named)
{
    double time_s = -1, angle_deg;
    *named = (struct named){0};
    for (int i = 0; i < REACH_STOPS; i++)
        named->soon_deg[i] = NAN;
    anew();
    while (reach_frame(r, &time_s, &angle_deg)) {
        omo_stay_step(stay, time_s, angle_deg, NAN, &view);
        if (view.stop_began && named->count < REACH_STOPS)
            named->began_s[named->count++] = time_s;
        int last = named->count - 1;
        if (view.phase != OMO_STAY_STOPPED || last < 0)
            continue;
        if (last < r->stops &&
            (time_s <= r->stop_s[last] + WITHIN_S || isnan(named->soon_deg[last])))
            named->soon_deg[last] = view.stop_deg;
        named->last_deg[last] = view.stop_deg;
        named->gain_deg[last] = view.gain_deg;
    }
}

static void judge(const struct reach *r, const struct named *named, struct count *count)
{
    count->stops += r->stops;
    count->missed += named->count < r->stops;
    count->more +=
        named->count > r->stops || view.reaches != 1 || view.phase != OMO_STAY_DOWN;
    for (int i = 0; i < r->stops && named->count == r->stops; i++) {
        double late_s = named->began_s[i] - r->stop_s[i];
        double off_deg = fmax(fabs(named->soon_deg[i] - r->stop_deg[i]),
                              fabs(named->last_deg[i] - r->stop_deg[i]));
        double gain_deg = fabs(named->gain_deg[i] - (r->stop_deg[i] - r->stop_deg[0]));
        /* Nothing is recognised before it is seen. */
        bool hidden =
            r->gap_to_s > r->stop_s[i] - 0.5 && r->gap_from_s < r->stop_s[i] + 1;
        count->late += !hidden && late_s > WITHIN_S;
        /* Before the arm is there it was no stop. */
        count->more += fabs(reach_true_deg(r, named->began_s[i]) - r->stop_deg[i]) > 1.5;
        count->off += !(off_deg <= TOL_DEG);
        count->gain_off += !(gain_deg <= TOL_DEG);
        if (!hidden)
            count->latest_s = fmax(count->latest_s, late_s);
        count->worst_deg = fmax(count->worst_deg, off_deg);
        count->worst_gain_deg = fmax(count->worst_gain_deg, gain_deg);
    }
}

static void run_all(uint64_t seed, double breath_deg, struct count *count)
{
    struct reach reach;
    struct named named;
    *count = (struct count){0};
    for (uint64_t k = 0; k < RUNS; k++) {
        reach_whole(&reach, seed + k, breath_deg, speed_of(k));
        run(&reach, &named);
        judge(&reach, &named, count);
    }
    printf(
        "breath %.1f: %d stops, %d runs with fewer, %d with more, %d late (latest %.2f "
        "s), %d angles off (worst %.2f), %d gains off (worst %.2f)\n",
        breath_deg, count->stops, count->missed, count->more, count->late,
        count->latest_s, count->off, count->worst_deg, count->gain_off,
        count->worst_gain_deg);
}

START_TEST(stops_and_gains_are_told_within_a_second_and_a_degree)
{
    struct count count;
    run_all(1000000, BREATH_DEG, &count);
    ck_assert_int_eq(count.missed, 0);
    ck_assert_int_eq(count.more, 0);
    ck_assert_int_eq(count.late, 0);
    ck_assert_int_eq(count.off, 0);
    ck_assert_int_eq(count.gain_off, 0);
}
END_TEST

START_TEST(twice_the_breath_costs_at_most_a_stop_in_a_hundred)
{
    struct count count;
    run_all(2000000, BREATH_DOUBLE_DEG, &count);
    double most = (1 - DOUBLE_SHARE) * count.stops;
    ck_assert_int_le(count.missed + count.more, (int)most);
    ck_assert_int_le(count.late, (int)most);
    ck_assert_int_le(count.off, (int)most);
    ck_assert_int_eq(count.gain_off, 0);
}
END_TEST

START_TEST(a_slow_steady_raise_has_no_stop)
{
    static const double speeds[] = {3, 8};
    for (uint64_t k = 0; k < RAISES; k++) {
        struct reach reach;
        double time_s = -1, angle_deg;
        reach_begin(&reach, 3000000 + k, k % 2 == 0 ? BREATH_DEG : BREATH_DOUBLE_DEG);
        reach_hold(&reach, 5);
        reach_ramp(&reach, 165, speeds[_i]);
        reach.gap_from_s = reach_between(&reach, 8, 20);
        reach.gap_to_s = reach.gap_from_s + 0.5;
        anew();
        while (reach_frame(&reach, &time_s, &angle_deg) && time_s < reach.end_s - 0.5) {
            omo_stay_step(stay, time_s, angle_deg, NAN, &view);
            ck_assert_msg(!view.stop_began, "run %d, %.0f degrees a second: %.1f s",
                          (int)k, speeds[_i], time_s);
        }
        ck_assert_int_eq(view.phase, OMO_STAY_RISING);
    }
}
END_TEST

/* ---- what a reach is made of ---- */

/** Steps through a reach without tremor, breath or loss, at 30 frames a second. */
static void walk(const struct reach *r, double from_s, double to_s, double hike_ratio)
{
    for (double t = from_s; t < to_s; t += 1.0 / 30)
        omo_stay_step(stay, t, reach_true_deg(r, t), hike_ratio, &view);
}

static struct reach quiet(void)
{
    struct reach r = {.end_deg = 4};
    reach_hold(&r, 3);
    reach_ramp(&r, 90, 20);
    reach_stop(&r);
    reach_hold(&r, 6);
    return r;
}

START_TEST(held_time_counts_from_the_stop_and_an_easing_up_is_another)
{
    struct reach r = quiet();
    double there_s = r.end_s - 6;
    reach_smooth(&r, 96, 2);
    reach_hold(&r, 4);
    walk(&r, 0, there_s - 1, NAN);
    ck_assert_int_eq(view.phase, OMO_STAY_RISING);
    ck_assert_double_nan(view.stop_deg);
    walk(&r, there_s - 1, there_s + 5, NAN);
    ck_assert_int_eq(view.phase, OMO_STAY_STOPPED);
    ck_assert_double_eq_tol(view.held_s, 5, WITHIN_S);
    ck_assert_double_eq_tol(view.gain_deg, 0, 1e-9);
    walk(&r, there_s + 5, r.end_s, NAN);
    ck_assert_int_eq(view.stops, 2);
    ck_assert_double_eq_tol(view.gain_deg, 6, 0.3);
    ck_assert_double_eq_tol(view.held_s, 4, WITHIN_S);
}
END_TEST

START_TEST(small_wavering_is_the_same_stop)
{
    struct reach r = quiet();
    reach_smooth(&r, 91, 1);
    reach_hold(&r, 3);
    reach_smooth(&r, 89.4, 1);
    reach_hold(&r, 3);
    walk(&r, 0, r.end_s, NAN);
    ck_assert_int_eq(view.phase, OMO_STAY_STOPPED);
    ck_assert_int_eq(view.stops, 1);
}
END_TEST

START_TEST(backing_off_lowers_and_a_rest_lower_down_has_a_negative_gain)
{
    struct reach r = quiet();
    double off_s = r.end_s;
    reach_smooth(&r, 70, 2);
    reach_hold(&r, 4);
    walk(&r, 0, off_s + 1, NAN);
    ck_assert_int_eq(view.phase, OMO_STAY_LOWERING);
    walk(&r, off_s + 1, r.end_s, NAN);
    ck_assert_int_eq(view.phase, OMO_STAY_STOPPED);
    ck_assert_double_eq_tol(view.gain_deg, -20, 0.5);
}
END_TEST

START_TEST(every_reach_counts_its_own_stops)
{
    struct reach r = quiet();
    reach_smooth(&r, 4, 3);
    reach_hold(&r, 2);
    reach_ramp(&r, 80, 20);
    reach_hold(&r, 4);
    walk(&r, 0, r.end_s, NAN);
    ck_assert_int_eq(view.reaches, 1);
    ck_assert_int_eq(view.stops, 1);
    ck_assert_double_eq_tol(view.stop_deg, 80, 0.3);
    ck_assert_double_eq_tol(view.gain_deg, 0, 1e-9);
}
END_TEST

START_TEST(a_rotation_begins_where_it_is_held)
{
    settings.held_at_start = true;
    anew();
    struct reach r = {.end_deg = -12};
    reach_hold(&r, 3);
    reach_ramp(&r, 14, 10);
    reach_hold(&r, 4);
    walk(&r, 0, r.end_s, NAN);
    ck_assert_int_eq(view.phase, OMO_STAY_STOPPED);
    ck_assert_double_eq_tol(view.stop_deg, 14, 0.3);
    double top_s = r.end_s;
    reach_smooth(&r, -12, 2);
    reach_hold(&r, 1);
    walk(&r, top_s, r.end_s, NAN);
    ck_assert_int_eq(view.phase, OMO_STAY_DOWN);
    ck_assert_int_eq(view.reaches, 1);
}
END_TEST

START_TEST(the_shoulder_has_settled_once_its_hike_is_back)
{
    struct reach r = quiet();
    double there_s = r.end_s - 6;
    walk(&r, 0, there_s + 2, 0.15);
    ck_assert_int_eq(view.phase, OMO_STAY_STOPPED);
    ck_assert(!view.settled);
    ck_assert_double_eq_tol(view.excess_hike_ratio, 0.15, 1e-6);
    walk(&r, there_s + 2, there_s + 3, 0.03); /* not long enough yet */
    ck_assert(!view.settled);
    walk(&r, there_s + 3, there_s + 4.5, 0.03);
    ck_assert(view.settled);
    walk(&r, there_s + 4.5, there_s + 5.5, 0.2);
    ck_assert(!view.settled);
}
END_TEST

START_TEST(an_unknown_hike_is_never_settled)
{
    struct reach r = quiet();
    walk(&r, 0, r.end_s, NAN);
    ck_assert(!view.settled);
    ck_assert_double_nan(view.excess_hike_ratio);
}
END_TEST

START_TEST(a_long_gap_holds_nothing)
{
    struct reach r = quiet();
    double there_s = r.end_s - 6;
    walk(&r, 0, there_s + 2, NAN);
    double held_s = view.held_s;
    omo_stay_step(stay, there_s + 60, 90, NAN, &view);
    ck_assert_double_eq_tol(view.held_s, held_s, 1e-9);
    omo_stay_step(stay, there_s, 90, NAN, &view); /* time falls */
    ck_assert_double_eq_tol(view.held_s, held_s, 1e-9);
    omo_stay_step(stay, NAN, 90, NAN, &view);
    omo_stay_step(stay, there_s + 0.1, INFINITY, NAN, &view);
    ck_assert_int_eq(view.stops, 1);
}
END_TEST

START_TEST(a_wrong_frame_moves_nothing)
{
    struct reach r = quiet();
    walk(&r, 0, r.end_s, NAN);
    double stop_deg = view.stop_deg;
    omo_stay_step(stay, r.end_s + 0.03, 20, NAN, &view);
    omo_stay_step(stay, r.end_s + 0.06, 90, NAN, &view);
    ck_assert_int_eq(view.phase, OMO_STAY_STOPPED);
    ck_assert_double_eq_tol(view.stop_deg, stop_deg, 0.1);
}
END_TEST

START_TEST(settings_that_are_none_are_refused)
{
    struct omo_stay *none = NULL;
    struct omo_stay_settings wrong = settings;
    wrong.still_deg_per_s = 0;
    ck_assert_int_eq(omo_stay_create(&wrong, &none), OMO_ERR_ARG);
    wrong = settings;
    wrong.low_deg = NAN;
    ck_assert_int_eq(omo_stay_create(&wrong, &none), OMO_ERR_ARG);
    wrong = settings;
    wrong.excess_hike_ratio = -1;
    ck_assert_int_eq(omo_stay_create(&wrong, &none), OMO_ERR_ARG);
    ck_assert_ptr_null(none);
    omo_stay_destroy(NULL);
}
END_TEST

/* ---- breaths ---- */

START_TEST(a_breath_rises_for_its_share_and_falls_for_the_rest)
{
    /* 6 a minute, 10 s each; in for 4 of them. Half a cosine either way. */
    static const struct {
        double since_s, line;
    } rows[] = {{0, 0}, {2, 0.5}, {4, 1}, {7, 0.5}, {10, 0}, {12, 0.5}, {104, 1}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        ck_assert_double_eq_tol(omo_breath_line(rows[i].since_s, 6, 0.4), rows[i].line,
                                1e-9);
    for (double t = 0; t < 60; t += 0.01) {
        double line = omo_breath_line(t, 13, 0.4);
        ck_assert(line >= 0 && line <= 1);
        ck_assert_double_lt(fabs(omo_breath_line(t + 0.01, 13, 0.4) - line), 0.02);
    }
    /* Nothing to pace by. */
    ck_assert_double_eq_tol(omo_breath_line(-1, 6, 0.4), 0, 1e-12);
    ck_assert_double_eq_tol(omo_breath_line(5, 0, 0.4), 0, 1e-12);
    ck_assert_double_eq_tol(omo_breath_line(NAN, 6, 0.4), 0, 1e-12);
    ck_assert(isfinite(omo_breath_line(5, 6, 0)) && isfinite(omo_breath_line(5, 6, 1)));
}
END_TEST

START_TEST(only_whole_breaths_are_done)
{
    ck_assert_int_eq(omo_breaths_done(0, 6), 0);
    ck_assert_int_eq(omo_breaths_done(9.9, 6), 0);
    ck_assert_int_eq(omo_breaths_done(10, 6), 1);
    ck_assert_int_eq(omo_breaths_done(50, 6), 5);
    ck_assert_int_eq(omo_breaths_done(60.0 / 7, 7), 1); /* not by the last bit */
    ck_assert_int_eq(omo_breaths_done(-5, 6), 0);
    ck_assert_int_eq(omo_breaths_done(NAN, 6), 0);
    ck_assert_int_eq(omo_breaths_done(1e300, 6), 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("stay");
    TCase *runs = tcase_create("runs"), *reach = tcase_create("reach");
    TCase *breath = tcase_create("breath");
    tcase_add_checked_fixture(runs, set_up, take_down);
    tcase_add_checked_fixture(reach, set_up, take_down);
    tcase_set_timeout(runs, 600);
    tcase_add_test(runs, stops_and_gains_are_told_within_a_second_and_a_degree);
    tcase_add_test(runs, twice_the_breath_costs_at_most_a_stop_in_a_hundred);
    tcase_add_loop_test(runs, a_slow_steady_raise_has_no_stop, 0, 2);
    tcase_add_test(reach, held_time_counts_from_the_stop_and_an_easing_up_is_another);
    tcase_add_test(reach, small_wavering_is_the_same_stop);
    tcase_add_test(reach, backing_off_lowers_and_a_rest_lower_down_has_a_negative_gain);
    tcase_add_test(reach, every_reach_counts_its_own_stops);
    tcase_add_test(reach, a_rotation_begins_where_it_is_held);
    tcase_add_test(reach, the_shoulder_has_settled_once_its_hike_is_back);
    tcase_add_test(reach, an_unknown_hike_is_never_settled);
    tcase_add_test(reach, a_long_gap_holds_nothing);
    tcase_add_test(reach, a_wrong_frame_moves_nothing);
    tcase_add_test(reach, settings_that_are_none_are_refused);
    tcase_add_test(breath, a_breath_rises_for_its_share_and_falls_for_the_rest);
    tcase_add_test(breath, only_whole_breaths_are_done);
    suite_add_tcase(suite, runs);
    suite_add_tcase(suite, reach);
    suite_add_tcase(suite, breath);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
