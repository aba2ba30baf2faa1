/* Holds that are timed: press and rest, and reach and rest without pictures. */
#include <math.h>

#include "omogon/text.h"
#include "omogon/words.h"
#include "programme/session_private.h"

#define ANSWER_S 20
#define READY_S  4  /* to find the place before the time runs */
#define REACH_S  15 /* hands free: the way up */
/* A breath of one's own, where it is only guessed how long it takes: 6 a minute, the
   slow end, so that nobody is hurried. (Our choice.) */
#define OWN_BREATH_S 10

static double breath_s(const struct omo_session *s)
{
    const struct omo_step *step = omo_session_current_run(s)->step;
    bool paced = s->offer.pace == OMO_PACE_PACED && step->breaths_per_min > 0;
    return paced ? 60 / step->breaths_per_min : OWN_BREATH_S;
}

double omo_session_hold_s(const struct omo_session *s)
{
    return s->offer.breaths > 0 ? s->offer.breaths * breath_s(s) : s->offer.hold_s;
}

/** The countdown of a hold, and the line to breathe by where one is wanted. */
static void hold_page(struct omo_session *s, struct omo_session_page *page)
{
    const struct omo_step *step = omo_session_current_run(s)->step;
    double since = isnan(s->hold_s) ? 0 : s->now_s - s->hold_s;
    page->total_s = omo_session_hold_s(s);
    page->left_s = fmax(0, page->total_s - since);
    page->breaths_wanted = s->offer.breaths;
    if (s->offer.pace == OMO_PACE_PACED && step->breaths_per_min > 0) {
        page->breath = omo_breath_line(since, step->breaths_per_min, OMO_BREATH_IN_SHARE);
        page->breaths = omo_breaths_done(since, step->breaths_per_min);
        omo_page_line(page,
                      omo_word("Breathe with the line if you like. Stop if you feel "
                               "light-headed."));
    } else {
        omo_page_line(page, omo_word("Breathe at your own pace."));
    }
}

/* ---- press and rest -------------------------------------------------------------- */

static void tender_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_step_title(s, page);
    omo_page_say(page, s->stage == STAGE_TENDER_BEFORE
                           ? omo_word("How tender is the place?")
                           : omo_word("And how tender is it now?"));
    omo_page_line(page,
                  omo_word("Touch it lightly. 0 is not at all, 10 cannot bear it."));
}

static bool tender_answer(struct omo_session *s, double value)
{
    if (s->stage == STAGE_TENDER_BEFORE) {
        s->row.tenderness_before = value;
        omo_session_enter(s, STAGE_PRESS);
    } else {
        s->row.tenderness_after = value;
        omo_session_finish(s, s->dose_met ? "done" : "part", "");
    }
    return true;
}

static void tender_unanswered(struct omo_session *s)
{
    if (s->stage == STAGE_TENDER_BEFORE)
        omo_session_enter(s, STAGE_PRESS);
    else
        omo_session_finish(s, s->dose_met ? "done" : "part", "");
}

static void press_page(struct omo_session *s, struct omo_session_page *page)
{
    const struct omo_area *area = omo_area_find(omo_session_current_run(s)->step->area);
    omo_page_step_title(s, page);
    bool rest = s->offer.comfort_only; /* nothing is pressed today */
    omo_page_say(page, rest ? omo_word("Rest, the arm supported")
                       : isnan(s->hold_s)
                           ? omo_word("Find the place, lean in lightly")
                           : omo_word("Rest there, no harder than comfortable"));
    hold_page(s, page);
    if (rest)
        return;
    if (area)
        omo_page_line(page, omo_word(area->avoid));
    omo_text_copy(page->caution, sizeof page->caution,
                  omo_word(
                      "Tingling, a pulse under the finger, heat or a lump: let go."));
}

static void press_done(struct omo_session *s)
{
    double held = isnan(s->hold_s) ? 0 : s->now_s - s->hold_s;
    s->row.held_s = held;
    if (s->offer.breaths > 0)
        s->row.breaths = (int)(held / breath_s(s));
    s->dose_met = held >= omo_session_hold_s(s) - 0.5;
    if (s->offer.comfort_only)
        omo_session_finish(s, s->dose_met ? "done" : "part", "");
    else
        omo_session_enter(s, STAGE_TENDER_AFTER);
}

