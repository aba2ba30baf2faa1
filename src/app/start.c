#include "app/start.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "app/check.h"
#include "app/commands.h"
#include "app/course_page.h"
#include "app/demo.h"
#include "app/measure_options.h"
#include "app/measuring_limits.h"
#include "app/measuring_words.h"
#include "app/month.h"
#include "app/overview_page.h"
#include "app/placement_page.h"
#include "app/result_page.h"
#include "app/session_start.h"
#include "app/short_set.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define MOVEMENTS_MAX 16

/** What the pages share. */
struct start {
    struct omo_screen *screen;
    struct omo_sound *sound;
    struct omo_preferences preferences;
    struct omo_month month;
    bool leave;
    int code;
};

static void say(struct start *start, const char *title, const char *sentence)
{
    const char *lines[] = {sentence};
    const char *items[] = {omo_word("Back")};
    struct omo_list_page page = {.title = title,
                                 .lines = lines,
                                 .line_count = 1,
                                 .items = items,
                                 .item_count = 1,
                                 .foot = omo_caution_words()};
    if (omo_ask_page(start->screen, &page, INFINITY) == -2)
        start->leave = true;
}

/** What to know before the forearm is turned; "" for other movements. */
static const char *hint_of(const struct omo_movement *movement)
{
    if (movement->geometry == OMO_GEOMETRY_ROTATION)
        return omo_word(
            "Lie on your back, the upper arm on a towel, held out only as far "
            "as it goes, and put the camera along the upper arm. Stop where "
            "it hurts.");
    if (movement->geometry == OMO_GEOMETRY_FORESHORTENED)
        return omo_word("Second choice: wear bands, face the camera, elbow at your side. "
                        "Blind near zero, and poor beyond 65 degrees.");
    return "";
}

/** From the front both arms are seen at once. */
static bool takes_both(const struct omo_movement *movement)
{
    return movement->view == OMO_VIEW_FRONT &&
           movement->geometry == OMO_GEOMETRY_ELEVATION;
}

/** "your left", or what the last choice was. */
static const char *side_words(const char *side)
{
    if (!strcmp(side, "both"))
        return omo_word("both arms");
    return strcmp(side, "left") ? omo_word("your right") : omo_word("your left");
}

static void measure_short_set(struct start *start)
{
    int code = OMO_EXIT_DONE;
    start->leave =
        omo_short_set_page(start->screen, start->sound, &start->preferences, &code);
    if (code == OMO_EXIT_DONE)
        return;
    start->code = code;
    say(start, omo_word("Measure"),
        omo_word("This could not be begun; the terminal window says why."));
}

/** Movement and side of the next measurement; false: back, or measured already. */
static bool choose(struct start *start, const struct omo_movement_table *table)
{
    const char *items[MOVEMENTS_MAX + 1], *names[MOVEMENTS_MAX];
    int count = 0;
    for (int i = 0; i < omo_movement_count(table) && count < MOVEMENTS_MAX; i++) {
        names[count] = omo_movement_at(table, i)->key;
        items[count++] = omo_movement_words(omo_movement_at(table, i)->key);
    }
    int short_set = count; /* stands below the movements */
    items[count++] = omo_word("Short set: eight movements of both sides");
    const char *which[] = {omo_word("Which movement?")};
    struct omo_list_page page = {.title = omo_word("Measure"),
                                 .lines = which,
                                 .line_count = 1,
                                 .items = items,
                                 .item_count = count,
                                 .foot = omo_caution_words()};
    int movement = omo_ask_page(start->screen, &page, INFINITY);
    if (movement < 0) {
        start->leave = movement == -2;
        return false;
    }
    if (movement == short_set) {
        measure_short_set(start);
        return false;
    }
    static const char *const names_of_sides[] = {"left", "right", "both"};
    const char *sides[] = {omo_word("your left"), omo_word("your right"),
                           omo_word("both arms")};
    const struct omo_movement *chosen = omo_movement_find(table, names[movement]);
    const char *hint = hint_of(chosen);
    const char *whose[] = {omo_word("Which arm, seen from yourself?"), hint};
    page.title = items[movement];
    page.lines = whose;
    page.line_count = hint[0] ? 2 : 1;
    page.items = sides;
    page.item_count = takes_both(chosen) ? 3 : 2;
    page.chosen = 1;
    for (int i = 0; i < page.item_count; i++)
        if (!strcmp(start->preferences.side, names_of_sides[i]))
            page.chosen = i;
    int side = omo_ask_page(start->screen, &page, INFINITY);
    if (side < 0) {
        start->leave = side == -2;
        return false;
    }
    omo_text_copy(start->preferences.movement, sizeof start->preferences.movement,
                  names[movement]);
    omo_text_copy(start->preferences.side, sizeof start->preferences.side,
                  names_of_sides[side]);
    omo_preferences_save(&start->preferences);
    return true;
}

