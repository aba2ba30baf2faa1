/* The arm at a desk: as it was found against the same arm let go. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/desk.h"
#include "take_fixture.h"

#define UPPER_ARM_MM 300.0 /* of the body model */
/* Markers are exact here but for the filter's edge and the wave of breathing. */
#define TOL_RATIO 0.005
#define TOL_DEG   0.1

static struct omo_desk_figures figures;
static const struct omo_track_frame *found, *let_go;
static size_t found_count, let_go_count;

/** Seated, seen from the front: the arm let go, then held with the shoulder up and the
 *  elbow out. */
static struct figure at_desk(void)
{
    return (struct figure){.movement = "abduction",
                           .side = OMO_RIGHT,
                           .position = OMO_SEATED,
                           .hip = true,
                           .rest_deg = 4,
                           .top_deg = 25,
                           .hike_mm = 30,
                           .rest_s = 5,
                           .move_s = 1,
                           .hold_s = 5};
}

/** Cuts the two looks out: five seconds at rest and five at the top. */
static void look(const struct figure *f)
{
    film(f);
    let_go = frames;
    let_go_count = 150;
    found = frames + 180;
    found_count = 149;
}

static enum omo_status desk(void)
{
    return omo_desk_measure(&settings, found, found_count, let_go, let_go_count,
                            &figures);
}

START_TEST(a_shoulder_held_up_and_an_elbow_held_out_are_told)
{
    struct figure f = at_desk();
    look(&f);
    ck_assert_int_eq(desk(), OMO_OK);
    /* Below 30 degrees no rise is natural (models/allowances.ini). */
    ck_assert_double_eq_tol(figures.hike_ratio, 30 / UPPER_ARM_MM, TOL_RATIO);
    ck_assert_double_eq_tol(figures.hike_mm, 30, 30 * 0.05);
    ck_assert_double_eq_tol(figures.angle_deg, 25, TOL_DEG);
    ck_assert_double_eq_tol(figures.elbow_distance_ratio, sin(25 * M_PI / 180),
                            TOL_RATIO);
    ck_assert_double_eq_tol(figures.elbow_relaxed_ratio, sin(4 * M_PI / 180), TOL_RATIO);
    ck_assert_double_eq_tol(figures.seen_ratio, 1, 1e-9);
}
END_TEST

START_TEST(the_rise_that_goes_with_the_arm_is_not_counted)
{
    /* 10 % of the upper arm at 150 degrees, evenly from 30 on: at 90 half of it. */
    struct figure f = at_desk();
    f.top_deg = 90;
    f.hike_mm = 0.05 * UPPER_ARM_MM;
    look(&f);
    ck_assert_int_eq(desk(), OMO_OK);
    ck_assert_double_eq_tol(figures.hike_ratio, 0, TOL_RATIO);
}
END_TEST

START_TEST(an_arm_that_hangs_in_both_looks_has_neither)
{
    struct figure f = at_desk();
    f.side = OMO_LEFT;
    f.top_deg = 4;
    f.hike_mm = 0;
    look(&f);
    ck_assert_int_eq(desk(), OMO_OK);
    ck_assert_double_eq_tol(figures.hike_ratio, 0, TOL_RATIO);
    ck_assert_double_eq_tol(figures.elbow_distance_ratio, figures.elbow_relaxed_ratio,
                            TOL_RATIO);
}
END_TEST

START_TEST(without_stillness_nothing_is_relative_to_rest)
{
    struct figure f = at_desk();
    look(&f);
    for (size_t k = 0; k < let_go_count; k++)
        frames[k].markers.role[OMO_ELBOW].x_px += (k / 15) % 2 == 0 ? 0 : 30;
    ck_assert_int_eq(desk(), OMO_OK);
    ck_assert_double_nan(figures.hike_ratio);
    ck_assert_double_nan(figures.elbow_distance_ratio);
    ck_assert(isfinite(figures.angle_deg));
}
END_TEST

START_TEST(a_hip_below_the_desk_is_done_without)
{
    struct figure f = at_desk();
    f.hip = false;
    look(&f);
    ck_assert_int_eq(desk(), OMO_OK);
    ck_assert_double_eq_tol(figures.hike_ratio, 30 / UPPER_ARM_MM, TOL_RATIO);
}
END_TEST

START_TEST(looks_without_frames_or_markers_are_refused)
{
    struct figure f = at_desk();
    look(&f);
    memset(&figures, 7, sizeof figures);
    struct omo_desk_figures before = figures;
    found_count = 0;
    ck_assert_int_eq(desk(), OMO_ERR_ARG);
    found_count = 149;
    let_go_count = 0;
    ck_assert_int_eq(desk(), OMO_ERR_ARG);
    let_go_count = 150;
    for (size_t k = 180; k < count; k++)
        hide(k, OMO_ELBOW);
    ck_assert_int_eq(desk(), OMO_ERR_EMPTY);
    ck_assert_int_eq(memcmp(&before, &figures, sizeof before), 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("desk");
    TCase *looks = tcase_create("looks");
    tcase_add_checked_fixture(looks, load_table, drop_table);
    tcase_add_test(looks, a_shoulder_held_up_and_an_elbow_held_out_are_told);
    tcase_add_test(looks, the_rise_that_goes_with_the_arm_is_not_counted);
    tcase_add_test(looks, an_arm_that_hangs_in_both_looks_has_neither);
    tcase_add_test(looks, without_stillness_nothing_is_relative_to_rest);
    tcase_add_test(looks, a_hip_below_the_desk_is_done_without);
    tcase_add_test(looks, looks_without_frames_or_markers_are_refused);
    suite_add_tcase(suite, looks);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
