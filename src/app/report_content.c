#include "app/report_content.h"

#include <math.h>
#include <string.h>

#include "app/course_mark.h"
#include "app/course_range.h"
#include "app/course_view.h"
#include "omogon/arm_figure.h"
#include "omogon/motion.h"
#include "omogon/overview.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* Charts and drawings have the shape of half a page's width. */
#define CHART_WIDTH    400
#define CHART_HEIGHT   230
#define DRAWING_WIDTH  400
#define DRAWING_HEIGHT 230
/* Of the places for figures the last is a line drawing, in a report of weeks too. */
#define CHARTS_MOST (OMO_REPORT_FIGURES - 1)

const char *omo_report_number(double value, int decimals)
{
    static char text[8][32];
    static int next;
    next = (next + 1) % 8;
    omo_number_text(value, decimals, text[next], sizeof text[next]);
    return text[next];
}

/** "+4.0" */
static char *signed_text(double value)
{
    const char *number = omo_report_number(fabs(value), 1);
    return g_strdup_printf("%s%s", value < 0 && strcmp(number, "0.0") ? "-" : "+",
                           number);
}

static bool is_one_day(const struct omo_progress *progress, char first[16], char last[16])
{
    first[0] = last[0] = '\0';
    for (size_t k = 0; k < omo_progress_count(progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(progress, k);
        for (size_t i = 0; i < course->count; i++) {
            char day[16];
            omo_date_of(course->sessions[i].row->started, day);
            if (!first[0] || strcmp(day, first) < 0)
                omo_text_copy(first, 16, day);
            if (!last[0] || strcmp(day, last) > 0)
                omo_text_copy(last, 16, day);
        }
    }
    return !strcmp(first, last);
}

/* ---- the table ----------------------------------------------------------------------
 */

/** Higher: comes first. What goes least far against the other side is looked at most;
 * what has no other side follows by its number of sessions. */
static double rank(const struct omo_progress *progress,
                   const struct omo_progress_course *course)
{
    const struct omo_progress_course *other = omo_progress_other_side(progress, course);
    double other_deg = other ? omo_progress_newest(other)->mean_deg : (double)NAN;
    double own = omo_progress_newest(course)->mean_deg;
    double newest = omo_progress_newest(course)->day;
    if (other_deg > 0 && own < other_deg)
        return 2e6 * (1 - own / other_deg) + 1e5;
    return (double)course->count + newest * 1e-3;
}

static gint by_rank(gconstpointer a, gconstpointer b, gpointer user)
{
    const struct omo_progress *progress = user;
    double one = rank(progress, *(const struct omo_progress_course *const *)a);
    double other = rank(progress, *(const struct omo_progress_course *const *)b);
    return (one < other) - (one > other);
}

static GPtrArray *courses_in_order(const struct omo_progress *progress)
{
    GPtrArray *courses = g_ptr_array_new();
    for (size_t k = 0; k < omo_progress_count(progress); k++)
        g_ptr_array_add(courses, (gpointer)(uintptr_t)omo_progress_at(progress, k));
    g_ptr_array_sort_with_data(courses, by_rank, (gpointer)(uintptr_t)progress);
    return courses;
}

static char *change_text(const struct omo_progress *progress,
                         const struct omo_progress_course *course)
{
    const struct omo_change *c = &course->change;
    const struct omo_change_settings *settings = omo_progress_settings(progress);
    g_autofree char *change = signed_text(c->change_deg);
    GString *text = g_string_new(NULL);
    if (course->count == 1)
        return g_string_free(g_string_append(text, omo_word("one session")), FALSE);
    switch (c->state) {
    case OMO_CHANGE_FEW:
        g_string_append_printf(text, omo_word("judged from %d sessions on"),
                               settings->baseline + settings->last);
        break;
    case OMO_CHANGE_NO_LOOK:
        g_string_append_printf(text, omo_word("%s so far, not judged yet"), change);
        break;
    case OMO_CHANGE_WITHIN:
    case OMO_CHANGE_ONCE:
        g_string_append_printf(text, omo_word("%s, within measuring error (%s)"), change,
                               omo_report_number(c->error_deg, 1));
        break;
    case OMO_CHANGE_MORE:
        g_string_append_printf(text, omo_word("%s, more than measuring error (%s)"),
                               change, omo_report_number(c->error_deg, 1));
        break;
    }
    if (course->has_trend) {
        g_autofree char *slope = signed_text(course->trend.slope * OMO_DAYS_A_MONTH);
        g_string_append(text, "; ");
        g_string_append_printf(text, omo_word("a month %s (%s to %s)"), slope,
                               omo_report_number(course->trend.low * OMO_DAYS_A_MONTH, 1),
                               omo_report_number(course->trend.high * OMO_DAYS_A_MONTH,
                                                 1));
    }
    return g_string_free(text, FALSE);
}

static const char *stopped_words(const char *stopped_by)
{
    static const struct {
        const char *name, *words;
    } known[] = {{"stiff", OMO_WORD("stiff")},
                 {"pain", OMO_WORD("pain")},
                 {"weak", OMO_WORD("weak")},
                 {"chose", OMO_WORD("own choice")},
                 {"limit", OMO_WORD("a limit")}};
    for (size_t i = 0; i < G_N_ELEMENTS(known); i++)
        if (!strcmp(stopped_by, known[i].name))
            return omo_word(known[i].words);
    return "";
}

static void fill_row(const struct omo_progress *progress,
                     const struct omo_progress_course *course, const char *affected,
                     char **cells)
{
    const struct omo_progress_session *newest = omo_progress_newest(course);
    const struct omo_session_row *row = newest->row;
    double percent = omo_overview_percent(progress, course, affected);
    cells[0] =
        g_strdup_printf(omo_word("%s; %s, %s; sessions: %u"),
                        omo_movement_words(row->movement), omo_course_word(row->mode),
                        omo_course_word(row->position), (unsigned)course->count);
    cells[1] = g_strdup(omo_course_word(row->side));
    cells[2] = g_strdup(omo_report_number(newest->mean_deg, 1));
    cells[3] = g_strdup_printf("%s \u00b1 %s", omo_report_number(row->max_deg, 1),
                               isfinite(row->max_u95_deg)
                                   ? omo_report_number(row->max_u95_deg, 1)
                                   : "?");
    cells[4] = g_strdup(omo_report_number(row->max_before_hike_deg, 1));
    cells[5] = isfinite(percent) ? g_strdup_printf("%s %%", omo_report_number(percent, 0))
                                 : g_strdup("");
    cells[6] = g_strdup(omo_report_number(row->pain_at_max, 0));
    cells[7] = g_strdup(stopped_words(row->stopped_by));
    cells[8] = change_text(progress, course);
}

static int fill_table(const struct omo_progress *progress, const GPtrArray *courses,
                      const char *affected, struct omo_report *report)
{
    const char *const head[OMO_REPORT_COLUMNS] = {
        omo_word("movement, newest session"),
        omo_word("side"),
        omo_word("mean, degrees"),
        omo_word("highest, good to"),
        omo_word("before the shoulder lifts"),
        omo_word("of the other side"),
        omo_word("pain, 0 to 10"),
        omo_word("stopped by"),
        omo_word("change, degrees"),
    };
    for (int i = 0; i < OMO_REPORT_COLUMNS; i++)
        report->head[i] = g_strdup(head[i]);
    report->table_title = g_strdup(omo_word("How far the arm went"));
    guint k = 0;
    for (; k < courses->len; k++) {
        char **cells = omo_report_row(report);
        if (!cells)
            break;
        fill_row(progress, g_ptr_array_index(courses, k), affected, cells);
    }
    return (int)(courses->len - k);
}

/* ---- figures ------------------------------------------------------------------------
 */

static void add_chart(const struct omo_progress *progress,
                      const struct omo_progress_course *course,
                      const struct omo_course_ranges *ranges,
                      struct omo_course_marks *marks, struct omo_report *report)
{
    struct omo_course_view view;
    omo_course_view_of(progress, course, &view);
    view.chart.width = CHART_WIDTH;
    view.chart.height = CHART_HEIGHT;
    view.chart.small = true;
    view.chart.mark_deg = omo_course_mark(marks, course);
    omo_course_range_in(omo_course_range(ranges, course), &view);
    omo_course_short(omo_progress_newest(course)->row, view.what, sizeof view.what);
    omo_report_figure(report, omo_chart_figure(&view.chart), view.what,
                      omo_chart_words(&view.chart));
    omo_course_view_free(&view);
}

static void add_drawing(const struct omo_progress_course *course,
                        struct omo_report *report)
{
    const struct omo_progress_session *newest = omo_progress_newest(course);
    const struct omo_session_row *row = newest->row;
    char what[128];
    omo_course_short(row, what, sizeof what);
    const struct omo_arm_drawing drawing = {.movement = row->movement,
                                            .what = what,
                                            .side = strcmp(row->side, "left") ? OMO_RIGHT
                                                                              : OMO_LEFT,
                                            .deg = newest->mean_deg,
                                            .before_hike_deg = row->max_before_hike_deg,
                                            .width = DRAWING_WIDTH,
                                            .height = DRAWING_HEIGHT};
    omo_report_figure(report, omo_arm_figure(&drawing), what, omo_arm_words(&drawing));
}

static void add_still(const struct omo_report_still *still, struct omo_report *report)
{
    omo_report_picture(report, still->jpeg, still->jpeg_size, still->width, still->height,
                       omo_word("Picture of a measurement"),
                       g_strdup(
                           omo_word("Picture of a measurement. Who is seen agreed to "
                                    "its use in this report.")));
}

/** Returns how many courses of weeks have no chart. */
static int fill_figures(const struct omo_progress *progress, const GPtrArray *courses,
                        const struct omo_course_ranges *ranges,
                        struct omo_course_marks *marks, bool one_day,
                        const struct omo_report_still *still, struct omo_report *report)
{
    int without = 0;
    if (still && one_day)
        add_still(still, report);
    for (guint k = 0; k < courses->len && !one_day; k++) {
        const struct omo_progress_course *course = g_ptr_array_index(courses, k);
        if (course->count < 2)
            continue;
        if (report->figures < CHARTS_MOST)
            add_chart(progress, course, ranges, marks, report);
        else
            without++;
    }
    if (still && !one_day)
        add_still(still, report);
    for (guint k = 0; k < courses->len; k++) {
        if (report->figures == OMO_REPORT_FIGURES || (!one_day && (k > 0 || still)))
            break;
        add_drawing(g_ptr_array_index(courses, k), report);
    }
    return without;
}

void omo_report_fill(const struct omo_person_tables *tables,
                     const struct omo_progress *progress,
                     const struct omo_report_wish *wish,
                     const struct omo_report_still *still, struct omo_report *report)
{
    char first[16], last[16];
    bool one_day = is_one_day(progress, first, last);
    g_autoptr(GPtrArray) courses = courses_in_order(progress);
    report->language = g_strdup(omo_words_language());
    report->title = wish->person[0]
                        ? g_strdup_printf(omo_word("Shoulder report: %s"), wish->person)
                        : g_strdup(omo_word("Shoulder report"));
    if (one_day)
        report->subtitle =
            g_strdup_printf(omo_word("A set of one day, %s. Made with omogon %s."), first,
                            OMO_VERSION);
    else
        report->subtitle =
            g_strdup_printf(omo_word("A course from %s to %s. Made with omogon %s."),
                            first, last, OMO_VERSION);
    int left_out =
        fill_table(progress, courses, omo_person_affected(tables, wish->person), report);
    struct omo_course_ranges ranges = {.people = tables->table[OMO_TABLE_PEOPLE]};
    if (omo_references_load(NULL, &ranges.values) != OMO_OK)
        ranges.values = NULL;
    struct omo_course_marks *marks = omo_course_marks_open(tables);
    int charts_left_out =
        fill_figures(progress, courses, &ranges, marks, one_day, still, report);
    omo_course_marks_close(marks);
    /* Steps and notes have no label of a visit; its days are theirs. */
    struct omo_report_wish days = *wish;
    if (wish->visit) {
        days.from = first;
        days.to = last;
    }
    omo_report_fill_lists(tables, progress, courses, &ranges, &days, left_out,
                          charts_left_out, report);
    omo_references_free(ranges.values);
    report->disclaimer = g_strdup(
        omo_word("A measuring and record-keeping aid. Not certified as a medical "
                 "device; do not decide treatment on it alone."));
}
