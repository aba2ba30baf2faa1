#include "omogon/chart.h"

#include <glib.h>
#include <math.h>

#include "draw/course_points.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define PAIN_MOST    10
#define LEAST_WIDTH  240
#define LEAST_HEIGHT 160
#define LEAST_SIZE   9 /* of words in a small chart, px */

/* Contrast against the ground is checked by a test: 4.5 for words, 3 for what is drawn
 * (Web Content Accessibility Guidelines 2.2, 1.4.3 and 1.4.11); the grid is no content.
 */
static const struct omo_chart_colours light = {.ground = 0xffffffffu,
                                               .text = 0xff1a1a1au,
                                               .quiet = 0xff4a4a4au,
                                               .grid = 0xffd8d8d8u,
                                               .mean = 0xff0b5394u,
                                               .hike = 0xff6b4a00u,
                                               .trend = 0xff1a1a1au,
                                               .band = 0xffe4e8ecu};
static const struct omo_chart_colours dark = {.ground = 0xff131517u,
                                              .text = 0xfff4f4f2u,
                                              .quiet = 0xffc3c8ccu,
                                              .grid = 0xff34393eu,
                                              .mean = 0xff9cc0d2u,
                                              .hike = 0xffd9b36cu,
                                              .trend = 0xfff4f4f2u,
                                              .band = 0xff24292eu};

const struct omo_chart_colours *omo_chart_colours(bool is_dark)
{
    return is_dark ? &dark : &light;
}

/** Where things stand while a chart is drawn. */
struct sheet {
    struct omo_figure *figure;
    const struct omo_chart *chart;
    const struct omo_chart_colours *colour;
    const struct course_dot *dots;
    size_t count;
    double left, right, top, bottom, pain_top, pain_bottom, size;
    double first_day, last_day, low_deg, high_deg;
};

static double x_of(const struct sheet *s, double day)
{
    double share = s->last_day > s->first_day
                       ? (day - s->first_day) / (s->last_day - s->first_day)
                       : 0.5;
    return s->left + (s->right - s->left) * (0.03 + 0.94 * share);
}

static double y_of(const struct sheet *s, double deg)
{
    double share = (deg - s->low_deg) / (s->high_deg - s->low_deg);
    return s->bottom - (s->bottom - s->top) * fmin(fmax(share, 0), 1);
}

static void line(const struct sheet *s, double x0, double y0, double x1, double y1,
                 double width, double dash, uint32_t colour)
{
    struct omo_point points[] = {{x0, y0}, {x1, y1}};
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                                 .points = points,
                                                 .count = 2,
                                                 .colour = colour,
                                                 .width = width,
                                                 .dash = dash});
}

static void shape(const struct sheet *s, const struct omo_point *points, size_t count,
                  uint32_t colour)
{
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_SHAPE,
                                                 .points = points,
                                                 .count = count,
                                                 .colour = colour});
}

static void box(const struct sheet *s, double x0, double y0, double x1, double y1,
                uint32_t colour)
{
    shape(s, (struct omo_point[]){{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}, 4, colour);
}

static void words(const struct sheet *s, double x, double y, const char *text,
                  double size, enum omo_anchor anchor, uint32_t colour)
{
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                                 .at = {x, y},
                                                 .text = text,
                                                 .size = size,
                                                 .anchor = anchor,
                                                 .colour = colour});
}

/* ---- signs --------------------------------------------------------------------------*/

static void dot(const struct sheet *s, double x, double y)
{
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_RING,
                                                 .at = {x, y},
                                                 .radius = s->size * 0.16,
                                                 .width = s->size * 0.32,
                                                 .colour = s->colour->mean});
}

static void hollow_square(const struct sheet *s, double x, double y)
{
    double r = s->size * 0.26;
    struct omo_point points[] = {
        {x - r, y - r}, {x + r, y - r}, {x + r, y + r}, {x - r, y + r}, {x - r, y - r}};
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                                 .points = points,
                                                 .count = 5,
                                                 .colour = s->colour->hike,
                                                 .width = s->size * 0.12});
}

