/* A pendulum's dose: how many circles, and whether with a weight. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/words.h"
#include "programme/care_parts.h"

static bool is_swing(const struct omo_past_step *past, unsigned sides)
{
    return past->kind == OMO_STEP_PENDULUM && omo_side_is_among(past->side, sides);
}

static int each_way(const struct omo_past_step *past)
{
    return past->clockwise < past->counter_clockwise ? past->clockwise
                                                     : past->counter_clockwise;
}

/** The last day's sets of this side were all wide, whole and without discomfort. */
static bool ready_for_weight(const struct omo_care *care,
                             const struct omo_person_state *person, unsigned side)
{
    const char *newest = "";
    bool ready = false;
    for (size_t i = 0; i < person->past_step_count; i++) {
        const struct omo_past_step *past = &person->past_steps[i];
        if (is_swing(past, side) && strcmp(past->date, newest) > 0)
            newest = past->date;
    }
    for (size_t i = 0; i < person->past_step_count; i++) {
        const struct omo_past_step *past = &person->past_steps[i];
        if (!is_swing(past, side) || strcmp(past->date, newest) != 0)
            continue;
        ready = past->diameter_cm >= care->wide_circle_cm &&
                each_way(past) >= care->wide_circles && !past->discomfort &&
                !past->ended_by_sign;
        if (!ready)
            break;
    }
    return ready;
}

static bool every_side_is_ready(const struct omo_care *care,
                                const struct omo_person_state *person, unsigned sides)
{
    for (int side = OMO_LEFT; side <= OMO_RIGHT; side++) {
        if ((sides & 1u << side) != 0 && !ready_for_weight(care, person, 1u << side))
            return false;
    }
    return true;
}

static int newest_first(const void *a, const void *b)
{
    const struct omo_past_step *const *first = a, *const *second = b;
    return strcmp((*second)->date, (*first)->date);
}

/** A little more than the median of the last sets, the least without enough comfortable
 *  ones. A set with discomfort counts as the least: left out, it might raise the median.
 */
static int circles_today(const struct omo_care *care,
                         const struct omo_person_state *person, unsigned side)
{
    int count = 0, comfortable = 0, used = 0;
    const struct omo_past_step **sets =
        calloc(person->past_step_count + 1, sizeof(const struct omo_past_step *));
    double *circles = calloc(person->past_step_count + 1, sizeof *circles);
    double today = care->circles_least;
    for (size_t i = 0; sets != NULL && circles != NULL && i < person->past_step_count;
         i++) {
        if (is_swing(&person->past_steps[i], side))
            sets[count++] = &person->past_steps[i];
    }
    if (count > 0)
        qsort(sets, (size_t)count, sizeof(const struct omo_past_step *), newest_first);
    for (; used < count && used < care->mark_sessions; used++) {
        bool well = !sets[used]->discomfort && !sets[used]->ended_by_sign;
        circles[used] = well ? each_way(sets[used]) : care->circles_least;
        comfortable += well;
    }
    if (comfortable >= care->mark_least)
        today = fmax(today, floor(omo_median_of(circles, used)) + care->circles_step);
    free(sets);
    free(circles);
    return (int)today;
}

void omo_swing_dose(const struct omo_care *care, const struct omo_step *step,
                    const struct omo_person_state *person, unsigned sides,
                    const struct omo_limits *limits, struct omo_offer *out)
{
    bool calm = out->sore == OMO_SORE_CALM && !out->comfort_only;
    for (int side = OMO_LEFT; side <= OMO_RIGHT; side++) {
        int circles;
        if ((sides & 1u << side) == 0)
            continue;
        circles = calm ? circles_today(care, person, 1u << side) : care->circles_least;
        if (circles < out->circles)
            out->circles = circles;
    }
    if (!(step->load_kg > 0.0))
        return;
    if (!person->weight_ticked || !calm || omo_weight_hidden(person->history) ||
        !every_side_is_ready(care, person, sides)) {
        omo_why(out->why, sizeof out->why,
                omo_word("Today without a weight: it comes after wide circles, %d each "
                         "way, without discomfort, and when your practitioner has ticked "
                         "it."),
                care->wide_circles);
        return;
    }
    double most = isnan(person->weight_most_kg) ? 0.0 : person->weight_most_kg;
    out->load_kg = fmax(0.0, fmin(step->load_kg, fmin(most, limits->load_kg)));
    if (out->load_kg < step->load_kg)
        omo_why(out->why, sizeof out->why, "%s",
                omo_word("Your sheet allows less weight than the programme, or none."));
}
