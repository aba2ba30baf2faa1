#include <glib.h>
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/inputs.h"
#include "app/options.h"
#include "app/progress_line.h"
#include "omogon/log.h"
#include "omogon/source.h"
#include "omogon/text.h"
#include "omogon/words.h"

/** Automatic learning looks at no more than this many frames. */
static const int64_t learn_frames_max = 300;

struct colours_words {
    char **points, **files, *save;
    gboolean replace;
};

static GOptionContext *make_context(struct colours_words *w)
{
    const GOptionEntry entries[] = {
        {"point", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->points,
         OMO_WORD(
             "a marker's name and a picture position on it, of frame 0 or FRAME; once a "
             "marker"),
         "NAME=X,Y[@FRAME]"},
        {"save", 0, 0, G_OPTION_ARG_FILENAME, &w->save,
         OMO_WORD("where the set is written (default: <clip>.colours.ini here)"), "FILE"},
        {"replace", 0, 0, G_OPTION_ARG_NONE, &w->replace,
         OMO_WORD("write over an existing file"), NULL},
        {G_OPTION_REMAINING, 0, 0, G_OPTION_ARG_FILENAME_ARRAY, &w->files, NULL, NULL},
        {0},
    };
    GOptionContext *context = g_option_context_new("FILE");
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD("Learns the markers' colours from a picture or a clip, by itself or by "
                 "points, says\nhow well they can be told apart in that light, and saves "
                 "them for --colours."),
        OMO_WORD("Examples:\n"
                 "  omogon colours arm.mp4\n"
                 "  omogon colours arm.mp4 --point shoulder=612,204 --point "
                 "elbow=640,350 --save "
                 "mine.ini\n"
                 "  omogon trace arm.mp4 --movement flexion --side right --colours "
                 "mine.ini\n"),
        false);
    return context;
}

/** "elbow=640,350@12" */
static bool parse_point(const char *text, struct omo_learn_point *point)
{
    g_auto(GStrv) halves = g_strsplit(text, "=", 2);
    memset(point, 0, sizeof *point);
    if (g_strv_length(halves) != 2 || !halves[0][0] ||
        strlen(halves[0]) >= sizeof point->name)
        return false;
    for (const char *c = halves[0]; *c; c++)
        if (!g_ascii_isalnum(*c) && *c != '-' && *c != '_')
            return false;
    omo_text_copy(point->name, sizeof point->name, halves[0]);
    g_auto(GStrv) at = g_strsplit(halves[1], "@", 2);
    g_auto(GStrv) xy = g_strsplit(at[0] ? at[0] : "", ",", 2);
    long long frame = 0;
    if (g_strv_length(xy) != 2 || !omo_number_parse(xy[0], &point->x_px) ||
        !omo_number_parse(xy[1], &point->y_px))
        return false;
    if (at[0] && at[1] && (!omo_integer_parse(at[1], &frame) || frame < 0))
        return false;
    point->frame = frame;
    return true;
}

static bool parse_points(char **words, struct omo_learn_point *points, int *count)
{
    for (; words && *words; words++) {
        if (*count == OMO_SET_MAX) {
            omo_error("more than %d points are given; a set has no more", OMO_SET_MAX);
            return false;
        }
        if (!parse_point(*words, &points[*count])) {
            omo_error(
                "--point \"%s\" is not understood; write NAME=X,Y or NAME=X,Y@FRAME, "
                "for example elbow=640,350@12",
                *words);
            return false;
        }
        (*count)++;
    }
    return true;
}

static enum omo_status learn(const char *path, const struct omo_learn_point *points,
                             int count, struct omo_marker_set *set,
                             struct omo_learn_report *report)
{
    struct omo_source *source = NULL;
    struct omo_learner *learner = NULL;
    int64_t last = learn_frames_max;
    for (int i = 0; i < count; i++)
        last = i == 0 ? points[i].frame + 1 : MAX(last, points[i].frame + 1);
    enum omo_status status = omo_clip_open(path, &source);
    if (status == OMO_OK)
        status = omo_learner_create(points, count, &learner);
    for (int64_t i = 0; status == OMO_OK && i < last; i++) {
        struct omo_frame frame;
        status = omo_source_next(source, false, &frame);
        if (status == OMO_OK)
            status = omo_learner_add(learner, &frame);
        omo_progress_show((double)i / (double)last, "looking");
    }
    if (status == OMO_OK || status == OMO_END || status == OMO_ERR_DAMAGED)
        status = omo_learner_finish(learner, set, report);
    omo_learner_destroy(learner);
    omo_source_destroy(source);
    return status;
}

static void print_set(const struct omo_marker_set *set,
                      const struct omo_learn_report *report)
{
    for (int i = 0; i < set->count; i++) {
        const struct omo_set_entry *e = &set->entry[i];
        char cb[32], cr[32];
        omo_number_text(e->cb, 1, cb, sizeof cb);
        omo_number_text(e->cr, 1, cr, sizeof cr);
        printf("  %-12s Cb %5s  Cr %5s\n", e->name, cb, cr);
    }
    char number[32];
    omo_number_text(report->separability, 1, number, sizeof number);
    printf("Separability %s (%s): %s\n", number,
           report->weakest[0] ? report->weakest : "one colour",
           report->separability < 4
               ? "poor in this light; use more light, or a colour further apart"
               : "enough in this light");
}

static int run_colours(const struct colours_words *w)
{
    struct omo_learn_point points[OMO_SET_MAX];
    int count = 0;
    if (!w->files || w->files[1]) {
        omo_error("name one picture or clip; \"omogon colours --help\" shows examples");
        return OMO_EXIT_USAGE;
    }
    if (!parse_points(w->points, points, &count))
        return OMO_EXIT_USAGE;
    char stem[200], path[4096] = "";
    omo_input_stem(w->files[0], stem, sizeof stem);
    if (w->save)
        omo_text_copy(path, sizeof path, w->save);
    else
        omo_text_add(path, sizeof path, "%s.colours.ini", stem);
    if (!w->replace && g_file_test(path, G_FILE_TEST_EXISTS)) {
        omo_error("%s exists; give another name with --save, or --replace", path);
        return OMO_EXIT_FAILED;
    }
    struct omo_marker_set set;
    struct omo_learn_report report;
    omo_progress_begin();
    enum omo_status status = learn(w->files[0], points, count, &set, &report);
    omo_progress_end();
    if (status != OMO_OK)
        return OMO_EXIT_FAILED;
    omo_text_copy(set.name, sizeof set.name, stem);
    print_set(&set, &report);
    if (omo_set_save(&set, path) != OMO_OK)
        return OMO_EXIT_FAILED;
    printf("saved: %s\nUse it with: omogon trace CLIP ... --colours %s\n", path, path);
    return OMO_EXIT_DONE;
}

int omo_command_colours(int argc, char **argv)
{
    struct colours_words w = {0};
    GOptionContext *context = make_context(&w);
    int code =
        omo_options_parse(context, &argc, &argv) ? run_colours(&w) : OMO_EXIT_USAGE;
    g_option_context_free(context);
    g_strfreev(w.points);
    g_strfreev(w.files);
    g_free(w.save);
    return code;
}
