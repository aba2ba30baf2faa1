#include "app/check.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/bench.h"
#include "app/commands.h"
#include "app/measure_options.h"
#include "app/measuring_words.h"
#include "app/options.h"
#include "app/progress_line.h"
#include "app/result_page.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define LOOK_S 5.0

static const char *const verdicts[] = {"pass", "remedy", "unknown"};

static const char *sign(enum omo_verdict verdict)
{
    return verdict == OMO_VERDICT_PASS     ? omo_word("good")
           : verdict == OMO_VERDICT_REMEDY ? omo_word("CHANGE")
                                           : omo_word("not known");
}

static void print_json(const struct omo_check_item *items, int count)
{
    cJSON *array = cJSON_CreateArray();
    for (int i = 0; i < count; i++) {
        cJSON *object = cJSON_CreateObject();
        cJSON_AddStringToObject(object, "check", items[i].name);
        cJSON_AddStringToObject(object, "verdict", verdicts[items[i].verdict]);
        cJSON_AddStringToObject(object, "text", items[i].sentence);
        cJSON_AddItemToArray(array, object);
    }
    char *text = cJSON_Print(array);
    puts(text ? text : "[]");
    cJSON_free(text);
    cJSON_Delete(array);
}

static bool show_progress(double ratio, void *user)
{
    (void)user;
    omo_progress_show(ratio, omo_word("looking"));
    return !omo_measuring_interrupted();
}

/** The check in the terminal: 1 when anything has to be changed. */
static int check_in_text(const struct omo_plan *plan,
                         const struct omo_feed_settings *feed, bool json)
{
    struct omo_check_item items[OMO_CHECK_ITEMS];
    enum omo_camera_fault fault = OMO_CAMERA_FINE;
    bool remedy = false;
    omo_progress_begin();
    int count = omo_check_look(plan, feed, LOOK_S, show_progress, NULL, &fault, items);
    omo_progress_end();
    if (count == 0) {
        if (fault != OMO_CAMERA_FINE)
            omo_error("%s", omo_word(omo_camera_fault_text(fault)));
        return OMO_EXIT_FAILED;
    }
    for (int i = 0; i < count; i++)
        remedy |= items[i].verdict == OMO_VERDICT_REMEDY;
    if (json) {
        print_json(items, count);
    } else {
        for (int i = 0; i < count; i++) {
            const char *word = sign(items[i].verdict);
            printf("%s%*s %s\n", word, MAX(10 - (int)g_utf8_strlen(word, -1), 0), "",
                   items[i].sentence);
        }
    }
    return remedy ? OMO_EXIT_FAILED : OMO_EXIT_DONE;
}

/** What the page needs while it looks. */
struct looking {
    struct omo_screen *screen;
    int drawn; /* tenths */
    bool leave;
};

static bool draw_progress(double ratio, void *user)
{
    struct looking *looking = user;
    struct omo_input input;
    if (omo_screen_input(looking->screen, 0, &input)) {
        looking->leave = input.action == OMO_ACTION_QUIT;
        if (looking->leave || input.action == OMO_ACTION_BACK)
            return false;
    }
    if ((int)(ratio * 10) == looking->drawn)
        return true;
    looking->drawn = (int)(ratio * 10);
    char line[128] = "";
    omo_text_add(line, sizeof line, omo_word("The camera is on. Looking: %d %%"),
                 looking->drawn * 10);
    const char *lines[] = {line, omo_word("Stand where you will measure, arm hanging.")};
    struct omo_list_page page = {.title = omo_word("Check camera and light"),
                                 .lines = lines,
                                 .line_count = 2,
                                 .chosen = -1,
                                 .foot = ""};
    omo_screen_list(looking->screen, &page);
    return !omo_measuring_interrupted();
}

