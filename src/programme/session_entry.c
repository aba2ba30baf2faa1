/* Steps that are only written down: findings, the desk, a note, how sore. */
#include <math.h>
#include <string.h>

#include "omogon/text.h"
#include "omogon/words.h"
#include "programme/session_private.h"

#define ANSWER_S       30
#define DESK_QUESTIONS 3

static void not_answered(struct omo_session *s)
{
    omo_session_finish(s, "skipped", "not answered");
}

static const struct omo_finding *finding_of(const struct omo_session *s)
{
    return omo_finding_find(omo_session_current_run(s)->step->finding);
}

static const char *const can[] = {OMO_WORD("Yes"), OMO_WORD("Yes, but it is hard"),
                                  OMO_WORD("No")};
static const char *const can_names[] = {"yes", "hard", "no"};

static void finding_page(struct omo_session *s, struct omo_session_page *page)
{
    const struct omo_step *step = omo_session_current_run(s)->step;
    const struct omo_finding *finding = finding_of(s);
    omo_page_step_title(s, page);
    if (!finding)
        return;
    omo_page_say(page, omo_word(finding->words));
    omo_page_line(page, step->words_for);
    omo_page_line(page, step->guidance_said);
    switch (finding->kind) {
    case OMO_FINDING_LEVEL:
    case OMO_FINDING_END_FEEL:
        page->need = OMO_NEED_CHOICE;
        for (int i = 0; finding->levels && finding->levels[i]; i++)
            omo_page_item(page, omo_word(finding->levels[i]));
        break;
    case OMO_FINDING_CAN:
        page->need = OMO_NEED_CHOICE;
        for (int i = 0; i < 3; i++)
            omo_page_item(page, omo_word(can[i]));
        break;
    case OMO_FINDING_SCORE:
        page->need = OMO_NEED_SCALE;
        page->least = 0;
        page->most = 10;
        break;
    case OMO_FINDING_COUNT_OF:
    case OMO_FINDING_TOTAL:
        page->need = OMO_NEED_NUMBER;
        page->least = finding->least;
        page->most = finding->most;
        break;
    }
    omo_text_copy(page->caution, sizeof page->caution, step->caution);
}

static bool finding_answer(struct omo_session *s, double value)
{
    const struct omo_finding *finding = finding_of(s);
    const struct run *run = omo_session_current_run(s);
    if (!finding)
        return false;
    const struct omo_session_page *page = omo_session_page(s);
    if (!omo_session_whole(value, page->need == OMO_NEED_CHOICE ? 0 : page->least,
                           page->need == OMO_NEED_CHOICE ? page->item_count - 1
                                                         : page->most))
        return false;
    const char *text = "";
    if (finding->kind == OMO_FINDING_CAN)
        text = can_names[(int)value];
    else if (finding->kind == OMO_FINDING_LEVEL || finding->kind == OMO_FINDING_END_FEEL)
        text = finding->levels[(int)value];
    omo_session_note(s, finding->name, finding->sided ? omo_side_name(run->side) : "",
                     run->step->words_for, text[0] ? (double)NAN : value,
                     finding->kind == OMO_FINDING_SCORE ? "0-10" : "", text);
    omo_session_finish(s, "done", "");
    return true;
}

/* ---- the desk -------------------------------------------------------------------- */

static const struct {
    const char *item, *words;
} desk[DESK_QUESTIONS] = {
    {"desk-shoulder-up", OMO_WORD("At the desk: is the shoulder up?")},
    {"desk-elbow-tight", OMO_WORD("Is the elbow held tight to the side?")},
    {"desk-arm-tense", OMO_WORD("Is the arm tense?")},
};

static void desk_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_step_title(s, page);
    omo_page_say(page, omo_word(desk[s->half].words));
    omo_page_line(page, omo_session_current_run(s)->step->guidance_said);
    omo_page_yes_no(page);
}

static bool desk_answer(struct omo_session *s, double value)
{
    omo_session_note(s, desk[s->half].item,
                     omo_side_name(omo_session_current_run(s)->side), "", value < 0.5, "",
                     "");
    s->half++;
    if (s->half < DESK_QUESTIONS)
        omo_session_enter(s, STAGE_DESK);
    else
        omo_session_finish(s, "done", "");
    return true;
}

