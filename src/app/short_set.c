#include "app/short_set.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <cjson/cJSON.h>

#include "app/commands.h"
#include "app/course_view.h"
#include "app/measuring_limits.h"
#include "app/person_tables.h"
#include "app/pipeline.h"
#include "app/result_page.h"
#include "omogon/clock.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* Three raises each, so that all eight take less than four minutes of the program's time.
 */
#define RAISES   3
#define CHANGE_S 9 /* to turn round or to lie down; a press makes it longer */
#define SAME_S   3 /* in the window, where nothing has to be changed */
#define TICK_NS  20000000
#define SPEECH_S 6

/** A set while it runs. */
struct set {
    const struct omo_measure_words *given;
    struct omo_record *record;
    struct omo_screen *screen;
    struct omo_sound *sound;
    const char *directory;
    char visit[24];
    GArray *rows; /* struct omo_session_row of this set, also earlier ones */
    int left_out;
    bool over; /* left, or enough for today */
    int code;
};

/** What to do first, readable from far; and the rest of it, "" none. */
static const char *place_words(enum omo_short_set_place place, const char **more)
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

/* ---- between two movements ----------------------------------------------------------
 */

enum choice { GO_ON, LEAVE_OUT, ENOUGH, LEAVE };

/** `how` is "" where nothing has to be changed. */
static enum choice ask(struct set *set, const char *what, const char *how,
                       const char *more, int number)
{
    char next[160], of[64];
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
                                 .foot = omo_word(OMO_CAUTION),
                                 .far = true};
    if (set->sound)
        omo_sound_say(set->sound, title);
    switch (omo_ask_page(set->screen, &page, how[0] ? CHANGE_S : SAME_S)) {
    case 1:
        return LEAVE_OUT;
    case 2:
        return ENOUGH;
    case -2:
        return LEAVE;
    default:
        return GO_ON;
    }
}

/** The same without a window: a line of text and the time to turn. */
static enum choice announce(const struct set *set, const char *what, const char *how,
                            const char *more, int number)
{
    int64_t until_ns = omo_clock_ns() + (int64_t)CHANGE_S * 1000000000;
    if (!set->given->json) {
        printf(omo_word("%d of %d: %s. %s %s\n"), number, OMO_SHORT_SET_ITEMS, what, how,
               more);
        fflush(stdout);
    }
    while (omo_clock_ns() < until_ns && !omo_measuring_interrupted())
        g_usleep(TICK_NS / 1000);
    return omo_measuring_interrupted() ? LEAVE : GO_ON;
}

/* ---- one movement -------------------------------------------------------------------
 */

/** The last row of this set for a movement and side; false: not measured yet. */
static bool measured(const struct set *set, const struct omo_short_set_item *item,
                     struct omo_session_row *out)
{
    const char *person = set->given->common.person ? set->given->common.person : "";
    for (size_t i = omo_record_count(set->record); i-- > 0;) {
        const struct omo_session_row *row = omo_record_row(set->record, i);
        if (strcmp(row->person, person) || strcmp(row->visit, set->visit) ||
            strcmp(row->movement, item->movement) ||
            strcmp(row->side, omo_side_name(item->side)))
            continue;
        *out = *row; /* of a withdrawn one the mark comes last */
        return !strcmp(row->status, "ok");
    }
    return false;
}

static void run_plan(struct set *set, struct omo_measuring *m,
                     const struct omo_plan *plan)
{
    char why[256] = "";
    m->record = set->record;
    m->directory = set->directory;
    m->screen = set->screen;
    m->sound = set->sound;
    m->quiet = set->given->json;
    m->movements = 1;
    m->rest_s = 0;
    m->raises_most = RAISES;
    if (!omo_measuring_limits(m, plan, why, sizeof why)) {
        if (why[0])
            omo_warning("%s", why);
        set->left_out++;
        return;
    }
    m->saved = g_array_new(FALSE, FALSE, sizeof(struct omo_saved));
    if (omo_measuring_run(m) != OMO_EXIT_DONE)
        set->code = OMO_EXIT_FAILED;
    for (guint i = 0; i < m->saved->len; i++)
        g_array_append_val(set->rows, g_array_index(m->saved, struct omo_saved, i).row);
    set->left_out += m->saved->len == 0;
    set->over |= m->left || m->enough || omo_measuring_interrupted() || m->fault;
    g_array_unref(m->saved);
}

static void run_item(struct set *set, const struct omo_short_set_item *item)
{
    struct omo_measure_words words;
    struct omo_preferences preferences;
    struct omo_measuring m = {0};
    struct omo_scene *scene = NULL;
    struct omo_plan plan;
    omo_short_set_words(set->given, set->visit, item, &words);
    omo_preferences_load(&preferences);
    if (!omo_plan_resolve(&words.common, true, &plan)) {
        set->code = OMO_EXIT_USAGE;
        set->over = true;
    } else {
        if (omo_measure_resolve(&words, &plan, &preferences, &m, &scene) &&
            omo_short_set_dress(scene, item, &m.feed.wish)) {
            run_plan(set, &m, &plan);
        } else {
            set->code = OMO_EXIT_USAGE;
            set->over = true;
        }
        omo_scene_destroy(scene);
        omo_plan_finish(&plan);
    }
    omo_measure_words_finish(&words);
}

