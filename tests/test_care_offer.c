/* The rules over one step, each with its edges. Check values: the rules themselves;
 * which history hides which position is our choice (models/care.ini). */
#include <math.h>
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

/* ---- soreness ---- */

START_TEST(a_calm_day_offers_what_the_programme_says)
{
    struct omo_step stay = care_stay("flexion");
    stay.breaths = 7;
    stay.hold_s = NAN;
    stay.pace = OMO_PACE_PACED;
    ck_assert(offered(stay));
    ck_assert_int_eq(offer.breaths, 7);
    ck_assert_int_eq(offer.ease_ups, 2);
    ck_assert_int_eq(offer.repetitions, 3);
    ck_assert_int_eq(offer.pace, OMO_PACE_PACED);
    ck_assert(!offer.comfort_only);
    ck_assert_double_nan(offer.ceiling_deg);
    ck_assert_double_nan(offer.warn_deg);
    ck_assert_double_eq(offer.pain_limit, 4.0);
    ck_assert(offered(care_press("blade-back")));
    ck_assert_double_eq(offer.hold_s, 60.0);
    ck_assert(offered(care_finding("behind-the-head")));
}
END_TEST

START_TEST(a_sore_day_offers_comfort_alone)
{
    day.now = 2;
    day.worst_24h = 7;
    ck_assert(!offered(care_stay("flexion")));
    ck_assert(says("sore day"));
    ck_assert(!offered(care_finding("hand-behind-back")));
    ck_assert(offered(care_measure("flexion")));
    ck_assert(offer.comfort_only);
    ck_assert_double_nan(offer.target_deg);
    ck_assert(offered(care_pendulum(OMO_SEATED, 1.0)));
    ck_assert(offer.comfort_only);
    ck_assert_double_eq(offer.load_kg, 0.0);
    ck_assert(offered(care_press("blade-back")));
    ck_assert(offer.comfort_only);
    ck_assert_double_eq(offer.hold_s, 30.0);
    ck_assert(says("No pressing today"));
    ck_assert(offered(care_finding("nights-woken")));
}
END_TEST

START_TEST(a_middle_day_rests_briefly_at_the_first_discomfort)
{
    day.worst_24h = 5;
    struct omo_step stay = care_stay("flexion");
    ck_assert(offered(stay));
    ck_assert_double_eq(offer.hold_s, 15.0);
    ck_assert_int_eq(offer.ease_ups, 0);
    ck_assert(says("first discomfort"));
    stay.hold_s = 8;
    ck_assert(offered(stay));
    ck_assert_double_eq(offer.hold_s, 8.0);
    stay.hold_s = NAN;
    stay.breaths = 10;
    ck_assert(offered(stay));
    ck_assert_int_eq(offer.breaths, 0);
    ck_assert_double_eq(offer.hold_s, 15.0);
}
END_TEST

START_TEST(who_starts_at_the_limit_stays_in_comfort)
{
    day.now = 4;
    day.worst_24h = 4;
    ck_assert(!offered(care_stay("flexion")));
    ck_assert_int_eq(offer.sore, OMO_SORE_MIDDLE);
    ck_assert(says("pain is at its limit"));
    day.now = 3;
    ck_assert(offered(care_stay("flexion")));
    /* The step's own limit counts before the programme's. */
    struct omo_step stay = care_stay("flexion");
    stay.pain_limit = 3;
    ck_assert(!offered(stay));
    day.now = 2;
    ck_assert(offered(stay));
    struct omo_programme programme = {.pain_limit = 2};
    stay.pain_limit = NAN;
    omo_offer_step(care_loaded(), &stay, &programme, &person, &day, 4.0, &offer);
    ck_assert(!offer.offered);
    ck_assert_double_eq(offer.pain_limit, 2.0);
}
END_TEST

START_TEST(at_most_five_raises)
{
    struct omo_step stay = care_stay("flexion");
    stay.repetitions = 9;
    ck_assert_int_eq(offer_of(stay)->repetitions, 5);
}
END_TEST

/* ---- limits ---- */

