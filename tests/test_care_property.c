/* Thousands of people, days and steps drawn by lot: no offer passes a limit, nothing that
 * is forbidden is offered, and a risk more never offers more. What is forbidden is said
 * here once again, in other words than in src/programme. */
#include <math.h>
#include <string.h>

#include <check.h>

#include "care_fixture.h"
#include "care_world.h"

#define STATES 30000
static struct omo_offer offer_in(const struct care_world *w)
{
    struct omo_offer offer;
    omo_offer_step(care_loaded(), &w->step, NULL, &w->person, &w->day, w->u95_deg,
                   &offer);
    return offer;
}

/* ---- what may never be ---- */

/** Whether the step may be about this side. */
static bool about(const struct care_world *w, const char *side)
{
    const char *affected = w->person.affected == OMO_LEFT ? "left" : "right";
    if (strcmp(side, "both") == 0 || w->step.side == OMO_STEP_BOTH)
        return true;
    if (w->step.side == OMO_STEP_LEFT || w->step.side == OMO_STEP_RIGHT)
        return strcmp(side, w->step.side == OMO_STEP_LEFT ? "left" : "right") == 0;
    if (!w->person.affected_known)
        return true;
    return (strcmp(side, affected) == 0) == (w->step.side == OMO_STEP_AFFECTED);
}

static bool angle(const struct care_world *w)
{
    return w->step.kind == OMO_STEP_STAY || w->step.kind == OMO_STEP_MEASURE;
}

static const char *moved(const struct care_world *w)
{
    if (w->step.kind == OMO_STEP_FINDING)
        return strcmp(w->step.finding, "nights-woken") == 0 ? NULL : w->step.finding;
    if (w->step.kind == OMO_STEP_PENDULUM)
        return "pendulum";
    return angle(w) ? w->step.movement : NULL;
}

static const char *forbidden(const struct care_world *w)
{
    const unsigned no_press = OMO_HISTORY_BLOOD_THINNERS | OMO_HISTORY_NODES_REMOVED |
                              OMO_HISTORY_RADIOTHERAPY | OMO_HISTORY_CLOT |
                              OMO_HISTORY_LINE_ARM | OMO_HISTORY_FRACTURE |
                              OMO_HISTORY_FRAGILE_BONE;
    const unsigned low_head = OMO_HISTORY_DIZZINESS | OMO_HISTORY_GLAUCOMA;
    const unsigned h = w->person.history;
    const char *movement = moved(w);
    double limit = isnan(w->step.pain_limit) ? 4 : w->step.pain_limit;
    bool sore =
        w->day.now >= 7 || w->day.worst_24h >= 7 || w->day.constant || w->day.before_end;
    bool stated = false;
    if (w->step.kind == OMO_STEP_PRESS && (h & no_press) != 0)
        return "a press";
    if (w->step.kind == OMO_STEP_PRESS &&
        ((strcmp(w->step.area, "blade-front") == 0 && !w->person.taught_front) ||
         (strcmp(w->step.area, "armpit-back") == 0 && !w->person.taught_armpit)))
        return "an area that was not taught";
    if (w->step.kind == OMO_STEP_PENDULUM && w->step.position == OMO_STANDING &&
        (h & low_head) != 0)
        return "a low head";
    if (w->step.kind == OMO_STEP_STAY && (sore || w->day.now >= limit))
        return "a stay on a sore day";
    for (size_t i = 0; i < w->person.past_step_count; i++) {
        const struct omo_past_step *p = &w->past_steps[i];
        if (w->step.kind == OMO_STEP_PRESS && p->kind == OMO_STEP_PRESS &&
            p->ended_by_sign && strcmp(p->area, w->step.area) == 0 && about(w, p->side))
            return "an area that a sign has ended";
    }
    for (size_t i = 0; movement != NULL && i < w->person.limit_count; i++) {
        const struct omo_limit *l = &w->limits[i];
        if (!about(w, l->side) ||
            (l->movement[0] != '\0' && strcmp(l->movement, movement) != 0))
            continue;
        stated = true;
        if (l->allowed == OMO_ALLOWED_NONE)
            return "a movement that is not allowed";
    }
    if (movement != NULL && !stated && (h & OMO_HISTORY_NEEDS_LIMIT) != 0)
        return "a movement without a limit";
    return NULL;
}

