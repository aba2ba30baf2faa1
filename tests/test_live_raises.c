/* Raises as people make them: small, hidden, halting; and where it hurts. */
#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "live_fixture.h"

/* An angle that the arm stands at, steadied. */
#define TOL_STILL_DEG 0.6
/* The same while the arm moves at 45 degrees a second: what steadying lags. */
#define TOL_MOVING_DEG 3.0

static void begin_at_rest(const char *movement, double rest_deg)
{
    struct figure f = {.movement = movement,
                       .side = OMO_RIGHT,
                       .hip = true,
                       .wrist = true,
                       .rest_deg = rest_deg};
    begin_live(&f);
    stage.noise_px = 0.1;
    reach_neutral();
}

static enum omo_phase phase(void)
{
    return last_view()->phase;
}

/* ---- how a raise begins and closes ---- */

START_TEST(a_shoulder_that_reaches_25_degrees_has_its_raises)
{
    static const char *const movements[] = {"flexion", "abduction", "extension",
                                            "adduction", "external-rotation"};
    for (size_t i = 0; i < sizeof movements / sizeof movements[0]; i++) {
        begin_at_rest(movements[i], 4);
        stage.tremor_deg = 0.4;
        raise_arm(25);
        raise_arm(23);
        raise_arm(25);
        ck_assert_msg(last_view()->raises == 3, "%s: %d raises", movements[i],
                      last_view()->raises);
        ck_assert_double_eq_tol(last_view()->best_deg, 25, TOL_STILL_DEG);
    }
}
END_TEST

START_TEST(an_arm_that_hangs_out_and_trembles_makes_no_raise)
{
    begin_at_rest("abduction", 3);
    stage.tremor_deg = 1.0;
    move_arm(9, 1);
    keep_still(5);
    move_arm(3, 1);
    keep_still(3);
    ck_assert_int_eq(events_since(0, OMO_EVENT_RAISE_BEGAN), 0);
    ck_assert(isnan(last_view()->best_deg));
}
END_TEST

START_TEST(a_twitch_is_no_raise)
{
    begin_at_rest("flexion", 3);
    move_arm(20, 0.3);
    move_arm(3, 0.3);
    keep_still(1);
    ck_assert_int_eq(phase(), OMO_PHASE_READY);
    ck_assert_int_eq(last_view()->raises, 0);
    raise_arm(120);
    /* Less than a quarter of the best. */
    raise_arm(25);
    ck_assert_int_eq(last_view()->raises, 1);
    ck_assert_double_eq_tol(last_view()->last_raise_deg, 120, TOL_STILL_DEG);
}
END_TEST

START_TEST(an_arm_that_comes_down_elsewhere_has_come_down)
{
    begin_at_rest("flexion", 3);
    stage.figure.rest_deg = 14; /* the shoulder stiffens */
    raise_arm(100);
    ck_assert_int_eq(phase(), OMO_PHASE_READY);
    ck_assert_int_eq(last_view()->raises, 1);
    keep_still(3);
    ck_assert_int_eq(events_since(0, OMO_EVENT_RAISE_BEGAN), 1);
    raise_arm(60);
    raise_arm(42); /* small above where it hangs now */
    ck_assert_int_eq(last_view()->raises, 3);
    ck_assert_int_eq(phase(), OMO_PHASE_READY);
}
END_TEST

START_TEST(a_small_raise_need_not_come_back_to_the_degree)
{
    begin_at_rest("extension", 3);
    stage.tremor_deg = 0.2;
    stage.figure.rest_deg = 7;
    raise_arm(18);
    ck_assert_int_eq(last_view()->raises, 1);
    ck_assert_int_eq(phase(), OMO_PHASE_READY);
}
END_TEST

START_TEST(halting_on_the_way_up_or_down_stays_one_raise)
{
    begin_at_rest("flexion", 3);
    move_arm(60, 1);
    move_arm(50, 0.5);
    move_arm(100, 1);
    move_arm(70, 1);
    move_arm(95, 1);
    move_arm(3, 2);
    keep_still(1);
    ck_assert_int_eq(events_since(0, OMO_EVENT_RAISE_BEGAN), 1);
    ck_assert_int_eq(last_view()->raises, 1);
}
END_TEST

START_TEST(a_rotation_may_begin_off_zero_and_swing_to_the_other_side)
{
    begin_at_rest("external-rotation", -18);
    raise_arm(35);
    ck_assert_int_eq(last_view()->raises, 1);
    move_arm(-60, 2);
    keep_still(1);
    move_arm(-18, 2);
    ck_assert_int_eq(last_view()->raises, 1);
    ck_assert_int_eq(phase(), OMO_PHASE_READY);
    raise_arm(30);
    ck_assert_int_eq(last_view()->raises, 2);
    ck_assert_double_eq_tol(last_view()->best_deg, 35, TOL_STILL_DEG);
}
END_TEST