START_TEST(a_ceiling_is_over_everything)
{
    struct omo_limit limits[] = {care_limit("flexion", 90), care_limit("flexion", 80)};
    person.limits = limits;
    person.limit_count = 1;
    struct omo_step stay = care_stay("flexion");
    ck_assert(offered(stay));
    ck_assert_double_eq(offer.ceiling_deg, 90);
    ck_assert_double_eq_tol(offer.warn_deg, 86, TOL_DEG);
    ck_assert(says("limit"));
    /* Of two the lower, also against the programme's own. */
    person.limit_count = 2;
    ck_assert_double_eq(offer_of(stay)->ceiling_deg, 80);
    stay.ceiling_deg = 70;
    ck_assert_double_eq(offer_of(stay)->ceiling_deg, 70);
    stay.ceiling_deg = 100;
    ck_assert_double_eq(offer_of(stay)->ceiling_deg, 80);
    /* What the angle is good to is not known: 5 degrees. */
    omo_offer_step(care_loaded(), &stay, NULL, &person, &day, NAN, &offer);
    ck_assert_double_eq_tol(offer.warn_deg, 75, TOL_DEG);
    /* The other arm and another movement are free. */
    stay.ceiling_deg = NAN;
    stay.side = OMO_STEP_OTHER;
    ck_assert_double_nan(offer_of(stay)->ceiling_deg);
    ck_assert_double_nan(offer_of(care_stay("abduction"))->ceiling_deg);
    /* Both arms, and an affected side that nobody named: the stricter one. */
    struct omo_step measure = care_measure("flexion");
    measure.side = OMO_STEP_BOTH;
    ck_assert_double_eq(offer_of(measure)->ceiling_deg, 80);
    person.affected_known = false;
    measure.side = OMO_STEP_OTHER;
    ck_assert_double_eq(offer_of(measure)->ceiling_deg, 80);
}
END_TEST

START_TEST(a_limit_of_every_movement_or_either_side_counts)
{
    struct omo_limit limit = care_limit("", 60);
    strcpy(limit.side, "both");
    person.limits = &limit;
    person.limit_count = 1;
    struct omo_step stay = care_stay("abduction");
    stay.side = OMO_STEP_LEFT;
    ck_assert_double_eq(offer_of(stay)->ceiling_deg, 60);
}
END_TEST

START_TEST(what_is_not_allowed_is_not_offered)
{
    struct omo_limit limit = care_limit("flexion", 90);
    person.limits = &limit;
    person.limit_count = 1;
    limit.allowed = OMO_ALLOWED_NONE;
    ck_assert(!offered(care_stay("flexion")));
    ck_assert(!offered(care_measure("flexion")));
    ck_assert(offered(care_measure("abduction")));
    limit.allowed = OMO_ALLOWED_ASSISTED;
    ck_assert(offered(care_measure("flexion")));
    ck_assert(offer.assisted);
    ck_assert(says("with help only"));
    limit.allowed = OMO_ALLOWED_ACTIVE;
    ck_assert(!offer_of(care_measure("flexion"))->assisted);
    strcpy(limit.movement, "pendulum");
    limit.allowed = OMO_ALLOWED_NONE;
    ck_assert(!offered(care_pendulum(OMO_SEATED, NAN)));
    limit.allowed = OMO_ALLOWED_ASSISTED;
    ck_assert(offered(care_pendulum(OMO_SEATED, NAN)));
}
END_TEST

START_TEST(an_expired_limit_stays_until_it_is_renewed)
{
    struct omo_limit limit = care_limit("flexion", 90);
    person.limits = &limit;
    person.limit_count = 1;
    strcpy(limit.valid_until, "2024-05-20"); /* today is its last day */
    ck_assert_double_eq(offer_of(care_stay("flexion"))->ceiling_deg, 90);
    ck_assert(!says("run out"));
    strcpy(limit.valid_until, "2024-05-19");
    ck_assert_double_eq(offer_of(care_stay("flexion"))->ceiling_deg, 90);
    ck_assert(says("run out"));
    limit.allowed = OMO_ALLOWED_NONE;
    ck_assert(!offered(care_stay("flexion")));
}
END_TEST

static const unsigned needs_limit[] = {OMO_HISTORY_SURGERY, OMO_HISTORY_FRACTURE,
                                       OMO_HISTORY_DISLOCATION, OMO_HISTORY_DEVICE_NEW};

