#include "app/sides_text.h"

#include <cjson/cJSON.h>
#include <math.h>

#include "omogon/text.h"
#include "omogon/words.h"

static void add_number(char *text, size_t size, const char *before, double value,
                       int decimals)
{
    char number[32];
    omo_number_text(value, decimals, number, sizeof number);
    omo_text_add(text, size, "%s%s", before, number);
}

void omo_sides_note(const struct omo_side_difference *d, enum omo_side side, char *text,
                    size_t size)
{
    text[0] = '\0';
    if (!isfinite(d->same_second_deg))
        return;
    add_number(text, size, "Both arms at once: ", fabs(d->same_second_deg), 1);
    bool above = (side == d->higher) == (d->same_second_deg >= 0);
    omo_text_add(text, size, " degrees %s than the other arm in the same second.",
                 above ? "higher" : "lower");
}

void omo_sides_text(const struct omo_side_difference *d, char *text, size_t size)
{
    const char *up = omo_side_name(d->higher);
    const char *low = omo_side_name(d->higher == OMO_LEFT ? OMO_RIGHT : OMO_LEFT);
    text[0] = '\0';
    omo_text_add(text, size, "difference between sides: ");
    if (isfinite(d->same_second_deg)) {
        omo_text_add(text, size, "when the %s arm was highest, the %s one was ", up, low);
        add_number(text, size, "", fabs(d->same_second_deg), 1);
        omo_text_add(text, size, " degrees %s in the same second",
                     d->same_second_deg >= 0 ? "lower" : "higher");
    } else {
        omo_text_add(text, size,
                     "when the %s arm was highest, the %s one was not seen long enough",
                     up, low);
    }
    add_number(text, size, "; highest against highest ", d->of_maxima_deg, 1);
    if (isfinite(d->u95_deg))
        add_number(text, size, ", good to ", d->u95_deg, 1);
    if (!isfinite(d->largest_deg))
        return;
    add_number(text, size, "; widest apart ", d->largest_deg, 1);
    omo_text_add(text, size, ", the %s one lower,",
                 omo_side_name(d->largest_higher == OMO_LEFT ? OMO_RIGHT : OMO_LEFT));
    add_number(text, size, " at ", d->largest_s, 2);
    omo_text_add(text, size, " s");
}

void omo_sides_sentence(const struct omo_side_difference *d, char *text, size_t size)
{
    char degrees[32];
    bool lower = d->same_second_deg >= 0;
    text[0] = '\0';
    if (!isfinite(d->same_second_deg))
        return;
    omo_number_text(fabs(d->same_second_deg), 1, degrees, sizeof degrees);
    omo_text_add(
        text, size,
        d->higher == OMO_LEFT
            ? lower ? omo_word("When your left arm was highest, your right one was %s "
                               "degrees lower in the same second.")
                    : omo_word("When your left arm was highest, your right one was %s "
                               "degrees higher in the same second.")
        : lower ? omo_word("When your right arm was highest, your left one was %s "
                           "degrees lower in the same second.")
                : omo_word("When your right arm was highest, your left one was %s "
                           "degrees higher in the same second."),
        degrees);
}

static void add_key(struct cJSON *object, const char *key, double value, int decimals)
{
    char number[32];
    omo_number_text(value, decimals, number, sizeof number);
    if (number[0])
        cJSON_AddItemToObject(object, key, cJSON_CreateRaw(number));
    else
        cJSON_AddNullToObject(object, key);
}

void omo_sides_add_json(struct cJSON *object, const struct omo_side_difference *d,
                        enum omo_side side)
{
    static const struct omo_side_difference none = {
        .same_second_deg = NAN,
        .of_maxima_deg = NAN,
        .u95_deg = NAN,
        .largest_deg = NAN,
        .largest_s = NAN,
    };
    if (!d)
        d = &none;
    /* This arm less the other one. */
    double sign = side == d->higher ? 1 : -1;
    double largest = side == d->largest_higher ? 1 : -1;
    add_key(object, "side_difference_deg", sign * d->same_second_deg, 3);
    add_key(object, "side_difference_of_maxima_deg", sign * d->of_maxima_deg, 3);
    add_key(object, "side_difference_u95_deg", d->u95_deg, 3);
    add_key(object, "side_difference_largest_deg", largest * d->largest_deg, 3);
    add_key(object, "side_difference_largest_s", d->largest_s, 6);
}
