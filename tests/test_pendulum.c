/* Circles of a hanging arm, from noisy markers of a simulated body. The tolerances are
 * what was asked of the count: laps exact in 11 of 12 sets and never off by more than
 * one, direction never wrong, diameter within 10 %. */
#include <math.h>
#include <stdlib.h>

#include <check.h>

#include "swing_fixture.h"

#define TOL_DIAMETER    0.10
#define OFF_PLANE_DEG   4.0 /* from here on the direction has to be told */
#define EXACT_OF_TWELVE 11
#define RANDOM_SETS     240
/* Of random sets that are 4 degrees off and more, this share may have a lap whose way is
 * not told: our choice, what was reached. */
#define UNTOLD_SHARE 0.05
/* Of random sets, with markers hidden, stops, turning back at once: our choice, what was
 * reached with room for other chances. */
#define EXACT_SHARE    0.90
#define OFF_BY_MORE    0.03
#define DIAMETER_SHARE 0.85

/** Twelve sets beside the usual one. */
static struct swing_set fixed_set(int which)
{
    struct swing_set s = swing_set_usual();
    s.seed = (uint32_t)which + 11;
    switch (which) {
    case 0:
        s.name = "usual";
        break;
    case 1:
        s.name = "small, far and slow, from a desk's height";
        s.part[0] = (struct swing_part){-6, 3.5, 12, 14};
        s.camera_m = 0.9;
        s.distance_m = 2.5;
        break;
    case 2:
        s.name = "large and quick, camera high";
        s.part[0] = (struct swing_part){8, 1.2, 45, 55};
        s.camera_m = 1.6;
        break;
    case 3:
        s.name = "both ways with a rest";
        s.part[1] = (struct swing_part){0, 3, 0, 0};
        s.part[2] = (struct swing_part){-5, 2, 30, 34};
        break;
    case 4:
        s.name = "turned back in mid-lap without a rest";
        s.part[0].laps = -5.3;
        s.part[1] = (struct swing_part){4.4, 2, 30, 30};
        break;
    case 5:
        s.name = "ragged";
        s.part[0] = (struct swing_part){-7, 2.2, 28, 36};
        s.ragged = 0.2;
        s.bob_mm = 4;
        break;
    case 6:
        s.name = "the wrist hidden for a third of a lap";
        s.part[0].laps = 8;
        s.hide[0].from_s = 6.2;
        s.hide[0].to_s = 6.9;
        break;
    case 7:
        s.name = "the wrist hidden for more than a lap";
        s.part[0].laps = 8;
        s.hide[0].from_s = 6.5;
        s.hide[0].to_s = 9.3;
        break;
    case 8:
        s.name = "stopped in mid-lap";
        s.part[0].laps = 4.3;
        s.part[1] = (struct swing_part){0, 2.5, 0, 0};
        s.part[2] = (struct swing_part){4, 2, 30, 30};
        break;
    case 9:
        s.name = "camera on the floor, below the circle";
        s.part[0].laps = -6;
        s.camera_m = 0.1;
        break;
    case 10:
        s.name = "nearly edge-on";
        s.camera_m = 0.55;
        break;
    case 11:
        s.name = "a band, growing, level told, mirrored";
        s.part[0] = (struct swing_part){-9, 1.8, 20, 40};
        s.band = true;
        s.marker_mm = 30;
        s.pitch_deg = -12;
        s.level_told = s.mirrored = true;
        break;
    default:
        break;
    }
    return s;
}

/** How one set went. */
struct verdict {
    int off_by, wrong;
    bool told;
    double diameter; /* relative error */
    struct swing_truth truth;
    struct omo_pendulum_view view;
};

static struct verdict judge(const struct swing_set *set)
{
    struct verdict v = {0};
    swing_run(set, &v.truth, &v.view);
    int counted = v.view.clockwise + v.view.counter_clockwise + v.view.unknown;
    int extra = counted - v.truth.clockwise - v.truth.counter_clockwise;
    v.off_by = abs(extra);
    int wrong =
        (v.view.clockwise > v.truth.clockwise ? v.view.clockwise - v.truth.clockwise
                                              : 0) +
        (v.view.counter_clockwise > v.truth.counter_clockwise
             ? v.view.counter_clockwise - v.truth.counter_clockwise
             : 0);
    v.wrong = wrong - (extra > 0 ? extra : 0); /* one too many goes its way too */
    v.told = v.view.unknown == 0;
    v.diameter = v.view.mean_diameter_cm / v.truth.diameter_cm - 1;
    return v;
}