/** What is wrong with an offer, or NULL. */
static const char *wrong(const struct care_world *w, const struct omo_offer *o)
{
    const struct omo_step *s = &w->step;
    if (!o->offered)
        return o->why[0] != '\0' ? NULL : "no reason";
    if (forbidden(w) != NULL)
        return forbidden(w);
    for (size_t i = 0; angle(w) && i < w->person.limit_count; i++) {
        const struct omo_limit *l = &w->limits[i];
        if (!about(w, l->side) || isnan(l->ceiling_deg) ||
            (l->movement[0] != '\0' && strcmp(l->movement, s->movement) != 0))
            continue;
        if (!(o->ceiling_deg <= l->ceiling_deg))
            return "a ceiling above a limit";
    }
    if (!isnan(s->ceiling_deg) && !(o->ceiling_deg <= s->ceiling_deg))
        return "a ceiling above the programme's";
    if (!isnan(o->ceiling_deg) && angle(w) && !(o->warn_deg <= o->ceiling_deg))
        return "a warning above the ceiling";
    if (o->target_deg > o->ceiling_deg || o->target_deg > o->warn_deg)
        return "a target above the ceiling";
    if (o->comfort_only && (!isnan(o->target_deg) || o->load_kg > 0))
        return "a target or weight on a sore day";
    if (o->hold_s > (isnan(s->hold_s) ? 15 : s->hold_s) || o->breaths > s->breaths ||
        o->circles > s->circles || o->ease_ups > s->ease_ups || o->repetitions > 5 ||
        o->repetitions > s->repetitions)
        return "more than the programme says";
    if (s->kind == OMO_STEP_STAY && o->sore == OMO_SORE_MIDDLE &&
        (!(o->hold_s <= 15) || o->breaths > 0 || o->ease_ups > 0))
        return "a long rest on a middle day";
    if (o->load_kg > 0 && (!(o->load_kg <= s->load_kg) || !w->person.weight_ticked ||
                           o->sore != OMO_SORE_CALM))
        return "a weight that was not allowed";
    for (size_t i = 0; o->load_kg > 0 && i < w->person.limit_count; i++) {
        if (about(w, w->limits[i].side) && !(o->load_kg <= w->limits[i].load_kg))
            return "a weight above a limit";
    }
    return NULL;
}

START_TEST(no_offer_passes_a_limit_and_nothing_forbidden_is_offered)
{
    static struct care_world w;
    int offered = 0, targets = 0, weights = 0, ceilings = 0;
    for (int i = 0; i < STATES; i++) {
        care_world_draw(&w);
        struct omo_offer offer = offer_in(&w);
        const char *what = wrong(&w, &offer);
        ck_assert_msg(what == NULL, "state %d, kind %s: %s (%s)", i,
                      omo_step_kind_name(w.step.kind), what, offer.why);
        offered += offer.offered;
        targets += offer.offered && !isnan(offer.target_deg);
        ceilings += offer.offered && !isnan(offer.ceiling_deg);
        weights += offer.load_kg > 0;
    }
    /* Else the lots miss what they are for. */
    ck_assert_int_gt(offered, STATES / 4);
    ck_assert_int_lt(offered, STATES * 3 / 4);
    ck_assert_int_gt(targets, 100);
    ck_assert_int_gt(ceilings, 1000);
    ck_assert_int_gt(weights, 20);
}
END_TEST

/* ---- a risk more ---- */

