#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/desk_look.h"
#include "app/measure_options.h"
#include "app/options.h"
#include "app/person_tables.h"
#include "omogon/log.h"
#include "omogon/programme.h"
#include "omogon/tables.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define EVERY_MIN       30.0
#define EVERY_LEAST_MIN 1.0
#define EVERY_MOST_MIN  480.0
#define UPPER_ARMS      "upper arms" /* unit of a ratio, as it stands in notes.csv */

/** As typed. */
struct desk_words {
    struct omo_option_words common;
    char *every, *programme, *scene, *device;
    gboolean once, camera, terminal;
};

struct desk {
    struct omo_plan plan;
    struct omo_feed_settings feed;
    struct omo_scene *scene;
    struct omo_desk_wait wait;
    struct omo_desk_asker *asker;
    char directory[4096];
    double every_min;
    char guidance[512];
    bool camera;
};

/* ---- what is written ---- */

static bool write_note(const struct desk *desk, struct omo_table *table, const char *now,
                       const char *item, double value, const char *unit)
{
    struct omo_note_row row;
    if (isnan(value))
        return true;
    omo_table_row_init(OMO_TABLE_NOTES, &row);
    omo_text_copy(row.person, sizeof row.person, desk->plan.row.person);
    omo_text_copy(row.written, sizeof row.written, now);
    omo_text_copy(row.item, sizeof row.item, item);
    omo_text_copy(row.side, sizeof row.side, desk->plan.row.side);
    omo_text_copy(row.unit, sizeof row.unit, unit);
    row.value = value;
    return omo_table_append(table, &row) == OMO_OK;
}

/** The folder is opened for this alone: between two checks nothing is held. */
static bool write_all(const struct desk *desk, const int answer[OMO_DESK_QUESTIONS],
                      const struct omo_desk_figures *figures)
{
    struct omo_table *table;
    char now[32];
    bool any = figures != NULL, good = true;
    for (int i = 0; i < OMO_DESK_QUESTIONS; i++)
        any |= answer[i] >= 0;
    if (!any)
        return true;
    if (omo_table_open(desk->directory, OMO_TABLE_NOTES, &table) != OMO_OK)
        return false;
    omo_now_utc(now);
    for (int i = 0; good && i < OMO_DESK_QUESTIONS; i++)
        good = write_note(desk, table, now, omo_desk_item(i),
                          answer[i] >= 0 ? answer[i] : (double)NAN, "");
    if (good && figures)
        good = write_note(desk, table, now, "desk-hike-ratio", figures->hike_ratio,
                          UPPER_ARMS) &&
               write_note(desk, table, now, "desk-elbow-distance-ratio",
                          figures->elbow_distance_ratio, UPPER_ARMS);
    omo_table_close(table);
    return good;
}

static void print_figures(const struct omo_desk_figures *figures)
{
    char hike[32], elbow[32], let_go[32];
    if (isnan(figures->hike_ratio) || isnan(figures->elbow_distance_ratio)) {
        puts(omo_word("The arm was not still while it hung, so there is nothing to "
                      "compare with."));
        return;
    }
    omo_number_text(figures->hike_ratio * 100, 0, hike, sizeof hike);
    omo_number_text(figures->elbow_distance_ratio * 100, 0, elbow, sizeof elbow);
    omo_number_text(figures->elbow_relaxed_ratio * 100, 0, let_go, sizeof let_go);
    printf(omo_word(
               "Of the upper arm's length: the shoulder was %s %% above where it hangs, "
               "the elbow %s %% out; hanging, %s %%.\n"),
           hike, elbow, let_go);
}

/* ---- the check ---- */

/** One check; false when its answers could not be written. */
static bool check_once(struct desk *desk)
{
    struct omo_desk_figures figures;
    int answer[OMO_DESK_QUESTIONS];
    bool looked = false;
    if (desk->camera)
        looked = omo_desk_look(&desk->plan, &desk->feed, &desk->wait, desk->asker,
                               &figures) == OMO_OK;
    if (desk->wait.stopped)
        return true;
    if (looked)
        print_figures(&figures);
    omo_desk_ask(desk->asker, desk->guidance, answer);
    fflush(stdout);
    return write_all(desk, answer, looked ? &figures : NULL);
}

static int run(struct desk *desk, bool once)
{
    bool good = true;
    if (once)
        return check_once(desk) ? OMO_EXIT_DONE : OMO_EXIT_FAILED;
    while (good && omo_desk_wait_for(&desk->wait, desk->every_min * 60.0))
        good = check_once(desk);
    return good ? OMO_EXIT_DONE : OMO_EXIT_FAILED;
}

/* ---- the call ---- */

/** Interval and guidance of a programme's first step of this kind. */
static bool read_programme(const char *path, struct desk *desk)
{
    g_autofree struct omo_programme *programme = g_new0(struct omo_programme, 1);
    if (omo_programme_load(path, programme) != OMO_OK)
        return false;
    for (int i = 0; i < programme->step_count; i++) {
        const struct omo_step *step = &programme->step[i];
        if (step->kind != OMO_STEP_DESK)
            continue;
        desk->every_min = step->every_min;
        omo_text_copy(desk->guidance, sizeof desk->guidance, step->guidance_said);
        return true;
    }
    omo_error("the programme \"%s\" has no step of kind desk", path);
    return false;
}

