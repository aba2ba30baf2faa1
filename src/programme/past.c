/* What earlier sessions say: a range that fell, help that goes further. */
#include <math.h>
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
