/* The simulation study measures against the right truth. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "bench/study_runs.h"
#include "bench/study_session.h"

/* What a body and a camera without fault leave: pixel noise on the maximum, 0.08 px on an
 * upper arm of about 100 px, and markers that stand before the joints. */
#define TOLERANCE_DEG 0.35

static struct omo_movement_table *table;
static struct study_work *work;

static void set_up(void)
{
    work = study_work_create();
    ck_assert_ptr_nonnull(work);
    ck_assert_int_eq(omo_movement_table_load(NULL, &table), OMO_OK);
}

static void tear_down(void)
{
    omo_movement_table_destroy(table);
    study_work_destroy(work);
}

/** Everything that makes an angle wrong is taken away. */
static void make_faultless(struct study_person *p)
{
    static const enum study_body_value body_kept[] = {
        STUDY_STATURE_M,   STUDY_UPPER_ARM_SCALE, STUDY_FOREARM_SCALE,
        STUDY_TRUNK_SCALE, STUDY_BREADTH_SCALE,   STUDY_REST_DEG,
        STUDY_UP_S,        STUDY_DOWN_S};
    double body[STUDY_BODY_VALUES];
    memcpy(body, p->body, sizeof body);
    memset(p->body, 0, sizeof p->body);
    for (size_t i = 0; i < sizeof body_kept / sizeof body_kept[0]; i++)
        p->body[body_kept[i]] = body[body_kept[i]];
    p->body[STUDY_SLIDE_EXPONENT] = p->body[STUDY_ARM_ROLL_EXPONENT] = 1.0;
    p->hikes = false;
    p->share = 0.0;
    memset(p->set_up, 0, sizeof p->set_up);
    p->set_up[STUDY_DISTANCE_M] = 2.6;
    p->set_up[STUDY_HEIGHT_M] = 1.35;
    p->set_up[STUDY_FIELD_DEG] = 70.0;
}

static struct study_person person_of(int movement, enum study_set set)
{
    struct study_case of = {.seed = 77,
                            .movement = (enum study_movement)movement,
                            .set = set};
    struct study_person p;
    study_person_draw(&of, 0, &p);
    return p;
}

START_TEST(a_body_without_fault_is_measured_as_it_moves)
{
    struct study_person p = person_of(_i, STUDY_BANDS);
    make_faultless(&p);
    struct study_row row;
    study_session_measure(work, table, &p, NULL, &row);
    ck_assert_double_eq_tol(row.turned_deg, p.arc_deg, 0.01);
    ck_assert_double_eq_tol(row.thorax_deg, p.arc_deg, 0.01);
    ck_assert_double_eq_tol(row.truth_deg, p.arc_deg, 0.01);
    ck_assert_double_eq_tol(row.uncorrected_deg, p.arc_deg, TOLERANCE_DEG);
}
END_TEST

/* A shoulder marker 30 mm above the joint: the closed form atan2(sin a, r + cos a). */
START_TEST(a_marker_above_the_joint_reads_by_the_closed_form)
{
    struct study_person p = person_of(_i, STUDY_BANDS);
    make_faultless(&p);
    p.of.placement = STUDY_EDGE;
    p.set_up[STUDY_EDGE_UP_MM] = 30.0;
    struct study_row row;
    study_session_measure(work, table, &p, NULL, &row);
    double ratio =
        0.030 / (0.186 * p.body[STUDY_STATURE_M] * p.body[STUDY_UPPER_ARM_SCALE]);
    double a = p.arc_deg * RAD_PER_DEG;
    double seen_deg = atan2(sin(a), ratio + cos(a)) / RAD_PER_DEG;
    ck_assert_double_eq_tol(row.uncorrected_deg, seen_deg, TOLERANCE_DEG);
}
END_TEST

/* A trunk that leans as a whole changes nothing; one that bends turns the line from hips
 * to chest by less than the thorax. */
