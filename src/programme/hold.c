/* A hold's dose: a small step beyond what was held lately. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/words.h"
#include "programme/care_parts.h"

static bool same(const struct omo_past_step *past, const struct omo_step *step,
                 unsigned side)
{
    const bool press = step->kind == OMO_STEP_PRESS;
    return past->kind == step->kind && omo_side_is_among(past->side, side) &&
           past->held_s > 0.0 &&
           strcmp(press ? past->area : past->movement,
                  press ? step->area : step->movement) == 0;
}

static int newest_first(const void *a, const void *b)
{
    const struct omo_past_step *const *first = a, *const *second = b;
    return strcmp((*second)->date, (*first)->date);
}

/** Median of the last holds; NAN without one. One with discomfort counts as the shortest:
 *  left out, it might raise the median. */
static double lately(const struct omo_care *care, const struct omo_step *step,
                     const struct omo_person_state *person, unsigned side,
                     double shortest_s)
{
    int count = 0, used = 0;
    const struct omo_past_step **holds =
        calloc(person->past_step_count + 1, sizeof(const struct omo_past_step *));
    double *held_s = calloc(person->past_step_count + 1, sizeof *held_s);
    double median = NAN;
    for (size_t i = 0; holds != NULL && held_s != NULL && i < person->past_step_count;
         i++) {
        if (same(&person->past_steps[i], step, side))
            holds[count++] = &person->past_steps[i];
    }
    if (count > 0)
        qsort(holds, (size_t)count, sizeof(const struct omo_past_step *), newest_first);
    for (; used < count && used < care->mark_sessions; used++)
        held_s[used] = holds[used]->discomfort || holds[used]->ended_by_sign
                           ? fmin(shortest_s, holds[used]->held_s)
                           : holds[used]->held_s;
    if (used > 0)
        median = omo_median_of(held_s, used);
    free(holds);
    free(held_s);
    return median;
}

void omo_hold_dose(const struct omo_care *care, const struct omo_step *step,
                   const struct omo_person_state *person, unsigned sides,
                   struct omo_offer *out)
{
    double shortest_s =
        step->kind == OMO_STEP_PRESS ? care->tender_hold_s : care->middle_hold_least_s;
    if (out->breaths > 0 || isnan(out->hold_s))
        return;
    for (int side = OMO_LEFT; side <= OMO_RIGHT; side++) {
        double today_s;
        if ((sides & 1u << side) == 0)
            continue;
        today_s = lately(care, step, person, 1u << side, shortest_s) + care->hold_step_s;
        /* Nothing is known before the first one: then as the programme says. */
        if (isnan(today_s) || fmax(today_s, shortest_s) >= out->hold_s)
            continue;
        out->hold_s = fmax(today_s, shortest_s);
        omo_why(out->why, sizeof out->why,
                omo_word("Today %.0f seconds, a little more than lately."), out->hold_s);
    }
}
