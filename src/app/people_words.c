/* What a record's rows say, in words for people. */
#include <string.h>

#include "app/people.h"
#include "omogon/motion.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* The words of a file, for people; one that is not known stays as it is. */
const char *omo_people_word(const char *name)
{
    static const struct {
        const char *name, *words;
    } known[] = {
        {"yes", OMO_WORD("yes")},
        {"no", OMO_WORD("no")},
        {"none", OMO_WORD("none")},
        {"left", OMO_WORD("left arm")},
        {"right", OMO_WORD("right arm")},
        {"one", OMO_WORD("one arm")},
        {"both", OMO_WORD("both arms")},
        {"female", OMO_WORD("female")},
        {"male", OMO_WORD("male")},
        {"other", OMO_WORD("other")},
        {"active", OMO_WORD("by the arm's own strength")},
        {"assisted", OMO_WORD("with help")},
        {"passive", OMO_WORD("moved by somebody else")},
        {"begun", OMO_WORD("begun, not ended")},
        {"done", OMO_WORD("done")},
        {"part", OMO_WORD("done in part")},
        {"skipped", OMO_WORD("left out")},
        {"pain", OMO_WORD("ended for pain")},
        {"enough", OMO_WORD("enough for that day")},
        {"not-offered", OMO_WORD("not offered")},
        {"sign", OMO_WORD("ended by a sign")},
    };

    for (size_t i = 0; i < G_N_ELEMENTS(known); i++)
        if (strcmp(known[i].name, name) == 0)
            return omo_word(known[i].words);
    return name;
}

bool omo_limit_expired(const struct omo_limit_row *limit, const char *today)
{
    return limit->valid_until[0] != '\0' && strcmp(limit->valid_until, today) < 0;
}

const char *omo_limit_movement(const char *movement)
{
    return movement[0] != '\0' ? omo_movement_words(movement)
                               : omo_word("every movement");
}

const char *omo_people_side(const char *side)
{
    static const char *const sides[] = {"left", "right", "both", NULL};

    return g_strv_contains(sides, side) ? omo_people_word(side) : "";
}

void omo_limit_text(const struct omo_limit_row *limit, char *text, size_t size)
{
    char number[32];

    text[0] = '\0';
    if (strcmp(limit->status, "withdrawn") == 0) {
        omo_text_add(text, size, "%s", omo_word("withdrawn"));
        return;
    }
    if (strcmp(limit->allowed, "active") != 0 &&
        strcmp(limit->allowed, "assisted") != 0) {
        omo_text_add(text, size, "%s", omo_word("not at all"));
        return;
    }
    omo_number_text(limit->ceiling_deg, 1, number, sizeof number);
    if (number[0] != '\0')
        omo_text_add(text, size, omo_word("up to %s degrees, "), number);
    omo_text_add(text, size, "%s",
                 strcmp(limit->allowed, "active") == 0
                     ? omo_word("by the arm's own strength")
                     : omo_word("with help"));
    omo_number_text(limit->load_kg, 2, number, sizeof number);
    if (number[0] != '\0')
        omo_text_add(text, size, omo_word(", with up to %s kg"), number);
    else
        omo_text_add(text, size, "%s", omo_word(", without a weight"));
    if (limit->valid_until[0] != '\0')
        omo_text_add(text, size, omo_word(", until %s"), limit->valid_until);
}
