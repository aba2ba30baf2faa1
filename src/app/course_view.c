#include "app/course_view.h"

#include <math.h>
#include <string.h>

#include <glib.h>

#include "omogon/motion.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* A chart for a page of paper or a screen: 720 by 400 px. */
#define WIDTH_PX  720
#define HEIGHT_PX 400

#define TEXT_ROWS      13 /* of the text chart, the axis not counted */
#define TEXT_LEFT      7  /* columns for the degrees */
#define LEAST_SPAN_DEG 60

/* Words of sessions.csv that people read. */
static const char *const marked[] = {OMO_WORD("left"),       OMO_WORD("right"),
                                     OMO_WORD("active"),     OMO_WORD("assisted"),
                                     OMO_WORD("passive"),    OMO_WORD("standing"),
                                     OMO_WORD("seated"),     OMO_WORD("supine"),
                                     OMO_WORD("side-lying"), OMO_WORD("prone")};

const char *omo_course_word(const char *text)
{
    for (size_t i = 0; i < G_N_ELEMENTS(marked); i++)
        if (!strcmp(text, marked[i]))
            return omo_word(marked[i]);
    return text;
}

void omo_course_words(const struct omo_session_row *row, char *out, size_t size)
{
    out[0] = '\0';
    omo_text_add(out, size, "%s%s%s, %s, %s, %s", row->person, row->person[0] ? ": " : "",
                 omo_movement_words(row->movement), omo_course_word(row->side),
                 omo_course_word(row->mode), omo_course_word(row->position));
}

void omo_course_short(const struct omo_session_row *row, char *out, size_t size)
{
    out[0] = '\0';
    omo_text_add(out, size, "%s, %s", omo_movement_words(row->movement),
                 omo_course_word(row->side));
    /* What most are measured in is left unsaid, so that nothing else can be taken for it.
     */
    if (strcmp(row->mode, "active") != 0)
        omo_text_add(out, size, ", %s", omo_course_word(row->mode));
    if (strcmp(row->position, "standing") != 0)
        omo_text_add(out, size, ", %s", omo_course_word(row->position));
}

void omo_course_view_of(const struct omo_progress *progress,
                        const struct omo_progress_course *course,
                        struct omo_course_view *view)
{
    const struct omo_progress_course *other = omo_progress_other_side(progress, course);
    view->points = g_new(struct omo_chart_point, course->count);
    for (size_t i = 0; i < course->count; i++) {
        const struct omo_progress_session *session = &course->sessions[i];
        const struct omo_session_row *row = session->row;
        view->points[i] =
            (struct omo_chart_point){.day = session->day,
                                     .mean_deg = session->mean_deg,
                                     .u95_deg = row->max_u95_deg,
                                     .highest_deg = row->max_deg,
                                     .before_hike_deg = row->max_before_hike_deg,
                                     .pain = row->pain_at_max};
    }
    omo_course_words(omo_progress_newest(course)->row, view->what, sizeof view->what);
    view->chart = (struct omo_chart){
        .what = view->what,
        .points = view->points,
        .count = course->count,
        .has_trend = course->has_trend,
        .trend_deg_per_day = course->trend.slope,
        .trend_low_deg_per_day = course->trend.low,
        .trend_high_deg_per_day = course->trend.high,
        .trend_at_0_deg = course->trend.intercept,
        .other_deg = other ? omo_progress_newest(other)->mean_deg : (double)NAN,
        .mark_deg = NAN,
        .range_low_deg = NAN,
        .range_high_deg = NAN,
        .width = WIDTH_PX,
        .height = HEIGHT_PX,
    };
}

void omo_course_view_free(struct omo_course_view *view)
{
    g_free(view->points);
    view->points = NULL;
}

/* ---- letters instead of a figure ----------------------------------------------------
 */

/** What stands in a place of the text chart; what counts more is larger. */
enum sign { EMPTY, OTHER, TREND, SESSION };

struct grid {
    int columns;
    double low_deg, high_deg, first_day, last_day;
    unsigned char *sign; /* TEXT_ROWS by columns, the lowest degrees last */
};

static void put(const struct grid *g, int column, double deg, enum sign sign)
{
    double share = (deg - g->low_deg) / (g->high_deg - g->low_deg);
    int row = (int)lround((1 - share) * (TEXT_ROWS - 1));
    if (row < 0 || row >= TEXT_ROWS || column < 0 || column >= g->columns)
        return;
    unsigned char *place = &g->sign[row * g->columns + column];
    if (sign > *place)
        *place = (unsigned char)sign;
}