START_TEST(a_leaning_trunk_is_taken_out_and_a_bending_one_in_part)
{
    /* From the front the line from the notch to the hip bone is slanted by about 14
     * degrees, and its foot stays: it turns by cos^2 of that, 6 % less than the trunk. */
    bool side = study_is_from_side((enum study_movement)_i);
    double slanted = side ? 0.0 : 0.06;
    struct study_person p = person_of(_i, STUDY_BANDS);
    make_faultless(&p);
    p.body[STUDY_LEAN_DEG] = 8.0;
    struct study_row row;
    study_session_measure(work, table, &p, NULL, &row);
    ck_assert_double_eq_tol(row.turned_deg, p.arc_deg, 0.01);
    ck_assert_double_eq_tol(row.truth_deg, p.arc_deg, 0.01);
    /* From the side the hanging arm hides how the trunk stood at rest, so that a part of
     * a lean that has begun by then is missed. */
    double missed = side ? 0.2 : 0.0;
    ck_assert_double_eq_tol(row.uncorrected_deg, p.arc_deg,
                            TOLERANCE_DEG + (slanted + missed) * 8.0);
    p.body[STUDY_BEND_DEG] = 10.0;
    study_session_measure(work, table, &p, NULL, &row);
    ck_assert_double_eq_tol(row.turned_deg, p.arc_deg, 0.01);
    ck_assert_double_gt(row.truth_deg, p.arc_deg + 0.1);
    ck_assert_double_eq_tol(row.uncorrected_deg, row.truth_deg,
                            TOLERANCE_DEG + (slanted + missed) * 18.0);
}
END_TEST

/* A person who stands 3 degrees off at rest: against the thorax itself that counts. */
START_TEST(not_standing_upright_counts_against_the_thorax_alone)
{
    struct study_person p = person_of(_i, STUDY_BANDS);
    make_faultless(&p);
    p.body[STUDY_UPRIGHT_DEG] = 3.0;
    struct study_row row;
    study_session_measure(work, table, &p, NULL, &row);
    ck_assert_double_eq_tol(row.turned_deg, p.arc_deg, 0.01);
    ck_assert_double_eq_tol(row.thorax_deg, p.arc_deg - 3.0, 0.05);
}
END_TEST

START_TEST(the_result_does_not_depend_on_the_number_of_processes)
{
    struct study_plan plans[2] = {{0}, {0}};
    for (int i = 0; i < 2; i++) {
        struct study_case of = {.seed = 5, .movement = STUDY_FLEXION};
        study_plan_add(&plans[i], &of, 5);
        of.set = STUDY_STICKERS8;
        study_plan_add(&plans[i], &of, 4);
        ck_assert(study_plan_run(&plans[i], 1 + 2 * i));
    }
    ck_assert_mem_eq(plans[0].rows, plans[1].rows, 9 * sizeof *plans[0].rows);
    ck_assert(isfinite(plans[0].rows[8].measured_deg));
    study_plan_finish(&plans[0]);
    study_plan_finish(&plans[1]);
}
END_TEST

START_TEST(another_visit_is_the_same_movement_with_other_markers)
{
    struct study_case of = {.seed = 5, .movement = STUDY_ABDUCTION};
    struct study_row first, again;
    study_session_run(work, table, &of, NULL, &first);
    of.visit = 1;
    study_session_run(work, table, &of, NULL, &again);
    ck_assert_double_eq_tol(first.truth_deg, again.truth_deg, 0.01);
    ck_assert_double_ne(first.uncorrected_deg, again.uncorrected_deg);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("study");
    TCase *tcase = tcase_create("study");
    tcase_add_checked_fixture(tcase, set_up, tear_down);
    tcase_add_loop_test(tcase, a_body_without_fault_is_measured_as_it_moves, 0,
                        STUDY_MOVEMENTS);
    tcase_add_loop_test(tcase, a_marker_above_the_joint_reads_by_the_closed_form, 0,
                        STUDY_EXTERNAL);
    tcase_add_loop_test(tcase, a_leaning_trunk_is_taken_out_and_a_bending_one_in_part, 0,
                        STUDY_EXTERNAL);
    tcase_add_loop_test(tcase, not_standing_upright_counts_against_the_thorax_alone, 0,
                        STUDY_MOVEMENTS);
    tcase_add_test(tcase, the_result_does_not_depend_on_the_number_of_processes);
    tcase_add_test(tcase, another_visit_is_the_same_movement_with_other_markers);
    suite_add_tcase(suite, tcase);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