/** The words of a call that the pages stand for. */
static void fill_words(const struct start *start, struct omo_measure_words *w)
{
    const struct omo_preferences *p = &start->preferences;
    w->common.movement = g_strdup(p->movement);
    w->common.side = g_strdup(p->side);
    if (p->person[0])
        w->common.person = g_strdup(p->person);
    if (p->colours[0])
        w->common.colours = g_strdup(p->colours);
}

static void measure_once(struct start *start, const struct omo_measure_words *w,
                         const struct omo_plan *plan, enum omo_after *after)
{
    struct omo_measuring m = {.screen = start->screen, .sound = start->sound};
    struct omo_scene *scene = NULL;
    char directory[4096], why[256];
    *after = OMO_AFTER_DONE;
    if (!omo_measure_resolve(w, plan, &start->preferences, &m, &scene) ||
        omo_open_record(&w->common, &m.record, directory, sizeof directory) != OMO_OK) {
        say(start, omo_word("Measure"),
            omo_word("This could not be begun; the terminal "
                     "window says why."));
        return;
    }
    m.directory = directory;
    m.quiet = true;
    if (!omo_measuring_limits(&m, plan, why, sizeof why)) {
        say(start, omo_word("Not today"), why);
        omo_record_close(m.record);
        omo_scene_destroy(scene);
        return;
    }
    m.saved = g_array_new(FALSE, FALSE, sizeof(struct omo_saved));
    int code = omo_measuring_run(&m);
    if (code != OMO_EXIT_DONE) {
        start->code = code;
        say(start, omo_word("Measure"),
            omo_word(omo_camera_fault_text(
                m.fault != OMO_CAMERA_FINE ? m.fault : OMO_CAMERA_UNUSABLE)));
    } else if (m.left) {
        start->leave = true;
    } else {
        *after = omo_result_page(start->screen, &m, INFINITY);
        start->leave = *after == OMO_AFTER_LEAVE;
    }
    start->preferences.mirror = m.mirror;
    g_array_unref(m.saved);
    omo_record_close(m.record);
    omo_scene_destroy(scene);
}

static void measure(struct start *start)
{
    struct omo_measure_words w = {.common.takes_both_sides = true};
    struct omo_plan plan;
    enum omo_after after = OMO_AFTER_AGAIN;
    fill_words(start, &w);
    if (omo_plan_resolve(&w.common, true, &plan)) {
        while (after == OMO_AFTER_AGAIN && !start->leave)
            measure_once(start, &w, &plan, &after);
        omo_plan_finish(&plan);
    }
    omo_measure_words_finish(&w);
}

/** Which camera is used from now on. */
static void choose_camera(struct start *start)
{
    struct omo_camera_entry entry[8];
    char words[8][160];
    const char *items[8];
    int count = omo_camera_list(NULL, entry, G_N_ELEMENTS(entry)), chosen = 0;
    if (count == 0) {
        say(start, omo_word("Choose the camera"),
            omo_word(omo_camera_fault_text(omo_camera_list_fault(NULL))));
        return;
    }
    for (int i = 0; i < count; i++) {
        words[i][0] = '\0';
        omo_text_add(words[i], sizeof words[i], "%s (%s)", entry[i].name, entry[i].path);
        items[i] = words[i];
        if (!strcmp(entry[i].path, start->preferences.camera))
            chosen = i;
    }
    struct omo_list_page page = {.title = omo_word("Choose the camera"),
                                 .items = items,
                                 .item_count = count,
                                 .chosen = chosen,
                                 .foot = omo_caution_words()};
    int item = omo_ask_page(start->screen, &page, INFINITY);
    start->leave = item == -2;
    if (item < 0)
        return;
    omo_preferences_camera(&start->preferences, entry[item].path, entry[item].name);
    omo_preferences_save(&start->preferences);
}

