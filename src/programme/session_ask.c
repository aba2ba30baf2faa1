/* What is asked before the first step and after the last one. */
#include <math.h>
#include <string.h>

#include "omogon/text.h"
#include "omogon/words.h"
#include "programme/session_private.h"

#define READ_S   8  /* a page that only needs reading, hands free */
#define ANSWER_S 25 /* a question that may stay unanswered */

/* ---- cautions, side -------------------------------------------------------------- */

static void caution_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_title(page, s->settings.programme->title_said);
    omo_page_say(page, omo_word("Gently. Stop at pain."));
    omo_page_line(page, omo_word(omo_session_cautions));
    omo_page_line(page,
                  omo_word(
                      "You can press \"enough for today\" at any time. That counts as "
                      "a completed day."));
}

static void caution_go_on(struct omo_session *s)
{
    omo_session_enter(s, STAGE_SIDE);
}

static void side_enter(struct omo_session *s)
{
    if (s->person.affected_known)
        omo_session_enter(s, STAGE_NEW);
}

static void side_page(struct omo_session *s, struct omo_session_page *page)
{
    (void)s;
    omo_page_say(page, omo_word("Which shoulder is it about?"));
    omo_page_item(page, omo_word("your left"));
    omo_page_item(page, omo_word("your right"));
}

static bool side_answer(struct omo_session *s, double value)
{
    s->person.affected = value < 0.5 ? OMO_LEFT : OMO_RIGHT;
    s->person.affected_known = true;
    omo_session_note(s, "affected-side", "", "", (double)NAN, "",
                     omo_side_name(s->person.affected));
    omo_session_enter(s, STAGE_NEW);
    return true;
}

/* ---- how sore -------------------------------------------------------------------- */

static bool day_is_new(const struct omo_session *s)
{
    return s->settings.last_date && s->settings.last_date[0] &&
           strcmp(s->settings.last_date, s->person.today) != 0;
}

static bool asked_before(const struct omo_session *s, enum stage stage)
{
    const struct omo_soreness *sore = &s->soreness;
    switch (stage) {
    case STAGE_MORNING:
        return !day_is_new(s) || !isnan(s->morning);
    case STAGE_SORE_NOW:
        return !isnan(sore->now);
    case STAGE_SORE_WORST:
        return !isnan(sore->worst_24h);
    case STAGE_WOKEN:
        return sore->woken >= 0;
    case STAGE_CONSTANT:
        return sore->constant >= 0;
    case STAGE_BEFORE_END:
        return sore->before_end >= 0;
    default:
        return false;
    }
}

/** The next question that has no answer yet; the day's page after the last. */
static void next_question(struct omo_session *s, enum stage from)
{
    struct omo_soreness *sore = &s->soreness;
    if (sore->now == 0 && sore->worst_24h == 0) {
        /* Who feels nothing is not asked when they feel it. */
        if (sore->constant < 0)
            sore->constant = 0;
        if (sore->before_end < 0)
            sore->before_end = 0;
    }
    enum stage stage = from + 1;
    while (stage < STAGE_DAY && asked_before(s, stage))
        stage++;
    omo_session_enter(s, stage);
}

static void question_enter(struct omo_session *s)
{
    /* Entered from above, or by going back, which asks again. */
    if (s->stage == STAGE_MORNING && asked_before(s, STAGE_MORNING))
        next_question(s, STAGE_MORNING);
}

static void question_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_title(page, omo_word("How sore today?"));
    switch (s->stage) {
    case STAGE_MORNING:
        omo_page_say(page, omo_word("How sore was it the morning after last time?"));
        break;
    case STAGE_SORE_NOW:
        omo_page_say(page, omo_word("How sore is the shoulder now?"));
        break;
    case STAGE_SORE_WORST:
        omo_page_say(page, omo_word("And at its worst in the last 24 hours?"));
        break;
    case STAGE_WOKEN:
        omo_page_say(page, omo_word("Did it wake you last night?"));
        break;
    case STAGE_CONSTANT:
        omo_page_say(page, omo_word("Does it hurt at rest, or all night?"));
        break;
    default:
        omo_page_say(page, omo_word("Does it hurt before the arm reaches its end?"));
        break;
    }
    if (s->stage <= STAGE_SORE_WORST)
        omo_page_line(page, omo_word("0 is no pain, 10 the worst you can think of."));
    else
        omo_page_yes_no(page);
}

