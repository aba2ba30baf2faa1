/* Rest, gaps, directions and repetitions. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/geometry.h"
#include "take_fixture.h"

/* ---- rest ---- */

START_TEST(the_first_still_second_is_the_rest)
{
    struct figure f = flexion();
    f.repetitions = 2;
    f.rest_s = 3;
    film(&f);
    /* Fidgeting at first: the arm swings by 5 degrees, so the rest is looked for later.
     */
    size_t start = 60;
    for (size_t k = 0; k < start; k++)
        frames[k].markers.role[OMO_ELBOW].x_px += 8 + 5 * sin((double)k);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.rest_deg, 4, 0.1);
    for (size_t k = start; k < 85; k++) /* too short now */
        frames[k].markers.role[OMO_ELBOW].x_px += 8 + 5 * sin((double)k);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.rest_deg, 4, 0.1);
}
END_TEST

START_TEST(less_than_a_second_is_no_rest)
{
    struct figure f = flexion();
    film(&f);
    count = 150; /* ends with the arm up */
    memmove(frames, frames + 38, (count - 38) * sizeof *frames);
    count -= 38; /* 0.73 s are left */
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(isnan(result.rest_deg));
}
END_TEST

START_TEST(a_damaged_frame_does_not_end_the_rest)
{
    struct figure f = flexion();
    film(&f);
    frames[20].damaged = true;
    frames[20].markers.role[OMO_ELBOW].x_px += 100;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.rest_deg, 4, 0.01);
    /* The whole rest counts: without frames 0 to 19 it would not be found in 1.5 s. */
    count = 45;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.rest_deg, 4, 0.01);
}
END_TEST

START_TEST(a_raised_arm_held_still_is_no_rest)
{
    struct figure f = flexion();
    f.rest_deg = 31;
    f.top_deg = 90;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(isnan(result.rest_deg));
    f.rest_deg = 29;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.rest_deg, 29, 0.1);
}
END_TEST

START_TEST(without_a_rest_the_vertical_stands_for_the_trunk)
{
    struct figure f = flexion();
    f.hip_offset_deg = 6;
    film(&f);
    size_t whole = count;
    count -= 45 + 75;
    memmove(frames, frames + 75, count * sizeof *frames);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_uint_lt(count, whole);
    ck_assert(isnan(result.rest_deg));
    ck_assert(isnan(result.hike_at_max_ratio));
    ck_assert(isnan(result.lean_at_max_deg));
    ck_assert(isnan(result.trunk_rest_offset_deg));
    ck_assert_int_eq(result.reference, OMO_REFERENCE_NONE);
    ck_assert_double_eq_tol(result.max_deg, 140, 0.1);
    ck_assert_ptr_nonnull(strstr(result.note, "No rest was found"));
    for (size_t k = 0; k < count; k++) {
        ck_assert(isnan(rows[k].trunk_lean_deg) && isnan(rows[k].hike_ratio));
        ck_assert((rows[k].quality & OMO_QUALITY_ASSUMED_VERTICAL) != 0);
    }
}
END_TEST

START_TEST(breathing_is_averaged_out_of_the_rest)
{
    /* Seven seconds of rest are one breath of 4.5 s and half a one: the mean over all of
     * it would be off by up to a fifth of the amplitude. */
    for (int i = 0; i < 8; i++) {
        struct figure f = flexion();
        f.rest_s = 7;
        f.hike_mm = 30;
        film(&f);
        for (size_t k = 0; k < count; k++) { /* 6 mm to either side, elbow and all */
            double t = frames[k].time_s, deep = t < 7 ? 1 : fmax(0, 1 - (t - 7) / 0.3);
            double up = 2.4 * deep * sin(2 * M_PI * (t / 4.5 + i / 8.0));
            frames[k].markers.role[OMO_SHOULDER].y_px -= up;
            frames[k].markers.role[OMO_ELBOW].y_px -= up;
        }
        ck_assert_int_eq(measure(), OMO_OK);
        /* 30 mm on 300; what is left is less than half a millimetre. */
        ck_assert_double_eq_tol(result.hike_at_max_ratio, 0.1, 0.0016);
    }
}
END_TEST

START_TEST(chest_and_hip_need_no_rest)
{
    struct figure f = flexion();
    f.chest = true;
    f.lean_deg = 10;
    film(&f);
    count -= 45 + 75;
    memmove(frames, frames + 75, count * sizeof *frames);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(isnan(result.rest_deg) && isnan(result.hike_at_max_ratio));
    ck_assert_int_eq(result.reference, OMO_REFERENCE_CHEST_HIP);
    ck_assert_double_eq_tol(result.max_deg, 140, 0.1);
    ck_assert_double_eq_tol(result.lean_at_max_deg, 10, 0.1);
}
END_TEST

