/* The trunk: which markers stand for it, where they are hidden, hike. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/geometry.h"
#include "take_fixture.h"

static void hide_hip_below(const struct figure *f, double below_deg)
{
    for (size_t k = 0; k < count; k++) {
        if (figure_angle_deg(f, frames[k].time_s) < below_deg)
            hide(k, OMO_HIP);
    }
}

START_TEST(from_the_front_breastbone_and_hip_bone_need_a_rest)
{
    struct figure f = flexion();
    f.movement = "abduction";
    f.chest = true;
    f.chest_aside_mm = 90;
    f.lean_deg = 10;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_CHEST_HIP);
    ck_assert_double_eq_tol(result.max_deg, 140, 0.1);
    count -= 45 + 75;
    memmove(frames, frames + 75, count * sizeof *frames);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_NONE);
    ck_assert_double_eq_tol(result.max_deg, 150, 0.1); /* the lean is in it, and said */
    ck_assert_ptr_nonnull(strstr(result.note, "against the vertical"));
}
END_TEST

START_TEST(sway_is_no_lean_while_the_arm_hides_the_hip)
{
    struct figure f = flexion();
    f.rest_s = 4;
    film(&f);
    for (size_t k = 0; k < count; k++) /* 5 mm to and fro, the whole person */
        shift_all(k, 2 * sin(2 * M_PI * 0.3 * frames[k].time_s), 0);
    hide_hip_below(&f, 15);
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 0; k < count; k++) {
        if ((rows[k].quality & OMO_QUALITY_TRUNK_HELD) != 0)
            ck_assert_double_eq_tol(rows[k].angle_image_deg,
                                    figure_angle_deg(&f, frames[k].time_s), 0.01);
    }
    /* A lean of 10 degrees with the arm down shows but for the sway allowed. */
    film(&f);
    hide_hip_below(&f, 15);
    for (size_t k = 0; k < 30; k++) {
        double turn = 10 * M_PI / 180;
        for (int role = OMO_SHOULDER; role <= OMO_ELBOW; role++) {
            struct omo_marker *m = &frames[k + 60].markers.role[role];
            double x = m->x_px - 640, y = m->y_px - 360;
            m->x_px = 640 + cos(turn) * x + sin(turn) * y;
            m->y_px = 360 - sin(turn) * x + cos(turn) * y;
        }
    }
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(rows[75].trunk_lean_deg, 8.5, 0.3);
    ck_assert_double_eq_tol(rows[75].angle_image_deg, 4 + 1.5, 0.3);
}
END_TEST

/* ---- a hip hidden by the hanging forearm ---- */

START_TEST(a_hip_hidden_at_rest_is_taken_from_the_low_arm)
{
    struct figure f = flexion();
    f.hip_offset_deg = 6;
    f.repetitions = 2;
    film(&f);
    hide_hip_below(&f, 15);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_HIP);
    ck_assert_double_eq_tol(result.trunk_rest_offset_deg, -6, 0.01);
    ck_assert_double_eq_tol(result.rest_deg, 4, 0.1);
    for (size_t k = 0; k < count; k++) {
        double want_deg = figure_angle_deg(&f, frames[k].time_s);
        bool held = (rows[k].quality & OMO_QUALITY_TRUNK_HELD) != 0;
        ck_assert_int_eq(held, want_deg < 15);
        ck_assert_double_eq_tol(rows[k].angle_image_deg, want_deg, 0.01);
    }
    ck_assert_ptr_nonnull(strstr(result.note, "last clear place"));
}
END_TEST

/** Puts the shoulder's marker on a band round the upper arm, 40 mm from the joint. */
static void band_instead_of_shoulder(const struct figure *f, size_t k)
{
    double a = figure_angle_deg(f, frames[k].time_s) * M_PI / 180;
    frames[k].markers.role[OMO_SHOULDER].x_px += 16 * sin(a);
    frames[k].markers.role[OMO_SHOULDER].y_px += 16 * cos(a);
}

START_TEST(a_marker_that_rides_on_the_arm_is_followed_back_to_rest)
{
    struct figure f = flexion();
    f.hip_offset_deg = 6;
    film(&f);
    for (size_t k = 0; k < count; k++)
        band_instead_of_shoulder(&f, k);
    struct omo_point down = {0, 1}, shoulder, hip;
    shoulder.x = frames[0].markers.role[OMO_SHOULDER].x_px;
    shoulder.y = frames[0].markers.role[OMO_SHOULDER].y_px;
    hip.x = frames[0].markers.role[OMO_HIP].x_px;
    hip.y = frames[0].markers.role[OMO_HIP].y_px;
    double want_deg = -omo_turn_deg(down, omo_point_sub(hip, shoulder));
    hide_hip_below(&f, 9);
    ck_assert_int_eq(measure(), OMO_OK);
    /* At 9 degrees the band has moved by 1.4 px, 0.4 degrees of the line. */
    ck_assert_double_eq_tol(result.trunk_rest_offset_deg, want_deg, 0.05);
}
END_TEST