START_TEST(after_these_no_movement_without_a_stated_limit)
{
    struct omo_limit limits[] = {care_limit("flexion", 90), care_limit("pendulum", NAN),
                                 care_limit("hand-to-mouth", NAN)};
    person.history = needs_limit[_i];
    ck_assert(!offered(care_measure("flexion")));
    ck_assert(says("needs a limit"));
    ck_assert(!offered(care_stay("flexion")));
    ck_assert(!offered(care_pendulum(OMO_SEATED, NAN)));
    ck_assert(!offered(care_finding("hand-to-mouth")));
    ck_assert(offered(care_finding("nights-woken")));
    person.limits = limits;
    person.limit_count = 3;
    ck_assert(offered(care_measure("flexion")));
    ck_assert(offered(care_stay("flexion")));
    ck_assert(offered(care_pendulum(OMO_SEATED, NAN)));
    ck_assert(offered(care_finding("hand-to-mouth")));
    ck_assert(!offered(care_measure("abduction")));
    /* Stated for one arm is not stated for two, and a limit without an angle states none.
     */
    struct omo_step both = care_measure("flexion");
    both.side = OMO_STEP_BOTH;
    ck_assert(!offered(both));
    limits[0].ceiling_deg = NAN;
    ck_assert(!offered(care_measure("flexion")));
}
END_TEST

START_TEST(a_finding_that_moves_the_arm_leads_past_no_ceiling)
{
    struct omo_limit limits[] = {care_limit("flexion", 60),
                                 care_limit("back-pocket", NAN), care_limit("", 60)};
    ck_assert(offered(care_finding("behind-the-head")));
    person.limits = limits;
    person.limit_count = 2;
    ck_assert(!offered(care_finding("behind-the-head")));
    ck_assert(offered(care_finding("back-pocket")));
    ck_assert(offered(care_finding("end-feel")));
    limits[1].allowed = OMO_ALLOWED_ASSISTED;
    ck_assert(!offered(care_finding("back-pocket")));
    /* A limit of all movements names none. */
    person.limits = &limits[2];
    person.limit_count = 1;
    ck_assert(!offered(care_finding("behind-the-head")));
}
END_TEST

/* ---- hidden by history ---- */

static const struct {
    const char *name;
    unsigned history;
    enum omo_step_kind kind;
    const char *what;
    enum omo_position position;
    bool offered;
} hidden[] = {
    {"thinners", OMO_HISTORY_BLOOD_THINNERS, OMO_STEP_PRESS, "blade-back", 0, false},
    {"nodes", OMO_HISTORY_NODES_REMOVED, OMO_STEP_PRESS, "blade-back", 0, false},
    {"rays", OMO_HISTORY_RADIOTHERAPY, OMO_STEP_PRESS, "blade-back", 0, false},
    {"clot", OMO_HISTORY_CLOT, OMO_STEP_PRESS, "blade-back", 0, false},
    {"line", OMO_HISTORY_LINE_ARM, OMO_STEP_PRESS, "blade-back", 0, false},
    {"fracture", OMO_HISTORY_FRACTURE, OMO_STEP_PRESS, "blade-back", 0, false},
    {"fragile", OMO_HISTORY_FRAGILE_BONE, OMO_STEP_PRESS, "blade-back", 0, false},
    {"thinners move", OMO_HISTORY_BLOOD_THINNERS, OMO_STEP_STAY, "flexion", 0, true},
    {"device", OMO_HISTORY_DEVICE, OMO_STEP_PRESS, "chest-front", 0, false},
    {"device back", OMO_HISTORY_DEVICE, OMO_STEP_PRESS, "blade-back", 0, true},
    {"new device", OMO_HISTORY_DEVICE_NEW, OMO_STEP_PRESS, "chest-front", 0, false},
    {"dislocation out", OMO_HISTORY_DISLOCATION, OMO_STEP_STAY, "external-rotation", 0,
     false},
    {"dislocation back", OMO_HISTORY_DISLOCATION, OMO_STEP_STAY, "extension", 0, false},
    {"dislocation head", OMO_HISTORY_DISLOCATION, OMO_STEP_FINDING, "behind-the-head", 0,
     false},
    {"dislocation measures", OMO_HISTORY_DISLOCATION, OMO_STEP_MEASURE,
     "external-rotation", 0, true},
    {"joint in", OMO_HISTORY_JOINT_REPLACED, OMO_STEP_STAY, "internal-rotation", 0,
     false},
    {"joint back", OMO_HISTORY_JOINT_REPLACED, OMO_STEP_STAY, "extension", 0, false},
    {"joint across", OMO_HISTORY_JOINT_REPLACED, OMO_STEP_STAY, "adduction", 0, false},
    {"joint hand", OMO_HISTORY_JOINT_REPLACED, OMO_STEP_FINDING, "hand-behind-back", 0,
     false},
    {"joint pocket", OMO_HISTORY_JOINT_REPLACED, OMO_STEP_FINDING, "back-pocket", 0,
     false},
    {"joint up", OMO_HISTORY_JOINT_REPLACED, OMO_STEP_STAY, "flexion", 0, true},
    {"lying", OMO_HISTORY_PREGNANCY, OMO_STEP_STAY, "external-rotation", OMO_SUPINE,
     false},
    {"lying measured", OMO_HISTORY_PREGNANCY, OMO_STEP_MEASURE, "extension", OMO_PRONE,
     false},
    {"lying pressed", OMO_HISTORY_PREGNANCY, OMO_STEP_PRESS, "blade-back", OMO_SUPINE,
     false},
    {"on the side", OMO_HISTORY_PREGNANCY, OMO_STEP_STAY, "flexion", OMO_SIDE_LYING,
     true},
    {"dizzy", OMO_HISTORY_DIZZINESS, OMO_STEP_PENDULUM, "", OMO_STANDING, false},
    {"dizzy seated", OMO_HISTORY_DIZZINESS, OMO_STEP_PENDULUM, "", OMO_SEATED, true},
    {"glaucoma", OMO_HISTORY_GLAUCOMA, OMO_STEP_PENDULUM, "", OMO_STANDING, false},
    {"glaucoma seated", OMO_HISTORY_GLAUCOMA, OMO_STEP_PENDULUM, "", OMO_SEATED, true},
};