static void press_time(struct omo_session *s)
{
    if (isnan(s->hold_s)) {
        if (s->now_s - s->stage_s >= READY_S) {
            s->hold_s = s->now_s;
            s->serial++;
        }
        return;
    }
    if (s->now_s - s->hold_s >= omo_session_hold_s(s))
        press_done(s);
}

/* ---- reach and rest, by the clock ------------------------------------------------ */

static void reach_page(struct omo_session *s, struct omo_session_page *page)
{
    char text[160] = "";
    omo_page_step_title(s, page);
    omo_page_say(page, s->offer.comfort_only ? omo_word("Reach as far as is comfortable")
                                             : omo_word("Reach to where it stops"));
    omo_text_add(text, sizeof text, omo_word("%d of %d. Go on when you are there."),
                 s->reaches + 1, s->offer.repetitions);
    omo_page_line(page, text);
    omo_page_line(page, omo_session_current_run(s)->step->guidance_said);
    omo_text_copy(page->caution, sizeof page->caution,
                  omo_word("Stop at pain: lower slowly and rest."));
}

static void reach_go_on(struct omo_session *s)
{
    s->eased = 0;
    omo_session_enter(s, STAGE_REST);
}

static void rest_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_step_title(s, page);
    omo_page_say(page, s->eased > 0
                           ? omo_word("If it is comfortable: up a little, and rest")
                           : omo_word("Rest here"));
    hold_page(s, page);
    omo_page_line(page, omo_word("Let the shoulder sink."));
    omo_text_copy(page->caution, sizeof page->caution,
                  omo_word("Stop at pain: lower slowly and rest."));
}

/** This rest is over: once more a little further, once more from below, or done. */
static void rest_over(struct omo_session *s)
{
    double held = s->now_s - s->hold_s;
    if (!(s->row.held_s >= held)) /* the longest one */
        s->row.held_s = held;
    if (s->eased < s->offer.ease_ups && held >= omo_session_hold_s(s) - 0.5) {
        s->eased++;
        if (s->row.ease_ups < 0)
            s->row.ease_ups = 0;
        s->row.ease_ups++;
        omo_session_enter(s, STAGE_REST);
        return;
    }
    s->reaches++;
    s->row.repetitions = s->reaches;
    s->dose_met = s->reaches >= s->offer.repetitions;
    if (s->dose_met)
        omo_session_finish_asked(s);
    else
        omo_session_enter(s, STAGE_REACH);
}

static void rest_enter(struct omo_session *s)
{
    s->hold_s = s->now_s;
}

static void rest_time(struct omo_session *s)
{
    if (s->now_s - s->hold_s >= omo_session_hold_s(s))
        rest_over(s);
}

static const struct stage_ops stages[STAGE_COUNT] = {
    [STAGE_TENDER_BEFORE] = {OMO_NEED_SCALE, ANSWER_S, false, NULL, tender_page,
                             tender_answer, .unanswered = tender_unanswered},
    [STAGE_PRESS] = {OMO_NEED_TIME, 0, false, NULL, press_page, .go_on = press_done,
                     .time = press_time},
    [STAGE_TENDER_AFTER] = {OMO_NEED_SCALE, ANSWER_S, false, NULL, tender_page,
                            tender_answer, .unanswered = tender_unanswered},
    [STAGE_REACH] = {OMO_NEED_GO_ON, REACH_S, false, NULL, reach_page,
                     .go_on = reach_go_on},
    [STAGE_REST] = {OMO_NEED_TIME, 0, false, rest_enter, rest_page, .go_on = rest_over,
                    .time = rest_time},
};

const struct stage_ops *omo_stage_hold(enum stage stage)
{
    return stage >= STAGE_TENDER_BEFORE && stage <= STAGE_REST ? &stages[stage] : NULL;
}
