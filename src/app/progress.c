#include <math.h>
#include <stdio.h>
#include <string.h>

#include <cjson/cJSON.h>
#include <glib.h>

#include "app/commands.h"
#include "app/options.h"
#include "app/pipeline.h"
#include "omogon/change.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/trend.h"
#include "omogon/words.h"

#define DAYS_A_MONTH 30.4375
#define CONFIDENCE   0.95
#define SHOWN        12 /* newest sessions in a table */

struct progress_words {
    struct omo_option_words common;
    gboolean json, all;
};

/** Sessions that may be compared: one movement, side, mode, position and number of arms,
 *  the oldest first. */
struct course {
    GPtrArray *rows; /* const struct omo_session_row *, lent by the record */
    double *day, *mean_deg;
    struct omo_trend trend; /* degrees a day */
    bool has_trend;
    struct omo_change change;
};

static double mean_of(const struct omo_session_row *row)
{
    return isfinite(row->mean_of_maxima_deg) ? row->mean_of_maxima_deg : row->max_deg;
}

static bool comparable(const struct omo_session_row *a, const struct omo_session_row *b)
{
    return !strcmp(a->person, b->person) && !strcmp(a->movement, b->movement) &&
           !strcmp(a->side, b->side) && !strcmp(a->mode, b->mode) &&
           !strcmp(a->position, b->position) && !strcmp(a->arms, b->arms) &&
           !strcmp(a->view, b->view);
}

static int by_start(gconstpointer a, gconstpointer b)
{
    const struct omo_session_row *one = *(const struct omo_session_row *const *)a;
    const struct omo_session_row *other = *(const struct omo_session_row *const *)b;
    return strcmp(one->started, other->started);
}

static double day_of(const struct omo_session_row *row)
{
    g_autoptr(GDateTime) time = g_date_time_new_from_iso8601(row->started, NULL);
    return time ? (double)g_date_time_to_unix(time) / 86400 : (double)NAN;
}

static bool wanted(const struct omo_session_row *row, const struct omo_option_words *w)
{
    return !strcmp(row->status, "ok") && isfinite(mean_of(row)) &&
           isfinite(day_of(row)) && (!w->person || !strcmp(row->person, w->person)) &&
           (!w->movement || !strcmp(row->movement, w->movement)) &&
           (!w->side || !strcmp(row->side, w->side));
}

static void course_free(gpointer data)
{
    struct course *course = data;
    g_ptr_array_unref(course->rows);
    g_free(course->day);
    g_free(course->mean_deg);
    g_free(course);
}

/** The courses of a record, in the order of their first rows. */
static GPtrArray *courses_of(struct omo_record *record, const struct omo_option_words *w)
{
    GPtrArray *courses = g_ptr_array_new_with_free_func(course_free);
    for (size_t i = 0; i < omo_record_count(record); i++) {
        const struct omo_session_row *row = omo_record_row(record, i);
        struct course *course = NULL;
        if (!wanted(row, w))
            continue;
        for (guint k = 0; k < courses->len && !course; k++) {
            struct course *one = g_ptr_array_index(courses, k);
            if (comparable(g_ptr_array_index(one->rows, 0), row))
                course = one;
        }
        if (!course) {
            course = g_new0(struct course, 1);
            course->rows = g_ptr_array_new();
            g_ptr_array_add(courses, course);
        }
        /* Rows lent by the record last until it is read again, which it is not here. */
        g_ptr_array_add(course->rows, (gpointer)(uintptr_t)row);
    }
    return courses;
}

static enum omo_status judge(struct course *course,
                             const struct omo_change_settings *settings)
{
    size_t count = course->rows->len;
    g_ptr_array_sort(course->rows, by_start);
    course->day = g_new(double, count);
    course->mean_deg = g_new(double, count);
    for (size_t i = 0; i < count; i++) {
        const struct omo_session_row *row = g_ptr_array_index(course->rows, i);
        course->day[i] = day_of(row);
        course->mean_deg[i] = mean_of(row);
    }
    enum omo_status status =
        omo_change_judge(settings, course->day, course->mean_deg, count, &course->change);
    if (status != OMO_OK)
        return status;
    size_t first = count > OMO_TREND_MOST ? count - OMO_TREND_MOST : 0;
    course->has_trend =
        omo_trend_fit(course->day + first, course->mean_deg + first, count - first,
                      CONFIDENCE, &course->trend) == OMO_OK;
    return OMO_OK;
}

