/* What is shown while an arm moves against what the same frames measure to afterwards. */
#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "live_fixture.h"

/* Until the first raise the rest is shorter than it will have been: its mean differs by
 * half a breath of 0.3 degrees among three, 0.06, and by what noise leaves. */
#define TOL_REST_DEG 0.1
/* The file's maximum is of the filtered angle, the live one of the angle as it is. */
#define TOL_MAX_DEG 0.4
/* Rest and trunk are read again within this time, and it takes some frames to see what is
 * new in them. */
#define READ_AGAIN_S 0.5
/* A camera's move is known when it has stood still again for 0.3 s. */
#define MOVE_KNOWN_S 0.6

static struct omo_trace_row rows[FED_MAX];
static struct omo_result result;

static struct figure figure_of(const char *movement)
{
    return (struct figure){.movement = movement,
                           .side = OMO_RIGHT,
                           .hip = true,
                           .wrist = true,
                           .rest_deg = 4,
                           .hip_offset_deg = 5};
}

static void begin_noisy(const struct figure *figure)
{
    begin_live(figure);
    stage.noise_px = 0.1;
    stage.breath_deg = 0.3;
    stage.tremor_deg = 0.2;
}

/** Measures the frames of the movement as a file's; returns how many. */
static size_t measure_kept(void)
{
    size_t count;
    const struct omo_track_frame *frames = omo_live_frames(live, 0, &count);
    ck_assert_ptr_nonnull(frames);
    ck_assert_int_eq(omo_measure(&live_settings.measure, frames, count, rows, &result),
                     OMO_OK);
    return count;
}

/** First frame after `from` with the event. */
static size_t frame_of(size_t from, enum omo_live_event event)
{
    while (from < fed_count && (seen[from].events & (unsigned)event) == 0)
        from++;
    ck_assert_uint_lt(from, fed_count);
    return from;
}

static bool same(double a, double b)
{
    return (isnan(a) && isnan(b)) || a == b;
}

/** From frame `from` on what was shown is what the file says, to the last bit. */
static void expect_same(size_t from, size_t count)
{
    size_t compared = 0;
    for (size_t k = 0; k < count; k++) {
        size_t number = (size_t)rows[k].frame;
        if (number < from)
            continue;
        const struct omo_live_view *view = &seen[number];
        ck_assert_msg(same(view->angle_image_deg, rows[k].angle_image_deg),
                      "frame %zu: %.9f was shown, %.9f is in the file", number,
                      view->angle_image_deg, rows[k].angle_image_deg);
        ck_assert(same(view->hike_ratio, rows[k].hike_ratio));
        ck_assert(same(view->elbow_flexion_deg, rows[k].elbow_flexion_deg));
        ck_assert_int_eq(view->reference, rows[k].reference);
        compared++;
    }
    ck_assert_uint_gt(compared, 100);
}

/** From neutral on. */
static void expect_close(size_t count, double tolerance_deg)
{
    size_t neutral = frame_of(0, OMO_EVENT_NEUTRAL);
    for (size_t k = 0; k < count; k++) {
        if ((size_t)rows[k].frame < neutral)
            continue;
        const struct omo_live_view *view = &seen[rows[k].frame];
        ck_assert_double_eq_tol(view->angle_image_deg, rows[k].angle_image_deg,
                                tolerance_deg);
    }
}

/* ---- the same frames ---- */

START_TEST(the_frames_lent_are_those_from_the_beginning_of_the_stillness)
{
    struct figure f = figure_of("flexion");
    begin_noisy(&f);
    move_arm(25, 1);
    move_arm(4, 1);
    reach_neutral();
    size_t count, neutral = frame_of(0, OMO_EVENT_NEUTRAL);
    const struct omo_track_frame *frames = omo_live_frames(live, 0, &count);
    ck_assert_double_eq_tol(fed[neutral].time_s - frames[0].time_s, 6, 0.05);
    keep_still(1);
    raise_arm(100);
    omo_live_press(live, OMO_PRESS_ENOUGH);
    feed();
    frames = omo_live_frames(live, 0, &count);
    ck_assert_int_eq(frames[count - 1].index, fed[fed_count - 1].index);
    for (size_t k = 0; k < count; k++) {
        const struct omo_track_frame *want = &fed[(size_t)frames[0].index + k];
        ck_assert_int_eq(frames[k].index, want->index);
        ck_assert_double_eq(frames[k].time_s, want->time_s);
        ck_assert_double_eq(frames[k].markers.role[OMO_ELBOW].x_px,
                            want->markers.role[OMO_ELBOW].x_px);
    }
}
END_TEST

