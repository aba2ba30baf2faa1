/* Time as the frames tell it: gaps, falls and a clock that stands. */
#include <stdlib.h>

#include <check.h>

#include "live_fixture.h"

static void begin_flexion(void)
{
    struct figure f = {.movement = "flexion",
                       .side = OMO_RIGHT,
                       .hip = true,
                       .rest_deg = 4};
    begin_live(&f);
    stage.noise_px = 0.1;
}

static enum omo_phase phase(void)
{
    return last_view()->phase;
}

START_TEST(a_gap_begins_stillness_anew)
{
    begin_flexion();
    keep_still(5);
    stage.now_s += 2.5;
    keep_still(5);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 0);
    keep_still(1.2);
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 1);
    keep_still(8);
    stage.now_s += 60;
    keep_still(9);
    ck_assert_int_eq(phase(), OMO_PHASE_READY);
    ck_assert_int_eq(last_view()->end, OMO_END_NOT_YET);
}
END_TEST

START_TEST(a_gap_or_a_time_that_falls_ends_no_raise)
{
    begin_flexion();
    reach_neutral();
    move_arm(90, 2);
    stage.now_s += 30;
    keep_still(0.5);
    ck_assert_int_eq(phase(), OMO_PHASE_RAISE);
    stage.now_s -= 100;
    keep_still(0.5);
    ck_assert_int_eq(phase(), OMO_PHASE_RAISE);
    move_arm(4, 2);
    keep_still(1);
    ck_assert_int_eq(phase(), OMO_PHASE_READY);
    ck_assert_int_eq(last_view()->raises, 1);
}
END_TEST

START_TEST(a_time_that_stands_still_takes_no_neutral)
{
    begin_flexion();
    for (int i = 0; i < 1000; i++) {
        feed();
        stage.now_s = 0;
    }
    ck_assert_int_eq(events_since(0, OMO_EVENT_NEUTRAL), 0);
    reach_neutral();
    size_t kept;
    omo_live_frames(live, 0, &kept);
    ck_assert_uint_le(kept, 182);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("live time");
    TCase *tc = tcase_create("time");
    tcase_add_checked_fixture(tc, load_live_table, drop_live_table);
    tcase_set_timeout(tc, 60);
    tcase_add_test(tc, a_gap_begins_stillness_anew);
    tcase_add_test(tc, a_gap_or_a_time_that_falls_ends_no_raise);
    tcase_add_test(tc, a_time_that_stands_still_takes_no_neutral);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