/* ---- a note, and how sore -------------------------------------------------------- */

static void note_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_step_title(s, page);
    omo_page_say(page, omo_word("Anything to note?"));
    omo_page_line(page, omo_session_current_run(s)->step->guidance_said);
}

static bool note_text(struct omo_session *s, const char *text)
{
    if (text[0])
        omo_session_note(s, "note", "", omo_session_current_run(s)->step->name, NAN, "",
                         text);
    omo_session_finish(s, text[0] ? "done" : "skipped", "");
    return true;
}

/** What was answered at the beginning, or in an earlier step, is not asked again. */
static double known_pain(const struct omo_session *s, enum omo_pain_when when)
{
    switch (when) {
    case OMO_PAIN_NOW:
        return s->done_count == 0 ? s->soreness.now : (double)NAN;
    case OMO_PAIN_WORST_24H:
        return s->soreness.worst_24h;
    case OMO_PAIN_DURING:
        return s->worst_during;
    case OMO_PAIN_NEXT_MORNING:
        return s->morning;
    case OMO_PAIN_AFTER:
    case OMO_PAIN_WHEN_COUNT:
        break;
    }
    return (double)NAN;
}

static void pain_enter(struct omo_session *s)
{
    double known = known_pain(s, omo_session_current_run(s)->step->when);
    if (isnan(known))
        return;
    s->row.pain_end = known;
    omo_session_finish(s, "done", "told before");
}

static void pain_page(struct omo_session *s, struct omo_session_page *page)
{
    static const char *const say[OMO_PAIN_WHEN_COUNT] = {
        [OMO_PAIN_NOW] = OMO_WORD("How sore is the shoulder now?"),
        [OMO_PAIN_WORST_24H] = OMO_WORD("And at its worst in the last 24 hours?"),
        [OMO_PAIN_DURING] = OMO_WORD("How sore was it at most so far?"),
        [OMO_PAIN_AFTER] = OMO_WORD("How sore is it after that?"),
        [OMO_PAIN_NEXT_MORNING] =
            OMO_WORD("How sore was it the morning after last time?"),
    };
    omo_page_step_title(s, page);
    omo_page_say(page, omo_word(say[omo_session_current_run(s)->step->when]));
    omo_page_line(page, omo_word("0 is no pain, 10 the worst you can think of."));
}

static bool pain_answer(struct omo_session *s, double value)
{
    const struct run *run = omo_session_current_run(s);
    enum omo_pain_when when = run->step->when;
    char item[48] = "";
    omo_text_add(item, sizeof item, "pain-%s", omo_pain_when_name(when));
    s->row.pain_end = value;
    omo_session_note(s, item, omo_side_name(run->side), run->step->name, value, "0-10",
                     "");
    bool of_now =
        when == OMO_PAIN_NOW || when == OMO_PAIN_DURING || when == OMO_PAIN_AFTER;
    if (of_now &&
        omo_pain_ends(s->settings.care, s->offer.pain_limit, s->row.pain_start, value))
        s->careful = true; /* what follows is offered as on a sore day */
    omo_session_finish(s, "done", "");
    return true;
}

static const struct stage_ops stages[STAGE_COUNT] = {
    [STAGE_FINDING] = {OMO_NEED_CHOICE, ANSWER_S, false, NULL, finding_page,
                       finding_answer, .go_on = not_answered},
    [STAGE_DESK] = {OMO_NEED_CHOICE, ANSWER_S, false, NULL, desk_page, desk_answer,
                    .go_on = not_answered},
    [STAGE_NOTE] = {OMO_NEED_TEXT, ANSWER_S, false, NULL, note_page, .text = note_text,
                    .go_on = not_answered},
    [STAGE_PAIN] = {OMO_NEED_SCALE, ANSWER_S, false, pain_enter, pain_page, pain_answer,
                    .go_on = not_answered},
};

const struct stage_ops *omo_stage_entry(enum stage stage)
{
    return stage >= STAGE_FINDING && stage <= STAGE_PAIN ? &stages[stage] : NULL;
}