START_TEST(no_frames_are_lent_before_neutral)
{
    struct figure f = figure_of("flexion");
    begin_noisy(&f);
    stage.angle_deg = 60; /* never at rest: more than the room holds */
    keep_still(100);
    size_t count = 1;
    ck_assert_ptr_null(omo_live_frames(live, 0, &count));
    ck_assert_uint_eq(count, 0);
}
END_TEST

static const char *const raised[] = {"flexion",   "abduction",         "scaption",
                                     "extension", "external-rotation", "pendulum"};

START_TEST(what_is_shown_is_what_the_file_says)
{
    for (int chest = 0; chest < 2; chest++) {
        struct figure f = figure_of(raised[_i]);
        f.chest = chest;
        f.chest_aside_mm = 0;
        begin_noisy(&f);
        reach_neutral();
        keep_still(2);
        for (int i = 0; i < 3; i++)
            raise_arm(52 + 2 * i);
        size_t count = measure_kept();
        expect_close(count, TOL_REST_DEG);
        size_t began = frame_of(0, OMO_EVENT_RAISE_BEGAN);
        expect_same(began + (size_t)(READ_AGAIN_S * stage.rate_hz), count);
        ck_assert_int_eq(result.repetitions, last_view()->raises);
        ck_assert_double_eq_tol(result.max_deg, last_view()->best_deg, TOL_MAX_DEG);
        ck_assert_double_eq_tol(result.repetition[2].max_deg, last_view()->last_raise_deg,
                                TOL_MAX_DEG);
    }
}
END_TEST

START_TEST(a_hip_that_the_hanging_arm_hides_is_used_once_it_is_seen)
{
    struct figure f = figure_of("flexion");
    begin_noisy(&f);
    stage.hip_hidden_below_deg = 18;
    reach_neutral();
    keep_still(5);
    ck_assert_int_eq(last_view()->reference, OMO_REFERENCE_SHIFT);
    for (int i = 0; i < 2; i++)
        raise_arm(110);
    size_t count = measure_kept();
    ck_assert_int_eq(result.reference, OMO_REFERENCE_HIP);
    size_t hip = frame_of(0, OMO_EVENT_RAISE_BEGAN);
    while (fed[hip].markers.role[OMO_HIP].seen == OMO_NOT_SEEN)
        hip++;
    expect_same(hip + (size_t)(READ_AGAIN_S * stage.rate_hz), count);
    ck_assert_int_eq(result.repetitions, 2);
}
END_TEST

START_TEST(a_camera_that_is_moved_shifts_nothing_for_long)
{
    /* The hip is hidden again from 18 degrees down, so its place has to move along. */
    struct figure f = figure_of("flexion");
    begin_noisy(&f);
    stage.hip_hidden_below_deg = 18;
    reach_neutral();
    raise_arm(110);
    move_arm(90, 2);
    keep_still(1);
    stage.aside_px = 25;
    size_t moved = fed_count;
    keep_still(1);
    move_arm(4, 2);
    keep_still(1);
    size_t count = measure_kept();
    ck_assert_uint_ne(rows[count - 1].quality & OMO_QUALITY_CAMERA_MOVED, 0);
    ck_assert_uint_ne(last_view()->quality & OMO_QUALITY_CAMERA_MOVED, 0);
    ck_assert_uint_eq(seen[moved - 1].quality & OMO_QUALITY_CAMERA_MOVED, 0);
    expect_same(moved + (size_t)(MOVE_KNOWN_S * stage.rate_hz), count);
}
END_TEST

START_TEST(a_camera_that_shakes_was_not_moved)
{
    struct figure f = figure_of("flexion");
    begin_noisy(&f);
    reach_neutral();
    raise_arm(110);
    stage.aside_px = 25;
    keep_still(0.17);
    stage.aside_px = 0;
    raise_arm(110);
    for (size_t k = 0; k < fed_count; k++)
        ck_assert_uint_eq(seen[k].quality & OMO_QUALITY_CAMERA_MOVED, 0);
    expect_same(frame_of(0, OMO_EVENT_RAISE_CLOSED), measure_kept());
}
END_TEST

START_TEST(a_hidden_elbow_is_a_gap_in_both)
{
    struct figure f = figure_of("flexion");
    begin_noisy(&f);
    reach_neutral();
    raise_arm(90);
    move_arm(60, 1);
    stage.hidden = 1u << OMO_ELBOW;
    move_arm(90, 1);
    stage.hidden = 0;
    move_arm(4, 2);
    keep_still(1);
    size_t count = measure_kept();
    expect_same(frame_of(0, OMO_EVENT_RAISE_CLOSED), count);
}
END_TEST

/* ---- for the eye ---- */