/** One look and its page: the chosen item, -1 back, -2 leave. */
static int check_once(struct omo_screen *screen, const struct omo_plan *plan,
                      const struct omo_feed_settings *feed)
{
    struct omo_check_item items[OMO_CHECK_ITEMS];
    enum omo_camera_fault fault = OMO_CAMERA_FINE;
    struct looking looking = {.screen = screen, .drawn = -1};
    int count =
        omo_check_look(plan, feed, LOOK_S, draw_progress, &looking, &fault, items);
    if (looking.leave || (count == 0 && fault == OMO_CAMERA_FINE))
        return looking.leave ? -2 : -1;
    g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
    for (int i = 0; i < count; i++)
        g_ptr_array_add(lines, g_strdup_printf("%s: %s", sign(items[i].verdict),
                                               items[i].sentence));
    if (count == 0)
        g_ptr_array_add(lines, g_strdup(omo_word(omo_camera_fault_text(fault))));
    const char *buttons[] = {omo_word("Check again"), omo_word("Back")};
    struct omo_list_page page = {.title = omo_word("Check camera and light"),
                                 .lines = (const char *const *)lines->pdata,
                                 .line_count = (int)lines->len,
                                 .items = buttons,
                                 .item_count = 2,
                                 .chosen = 1,
                                 .foot = omo_caution_words()};
    return omo_ask_page(screen, &page, INFINITY);
}

bool omo_check_page(struct omo_screen *screen, const struct omo_preferences *preferences)
{
    struct omo_option_words words = {.movement = g_strdup(preferences->movement[0]
                                                              ? preferences->movement
                                                              : "flexion"),
                                     .side = g_strdup(omo_preferences_arm(preferences))};
    struct omo_plan plan;
    struct omo_feed_settings feed = {0};
    int item = -1;
    omo_remembered_camera(preferences, feed.wish.path, sizeof feed.wish.path);
    if (preferences->colours[0])
        words.colours = g_strdup(preferences->colours);
    if (omo_plan_resolve(&words, true, &plan)) {
        do
            item = check_once(screen, &plan, &feed);
        while (item == 0);
        omo_plan_finish(&plan);
    }
    omo_options_finish(&words);
    return item == -2;
}

static int check(struct omo_measure_words *w)
{
    struct omo_preferences preferences;
    struct omo_plan plan;
    struct omo_measuring m = {0};
    struct omo_scene *scene = NULL;
    int code = OMO_EXIT_USAGE;
    omo_preferences_load(&preferences);
    if (!w->common.movement)
        w->common.movement =
            g_strdup(preferences.movement[0] ? preferences.movement : "flexion");
    if (!w->common.side)
        w->common.side = g_strdup(omo_preferences_arm(&preferences));
    if (!omo_plan_resolve(&w->common, true, &plan))
        return code;
    if (omo_measure_resolve(w, &plan, &preferences, &m, &scene)) {
        omo_measuring_catch_signals();
        code = check_in_text(&plan, &m.feed, w->json);
    }
    omo_scene_destroy(scene);
    omo_plan_finish(&plan);
    return code;
}

int omo_command_check(int argc, char **argv)
{
    struct omo_measure_words w = {0};
    char *bench = NULL;
    const GOptionEntry entries[] = {
        {"bench", 0, 0, G_OPTION_ARG_FILENAME, &bench,
         OMO_WORD("instead: clips of a hinged board against the angles it was set to; a "
                  "table with the columns set_deg, yaw_deg, clip"),
         "FORM.csv"},
        {0},
    };
    GOptionContext *context = g_option_context_new(NULL);
    omo_options_add(context, &w.common);
    omo_measure_options_add(context, &w);
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD(
            "Looks through the camera for five seconds and says what is good and what "
            "to change:\ncamera, light, level, markers, distance, things and people "
            "around, view."),
        OMO_WORD("With --bench no camera is opened: the clips of a board on a printed "
                 "protractor are\nmeasured and compared with what was set (\"omogon "
                 "stickers --bench-check\" prints board,\nsteps and form).\n\n"
                 "Examples:\n"
                 "  omogon check --movement abduction --side left\n"
                 "  omogon check --bench bench-check.csv\n\n"
                 "Exit: 0 all good or not known; 1 something to change, no camera, or a "
                 "clip that could\nnot be measured; 2 the call is wrong.\n"),
        false);
    int code = OMO_EXIT_USAGE;
    if (omo_options_parse(context, &argc, &argv)) {
        if (argc > 1)
            omo_error("check takes no \"%s\"; \"omogon check --help\" lists the options",
                      argv[1]);
        else
            code = bench ? omo_bench_check(&w.common, bench, w.json) : check(&w);
    }
    g_option_context_free(context);
    omo_measure_words_finish(&w);
    g_free(bench);
    return code;
}