START_TEST(a_shoulder_that_moves_forward_early_does_not_turn_chest_and_hip)
{
    struct figure f = flexion();
    f.chest = true;
    film(&f);
    hide_hip_below(&f, 15);
    for (size_t k = 0; k < count; k++) {
        if (figure_angle_deg(&f, frames[k].time_s) > 10) {
            frames[k].markers.role[OMO_SHOULDER].x_px += 3;
            frames[k].markers.role[OMO_ELBOW].x_px += 3;
        }
    }
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_CHEST_HIP);
    ck_assert_double_eq_tol(rows[0].angle_image_deg, 4, 0.05);
}
END_TEST

/** Hides hip and chest while the hanging arm covers them, and puts the chest's marker
 *  aside by so much. */
static void cover_trunk_below(const struct figure *f, double below_deg, double aside_px)
{
    hide_hip_below(f, fmin(below_deg, 15));
    for (size_t k = 0; k < count; k++) {
        frames[k].markers.role[OMO_CHEST].x_px += aside_px;
        if (figure_angle_deg(f, frames[k].time_s) < below_deg)
            hide(k, OMO_CHEST);
    }
}

START_TEST(markers_beside_the_side_line_cancel_at_rest)
{
    struct figure f = flexion();
    f.chest = true;
    f.lean_deg = 5;
    film(&f);
    cover_trunk_below(&f, -90, 3.2); /* 8 mm on 350: 1.3 degrees */
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_CHEST_HIP);
    ck_assert_double_eq_tol(fabs(result.trunk_rest_offset_deg), 1.31, 0.02);
    ck_assert_double_eq_tol(result.rest_deg, 4, 0.01);
    ck_assert_double_eq_tol(result.max_deg, 140, 0.05);
    ck_assert_double_eq_tol(result.lean_at_max_deg, 5, 0.05);
}
END_TEST

START_TEST(a_chest_hidden_at_rest_is_followed_back_from_the_low_arm)
{
    struct figure f = flexion();
    f.chest = true;
    film(&f);
    cover_trunk_below(&f, 30, 3.2);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_CHEST_HIP);
    ck_assert_double_eq_tol(fabs(result.trunk_rest_offset_deg), 1.31, 0.1);
    ck_assert_double_eq_tol(result.rest_deg, 4, 0.1);
    ck_assert_double_eq_tol(result.max_deg, 140, 0.15);
    /* A lean that grows evenly from the start is 2 degrees when chest and hip are first
     * seen. Followed back in part, it costs less than that. */
    f.lean_deg = 8;
    film(&f);
    cover_trunk_below(&f, 30, 3.2);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.max_deg, 140, 1.4);
    ck_assert_double_eq_tol(result.lean_at_max_deg, 8, 1.4);
}
END_TEST

/** Half behind the arm until it has got so far, the chest's marker is seen aside and
 *  states more noise. */
static void cover_half_below(const struct figure *f, double below_deg)
{
    for (size_t k = 0; k < count; k++) {
        if (figure_angle_deg(f, frames[k].time_s) >= below_deg)
            continue;
        frames[k].markers.role[OMO_CHEST].x_px += 3;
        frames[k].markers.role[OMO_CHEST].sigma_px *= 3;
    }
}

START_TEST(a_chest_half_behind_a_low_arm_does_not_tell_how_the_trunk_stood)
{
    static const double top_deg[] = {140, 45}; /* a stiff shoulder's arm stays low */
    for (size_t i = 0; i < 2; i++) {
        struct figure f = flexion();
        f.chest = true;
        f.top_deg = top_deg[i];
        film(&f);
        cover_trunk_below(&f, 15, 0);
        cover_half_below(&f, 22);
        ck_assert_int_eq(measure(), OMO_OK);
        ck_assert_int_eq(result.reference, OMO_REFERENCE_CHEST_HIP);
        ck_assert_double_eq_tol(result.trunk_rest_offset_deg, 0, 0.05);
        ck_assert_double_eq_tol(result.max_deg, top_deg[i], 0.15);
    }
}
END_TEST