START_TEST(twelve_sets_are_counted_exactly_in_eleven)
{
    int exact = 0;
    for (int i = 0; i < 12; i++) {
        struct swing_set set = fixed_set(i);
        struct verdict v = judge(&set);
        ck_assert_msg(v.off_by <= 1, "%s: %d/%d laps, %d/%d/%d counted", set.name,
                      v.truth.clockwise, v.truth.counter_clockwise, v.view.clockwise,
                      v.view.counter_clockwise, v.view.unknown);
        exact += v.off_by == 0;
    }
    ck_assert_int_ge(exact, EXACT_OF_TWELVE);
}
END_TEST

START_TEST(a_direction_is_told_from_4_degrees_on_and_never_wrong)
{
    struct swing_set set = fixed_set(_i);
    struct verdict v = judge(&set);
    ck_assert_msg(v.wrong <= 0, "%s: %d/%d/%d counted", set.name, v.view.clockwise,
                  v.view.counter_clockwise, v.view.unknown);
    if (fabs(v.truth.off_plane_deg) >= OFF_PLANE_DEG)
        ck_assert_msg(v.told, "%s: %d not told at %.1f degrees", set.name, v.view.unknown,
                      v.truth.off_plane_deg);
}
END_TEST

START_TEST(a_diameter_is_within_a_tenth)
{
    struct swing_set set = fixed_set(_i);
    struct verdict v = judge(&set);
    ck_assert_msg(fabs(v.diameter) <= TOL_DIAMETER, "%s: %.1f cm, %.1f measured",
                  set.name, v.truth.diameter_cm, v.view.mean_diameter_cm);
}
END_TEST

START_TEST(edge_on_no_direction_is_told)
{
    struct swing_set set = fixed_set(10);
    struct verdict v = judge(&set);
    ck_assert_double_lt(fabs(v.truth.off_plane_deg), 2);
    ck_assert_int_eq(v.view.unknown, v.truth.clockwise);
    ck_assert_double_lt(v.view.camera_off_plane_deg, 3);
}
END_TEST

START_TEST(sets_nobody_chose_are_counted)
{
    int exact = 0, more = 0, told = 0, off = 0, sized = 0;
    for (uint32_t seed = 1000; seed < 1000 + RANDOM_SETS; seed++) {
        struct swing_set set = swing_set_random(seed);
        struct verdict v = judge(&set);
        ck_assert_msg(v.wrong <= 0, "seed %u: %d/%d laps, %d/%d/%d counted", seed,
                      v.truth.clockwise, v.truth.counter_clockwise, v.view.clockwise,
                      v.view.counter_clockwise, v.view.unknown);
        exact += v.off_by == 0;
        more += v.off_by > 1;
        if (fabs(v.truth.off_plane_deg) >= OFF_PLANE_DEG) {
            off++;
            told += v.told;
        }
        sized += fabs(v.diameter) <= TOL_DIAMETER;
    }
    ck_assert_msg(exact >= EXACT_SHARE * RANDOM_SETS, "%d exact", exact);
    ck_assert_msg(more <= OFF_BY_MORE * RANDOM_SETS, "%d off by more than one", more);
    ck_assert_msg(told >= (1 - UNTOLD_SHARE) * off, "%d of %d told", told, off);
    ck_assert_msg(sized >= DIAMETER_SHARE * RANDOM_SETS, "%d sized", sized);
}
END_TEST

START_TEST(an_arm_that_the_body_swings_hangs_loose)
{
    static const struct {
        bool loose;
        double bend_deg, lap_s;
        bool want;
    } rows[] = {{true, 8, 1.4, true},
                {true, 8, 2.5, true},
                {false, 8, 2.0, false},
                {true, 58, 2.0, false}};
    for (int i = 0; i < 4; i++) {
        struct swing_set set = swing_set_usual();
        set.loose = rows[i].loose;
        set.bend_deg = rows[i].bend_deg;
        set.part[0].seconds = rows[i].lap_s;
        struct verdict v = judge(&set);
        ck_assert_msg(v.view.loose == rows[i].want, "row %d: %.2f", i,
                      v.view.loose_ratio);
    }
}
END_TEST

START_TEST(growth_is_the_last_third_over_the_first)
{
    struct swing_set set = swing_set_usual();
    set.part[0] = (struct swing_part){9, 2, 20, 38}; /* 2 cm a lap */
    struct verdict v = judge(&set);
    /* middles of the thirds are six laps apart */
    ck_assert_double_eq_tol(v.view.growth_cm, 12, 2.5);
}
END_TEST

START_TEST(a_swing_to_and_fro_is_no_lap)
{
    struct swing_set set = swing_set_usual();
    set.aspect = 0; /* along the picture */
    struct verdict v = judge(&set);
    ck_assert_int_eq(v.view.clockwise + v.view.counter_clockwise + v.view.unknown, 0);
}
END_TEST

START_TEST(without_a_known_size_there_is_no_diameter)
{
    struct swing_set set = swing_set_usual();
    set.size_untold = true;
    struct verdict v = judge(&set);
    ck_assert_int_eq(v.view.clockwise, 5);
    ck_assert(isnan(v.view.diameter_cm) && isnan(v.view.mean_diameter_cm));
    ck_assert(isnan(v.view.growth_cm));
}
END_TEST