/* ---- hidden markers ---- */

START_TEST(a_hidden_wrist_changes_nothing)
{
    begin_at_rest("flexion", 3);
    move_arm(80, 2);
    stage.hidden = 1u << OMO_WRIST;
    move_arm(120, 1);
    keep_still(1);
    ck_assert_double_eq_tol(last_view()->angle_deg, 120, TOL_STILL_DEG);
    ck_assert(isnan(last_view()->elbow_flexion_deg));
    move_arm(3, 2);
    keep_still(1);
    ck_assert_int_eq(last_view()->raises, 1);
}
END_TEST

START_TEST(a_hidden_elbow_closes_and_ends_nothing)
{
    begin_at_rest("flexion", 3);
    move_arm(80, 2);
    stage.hidden = 1u << OMO_ELBOW;
    size_t from = fed_count;
    move_arm(120, 2);
    keep_still(20);
    for (size_t k = from; k < fed_count; k++) {
        ck_assert_int_eq(seen[k].phase, OMO_PHASE_RAISE);
        ck_assert(isnan(seen[k].angle_deg) && isnan(seen[k].angle_image_deg));
        ck_assert_uint_ne(seen[k].quality & OMO_QUALITY_NO_ELBOW, 0);
    }
    stage.hidden = 0;
    keep_still(0.5);
    ck_assert_double_eq_tol(last_view()->angle_deg, 120, TOL_STILL_DEG);
    ck_assert_double_eq_tol(last_view()->best_deg, 120, TOL_STILL_DEG);
    stage.hidden = 1u << OMO_ELBOW;
    move_arm(3, 2);
    ck_assert_int_eq(last_view()->raises, 0);
    stage.hidden = 0;
    keep_still(0.5);
    ck_assert_int_eq(last_view()->raises, 1);
    ck_assert_int_eq(phase(), OMO_PHASE_READY);
}
END_TEST

START_TEST(markers_hidden_between_raises_end_nothing)
{
    begin_at_rest("abduction", 3);
    raise_arm(70);
    stage.hidden = 1u << OMO_ELBOW | 1u << OMO_SHOULDER;
    keep_still(30);
    ck_assert_int_eq(phase(), OMO_PHASE_READY);
    stage.hidden = 0;
    raise_arm(70);
    ck_assert_int_eq(last_view()->raises, 2);
}
END_TEST

/* ---- where it hurts ---- */

START_TEST(a_pause_on_the_way_marks_where_pain_begins_and_ends)
{
    begin_at_rest("flexion", 3);
    move_arm(70, 1.5);
    keep_still(0.7);
    keep_still(0.6);
    ck_assert(isnan(last_view()->pain_onset_deg)); /* it might be the top */
    move_arm(110, 1.5);
    ck_assert_double_eq_tol(last_view()->pain_onset_deg, 70, TOL_STILL_DEG);
    keep_still(2);
    ck_assert_double_eq_tol(last_view()->pain_onset_deg, 70, TOL_STILL_DEG);
    move_arm(50, 1.5);
    keep_still(1.3);
    move_arm(30, 1);
    ck_assert_double_eq_tol(last_view()->pain_end_deg, 50, TOL_STILL_DEG);
    keep_still(1.3);
    move_arm(3, 1);
    ck_assert_double_eq_tol(last_view()->pain_end_deg, 50, TOL_STILL_DEG);
    ck_assert_int_eq(events_since(0, OMO_EVENT_PAIN_ONSET), 1);
    ck_assert_int_eq(events_since(0, OMO_EVENT_PAIN_END), 1);
    ck_assert_int_eq(last_view()->raises, 1);
}
END_TEST

START_TEST(a_hold_at_the_top_is_no_pause_on_the_way)
{
    begin_at_rest("abduction", 3);
    move_arm(60, 2);
    keep_still(2.5);
    move_arm(3, 2);
    keep_still(1);
    ck_assert(isnan(last_view()->pain_onset_deg));
    ck_assert(isnan(last_view()->pain_end_deg));
    ck_assert_int_eq(last_view()->raises, 1);
}
END_TEST

START_TEST(a_raise_without_a_pause_marks_nothing)
{
    begin_at_rest("flexion", 3);
    stage.tremor_deg = 0.3;
    for (int i = 0; i < 3; i++) {
        move_arm(120, 2.5);
        keep_still(0.4);
        move_arm(3, 2.5);
        keep_still(3);
    }
    ck_assert_int_eq(last_view()->raises, 3);
    ck_assert_int_eq(events_since(0, OMO_EVENT_PAIN_ONSET), 0);
    ck_assert_int_eq(events_since(0, OMO_EVENT_PAIN_END), 0);
}
END_TEST