START_TEST(a_chest_hidden_for_long_leaves_the_shoulder)
{
    struct figure f = flexion();
    f.chest = true;
    film(&f);
    cover_trunk_below(&f, 60, 3.2);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_HIP);
    ck_assert_double_eq_tol(result.max_deg, 140, 0.05);
    ck_assert_ptr_nonnull(strstr(result.note, "chest was hidden for too long"));
}
END_TEST

START_TEST(the_hips_place_at_rest_is_a_mean_over_the_low_arm)
{
    struct figure f = flexion();
    f.hip_offset_deg = 6;
    film(&f);
    hide_hip_below(&f, 15);
    /* Every second hip 3 px off either way: 0.9 degrees on 196 px, less on the mean. */
    for (size_t k = 0; k < count; k++)
        frames[k].markers.role[OMO_HIP].x_px += k % 2 ? 3 : -3;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.trunk_rest_offset_deg, -6, 0.5);
}
END_TEST

START_TEST(before_it_is_first_seen_the_hip_is_where_it_was_with_the_arm_low)
{
    struct figure f = flexion();
    f.hip_offset_deg = 6;
    film(&f);
    hide_hip_below(&f, 15);
    /* Above 40 degrees the hip gives way by 75 mm. */
    for (size_t k = 0; k < count; k++) {
        if (figure_angle_deg(&f, frames[k].time_s) > 40)
            frames[k].markers.role[OMO_HIP].x_px += 30;
    }
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(rows[0].angle_image_deg, 4, 0.1);
}
END_TEST

START_TEST(the_constant_of_the_trunk_is_free_of_sway)
{
    struct figure f = flexion();
    f.hip_offset_deg = 6;
    f.rest_s = 4;
    film(&f);
    hide_hip_below(&f, 15);
    for (size_t k = 0; k < count; k++) /* 2 mm a second, the whole person */
        shift_all(k, 0.8 * frames[k].time_s, 0);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.trunk_rest_offset_deg, -6, 0.02);
}
END_TEST

START_TEST(a_hidden_hip_is_held_where_it_was_last_not_where_it_was_on_the_mean)
{
    struct figure f = flexion();
    f.hold_s = 5;
    film(&f);
    for (size_t k = 0; k < count; k++) /* walking slowly across the picture */
        shift_all(k, 0.5 * (double)k, 0);
    for (size_t k = 200; k < 206; k++)
        hide(k, OMO_HIP);
    ck_assert_int_eq(measure(), OMO_OK);
    /* The mean over half a second lags by 4 px on 196, six frames later by 3 more. */
    for (size_t k = 200; k < 206; k++)
        ck_assert_double_eq_tol(rows[k].angle_image_deg, 140, 2.2);
}
END_TEST

static void show_hip_in(unsigned one_of)
{
    for (size_t k = 0; k < count; k++) {
        if (k % one_of != 0)
            hide(k, OMO_HIP);
    }
}

START_TEST(a_hip_that_is_mostly_hidden_counts_one_that_hardly_ever_shows_does_not)
{
    struct figure f = flexion();
    f.hip_offset_deg = 6;
    film(&f);
    show_hip_in(5);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_HIP);
    film(&f);
    show_hip_in(40);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_SHIFT);
}
END_TEST

START_TEST(a_lean_is_followed_while_the_hip_is_hidden)
{
    struct figure f = flexion();
    f.lean_deg = 10;
    film(&f);
    /* A hand passes before the hip at the top. */
    for (size_t k = 0; k < count; k++) {
        if (figure_share(&f, frames[k].time_s) > 0.5)
            hide(k, OMO_HIP);
    }
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.lean_at_max_deg, 10, 0.1);
    ck_assert_double_eq_tol(result.max_deg, 140, 0.1);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_HIP);
}
END_TEST

START_TEST(a_hip_that_only_shows_with_the_arm_up_gives_no_constant)
{
    struct figure f = flexion();
    f.hip_offset_deg = 6;
    film(&f);
    hide_hip_below(&f, 45);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_SHIFT);
    ck_assert(isnan(result.trunk_rest_offset_deg));
    ck_assert_double_eq_tol(result.max_deg, 140, 0.1);
}
END_TEST

START_TEST(a_shoulder_that_has_left_its_place_gives_no_constant)
{
    struct figure f = flexion();
    f.hip_offset_deg = 6;
    f.hike_mm = 600; /* absurd, so that 10 mm are passed below 40 degrees */
    film(&f);
    hide_hip_below(&f, 20);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_SHIFT);
}
END_TEST

