/* The rules over one step: first what forbids it, then what makes it less. */
#include <math.h>
#include <string.h>

#include "omogon/words.h"
#include "programme/care_parts.h"

static double least_of(double a, double b)
{
    return isnan(a) || b < a ? b : a;
}

/** As the programme has it, before any rule. */
static void wished(const struct omo_care *care, const struct omo_step *step,
                   const struct omo_programme *programme, struct omo_offer *out)
{
    *out = (struct omo_offer){.ceiling_deg = step->ceiling_deg,
                              .warn_deg = NAN,
                              .target_deg = NAN,
                              .hold_s = step->hold_s,
                              .breaths = step->breaths,
                              .ease_ups = step->ease_ups,
                              .repetitions = step->repetitions,
                              .circles = step->circles,
                              .pace = step->pace,
                              .pain_limit = step->pain_limit};
    if (isnan(out->pain_limit))
        out->pain_limit = programme != NULL ? programme->pain_limit : care->pain_limit;
    if (out->repetitions > care->raises_most)
        out->repetitions = care->raises_most;
}

/** Not offered, for this reason; nothing is left of the doses. */
static bool forbid(struct omo_offer *out, const char *why)
{
    omo_why(out->why, sizeof out->why, "%s", why);
    out->hold_s = NAN;
    out->breaths = out->ease_ups = out->repetitions = out->circles = 0;
    return false;
}

static bool is_angle(const struct omo_step *step)
{
    return step->kind == OMO_STEP_STAY || step->kind == OMO_STEP_MEASURE;
}

/** What the limits in the sheet say of a movement; false: it is not offered. */
static bool limits_allow(const struct omo_step *step,
                         const struct omo_person_state *person,
                         const struct omo_limits *limits, struct omo_offer *out)
{
    bool finding = step->kind == OMO_STEP_FINDING;
    /* A hand behind the head passes a ceiling unseen: only its own limit allows it. */
    bool stated = finding ? limits->named
                          : limits->stated && (!is_angle(step) || limits->ceiling_on_all);
    const char *no_limit =
        omo_word("Left out: after surgery, a fracture, a dislocation or with a new heart "
                 "device a movement needs a limit in your sheet, and this one has none.");
    const char *none =
        omo_word("Left out: the limits in your sheet do not allow this movement.");
    const char *silent =
        omo_word("Left out: the limits in your sheet do not speak of this one.");
    if (limits->allowed == OMO_ALLOWED_NONE ||
        (finding && limits->allowed != OMO_ALLOWED_ACTIVE))
        return forbid(out, none);
    if (!stated && (person->history & OMO_HISTORY_NEEDS_LIMIT) != 0)
        return forbid(out, no_limit);
    if (finding && !limits->named && limits->any)
        return forbid(out, silent);
    /* An arm that hangs does nothing by itself. */
    out->assisted = is_angle(step) && limits->allowed == OMO_ALLOWED_ASSISTED;
    if (!isnan(limits->ceiling_deg))
        out->ceiling_deg = least_of(out->ceiling_deg, limits->ceiling_deg);
    return true;
}

/** Comfort steps: measuring within comfort, the pendulum and supported rest. */
static bool comfort_allows(const struct omo_step *step, const char *limited,
                           struct omo_offer *out)
{
    const char *reaching =
        omo_word("Left out today: it would mean reaching further than is comfortable.");
    const char *sore = omo_word(
        "Left out today: it is a sore day, so the arm is not brought to where it stops.");
    const char *pain = omo_word(
        "Left out today: pain is at its limit already, so the arm is not brought "
        "to where it stops.");
    if (step->kind == OMO_STEP_FINDING && limited != NULL)
        return forbid(out, reaching);
    if (step->kind == OMO_STEP_STAY)
        return forbid(out, out->sore == OMO_SORE_SORE ? sore : pain);
    return true;
}

static void warn(const struct omo_care *care, double u95_deg, struct omo_offer *out)
{
    if (!isfinite(u95_deg) || u95_deg < 0.0)
        u95_deg = care->unknown_u95_deg;
    out->warn_deg = out->ceiling_deg - u95_deg;
}

/** The lowest mark of the sides, below where the warning comes; none without all of them.
 *  An active step that is allowed with help only keeps to both of its marks. */