static bool scale_answer(struct omo_session *s, double value)
{
    const char *item = "pain-next-morning";
    if (s->stage == STAGE_MORNING) {
        s->morning = value;
    } else if (s->stage == STAGE_SORE_NOW) {
        s->soreness.now = value;
        item = "pain-now";
    } else if (s->stage == STAGE_SORE_WORST) {
        s->soreness.worst_24h = value;
        item = "pain-worst-24h";
    }
    omo_session_note(s, item, omo_side_name(s->person.affected), "", value, "0-10", "");
    next_question(s, s->stage);
    return true;
}

static bool yes_no_answer(struct omo_session *s, double value)
{
    int yes = value < 0.5;
    const char *item = "woken";
    if (s->stage == STAGE_WOKEN) {
        s->soreness.woken = yes;
    } else if (s->stage == STAGE_CONSTANT) {
        s->soreness.constant = yes;
        item = "constant";
    } else {
        s->soreness.before_end = yes;
        item = "before-end";
    }
    omo_session_note(s, item, omo_side_name(s->person.affected), "", yes, "", "");
    next_question(s, s->stage);
    return true;
}

static void unanswered(struct omo_session *s)
{
    next_question(s, s->stage);
}

/** Answers that were given beforehand are written down like the others. */
static void day_enter(struct omo_session *s)
{
    const struct omo_soreness *told = &s->settings.told;
    const char *side = omo_side_name(s->person.affected);
    if (s->settings.begun_count > 0)
        return;
    if (!isnan(told->now))
        omo_session_note(s, "pain-now", side, "", told->now, "0-10", "");
    if (!isnan(told->worst_24h))
        omo_session_note(s, "pain-worst-24h", side, "", told->worst_24h, "0-10", "");
    if (told->woken >= 0)
        omo_session_note(s, "woken", side, "", told->woken, "", "");
    if (told->constant >= 0)
        omo_session_note(s, "constant", side, "", told->constant, "", "");
    if (told->before_end >= 0)
        omo_session_note(s, "before-end", side, "", told->before_end, "", "");
}

static void day_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_title(page, s->settings.programme->title_said);
    enum omo_sore sore = omo_sore_of(s->settings.care, &s->soreness);
    if (sore == OMO_SORE_SORE || s->careful) {
        omo_page_say(page, omo_word("A sore day: comfort first"));
        omo_page_line(page,
                      omo_word(
                          "Only what is comfortable today: no long rests at the stop "
                          "and no marks to reach."));
    } else if (sore == OMO_SORE_MIDDLE) {
        omo_page_say(page, omo_word("A middling day: go to the first discomfort"));
        omo_page_line(page, omo_word("Rest there briefly, then lower slowly."));
    } else {
        omo_page_say(page, omo_word("A calm day: take your time"));
        omo_page_line(page, omo_word("Rest where it stops, and breathe."));
    }
    omo_page_line(page, omo_word(omo_session_cautions));
}

static void day_go_on(struct omo_session *s)
{
    omo_session_order(s);
    if (s->settings.begun_count == 0) {
        struct omo_step_row row;
        omo_session_begin_row(s, &row, NULL);
        omo_text_copy(row.result, sizeof row.result, "begun");
        row.pain_start = s->soreness.now;
        omo_session_step_row(s, &row, s->now_s);
    }
    s->at = 0;
    omo_session_next(s);
}

/* ---- the end --------------------------------------------------------------------- */

static void after_page(struct omo_session *s, struct omo_session_page *page)
{
    (void)s;
    omo_page_say(page, omo_word("How sore is it now, at the end?"));
    omo_page_line(page, omo_word("0 is no pain, 10 the worst you can think of."));
}

static bool after_answer(struct omo_session *s, double value)
{
    omo_session_note(s, "pain-after", omo_side_name(s->person.affected), "", value,
                     "0-10", "");
    s->row.pain_end = value;
    omo_session_enter(s, STAGE_OVER);
    return true;
}

