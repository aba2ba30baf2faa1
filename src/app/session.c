#include <glib.h>
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/session_run.h"
#include "omogon/log.h"
#include "omogon/models.h"
#include "omogon/text.h"
#include "omogon/words.h"

static void add_options(GOptionContext *context, struct omo_session_words *w)
{
    struct omo_measure_words *m = &w->measure;
    const GOptionEntry entries[] = {
        {"programme", 'p', 0, G_OPTION_ARG_STRING, &w->programme,
         OMO_WORD("the programme's file, or a starter's name (default: that of the "
                  "person's sheet)"),
         "FILE"},
        {"person", 0, 0, G_OPTION_ARG_STRING, &m->common.person,
         OMO_WORD("whose record: a pseudonym of letters and digits, no name"), "ID"},
        {"affected", 0, 0, G_OPTION_ARG_STRING, &w->affected,
         OMO_WORD(
             "whose shoulder it is about, left or right (asked, and kept, where it is "
             "not known)"),
         "SIDE"},
        {"data", 0, 0, G_OPTION_ARG_FILENAME, &m->common.data,
         OMO_WORD("folder of the record"), "DIR"},
        {"out", 0, 0, G_OPTION_ARG_FILENAME, &m->common.out,
         OMO_WORD("a record for this run alone, flat in DIR"), "DIR"},
        {"pain-now", 0, 0, G_OPTION_ARG_STRING, &w->pain_now,
         OMO_WORD("told beforehand: how sore now, 0 to 10"), "N"},
        {"pain-worst", 0, 0, G_OPTION_ARG_STRING, &w->pain_worst,
         OMO_WORD("the same: at its worst in the last 24 hours"), "N"},
        {"woken", 0, 0, G_OPTION_ARG_STRING, &w->woken,
         OMO_WORD("the same: woken by it last night, yes or no"), "YES/NO"},
        {"rest-pain", 0, 0, G_OPTION_ARG_STRING, &w->rest_pain,
         OMO_WORD("the same: pain at rest or all night, yes or no"), "YES/NO"},
        {"pain-before-end", 0, 0, G_OPTION_ARG_STRING, &w->before_end,
         OMO_WORD("the same: pain before the arm reaches its end, yes or no"), "YES/NO"},
        {"nothing-new", 0, 0, G_OPTION_ARG_NONE, &w->nothing_new,
         OMO_WORD("told beforehand: nothing of the list of warning signs is new"), NULL},
        {"hands-free", 0, 0, G_OPTION_ARG_NONE, &w->hands_free,
         OMO_WORD(
             "what only needs reading goes on by itself; what is not answered counts "
             "as the more careful answer"),
         NULL},
        {"no-camera", 0, 0, G_OPTION_ARG_NONE, &w->no_camera,
         OMO_WORD("by the clock and by typing; nothing is measured"), NULL},
        {"camera", 0, 0, G_OPTION_ARG_STRING, &m->camera,
         OMO_WORD("which camera (remembered)"), "DEVICE"},
        {"size", 0, 0, G_OPTION_ARG_STRING, &m->size,
         OMO_WORD("picture size asked for, also of the invented person"), "WIDTHxHEIGHT"},
        {"simulated", 0, 0, G_OPTION_ARG_STRING, &m->scene,
         OMO_WORD("an invented person instead of a camera: \"session\", or a scene"),
         "SCENE"},
        {"colours", 0, 0, G_OPTION_ARG_STRING, &m->common.colours,
         OMO_WORD("the markers' colours: a set's name or file"), "FILE"},
        {"marker-size", 0, 0, G_OPTION_ARG_STRING, &m->common.marker_size,
         OMO_WORD("diameter of the stickers in mm"), "MM"},
        {"no-window", 0, 0, G_OPTION_ARG_NONE, &m->no_window, OMO_WORD("in the terminal"),
         NULL},
        {"full-screen", 0, 0, G_OPTION_ARG_NONE, &m->full_screen,
         OMO_WORD("the window fills the screen"), NULL},
        {"scale", 0, 0, G_OPTION_ARG_STRING, &m->scale,
         OMO_WORD("size of text and lines in the window"), "FACTOR"},
        {"software", 0, 0, G_OPTION_ARG_NONE, &m->software,
         OMO_WORD("draw the window without the graphics card"), NULL},
        {"sound", 0, 0, G_OPTION_ARG_NONE, &m->sound, OMO_WORD("tones and speech"), NULL},
        {"no-sound", 0, 0, G_OPTION_ARG_NONE, &m->no_sound,
         OMO_WORD("no tones and no speech"), NULL},
        {"anew", 0, 0, G_OPTION_ARG_NONE, &w->anew,
         OMO_WORD("begin again, even where today's session was broken off"), NULL},
        {"check", 0, 0, G_OPTION_ARG_STRING, &w->check,
         OMO_WORD("read a programme, say what is wrong with it, and end"), "FILE"},
        {"list", 0, 0, G_OPTION_ARG_NONE, &w->list,
         OMO_WORD("name the starter programmes and end"), NULL},
        {0},
    };
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD(
            "Goes through a programme step by step: settle, swing, reach, turn, use. "
            "It asks how sore\nthe shoulder is, offers only what fits the day, the "
            "history and the limits in the person's\nsheet, counts with the markers "
            "where it can and by the clock where it cannot, and writes\nevery step "
            "down. \"Enough for today\" is always one press and a completed day. A "
            "session\nthat was broken off goes on at its step the same day."),
        OMO_WORD(
            "Examples:\n"
            "  omogon session --list\n"
            "  omogon session --programme sore-weeks --person P07\n"
            "  omogon session -p mine.ini --no-window --no-camera\n"
            "  omogon session --check mine.ini\n\n"
            "Typed: p it hurts, t tingling or a lump, s leave the step out, e enough "
            "for today, b back,\nq break off; Enter goes on.\n"
            "Exit: 0 done, enough or broken off; 1 a file or the camera failed, or a "
            "mistake in the\nprogramme; 2 the call is wrong.\n"),
        true);
}

