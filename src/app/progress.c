#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <cjson/cJSON.h>
#include <glib.h>

#include "app/commands.h"
#include "app/course_mark.h"
#include "app/course_range.h"
#include "app/course_view.h"
#include "app/course_words.h"
#include "app/options.h"
#include "app/output_file.h"
#include "app/pipeline.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/progress.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define SHOWN 12 /* newest sessions in a table */

/** Courses and what stands beside them. */
struct shown {
    const struct omo_progress *progress;
    const struct omo_course_ranges *ranges;
    struct omo_course_marks *marks; /* of charts alone; NULL none */
};

struct progress_words {
    struct omo_option_words common;
    gboolean json, all, no_chart, force;
    char *chart;
};

/* ---- words ------------------------------------------------------------------------- */

static void print_session(const struct omo_progress_session *session)
{
    const struct omo_session_row *row = session->row;
    char mean[32], highest[32], good_to[32], before[32], pain[32];
    omo_number_text(session->mean_deg, 1, mean, sizeof mean);
    omo_number_text(row->max_deg, 1, highest, sizeof highest);
    omo_number_text(row->max_u95_deg, 1, good_to, sizeof good_to);
    omo_number_text(row->max_before_hike_deg, 1, before, sizeof before);
    omo_number_text(row->pain_at_max, 0, pain, sizeof pain);
    printf("  %.10s %10s %10s %9s %11s %6s\n", row->started, mean, highest, good_to,
           before, pain);
}

/** A sentence below a table, and frees it; NULL: nothing. */
static void print_words(char *words)
{
    if (words)
        printf("  %s\n", words);
    g_free(words);
}

/** Columns of the terminal; 80 for a file and a pipe. */
static int columns_there(void)
{
    struct winsize size;
    if (isatty(STDOUT_FILENO) && ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 &&
        size.ws_col > 0)
        return size.ws_col;
    return 80;
}

static void print_chart(const struct shown *shown,
                        const struct omo_progress_course *course)
{
    struct omo_course_view view;
    if (course->count < 2)
        return;
    omo_course_view_of(shown->progress, course, &view);
    omo_course_range_in(omo_course_range(shown->ranges, course), &view);
    omo_course_text(stdout, &view.chart, columns_there(), g_get_charset(NULL));
    omo_course_view_free(&view);
}

static void print_course(const struct shown *shown,
                         const struct omo_progress_course *course,
                         const struct progress_words *w)
{
    const struct omo_change_settings *settings = omo_progress_settings(shown->progress);
    size_t first = !w->all && course->count > SHOWN ? course->count - SHOWN : 0;
    const struct omo_progress_session *newest = omo_progress_newest(course);
    char what[192];
    omo_course_words(newest->row, what, sizeof what);
    puts(what);
    puts(omo_word("  day              mean    highest   good to before lift   pain"));
    if (first > 0)
        printf(omo_word("  (%u earlier sessions: --all)\n"), (unsigned)first);
    for (size_t i = first; i < course->count; i++)
        print_session(&course->sessions[i]);
    if (!w->no_chart)
        print_chart(shown, course);
    print_words(omo_course_trend_words(course));
    print_words(omo_course_change_words(course, settings));
    print_words(omo_course_error_words(course, settings));
    print_words(omo_course_other_words(shown->progress, course));
    const struct omo_reference_value *value = omo_course_range(shown->ranges, course);
    print_words(omo_course_range_words(value));
    print_words(omo_course_range_source(value));
    putchar('\n');
}

/** Both directions of a movement in the trade's short forms, a line a person, side and
 *  mode. */
static void print_pairs(const struct omo_progress *progress)
{
    g_autoptr(GHashTable) told =
        g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    for (size_t k = 0; k < omo_progress_count(progress); k++) {
        const struct omo_session_row *row =
            omo_progress_newest(omo_progress_at(progress, k))->row;
        g_autofree char *words =
            omo_course_pairs_words(progress, row->person, row->side, row->mode);
        if (!words || !g_hash_table_add(told, g_strjoin("\n", row->person, row->side,
                                                        row->mode, NULL)))
            continue;
        if (g_hash_table_size(told) == 1)
            puts(omo_word("Neutral Zero Method (and SFTR), newest means:"));
        printf("  %s%s%s, %s: %s\n", row->person, row->person[0] ? ": " : "",
               omo_course_word(row->side), omo_course_word(row->mode), words);
    }
    if (g_hash_table_size(told) > 0)
        putchar('\n');
}

static void print_courses(const struct shown *shown, const struct progress_words *w)
{
    for (size_t k = 0; k < omo_progress_count(shown->progress); k++)
        print_course(shown, omo_progress_at(shown->progress, k), w);
    if (omo_progress_count(shown->progress) == 0)
        puts(omo_word("Nothing measured yet that fits."));
    print_pairs(shown->progress);
    puts(omo_word("A shoulder changes over months, not days. Sessions measured otherwise "
                  "(side, position, help,\nboth arms) are never compared."));
    printf("\n%s", omo_word(OMO_CAUTION));
}