struct seen {
    int closed, most, swinging_at_rest;
    double last_ratio;
    bool fell;
};

static void look(const struct omo_pendulum_view *view, void *user)
{
    struct seen *seen = user;
    seen->closed += view->lap_closed;
    seen->swinging_at_rest += view->swinging && view->time_s < 0;
    int laps = view->clockwise + view->counter_clockwise + view->unknown;
    seen->fell |= laps < seen->most;
    seen->most = laps > seen->most ? laps : seen->most;
    ck_assert(view->lap_ratio >= 0 && view->lap_ratio <= 1);
}

START_TEST(live_the_count_rises_lap_by_lap)
{
    struct swing_set set = swing_set_usual();
    struct seen seen = {0};
    struct swing_truth truth;
    struct omo_pendulum_view view;
    swing_watch(&set, &truth, &view, look, &seen);
    ck_assert_int_eq(seen.closed, 5);
    ck_assert_int_eq(seen.most, 5);
    ck_assert(!seen.fell);
    ck_assert_int_eq(seen.swinging_at_rest, 0);
    ck_assert(!view.swinging);
}
END_TEST

START_TEST(what_is_no_setting_is_refused)
{
    struct omo_pendulum_settings s;
    struct omo_pendulum *p = NULL;
    ck_assert_int_eq(omo_pendulum_create(NULL, &p), OMO_ERR_ARG);
    for (int i = 0; i < 6; i++) {
        omo_pendulum_settings_default(&s);
        s.wrist_mm = i == 0 ? 0 : i == 1 ? (double)INFINITY : s.wrist_mm;
        s.focal_px = i == 2 ? -1 : s.focal_px;
        s.picture_width = i == 3 ? 0 : s.picture_width;
        s.pitch_deg = i == 4 ? (double)INFINITY : s.pitch_deg;
        struct omo_lens lens;
        omo_lens_default(640, 480, &lens);
        s.lens = i == 5 ? &lens : NULL;
        ck_assert_msg(omo_pendulum_create(&s, &p) == OMO_ERR_ARG, "row %d", i);
        ck_assert_ptr_null(p);
    }
    omo_pendulum_destroy(NULL);
}
END_TEST

START_TEST(nothing_seen_is_nothing_counted)
{
    struct omo_pendulum_settings s;
    struct omo_pendulum *p = NULL;
    struct omo_pendulum_view view;
    omo_pendulum_settings_default(&s);
    ck_assert_int_eq(omo_pendulum_create(&s, &p), OMO_OK);
    for (int k = 0; k < 100; k++) {
        struct omo_track_frame frame = {.index = k, .time_s = k / 30.0};
        omo_pendulum_step(p, &frame, &view);
        ck_assert(!view.swinging && !view.lap_closed);
    }
    omo_pendulum_finish(p, &view);
    ck_assert_int_eq(view.clockwise + view.counter_clockwise + view.unknown, 0);
    ck_assert(isnan(view.camera_off_plane_deg) && isnan(view.loose_ratio));
    omo_pendulum_destroy(p);
}
END_TEST

START_TEST(ways_have_names)
{
    ck_assert_str_eq(omo_swing_way_name(OMO_SWING_UNKNOWN), "unknown");
    ck_assert_str_eq(omo_swing_way_name(OMO_SWING_CLOCKWISE), "clockwise");
    ck_assert_str_eq(omo_swing_way_name(OMO_SWING_COUNTER_CLOCKWISE),
                     "counter-clockwise");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("pendulum");
    TCase *tc = tcase_create("pendulum");
    tcase_set_timeout(tc, 280);
    tcase_add_test(tc, twelve_sets_are_counted_exactly_in_eleven);
    tcase_add_loop_test(tc, a_direction_is_told_from_4_degrees_on_and_never_wrong, 0, 12);
    tcase_add_loop_test(tc, a_diameter_is_within_a_tenth, 0, 12);
    tcase_add_test(tc, edge_on_no_direction_is_told);
    tcase_add_test(tc, sets_nobody_chose_are_counted);
    tcase_add_test(tc, an_arm_that_the_body_swings_hangs_loose);
    tcase_add_test(tc, growth_is_the_last_third_over_the_first);
    tcase_add_test(tc, a_swing_to_and_fro_is_no_lap);
    tcase_add_test(tc, without_a_known_size_there_is_no_diameter);
    tcase_add_test(tc, live_the_count_rises_lap_by_lap);
    tcase_add_test(tc, what_is_no_setting_is_refused);
    tcase_add_test(tc, nothing_seen_is_nothing_counted);
    tcase_add_test(tc, ways_have_names);
    suite_add_tcase(suite, tc);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
