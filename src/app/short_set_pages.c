/* What is asked between the movements of a short set, and what is said at its end. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <cjson/cJSON.h>

#include "app/commands.h"
#include "app/course_view.h"
#include "app/measuring_words.h"
#include "app/pipeline.h"
#include "app/result_page.h"
#include "app/short_set_run.h"
#include "omogon/clock.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define CHANGE_S  9 /* to turn round or to lie down; a press makes it longer */
#define SAME_S    3 /* in the window, where nothing has to be changed */
#define SUMMARY_S 60
#define TICK_US   20000
/* Of the summary's page. */
#define LINES_MOST 22

void omo_set_label(char visit[24], bool with_time)
{
    g_autoptr(GDateTime) now = g_date_time_new_now_local();
    visit[0] = '\0';
    omo_text_add(visit, 24, "set%dd%d", g_date_time_get_year(now),
                 g_date_time_get_day_of_year(now));
    if (with_time)
        omo_text_add(visit, 24, "t%02d%02d", g_date_time_get_hour(now),
                     g_date_time_get_minute(now));
}

/** What to do first, readable from far; and the rest of it, "" none. */
static const char *place_words(int place, const char **more)
{
    *more = "";
    switch (place) {
    case OMO_SET_FRONT:
        return omo_word("Face the camera.");
    case OMO_SET_LEFT_SIDE:
        return omo_word("Turn your left side to the camera.");
    case OMO_SET_RIGHT_SIDE:
        return omo_word("Turn your right side to the camera.");
    case OMO_SET_LYING_LEFT:
        *more =
            omo_word("The camera looks along your left upper arm. Upper arm on a towel, "
                     "elbow at a right angle.");
        return omo_word("Lie on your back.");
    case OMO_SET_LYING_RIGHT:
        *more = omo_word("The camera looks along your right upper arm. Upper arm on a "
                         "towel, elbow at a right angle.");
        return omo_word("Lie on your back.");
    }
    return "";
}

/** The same without a window: a line of text and the time to turn. */
static enum omo_set_choice announce(const struct omo_set *set, const char *what,
                                    const char *how, const char *more, int number)
{
    int64_t until_ns = omo_clock_ns() + (int64_t)CHANGE_S * 1000000000;
    if (!how[0])
        return OMO_SET_GO_ON;
    if (!set->given->json) {
        printf(omo_word("%d of %d: %s. %s %s\n"), number, OMO_SHORT_SET_ITEMS, what, how,
               more);
        fflush(stdout);
    }
    while (omo_clock_ns() < until_ns && !omo_measuring_interrupted())
        g_usleep(TICK_US);
    return omo_measuring_interrupted() ? OMO_SET_LEAVE : OMO_SET_GO_ON;
}

enum omo_set_choice omo_set_ask(struct omo_set *set, const char *what, int place,
                                int number)
{
    char next[160], of[64];
    const char *more = "", *how = place_words(place, &more);
    if (!set->screen)
        return announce(set, what, how, more, number);
    g_snprintf(next, sizeof next, omo_word("Next: %s"), what);
    g_snprintf(of, sizeof of, omo_word("Movement %d of %d. It goes on by itself."),
               number, OMO_SHORT_SET_ITEMS);
    const char *title = how[0] ? how : next;
    const char *lines[3];
    int count = 0;
    if (more[0])
        lines[count++] = more;
    if (how[0])
        lines[count++] = next;
    lines[count++] = of;
    const char *items[] = {omo_word("Go on now"), omo_word("Leave this one out"),
                           omo_word("Enough for today")};
    struct omo_list_page page = {.title = title,
                                 .lines = lines,
                                 .line_count = count,
                                 .items = items,
                                 .item_count = 3,
                                 .foot = omo_caution_words(),
                                 .far = true};
    if (set->sound)
        omo_sound_say(set->sound, title);
    switch (omo_ask_page(set->screen, &page, how[0] ? CHANGE_S : SAME_S)) {
    case 1:
        return OMO_SET_LEAVE_OUT;
    case 2:
        return OMO_SET_ENOUGH;
    case -2:
        return OMO_SET_LEAVE;
    default:
        return OMO_SET_GO_ON;
    }
}

/* ---- a set that was begun earlier ---------------------------------------------------
 */

static void begin_anew(struct omo_set *set)
{
    set->anew = true;
    if (!set->given->common.visit)
        omo_set_label(set->visit, true);
}