/** One more risk; its name. */
static const char *add_risk(struct care_world *w)
{
    size_t limit =
        w->person.limit_count > 0 ? (size_t)care_lot((int)w->person.limit_count) : 0;
    size_t done = (size_t)care_lot(CARE_ROWS);
    switch (care_lot(10)) {
    case 0:
        w->day.now = fmin(10, w->day.now + 1 + care_lot(4));
        return "more pain now";
    case 1:
        w->day.worst_24h = fmin(10, w->day.worst_24h + 1 + care_lot(4));
        if (care_lot(4) == 0)
            w->day.worst_24h = NAN;
        return "a worse day";
    case 2:
        w->day.woken = care_lot(2) == 0 ? 1 : -1;
        return "a night woken";
    case 3:
        w->day.constant = care_lot(2) == 0 ? 1 : -1;
        return "constant pain";
    case 4:
        /* A ceiling where none was states one, which may be what was missing. */
        if (!isnan(w->limits[limit].ceiling_deg))
            w->limits[limit].ceiling_deg =
                fmin(w->limits[limit].ceiling_deg, care_lot(90));
        return "a lower ceiling";
    case 5:
        w->limits[limit].allowed =
            (enum omo_allowed)care_lot((int)w->limits[limit].allowed + 1);
        w->limits[limit].load_kg = NAN;
        return "less allowed";
    case 6:
        w->person.taught_front = w->person.taught_armpit = w->person.weight_ticked =
            false;
        return "nothing ticked";
    case 7:
        w->past_steps[done].discomfort = true;
        w->past_steps[done].ended_by_sign |= care_lot(2) == 0;
        return "discomfort or a sign";
    case 8:
        w->step.pain_limit =
            fmin(isnan(w->step.pain_limit) ? 4 : w->step.pain_limit, care_lot(4));
        return "a lower pain limit";
    default:
        w->person.history |= 1u << care_lot(OMO_HISTORY_BITS);
        return "more history";
    }
}

/** What is offered more than before, or NULL. */
static const char *more(const struct omo_offer *now, const struct omo_offer *before)
{
    if (!now->offered)
        return NULL;
    if (!before->offered)
        return "the step";
    if (before->comfort_only && !now->comfort_only)
        return "beyond comfort";
    if (!isnan(before->ceiling_deg) && !(now->ceiling_deg <= before->ceiling_deg))
        return "a higher ceiling";
    if (!isnan(now->target_deg) && !(now->target_deg <= before->target_deg))
        return "a higher target";
    if (now->breaths > before->breaths)
        return "more breaths";
    if (now->hold_s > (before->breaths > 0 ? 15 : before->hold_s))
        return "a longer hold";
    if (now->ease_ups > before->ease_ups || now->repetitions > before->repetitions ||
        now->circles > before->circles)
        return "more of it";
    if (now->load_kg > before->load_kg)
        return "more weight";
    if (now->pace == OMO_PACE_PACED && before->pace == OMO_PACE_OWN)
        return "paced breath";
    return before->assisted && !now->assisted ? "active instead of assisted" : NULL;
}

START_TEST(a_risk_more_never_offers_more)
{
    static struct care_world w, worse;
    int less = 0;
    for (int i = 0; i < STATES; i++) {
        care_world_draw(&w);
        worse = w;
        care_world_point(&worse);
        const char *risk = add_risk(&worse);
        struct omo_offer before = offer_in(&w), now = offer_in(&worse);
        const char *what = more(&now, &before);
        ck_assert_msg(what == NULL, "state %d, kind %s, %s: %s", i,
                      omo_step_kind_name(w.step.kind), risk, what);
        less += more(&before, &now) != NULL;
    }
    ck_assert_int_gt(less, STATES / 50);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("care_property");
    TCase *tests = tcase_create("property");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, no_offer_passes_a_limit_and_nothing_forbidden_is_offered);
    tcase_add_test(tests, a_risk_more_never_offers_more);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
