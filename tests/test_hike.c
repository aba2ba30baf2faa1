/* Hitching: its onset, the maximum before it, the person's own curve, what is not judged.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "hike_fixture.h"
#include "omogon/rise.h"

#define PEOPLE 120

static struct figure raises(int repetitions)
{
    struct figure f = flexion();
    f.chest = true;
    f.repetitions = repetitions;
    f.hold_s = 0.5;
    f.move_s = 4;
    return f;
}

/** A shoulder whose marker is on the joint and that rises by 20 mm. */
static struct shoulder plain(void)
{
    return (struct shoulder){.setting_deg = 30, .setting_width_deg = 5, .natural_mm = 20};
}

static struct shoulder hitching_from(double onset_deg)
{
    struct shoulder s = plain();
    s.onset_deg = onset_deg;
    s.hitch_mm = 45;
    s.over_deg = 30;
    return s;
}

/* ---- where it sets in ---- */

START_TEST(a_hitch_sets_in_where_it_does)
{
    static const double onset_deg[] = {35, 50, 70, 90, 110, 125};
    struct figure f = raises(2);
    struct shoulder s = hitching_from(onset_deg[_i]);
    unsigned state = 11;
    film_shoulder(&f, &s, -1, &state);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.hike_onset_deg, onset_deg[_i], 4);
    ck_assert_double_eq_tol(result.max_before_hike_deg, onset_deg[_i], 4);
    ck_assert_double_gt(result.max_deg, 139);
    ck_assert_ptr_nonnull(strstr(result.note, "begins to hitch up"));
}
END_TEST

/** Share of random people of one kind in whom `wanted` is true. */
static double share_of_people(bool hitches, unsigned seed)
{
    int good = 0;
    unsigned state = seed;
    for (int i = 0; i < PEOPLE; i++) {
        struct figure f = raises(1 + i % 3);
        f.top_deg = 60 + 110.0 * ((double)i + 0.5) / PEOPLE;
        struct shoulder s = random_shoulder(&state, f.top_deg, hitches);
        film_shoulder(&f, &s, -1, &state);
        ck_assert_int_eq(measure(), OMO_OK);
        if (hitches)
            good += fabs(result.hike_onset_deg - s.onset_deg) <= 6;
        else
            good += isnan(result.hike_onset_deg);
    }
    return (double)good / PEOPLE;
}

START_TEST(nine_in_ten_onsets_are_within_six_degrees)
{
    ck_assert_double_ge(share_of_people(true, 101), 0.90);
}
END_TEST

START_TEST(a_natural_rise_has_no_onset)
{
    ck_assert_double_ge(share_of_people(false, 202), 0.95);
}
END_TEST

START_TEST(no_hitch_is_found_without_a_raise)
{
    struct figure f = raises(1);
    f.top_deg = 12;
    struct shoulder s = plain();
    unsigned state = 3;
    film_shoulder(&f, &s, -1, &state);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(isnan(result.hike_onset_deg));
    ck_assert_double_eq_tol(result.max_before_hike_deg, result.max_deg, 1e-9);
}
END_TEST

/* ---- the maximum before it ---- */

START_TEST(without_excess_the_maximum_before_it_is_the_maximum)
{
    struct figure f = raises(3);
    struct shoulder s = plain();
    unsigned state = 4;
    film_shoulder(&f, &s, -1, &state);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(isnan(result.hike_onset_deg));
    ck_assert_double_eq_tol(result.max_before_hike_deg, result.max_deg, 1e-9);
}
END_TEST

START_TEST(a_raise_before_the_one_that_hitches_counts_whole)
{
    struct figure f = raises(3);
    struct shoulder s = hitching_from(70);
    unsigned state = 5;
    film_shoulder(&f, &s, -1, &state);
    size_t first_raise = count / 3;
    struct omo_track_frame kept[FRAMES_MAX];
    memcpy(kept, frames, sizeof kept);
    s.over_deg = 0;
    film_shoulder(&f, &s, -1, &state);
    memcpy(frames + first_raise, kept + first_raise,
           (count - first_raise) * sizeof *frames);
    ck_assert_int_eq(measure(), OMO_OK);
    /* Two of three raises hitch, so the curve does; the first one reached the top. */
    ck_assert_double_eq_tol(result.hike_onset_deg, 70, 5);
    ck_assert_double_eq_tol(result.max_before_hike_deg, 140, 0.5);
}
END_TEST

START_TEST(a_trunk_that_leans_too_far_ends_what_counts)
{
    struct figure f = raises(1);
    f.lean_deg = 12; /* 6 degrees are allowed: passed at half the way, 72 degrees */
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.max_before_hike_deg, 72, 2);
    ck_assert_ptr_nonnull(strstr(result.note, "passes what is allowed for at 7"));
    f.lean_deg = 5.5;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.max_before_hike_deg, result.max_deg, 1e-9);
}
END_TEST

START_TEST(a_slow_rise_beyond_the_allowance_ends_what_counts)
{
    struct figure f = raises(1);
    f.hike_mm = 75; /* even over 136 degrees: no onset, but 25 % of the arm at the top */
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(isnan(result.hike_onset_deg));
    /* 75 mm (a - 4) / 136 passes 24 + 30 (a - 30) / 120 at 62.0 degrees. */
    ck_assert_double_eq_tol(result.max_before_hike_deg, 62.0, 1.5);
}
END_TEST

START_TEST(a_glitch_of_the_shoulder_is_no_hitch)
{
    struct figure f = raises(1);
    film(&f);
    for (size_t k = 120; k < 123; k++) /* 60 mm for 0.1 s, arm and all */
        for (int role = OMO_SHOULDER; role <= OMO_ELBOW; role++)
            frames[k].markers.role[role].y_px -= 24;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(isnan(result.hike_onset_deg));
    ck_assert_double_eq_tol(result.max_before_hike_deg, result.max_deg, 1e-9);
}
END_TEST