static bool read_interval(const struct desk_words *w, struct desk *desk)
{
    double least = EVERY_LEAST_MIN, most = EVERY_MOST_MIN;
    desk->every_min = EVERY_MIN;
    if (w->programme && !read_programme(w->programme, desk))
        return false;
    if (w->every && (!omo_number_parse(w->every, &desk->every_min) ||
                     !(desk->every_min >= least && desk->every_min <= most))) {
        omo_error("--every \"%s\" is no number of minutes that fits; give %.0f to %.0f",
                  w->every, least, most);
        return false;
    }
    return true;
}

static bool read_camera(const struct desk_words *w,
                        const struct omo_preferences *preferences, struct desk *desk)
{
    desk->camera = w->camera || w->scene || w->device;
    if (w->scene && w->device) {
        omo_error("--simulated and --device exclude each other");
        return false;
    }
    desk->feed.wish.lock_light = true;
    if (w->device)
        omo_text_copy(desk->feed.wish.path, sizeof desk->feed.wish.path, w->device);
    else if (desk->camera && !w->scene)
        omo_remembered_camera(preferences, desk->feed.wish.path,
                              sizeof desk->feed.wish.path);
    if (w->scene) {
        desk->scene = omo_scene_create();
        desk->feed.scene = desk->scene;
        return desk->scene && omo_scene_load(desk->scene, w->scene) == OMO_OK;
    }
    return true;
}

/** At a desk one sits and the camera stands before one, unless it is said otherwise. */
static void fill_in(struct omo_option_words *w, const struct omo_preferences *preferences)
{
    if (!w->movement)
        w->movement = g_strdup("abduction");
    if (!w->position)
        w->position = g_strdup("seated");
    if (!w->side)
        w->side = g_strdup(preferences->side[0] ? preferences->side : "right");
    if (!w->person && preferences->person[0])
        w->person = g_strdup(preferences->person);
    if (!w->colours && preferences->colours[0])
        w->colours = g_strdup(preferences->colours);
}

static int desk_command(struct desk_words *w)
{
    struct omo_preferences preferences;
    struct desk desk = {.every_min = EVERY_MIN};
    struct omo_record *record = NULL;
    int code = OMO_EXIT_USAGE;
    omo_preferences_load(&preferences);
    fill_in(&w->common, &preferences);
    if (!read_interval(w, &desk) || !omo_plan_resolve(&w->common, true, &desk.plan))
        return code;
    if (read_camera(w, &preferences, &desk)) {
        code = OMO_EXIT_FAILED;
        /* A folder that cannot be written is said now and not in half an hour. */
        if (omo_open_record(&w->common, &record, desk.directory, sizeof desk.directory) ==
            OMO_OK) {
            omo_record_close(record);
            omo_desk_wait_init(&desk.wait);
            desk.asker = omo_desk_asker_create(&desk.wait, !w->terminal);
            code = run(&desk, w->once);
            omo_desk_asker_destroy(desk.asker);
            omo_desk_wait_finish(&desk.wait);
        }
    }
    omo_scene_destroy(desk.scene);
    omo_plan_finish(&desk.plan);
    return code;
}

int omo_command_desk(int argc, char **argv)
{
    struct desk_words w = {0};
    const GOptionEntry entries[] = {
        {"every", 0, 0, G_OPTION_ARG_STRING, &w.every,
         OMO_WORD("minutes between two checks (default 30, or the programme's)"), "MIN"},
        {"programme", 0, 0, G_OPTION_ARG_FILENAME, &w.programme,
         OMO_WORD("interval and guidance of its first step of kind desk"), "FILE"},
        {"once", 0, 0, G_OPTION_ARG_NONE, &w.once, OMO_WORD("ask now, once, and end"),
         NULL},
        {"camera", 0, 0, G_OPTION_ARG_NONE, &w.camera,
         OMO_WORD("at each check, look through the camera for some seconds; markers on "
                  "shoulder and elbow are needed"),
         NULL},
        {"device", 0, 0, G_OPTION_ARG_STRING, &w.device,
         OMO_WORD("which camera, for example /dev/video2 (default: the remembered one)"),
         "DEVICE"},
        {"simulated", 0, 0, G_OPTION_ARG_STRING, &w.scene,
         OMO_WORD("an invented person instead of a camera: a scene's name or file"),
         "SCENE"},
        {"terminal", 0, 0, G_OPTION_ARG_NONE, &w.terminal,
         OMO_WORD("ask in the terminal, without notifications"), NULL},
        {0},
    };
    GOptionContext *context = g_option_context_new(NULL);
    omo_options_add(context, &w.common);
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD(
            "Asks three things at an interval while you work: is the shoulder pulled "
            "up, is the elbow\ntight to the side, is the arm tense? Without the "
            "camera, unless it is asked for."),
        OMO_WORD("The questions come as quiet notifications with buttons, or as one line "
                 "in the terminal,\nwhere y and n are typed. The answers go to notes.csv "
                 "in the record's folder.\n\n"
                 "Examples:\n"
                 "  omogon desk --person P07 &\n"
                 "  omogon desk --programme desk-days --camera --side left\n"
                 "  omogon desk --once --terminal\n\n"
                 "Exit: 0 done, also by a signal; 1 the answers could not be written; 2 "
                 "the call is\nwrong.\n"),
        true);
    int code = OMO_EXIT_USAGE;
    if (omo_options_parse(context, &argc, &argv)) {
        if (argc > 1)
            omo_error("desk takes no \"%s\"; \"omogon desk --help\" lists the options",
                      argv[1]);
        else
            code = desk_command(&w);
    }
    g_option_context_free(context);
    char **all[] = {&w.every, &w.programme, &w.scene, &w.device};
    for (size_t i = 0; i < G_N_ELEMENTS(all); i++)
        g_free(*all[i]);
    omo_options_finish(&w.common);
    return code;
}