/* ---- words ------------------------------------------------------------------------- */

static void print_session(const struct omo_session_row *row)
{
    char mean[32], highest[32], good_to[32], before[32], pain[32];
    omo_number_text(mean_of(row), 1, mean, sizeof mean);
    omo_number_text(row->max_deg, 1, highest, sizeof highest);
    omo_number_text(row->max_u95_deg, 1, good_to, sizeof good_to);
    omo_number_text(row->max_before_hike_deg, 1, before, sizeof before);
    omo_number_text(row->pain_at_max, 0, pain, sizeof pain);
    printf("  %.10s %10s %10s %9s %11s %6s\n", row->started, mean, highest, good_to,
           before, pain);
}

/** "+1.2", with a dot under any locale. */
struct number {
    char text[40];
};
static struct number signed_number(double value)
{
    struct number out = {""};
    omo_number_text(fabs(value), 1, out.text + 1, sizeof out.text - 1);
    out.text[0] = value < 0 && strcmp(out.text + 1, "0.0") != 0 ? '-' : '+';
    return out;
}

static struct number plain(double value)
{
    struct number out;
    omo_number_text(value, 1, out.text, sizeof out.text);
    return out;
}

static void print_trend(const struct course *course)
{
    if (!course->has_trend)
        return;
    const struct omo_trend *t = &course->trend;
    printf(omo_word("  trend: %s degrees a month (%s to %s, 95 %%)\n"),
           signed_number(t->slope * DAYS_A_MONTH).text,
           signed_number(t->low * DAYS_A_MONTH).text,
           signed_number(t->high * DAYS_A_MONTH).text);
}

static void print_change(const struct course *course,
                         const struct omo_change_settings *settings)
{
    const struct omo_change *c = &course->change;
    struct number change = signed_number(c->change_deg), error = plain(c->error_deg);
    switch (c->state) {
    case OMO_CHANGE_FEW:
        printf(omo_word("  change: judged from %d sessions on\n"),
               settings->baseline + settings->last);
        return;
    case OMO_CHANGE_NO_LOOK:
        printf(omo_word("  change: %s degrees so far; judged every %.0f days, not yet\n"),
               change.text, settings->look_days);
        return;
    case OMO_CHANGE_WITHIN:
        printf(omo_word("  change: %s degrees at the last look, within measuring error "
                        "(%s)\n"),
               change.text, error.text);
        break;
    case OMO_CHANGE_ONCE:
        printf(omo_word("  change: %s degrees; the next session decides whether that is "
                        "more than measuring error (%s)\n"),
               change.text, error.text);
        break;
    case OMO_CHANGE_MORE:
        printf(omo_word("  change: %s degrees, more than measuring error (%s) in two "
                        "sessions running\n"),
               change.text, error.text);
        break;
    }
    printf(omo_word("  error used: %s degrees a session (own %s, shrunk toward the "
                    "instrument's %s)\n"),
           plain(c->sem_deg).text, plain(c->own_sem_deg).text,
           plain(settings->sem_deg).text);
}

/** The same movement of the other side, mode and position alike: its newest mean. */
static double other_side(const GPtrArray *courses, const struct omo_session_row *row)
{
    for (guint k = 0; k < courses->len; k++) {
        const struct course *one = g_ptr_array_index(courses, k);
        const struct omo_session_row *other =
            g_ptr_array_index(one->rows, one->rows->len - 1);
        struct omo_session_row turned = *other;
        omo_text_copy(turned.side, sizeof turned.side, row->side);
        if (strcmp(other->side, row->side) != 0 && comparable(&turned, row))
            return mean_of(other);
    }
    return (double)NAN;
}

