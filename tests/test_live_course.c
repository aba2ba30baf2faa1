/* The hands-free course: what a person does, and where the course stands then. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "live_fixture.h"

/* An angle that the arm stands at, steadied. */
#define TOL_STILL_DEG 0.6

static struct figure flexion_with_hip(void)
{
    return (struct figure){.movement = "flexion",
                           .side = OMO_RIGHT,
                           .hip = true,
                           .wrist = true,
                           .rest_deg = 4};
}

static void begin_flexion(void)
{
    struct figure f = flexion_with_hip();
    begin_live(&f);
    stage.noise_px = 0.1;
}

static enum omo_phase phase(void)
{
    return last_view()->phase;
}

/** The phases that were passed, each once in a row, as words. */
static void phases_since(size_t from, char *text, size_t size)
{
    text[0] = '\0';
    for (size_t k = from; k < fed_count; k++) {
        if (k > from && seen[k].phase == seen[k - 1].phase)
            continue;
        if (k > from)
            strncat(text, " ", size - strlen(text) - 1);
        strncat(text, omo_phase_name(seen[k].phase), size - strlen(text) - 1);
    }
}

static void expect_phases(size_t from, const char *want)
{
    char passed[400];
    phases_since(from, passed, sizeof passed);
    ck_assert_str_eq(passed, want);
}

/* ---- the whole of it ---- */

START_TEST(three_raises_and_the_end_need_no_hand)
{
    begin_flexion();
    stage.hidden = 1u << OMO_ELBOW;
    keep_still(1);
    stage.hidden = 0;
    keep_still(8);
    ck_assert_int_eq(phase(), OMO_PHASE_READY);
    for (int i = 0; i < 3; i++)
        raise_arm(110 + 5 * i);
    ck_assert_int_eq(last_view()->raises, 3);
    keep_still(16);
    expect_phases(0,
                  "seek settle neutral ready raise lower ready raise lower ready raise "
                  "lower ready warn ended");
    ck_assert_int_eq(last_view()->end, OMO_END_STILL);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 1);
    ck_assert_int_eq(events_since(0, OMO_EVENT_RAISE_BEGAN), 3);
    ck_assert_int_eq(events_since(0, OMO_EVENT_RAISE_CLOSED), 3);
    ck_assert_int_eq(events_since(0, OMO_EVENT_WARNED), 1);
    ck_assert_int_eq(events_since(0, OMO_EVENT_ENDED), 1);
    ck_assert_double_eq_tol(last_view()->best_deg, 120, TOL_STILL_DEG);
}
END_TEST

START_TEST(the_fifth_raise_ends_it)
{
    begin_flexion();
    reach_neutral();
    for (int i = 0; i < 5; i++) {
        ck_assert_int_eq(last_view()->end, OMO_END_NOT_YET);
        raise_arm(90);
    }
    ck_assert_int_eq(last_view()->end, OMO_END_RAISES);
    ck_assert_int_eq(last_view()->raises, 5);
    ck_assert_int_eq(events_since(0, OMO_EVENT_ENDED), 1);
}
END_TEST

START_TEST(no_limit_of_raises_means_none)
{
    begin_flexion();
    live_settings.raises_most = 0;
    begin_again();
    reach_neutral();
    for (int i = 0; i < 7; i++)
        raise_arm(60);
    ck_assert_int_eq(last_view()->raises, 7);
    ck_assert_int_eq(last_view()->end, OMO_END_NOT_YET);
}
END_TEST

/** Two raises, small where shoulders do not go far. */
static void expect_two_raises(const struct omo_movement *m, enum omo_position position,
                              enum omo_side side)
{
    bool far = strcmp(m->name, "flexion") == 0 || strcmp(m->name, "abduction") == 0;
    double top_deg = far ? 100 : 40;
    struct figure f = {.movement = m->name,
                       .side = side,
                       .position = position,
                       .hip = true,
                       .wrist = true,
                       .rest_deg = 3};
    begin_live(&f);
    stage.noise_px = 0.1;
    reach_neutral();
    raise_arm(top_deg);
    raise_arm(top_deg - 4);
    ck_assert_msg(last_view()->raises == 2, "%s, %s, %s: %d raises", m->name,
                  omo_position_name(position), omo_side_name(side), last_view()->raises);
    ck_assert_int_eq(phase(), OMO_PHASE_READY);
    ck_assert_double_eq_tol(last_view()->best_deg, top_deg, TOL_STILL_DEG);
}