static void tick(const struct sheet *s, double x, double y)
{
    line(s, x - s->size * 0.3, y, x + s->size * 0.3, y, s->size * 0.12, 0,
         s->colour->mean);
}

/* ---- axes ---------------------------------------------------------------------------*/

static void draw_degrees(const struct sheet *s)
{
    double step = s->high_deg - s->low_deg > 100 ? 30 : 10;
    for (double deg = step * ceil(s->low_deg / step); deg <= s->high_deg + 0.01;
         deg += step) {
        char text[40];
        omo_number_text(deg, 0, text, 32);
        omo_text_add(text, sizeof text, "\u00b0");
        line(s, s->left, y_of(s, deg), s->right, y_of(s, deg), 1, 0, s->colour->grid);
        words(s, s->left - s->size * 0.4, y_of(s, deg) + s->size * 0.35, text, s->size,
              OMO_ANCHOR_END, s->colour->quiet);
    }
}

static void draw_day(const struct sheet *s, double day, enum omo_anchor anchor)
{
    g_autoptr(GDateTime) time = g_date_time_new_from_unix_utc((gint64)(day * 86400));
    g_autofree char *text = time ? g_date_time_format(time, "%Y-%m-%d") : g_strdup("");
    line(s, x_of(s, day), s->bottom, x_of(s, day), s->bottom + s->size * 0.4, 1, 0,
         s->colour->quiet);
    words(s, x_of(s, day), s->bottom + s->size * 1.5, text, s->size, anchor,
          s->colour->quiet);
}

static void draw_days(const struct sheet *s)
{
    line(s, s->left, s->bottom, s->right, s->bottom, 1, 0, s->colour->quiet);
    draw_day(s, s->first_day,
             s->last_day > s->first_day ? OMO_ANCHOR_START : OMO_ANCHOR_MIDDLE);
    if (s->last_day <= s->first_day)
        return;
    draw_day(s, s->last_day, OMO_ANCHOR_END);
    /* As many between as have room for their dates. */
    int between = (int)((s->right - s->left) / (s->size * 8.5)) - 1;
    for (int i = 1; i < between; i++)
        draw_day(s,
                 floor(s->first_day + (s->last_day - s->first_day) * i / between) + 0.5,
                 OMO_ANCHOR_MIDDLE);
}

/* ---- what lies behind ---------------------------------------------------------------*/

static void draw_range(const struct sheet *s)
{
    const struct omo_chart *c = s->chart;
    if (!isfinite(c->range_low_deg) || !isfinite(c->range_high_deg))
        return;
    box(s, s->left, y_of(s, c->range_high_deg), s->right, y_of(s, c->range_low_deg),
        s->colour->band);
    line(s, s->left, y_of(s, c->range_low_deg), s->right, y_of(s, c->range_low_deg), 1,
         s->size * 0.2, s->colour->quiet);
    line(s, s->left, y_of(s, c->range_high_deg), s->right, y_of(s, c->range_high_deg), 1,
         s->size * 0.2, s->colour->quiet);
}

/** Where the range is from, smaller where it is long. */
static void draw_source(const struct sheet *s)
{
    const struct omo_chart *c = s->chart;
    if (!isfinite(c->range_low_deg) || !c->range_source)
        return;
    g_autofree char *text =
        g_strdup_printf(omo_word("grey: published range, %s"), c->range_source);
    double fits = (s->right - s->left) / (0.56 * (double)g_utf8_strlen(text, -1));
    words(s, s->left, c->height - s->size * 0.4, text,
          fmax(fmin(s->size * 0.8, fits), s->size * 0.55), OMO_ANCHOR_START,
          s->colour->quiet);
}

static void draw_level(const struct sheet *s, double deg, double dash)
{
    if (isfinite(deg))
        line(s, s->left, y_of(s, deg), s->right, y_of(s, deg), s->size * 0.1, dash,
             s->colour->quiet);
}