enum omo_set_choice omo_set_ask_again(struct omo_set *set, int count)
{
    bool all = count == OMO_SHORT_SET_ITEMS;
    char line[240];
    g_snprintf(
        line, sizeof line,
        all ? omo_word("%d of %d were measured already under the visit %s: all of it.")
            : omo_word("%d of %d were measured already under the visit %s; this goes on "
                       "with the rest."),
        count, OMO_SHORT_SET_ITEMS, set->visit);
    if (!set->screen) {
        if (!set->given->json) {
            puts(line);
            puts(omo_word("With another --visit the whole set is measured anew."));
            fflush(stdout);
        }
        return OMO_SET_GO_ON;
    }
    const char *lines[] = {line};
    const char *items[] = {all ? omo_word("Show it") : omo_word("Go on with the rest"),
                           omo_word("Measure all of it anew"),
                           omo_word("Enough for today")};
    struct omo_list_page page = {.title = omo_word("Short set"),
                                 .lines = lines,
                                 .line_count = 1,
                                 .items = items,
                                 .item_count = 3,
                                 .foot = omo_caution_words(),
                                 .far = true};
    switch (omo_ask_page(set->screen, &page, CHANGE_S)) {
    case 1:
        begin_anew(set);
        return OMO_SET_GO_ON;
    case 2:
        return OMO_SET_ENOUGH;
    case -2:
        return OMO_SET_LEAVE;
    default:
        return OMO_SET_GO_ON;
    }
}

/* ---- the end ------------------------------------------------------------------------
 */

static void next_command(const struct omo_set *set, char *out, size_t size)
{
    out[0] = '\0';
    if (set->rows->len == 0 || !set->given->common.person)
        return;
    if (!g_array_index(set->rows, struct omo_session_row, 0).started[0])
        omo_text_add(out, size, "%s",
                     omo_word("An invented person's rows have no day, so that there is "
                              "no report of them."));
    else
        omo_text_add(out, size,
                     omo_word("A page to file: omogon report --person %s --visit %s"),
                     set->given->common.person, set->visit);
}

/** "arm to the side (abduction), left: 149.6 degrees, good to 4.9" */
static char *row_line(const struct omo_session_row *row)
{
    char what[128] = "", highest[32], good_to[32];
    omo_course_short(row, what, sizeof what);
    omo_number_text(row->max_deg, 1, highest, sizeof highest);
    omo_number_text(row->max_u95_deg, 1, good_to, sizeof good_to);
    if (!highest[0])
        return g_strdup_printf(omo_word("%s: the markers were hidden at the top"), what);
    return g_strdup_printf(omo_word("%s: highest %s degrees, good to %s"), what, highest,
                           good_to[0] ? good_to : "?");
}

static void summary_page(struct omo_set *set)
{
    g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
    char title[96], next[240];
    for (guint i = 0; i < set->rows->len; i++)
        g_ptr_array_add(lines,
                        row_line(&g_array_index(set->rows, struct omo_session_row, i)));
    for (guint i = 0; i < set->left_out->len; i++)
        g_ptr_array_add(lines, g_strdup(g_ptr_array_index(set->left_out, i)));
    next_command(set, next, sizeof next);
    if (next[0])
        g_ptr_array_add(lines, g_strdup(next));
    g_snprintf(title, sizeof title, omo_word("%u of %d movements measured"),
               set->rows->len, OMO_SHORT_SET_ITEMS);
    const char *items[] = {omo_word("Done for today")};
    struct omo_list_page page = {.title = title,
                                 .lines = (const char *const *)lines->pdata,
                                 .line_count = (int)MIN(lines->len, LINES_MOST),
                                 .items = items,
                                 .item_count = 1,
                                 .foot = omo_caution_words()};
    set->window_left |= omo_ask_page(set->screen, &page, SUMMARY_S) == -2;
}

static void print_json(const struct omo_set *set)
{
    cJSON *array = cJSON_CreateArray();
    for (guint i = 0; i < set->rows->len; i++)
        cJSON_AddItemToArray(array,
                             omo_row_json(
                                 &g_array_index(set->rows, struct omo_session_row, i)));
    omo_json_print(array);
}

static void print_text(const struct omo_set *set, double took_s)
{
    char next[240];
    for (guint i = 0; i < set->rows->len; i++) {
        char text[600];
        omo_row_text(&g_array_index(set->rows, struct omo_session_row, i), text,
                     sizeof text);
        puts(text);
    }
    for (guint i = 0; i < set->left_out->len; i++)
        puts(g_ptr_array_index(set->left_out, i));
    printf(omo_word(
               "The set: %u of %d movements measured, in %.0f seconds of the program's "
               "time.\n"),
           set->rows->len, OMO_SHORT_SET_ITEMS, took_s);
    if (set->rows->len < OMO_SHORT_SET_ITEMS && set->given->common.person)
        puts(omo_word("The same command goes on where it was left, today."));
    next_command(set, next, sizeof next);
    if (next[0])
        puts(next);
    printf("\n%s", omo_word(OMO_CAUTION));
}

void omo_set_summary(struct omo_set *set, double took_s)
{
    if (set->given->json)
        print_json(set);
    else
        print_text(set, took_s);
    fflush(stdout);
    if (set->screen && !set->window_left && !omo_measuring_interrupted())
        summary_page(set);
}
