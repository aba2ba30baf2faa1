/* The rules over one step, each with its edges. Check values: the issue's own rules;
 * which history hides which position is our choice (models/care.ini). */
#include <math.h>
#include <string.h>

#include <check.h>

#include "care_fixture.h"

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

static bool offered(struct omo_step step)
{
    offer_of(step);
    /* Whatever is left out says why in one sentence. */
    if (!offer.offered)
        ck_assert_msg(strlen(offer.why) > 20 && strchr(offer.why, '.') != NULL, "%s",
                      offer.why);
    return offer.offered;
}

static bool says(const char *words)
{
    return strstr(offer.why, words) != NULL;
}

/* ---- press and rest ---- */

START_TEST(a_taught_area_is_off_until_it_is_ticked)
{
    person.taught_front = person.taught_armpit = false;
    ck_assert(!offered(care_press("blade-front")));
    ck_assert(says("taught"));
    ck_assert(!offered(care_press("armpit-back")));
    ck_assert(offered(care_press("blade-back")));
    person.taught_front = true;
    ck_assert(offered(care_press("blade-front")));
    ck_assert(!offered(care_press("armpit-back")));
    person.taught_armpit = true;
    ck_assert(offered(care_press("armpit-back")));
    ck_assert(!offered(care_press("armpit")));
}
END_TEST

START_TEST(the_tenderest_area_gets_the_shortest_hold)
{
    struct omo_past_step past[] = {care_pressed("2024-05-19", "blade-back", 5),
                                   care_pressed("2024-05-19", "blade-corner", 4),
                                   care_pressed("2024-05-18", "blade-corner", 9)};
    person.past_steps = past;
    person.past_step_count = 3;
    ck_assert(offered(care_press("blade-back")));
    ck_assert_double_eq(offer.hold_s, 30);
    ck_assert(says("tenderest"));
    ck_assert_double_eq(offer_of(care_press("blade-corner"))->hold_s, 60);
    ck_assert_double_eq(offer_of(care_press("outer-shoulder"))->hold_s, 60);
    struct omo_step by_breaths = care_press("blade-back");
    by_breaths.breaths = 9;
    by_breaths.hold_s = NAN;
    ck_assert_int_eq(offer_of(by_breaths)->breaths, 5);
    /* Of two that are equal both. */
    past[1].tenderness_before = 5;
    ck_assert_double_eq(offer_of(care_press("blade-corner"))->hold_s, 30);
    /* The only one known counts when it hurts. */
    person.past_step_count = 1;
    ck_assert_double_eq(offer_of(care_press("blade-back"))->hold_s, 30);
    past[0].tenderness_before = 3;
    ck_assert_double_eq(offer_of(care_press("blade-back"))->hold_s, 60);
}
END_TEST

START_TEST(an_area_that_grows_more_tender_is_left_out)
{
    struct omo_past_step past[] = {care_pressed("2024-05-17", "blade-back", 3),
                                   care_pressed("2024-05-19", "blade-back", 5),
                                   care_pressed("2024-05-18", "blade-back", 4),
                                   care_pressed("2024-05-16", "blade-back", 9)};
    person.past_steps = past;
    person.past_step_count = 4;
    ck_assert(!offered(care_press("blade-back")));
    ck_assert(says("more tender"));
    struct omo_step left = care_press("blade-back");
    left.side = OMO_STEP_LEFT;
    ck_assert(offered(left));
    past[2].tenderness_before = 5; /* 3, 5, 5: not each time */
    ck_assert(offered(care_press("blade-back")));
    past[2].tenderness_before = 4;
    person.past_step_count = 2; /* two sessions are not three */
    ck_assert(offered(care_press("blade-back")));
    /* Two presses of one day are one session. */
    person.past_step_count = 3;
    strcpy(past[2].date, "2024-05-19");
    ck_assert(offered(care_press("blade-back")));
}
END_TEST