START_TEST(a_resting_figure_does_not_tremble)
{
    struct figure f = figure_of("flexion");
    begin_live(&f);
    stage.noise_px = 0.4;
    reach_neutral();
    size_t from = fed_count;
    keep_still(3);
    double raw2 = 0, shown2 = 0;
    for (size_t k = from; k < fed_count; k++) {
        raw2 += (seen[k].angle_image_deg - 4) * (seen[k].angle_image_deg - 4);
        shown2 += (seen[k].angle_deg - 4) * (seen[k].angle_deg - 4);
    }
    ck_assert_double_lt(shown2, 0.3 * raw2);
    move_arm(124, 2); /* 94 degrees a second in the middle */
    for (size_t k = from; k < fed_count; k++)
        ck_assert_double_eq_tol(seen[k].angle_deg, seen[k].angle_image_deg, 4);
}
END_TEST

START_TEST(the_uncertainty_is_that_of_the_file)
{
    struct figure f = figure_of("flexion");
    begin_live(&f);
    reach_neutral();
    raise_arm(100);
    measure_kept();
    size_t top = frame_of(0, OMO_EVENT_RAISE_BEGAN) + 75;
    ck_assert_double_eq_tol(seen[top].angle_u95_deg, result.max_u95_deg, 0.01);
    /* Before neutral nothing tells the trunk. */
    ck_assert_double_gt(seen[10].angle_u95_deg, seen[top].angle_u95_deg);
}
END_TEST

START_TEST(before_neutral_the_angle_is_against_what_there_is)
{
    struct figure f = figure_of("flexion");
    begin_live(&f);
    feed();
    ck_assert_uint_ne(last_view()->quality & OMO_QUALITY_ASSUMED_VERTICAL, 0);
    ck_assert_int_eq(last_view()->reference, OMO_REFERENCE_NONE);
    ck_assert_double_eq_tol(last_view()->angle_image_deg, 4, 1e-6);
    f.chest = true;
    f.hip_offset_deg = 0;
    begin_live(&f);
    feed();
    ck_assert_int_eq(last_view()->reference, OMO_REFERENCE_CHEST_HIP);
    ck_assert_double_eq_tol(last_view()->angle_image_deg, 4, 1e-6);
    f = figure_of("abduction"); /* breastbone to hip bone is not upright */
    f.chest = true;
    f.chest_aside_mm = 90;
    begin_live(&f);
    feed();
    ck_assert_int_eq(last_view()->reference, OMO_REFERENCE_NONE);
    ck_assert_double_eq_tol(last_view()->angle_image_deg, 4, 1e-6);
}
END_TEST

START_TEST(settings_that_cannot_be_are_refused)
{
    struct figure f = figure_of("abduction");
    begin_live(&f);
    struct omo_live *none = NULL;
    struct omo_live_settings bad = live_settings;
    bad.measure.movement = NULL;
    ck_assert_int_eq(omo_live_create(&bad, &none), OMO_ERR_ARG);
    bad = live_settings;
    bad.measure.position = OMO_PRONE;
    ck_assert_int_eq(omo_live_create(&bad, &none), OMO_ERR_ARG);
    bad = live_settings;
    bad.still_deg = 0;
    ck_assert_int_eq(omo_live_create(&bad, &none), OMO_ERR_ARG);
    bad = live_settings;
    bad.neutral_s = NAN;
    ck_assert_int_eq(omo_live_create(&bad, &none), OMO_ERR_ARG);
    ck_assert_ptr_null(none);
    ck_assert_str_eq(omo_phase_name(OMO_PHASE_NEUTRAL), "neutral");
    ck_assert_ptr_null(omo_phase_name(OMO_PHASE_COUNT));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("live");
    TCase *tc = tcase_create("live");
    tcase_add_checked_fixture(tc, load_live_table, drop_live_table);
    tcase_set_timeout(tc, 60);
    tcase_add_test(tc, the_frames_lent_are_those_from_the_beginning_of_the_stillness);
    tcase_add_test(tc, no_frames_are_lent_before_neutral);
    tcase_add_loop_test(tc, what_is_shown_is_what_the_file_says, 0,
                        sizeof raised / sizeof raised[0]);
    tcase_add_test(tc, a_hip_that_the_hanging_arm_hides_is_used_once_it_is_seen);
    tcase_add_test(tc, a_camera_that_is_moved_shifts_nothing_for_long);
    tcase_add_test(tc, a_camera_that_shakes_was_not_moved);
    tcase_add_test(tc, a_hidden_elbow_is_a_gap_in_both);
    tcase_add_test(tc, a_resting_figure_does_not_tremble);
    tcase_add_test(tc, the_uncertainty_is_that_of_the_file);
    tcase_add_test(tc, before_neutral_the_angle_is_against_what_there_is);
    tcase_add_test(tc, settings_that_cannot_be_are_refused);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