static void mark(const struct omo_care *care, const struct omo_step *step,
                 const struct omo_person_state *person,
                 const struct omo_soreness *soreness, unsigned sides,
                 struct omo_offer *out)
{
    const bool mode[] = {step->mode == OMO_MODE_ACTIVE,
                         step->mode == OMO_MODE_ASSISTED || out->assisted};
    double target = HUGE_VAL;
    char said[sizeof out->why] = "";
    for (int i = 0; i < 4; i++) {
        char why[sizeof out->why] = "";
        enum omo_side side = i < 2 ? OMO_LEFT : OMO_RIGHT;
        double own;
        if ((sides & 1u << side) == 0 || !mode[i % 2])
            continue;
        own = omo_mark_today(care, person, step->movement, omo_side_name(side),
                             i % 2 == 0 ? "active" : "assisted", soreness, out->warn_deg,
                             why, sizeof why);
        if (!isnan(target) && !(own >= target)) {
            target = own;
            memcpy(said, why, sizeof said);
        }
    }
    if (out->why[0] == '\0')
        memcpy(out->why, said, sizeof out->why);
    /* A mark at the start of the movement would ask for nothing. */
    if (target > 0.0)
        out->target_deg = target;
}

/** A stay by the day: to the first discomfort on a middle one. */
static void stay_dose(const struct omo_care *care, struct omo_offer *out)
{
    if (out->sore != OMO_SORE_MIDDLE)
        return;
    double hold = out->breaths > 0 ? care->middle_hold_most_s : out->hold_s;
    out->hold_s = fmin(care->middle_hold_most_s, hold);
    out->breaths = 0;
    out->ease_ups = 0;
}

/** Why a step is offered as less, the gravest first; NULL: nothing of this. */
static const char *why_less(const struct omo_step *step, const struct omo_limits *limits,
                            const struct omo_offer *out)
{
    if (out->comfort_only && step->kind == OMO_STEP_PRESS)
        return omo_word(
            "No pressing today: support the arm on a cushion and rest it there.");
    if (out->comfort_only && out->sore == OMO_SORE_SORE)
        return omo_word(
            "A sore day: small and easy, and only as far as it does not hurt.");
    if (out->comfort_only)
        return omo_word(
            "Pain is at its limit already: small and easy, and only as far as "
            "it does not hurt more.");
    if (out->assisted && step->mode == OMO_MODE_ACTIVE)
        return omo_word("The limits in your sheet allow this with help only: let the "
                        "other hand or the wall carry the arm.");
    if (limits->expired != NULL)
        return omo_word(
            "A limit in your sheet has run out; it counts until it is renewed.");
    if (limits->lowest != NULL && limits->lowest->ceiling_deg <= out->ceiling_deg)
        return omo_word("There is a limit in your sheet; it is never passed.");
    if (step->kind == OMO_STEP_STAY && out->sore == OMO_SORE_MIDDLE)
        return omo_word(
            "A middle day: only to the first discomfort, and a short rest there.");
    return NULL;
}

/** What forbids a step, one rule after the other. */
static bool is_allowed(const struct omo_care *care, const struct omo_step *step,
                       const struct omo_person_state *person, unsigned sides,
                       const char *limited, const struct omo_limits *limits,
                       struct omo_offer *out)
{
    const char *hidden = omo_hidden_why(step, person->history);
    if (hidden != NULL)
        return forbid(out, hidden);
    if (limited != NULL && !limits_allow(step, person, limits, out))
        return false;
    if (step->kind == OMO_STEP_PRESS &&
        !omo_press_offered(care, step, person, sides, out)) {
        char why[sizeof out->why];
        memcpy(why, out->why, sizeof why);
        return forbid(out, why);
    }
    return !out->comfort_only || comfort_allows(step, limited, out);
}

void omo_offer_step(const struct omo_care *care, const struct omo_step *step,
                    const struct omo_programme *programme,
                    const struct omo_person_state *person,
                    const struct omo_soreness *soreness, double u95_deg,
                    struct omo_offer *out)
{
    unsigned sides = omo_sides_of(step, person);
    const char *limited = omo_limited_name(step);
    struct omo_limits limits;
    wished(care, step, programme, out);
    out->sore = omo_sore_of(care, soreness);
    /* Whoever starts at the limit, or cannot say, stays in comfort. */
    out->comfort_only = out->sore == OMO_SORE_SORE || !(soreness->now < out->pain_limit);
    if ((person->history & OMO_HISTORY_DIZZINESS) != 0)
        out->pace = OMO_PACE_OWN;
    omo_limits_of(person, limited, sides, &limits);
    out->offered = is_allowed(care, step, person, sides, limited, &limits, out);
    if (!out->offered)
        return;
    if (step->kind == OMO_STEP_PENDULUM)
        omo_swing_dose(care, step, person, sides, &limits, out);
    if (is_angle(step)) {
        warn(care, u95_deg, out);
        omo_hold_dose(care, step, person, sides, out);
        stay_dose(care, out);
    }
    const char *why = why_less(step, &limits, out);
    if (why != NULL && (limited != NULL || step->kind == OMO_STEP_PRESS))
        omo_why(out->why, sizeof out->why, "%s", why);
    if (is_angle(step) && !out->comfort_only)
        mark(care, step, person, soreness, sides, out);
}