static void run_all(struct set *set, enum omo_side better)
{
    struct omo_short_set_item items[OMO_SHORT_SET_ITEMS];
    int place = -1; /* none yet */
    omo_short_set_order(better, items);
    for (int i = 0; i < OMO_SHORT_SET_ITEMS && !set->over; i++) {
        struct omo_session_row row;
        char what[128] = "";
        if (measured(set, &items[i], &row)) {
            g_array_append_val(set->rows, row);
            continue;
        }
        omo_text_add(what, sizeof what, "%s, %s", omo_movement_words(items[i].movement),
                     omo_course_word(omo_side_name(items[i].side)));
        bool change = (int)items[i].place != place;
        const char *more = "";
        const char *how = change ? place_words(items[i].place, &more) : "";
        enum choice choice = GO_ON;
        if (set->screen)
            choice = ask(set, what, how, more, i + 1);
        else if (change)
            choice = announce(set, what, how, more, i + 1);
        place = (int)items[i].place;
        if (choice == GO_ON)
            run_item(set, &items[i]);
        set->left_out += choice == LEAVE_OUT;
        set->over |= choice == ENOUGH || choice == LEAVE;
    }
}

/* ---- the whole ----------------------------------------------------------------------
 */

/** The better side is the one that is not affected; without a word the left one. */
static enum omo_side better_side(const char *directory, const char *person)
{
    struct omo_person_tables tables;
    enum omo_side better = OMO_LEFT;
    if (!person || omo_person_tables_open(directory, &tables) != OMO_OK)
        return better;
    const struct omo_person_row *who = omo_person_who(&tables, person);
    if (who && !strcmp(who->affected_side, "left"))
        better = OMO_RIGHT;
    omo_person_tables_close(&tables);
    return better;
}

static void print_rows(const struct set *set, double took_s)
{
    cJSON *array = set->given->json ? cJSON_CreateArray() : NULL;
    for (guint i = 0; i < set->rows->len; i++) {
        const struct omo_session_row *row =
            &g_array_index(set->rows, struct omo_session_row, i);
        char text[600];
        if (array) {
            cJSON_AddItemToArray(array, omo_row_json(row));
            continue;
        }
        omo_row_text(row, text, sizeof text);
        puts(text);
    }
    if (array) {
        omo_json_print(array);
        return;
    }
    printf(omo_word(
               "The set: %u of %d movements measured, in %.0f seconds of the program's "
               "time.\n"),
           set->rows->len, OMO_SHORT_SET_ITEMS, took_s);
    if (set->rows->len < OMO_SHORT_SET_ITEMS)
        puts(omo_word("The same command goes on where it was left, today."));
    if (set->rows->len > 0 && set->given->common.person)
        printf(omo_word("A page to file: omogon report --person %s --visit %s\n"),
               set->given->common.person, set->visit);
    printf("\n%s", omo_word(OMO_CAUTION));
}

/** Everything that does not belong to one movement. */
static bool words_fit(const struct omo_measure_words *w)
{
    if (w->common.movement || w->common.side || w->common.position || w->common.from ||
        w->common.facing || w->common.arms || w->movements) {
        omo_error(
            "--short-set measures its own movements, sides and positions; leave out "
            "--movement, --side, --position, --from, --facing, --arms and "
            "--movements");
        return false;
    }
    return true;
}

int omo_short_set_run(const struct omo_measure_words *words)
{
    struct set set = {.given = words};
    char directory[4096];
    if (!words_fit(words))
        return OMO_EXIT_USAGE;
    /* A label that stays for the day, so that a set goes on where it was left. */
    g_autoptr(GDateTime) now = g_date_time_new_now_local();
    if (words->common.visit)
        omo_text_copy(set.visit, sizeof set.visit, words->common.visit);
    else
        omo_text_add(set.visit, sizeof set.visit, "set%dd%d", g_date_time_get_year(now),
                     g_date_time_get_day_of_year(now));
    enum omo_status status = omo_measure_open_screen(words, &set.screen);
    if (status == OMO_OK)
        status =
            omo_open_record(&words->common, &set.record, directory, sizeof directory);
    if (status != OMO_OK) {
        omo_screen_destroy(set.screen);
        return status == OMO_ERR_ARG ? OMO_EXIT_USAGE : OMO_EXIT_FAILED;
    }
    set.directory = directory;
    set.rows = g_array_new(FALSE, FALSE, sizeof(struct omo_session_row));
    if (words->no_sound || omo_sound_open(omo_words_language(), &set.sound) != OMO_OK)
        set.sound = NULL;
    omo_measuring_catch_signals();
    int64_t began_ns = omo_clock_ns();
    run_all(&set, better_side(directory, words->common.person));
    double took_s = (double)(omo_clock_ns() - began_ns) / 1e9;
    if (set.code != OMO_EXIT_USAGE)
        print_rows(&set, took_s);
    if (set.sound && !omo_measuring_interrupted())
        omo_sound_wait(set.sound, SPEECH_S);
    omo_sound_destroy(set.sound);
    omo_screen_destroy(set.screen);
    g_array_unref(set.rows);
    omo_record_close(set.record);
    return set.code;
}
