#include <math.h>
#include <stdio.h>
#include <string.h>

#include "omogon/text.h"
#include "omogon/words.h"
#include "show/screen/screen_private.h"

/* Hike and lean in plain words. They say what is, never that it is good or bad. */

enum direction { BACK, FORWARD, AWAY, TOWARDS };

/** Where a positive lean goes (see omo_trace_row.trunk_lean_deg). */
static enum direction lean_direction(const struct omo_measure_settings *settings,
                                     bool positive)
{
    const struct omo_movement *movement = settings->movement;
    const char *name = movement != NULL ? movement->name : "";
    if (movement != NULL && movement->view == OMO_VIEW_FRONT) {
        bool away = positive == (strcmp(name, "adduction") != 0);
        return away ? AWAY : TOWARDS;
    }
    bool back = positive == (strcmp(name, "extension") != 0);
    return back ? BACK : FORWARD;
}

void omo_good_to_words(double u95_deg, char *text, size_t size)
{
    text[0] = '\0';
    if (!isfinite(u95_deg))
        return;
    /* Up, never down (GUM 7.2.6); a figure that is whole but for its last bit is whole.
     */
    int n = (int)fmax(ceil(u95_deg - 1e-6), 1.0);
    if (n == 1)
        omo_text_copy(text, size, omo_word("good to 1 degree"));
    else
        snprintf(text, size, omo_word("good to %d degrees"), n);
}

void omo_hike_words(double hike_ratio, char *text, size_t size)
{
    text[0] = '\0';
    if (!isfinite(hike_ratio))
        return;
    int percent = (int)lround(hike_ratio * 100);
    if (percent < 0)
        snprintf(text, size, omo_word("shoulder down %d %%"), -percent);
    else
        snprintf(text, size, omo_word("shoulder up %d %%"), percent);
}

void omo_lean_words(double lean_deg, const struct omo_measure_settings *settings,
                    char *text, size_t size)
{
    text[0] = '\0';
    if (!isfinite(lean_deg))
        return;
    int n = (int)lround(fabs(lean_deg));
    if (n == 0) {
        omo_text_copy(text, size, omo_word("trunk as at rest"));
        return;
    }
    switch (lean_direction(settings, lean_deg > 0)) {
    case BACK:
        snprintf(text, size,
                 n == 1 ? omo_word("trunk %d degree back")
                        : omo_word("trunk %d degrees back"),
                 n);
        break;
    case FORWARD:
        snprintf(text, size,
                 n == 1 ? omo_word("trunk %d degree forward")
                        : omo_word("trunk %d degrees forward"),
                 n);
        break;
    case AWAY:
        snprintf(text, size,
                 n == 1 ? omo_word("trunk %d degree away from the arm")
                        : omo_word("trunk %d degrees away from the arm"),
                 n);
        break;
    case TOWARDS:
        snprintf(text, size,
                 n == 1 ? omo_word("trunk %d degree towards the arm")
                        : omo_word("trunk %d degrees towards the arm"),
                 n);
        break;
    }
}
