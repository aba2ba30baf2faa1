/* A step from its first page to its row, whatever its kind; pain and signs on the way. */
#include <math.h>
#include <string.h>

#include "omogon/text.h"
#include "omogon/words.h"
#include "programme/session_private.h"

#define INTRO_S  12
#define READ_S   8
#define ANSWER_S 20

const struct run *omo_session_current_run(const struct omo_session *s)
{
    bool inside = s->stage >= STAGE_INTRO && s->stage < STAGE_AFTER;
    return inside && s->at < s->run_count ? &s->run[s->at] : NULL;
}

/** The step for this arm alone, through the rules. */
static void make_offer(struct omo_session *s, const struct run *run)
{
    struct omo_step step = *run->step;
    struct omo_soreness sore = s->soreness;
    step.side = run->both               ? OMO_STEP_BOTH
                : run->side == OMO_LEFT ? OMO_STEP_LEFT
                                        : OMO_STEP_RIGHT;
    if (s->careful)
        sore.constant = 1; /* until somebody has looked: as on a sore day */
    omo_offer_step(s->settings.care, &step, s->settings.programme, &s->person, &sore,
                   s->settings.u95_deg, &s->offer);
    if (s->offer.offered && step.kind == OMO_STEP_MEASURE && !s->settings.camera) {
        s->offer.offered = false;
        omo_text_copy(s->offer.why, sizeof s->offer.why,
                      omo_word("Measuring needs the camera."));
    }
}

static enum stage first_stage(const struct omo_session *s)
{
    bool camera = s->settings.camera;
    switch (s->run[s->at].step->kind) {
    case OMO_STEP_FINDING:
        return STAGE_FINDING;
    case OMO_STEP_DESK:
        return STAGE_DESK;
    case OMO_STEP_NOTE:
        return STAGE_NOTE;
    case OMO_STEP_PAIN:
        return STAGE_PAIN;
    case OMO_STEP_PRESS:
        return s->offer.comfort_only ? STAGE_PRESS : STAGE_TENDER_BEFORE;
    case OMO_STEP_PENDULUM:
        return camera ? STAGE_SWING : STAGE_SWING_BLIND;
    case OMO_STEP_STAY:
        return camera ? STAGE_STAY : STAGE_REACH;
    case OMO_STEP_MEASURE:
    case OMO_STEP_KIND_COUNT:
        break;
    }
    return STAGE_MEASURE;
}

void omo_session_next(struct omo_session *s)
{
    omo_stay_destroy(s->stay);
    omo_pendulum_destroy(s->pendulum);
    s->stay = NULL;
    s->pendulum = NULL;
    omo_session_resume(s);
    if (s->at >= s->run_count) {
        omo_session_enter(s, STAGE_AFTER);
        return;
    }
    const struct run *run = &s->run[s->at];
    make_offer(s, run);
    omo_session_begin_row(s, &s->row, run);
    s->row.pain_start = s->soreness.now;
    s->row.ceiling_deg = s->offer.ceiling_deg;
    s->row.target_deg = s->offer.target_deg;
    s->row.load_kg = s->offer.load_kg > 0 ? s->offer.load_kg : (double)NAN;
    s->began_s = s->now_s;
    s->row_closed = false;
    s->dose_met = s->far_enough = s->invited = false;
    s->reaches = s->eased = s->half = s->stop = 0;
    s->eye_deg = s->still_since_s = NAN;
    memset(&s->swing, 0, sizeof s->swing);
    memset(&s->stayed, 0, sizeof s->stayed);
    s->swing.diameter_cm = s->swing.mean_diameter_cm = s->swing.growth_cm =
        s->swing.loose_ratio = NAN;
    s->stayed.stop_deg = s->stayed.gain_deg = NAN;
    if (!s->offer.offered) {
        omo_session_close(s, "not-offered", s->offer.why);
        omo_session_enter(s, STAGE_NOT_OFFERED);
        return;
    }
    enum stage first = first_stage(s);
    bool written = first >= STAGE_FINDING && first <= STAGE_PAIN;
    omo_session_enter(s, written ? first : STAGE_INTRO);
}

void omo_session_close(struct omo_session *s, const char *result, const char *reason)
{
    if (s->row_closed)
        return;
    s->row_closed = true;
    omo_text_copy(s->row.result, sizeof s->row.result, result);
    omo_text_copy(s->row.reason, sizeof s->row.reason, reason);
    if (!strcmp(result, "done") || !strcmp(result, "part"))
        s->done_count++;
    omo_session_step_row(s, &s->row, s->began_s);
}

