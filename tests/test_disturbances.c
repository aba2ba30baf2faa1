/* Bumped cameras, frozen and damaged pictures, uneven times, and next to nothing. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "take_fixture.h"

#define ANY_SPREAD ((double)INFINITY)

/* ---- pictures that misbehave ---- */

START_TEST(a_bumped_camera_is_noticed_and_taken_out)
{
    struct figure f = flexion();
    f.hike_mm = 30;
    f.hip_offset_deg = 5;
    film(&f);
    for (size_t k = 80; k < count; k++)
        shift_all(k, 34, -21);
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 0; k < count; k++)
        ck_assert_int_eq((rows[k].quality & OMO_QUALITY_CAMERA_MOVED) != 0, k >= 80);
    ck_assert_ptr_nonnull(strstr(result.note, "camera was moved at 2.7 s"));
    ck_assert_double_eq_tol(result.hike_at_max_ratio, 0.1, 0.005);
    /* Without a trunk marker the shoulder's shift would read it as a lean. */
    for (size_t k = 0; k < count; k++)
        hide(k, OMO_HIP);
    for (size_t k = 80; k < count; k++)
        shift_all(k, -34, 21);
    for (size_t k = 40; k < count; k++) /* while the arm still hangs */
        shift_all(k, 34, -21);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_uint_ne(rows[40].quality & OMO_QUALITY_CAMERA_MOVED, 0);
    ck_assert_double_eq_tol(result.lean_at_max_deg, 0, 0.1);
    ck_assert_double_eq_tol(result.hike_at_max_ratio, 0.1, 0.005);
}
END_TEST

START_TEST(a_bump_over_several_frames_is_one_bump)
{
    struct figure f = flexion();
    film(&f);
    for (size_t k = 40; k < count; k++)
        shift_all(k, 12 * fmin(3, (double)k - 39), 0);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_uint_eq(rows[39].quality & OMO_QUALITY_CAMERA_MOVED, 0);
    ck_assert_uint_ne(rows[42].quality & OMO_QUALITY_CAMERA_MOVED, 0);
    ck_assert_double_eq_tol(result.max_deg, 140, 0.1);
}
END_TEST

START_TEST(a_bump_is_noticed_while_the_arm_hides_the_hip)
{
    struct figure f = flexion();
    film(&f);
    for (size_t k = 0; k < count; k++) {
        if (figure_angle_deg(&f, frames[k].time_s) < 15)
            hide(k, OMO_HIP);
    }
    for (size_t k = 30; k < count; k++)
        shift_all(k, -20, 12);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_uint_eq(rows[29].quality & OMO_QUALITY_CAMERA_MOVED, 0);
    ck_assert_uint_ne(rows[30].quality & OMO_QUALITY_CAMERA_MOVED, 0);
    /* One bump, not one for each pair of markers. */
    ck_assert_int_eq(result.reference, OMO_REFERENCE_HIP);
    ck_assert_double_eq_tol(result.trunk_rest_offset_deg, 0, 0.05);
    ck_assert_double_eq_tol(rows[60].angle_image_deg, 4, 0.1);
    ck_assert_double_eq_tol(rows[0].angle_image_deg, 4, 0.1);
    ck_assert_double_eq_tol(result.max_deg, 140, 0.1);
}
END_TEST

START_TEST(a_camera_that_rings_after_a_bump_is_noticed_too)
{
    struct figure f = flexion();
    f.hike_mm = 30;
    film(&f);
    for (size_t k = 0; k < count; k++) {
        double t_s = frames[k].time_s - 1.5;
        if (t_s < 0)
            continue;
        double ring = exp(-t_s / 0.12) * cos(2 * M_PI * 6 * t_s);
        double rise = fmin(1, t_s / 0.05);
        shift_all(k, 22 * rise * (0.7 + 0.5 * ring), 22 * rise * (-0.4 + 0.6 * ring));
    }
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_uint_eq(rows[44].quality & OMO_QUALITY_CAMERA_MOVED, 0);
    for (size_t k = 48; k < count; k++)
        ck_assert_uint_ne(rows[k].quality & OMO_QUALITY_CAMERA_MOVED, 0);
    ck_assert_double_eq_tol(result.hike_at_max_ratio, 0.1, 0.01);
    ck_assert_double_eq_tol(result.max_deg, 140, 0.1);
}
END_TEST

START_TEST(a_picture_that_jumps_and_comes_back_is_no_moved_camera)
{
    struct figure f = flexion();
    film(&f);
    for (size_t k = 40; k < 43; k++)
        shift_all(k, 30, 5);
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 0; k < count; k++)
        ck_assert_uint_eq(rows[k].quality & OMO_QUALITY_CAMERA_MOVED, 0);
}
END_TEST

