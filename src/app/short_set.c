#include "app/short_set.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/course_view.h"
#include "app/measuring_limits.h"
#include "app/person_tables.h"
#include "app/pipeline.h"
#include "app/short_set_run.h"
#include "omogon/clock.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* Three raises each, so that all eight take less than four minutes of the program's time.
 */
#define RAISES   3
#define SPEECH_S 6

/** A movement, from its words to its end. */
struct item_run {
    struct omo_measure_words words;
    struct omo_preferences preferences;
    struct omo_plan plan;
    bool planned;
    struct omo_measuring m;
    struct omo_scene *scene;
};

static bool item_open(struct omo_set *set, const struct omo_short_set_item *item,
                      struct item_run *run)
{
    memset(run, 0, sizeof *run);
    omo_short_set_words(set->given, set->visit, item, &run->words);
    omo_preferences_load(&run->preferences);
    run->planned = omo_plan_resolve(&run->words.common, true, &run->plan);
    return run->planned &&
           omo_measure_resolve(&run->words, &run->plan, &run->preferences, &run->m,
                               &run->scene) &&
           omo_short_set_dress(run->scene, item, &run->m.feed.wish);
}

static void item_close(struct item_run *run)
{
    omo_scene_destroy(run->scene);
    if (run->planned)
        omo_plan_finish(&run->plan);
    omo_measure_words_finish(&run->words);
}

/** A person's limits. Asked before anybody is told to turn or to lie down for it. */
static bool allowed(struct omo_set *set, struct item_run *run, const char *what)
{
    char why[256] = "";
    run->m.directory = set->directory;
    if (omo_measuring_limits(&run->m, &run->plan, why, sizeof why))
        return true;
    omo_warning("%s: %s", what, why[0] ? why : omo_word("left out"));
    g_ptr_array_add(set->left_out,
                    g_strdup_printf(omo_word("Not measured: %s. %s"), what, why));
    return false;
}

static void measure(struct omo_set *set, struct omo_measuring *m, const char *what)
{
    m->record = set->record;
    m->screen = set->screen;
    m->sound = set->sound;
    m->quiet = set->given->json;
    m->movements = 1;
    m->rest_s = 0;
    m->raises_most = RAISES;
    m->saved = g_array_new(FALSE, FALSE, sizeof(struct omo_saved));
    if (omo_measuring_run(m) != OMO_EXIT_DONE)
        set->code = OMO_EXIT_FAILED;
    for (guint i = 0; i < m->saved->len; i++)
        g_array_append_val(set->rows, g_array_index(m->saved, struct omo_saved, i).row);
    if (m->saved->len == 0)
        g_ptr_array_add(set->left_out,
                        g_strdup_printf(omo_word("Nothing was measured: %s."), what));
    set->window_left |= m->left;
    set->over |= m->left || m->enough || omo_measuring_interrupted() || m->fault;
    g_array_unref(m->saved);
}