START_TEST(a_sign_ends_an_area)
{
    struct omo_past_step past = care_pressed("2023-01-01", "blade-back", 1);
    past.ended_by_sign = true;
    person.past_steps = &past;
    person.past_step_count = 1;
    ck_assert(!offered(care_press("blade-back")));
    ck_assert(offered(care_press("blade-corner")));
}
END_TEST

/* ---- pendulum ---- */

static struct omo_past_step wide[4];

static void let_wide_circles_pass(void)
{
    wide[0] = care_swung("2024-05-17", 35, 20, 20);
    wide[1] = care_swung("2024-05-18", 35, 20, 20);
    wide[2] = care_swung("2024-05-19", 30, 20, 20);
    person.past_steps = wide;
    person.past_step_count = 3;
}

START_TEST(a_weight_comes_after_wide_circles)
{
    struct omo_step swing = care_pendulum(OMO_SEATED, 1.0);
    ck_assert(offered(swing));
    ck_assert_double_eq(offer.load_kg, 0); /* no session yet */
    let_wide_circles_pass();
    ck_assert_double_eq(offer_of(swing)->load_kg, 1.0);
    wide[2].diameter_cm = 29.9;
    ck_assert_double_eq(offer_of(swing)->load_kg, 0);
    ck_assert(says("without a weight"));
    let_wide_circles_pass();
    wide[2].diameter_cm = NAN;
    ck_assert_double_eq(offer_of(swing)->load_kg, 0);
    let_wide_circles_pass();
    wide[2].clockwise = 19;
    ck_assert_double_eq(offer_of(swing)->load_kg, 0);
    let_wide_circles_pass();
    wide[2].counter_clockwise = 19;
    ck_assert_double_eq(offer_of(swing)->load_kg, 0);
    let_wide_circles_pass();
    wide[2].discomfort = true;
    ck_assert_double_eq(offer_of(swing)->load_kg, 0);
    /* The last session counts, not an earlier one. */
    let_wide_circles_pass();
    wide[0].discomfort = true;
    ck_assert_double_eq(offer_of(swing)->load_kg, 1.0);
    person.weight_ticked = false;
    ck_assert_double_eq(offer_of(swing)->load_kg, 0);
    person.weight_ticked = true;
    person.weight_most_kg = 0.5;
    ck_assert_double_eq(offer_of(swing)->load_kg, 0.5);
    person.weight_most_kg = NAN;
    ck_assert_double_eq(offer_of(swing)->load_kg, 0);
    person.weight_most_kg = 2.5;
    day.worst_24h = 4; /* a middle day */
    ck_assert_double_eq(offer_of(swing)->load_kg, 0);
}
END_TEST

START_TEST(limits_and_history_take_the_weight_away)
{
    static const unsigned without[] = {
        OMO_HISTORY_DEVICE,    OMO_HISTORY_JOINT_REPLACED, OMO_HISTORY_FRAGILE_BONE,
        OMO_HISTORY_SURGERY,   OMO_HISTORY_FRACTURE,       OMO_HISTORY_DISLOCATION,
        OMO_HISTORY_DEVICE_NEW};
    struct omo_limit limit = care_limit("flexion", 90);
    struct omo_step swing = care_pendulum(OMO_SEATED, 1.0);
    let_wide_circles_pass();
    person.limits = &limit;
    person.limit_count = 1;
    ck_assert_double_eq(offer_of(swing)->load_kg, 0); /* no load is stated */
    limit.load_kg = 0.75;
    ck_assert_double_eq(offer_of(swing)->load_kg, 0.75);
    strcpy(limit.movement, "pendulum");
    limit.load_kg = 2;
    ck_assert_double_eq(offer_of(swing)->load_kg, 1.0);
    for (size_t i = 0; i < sizeof without / sizeof without[0]; i++) {
        person.history = without[i];
        ck_assert(offered(swing));
        ck_assert_double_eq(offer.load_kg, 0);
    }
}
END_TEST