START_TEST(two_bumps_are_two_moves)
{
    struct figure f = flexion();
    f.hike_mm = 30;
    film(&f);
    for (size_t k = 20; k < count; k++)
        shift_all(k, 30, 5);
    for (size_t k = 50; k < count; k++)
        shift_all(k, -12, 25);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.hike_at_max_ratio, 0.1, 0.005);
    for (size_t k = 0; k < count; k++) /* the trunk's place tells, without its markers */
        hide(k, OMO_HIP);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.hike_at_max_ratio, 0.1, 0.005);
    ck_assert_double_eq_tol(result.lean_at_max_deg, 0, 0.1);
}
END_TEST

START_TEST(a_person_who_steps_or_sways_is_not_a_bumped_camera)
{
    struct figure f = flexion();
    f.lean_deg = 15;
    f.hike_mm = 60;
    f.move_s = 0.8;
    film(&f);
    for (size_t k = 0; k < count; k++) {
        /* a step of 0.3 m in 0.6 s, and swaying all the time */
        double step = fmin(1, fmax(0, (frames[k].time_s - 0.8) / 0.6));
        shift_all(k, 120 * (0.5 - 0.5 * cos(M_PI * step)) + 3 * sin((double)k / 9), 0);
    }
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 0; k < count; k++)
        ck_assert_uint_eq(rows[k].quality & OMO_QUALITY_CAMERA_MOVED, 0);
}
END_TEST

START_TEST(repeated_pictures_of_a_still_arm_count_as_ever)
{
    struct figure f = flexion();
    film(&f);
    for (size_t k = 121; k < 160; k++) /* the hold */
        frames[k].repeated = true;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.held_max_deg, 140, 0.1);
    ck_assert_double_eq(result.seen_ratio, 1);
    ck_assert_uint_eq(rows[130].quality, OMO_QUALITY_REPEATED);
}
END_TEST

START_TEST(a_picture_that_stands_still_while_the_arm_moves_counts_for_nothing)
{
    struct figure f = flexion();
    f.hold_s = 0.1;
    film(&f);
    /* The picture freezes for 1.2 s half-way up: no hold. */
    for (size_t k = 91; k < 127; k++) {
        frames[k].markers = frames[90].markers;
        frames[k].repeated = true;
    }
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(isnan(result.held_max_deg) || result.held_max_deg < 10);
    for (size_t k = 91; k < 127; k++) {
        ck_assert(isnan(rows[k].angle_deg));
        ck_assert(isfinite(rows[k].angle_raw_deg));
    }
    ck_assert_ptr_nonnull(strstr(result.note, "stood still"));
}
END_TEST

START_TEST(every_fifth_picture_repeated_makes_no_stairs)
{
    struct figure f = flexion();
    film(&f);
    for (size_t k = 5; k < count; k += 5) {
        frames[k].markers = frames[k - 1].markers;
        frames[k].repeated = true;
    }
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 0; k < count; k++) {
        if (isfinite(rows[k].angle_deg))
            ck_assert_double_eq_tol(rows[k].angle_deg,
                                    figure_angle_deg(&f, frames[k].time_s), 0.4);
    }
    ck_assert_double_eq_tol(result.max_deg, 140, 0.1);
}
END_TEST

START_TEST(damaged_frames_count_for_nothing)
{
    struct figure f = flexion();
    film(&f);
    for (size_t k = 125; k < 140; k++) {
        frames[k].damaged = true;
        frames[k].markers.role[OMO_ELBOW].y_px -= 150;
        frames[k].markers.role[OMO_HIP].x_px += 90;
    }
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.max_deg, 140, 0.1);
    ck_assert_uint_ne(rows[130].quality & OMO_QUALITY_DAMAGED, 0);
    ck_assert(isnan(rows[130].angle_deg));
    for (size_t k = 140; k < 150; k++) /* nor is anything held from them */
        hide(k, OMO_HIP);
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 140; k < count; k++)
        ck_assert_double_eq_tol(rows[k].angle_image_deg,
                                figure_angle_deg(&f, frames[k].time_s), 0.01);
}
END_TEST

START_TEST(uneven_time_stamps_move_no_maximum)
{
    struct figure f = flexion();
    f.hold_s = 0.05;
    film(&f);
    for (size_t k = 0; k < count; k++) {
        frames[k].time_s += 0.012 * sin((double)k * 2.4);
        figure_markers(&f, frames[k].time_s, &frames[k].markers);
    }
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 0; k < count; k++)
        ck_assert_double_eq_tol(rows[k].angle_deg, figure_angle_deg(&f, frames[k].time_s),
                                0.5);
    double truth[FRAMES_MAX], times[FRAMES_MAX];
    for (size_t k = 0; k < count; k++) {
        times[k] = frames[k].time_s;
        truth[k] = figure_angle_deg(&f, times[k]);
    }
    /* The truth by the same rule. */
    double want_deg =
        omo_sustained_max_deg(times, truth, count, 0.2, 0.1, ANY_SPREAD, NULL);
    ck_assert_double_eq_tol(result.max_deg, want_deg, 0.3);
}
END_TEST

