/* What earlier sessions say: a range that fell, help that goes further, the other side.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/words.h"
#include "programme/care_parts.h"

bool omo_range_fell(const struct omo_care *care, const struct omo_person_state *person,
                    const struct omo_past *now, bool new_sign)
{
    int count;
    double median =
        omo_comfortable_median(care, person, now->movement, now->side, now->mode, &count);
    double error = now->u95_deg;
    if (!isfinite(error) || error < 0.0)
        error = care->unknown_u95_deg;
    return new_sign && now->mean_of_maxima_deg < median - error;
}

/** The newest session of a movement, side and mode, or NULL. */
static const struct omo_past *newest(const struct omo_person_state *person,
                                     const char *movement, const char *side,
                                     const char *mode)
{
    for (size_t i = 0; i < person->past_count; i++) {
        const struct omo_past *past = &person->past[i];
        if (strcmp(past->movement, movement) == 0 && strcmp(past->side, side) == 0 &&
            strcmp(past->mode, mode) == 0 && isfinite(past->mean_of_maxima_deg))
            return past;
    }
    return NULL;
}

bool omo_active_lags(const struct omo_care *care, const struct omo_person_state *person,
                     char *why, size_t why_size)
{
    double most = -INFINITY;
    const struct omo_past *where = NULL;
    for (size_t i = 0; i < person->past_count; i++) {
        const struct omo_past *past = &person->past[i];
        const struct omo_past *active =
            newest(person, past->movement, past->side, "active");
        const struct omo_past *assisted =
            newest(person, past->movement, past->side, "assisted");
        if (active == NULL || assisted == NULL)
            continue;
        double lag = assisted->mean_of_maxima_deg - active->mean_of_maxima_deg;
        if (lag >= care->active_below_assisted_deg && lag > most) {
            most = lag;
            where = active;
        }
    }
    if (where == NULL)
        return false;
    omo_why(why, why_size,
            omo_word(
                "Tell a clinician: assisted goes further than active, by %.0f degrees "
                "in %s."),
            most, omo_movement_words(where->movement));
    return true;
}

static int worst_first(const void *a, const void *b)
{
    const struct omo_percent *first = a, *second = b;
    int order = (first->percent > second->percent) - (first->percent < second->percent);
    return order != 0 ? order : strcmp(first->movement, second->movement);
}

/** Both arms by the same mode, active before assisted. */
static bool percent_of(const struct omo_person_state *person, const char *movement,
                       struct omo_percent *out)
{
    static const char *const modes[] = {"active", "assisted"};
    const char *affected = omo_side_name(person->affected);
    const char *other =
        omo_side_name(person->affected == OMO_LEFT ? OMO_RIGHT : OMO_LEFT);
    for (int m = 0; m < 2; m++) {
        const struct omo_past *a = newest(person, movement, affected, modes[m]);
        const struct omo_past *b = newest(person, movement, other, modes[m]);
        if (a == NULL || b == NULL || !(b->mean_of_maxima_deg > 0.0))
            continue;
        memset(out, 0, sizeof *out);
        memcpy(out->movement, a->movement, sizeof out->movement);
        out->affected_deg = a->mean_of_maxima_deg;
        out->other_deg = b->mean_of_maxima_deg;
        out->percent = 100.0 * out->affected_deg / out->other_deg;
        return true;
    }
    return false;
}

int omo_percent_of_other(const struct omo_person_state *person, struct omo_percent *out,
                         int most)
{
    int count = 0;
    struct omo_percent *all = NULL;
    if (!person->affected_known || (person->history & OMO_HISTORY_BOTH_SIDES) != 0 ||
        person->past_count == 0)
        return 0;
    all = calloc(person->past_count, sizeof *all);
    for (size_t i = 0; all != NULL && i < person->past_count; i++) {
        int known = 0;
        while (known < count &&
               strcmp(all[known].movement, person->past[i].movement) != 0)
            known++;
        if (known == count && percent_of(person, person->past[i].movement, &all[count]))
            count++;
    }
    if (count > 0)
        qsort(all, (size_t)count, sizeof *all, worst_first);
    if (count > most)
        count = most > 0 ? most : 0;
    if (count > 0)
        memcpy(out, all, (size_t)count * sizeof *all);
    free(all);
    return count;
}
