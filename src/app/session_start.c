/* From the first page of the window to a session. */
#include "app/session_start.h"

#include <math.h>
#include <string.h>

#include "app/commands.h"
#include "app/measuring_words.h"
#include "app/result_page.h"
#include "app/session_run.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define STARTERS_MOST 12

/** The person's own programme first, then the starters; false: back, or *leave. */
static bool choose(struct omo_screen *screen, struct omo_session_words *words,
                   bool *leave)
{
    g_autoptr(GPtrArray) names = omo_session_starters();
    char title[STARTERS_MOST][96];
    const char *items[STARTERS_MOST + 1];
    int count = 0;
    items[count++] = omo_word("The programme in my sheet");
    for (guint i = 0; i < names->len && count <= STARTERS_MOST; i++) {
        struct omo_programme programme;
        if (omo_programme_load(g_ptr_array_index(names, i), &programme) != OMO_OK)
            continue;
        omo_text_copy(title[count - 1], sizeof title[0], programme.title_said);
        items[count] = title[count - 1];
        count++;
    }
    const char *lines[] = {omo_word("Your practitioner chooses it with you. The starters "
                                    "are examples to be changed.")};
    struct omo_list_page page = {.title = omo_word("Which programme?"),
                                 .lines = lines,
                                 .line_count = 1,
                                 .items = items,
                                 .item_count = count,
                                 .chosen = 0,
                                 .foot = omo_caution_words()};
    int item = omo_ask_page(screen, &page, INFINITY);
    *leave = item == -2;
    if (item < 0)
        return false;
    if (item > 0)
        words->programme = g_strdup(g_ptr_array_index(names, (guint)item - 1));
    return true;
}

static bool say_failed(struct omo_screen *screen)
{
    const char *lines[] = {omo_word("There is no programme in the sheet yet, or it could "
                                    "not be read; the terminal window says why.")};
    const char *items[] = {omo_word("Back")};
    struct omo_list_page page = {.title = omo_word("This could not be begun"),
                                 .lines = lines,
                                 .line_count = 1,
                                 .items = items,
                                 .item_count = 1,
                                 .foot = omo_caution_words()};
    return omo_ask_page(screen, &page, INFINITY) == -2;
}

bool omo_session_page_of(struct omo_screen *screen, struct omo_sound *sound,
                         const struct omo_preferences *preferences)
{
    struct omo_session_words words = {0};
    struct omo_session_run run;
    bool leave = false;
    if (preferences->colours[0])
        words.measure.common.colours = g_strdup(preferences->colours);
    if (choose(screen, &words, &leave)) {
        if (omo_session_run_begin(&run, &words) == OMO_EXIT_DONE) {
            run.screen = screen;
            run.sound = sound;
            run.sound_on = preferences->sound_chosen && preferences->sound;
            omo_session_in_window(&run);
            leave = run.left;
        } else {
            leave = say_failed(screen);
        }
        omo_session_run_finish(&run);
    }
    omo_session_words_finish(&words);
    return leave;
}