static void advance(struct omo_session *s)
{
    s->at++;
    omo_session_next(s);
}

void omo_session_finish(struct omo_session *s, const char *result, const char *reason)
{
    omo_session_close(s, result, reason);
    advance(s);
}

void omo_session_finish_asked(struct omo_session *s)
{
    omo_session_enter(s, STAGE_PAIN_AFTER);
}

static void finish_by_dose(struct omo_session *s)
{
    omo_session_finish(s, s->dose_met ? "done" : "part", "");
}

bool omo_session_can_hurt(const struct omo_session *s)
{
    switch (s->stage) {
    case STAGE_PRESS:
    case STAGE_REACH:
    case STAGE_REST:
    case STAGE_SWING:
    case STAGE_SWING_BLIND:
    case STAGE_STAY:
        return true;
    default:
        return false;
    }
}

bool omo_session_pain(struct omo_session *s, double pain)
{
    const struct run *run = omo_session_current_run(s);
    omo_session_note(s, "pain-during", run->both ? "both" : omo_side_name(run->side),
                     run->step->name, pain, "0-10", "");
    if (!(s->row.pain_most >= pain))
        s->row.pain_most = pain;
    if (!(s->worst_during >= pain))
        s->worst_during = pain;
    bool ends =
        omo_pain_ends(s->settings.care, s->offer.pain_limit, s->row.pain_start, pain);
    s->careful |= ends; /* what follows is offered as on a sore day */
    return ends;
}

/* ---- the first page -------------------------------------------------------------- */

static void intro_page(struct omo_session *s, struct omo_session_page *page)
{
    static const char *const say[OMO_STEP_KIND_COUNT] = {
        [OMO_STEP_PRESS] = OMO_WORD("Press lightly, and rest"),
        [OMO_STEP_PENDULUM] = OMO_WORD("Let the arm hang and circle"),
        [OMO_STEP_STAY] = OMO_WORD("Reach to where it stops, and rest"),
        [OMO_STEP_MEASURE] = OMO_WORD("See how far it goes today"),
    };
    const struct omo_step *step = omo_session_current_run(s)->step;
    char dose[512];
    omo_page_step_title(s, page);
    omo_page_say(page, say[step->kind] ? omo_word(say[step->kind]) : "");
    omo_step_dose(s, dose, sizeof dose);
    omo_page_line(page, dose);
    bool rest = step->kind == OMO_STEP_PRESS && s->offer.comfort_only;
    if (rest) /* nothing is pressed today */
        omo_page_say(page, omo_word("Rest, the arm supported"));
    else
        omo_page_line(page, step->guidance_said);
    omo_page_line(page, s->offer.why);
    if (step->kind == OMO_STEP_PRESS && !rest) {
        const struct omo_area *area = omo_area_find(step->area);
        if (area)
            omo_page_line(page, omo_word(area->avoid));
    }
    omo_text_copy(page->caution, sizeof page->caution,
                  step->caution_said[0]
                      ? step->caution_said
                      : omo_word("Stop at pain: lower slowly and rest."));
}

static void intro_go_on(struct omo_session *s)
{
    omo_session_enter(s, first_stage(s));
}

static void not_offered_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_step_title(s, page);
    omo_page_say(page, omo_word("Not today"));
    omo_page_line(page, s->offer.why);
}

/* ---- pain ------------------------------------------------------------------------ */

static void scale_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_step_title(s, page);
    omo_page_say(page, s->stage == STAGE_HOW_MUCH ? omo_word("How much does it hurt?")
                                                  : omo_word("How sore was it at most?"));
    omo_page_line(page, omo_word("0 is no pain, 10 the worst you can think of."));
}

static bool pain_after_answer(struct omo_session *s, double value)
{
    s->row.pain_end = value;
    if (omo_session_pain(s, value))
        omo_session_enter(s, STAGE_LOWER);
    else
        finish_by_dose(s);
    return true;
}

void omo_session_return(struct omo_session *s)
{
    s->stage = s->before_pain;
    s->stage_s = s->now_s;
    /* A hold goes on from where it was. */
    s->hold_s = s->before_hold_s + (s->now_s - s->before_s);
    s->serial++;
    omo_session_touch(s);
}

static bool how_much_answer(struct omo_session *s, double value)
{
    if (omo_session_pain(s, value))
        omo_session_enter(s, STAGE_LOWER);
    else
        omo_session_return(s);
    return true;
}

static void how_much_unanswered(struct omo_session *s)
{
    omo_session_enter(s,
                      STAGE_LOWER); /* who says that it hurts and no more is believed */
}