/** Its name, over whatever lies there: at one of its ends. */
static void name_level(const struct sheet *s, double deg, const char *text,
                       enum omo_anchor anchor)
{
    bool start = anchor == OMO_ANCHOR_START;
    if (!isfinite(deg))
        return;
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                                 .at = {start ? s->left + s->size * 0.3
                                                              : s->right - s->size * 0.3,
                                                        y_of(s, deg) - s->size * 0.4},
                                                 .text = text,
                                                 .size = s->size * 0.9,
                                                 .anchor = anchor,
                                                 .colour = s->colour->quiet,
                                                 .edge = s->colour->ground,
                                                 .edge_width = s->size * 0.2});
}

static void draw_trend(const struct sheet *s)
{
    double deg[2], low[2], high[2], days[] = {s->first_day, s->last_day};
    if (!s->chart->has_trend || s->last_day <= s->first_day)
        return;
    for (int i = 0; i < 2; i++)
        omo_course_trend(s->chart, days[i], &deg[i], &low[i], &high[i]);
    double x0 = x_of(s, days[0]), x1 = x_of(s, days[1]);
    /* The ends of the interval cross in the sessions' middle. */
    line(s, x0, y_of(s, high[0]), x1, y_of(s, low[1]), 1, s->size * 0.35,
         s->colour->quiet);
    line(s, x0, y_of(s, low[0]), x1, y_of(s, high[1]), 1, s->size * 0.35,
         s->colour->quiet);
    line(s, x0, y_of(s, deg[0]), x1, y_of(s, deg[1]), s->size * 0.15, 0,
         s->colour->trend);
}

static void draw_dots(const struct sheet *s)
{
    for (size_t i = 0; i < s->count; i++) {
        const struct course_dot *d = &s->dots[i];
        double x = x_of(s, d->day);
        if (isfinite(d->low_deg) && isfinite(d->high_deg))
            line(s, x, y_of(s, d->low_deg), x, y_of(s, d->high_deg), s->size * 0.08, 0,
                 s->colour->quiet);
        if (isfinite(d->highest_deg))
            tick(s, x, y_of(s, d->highest_deg));
        if (isfinite(d->before_hike_deg))
            hollow_square(s, x, y_of(s, d->before_hike_deg));
    }
    for (size_t i = 0; i < s->count; i++)
        dot(s, x_of(s, s->dots[i].day), y_of(s, s->dots[i].mean_deg));
}

static bool any_pain(const struct sheet *s)
{
    for (size_t i = 0; i < s->count; i++)
        if (isfinite(s->dots[i].pain))
            return true;
    return false;
}

/** Pain below, a bar a session from nothing to 10. */
static void draw_pain(const struct sheet *s)
{
    double half = s->size * 0.2;
    if (!any_pain(s))
        return;
    words(s, s->left - s->size * 0.4, s->pain_bottom, "0", s->size * 0.8, OMO_ANCHOR_END,
          s->colour->quiet);
    words(s, s->left - s->size * 0.4, s->pain_top + s->size * 0.6, "10", s->size * 0.8,
          OMO_ANCHOR_END, s->colour->quiet);
    words(s, s->left, s->pain_top - s->size * 0.4,
          omo_word("pain at the highest, 0 to 10"), s->size * 0.9, OMO_ANCHOR_START,
          s->colour->quiet);
    line(s, s->left, s->pain_bottom, s->right, s->pain_bottom, 1, 0, s->colour->quiet);
    for (size_t i = 0; i < s->count; i++) {
        double pain = s->dots[i].pain, x = x_of(s, s->dots[i].day);
        if (!isfinite(pain))
            continue;
        double tall = (s->pain_bottom - s->pain_top) * fmin(pain, PAIN_MOST) / PAIN_MOST;
        box(s, x - half, s->pain_bottom - fmax(tall, 1), x + half, s->pain_bottom,
            s->colour->hike);
    }
}