START_TEST(every_movement_position_and_side_has_its_course)
{
    for (int i = 0; i < omo_movement_count(live_table); i++) {
        const struct omo_movement *m = omo_movement_at(live_table, i);
        if (m->geometry == OMO_GEOMETRY_FORESHORTENED)
            continue; /* needs perspective: test_rotation.c */
        for (int position = 0; position < OMO_POSITION_COUNT; position++) {
            if (!m->position_allowed[position])
                continue;
            expect_two_raises(m, (enum omo_position)position, OMO_LEFT);
            expect_two_raises(m, (enum omo_position)position, OMO_RIGHT);
        }
    }
}
END_TEST

/* ---- neutral ---- */

START_TEST(neutral_takes_six_seconds_and_shows_how_far_it_is)
{
    begin_flexion();
    keep_still(3.5);
    ck_assert_int_eq(phase(), OMO_PHASE_NEUTRAL);
    ck_assert_double_eq_tol(last_view()->phase_ratio, 3.5 / 6, 0.01);
    ck_assert_double_eq_tol(last_view()->phase_left_s, 2.5, 0.05);
    keep_still(2.5);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 0);
    keep_still(0.1);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 1);
    ck_assert(isnan(last_view()->phase_ratio) && isnan(last_view()->phase_left_s));
}
END_TEST

START_TEST(an_arm_that_moves_begins_neutral_anew)
{
    begin_flexion();
    keep_still(5);
    move_arm(12, 0.5);
    ck_assert_int_eq(phase(), OMO_PHASE_SETTLE);
    keep_still(5.9);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 0);
    keep_still(0.5);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 1);
}
END_TEST

START_TEST(breath_and_tremor_do_not_break_neutral)
{
    begin_flexion();
    stage.breath_deg = 0.8;
    stage.tremor_deg = 0.3;
    stage.noise_px = 0.3;
    keep_still(6.2);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 1);
}
END_TEST

START_TEST(one_wrong_frame_does_not_break_neutral)
{
    begin_flexion();
    keep_still(3);
    stage.angle_deg = 50;
    feed();
    stage.angle_deg = 4;
    keep_still(3.2);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 1);
}
END_TEST

START_TEST(a_raised_arm_is_not_taken_for_neutral)
{
    begin_flexion();
    stage.angle_deg = 45;
    keep_still(10);
    ck_assert_int_eq(phase(), OMO_PHASE_SETTLE);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 0);
}
END_TEST

START_TEST(markers_out_of_view_are_sought)
{
    begin_flexion();
    keep_still(4);
    stage.hidden = 1u << OMO_SHOULDER;
    keep_still(0.3);
    ck_assert_int_eq(phase(), OMO_PHASE_NEUTRAL);
    keep_still(0.5);
    ck_assert_int_eq(phase(), OMO_PHASE_SEEK);
    stage.hidden = 0;
    keep_still(5.9);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 0);
    keep_still(0.3);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 1);
}
END_TEST

START_TEST(begin_takes_neutral_from_what_was_still_so_far)
{
    begin_flexion();
    keep_still(2);
    omo_live_press(live, OMO_PRESS_BEGIN);
    feed();
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 1);
    size_t kept;
    ck_assert_ptr_nonnull(omo_live_frames(live, 0, &kept));
    ck_assert_uint_eq(kept, fed_count);
}
END_TEST

START_TEST(begin_waits_for_a_second_of_stillness)
{
    begin_flexion();
    omo_live_press(live, OMO_PRESS_BEGIN);
    keep_still(0.9);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 0);
    keep_still(0.4);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 1);
}
END_TEST

/* ---- how it ends ---- */

START_TEST(stillness_warns_before_it_ends)
{
    begin_flexion();
    reach_neutral();
    size_t from = fed_count;
    keep_still(9.8);
    ck_assert_int_eq(phase(), OMO_PHASE_READY);
    keep_still(0.5);
    ck_assert_int_eq(phase(), OMO_PHASE_WARN);
    ck_assert_double_eq_tol(last_view()->phase_left_s, 4.75, 0.1);
    ck_assert_double_eq_tol(last_view()->phase_ratio, 0.05, 0.03);
    keep_still(4.5);
    ck_assert_int_eq(last_view()->end, OMO_END_NOT_YET);
    keep_still(0.5);
    ck_assert_int_eq(last_view()->end, OMO_END_STILL);
    expect_phases(from, "ready warn ended");
}
END_TEST