static double day_of(const struct grid *g, int column)
{
    return g->first_day + (g->last_day - g->first_day) * column / MAX(g->columns - 1, 1);
}

static int column_of(const struct grid *g, double day)
{
    double span = g->last_day - g->first_day;
    return span > 0 ? (int)lround((day - g->first_day) / span * (g->columns - 1))
                    : g->columns / 2;
}

static void scale(const struct omo_chart *chart, struct grid *g)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < chart->count; i++) {
        low = fmin(low, chart->points[i].mean_deg);
        high = fmax(high, chart->points[i].mean_deg);
    }
    if (isfinite(chart->other_deg)) {
        low = fmin(low, chart->other_deg);
        high = fmax(high, chart->other_deg);
    }
    g->low_deg = 10 * floor(low / 10);
    g->high_deg = 10 * ceil(high / 10);
    while (g->high_deg - g->low_deg < LEAST_SPAN_DEG) {
        g->high_deg += 10;
        if (g->high_deg - g->low_deg < LEAST_SPAN_DEG)
            g->low_deg -= 10;
    }
    g->first_day = chart->points[0].day;
    g->last_day = chart->points[chart->count - 1].day;
}

static void print_day(FILE *out, double day)
{
    g_autoptr(GDateTime) time = g_date_time_new_from_unix_utc((gint64)(day * 86400));
    g_autofree char *text = time ? g_date_time_format(time, "%Y-%m-%d") : g_strdup("");
    fputs(text, out);
}

static void print_grid(FILE *out, const struct grid *g, bool wide)
{
    const char *const signs[] = {" ", "-", wide ? "\u00b7" : ".", wide ? "\u25cf" : "o"};
    for (int row = 0; row < TEXT_ROWS; row++) {
        char degrees[32] = "";
        if (row % 4 == 0) {
            double share = 1 - row / (double)(TEXT_ROWS - 1);
            omo_number_text(g->low_deg + share * (g->high_deg - g->low_deg), 0, degrees,
                            sizeof degrees);
        }
        fprintf(out, "  %3s %s", degrees, wide ? "\u2502" : "|");
        int end = g->columns;
        const unsigned char *line = &g->sign[row * g->columns];
        while (end > 0 && line[end - 1] == EMPTY)
            end--;
        for (int column = 0; column < end; column++)
            fputs(signs[line[column]], out);
        fputc('\n', out);
    }
    fprintf(out, "      %s", wide ? "\u2514" : "+");
    for (int column = 0; column < g->columns; column++)
        fputs(wide ? "\u2500" : "-", out);
    fputs("\n       ", out);
    print_day(out, g->first_day);
    if (g->last_day - g->first_day >= 1) {
        fprintf(out, "%*s", g->columns - 20, "");
        print_day(out, g->last_day);
    }
    fputc('\n', out);
}

void omo_course_text(FILE *out, const struct omo_chart *chart, int columns, bool wide)
{
    struct grid g = {.columns = CLAMP(columns - TEXT_LEFT, 24, 96)};
    scale(chart, &g);
    g.sign = g_malloc0((size_t)TEXT_ROWS * (size_t)g.columns);
    for (int column = 0; column < g.columns; column++) {
        if (isfinite(chart->other_deg))
            put(&g, column, chart->other_deg, OTHER);
        if (chart->has_trend)
            put(&g, column,
                chart->trend_at_0_deg + chart->trend_deg_per_day * day_of(&g, column),
                TREND);
    }
    for (size_t i = 0; i < chart->count; i++)
        put(&g, column_of(&g, chart->points[i].day), chart->points[i].mean_deg, SESSION);
    print_grid(out, &g, wide);
    g_free(g.sign);
    fprintf(out, "      %s",
            omo_word(wide ? OMO_WORD("\u25cf session") : OMO_WORD("o session")));
    if (chart->has_trend)
        fprintf(out, ", %s",
                omo_word(wide ? OMO_WORD("\u00b7 trend") : OMO_WORD(". trend")));
    if (isfinite(chart->other_deg))
        fprintf(out, ", %s", omo_word("- the other side"));
    fputc('\n', out);
}