/** What the signs mean, on as many lines as they need. */
static void draw_legend(const struct sheet *s)
{
    const char *const texts[] = {
        s->count < s->chart->count
            ? omo_word("several sessions: median, bar: lowest to highest")
            : omo_word("mean of a session, bar: what it is good to"),
        omo_word("highest"), omo_word("before the shoulder lifts"),
        omo_word("trend with its interval")};
    bool there[] = {true, false, false, s->chart->has_trend};
    for (size_t i = 0; i < s->count; i++) {
        there[1] |= isfinite(s->dots[i].highest_deg);
        there[2] |= isfinite(s->dots[i].before_hike_deg);
    }
    double x = s->left, y = s->size * 2.9;
    for (size_t i = 0; i < G_N_ELEMENTS(texts); i++) {
        double wide = s->size * (0.52 * (double)g_utf8_strlen(texts[i], -1) + 2.4);
        if (!there[i])
            continue;
        if (x > s->left && x + wide > s->right)
            x = s->left, y += s->size * 1.3;
        double middle = y - s->size * 0.35;
        if (i == 0)
            dot(s, x + s->size * 0.5, middle);
        else if (i == 1)
            tick(s, x + s->size * 0.5, middle);
        else if (i == 2)
            hollow_square(s, x + s->size * 0.5, middle);
        else
            line(s, x, middle, x + s->size, middle, s->size * 0.15, 0, s->colour->trend);
        words(s, x + s->size * 1.3, y, texts[i], s->size * 0.9, OMO_ANCHOR_START,
              s->colour->quiet);
        x += wide;
    }
}

struct omo_figure *omo_chart_figure(const struct omo_chart *chart)
{
    if (chart->count == 0 || chart->width < LEAST_WIDTH || chart->height < LEAST_HEIGHT)
        return NULL;
    struct sheet s = {.figure = omo_figure_create(chart->width, chart->height),
                      .chart = chart,
                      .colour = omo_chart_colours(chart->dark),
                      .size = chart->small
                                  ? fmax(fmin(chart->width / 36, chart->height / 17),
                                         LEAST_SIZE)
                                  : fmin(chart->width / 50, chart->height / 24)};
    if (!s.figure)
        return NULL;
    s.left = s.size * 3.4;
    s.right = chart->width - s.size;
    size_t most = (size_t)((s.right - s.left) / (s.size * 0.8));
    g_autofree struct course_dot *dots = g_new(struct course_dot, most);
    s.count = omo_course_dots(chart, dots, most);
    s.dots = dots;
    bool pain = any_pain(&s);
    s.top = s.size * (chart->small ? 2.8 : 5.6);
    s.bottom = chart->height - s.size * (pain ? 7.2 : 3.6);
    s.pain_top = chart->height - s.size * 3.6;
    s.pain_bottom = chart->height - s.size * 1.7;
    s.first_day = dots[0].day;
    s.last_day = dots[s.count - 1].day;
    omo_course_scale(chart, dots, s.count, &s.low_deg, &s.high_deg);
    box(&s, -0.5, -0.5, chart->width - 0.5, chart->height - 0.5, s.colour->ground);
    words(&s, s.size * 0.6, s.size * 1.4, chart->what, s.size * 1.15, OMO_ANCHOR_START,
          s.colour->text);
    draw_range(&s);
    draw_degrees(&s);
    draw_days(&s);
    draw_level(&s, chart->other_deg, s.size * 0.6);
    draw_level(&s, chart->mark_deg, s.size * 0.25);
    draw_trend(&s);
    draw_dots(&s);
    name_level(&s, chart->other_deg, omo_word("the other side"), OMO_ANCHOR_END);
    name_level(&s, chart->mark_deg, omo_word("mark on a calm day"), OMO_ANCHOR_START);
    draw_pain(&s);
    if (!chart->small)
        draw_legend(&s);
    draw_source(&s);
    return s.figure;
}
