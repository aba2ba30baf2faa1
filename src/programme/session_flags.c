/* Red flags: anything new, the whole list, and what then. Never what it might be. */
#include "omogon/text.h"
#include "omogon/words.h"
#include "programme/session_private.h"

static void new_enter(struct omo_session *s)
{
    enum omo_list_due due =
        omo_red_flags_due(s->settings.care,
                          s->settings.last_date ? s->settings.last_date : "",
                          s->person.today, false);
    s->list_whole = due == OMO_LIST_WHOLE;
    if (s->settings.nothing_new) {
        omo_session_note(s, "red-flags-asked", "", s->list_whole ? "whole" : "short", 0,
                         "", "told beforehand");
        omo_session_enter(s, STAGE_MORNING);
    } else if (s->list_whole) {
        omo_session_enter(s, STAGE_FLAGS_NOW);
    }
}

static void new_page(struct omo_session *s, struct omo_session_page *page)
{
    (void)s;
    omo_page_say(page, omo_word("Anything new since last time?"));
    omo_page_line(page,
                  omo_word(
                      "Chest pain or hard breathing, a face that droops, weak or numb on "
                      "one side, an arm that is cold, blue or out of shape."));
    omo_page_line(page,
                  omo_word("Fever, a hot, red or swollen joint or arm, an arm that does "
                           "not lift after a fall, a seizure or a shock."));
    omo_page_line(page,
                  omo_word(
                      "A lump, lost weight, pain all night that never lets up, clumsy "
                      "hands, both shoulders."));
    omo_page_item(page, omo_word("No, nothing new"));
    omo_page_item(page, omo_word("A fall, an injection or an operation"));
    omo_page_item(page, omo_word("Yes, or not sure: show me the list"));
}

static bool new_answer(struct omo_session *s, double value)
{
    if (value < 0.5) {
        omo_session_note(s, "red-flags-asked", "", "short", 0, "", "");
        omo_session_enter(s, STAGE_MORNING);
        return true;
    }
    if (value < 1.5)
        omo_session_note(s, "fall-injection-operation", "", "", 1, "", "");
    s->list_whole = true;
    omo_session_enter(s, STAGE_FLAGS_NOW);
    return true;
}

static enum omo_urgency asked_urgency(enum stage stage)
{
    if (stage == STAGE_FLAGS_NOW)
        return OMO_URGENCY_NOW;
    return stage == STAGE_FLAGS_TODAY ? OMO_URGENCY_TODAY : OMO_URGENCY_DAYS;
}

/** The index-th flag of an urgency, by its place in the table; -1 past the last. */
static int flag_of(enum omo_urgency urgency, int index)
{
    const struct omo_red_flag *flag;
    for (int i = 0; i < FLAGS_MOST && (flag = omo_red_flag_at(i)) != NULL; i++)
        if (flag->urgency == urgency && index-- == 0)
            return i;
    return -1;
}

static void flags_page(struct omo_session *s, struct omo_session_page *page)
{
    omo_page_title(page, s->stopping ? omo_word("The arm went less far than lately")
                                     : omo_word("Before you begin"));
    omo_page_say(page, omo_word("Do you have any of these now?"));
    omo_page_line(page,
                  omo_word("Tick what is true, then go on. Nothing ticked: none of it."));
    int place;
    for (int i = 0; (place = flag_of(asked_urgency(s->stage), i)) >= 0; i++) {
        omo_page_item(page, omo_word(omo_red_flag_at(place)->words));
        page->ticked |= s->ticked[place] ? 1u << i : 0;
    }
}

static bool flags_answer(struct omo_session *s, double value)
{
    int place = flag_of(asked_urgency(s->stage), (int)value);
    if (place < 0)
        return false;
    s->ticked[place] = !s->ticked[place];
    return true;
}

/** The list is done, or one of it is urgent enough to leave the rest. */
static void flags_done(struct omo_session *s)
{
    int told = 0;
    s->urgency = OMO_URGENCY_NONE;
    for (int i = 0; i < FLAGS_MOST && omo_red_flag_at(i); i++) {
        if (!s->ticked[i])
            continue;
        told++;
        omo_session_note(s, "red-flag", "", omo_red_flag_at(i)->name, 1, "", "");
        if (omo_red_flag_at(i)->urgency > s->urgency)
            s->urgency = omo_red_flag_at(i)->urgency;
    }
    omo_session_note(s, "red-flags-asked", "", "whole", told, "", "");
    if (s->urgency != OMO_URGENCY_NONE || s->stopping)
        omo_session_enter(s, STAGE_URGENT);
    else
        omo_session_enter(s, STAGE_MORNING);
}

static bool any_ticked(const struct omo_session *s, enum omo_urgency urgency)
{
    int place;
    for (int i = 0; (place = flag_of(urgency, i)) >= 0; i++)
        if (s->ticked[place])
            return true;
    return false;
}

static void flags_go_on(struct omo_session *s)
{
    if (s->stage == STAGE_FLAGS_NOW && !any_ticked(s, OMO_URGENCY_NOW))
        omo_session_enter(s, STAGE_FLAGS_TODAY);
    else if (s->stage == STAGE_FLAGS_TODAY && !any_ticked(s, OMO_URGENCY_TODAY))
        omo_session_enter(s, STAGE_FLAGS_DAYS);
    else
        flags_done(s);
}

void omo_urgent_page(struct omo_session *s, struct omo_session_page *page)
{
    if (s->urgency == OMO_URGENCY_NOW)
        omo_page_say(page, omo_word("Call the emergency number now"));
    else if (s->urgency == OMO_URGENCY_TODAY)
        omo_page_say(page, omo_word("See someone today"));
    else if (s->urgency == OMO_URGENCY_DAYS)
        omo_page_say(page, omo_word("See someone within days"));
    else
        omo_page_say(page, omo_word("Stop here for today"));
    if (s->urgency != OMO_URGENCY_NONE)
        omo_page_line(page, omo_urgency_words(s->urgency));
    if (s->stopping)
        omo_page_line(page,
                      omo_word("The arm went less far than lately, and something is new "
                               "with it. Tell your practitioner before you go on."));
    else if (s->urgency == OMO_URGENCY_DAYS)
        omo_page_line(page, omo_word("Until then, comfortable movements only."));
}

static void urgent_go_on(struct omo_session *s)
{
    if (s->stopping || s->urgency >= OMO_URGENCY_TODAY) {
        s->end = OMO_SESSION_STOPPED;
        omo_session_enter(s, STAGE_OVER);
        return;
    }
    s->careful = true;
    omo_session_enter(s, STAGE_MORNING);
}

static const struct stage_ops stages[STAGE_COUNT] = {
    [STAGE_NEW] = {OMO_NEED_CHOICE, 0, true, new_enter, new_page, new_answer},
    [STAGE_FLAGS_NOW] = {OMO_NEED_TICKS, 0, true, NULL, flags_page, flags_answer,
                         .go_on = flags_go_on},
    [STAGE_FLAGS_TODAY] = {OMO_NEED_TICKS, 0, true, NULL, flags_page, flags_answer,
                           .go_on = flags_go_on},
    [STAGE_FLAGS_DAYS] = {OMO_NEED_TICKS, 0, true, NULL, flags_page, flags_answer,
                          .go_on = flags_go_on},
    [STAGE_URGENT] = {OMO_NEED_GO_ON, 0, false, NULL, omo_urgent_page,
                      .go_on = urgent_go_on},
};

const struct stage_ops *omo_stage_flags(enum stage stage)
{
    return stage >= STAGE_NEW && stage <= STAGE_URGENT ? &stages[stage] : NULL;
}