/** The last row of this set for a movement and side; false: not measured yet. */
static bool measured(const struct omo_set *set, const struct omo_short_set_item *item,
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

/** One movement: whether it may be, the way there, the measurement. `place` is how the
 *  person stands or lies. */
static void run_item(struct omo_set *set, const struct omo_short_set_item *item,
                     int number, int *place)
{
    struct item_run run;
    char what[128] = "";
    omo_text_add(what, sizeof what, "%s, %s", omo_movement_words(item->movement),
                 omo_course_word(omo_side_name(item->side)));
    if (!item_open(set, item, &run)) {
        set->code = OMO_EXIT_USAGE;
        set->over = true;
    } else if (allowed(set, &run, what)) {
        int change = (int)item->place != *place ? (int)item->place : -1;
        *place = (int)item->place;
        switch (omo_set_ask(set, what, change, number)) {
        case OMO_SET_GO_ON:
            measure(set, &run.m, what);
            break;
        case OMO_SET_LEAVE_OUT:
            g_ptr_array_add(set->left_out,
                            g_strdup_printf(omo_word("Left out: %s."), what));
            break;
        case OMO_SET_LEAVE:
            set->window_left = true;
            set->over = true;
            break;
        case OMO_SET_ENOUGH:
            set->over = true;
            break;
        }
    }
    item_close(&run);
}

static void run_all(struct omo_set *set, enum omo_side better)
{
    struct omo_short_set_item items[OMO_SHORT_SET_ITEMS];
    struct omo_session_row row;
    int place = -1, earlier = 0;
    omo_short_set_order(better, items);
    for (int i = 0; i < OMO_SHORT_SET_ITEMS; i++)
        earlier += measured(set, &items[i], &row);
    if (earlier > 0) {
        enum omo_set_choice choice = omo_set_ask_again(set, earlier);
        set->over = choice == OMO_SET_ENOUGH || choice == OMO_SET_LEAVE;
        set->window_left = choice == OMO_SET_LEAVE;
    }
    for (int i = 0; i < OMO_SHORT_SET_ITEMS; i++) {
        if (!set->anew && measured(set, &items[i], &row))
            g_array_append_val(set->rows, row);
        else if (!set->over)
            run_item(set, &items[i], i + 1, &place);
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
    if (!strcmp(omo_person_affected(&tables, person), "left"))
        better = OMO_RIGHT;
    omo_person_tables_close(&tables);
    return better;
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
    if (w->rest || w->seconds || w->budget) {
        omo_error("--short-set has its own pauses and its own end; leave out --rest, "
                  "--seconds and --budget");
        return false;
    }
    return true;
}

/** With the record open; the screen and the sound are the caller's. */
static void run_set(struct omo_set *set)
{
    const char *visit = set->given->common.visit, *person = set->given->common.person;
    /* A label that stays for the day, so that a set goes on where it was left. Who has no
       code gets a new one: it may be somebody else. */
    if (visit)
        omo_text_copy(set->visit, sizeof set->visit, visit);
    else
        omo_set_label(set->visit, !person);
    set->rows = g_array_new(FALSE, FALSE, sizeof(struct omo_session_row));
    set->left_out = g_ptr_array_new_with_free_func(g_free);
    int64_t began_ns = omo_clock_ns();
    run_all(set, better_side(set->directory, person));
    double took_s = (double)(omo_clock_ns() - began_ns) / 1e9;
    if (set->code != OMO_EXIT_USAGE)
        omo_set_summary(set, took_s);
    g_array_unref(set->rows);
    g_ptr_array_unref(set->left_out);
}

int omo_short_set_run(const struct omo_measure_words *words)
{
    struct omo_set set = {.given = words};
    char directory[4096];
    if (!words_fit(words))
        return OMO_EXIT_USAGE;
    enum omo_status status = omo_measure_open_screen(words, &set.screen);
    if (status == OMO_OK)
        status =
            omo_open_record(&words->common, &set.record, directory, sizeof directory);
    if (status != OMO_OK) {
        omo_screen_destroy(set.screen);
        return status == OMO_ERR_ARG ? OMO_EXIT_USAGE : OMO_EXIT_FAILED;
    }
    set.directory = directory;
    if (words->no_sound || omo_sound_open(omo_words_language(), &set.sound) != OMO_OK)
        set.sound = NULL;
    omo_measuring_catch_signals();
    run_set(&set);
    if (set.sound && !omo_measuring_interrupted())
        omo_sound_wait(set.sound, SPEECH_S);
    omo_sound_destroy(set.sound);
    omo_screen_destroy(set.screen);
    omo_record_close(set.record);
    return set.code;
}

bool omo_short_set_page(struct omo_screen *screen, struct omo_sound *sound,
                        const struct omo_preferences *preferences, int *code)
{
    struct omo_measure_words words = {0};
    struct omo_set set = {.given = &words, .screen = screen, .sound = sound};
    char directory[4096];
    *code = OMO_EXIT_FAILED;
    if (preferences->person[0])
        words.common.person = g_strdup(preferences->person);
    if (preferences->colours[0])
        words.common.colours = g_strdup(preferences->colours);
    if (omo_open_record(&words.common, &set.record, directory, sizeof directory) ==
        OMO_OK) {
        set.directory = directory;
        run_set(&set);
        omo_record_close(set.record);
        *code = set.code;
    }
    omo_measure_words_finish(&words);
    return set.window_left;
}
