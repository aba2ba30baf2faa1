#include <math.h>

#include "omogon/text.h"
#include "omogon/words.h"
#include "programme/session_private.h"

const char *const omo_session_cautions = OMO_WORD(
    "A measuring and record-keeping aid, not a medical device. Stop at pain. Ask a "
    "licensed practitioner before you begin, and follow what they told you.");

void omo_page_title(struct omo_session_page *page, const char *text)
{
    omo_text_copy(page->title, sizeof page->title, text);
}

void omo_page_say(struct omo_session_page *page, const char *text)
{
    omo_text_copy(page->instruction, sizeof page->instruction, text);
}

void omo_page_line(struct omo_session_page *page, const char *text)
{
    if (text[0] && page->line_count < OMO_SESSION_LINES)
        omo_text_copy(page->line[page->line_count++], sizeof page->line[0], text);
}

void omo_page_item(struct omo_session_page *page, const char *text)
{
    if (page->item_count < OMO_SESSION_ITEMS)
        omo_text_copy(page->item[page->item_count++], sizeof page->item[0], text);
}

void omo_page_yes_no(struct omo_session_page *page)
{
    omo_page_item(page, omo_word("Yes"));
    omo_page_item(page, omo_word("No"));
}

const char *omo_session_side_words(const struct run *run)
{
    if (run->both)
        return omo_word("both arms");
    return run->side == OMO_LEFT ? omo_word("your left") : omo_word("your right");
}

/** What a step is about, for its title: the movement, the area, or its kind. */
static const char *subject(const struct omo_step *step)
{
    const struct omo_area *area;
    switch (step->kind) {
    case OMO_STEP_PRESS:
        area = omo_area_find(step->area);
        return area ? omo_word(area->words) : step->area;
    case OMO_STEP_PENDULUM:
        return omo_word("circles with the arm hanging");
    case OMO_STEP_STAY:
    case OMO_STEP_MEASURE:
        return omo_movement_words(step->movement);
    case OMO_STEP_FINDING:
        return omo_word("to be written down");
    case OMO_STEP_DESK:
        return omo_word("how you hold the arm at the desk");
    case OMO_STEP_NOTE:
        return omo_word("a note");
    case OMO_STEP_PAIN:
        return omo_word("how sore it is");
    case OMO_STEP_KIND_COUNT:
        break;
    }
    return "";
}

static bool of_an_arm(const struct omo_step *step)
{
    return step->kind == OMO_STEP_PRESS || step->kind == OMO_STEP_PENDULUM ||
           step->kind == OMO_STEP_STAY || step->kind == OMO_STEP_MEASURE;
}

void omo_page_step_title(struct omo_session *s, struct omo_session_page *page)
{
    const struct run *run = omo_session_current_run(s);
    page->title[0] = '\0';
    if (of_an_arm(run->step))
        omo_text_add(page->title, sizeof page->title, omo_word("Step %d of %d: %s, %s"),
                     s->at + 1, s->run_count, subject(run->step),
                     omo_session_side_words(run));
    else
        omo_text_add(page->title, sizeof page->title, omo_word("Step %d of %d: %s"),
                     s->at + 1, s->run_count, subject(run->step));
}

void omo_step_dose(struct omo_session *s, char *text, size_t size)
{
    const struct run *run = omo_session_current_run(s);
    const struct omo_offer *offer = &s->offer;
    text[0] = '\0';
    switch (run->step->kind) {
    case OMO_STEP_PRESS:
        if (offer->comfort_only)
            omo_text_add(text, size, "%s",
                         omo_word("Support the arm on a cushion and let it rest."));
        else if (offer->breaths > 0)
            omo_text_add(text, size, omo_word("Press lightly and rest for %d breaths."),
                         offer->breaths);
        else
            omo_text_add(text, size, omo_word("Press lightly and rest for %.0f seconds."),
                         offer->hold_s);
        break;
    case OMO_STEP_PENDULUM:
        omo_text_add(text, size,
                     omo_word("%d circles each way, as wide as is comfortable."),
                     offer->circles);
        if (offer->load_kg > 0) {
            char load_kg[32];
            omo_number_text(offer->load_kg, 1, load_kg, sizeof load_kg);
            omo_text_add(text, size, omo_word(" With %s kg in the hand, if you like."),
                         load_kg);
        }
        break;
    case OMO_STEP_STAY:
        if (offer->breaths > 0)
            omo_text_add(text, size,
                         omo_word("%d times: reach to where it stops, and rest there for "
                                  "%d breaths."),
                         offer->repetitions, offer->breaths);
        else
            omo_text_add(text, size,
                         omo_word("%d times: reach to where it stops, and rest there for "
                                  "up to %.0f seconds."),
                         offer->repetitions, offer->hold_s);
        break;
    case OMO_STEP_MEASURE:
        omo_text_add(text, size,
                     offer->comfort_only
                         ? omo_word("Raise it %d times, only as far as is comfortable.")
                         : omo_word("Raise it %d times, and lower it slowly."),
                     offer->repetitions);
        break;
    case OMO_STEP_FINDING:
    case OMO_STEP_DESK:
    case OMO_STEP_NOTE:
    case OMO_STEP_PAIN:
    case OMO_STEP_KIND_COUNT:
        break;
    }
    if (isfinite(offer->ceiling_deg) && of_an_arm(run->step))
        omo_text_add(text, size, omo_word(" Not above %.0f degrees."),
                     offer->ceiling_deg);
    if (offer->assisted && of_an_arm(run->step))
        omo_text_add(text, size, "%s",
                     omo_word(" With the other hand helping; not by its own strength."));
}