START_TEST(a_movement_during_the_warning_goes_back)
{
    begin_flexion();
    reach_neutral();
    keep_still(12);
    ck_assert_int_eq(phase(), OMO_PHASE_WARN);
    size_t from = fed_count;
    move_arm(8, 0.5);
    move_arm(4, 0.5);
    keep_still(9);
    expect_phases(from, "warn ready");
    raise_arm(80);
    ck_assert_int_eq(last_view()->raises, 1);
}
END_TEST

START_TEST(an_arm_kept_up_ends_too)
{
    begin_flexion();
    reach_neutral();
    move_arm(80, 2);
    keep_still(12);
    ck_assert_int_eq(phase(), OMO_PHASE_WARN);
    move_arm(70, 0.5);
    ck_assert_int_eq(phase(), OMO_PHASE_LOWER);
    keep_still(15.5);
    ck_assert_int_eq(last_view()->end, OMO_END_STILL);
}
END_TEST

START_TEST(a_slow_arm_is_not_a_still_one_and_a_tired_one_is)
{
    begin_flexion();
    reach_neutral();
    long frames = 60 * 30; /* 0.8 degrees a second */
    for (long k = 0; k < frames; k++) {
        stage.angle_deg += 0.8 / 30;
        feed();
        ck_assert_int_ne(phase(), OMO_PHASE_WARN);
    }
    move_arm(4, 2);
    raise_arm(80);
    move_arm(80, 2);
    for (long k = 0; k < 16 * 30; k++) {
        stage.angle_deg -= 0.2 / 30;
        feed();
    }
    ck_assert_int_eq(last_view()->end, OMO_END_STILL);
}
END_TEST

START_TEST(enough_is_one_press_at_any_time)
{
    for (int i = 0; i < 3; i++) {
        begin_flexion();
        if (i > 0)
            reach_neutral();
        if (i > 1)
            move_arm(60, 1);
        omo_live_press(live, OMO_PRESS_ENOUGH);
        feed();
        ck_assert_int_eq(last_view()->end, OMO_END_ENOUGH);
        ck_assert_int_eq(phase(), OMO_PHASE_ENDED);
        ck_assert_uint_ne(last_view()->events & OMO_EVENT_ENDED, 0);
    }
}
END_TEST

START_TEST(after_the_end_angles_go_on_and_nothing_is_kept)
{
    begin_flexion();
    reach_neutral();
    move_arm(60, 1);
    omo_live_press(live, OMO_PRESS_STOP);
    feed();
    ck_assert_int_eq(last_view()->end, OMO_END_STOP);
    size_t kept, later;
    omo_live_frames(live, 0, &kept);
    move_arm(90, 1);
    keep_still(2);
    ck_assert_double_eq_tol(last_view()->angle_deg, 90, TOL_STILL_DEG);
    ck_assert_int_eq(phase(), OMO_PHASE_ENDED);
    omo_live_frames(live, 0, &later);
    ck_assert_uint_eq(kept, later);
    ck_assert_int_eq(events_since(0, OMO_EVENT_ENDED), 1);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("live course");
    TCase *tc = tcase_create("course");
    tcase_add_checked_fixture(tc, load_live_table, drop_live_table);
    tcase_set_timeout(tc, 60);
    tcase_add_test(tc, three_raises_and_the_end_need_no_hand);
    tcase_add_test(tc, the_fifth_raise_ends_it);
    tcase_add_test(tc, no_limit_of_raises_means_none);
    tcase_add_test(tc, every_movement_position_and_side_has_its_course);
    tcase_add_test(tc, neutral_takes_six_seconds_and_shows_how_far_it_is);
    tcase_add_test(tc, an_arm_that_moves_begins_neutral_anew);
    tcase_add_test(tc, breath_and_tremor_do_not_break_neutral);
    tcase_add_test(tc, one_wrong_frame_does_not_break_neutral);
    tcase_add_test(tc, a_raised_arm_is_not_taken_for_neutral);
    tcase_add_test(tc, markers_out_of_view_are_sought);
    tcase_add_test(tc, begin_takes_neutral_from_what_was_still_so_far);
    tcase_add_test(tc, begin_waits_for_a_second_of_stillness);
    tcase_add_test(tc, stillness_warns_before_it_ends);
    tcase_add_test(tc, a_movement_during_the_warning_goes_back);
    tcase_add_test(tc, an_arm_kept_up_ends_too);
    tcase_add_test(tc, a_slow_arm_is_not_a_still_one_and_a_tired_one_is);
    tcase_add_test(tc, enough_is_one_press_at_any_time);
    tcase_add_test(tc, after_the_end_angles_go_on_and_nothing_is_kept);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
