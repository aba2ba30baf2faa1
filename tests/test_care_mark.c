/* The rules over one step, each with its edges. Check values: the issue's own rules;
 * which history hides which position is our choice (models/care.ini). */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <check.h>

#include "care_fixture.h"

#define TOL_DEG 1e-9

static struct omo_person_state person;
static struct omo_soreness day;
static struct omo_offer offer;

static void set_up(void)
{
    person = care_person();
    day = care_calm();
}

static const struct omo_offer *offer_of(struct omo_step step)
{
    memset(&offer, 7, sizeof offer);
    omo_offer_step(care_loaded(), &step, NULL, &person, &day, 4.0, &offer);
    return &offer;
}

static bool says(const char *words)
{
    return strstr(offer.why, words) != NULL;
}

static struct omo_past past[6];

static void let_sessions_pass(void)
{
    static const double means_deg[] = {92, 88, 100, 90, 94, 10};
    char date[16];
    for (int i = 0; i < 6; i++) {
        snprintf(date, sizeof date, "2024-05-1%d", 9 - i);
        past[i] = care_past(date, "flexion", "active", means_deg[i]);
    }
    person.past = past;
    person.past_count = 6;
}

static double mark(double ceiling_deg)
{
    return omo_mark_today(care_loaded(), &person, "flexion", "right", "active", &day,
                          ceiling_deg, offer.why, sizeof offer.why);
}

START_TEST(todays_mark_is_the_median_of_five_comfortable_sessions)
{
    let_sessions_pass();
    ck_assert_double_eq_tol(mark(NAN), 92, TOL_DEG);
    ck_assert(says("92 degrees"));
    ck_assert_double_eq_tol(offer_of(care_stay("flexion"))->target_deg, 92, TOL_DEG);
    past[0].comfortable = false; /* then the sixth comes in: 88 100 90 94 10 */
    ck_assert_double_eq_tol(mark(NAN), 90, TOL_DEG);
    past[1].sore = OMO_SORE_SORE; /* 100 90 94 10 */
    ck_assert_double_eq_tol(mark(NAN), 92, TOL_DEG);
    past[2].mean_of_maxima_deg = NAN; /* 90 94 10 */
    ck_assert_double_eq_tol(mark(NAN), 90, TOL_DEG);
    strcpy(past[3].mode, "assisted"); /* two are too few */
    ck_assert_double_nan(mark(NAN));
    ck_assert(says("3 comfortable sessions"));
}
END_TEST

START_TEST(no_mark_on_a_sore_day_or_after_a_sore_night)
{
    let_sessions_pass();
    day.woken = 1;
    ck_assert_double_nan(mark(NAN));
    ck_assert(says("woke"));
    ck_assert_double_nan(offer_of(care_stay("flexion"))->target_deg);
    day.woken = -1;
    ck_assert_double_nan(mark(NAN));
    day = care_calm();
    day.worst_24h = 7;
    ck_assert_double_nan(mark(NAN));
    day.worst_24h = 6;
    ck_assert_double_eq_tol(mark(NAN), 92, TOL_DEG);
    day.now = 4; /* at the limit: comfort steps have no target */
    ck_assert_double_nan(offer_of(care_measure("flexion"))->target_deg);
}
END_TEST

START_TEST(a_mark_is_never_above_the_ceiling)
{
    let_sessions_pass();
    ck_assert_double_eq_tol(mark(91), 91, TOL_DEG);
    ck_assert_double_eq_tol(mark(93), 92, TOL_DEG);
    struct omo_limit limit = care_limit("flexion", 94);
    person.limits = &limit;
    person.limit_count = 1;
    /* In an offer it stays below the warning at 94 - 4. */
    ck_assert_double_eq_tol(offer_of(care_stay("flexion"))->target_deg, 90, TOL_DEG);
    limit.ceiling_deg = 3; /* the warning comes at once: no target */
    ck_assert_double_nan(offer_of(care_stay("flexion"))->target_deg);
}
END_TEST

START_TEST(only_the_practitioner_sets_a_mark_above_the_median)
{
    let_sessions_pass();
    person.told_mark_deg = 97;
    strcpy(person.told_movement, "flexion");
    strcpy(person.told_side, "right");
    ck_assert_double_eq_tol(mark(NAN), 92, TOL_DEG);
    person.mark_told = true;
    ck_assert_double_eq_tol(mark(NAN), 97, TOL_DEG);
    ck_assert(says("practitioner"));
    ck_assert_double_eq_tol(mark(95), 95, TOL_DEG);
    person.mark_told = false;
    person.told_mark_deg = 85;
    ck_assert_double_eq_tol(mark(NAN), 85, TOL_DEG);
    person.mark_told = true;
    person.told_mark_deg = 97;
    strcpy(person.told_movement, "abduction"); /* of another movement */
    ck_assert_double_eq_tol(mark(NAN), 92, TOL_DEG);
    strcpy(person.told_movement, "flexion");
    day.woken = 1;
    ck_assert_double_nan(mark(NAN));
}
END_TEST

START_TEST(help_only_keeps_to_both_marks)
{
    let_sessions_pass();
    struct omo_limit limit = care_limit("flexion", 120);
    limit.allowed = OMO_ALLOWED_ASSISTED;
    person.limits = &limit;
    person.limit_count = 1;
    ck_assert_double_nan(offer_of(care_stay("flexion"))->target_deg);
    struct omo_past both[8];
    for (int i = 0; i < 8; i++)
        both[i] = care_past("2024-05-10", "flexion", i < 4 ? "active" : "assisted",
                            i < 4 ? 92 : 110);
    person.past = both;
    person.past_count = 8;
    ck_assert_double_eq_tol(offer_of(care_stay("flexion"))->target_deg, 92, TOL_DEG);
    struct omo_step helped = care_stay("flexion");
    helped.mode = OMO_MODE_ASSISTED;
    ck_assert_double_eq_tol(offer_of(helped)->target_deg, 110, TOL_DEG);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("care_mark");
    TCase *t = tcase_create("offer");
    tcase_add_checked_fixture(t, set_up, NULL);
    tcase_add_test(t, todays_mark_is_the_median_of_five_comfortable_sessions);
    tcase_add_test(t, no_mark_on_a_sore_day_or_after_a_sore_night);
    tcase_add_test(t, a_mark_is_never_above_the_ceiling);
    tcase_add_test(t, only_the_practitioner_sets_a_mark_above_the_median);
    tcase_add_test(t, help_only_keeps_to_both_marks);
    suite_add_tcase(suite, t);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