START_TEST(times_need_not_start_at_zero)
{
    struct figure f = flexion();
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    struct omo_result before = result;
    for (size_t k = 0; k < count; k++)
        frames[k].time_s += 1234.5;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.max_deg, before.max_deg, 1e-6);
    ck_assert_double_eq_tol(result.rest_deg, before.rest_deg, 1e-6);
    ck_assert_int_eq(result.repetitions, before.repetitions);
}
END_TEST

START_TEST(markers_placed_by_hand_are_marked_edited)
{
    struct figure f = flexion();
    film(&f);
    frames[10].markers.role[OMO_ELBOW].seen = OMO_PLACED_BY_HAND;
    frames[20].markers.role[OMO_HIP].seen = OMO_PLACED_BY_HAND;
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 0; k < count; k++)
        ck_assert_uint_eq(rows[k].quality, k == 10 || k == 20 ? OMO_QUALITY_EDITED : 0);
}
END_TEST

/* ---- next to nothing ---- */

START_TEST(no_frames_are_empty_not_an_accident)
{
    struct figure f = flexion();
    film(&f);
    ck_assert_int_eq(omo_measure(&settings, NULL, 0, NULL, &result), OMO_ERR_EMPTY);
    ck_assert(isnan(result.max_deg) && isnan(result.seen_ratio));
    ck_assert_int_eq(result.frame_at_max, -1);
    ck_assert_uint_gt(strlen(result.note), 0);
}
END_TEST

START_TEST(frames_without_markers_are_empty)
{
    struct figure f = flexion();
    film(&f);
    for (size_t k = 0; k < count; k++)
        for (int role = 0; role < OMO_ROLE_COUNT; role++)
            hide(k, (enum omo_role)role);
    ck_assert_int_eq(measure(), OMO_ERR_EMPTY);
    ck_assert_double_eq(result.seen_ratio, 0);
    ck_assert_double_eq_tol(result.frames_per_second, 30, 1e-6);
    for (size_t k = 0; k < count; k++) {
        ck_assert_int_eq(rows[k].frame, (int64_t)k);
        ck_assert(isnan(rows[k].angle_deg));
        ck_assert_uint_eq(rows[k].quality,
                          OMO_QUALITY_NO_SHOULDER | OMO_QUALITY_NO_ELBOW);
    }
}
END_TEST

START_TEST(one_frame_has_an_angle_but_no_maximum)
{
    struct figure f = flexion();
    film(&f);
    count = 1;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(rows[0].angle_deg, 4, 1e-6);
    ck_assert_uint_ne(rows[0].quality & OMO_QUALITY_UNFILTERED, 0);
    ck_assert(isnan(result.max_deg));
    ck_assert_double_eq(result.seen_ratio, 1);
    ck_assert(isnan(result.frames_per_second));
    ck_assert_ptr_nonnull(strstr(result.note, "no maximum is given"));
}
END_TEST

START_TEST(identical_times_have_angles_but_no_maximum)
{
    struct figure f = flexion();
    film(&f);
    for (size_t k = 0; k < count; k++)
        frames[k].time_s = 3;
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 0; k < count; k++)
        ck_assert_double_eq_tol(rows[k].angle_deg, figure_angle_deg(&f, (double)k / 30),
                                1e-6);
    ck_assert(isnan(result.max_deg) && isnan(result.rest_deg));
}
END_TEST

START_TEST(senseless_numbers_do_no_harm)
{
    struct figure f = flexion();
    f.chest = true;
    static const double odd[] = {NAN, INFINITY, -INFINITY, 1e300, -1e300, 0, 1e-300};
    unsigned state = 1;
    for (int round = 0; round < 40; round++) {
        film(&f);
        for (int i = 0; i < 60; i++) {
            state = state * 1664525u + 1013904223u;
            size_t k = (state >> 8) % count;
            double value = odd[(state >> 4) % 7];
            struct omo_marker *m = &frames[k].markers.role[state % OMO_ROLE_COUNT];
            switch ((state >> 16) % 5) {
            case 0:
                m->x_px = value;
                break;
            case 1:
                m->y_px = value;
                break;
            case 2:
                m->diameter_px = value;
                break;
            case 3:
                m->sigma_px = value;
                break;
            default:
                frames[k].time_s = value;
                break;
            }
        }
        enum omo_status status = measure();
        ck_assert(status == OMO_OK || status == OMO_ERR_EMPTY);
        for (size_t k = 0; k < count; k++)
            ck_assert(isnan(rows[k].angle_deg) ||
                      (rows[k].angle_deg >= -90 && rows[k].angle_deg < 270));
    }
}
END_TEST