/* ---- gaps, wraps, direction ---- */

START_TEST(frames_without_their_markers_stay_empty)
{
    struct figure f = flexion();
    film(&f);
    for (size_t k = 100; k < 120; k++)
        hide(k, OMO_ELBOW);
    for (size_t k = 150; k < 152; k++)
        hide(k, OMO_SHOULDER);
    ck_assert_int_eq(measure(), OMO_OK);
    size_t empty = 0;
    for (size_t k = 0; k < count; k++) {
        bool elbow = k >= 100 && k < 120, shoulder = k >= 150 && k < 152;
        ck_assert_int_eq((rows[k].quality & OMO_QUALITY_NO_ELBOW) != 0, elbow);
        ck_assert_int_eq((rows[k].quality & OMO_QUALITY_NO_SHOULDER) != 0, shoulder);
        ck_assert_int_eq(isnan(rows[k].angle_deg), elbow || shoulder);
        ck_assert_int_eq(isnan(rows[k].angle_image_deg), elbow || shoulder);
        ck_assert_int_eq(isnan(rows[k].angle_raw_deg), elbow || shoulder);
        empty += isnan(rows[k].angle_deg);
    }
    ck_assert_double_eq_tol(result.seen_ratio, 1 - (double)empty / (double)count, 1e-12);
}
END_TEST

START_TEST(an_angle_past_overhead_keeps_its_branch_over_a_gap)
{
    struct figure f = flexion();
    f.top_deg = 196;
    film(&f);
    for (size_t k = 105; k < 125; k++)
        hide(k, OMO_ELBOW);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.max_deg, 196, 0.1);
    ck_assert_double_eq_tol(rows[130].angle_deg, 196, 0.1);
}
END_TEST

static const struct {
    const char *name;
    const char *filmed, *stated;
    double top_deg;
    bool wrong_side, mirrored, against;
} direction_cases[] = {
    {"right way", "flexion", "flexion", 150, false, false, false},
    {"extension filmed, flexion stated", "extension", "flexion", 45, false, false, true},
    {"flexion filmed, extension stated", "flexion", "extension", 150, false, false, true},
    {"mirrored and not told", "flexion", "flexion", 150, false, true, true},
    {"other arm from the front", "abduction", "abduction", 120, true, false, true},
    {"other arm, past overhead", "abduction", "abduction", 179, true, false, true},
    {"mirrored abduction", "abduction", "abduction", 95, false, true, true},
    {"adduction for abduction", "adduction", "abduction", 40, false, false, true},
    {"rotation the other way", "internal-rotation", "external-rotation", 60, false, false,
     true},
    {"a stiff arm that hardly moves", "extension", "flexion", 10, false, false, false},
};

START_TEST(an_arm_that_moves_against_the_direction_is_reported_not_flipped)
{
    struct figure f = {.movement = direction_cases[_i].filmed,
                       .side = OMO_RIGHT,
                       .hip = true,
                       .rest_deg = 2,
                       .top_deg = direction_cases[_i].top_deg,
                       .mirrored = direction_cases[_i].mirrored};
    film(&f);
    settings.movement = omo_movement_find(table, direction_cases[_i].stated);
    settings.facing_left = false;
    settings.mirrored = false;
    if (direction_cases[_i].wrong_side)
        settings.side = OMO_LEFT;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_msg(result.against_direction == direction_cases[_i].against, "%s",
                  direction_cases[_i].name);
    if (!direction_cases[_i].against)
        return;
    ck_assert_msg(isnan(result.max_deg) && isnan(result.held_max_deg), "%s: max %f",
                  direction_cases[_i].name, result.max_deg);
    ck_assert_int_eq(result.repetitions, 0);
    ck_assert_int_eq(result.frame_at_max, -1);
    ck_assert_ptr_nonnull(strstr(result.note, "against the stated direction"));
    ck_assert_ptr_nonnull(strstr(result.note, "--mirrored"));
    /* Filtering does not smear over the end of the range. */
    for (size_t k = 0; k < count; k++)
        ck_assert_double_lt(fabs(omo_wrap_deg(rows[k].angle_deg - rows[k].angle_raw_deg,
                                              -180)),
                            1);
    /* The trace keeps what was measured. */
    ck_assert_double_eq_tol(rows[0].angle_deg, -2, 5);
}
END_TEST