static int by_name(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

GPtrArray *omo_session_starters(void)
{
    GPtrArray *names = g_ptr_array_new_with_free_func(g_free);
    char path[4096];
    const char *name;
    if (omo_models_path("programmes", path, sizeof path) != OMO_OK)
        return names;
    g_autoptr(GDir) folder = g_dir_open(path, 0, NULL);
    while (folder && (name = g_dir_read_name(folder)) != NULL)
        if (g_str_has_suffix(name, ".ini"))
            g_ptr_array_add(names, g_strndup(name, strlen(name) - 4));
    g_ptr_array_sort(names, by_name);
    return names;
}

static int list_starters(void)
{
    char path[4096];
    g_autoptr(GPtrArray) names = omo_session_starters();
    if (names->len == 0 || omo_models_path("programmes", path, sizeof path) != OMO_OK) {
        omo_error("the starter programmes are missing; install the program anew");
        return OMO_EXIT_FAILED;
    }
    for (guint i = 0; i < names->len; i++) {
        struct omo_programme programme;
        const char *starter = g_ptr_array_index(names, i);
        if (omo_programme_load(starter, &programme) == OMO_OK)
            printf("%-18s %s\n", starter, programme.title_said);
    }
    printf(omo_word("They are files to copy and change: %s\n"), path);
    return OMO_EXIT_DONE;
}

static int check(const char *path)
{
    struct omo_programme programme;
    if (omo_programme_load(path, &programme) != OMO_OK)
        return OMO_EXIT_FAILED; /* said */
    printf(omo_word("%s: %d steps, no mistake found\n"), programme.title_said,
           programme.step_count);
    for (int i = 0; i < programme.step_count; i++) {
        const struct omo_step *step = &programme.step[i];
        const char *about = step->movement[0] ? step->movement
                            : step->area[0]   ? step->area
                                              : step->finding;
        printf("  %2d %-8s %-9s %s %s\n", i + 1, omo_group_name(step->group),
               omo_step_kind_name(step->kind), step->name, about);
    }
    return OMO_EXIT_DONE;
}

static int run_session(const struct omo_session_words *words)
{
    struct omo_session_run run;
    int code = omo_session_run_begin(&run, words);
    if (code == OMO_EXIT_DONE) {
        if (run.begun->len > 0)
            puts(omo_word(
                "Today's session was broken off; it goes on at its step. (--anew "
                "begins again.)"));
        enum omo_status status = omo_measure_open_screen(&words->measure, &run.screen);
        if (status != OMO_OK) {
            code = status == OMO_ERR_ARG ? OMO_EXIT_USAGE : OMO_EXIT_FAILED;
        } else {
            if (omo_sound_open(omo_words_language(), &run.sound) != OMO_OK)
                run.sound = NULL;
            run.sound_on = words->measure.sound;
            omo_measuring_catch_signals();
            code = run.screen ? omo_session_in_window(&run) : omo_session_in_text(&run);
            omo_sound_destroy(run.sound);
            omo_screen_destroy(run.screen);
        }
    }
    omo_session_run_finish(&run);
    return code;
}

int omo_command_session(int argc, char **argv)
{
    struct omo_session_words w = {0};
    GOptionContext *context = g_option_context_new(NULL);
    int code = OMO_EXIT_USAGE;
    add_options(context, &w);
    if (omo_options_parse(context, &argc, &argv)) {
        if (argc > 1)
            omo_error("session takes no \"%s\"; a programme is named by --programme",
                      argv[1]);
        else if (w.measure.common.data && w.measure.common.out)
            omo_error("--data and --out exclude each other; name one folder");
        else if (w.no_camera && (w.measure.camera || w.measure.scene))
            omo_error("--no-camera excludes --camera and --simulated");
        else if (w.list)
            code = list_starters();
        else if (w.check)
            code = check(w.check);
        else
            code = run_session(&w);
    }
    g_option_context_free(context);
    omo_session_words_finish(&w);
    return code;
}