START_TEST(markers_in_one_place_give_no_angle)
{
    struct figure f = flexion();
    film(&f);
    frames[50].markers.role[OMO_ELBOW] = frames[50].markers.role[OMO_SHOULDER];
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(isnan(rows[50].angle_deg));
    ck_assert_uint_ne(rows[50].quality & OMO_QUALITY_NO_ELBOW, 0);
}
END_TEST

START_TEST(settings_that_cannot_be_are_refused)
{
    struct figure f = flexion();
    film(&f);
    struct omo_result untouched;
    memset(&untouched, 0x33, sizeof untouched);
    result = untouched;
    struct omo_measure_settings good = settings;
    settings.movement = NULL;
    ck_assert_int_eq(measure(), OMO_ERR_ARG);
    settings = good;
    settings.position = OMO_PRONE;
    ck_assert_int_eq(measure(), OMO_ERR_ARG);
    settings = good;
    settings.position = (enum omo_position)99;
    ck_assert_int_eq(measure(), OMO_ERR_ARG);
    settings = good;
    settings.cutoff_hz = 0;
    ck_assert_int_eq(measure(), OMO_ERR_ARG);
    settings.cutoff_hz = NAN;
    ck_assert_int_eq(measure(), OMO_ERR_ARG);
    ck_assert_mem_eq(&result, &untouched, sizeof result);
}
END_TEST

START_TEST(a_hundred_thousand_frames_are_measured_like_a_hundred)
{
    struct figure f = flexion();
    f.repetitions = 3;
    film(&f);
    size_t many = 100000;
    struct omo_track_frame *long_take = calloc(many, sizeof *long_take);
    struct omo_trace_row *long_rows = calloc(many, sizeof *long_rows);
    ck_assert_ptr_nonnull(long_take);
    ck_assert_ptr_nonnull(long_rows);
    for (size_t k = 0; k < many; k++) {
        long_take[k] = frames[k % count];
        long_take[k].index = (int64_t)k;
        long_take[k].time_s = (double)k / 30;
    }
    ck_assert_int_eq(omo_measure(&settings, long_take, many, long_rows, &result), OMO_OK);
    ck_assert_double_eq_tol(result.max_deg, 140, 0.1);
    ck_assert_int_eq(result.repetitions, OMO_REPETITION_MAX);
    free(long_take);
    free(long_rows);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("disturbances");
    TCase *tc = tcase_create("disturbances");
    tcase_add_checked_fixture(tc, load_table, drop_table);
    tcase_set_timeout(tc, 60);
    tcase_add_test(tc, a_bumped_camera_is_noticed_and_taken_out);
    tcase_add_test(tc, a_bump_over_several_frames_is_one_bump);
    tcase_add_test(tc, a_bump_is_noticed_while_the_arm_hides_the_hip);
    tcase_add_test(tc, a_camera_that_rings_after_a_bump_is_noticed_too);
    tcase_add_test(tc, a_picture_that_jumps_and_comes_back_is_no_moved_camera);
    tcase_add_test(tc, two_bumps_are_two_moves);
    tcase_add_test(tc, a_person_who_steps_or_sways_is_not_a_bumped_camera);
    tcase_add_test(tc, repeated_pictures_of_a_still_arm_count_as_ever);
    tcase_add_test(tc,
                   a_picture_that_stands_still_while_the_arm_moves_counts_for_nothing);
    tcase_add_test(tc, every_fifth_picture_repeated_makes_no_stairs);
    tcase_add_test(tc, damaged_frames_count_for_nothing);
    tcase_add_test(tc, uneven_time_stamps_move_no_maximum);
    tcase_add_test(tc, times_need_not_start_at_zero);
    tcase_add_test(tc, markers_placed_by_hand_are_marked_edited);
    suite_add_tcase(suite, tc);
    tc = tcase_create("next to nothing");
    tcase_add_checked_fixture(tc, load_table, drop_table);
    tcase_set_timeout(tc, 60);
    tcase_add_test(tc, no_frames_are_empty_not_an_accident);
    tcase_add_test(tc, frames_without_markers_are_empty);
    tcase_add_test(tc, one_frame_has_an_angle_but_no_maximum);
    tcase_add_test(tc, identical_times_have_angles_but_no_maximum);
    tcase_add_test(tc, senseless_numbers_do_no_harm);
    tcase_add_test(tc, markers_in_one_place_give_no_angle);
    tcase_add_test(tc, settings_that_cannot_be_are_refused);
    tcase_add_test(tc, a_hundred_thousand_frames_are_measured_like_a_hundred);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