static void after_enter(struct omo_session *s)
{
    omo_session_begin_row(s, &s->row, NULL); /* of the session itself */
    if (s->end == OMO_SESSION_GOES_ON)
        s->end = OMO_SESSION_DONE;
}

static void after_skip(struct omo_session *s)
{
    omo_session_enter(s, STAGE_OVER);
}

static void over_enter(struct omo_session *s)
{
    static const char *const result[] = {[OMO_SESSION_DONE] = "done",
                                         [OMO_SESSION_WAS_ENOUGH] = "enough",
                                         [OMO_SESSION_STOPPED] = "stopped"};
    if (s->end == OMO_SESSION_LEFT)
        return; /* goes on where it was */
    struct omo_step_row row = s->row;
    if (s->end == OMO_SESSION_STOPPED) {
        omo_session_begin_row(s, &row, NULL);
        omo_text_copy(row.reason, sizeof row.reason,
                      s->stopping ? "smaller range with a new sign" : "red flag");
    }
    omo_text_copy(row.result, sizeof row.result, result[s->end]);
    row.pain_start = s->soreness.now;
    omo_session_step_row(s, &row, 0);
}

static void over_page(struct omo_session *s, struct omo_session_page *page)
{
    char text[160] = "";
    omo_page_title(page, s->settings.programme->title_said);
    if (s->end == OMO_SESSION_LEFT) {
        omo_page_say(page, omo_word("It goes on from here next time"));
        omo_page_line(page, omo_word("What was done is written down."));
        return;
    }
    if (s->end == OMO_SESSION_STOPPED) {
        omo_urgent_page(s, page);
        return;
    }
    omo_page_say(page, omo_word("That is it for today"));
    omo_text_add(text, sizeof text, omo_word("%d of %d steps done, all written down."),
                 s->done_count, s->run_count);
    omo_page_line(page, text);
    omo_page_line(page, omo_word("A shoulder changes over months, not days."));
    omo_page_line(page,
                  omo_word("If it is sorer tomorrow morning, do less, and tell your "
                           "practitioner."));
}

/* ---- all of them ----------------------------------------------------------------- */

static const struct stage_ops stages[STAGE_COUNT] = {
    [STAGE_CAUTION] = {OMO_NEED_GO_ON, READ_S, false, NULL, caution_page,
                       .go_on = caution_go_on},
    [STAGE_SIDE] = {OMO_NEED_CHOICE, 0, false, side_enter, side_page, side_answer},
    [STAGE_MORNING] = {OMO_NEED_SCALE, ANSWER_S, true, question_enter, question_page,
                       scale_answer, .unanswered = unanswered},
    [STAGE_SORE_NOW] = {OMO_NEED_SCALE, ANSWER_S, true, question_enter, question_page,
                        scale_answer, .unanswered = unanswered},
    [STAGE_SORE_WORST] = {OMO_NEED_SCALE, ANSWER_S, true, question_enter, question_page,
                          scale_answer, .unanswered = unanswered},
    [STAGE_WOKEN] = {OMO_NEED_CHOICE, ANSWER_S, true, question_enter, question_page,
                     yes_no_answer, .unanswered = unanswered},
    [STAGE_CONSTANT] = {OMO_NEED_CHOICE, ANSWER_S, true, question_enter, question_page,
                        yes_no_answer, .unanswered = unanswered},
    [STAGE_BEFORE_END] = {OMO_NEED_CHOICE, ANSWER_S, true, question_enter, question_page,
                          yes_no_answer, .unanswered = unanswered},
    [STAGE_DAY] = {OMO_NEED_GO_ON, READ_S, false, day_enter, day_page,
                   .go_on = day_go_on},
    [STAGE_AFTER] = {OMO_NEED_SCALE, ANSWER_S, false, after_enter, after_page,
                     after_answer, .go_on = after_skip},
    [STAGE_OVER] = {OMO_NEED_NOTHING, 0, false, over_enter, over_page},
};

const struct stage_ops *omo_stage_ask(enum stage stage)
{
    bool mine = stage <= STAGE_SIDE || (stage >= STAGE_MORNING && stage <= STAGE_DAY) ||
                stage >= STAGE_AFTER;
    return mine ? &stages[stage] : NULL;
}