START_TEST(a_chest_that_is_hidden_for_a_while_makes_no_step)
{
    struct figure f = flexion();
    f.chest = true;
    f.hip_offset_deg = 8;
    f.lean_deg = 8;
    film(&f);
    for (size_t k = 90; k < 130; k++)
        hide(k, OMO_CHEST);
    for (size_t k = 150; k < 170; k++)
        hide(k, OMO_HIP);
    for (size_t k = 0; k < 10; k++)
        hide(k, OMO_CHEST);
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 0; k < count; k++) {
        bool hidden = k < 10 || (k >= 90 && k < 130) || (k >= 150 && k < 170);
        ck_assert_int_eq((rows[k].quality & OMO_QUALITY_TRUNK_HELD) != 0, hidden);
        ck_assert_int_eq(rows[k].reference, OMO_REFERENCE_CHEST_HIP);
        ck_assert_double_eq_tol(rows[k].angle_image_deg,
                                figure_angle_deg(&f, frames[k].time_s), 0.02);
    }
}
END_TEST

START_TEST(a_chest_seen_now_and_then_does_not_change_the_reference)
{
    struct figure f = flexion();
    f.chest = true;
    film(&f);
    for (size_t k = 0; k < count; k++) {
        /* a wrong blob in a few frames */
        if (k % 20 != 0)
            hide(k, OMO_CHEST);
        else
            frames[k].markers.role[OMO_CHEST].x_px += 60;
    }
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_int_eq(result.reference, OMO_REFERENCE_HIP);
    for (size_t k = 0; k < count; k++)
        ck_assert_double_eq_tol(rows[k].angle_image_deg,
                                figure_angle_deg(&f, frames[k].time_s), 0.01);
}
END_TEST

/* ---- hike ---- */

START_TEST(hike_is_the_rise_along_the_trunk_whatever_the_body_does)
{
    struct figure f = flexion();
    f.hike_mm = 30;
    f.lean_deg = 12;
    film(&f);
    for (size_t k = 0; k < count; k++) /* knees bend and the person drifts sideways */
        shift_all(k, 0.1 * (double)k, 20 * sin((double)k / 40));
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.hike_at_max_ratio, 0.10, 0.002);
    settings.marker_size_mm = NAN;
    ck_assert_int_eq(measure(), OMO_OK);
    for (size_t k = 0; k < count; k++)
        ck_assert(isnan(rows[k].hike_mm) && isfinite(rows[k].hike_ratio));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("trunk");
    TCase *tc = tcase_create("takes");
    tcase_add_checked_fixture(tc, load_table, drop_table);
    tcase_set_timeout(tc, 60);
    tcase_add_test(tc, from_the_front_breastbone_and_hip_bone_need_a_rest);
    tcase_add_test(tc, sway_is_no_lean_while_the_arm_hides_the_hip);
    tcase_add_test(tc, a_hip_hidden_at_rest_is_taken_from_the_low_arm);
    tcase_add_test(tc, a_marker_that_rides_on_the_arm_is_followed_back_to_rest);
    tcase_add_test(tc, a_shoulder_that_moves_forward_early_does_not_turn_chest_and_hip);
    tcase_add_test(tc, markers_beside_the_side_line_cancel_at_rest);
    tcase_add_test(tc, a_chest_hidden_at_rest_is_followed_back_from_the_low_arm);
    tcase_add_test(tc, a_chest_half_behind_a_low_arm_does_not_tell_how_the_trunk_stood);
    tcase_add_test(tc, a_chest_hidden_for_long_leaves_the_shoulder);
    tcase_add_test(tc, the_hips_place_at_rest_is_a_mean_over_the_low_arm);
    tcase_add_test(tc, before_it_is_first_seen_the_hip_is_where_it_was_with_the_arm_low);
    tcase_add_test(tc,
                   a_hidden_hip_is_held_where_it_was_last_not_where_it_was_on_the_mean);
    tcase_add_test(
        tc, a_hip_that_is_mostly_hidden_counts_one_that_hardly_ever_shows_does_not);
    tcase_add_test(tc, the_constant_of_the_trunk_is_free_of_sway);
    tcase_add_test(tc, a_lean_is_followed_while_the_hip_is_hidden);
    tcase_add_test(tc, a_hip_that_only_shows_with_the_arm_up_gives_no_constant);
    tcase_add_test(tc, a_shoulder_that_has_left_its_place_gives_no_constant);
    tcase_add_test(tc, a_chest_that_is_hidden_for_a_while_makes_no_step);
    tcase_add_test(tc, a_chest_seen_now_and_then_does_not_change_the_reference);
    tcase_add_test(tc, hike_is_the_rise_along_the_trunk_whatever_the_body_does);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