static void print_course(const GPtrArray *courses, const struct course *course,
                         const struct omo_change_settings *settings, bool all)
{
    guint count = course->rows->len, first = !all && count > SHOWN ? count - SHOWN : 0;
    const struct omo_session_row *newest = g_ptr_array_index(course->rows, count - 1);
    printf("%s%s%s, %s, %s, %s\n", newest->person, newest->person[0] ? ": " : "",
           omo_movement_words(newest->movement), newest->side, newest->mode,
           newest->position);
    puts(omo_word("  day              mean    highest   good to before lift   pain"));
    if (first > 0)
        printf(omo_word("  (%u earlier sessions: --all)\n"), first);
    for (guint i = first; i < count; i++)
        print_session(g_ptr_array_index(course->rows, i));
    print_trend(course);
    print_change(course, settings);
    double other = other_side(courses, newest);
    if (other > 0)
        printf(omo_word("  the other side: %s degrees; this one is %.0f %% of it\n"),
               plain(other).text, 100 * mean_of(newest) / other);
    putchar('\n');
}

static void print_courses(const GPtrArray *courses,
                          const struct omo_change_settings *settings, bool all)
{
    for (guint k = 0; k < courses->len; k++)
        print_course(courses, g_ptr_array_index(courses, k), settings, all);
    if (courses->len == 0)
        puts(omo_word("Nothing measured yet that fits."));
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

static cJSON *course_json(const struct course *course)
{
    static const char *const state[] = {"few", "no-look", "within", "once", "more"};
    const struct omo_session_row *newest =
        g_ptr_array_index(course->rows, course->rows->len - 1);
    const struct omo_change *c = &course->change;
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "person", newest->person);
    cJSON_AddStringToObject(object, "movement", newest->movement);
    cJSON_AddStringToObject(object, "side", newest->side);
    cJSON_AddStringToObject(object, "mode", newest->mode);
    cJSON_AddStringToObject(object, "position", newest->position);
    cJSON_AddStringToObject(object, "arms", newest->arms);
    cJSON_AddStringToObject(object, "view", newest->view);
    cJSON_AddNumberToObject(object, "sessions", course->rows->len);
    double a_month = course->has_trend ? DAYS_A_MONTH : (double)NAN;
    add_number(object, "trend_deg_per_month", course->trend.slope * a_month);
    add_number(object, "trend_low_deg_per_month", course->trend.low * a_month);
    add_number(object, "trend_high_deg_per_month", course->trend.high * a_month);
    cJSON_AddStringToObject(object, "change", state[c->state]);
    add_number(object, "change_deg", c->change_deg);
    add_number(object, "error_deg", c->error_deg);
    add_number(object, "sem_deg", c->sem_deg);
    add_number(object, "own_sem_deg", c->own_sem_deg);
    cJSON_AddNumberToObject(object, "looks", c->looks);
    cJSON *ids = cJSON_AddArrayToObject(object, "ids");
    for (guint i = 0; i < course->rows->len; i++) {
        const struct omo_session_row *row = g_ptr_array_index(course->rows, i);
        cJSON_AddItemToArray(ids, cJSON_CreateString(row->id));
    }
    return object;
}

static void json_courses(const GPtrArray *courses)
{
    cJSON *array = cJSON_CreateArray();
    for (guint k = 0; k < courses->len; k++)
        cJSON_AddItemToArray(array, course_json(g_ptr_array_index(courses, k)));
    omo_json_print(array);
}

/* ---- the command ------------------------------------------------------------------- */

static int progress(const struct progress_words *w)
{
    struct omo_change_settings settings;
    struct omo_record *record = NULL;
    char directory[4096];
    if (omo_change_settings_load(NULL, &settings) != OMO_OK ||
        omo_open_record(&w->common, &record, directory, sizeof directory) != OMO_OK)
        return OMO_EXIT_FAILED;
    g_autoptr(GPtrArray) courses = courses_of(record, &w->common);
    enum omo_status status = OMO_OK;
    for (guint k = 0; k < courses->len && status == OMO_OK; k++)
        status = judge(g_ptr_array_index(courses, k), &settings);
    if (status == OMO_OK && w->json)
        json_courses(courses);
    else if (status == OMO_OK)
        print_courses(courses, &settings, w->all);
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
            "  omogon progress -m flexion -s right --all\n\n"
            "The settings of the judgement, with their sources: models/change.ini\n"),
        true);
    if (omo_options_parse(context, &argc, &argv)) {
        if (argc > 1)
            omo_error("progress takes no \"%s\"; a person is named by --person", argv[1]);
        else
            code = progress(&w);
    }
    g_option_context_free(context);
    omo_options_finish(&w.common);
    return code;
}