START_TEST(a_trunk_that_lies_otherwise_than_stated_is_reported)
{
    struct figure f = flexion();
    f.position = OMO_SUPINE;
    f.chest = true;
    film(&f);
    settings.position = OMO_STANDING;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_ptr_nonnull(strstr(result.note, "90 degrees from where it was expected"));
    settings.position = OMO_SUPINE;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_ptr_null(strstr(result.note, "expected"));
}
END_TEST

/* ---- pendulum ---- */

START_TEST(a_pendulum_is_measured_to_the_wrist_where_that_is_seen)
{
    struct figure f = {.movement = "pendulum",
                       .side = OMO_RIGHT,
                       .rest_deg = 0,
                       .top_deg = 30,
                       .wrist = true,
                       .elbow_flexion_deg = 20};
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    /* 300 mm of upper arm and 250 mm of forearm bent by 20 degrees: the wrist's line is
     * atan(250 sin 20 / (300 + 250 cos 20)) further on. */
    double bend = 20 * M_PI / 180;
    double further_deg = atan(250 * sin(bend) / (300 + 250 * cos(bend))) * 180 / M_PI;
    ck_assert_double_eq_tol(rows[0].angle_deg, further_deg, 1e-6);
    ck_assert_double_eq_tol(result.max_deg, 30 + further_deg, 0.1);
    hide(50, OMO_WRIST);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_uint_eq(rows[50].quality, OMO_QUALITY_NO_WRIST);
    for (size_t k = 0; k < count / 2; k++)
        hide(k, OMO_WRIST);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_uint_eq(rows[50].quality, 0);
    ck_assert_double_eq_tol(rows[0].angle_deg, 0, 1e-6);
}
END_TEST

START_TEST(a_pendulum_swings_both_ways_and_no_way_is_wrong)
{
    struct figure f = {.movement = "pendulum", .rest_deg = 0, .top_deg = -40};
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(!result.against_direction);
    ck_assert_double_eq_tol(result.max_deg, 0, 0.5);
}
END_TEST

/* ---- repetitions ---- */

START_TEST(repetitions_are_counted_with_their_own_maxima)
{
    struct figure f = flexion();
    f.repetitions = 5;
    f.rest_s = 1.2;
    f.move_s = 1.5;
    f.hold_s = 0.6;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.repetitions, 5);
    ck_assert_double_eq_tol(result.mean_of_maxima_deg, 140, 0.1);
    for (int i = 0; i < 5; i++) {
        const struct omo_repetition *r = &result.repetition[i];
        ck_assert_double_eq_tol(r->max_deg, 140, 0.1);
        ck_assert_uint_lt(r->first, r->peak);
        ck_assert_uint_lt(r->peak, r->last);
        ck_assert_uint_lt(r->last, count);
        double mid_s = 1.2 + 1.5 + 0.3 + i * (1.2 + 3.0 + 0.6);
        ck_assert_double_eq_tol(frames[r->peak].time_s, mid_s, 0.6);
    }
}
END_TEST

START_TEST(a_steady_swing_of_five_periods_has_five_repetitions)
{
    /* angle = 60 - 60 cos(2 pi 0.25 t), 30 frames a second, 20 s. */
    struct figure f = flexion();
    f.rest_deg = 0;
    f.top_deg = 120;
    f.rest_s = 1e-9;
    f.move_s = 2;
    f.hold_s = 1e-9;
    f.repetitions = 5;
    film(&f);
    count = 600;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.repetitions, 5);
    /* 0.2 s about the top of a cosine: 60 (1 - cos(2 pi 0.25 0.1)) below it. */
    ck_assert_double_eq_tol(result.max_deg, 120 - 60 * (1 - cos(M_PI * 0.05)), 0.05);
    ck_assert_double_eq_tol(result.mean_of_maxima_deg, result.max_deg, 0.05);
}
END_TEST

/** A take in which the arm follows a line through (time, angle) corners. */
static void film_corners(const double (*corner)[2], size_t corners)
{
    struct figure f = flexion();
    film(&f);
    count = (size_t)(corner[corners - 1][0] * 30) + 1;
    for (size_t k = 0; k < count; k++) {
        double t_s = (double)k / 30;
        size_t i = 0;
        while (i + 2 < corners && t_s > corner[i + 1][0])
            i++;
        double share = (t_s - corner[i][0]) / (corner[i + 1][0] - corner[i][0]);
        f.rest_deg = f.top_deg =
            corner[i][1] + fmin(share, 1) * (corner[i + 1][1] - corner[i][1]);
        frames[k] = (struct omo_track_frame){.index = (int64_t)k, .time_s = t_s};
        figure_markers(&f, t_s, &frames[k].markers);
    }
}