/* ---- JSON -------------------------------------------------------------------------- */

static void add_number(cJSON *object, const char *name, double value)
{
    if (isfinite(value))
        cJSON_AddNumberToObject(object, name, value);
    else
        cJSON_AddNullToObject(object, name);
}

static void add_text(cJSON *object, const char *name, const char *text)
{
    if (text)
        cJSON_AddStringToObject(object, name, text);
    else
        cJSON_AddNullToObject(object, name);
}

/** What stands beside a course: the published range and the pair of movements. */
static void add_beside(cJSON *object, const struct shown *shown,
                       const struct omo_progress_course *course)
{
    const struct omo_reference_value *value = omo_course_range(shown->ranges, course);
    double low = NAN, high = NAN;
    char zero[48], sftr[64];
    bool ranged = value && omo_reference_range(value, &low, &high);
    add_number(object, "range_low_deg", low);
    add_number(object, "range_high_deg", high);
    add_text(object, "range_source", ranged ? value->source : NULL);
    bool paired = omo_course_pair(shown->progress, omo_progress_newest(course)->row, zero,
                                  sizeof zero, sftr, sizeof sftr);
    add_text(object, "neutral_zero", paired ? zero : NULL);
    add_text(object, "sftr", paired ? sftr : NULL);
}

static cJSON *course_json(const struct shown *shown,
                          const struct omo_progress_course *course)
{
    static const char *const state[] = {"few", "no-look", "within", "once", "more"};
    const struct omo_session_row *newest = omo_progress_newest(course)->row;
    const struct omo_change *c = &course->change;
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "person", newest->person);
    cJSON_AddStringToObject(object, "movement", newest->movement);
    cJSON_AddStringToObject(object, "side", newest->side);
    cJSON_AddStringToObject(object, "mode", newest->mode);
    cJSON_AddStringToObject(object, "position", newest->position);
    cJSON_AddStringToObject(object, "arms", newest->arms);
    cJSON_AddStringToObject(object, "view", newest->view);
    cJSON_AddNumberToObject(object, "sessions", (double)course->count);
    double a_month = course->has_trend ? OMO_DAYS_A_MONTH : (double)NAN;
    add_number(object, "trend_deg_per_month", course->trend.slope * a_month);
    add_number(object, "trend_low_deg_per_month", course->trend.low * a_month);
    add_number(object, "trend_high_deg_per_month", course->trend.high * a_month);
    cJSON_AddStringToObject(object, "change", state[c->state]);
    add_number(object, "change_deg", c->change_deg);
    add_number(object, "error_deg", c->error_deg);
    add_number(object, "sem_deg", c->sem_deg);
    add_number(object, "own_sem_deg", c->own_sem_deg);
    cJSON_AddNumberToObject(object, "looks", c->looks);
    add_beside(object, shown, course);
    cJSON *ids = cJSON_AddArrayToObject(object, "ids");
    for (size_t i = 0; i < course->count; i++)
        cJSON_AddItemToArray(ids, cJSON_CreateString(course->sessions[i].row->id));
    return object;
}

static void json_courses(const struct shown *shown)
{
    cJSON *array = cJSON_CreateArray();
    for (size_t k = 0; k < omo_progress_count(shown->progress); k++)
        cJSON_AddItemToArray(array,
                             course_json(shown, omo_progress_at(shown->progress, k)));
    omo_json_print(array);
}

/* ---- charts as files --------------------------------------------------------------- */

static enum omo_status write_chart(const struct shown *shown, size_t index,
                                   enum omo_figure_kind kind, const char *path)
{
    struct omo_course_view view;
    char *bytes = NULL;
    size_t size = 0;
    const struct omo_progress_course *course = omo_progress_at(shown->progress, index);
    omo_course_view_of(shown->progress, course, &view);
    omo_course_range_in(omo_course_range(shown->ranges, course), &view);
    view.chart.mark_deg = omo_course_mark(shown->marks, course);
    struct omo_figure *figure = omo_chart_figure(&view.chart);
    g_autofree char *words = omo_chart_words(&view.chart);
    enum omo_status status =
        figure ? omo_figure_bytes(figure, kind, view.what, words, &bytes, &size)
               : OMO_ERR_MEMORY;
    if (status == OMO_OK)
        status = omo_file_write_atomic(path, bytes, size, 0600);
    if (status == OMO_OK)
        printf(omo_word("saved: %s (%s)\n"), path, view.what);
    free(bytes);
    omo_figure_destroy(figure);
    omo_course_view_free(&view);
    return status;
}

/** A file a course: NAME, NAME-2 and so on. None is written when one is in the way. */
static enum omo_status write_charts(const struct shown *shown, enum omo_figure_kind kind,
                                    const struct progress_words *w)
{
    size_t count = omo_progress_count(shown->progress);
    for (size_t k = 0; k < count; k++) {
        g_autofree char *path = omo_output_numbered(w->chart, (int)k);
        if (!omo_output_free(path, "chart", w->force))
            return OMO_ERR_OPEN;
    }
    enum omo_status status = OMO_OK;
    for (size_t k = 0; k < count && status == OMO_OK; k++) {
        g_autofree char *path = omo_output_numbered(w->chart, (int)k);
        status = write_chart(shown, k, kind, path);
    }
    if (count == 0)
        omo_error("nothing was measured that fits, so there is no chart; leave out "
                  "--person, --movement or --side");
    return count ? status : OMO_ERR_EMPTY;
}