/* ---- what cannot be judged ---- */

START_TEST(what_cannot_be_judged_is_empty)
{
    struct figure f = raises(1);
    struct shoulder s = hitching_from(70);
    unsigned state = 6;
    film_shoulder(&f, &s, -1, &state);
    settings.band[OMO_SHOULDER] = true;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(isnan(result.max_before_hike_deg) && isnan(result.hike_onset_deg));
    ck_assert(isnan(result.hike_at_max_ratio));
    for (size_t k = 0; k < count; k++)
        ck_assert(isnan(rows[k].hike_ratio) && isnan(rows[k].hike_mm));
    ck_assert_ptr_nonnull(strstr(result.note, "band rides on the arm"));
    settings.band[OMO_SHOULDER] = false;
    /* Without the rest. */
    memmove(frames, frames + 90, (count - 90) * sizeof *frames);
    count -= 90 + 60;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(isnan(result.max_before_hike_deg) && isnan(result.hike_onset_deg));
}
END_TEST

START_TEST(rotations_know_no_hitch)
{
    struct figure f = {.movement = "external-rotation",
                       .side = OMO_RIGHT,
                       .position = OMO_SUPINE,
                       .rest_deg = 0,
                       .top_deg = 60};
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert(isnan(result.max_before_hike_deg) && isnan(result.hike_onset_deg));
}
END_TEST

/* ---- the curve, and the person's own ---- */

START_TEST(the_curve_is_the_rise_over_the_arms_angle)
{
    struct figure f = raises(2);
    f.hike_mm = 60;
    f.lean_deg = 5;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    struct omo_rise rise;
    ck_assert_int_eq(omo_rise_of(rows, count, &rise), OMO_OK);
    ck_assert_int_ge(rise.count, 40);
    for (int i = 0; i < rise.count; i++) {
        const struct omo_rise_point *p = &rise.point[i];
        double share = (p->angle_deg - 4) / 136;
        ck_assert_double_eq_tol(p->ratio, 0.2 * share, 0.004);
        ck_assert_double_eq_tol(p->lean_deg, 5 * share, 0.3);
        if (i > 0)
            ck_assert_double_gt(p->angle_deg, rise.point[i - 1].angle_deg);
    }
    double sd;
    ck_assert_double_eq_tol(omo_rise_at(&rise, 72, &sd), 0.1, 0.003);
    ck_assert_double_eq_tol(omo_rise_at(&rise, 200, NULL), 0.2, 0.003);
    ck_assert_double_eq_tol(omo_rise_at(&rise, -20, NULL), 0.0, 0.003);
    ck_assert(isnan(omo_rise_at(&rise, NAN, NULL)) && sd >= 0);
}
END_TEST

START_TEST(an_arm_that_only_sinks_or_is_not_seen_gives_no_curve)
{
    struct omo_rise rise = {.count = -7};
    struct figure f = raises(1);
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    size_t top = count * 3 / 5;
    ck_assert_int_eq(omo_rise_of(rows + top, count - top - 45, &rise), OMO_ERR_EMPTY);
    ck_assert_int_eq(omo_rise_of(rows, 0, &rise), OMO_ERR_EMPTY);
    ck_assert_int_eq(rise.count, -7);
}
END_TEST

START_TEST(what_is_the_persons_own_is_no_excess)
{
    struct figure f = raises(2);
    f.hike_mm = 75;
    film(&f);
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_lt(result.max_before_hike_deg, 80);
    struct omo_rise own;
    ck_assert_int_eq(omo_rise_of(rows, count, &own), OMO_OK);
    settings.expected_rise = &own;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.max_before_hike_deg, result.max_deg, 1e-9);
    /* A stiff side against the other one: 30 mm more at the top, 15 allowed. */
    f.hike_mm = 105;
    film(&f);
    settings.expected_rise = &own;
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_eq_tol(result.max_before_hike_deg, 72, 3);
    settings.expected_rise = &(struct omo_rise){.count = 0};
    ck_assert_int_eq(measure(), OMO_OK);
    ck_assert_double_lt(result.max_before_hike_deg, 60);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("hike");
    TCase *tc = tcase_create("takes");
    tcase_add_checked_fixture(tc, load_table, drop_table);
    tcase_set_timeout(tc, 120);
    tcase_add_loop_test(tc, a_hitch_sets_in_where_it_does, 0, 6);
    tcase_add_test(tc, nine_in_ten_onsets_are_within_six_degrees);
    tcase_add_test(tc, a_natural_rise_has_no_onset);
    tcase_add_test(tc, no_hitch_is_found_without_a_raise);
    tcase_add_test(tc, without_excess_the_maximum_before_it_is_the_maximum);
    tcase_add_test(tc, a_raise_before_the_one_that_hitches_counts_whole);
    tcase_add_test(tc, a_trunk_that_leans_too_far_ends_what_counts);
    tcase_add_test(tc, a_slow_rise_beyond_the_allowance_ends_what_counts);
    tcase_add_test(tc, a_glitch_of_the_shoulder_is_no_hitch);
    tcase_add_test(tc, what_cannot_be_judged_is_empty);
    tcase_add_test(tc, rotations_know_no_hitch);
    tcase_add_test(tc, the_curve_is_the_rise_over_the_arms_angle);
    tcase_add_test(tc, an_arm_that_only_sinks_or_is_not_seen_gives_no_curve);
    tcase_add_test(tc, what_is_the_persons_own_is_no_excess);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