START_TEST(a_repetition_passes_three_fifths_of_the_range_from_below_a_quarter)
{
    static const double corner[][2] = {
        {0, 0},    {1.5, 0},  {3, 140},    {3.6, 140},   {5, 0},
        {5.5, 0},  {7, 100},  {7.6, 100},               /* 71 %: counts */
        {9, 0},    {9.5, 0},  {11, 70},    {11.6, 70},  /* 50 %: does not */
        {13, 0},   {13.5, 0}, {15, 140},   {15.6, 140}, /* down to 40 % and up */
        {17, 56},  {19, 138}, {19.6, 138}, {21, 0},     /* again: one */
        {21.7, 0}, {21.8, 0}, {22.0, 130}, {22.25, 130}, {22.45, 0}, /* too short */
        {24, 0},
    };
    film_corners(corner, sizeof corner / sizeof corner[0]);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.repetitions, 3);
    ck_assert_double_eq_tol(result.repetition[0].max_deg, 140, 1);
    ck_assert_double_eq_tol(result.repetition[1].max_deg, 100, 1);
    ck_assert_double_eq_tol(result.repetition[2].max_deg, 140, 1);
    ck_assert_double_eq_tol(result.mean_of_maxima_deg, 380.0 / 3, 1);
}
END_TEST

START_TEST(a_take_that_ends_with_the_arm_up_still_has_its_repetition)
{
    struct figure f = flexion();
    film(&f);
    count = 150; /* 5 s: rest, raise and one second of hold */
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.repetitions, 1);
    ck_assert_uint_eq(result.repetition[0].last, 149);
    ck_assert_double_eq_tol(result.mean_of_maxima_deg, 140, 0.1);
}
END_TEST

START_TEST(more_repetitions_than_there_is_room_for_are_said_not_written)
{
    struct figure f = flexion();
    f.repetitions = 70;
    f.rest_s = 0.3;
    f.move_s = 0.6;
    f.hold_s = 0.3;
    f.rate_hz = 15;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.repetitions, OMO_REPETITION_MAX);
    ck_assert_ptr_nonnull(strstr(result.note, "after the first 64"));
}
END_TEST

START_TEST(the_highest_frame_is_named_by_its_number)
{
    struct figure f = flexion();
    film(&f);
    for (size_t k = 0; k < count; k++)
        frames[k].index = (int64_t)k + 1000; /* a stretch of a longer clip */
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_ge(result.frame_at_max, 1000);
    size_t at = (size_t)(result.frame_at_max - 1000);
    ck_assert_int_eq(rows[at].frame, result.frame_at_max);
    ck_assert_double_ge(rows[at].angle_deg, result.max_deg);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("motion rules");
    TCase *tc = tcase_create("takes");
    tcase_add_checked_fixture(tc, load_table, drop_table);
    tcase_set_timeout(tc, 60);
    tcase_add_test(tc, the_first_still_second_is_the_rest);
    tcase_add_test(tc, less_than_a_second_is_no_rest);
    tcase_add_test(tc, a_damaged_frame_does_not_end_the_rest);
    tcase_add_test(tc, a_raised_arm_held_still_is_no_rest);
    tcase_add_test(tc, without_a_rest_the_vertical_stands_for_the_trunk);
    tcase_add_test(tc, breathing_is_averaged_out_of_the_rest);
    tcase_add_test(tc, chest_and_hip_need_no_rest);
    tcase_add_test(tc, frames_without_their_markers_stay_empty);
    tcase_add_test(tc, an_angle_past_overhead_keeps_its_branch_over_a_gap);
    tcase_add_loop_test(tc,
                        an_arm_that_moves_against_the_direction_is_reported_not_flipped,
                        0, sizeof direction_cases / sizeof direction_cases[0]);
    tcase_add_test(tc, a_trunk_that_lies_otherwise_than_stated_is_reported);
    tcase_add_test(tc, a_pendulum_is_measured_to_the_wrist_where_that_is_seen);
    tcase_add_test(tc, a_pendulum_swings_both_ways_and_no_way_is_wrong);
    tcase_add_test(tc,
                   a_repetition_passes_three_fifths_of_the_range_from_below_a_quarter);
    tcase_add_test(tc, repetitions_are_counted_with_their_own_maxima);
    tcase_add_test(tc, a_steady_swing_of_five_periods_has_five_repetitions);
    tcase_add_test(tc, a_take_that_ends_with_the_arm_up_still_has_its_repetition);
    tcase_add_test(tc, more_repetitions_than_there_is_room_for_are_said_not_written);
    tcase_add_test(tc, the_highest_frame_is_named_by_its_number);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
