#include "app/result_page.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/budget_words.h"
#include "app/measuring_words.h"
#include "app/sides_text.h"
#include "omogon/clock.h"
#include "omogon/edit.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define TICK_MS   100
#define LINES_MAX 10

int omo_ask_page(struct omo_screen *screen, struct omo_list_page *page, double stay_s)
{
    int64_t until_ns =
        isfinite(stay_s) ? omo_clock_ns() + (int64_t)(stay_s * 1e9) : INT64_MAX;
    while (omo_clock_ns() < until_ns && !omo_measuring_interrupted()) {
        struct omo_input input = {OMO_ACTION_NONE, 0};
        omo_screen_list(screen, page);
        if (!omo_screen_input(screen, TICK_MS, &input))
            continue;
        if (isfinite(stay_s) && input.action != OMO_ACTION_NONE)
            until_ns = omo_clock_ns() + (int64_t)(stay_s * 1e9);
        switch (input.action) {
        case OMO_ACTION_CHOOSE:
            if (input.item >= 0 && input.item < page->item_count)
                return input.item;
            break;
        case OMO_ACTION_BEGIN:
            if (page->chosen >= 0 && page->chosen < page->item_count)
                return page->chosen;
            break;
        case OMO_ACTION_BACK:
            return -1;
        case OMO_ACTION_QUIT:
            return -2;
        default:
            break;
        }
    }
    return omo_measuring_interrupted() ? -2 : -1;
}

/** One of both arms at once, in short; after the second how far they were apart. */
static void describe_arm(const struct omo_saved *saved, GPtrArray *lines)
{
    const struct omo_session_row *row = &saved->row;
    char highest[32], good_to[32], apart[256];
    bool left = strcmp(row->side, "left") == 0;
    omo_number_text(row->max_deg, 1, highest, sizeof highest);
    omo_number_text(row->max_u95_deg, 1, good_to, sizeof good_to);
    if (highest[0])
        g_ptr_array_add(
            lines,
            g_strdup_printf(left ? omo_word("Left arm: highest %s degrees, good to %s "
                                            "either way; %d raises.")
                                 : omo_word("Right arm: highest %s degrees, good to %s "
                                            "either way; %d raises."),
                            highest, good_to, row->repetitions));
    else
        g_ptr_array_add(lines,
                        g_strdup(left ? omo_word("Left arm: its markers were hidden at "
                                                 "the top.")
                                      : omo_word("Right arm: its markers were hidden at "
                                                 "the top.")));
    omo_sides_sentence(&saved->difference, apart, sizeof apart);
    if (saved->last && saved->compared && apart[0])
        g_ptr_array_add(lines, g_strdup(apart));
}

/** One movement in up to six lines. */
static void describe(const struct omo_saved *saved, GPtrArray *lines)
{
    const struct omo_session_row *row = &saved->row;
    char most[256];
    char highest[32], good_to[32], value[32];
    omo_number_text(row->max_deg, 1, highest, sizeof highest);
    omo_number_text(row->max_u95_deg, 1, good_to, sizeof good_to);
    if (highest[0])
        g_ptr_array_add(lines,
                        g_strdup_printf(omo_word("Highest angle: %s degrees, good to %s "
                                                 "either way."),
                                        highest, good_to));
    else
        g_ptr_array_add(lines, g_strdup(omo_word("No highest angle could be read: the "
                                                 "markers were hidden at the top.")));
    omo_budget_sentence(&saved->result.budget[OMO_MAXIMUM_HIGHEST], most, sizeof most);
    if (most[0])
        g_ptr_array_add(lines, g_strdup(most));
    if (row->repetitions > 0) {
        omo_number_text(row->mean_of_maxima_deg, 1, value, sizeof value);
        g_ptr_array_add(lines, g_strdup_printf(omo_word("Raises: %d, their highest %s "
                                                        "degrees on average."),
                                               row->repetitions, value));
    }
    omo_number_text(row->hike_at_max_ratio * 100, 0, value, sizeof value);
    if (value[0]) {
        char lean[32];
        omo_number_text(row->lean_at_max_deg, 0, lean, sizeof lean);
        g_ptr_array_add(
            lines, g_strdup_printf(omo_word("There the shoulder was up by %s %% of the "
                                            "upper arm, the trunk leaned %s degrees."),
                                   value, lean[0] ? lean : "-"));
    }
    omo_number_text(row->pain_onset_deg, 0, value, sizeof value);
    if (value[0])
        g_ptr_array_add(lines, g_strdup_printf(omo_word("Marked: pain begins at %s "
                                                        "degrees."),
                                               value));
    if (row->note[0])
        g_ptr_array_add(lines, g_strdup(row->note));
}

/** Marks every row of the run as withdrawn, or takes that back. False with a sentence. */
static bool mark_rows(const struct omo_measuring *m, enum omo_edit_kind kind)
{
    const struct omo_edit_reason why = {"self", "discarded after it was measured"};
    const struct omo_edit_reason back = {"self", ""};
    for (guint i = 0; i < m->saved->len; i++) {
        const struct omo_session_row *row =
            &g_array_index(m->saved, struct omo_saved, i).row;
        if (omo_edit_session(m->record, kind, row->id, "",
                             kind == OMO_EDIT_WITHDRAW ? &why : &back) != OMO_OK)
            return false;
    }
    return true;
}

/** The lines of the page; the last one says what is kept. */
static GPtrArray *lines_of(const struct omo_measuring *m, double stay_s, bool discarded)
{
    GPtrArray *lines = g_ptr_array_new_with_free_func(g_free);
    for (guint i = 0; i < m->saved->len && lines->len < LINES_MAX; i++)
        (m->plan->both_sides
             ? describe_arm
             : describe)(&g_array_index(m->saved, struct omo_saved, i), lines);
    if (m->saved->len == 0)
        g_ptr_array_add(lines, g_strdup(omo_word("Nothing was saved: no raise of the arm "
                                                 "was measured.")));
    else if (discarded)
        g_ptr_array_add(lines,
                        g_strdup(omo_word("Discarded: it counts no longer. It stays "
                                          "in the record, marked.")));
    else
        g_ptr_array_add(lines, g_strdup(omo_word("Saved. The camera is off.")));
    if (isfinite(stay_s) && m->saved->len > 0)
        g_ptr_array_add(lines, g_strdup(omo_word("Let the arm rest for half a minute "
                                                 "before the next movement.")));
    return lines;
}

enum omo_after omo_result_page(struct omo_screen *screen, const struct omo_measuring *m,
                               double stay_s)
{
    char title[128] = "";
    bool discarded = false;
    omo_movement_title(m->plan, title, sizeof title);
    for (;;) {
        g_autoptr(GPtrArray) lines = lines_of(m, stay_s, discarded);
        const char *items[] = {omo_word("Measure again"), omo_word("Done for today"),
                               discarded ? omo_word("Let it count after all")
                                         : omo_word("Discard this one")};
        struct omo_list_page page = {.title = title,
                                     .lines = (const char *const *)lines->pdata,
                                     .line_count = (int)lines->len,
                                     .items = items,
                                     .item_count = m->saved->len > 0 && m->record ? 3 : 2,
                                     .chosen = 1,
                                     .foot = omo_caution_words()};
        int item = omo_ask_page(screen, &page, stay_s);
        if (item != 2)
            return item == 0    ? OMO_AFTER_AGAIN
                   : item == -2 ? OMO_AFTER_LEAVE
                                : OMO_AFTER_DONE;
        if (mark_rows(m, discarded ? OMO_EDIT_RESTORE : OMO_EDIT_WITHDRAW))
            discarded = !discarded;
    }
}