START_TEST(history_hides_what_is_risky)
{
    struct omo_step step =
        hidden[_i].kind == OMO_STEP_PRESS     ? care_press(hidden[_i].what)
        : hidden[_i].kind == OMO_STEP_STAY    ? care_stay(hidden[_i].what)
        : hidden[_i].kind == OMO_STEP_MEASURE ? care_measure(hidden[_i].what)
        : hidden[_i].kind == OMO_STEP_FINDING ? care_finding(hidden[_i].what)
                                              : care_pendulum(OMO_STANDING, NAN);
    /* Limits are stated, so that history alone decides. */
    struct omo_limit limits[] = {care_limit("", 120), care_limit(hidden[_i].what, 120)};
    person.limits = limits;
    person.limit_count = 2;
    step.position = hidden[_i].position;
    ck_assert_msg(offered(step), "%s: %s", hidden[_i].name, offer.why);
    person.history = hidden[_i].history;
    ck_assert_msg(offered(step) == hidden[_i].offered, "%s: %s", hidden[_i].name,
                  offer.why);
}
END_TEST

START_TEST(dizziness_leaves_the_breath_alone)
{
    struct omo_step stay = care_stay("flexion");
    stay.pace = OMO_PACE_PACED;
    person.history = OMO_HISTORY_DIZZINESS;
    ck_assert(offered(stay));
    ck_assert_int_eq(offer.pace, OMO_PACE_OWN);
}
END_TEST

START_TEST(what_asks_for_no_movement_is_always_offered)
{
    struct omo_step step = care_finding("nights-woken");
    person.history = (1u << OMO_HISTORY_BITS) - 1u;
    day = (struct omo_soreness){10, 10, 1, 1, 1};
    ck_assert(offered(step));
    for (int kind = OMO_STEP_DESK; kind <= OMO_STEP_PAIN; kind++) {
        step.kind = (enum omo_step_kind)kind;
        ck_assert(offered(step));
    }
}
END_TEST

#define COUNT(rows) ((int)(sizeof(rows) / sizeof(rows)[0]))

int main(void)
{
    Suite *suite = suite_create("care_offer");
    TCase *t = tcase_create("offer");
    tcase_add_checked_fixture(t, set_up, NULL);
    tcase_add_test(t, a_calm_day_offers_what_the_programme_says);
    tcase_add_test(t, a_sore_day_offers_comfort_alone);
    tcase_add_test(t, a_middle_day_rests_briefly_at_the_first_discomfort);
    tcase_add_test(t, who_starts_at_the_limit_stays_in_comfort);
    tcase_add_test(t, at_most_five_raises);
    tcase_add_test(t, a_ceiling_is_over_everything);
    tcase_add_test(t, a_limit_of_every_movement_or_either_side_counts);
    tcase_add_test(t, what_is_not_allowed_is_not_offered);
    tcase_add_test(t, an_expired_limit_stays_until_it_is_renewed);
    tcase_add_loop_test(t, after_these_no_movement_without_a_stated_limit, 0,
                        COUNT(needs_limit));
    tcase_add_test(t, a_finding_that_moves_the_arm_leads_past_no_ceiling);
    tcase_add_loop_test(t, history_hides_what_is_risky, 0, COUNT(hidden));
    tcase_add_test(t, dizziness_leaves_the_breath_alone);
    tcase_add_test(t, what_asks_for_no_movement_is_always_offered);
    suite_add_tcase(suite, t);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