/** One round of the first page; false: leave. */
static bool first_page(struct start *start, const struct omo_movement_table *table)
{
    char last[160] = "";
    const char *items[10];
    enum {
        LAST,
        OTHER,
        SESSION,
        COURSE,
        PLACEMENT,
        CHECK,
        CAMERA,
        INVENTED,
        OVERVIEW,
        LEAVE
    } meaning[10];
    int count = 0;
    if (start->preferences.movement[0] && start->preferences.side[0]) {
        omo_text_add(last, sizeof last, omo_word("Measure: %s, %s"),
                     omo_movement_words(start->preferences.movement),
                     side_words(start->preferences.side));
        meaning[count] = LAST;
        items[count++] = last;
    }
    meaning[count] = OTHER;
    items[count++] = omo_word("Measure another movement");
    if (!last[0])
        items[count - 1] = omo_word("Measure a movement");
    meaning[count] = SESSION;
    items[count++] = omo_word("Today's programme");
    meaning[count] = COURSE;
    items[count++] = omo_word("How it went");
    meaning[count] = OVERVIEW;
    items[count++] = omo_word("A person at a glance");
    meaning[count] = PLACEMENT;
    items[count++] = omo_word("Where the markers go");
    meaning[count] = CHECK;
    items[count++] = omo_word("Check camera and light");
    meaning[count] = CAMERA;
    items[count++] = omo_word("Choose the camera");
    meaning[count] = INVENTED;
    items[count++] = omo_word("Show it on an invented person");
    meaning[count] = LEAVE;
    items[count++] = omo_word("Leave");
    const char *lines[] = {
        omo_word("How far does your arm go today? Put the markers on, stand where the "
                 "camera sees you from hip to raised hand, and begin."),
        omo_word("Stop at pain. Nothing here asks you to go further than is "
                 "comfortable.")};
    struct omo_list_page page = {.title = "omogon",
                                 .lines = lines,
                                 .line_count = 2,
                                 .items = items,
                                 .item_count = count,
                                 .chosen = 0,
                                 .foot = omo_caution_words()};
    omo_month_read(&start->month, &start->preferences);
    if (start->month.what[0]) {
        page.figure = omo_month_paint;
        page.user = &start->month;
        page.figure_version = start->month.version;
    }
    int item = omo_ask_page(start->screen, &page, INFINITY);
    if (item < 0)
        return false;
    switch (meaning[item]) {
    case LAST:
        measure(start);
        break;
    case OTHER:
        if (choose(start, table))
            measure(start);
        break;
    case SESSION:
        start->leave =
            omo_session_page_of(start->screen, start->sound, &start->preferences);
        break;
    case COURSE:
        start->leave = omo_course_page(start->screen, &start->preferences);
        break;
    case PLACEMENT:
        start->leave = omo_placement_page(start->screen, &start->preferences, table);
        break;
    case CHECK:
        start->leave = omo_check_page(start->screen, &start->preferences);
        break;
    case CAMERA:
        choose_camera(start);
        break;
    case INVENTED:
        start->leave = omo_demo_page(start->screen, start->sound);
        break;
    case OVERVIEW:
        start->leave = omo_overview_pages(start->screen, &start->preferences);
        break;
    case LEAVE:
        return false;
    }
    return !start->leave;
}

int omo_start_pages(void)
{
    struct start start = {.code = OMO_EXIT_DONE};
    struct omo_movement_table *table = NULL;
    struct omo_screen_settings settings = {.title = "omogon"};
    omo_preferences_load(&start.preferences);
    if (omo_movement_table_load(NULL, &table) != OMO_OK)
        return OMO_EXIT_FAILED;
    if (omo_screen_open(&settings, &start.screen) != OMO_OK) {
        omo_movement_table_destroy(table);
        return OMO_EXIT_FAILED;
    }
    if (omo_sound_open(omo_words_language(), &start.sound) != OMO_OK)
        start.sound = NULL;
    omo_measuring_catch_signals();
    while (first_page(&start, table) && !omo_measuring_interrupted())
        ;
    omo_sound_destroy(start.sound);
    omo_screen_destroy(start.screen);
    omo_movement_table_destroy(table);
    return start.code;
}
