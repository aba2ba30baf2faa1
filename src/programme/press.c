/* Press and rest: what was taught, what is tender, and what ended an area. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/words.h"
#include "programme/care_parts.h"

/* Five breaths are the shortest hold by breaths. */
#define BREATHS_LEAST 5

/** One session's tenderness of an area: the highest of that day. */
struct day {
    char date[16];
    double tenderness;
};

static bool is_of(const struct omo_past_step *past, const char *area, unsigned sides)
{
    return past->kind == OMO_STEP_PRESS && strcmp(past->area, area) == 0 &&
           omo_side_is_among(past->side, sides);
}

static int newest_first(const void *a, const void *b)
{
    return strcmp(((const struct day *)b)->date, ((const struct day *)a)->date);
}

/** Days of an area on one side, newest first, to free(); NULL without one. */
static struct day *days_of(const struct omo_person_state *person, const char *area,
                           unsigned sides, int *count)
{
    struct day *days = calloc(person->past_step_count + 1, sizeof *days);
    *count = 0;
    for (size_t i = 0; days != NULL && i < person->past_step_count; i++) {
        const struct omo_past_step *past = &person->past_steps[i];
        double tenderness = past->tenderness_before;
        int d = 0;
        if (!is_of(past, area, sides) || isnan(tenderness))
            continue;
        while (d < *count && strcmp(days[d].date, past->date) != 0)
            d++;
        if (d == *count) {
            memcpy(days[d].date, past->date, sizeof days[d].date);
            days[d].tenderness = tenderness;
            ++*count;
        }
        days[d].tenderness = fmax(days[d].tenderness, tenderness);
    }
    if (*count > 0)
        qsort(days, (size_t)*count, sizeof *days, newest_first);
    return days;
}

/** Higher every time over the last sessions. */
static bool is_rising(const struct omo_care *care, const struct day *days, int count)
{
    if (count < care->tender_sessions)
        return false;
    for (int i = 0; i + 1 < care->tender_sessions; i++) {
        if (!(days[i].tenderness > days[i + 1].tenderness))
            return false;
    }
    return true;
}

static bool ended_by_sign(const struct omo_person_state *person, const char *area,
                          unsigned sides)
{
    for (size_t i = 0; i < person->past_step_count; i++) {
        if (is_of(&person->past_steps[i], area, sides) &&
            person->past_steps[i].ended_by_sign)
            return true;
    }
    return false;
}

/** The newest tenderness of an area, the worse of two sides; NAN not known. */
static double latest(const struct omo_person_state *person, const char *area,
                     unsigned sides)
{
    double worst = NAN;
    for (int side = OMO_LEFT; side <= OMO_RIGHT; side++) {
        int count;
        struct day *days;
        if ((sides & 1u << side) == 0)
            continue;
        days = days_of(person, area, 1u << side, &count);
        if (count > 0)
            worst = fmax(worst, days[0].tenderness);
        free(days);
    }
    return worst;
}

/** No other area hurts more. An area without another to compare with counts once it hurts
 *  as on a middle day. */
static bool is_tenderest(const struct omo_care *care,
                         const struct omo_person_state *person, const char *area,
                         unsigned sides)
{
    double own = latest(person, area, sides);
    bool compared = false;
    if (!(own > 0.0))
        return false;
    for (int i = 0; omo_area_at(i) != NULL; i++) {
        double other = latest(person, omo_area_at(i)->name, sides);
        if (strcmp(omo_area_at(i)->name, area) == 0 || isnan(other))
            continue;
        if (other > own)
            return false;
        compared = true;
    }
    return compared || own >= care->middle_from;
}

static bool is_taught(const struct omo_area *area, const struct omo_person_state *person)
{
    if (!area->taught)
        return true;
    if (strcmp(area->name, "blade-front") == 0)
        return person->taught_front;
    return strcmp(area->name, "armpit-back") == 0 && person->taught_armpit;
}

static void shortest(const struct omo_care *care, struct omo_offer *out)
{
    if (out->breaths > 0)
        out->breaths = BREATHS_LEAST;
    else
        out->hold_s = fmin(out->hold_s, care->tender_hold_s);
}

bool omo_press_offered(const struct omo_care *care, const struct omo_step *step,
                       const struct omo_person_state *person, unsigned sides,
                       struct omo_offer *out)
{
    const struct omo_area *area = omo_area_find(step->area);
    if (area == NULL || !is_taught(area, person)) {
        omo_why(out->why, sizeof out->why, "%s",
                omo_word("Left out until your practitioner has taught you this area in "
                         "person and ticked it in the sheet."));
        return false;
    }
    if (ended_by_sign(person, area->name, sides)) {
        omo_why(out->why, sizeof out->why, "%s",
                omo_word("Left out: it tingled, throbbed, felt hot or had a lump there; "
                         "show it to your practitioner."));
        return false;
    }
    for (int side = OMO_LEFT; side <= OMO_RIGHT; side++) {
        int count;
        struct day *days;
        if ((sides & 1u << side) == 0)
            continue;
        days = days_of(person, area->name, 1u << side, &count);
        bool rising = days == NULL || is_rising(care, days, count);
        free(days);
        if (rising) {
            omo_why(out->why, sizeof out->why,
                    omo_word(
                        "Left out: this spot was more tender each time over the last "
                        "%d sessions; tell your practitioner."),
                    care->tender_sessions);
            return false;
        }
    }
    omo_hold_dose(care, step, person, sides, out);
    if (out->comfort_only) {
        shortest(care, out);
    } else if (is_tenderest(care, person, area->name, sides)) {
        shortest(care, out);
        omo_why(out->why, sizeof out->why, "%s",
                omo_word("This is the tenderest spot: the lightest touch, and only "
                         "briefly."));
    }
    return true;
}