START_TEST(pauses_can_be_told_to_mark_nothing)
{
    struct figure f = {.movement = "flexion", .side = OMO_LEFT, .rest_deg = 3};
    begin_live(&f);
    live_settings.pause_s = 0;
    begin_again();
    reach_neutral();
    raise_arm(90);
    ck_assert_int_eq(last_view()->raises, 1);
    ck_assert_int_eq(events_since(0, OMO_EVENT_PAIN_ONSET), 0);
}
END_TEST

START_TEST(a_press_marks_at_once_and_again)
{
    begin_at_rest("flexion", 3);
    move_arm(90, 2);
    omo_live_press(live, OMO_PRESS_MARK);
    move_arm(95, 0.3);
    ck_assert_double_eq_tol(last_view()->pain_onset_deg, 90, TOL_MOVING_DEG);
    move_arm(120, 1);
    omo_live_press(live, OMO_PRESS_MARK);
    keep_still(2);
    ck_assert_double_eq_tol(last_view()->pain_onset_deg, 120, TOL_MOVING_DEG);
    ck_assert_int_eq(events_since(0, OMO_EVENT_PAIN_ONSET), 2);
    move_arm(80, 1);
    omo_live_press(live, OMO_PRESS_MARK);
    feed();
    ck_assert_double_eq_tol(last_view()->pain_end_deg, 80, TOL_MOVING_DEG);
    move_arm(3, 2);
    keep_still(1);
    omo_live_press(live, OMO_PRESS_MARK); /* nothing is raised */
    feed();
    raise_arm(60);
    ck_assert_int_eq(events_since(0, OMO_EVENT_PAIN_END), 1);
}
END_TEST

START_TEST(a_press_counts_while_the_arm_keeps_still_for_long)
{
    begin_at_rest("flexion", 3);
    move_arm(90, 2);
    keep_still(11);
    ck_assert_int_eq(phase(), OMO_PHASE_WARN);
    int before = events_since(0, OMO_EVENT_PAIN_ONSET);
    omo_live_press(live, OMO_PRESS_MARK);
    feed();
    ck_assert_int_eq(events_since(0, OMO_EVENT_PAIN_ONSET), before + 1);
    ck_assert_double_eq_tol(last_view()->pain_onset_deg, 90, TOL_STILL_DEG);
}
END_TEST

START_TEST(a_press_waits_for_an_arm_that_is_seen)
{
    begin_at_rest("flexion", 3);
    move_arm(60, 2);
    stage.hidden = 1u << OMO_ELBOW;
    keep_still(0.5);
    omo_live_press(live, OMO_PRESS_MARK);
    keep_still(0.2);
    ck_assert(isnan(last_view()->pain_onset_deg));
    stage.hidden = 0;
    keep_still(0.1);
    ck_assert_double_eq_tol(last_view()->pain_onset_deg, 60, TOL_STILL_DEG);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("live raises");
    TCase *tc = tcase_create("raises");
    tcase_add_checked_fixture(tc, load_live_table, drop_live_table);
    tcase_set_timeout(tc, 60);
    tcase_add_test(tc, a_shoulder_that_reaches_25_degrees_has_its_raises);
    tcase_add_test(tc, an_arm_that_hangs_out_and_trembles_makes_no_raise);
    tcase_add_test(tc, a_twitch_is_no_raise);
    tcase_add_test(tc, an_arm_that_comes_down_elsewhere_has_come_down);
    tcase_add_test(tc, a_small_raise_need_not_come_back_to_the_degree);
    tcase_add_test(tc, halting_on_the_way_up_or_down_stays_one_raise);
    tcase_add_test(tc, a_rotation_may_begin_off_zero_and_swing_to_the_other_side);
    tcase_add_test(tc, a_hidden_wrist_changes_nothing);
    tcase_add_test(tc, a_hidden_elbow_closes_and_ends_nothing);
    tcase_add_test(tc, markers_hidden_between_raises_end_nothing);
    tcase_add_test(tc, a_pause_on_the_way_marks_where_pain_begins_and_ends);
    tcase_add_test(tc, a_hold_at_the_top_is_no_pause_on_the_way);
    tcase_add_test(tc, a_raise_without_a_pause_marks_nothing);
    tcase_add_test(tc, pauses_can_be_told_to_mark_nothing);
    tcase_add_test(tc, a_press_marks_at_once_and_again);
    tcase_add_test(tc, a_press_counts_while_the_arm_keeps_still_for_long);
    tcase_add_test(tc, a_press_waits_for_an_arm_that_is_seen);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