/* ---- the command ------------------------------------------------------------------- */

static int progress(const struct progress_words *w)
{
    const struct omo_progress_filter filter = {.person = w->common.person,
                                               .movement = w->common.movement,
                                               .side = w->common.side};
    struct omo_progress *courses = NULL;
    struct omo_record *record = NULL;
    enum omo_figure_kind kind = OMO_FIGURE_SVG;
    char directory[4096];
    if (w->chart && !omo_figure_kind_of(w->chart, &kind)) {
        omo_error("--chart \"%s\" has no ending that is known; end it in .svg, .pdf or "
                  ".png",
                  w->chart);
        return OMO_EXIT_USAGE;
    }
    if (omo_open_record(&w->common, &record, directory, sizeof directory) != OMO_OK)
        return OMO_EXIT_FAILED;
    struct omo_course_ranges ranges;
    omo_course_ranges_open(directory, &ranges);
    enum omo_status status = omo_progress_read(record, &filter, NULL, &courses);
    struct shown shown = {.progress = courses, .ranges = &ranges};
    struct omo_person_tables tables;
    bool marked = status == OMO_OK && w->chart &&
                  omo_person_tables_open(directory, &tables) == OMO_OK;
    if (marked)
        shown.marks = omo_course_marks_open(&tables);
    if (status == OMO_OK && w->json)
        json_courses(&shown);
    else if (status == OMO_OK && w->chart)
        status = write_charts(&shown, kind, w);
    else if (status == OMO_OK)
        print_courses(&shown, w);
    omo_course_marks_close(shown.marks);
    if (marked)
        omo_person_tables_close(&tables);
    omo_course_ranges_close(&ranges);
    omo_progress_free(courses);
    omo_record_close(record);
    return status == OMO_OK ? OMO_EXIT_DONE : OMO_EXIT_FAILED;
}

int omo_command_progress(int argc, char **argv)
{
    struct progress_words w = {0};
    GOptionContext *context = g_option_context_new(NULL);
    const GOptionEntry entries[] = {
        {"person", 0, 0, G_OPTION_ARG_STRING, &w.common.person,
         OMO_WORD("whose sessions (default: everybody's in the record)"), "ID"},
        {"movement", 'm', 0, G_OPTION_ARG_STRING, &w.common.movement,
         OMO_WORD("one movement alone"), "NAME"},
        {"side", 's', 0, G_OPTION_ARG_STRING, &w.common.side, OMO_WORD("one side alone"),
         "SIDE"},
        {"all", 0, 0, G_OPTION_ARG_NONE, &w.all,
         OMO_WORD("every session, not the newest twelve"), NULL},
        {"chart", 0, 0, G_OPTION_ARG_FILENAME, &w.chart,
         OMO_WORD("instead: each course as a figure in a file that ends in .svg, .pdf or "
                  ".png; further ones get a number"),
         "FILE"},
        {"force", 0, 0, G_OPTION_ARG_NONE, &w.force,
         OMO_WORD("write over an existing file"), NULL},
        {"no-chart", 0, 0, G_OPTION_ARG_NONE, &w.no_chart,
         OMO_WORD("leave out the chart of letters"), NULL},
        {"data", 0, 0, G_OPTION_ARG_FILENAME, &w.common.data,
         OMO_WORD("folder of the record"), "DIR"},
        {"json", 0, 0, G_OPTION_ARG_NONE, &w.json,
         OMO_WORD("figures as one JSON array, an object for each course"), NULL},
        {0},
    };
    int code = OMO_EXIT_USAGE;
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD(
            "How far it went over weeks: each session's mean and highest angle, what it "
            "is good to, the\ntrend in degrees a month, and whether the change is more "
            "than measuring error. That is judged\nevery two weeks on the last three "
            "sessions against the first three, with the person's own error\nshrunk "
            "toward the instrument's, and told after two sessions running."),
        OMO_WORD(
            "Examples:\n"
            "  omogon progress --person P07\n"
            "  omogon progress -m flexion -s right --all\n"
            "  omogon progress --person P07 --chart course.svg\n\n"
            "The settings of the judgement, with their sources: models/change.ini\n"
            "A published range is shown only where movement, position, help, "
            "reference, age and sex are all\nthe same; its values, each with its source: "
            "models/reference-values.csv\n"),
        true);
    if (omo_options_parse(context, &argc, &argv)) {
        if (argc > 1)
            omo_error("progress takes no \"%s\"; a person is named by --person", argv[1]);
        else
            code = progress(&w);
    }
    g_option_context_free(context);
    omo_options_finish(&w.common);
    g_free(w.chart);
    return code;
}
