/* Both arms in one course: rest, raises and the end are those of both. */
#include <math.h>
#include <string.h>

#include <check.h>

#include "body_model.h"
#include "omogon/live.h"

#define RATE_HZ 30.0
/* Noise of 0.1 px on an upper arm of 110 px, steadied for the eye. */
#define TOL_STILL_DEG 0.6

enum { RIGHT, LEFT };

static struct omo_movement_table *table;
static struct omo_live *live;
static struct omo_live_settings settings;
static struct omo_measure_settings other;
static struct figure figure[2];
static struct omo_live_view view[2];
static double now_s, angle_deg[2];
static unsigned hidden[2], noise, events;
static int64_t number;

static void setup(void)
{
    ck_assert_int_eq(omo_movement_table_load(NULL, &table), OMO_OK);
    for (int arm = 0; arm < 2; arm++) {
        figure[arm] = (struct figure){.movement = "abduction",
                                      .side = arm == RIGHT ? OMO_RIGHT : OMO_LEFT,
                                      .hip = true,
                                      .chest = true,
                                      .rest_deg = 4};
        angle_deg[arm] = 4;
        hidden[arm] = 0;
    }
    omo_live_settings_default(&settings);
    figure_settings(&figure[RIGHT], table, &settings.measure);
    figure_settings(&figure[LEFT], table, &other);
    ck_assert_int_eq(omo_live_create_both(&settings, &other, &live), OMO_OK);
    ck_assert_int_eq(omo_live_arms(live), 2);
    now_s = 0;
    noise = 7;
    number = 0;
    events = 0;
}

static void teardown(void)
{
    omo_live_destroy(live);
    omo_movement_table_destroy(table);
}

static void feed(void)
{
    struct omo_track_frame frame[2];
    for (int arm = 0; arm < 2; arm++) {
        frame[arm] = (struct omo_track_frame){.index = number, .time_s = now_s};
        struct figure now = figure[arm];
        now.rest_deg = now.top_deg = angle_deg[arm];
        figure_markers(&now, 0, &frame[arm].markers);
        for (int role = 0; role < OMO_ROLE_COUNT; role++) {
            struct omo_marker *marker = &frame[arm].markers.role[role];
            marker->x_px += 0.1 * figure_noise(&noise);
            marker->y_px += 0.1 * figure_noise(&noise);
            if (hidden[arm] & (1u << role)) {
                marker->seen = OMO_NOT_SEEN;
                marker->x_px = marker->y_px = NAN;
            }
        }
    }
    ck_assert_int_eq(omo_live_step(live, frame, view), OMO_OK);
    events |= view[0].events;
    number++;
    now_s += 1 / RATE_HZ;
}

static void keep_still(double seconds)
{
    for (long k = lround(seconds * RATE_HZ); k > 0; k--)
        feed();
}

static void move(double right_deg, double left_deg, double seconds)
{
    double from[2] = {angle_deg[RIGHT], angle_deg[LEFT]};
    long frames = lround(seconds * RATE_HZ);
    for (long k = 1; k <= frames; k++) {
        double share = 0.5 - 0.5 * cos(M_PI * (double)k / (double)frames);
        angle_deg[RIGHT] = from[RIGHT] + (right_deg - from[RIGHT]) * share;
        angle_deg[LEFT] = from[LEFT] + (left_deg - from[LEFT]) * share;
        feed();
    }
}

START_TEST(neutral_waits_until_both_keep_still)
{
    for (int i = 0; i < 6; i++)
        move(4, i % 2 ? 4 : 16, 1.5);
    ck_assert_int_eq(view[0].phase, OMO_PHASE_SETTLE);
    keep_still(7.5);
    ck_assert_int_eq(view[0].phase, OMO_PHASE_READY);
    ck_assert_uint_ne(events & OMO_EVENT_NEUTRAL, 0);
    size_t right, left;
    ck_assert_ptr_nonnull(omo_live_frames(live, RIGHT, &right));
    ck_assert_ptr_nonnull(omo_live_frames(live, LEFT, &left));
    ck_assert_uint_eq(right, left);
}
END_TEST

START_TEST(a_raise_is_when_either_goes_up)
{
    keep_still(7);
    move(4, 80, 2); /* the left one alone */
    ck_assert_int_eq(view[0].phase, OMO_PHASE_RAISE);
    move(120, 80, 2); /* then the right one too */
    keep_still(0.5);
    move(120, 4, 2); /* one down is not both */
    ck_assert_int_eq(view[0].raises, 0);
    move(4, 4, 2);
    keep_still(0.5);
    ck_assert_int_eq(view[RIGHT].raises, 1);
    ck_assert_int_eq(view[LEFT].raises, 1);
    ck_assert_double_eq_tol(view[RIGHT].last_raise_deg, 120, TOL_STILL_DEG);
    ck_assert_double_eq_tol(view[LEFT].last_raise_deg, 80, TOL_STILL_DEG);
    ck_assert_double_eq_tol(view[LEFT].best_deg, 80, TOL_STILL_DEG);
}
END_TEST

START_TEST(one_arm_that_keeps_still_does_not_end_what_the_other_does)
{
    keep_still(7);
    for (int i = 0; i < 5; i++)
        move(4, i % 2 ? 10 : 4, 4); /* below what a raise begins with */
    ck_assert_int_eq(view[0].end, OMO_END_NOT_YET);
    ck_assert_uint_eq(events & OMO_EVENT_WARNED, 0);
    keep_still(16);
    ck_assert_int_eq(view[0].end, OMO_END_STILL);
    ck_assert_int_eq(view[1].end, OMO_END_STILL);
}
END_TEST

START_TEST(a_marker_hidden_on_one_arm_ends_nothing)
{
    keep_still(7);
    move(100, 100, 2);
    hidden[LEFT] = 1u << OMO_ELBOW;
    keep_still(20);
    ck_assert_int_eq(view[0].end, OMO_END_NOT_YET);
    ck_assert_double_eq_tol(view[RIGHT].angle_deg, 100, TOL_STILL_DEG);
    ck_assert(isnan(view[LEFT].angle_deg));
}
END_TEST

START_TEST(a_mark_of_pain_has_each_arms_own_angle)
{
    keep_still(7);
    move(90, 60, 2);
    omo_live_press(live, OMO_PRESS_MARK);
    keep_still(0.5);
    ck_assert_uint_ne(events & OMO_EVENT_PAIN_ONSET, 0);
    /* Marked in the frame in which the arms came to a stop: the eye is a little behind.
     */
    ck_assert_double_eq_tol(view[RIGHT].pain_onset_deg, 90, 2.5);
    ck_assert_double_eq_tol(view[LEFT].pain_onset_deg, 60, 2.5);
}
END_TEST

START_TEST(two_of_the_same_side_are_refused)
{
    struct omo_live *none = NULL;
    ck_assert_int_eq(omo_live_create_both(&settings, &settings.measure, &none),
                     OMO_ERR_ARG);
    ck_assert_ptr_null(none);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("live, both arms");
    TCase *both = tcase_create("both");
    tcase_add_checked_fixture(both, setup, teardown);
    tcase_set_timeout(both, 60);
    tcase_add_test(both, neutral_waits_until_both_keep_still);
    tcase_add_test(both, a_raise_is_when_either_goes_up);
    tcase_add_test(both, one_arm_that_keeps_still_does_not_end_what_the_other_does);
    tcase_add_test(both, a_marker_hidden_on_one_arm_ends_nothing);
    tcase_add_test(both, a_mark_of_pain_has_each_arms_own_angle);
    tcase_add_test(both, two_of_the_same_side_are_refused);
    suite_add_tcase(suite, both);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