static void lower_enter(struct omo_session *s)
{
    omo_session_close(s, "pain", "pain limit"); /* kept at once */
}

static void lower_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_step_title(s, page);
    omo_page_say(page, omo_word("Lower slowly, support the elbow, rest."));
    omo_page_line(page,
                  omo_word("If it has not settled by tomorrow, do less and tell your "
                           "practitioner."));
}

/* ---- signs ----------------------------------------------------------------------- */

static const struct {
    const char *name, *words;
} signs[] = {
    {"tingling", OMO_WORD("It tingles or goes numb")},
    {"pulse", OMO_WORD("There is a pulse under the finger")},
    {"heat", OMO_WORD("The place is hot")},
    {"lump", OMO_WORD("There is a lump")},
};
#define SIGN_COUNT (int)(sizeof signs / sizeof signs[0])

static void sign_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_step_title(s, page);
    omo_page_say(page, omo_word("Let go, and rest. What is it?"));
    omo_page_line(page,
                  omo_word("Leave this place alone until your practitioner has looked at "
                           "it. A hot place or a lump: see someone."));
    for (int i = 0; i < SIGN_COUNT; i++)
        omo_page_item(page, omo_word(signs[i].words));
}

static bool sign_answer(struct omo_session *s, double value)
{
    const char *name = signs[(int)value].name;
    const struct run *run = omo_session_current_run(s);
    omo_session_note(s, "sign", omo_side_name(run->side), name, 1, "", run->step->name);
    omo_session_finish(s, "sign", name);
    return true;
}

static void sign_unanswered(struct omo_session *s)
{
    omo_session_finish(s, "sign", "");
}

/* ---- after a measurement --------------------------------------------------------- */

static void new_sign_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_step_title(s, page);
    omo_page_say(page, omo_word("Is there new pain, weakness or numbness?"));
    omo_page_line(page,
                  omo_word("The arm went less far than lately, by more than measuring "
                           "error."));
    omo_page_yes_no(page);
}

static bool new_sign_answer(struct omo_session *s, double value)
{
    if (value > 0.5) {
        omo_session_finish_asked(s);
        return true;
    }
    omo_session_note(s, "new-sign", omo_side_name(omo_session_current_run(s)->side),
                     omo_session_current_run(s)->step->movement, 1, "", "");
    omo_session_close(s, s->dose_met ? "done" : "part", ""); /* what was measured stays */
    s->stopping = true;
    s->list_whole = true;
    omo_session_enter(s, STAGE_FLAGS_NOW);
    return true;
}

static void lags_page(struct omo_session *s, struct omo_session_page *page)
{
    char why[256] = "";
    omo_page_step_title(s, page);
    omo_page_say(page, omo_word("Tell a clinician"));
    if (omo_active_lags(s->settings.care, &s->person, why, sizeof why))
        omo_page_line(page, why);
}

static void lags_go_on(struct omo_session *s)
{
    omo_session_finish_asked(s);
}

static const struct stage_ops stages[STAGE_COUNT] = {
    [STAGE_INTRO] = {OMO_NEED_GO_ON, INTRO_S, false, NULL, intro_page,
                     .go_on = intro_go_on},
    [STAGE_NOT_OFFERED] = {OMO_NEED_GO_ON, READ_S, false, NULL, not_offered_page,
                           .go_on = advance},
    [STAGE_PAIN_AFTER] = {OMO_NEED_SCALE, ANSWER_S, false, NULL, scale_page,
                          pain_after_answer, .go_on = finish_by_dose},
    [STAGE_HOW_MUCH] = {OMO_NEED_SCALE, ANSWER_S, false, NULL, scale_page,
                        how_much_answer, .unanswered = how_much_unanswered},
    [STAGE_LOWER] = {OMO_NEED_GO_ON, READ_S, false, lower_enter, lower_page,
                     .go_on = advance},
    [STAGE_SIGN] = {OMO_NEED_CHOICE, ANSWER_S, false, NULL, sign_page, sign_answer,
                    .unanswered = sign_unanswered},
    /* Not left to time: it decides whether anything more is offered. */
    [STAGE_NEW_SIGN] = {OMO_NEED_CHOICE, 0, false, NULL, new_sign_page, new_sign_answer},
    [STAGE_LAGS] = {OMO_NEED_GO_ON, READ_S, false, NULL, lags_page, .go_on = lags_go_on},
};

const struct stage_ops *omo_stage_step(enum stage stage)
{
    return stage >= STAGE_INTRO && stage <= STAGE_LAGS ? &stages[stage] : NULL;
}