START_TEST(circles_grow_by_a_small_step)
{
    struct omo_step swing = care_pendulum(OMO_SEATED, NAN);
    ck_assert_int_eq(offer_of(swing)->circles, 10);
    wide[0] = care_swung("2024-05-17", 15, 14, 12);
    wide[1] = care_swung("2024-05-18", 15, 12, 12);
    wide[2] = care_swung("2024-05-19", 15, 18, 18);
    person.past_steps = wide;
    person.past_step_count = 3;
    ck_assert_int_eq(offer_of(swing)->circles, 14); /* the median is 12 */
    swing.circles = 13;
    ck_assert_int_eq(offer_of(swing)->circles, 13); /* as the programme says */
    wide[1].discomfort = true;
    ck_assert_int_eq(offer_of(swing)->circles, 10); /* two comfortable ones are too few */
    /* Among enough comfortable ones, one with discomfort pulls the median down. */
    wide[3] = care_swung("2024-05-20", 15, 16, 16);
    person.past_step_count = 4;
    ck_assert_int_eq(offer_of(swing)->circles, 13);
    wide[1].discomfort = false;
    swing.circles = 20;
    ck_assert_int_eq(offer_of(swing)->circles, 16); /* 12 12 16 18 */
    wide[3].discomfort = true;
    ck_assert_int_eq(offer_of(swing)->circles, 14); /* 10 12 12 18 */
    let_wide_circles_pass();
    swing.circles = 20;
    ck_assert_int_eq(offer_of(swing)->circles, 20);
    day.worst_24h = 5;
    ck_assert_int_eq(offer_of(swing)->circles, 10);
}
END_TEST

/* ---- holds ---- */

START_TEST(a_hold_grows_by_a_small_step)
{
    struct omo_past_step held[] = {care_held("2024-05-17", "flexion", 10),
                                   care_held("2024-05-18", "flexion", 14),
                                   care_held("2024-05-19", "flexion", 12)};
    struct omo_step stay = care_stay("flexion");
    ck_assert_double_eq(offer_of(stay)->hold_s, 30); /* nothing is known yet */
    person.past_steps = held;
    person.past_step_count = 3;
    ck_assert_double_eq(offer_of(stay)->hold_s, 17); /* the median is 12 */
    ck_assert(says("17 seconds"));
    stay.hold_s = 15;
    ck_assert_double_eq(offer_of(stay)->hold_s, 15); /* as the programme says */
    stay.hold_s = 30;
    held[1].discomfort = true; /* counts as 5 */
    ck_assert_double_eq(offer_of(stay)->hold_s, 15);
    day.worst_24h = 5;
    held[1].discomfort = false;
    ck_assert_double_eq(offer_of(stay)->hold_s, 15);
    day = care_calm();
    ck_assert_double_eq(offer_of(care_stay("abduction"))->hold_s, 30);
    stay.side = OMO_STEP_LEFT;
    ck_assert_double_eq(offer_of(stay)->hold_s, 30);
    /* A press never falls below its shortest hold. */
    struct omo_past_step pressed = care_pressed("2024-05-19", "blade-back", 1);
    pressed.held_s = 20;
    person.past_steps = &pressed;
    person.past_step_count = 1;
    ck_assert_double_eq(offer_of(care_press("blade-back"))->hold_s, 30);
    pressed.held_s = 40;
    ck_assert_double_eq(offer_of(care_press("blade-back"))->hold_s, 45);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("care_doses");
    TCase *t = tcase_create("offer");
    tcase_add_checked_fixture(t, set_up, NULL);
    tcase_add_test(t, a_taught_area_is_off_until_it_is_ticked);
    tcase_add_test(t, the_tenderest_area_gets_the_shortest_hold);
    tcase_add_test(t, an_area_that_grows_more_tender_is_left_out);
    tcase_add_test(t, a_sign_ends_an_area);
    tcase_add_test(t, a_weight_comes_after_wide_circles);
    tcase_add_test(t, limits_and_history_take_the_weight_away);
    tcase_add_test(t, circles_grow_by_a_small_step);
    tcase_add_test(t, a_hold_grows_by_a_small_step);
    suite_add_tcase(suite, t);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
