#include "omogon/month_line.h"

#include <math.h>
#include <stdio.h>

#include "omogon/text.h"
#include "omogon/words.h"

#define LIGHT  0xfff4f4f2u
#define QUIET  0xffc3c8ccu
#define GREY   0xff7d848bu
#define ACCENT 0xff9cc0d2u
#define WEEK   7
/* The scale is at least this tall, so that a few degrees do not look like a leap. */
#define LEAST_SPAN_DEG 60
#define STEP_DEG       30

struct frame {
    double left, right, top, bottom, low_deg, high_deg, size;
};

static double x_of(const struct frame *f, double days_ago)
{
    return f->right - (f->right - f->left) * days_ago / OMO_MONTH_DAYS;
}

static double y_of(const struct frame *f, double deg)
{
    return f->bottom -
           (f->bottom - f->top) * (deg - f->low_deg) / (f->high_deg - f->low_deg);
}

static bool is_shown(const struct omo_month_point *p)
{
    return isfinite(p->deg) && p->days_ago >= 0 && p->days_ago <= OMO_MONTH_DAYS;
}

static void line(struct omo_figure *figure, double x0, double y0, double x1, double y1,
                 double width, uint32_t colour)
{
    struct omo_point points[2] = {{x0, y0}, {x1, y1}};
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                              .points = points,
                                              .count = 2,
                                              .colour = colour,
                                              .width = width});
}

static void words(struct omo_figure *figure, double x, double y, const char *text,
                  double size, enum omo_anchor anchor, uint32_t colour)
{
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                              .at = {x, y},
                                              .text = text,
                                              .size = size,
                                              .anchor = anchor,
                                              .colour = colour});
}

static void scale(struct frame *f, const struct omo_month_point *points, size_t count)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < count; i++) {
        if (!is_shown(&points[i]))
            continue;
        double bar = isfinite(points[i].u95_deg) ? points[i].u95_deg : 0;
        low = fmin(low, points[i].deg - bar);
        high = fmax(high, points[i].deg + bar);
    }
    if (low > high)
        low = 60, high = 120;
    f->low_deg = STEP_DEG * floor(low / STEP_DEG);
    f->high_deg = STEP_DEG * ceil(high / STEP_DEG);
    if (f->high_deg - f->low_deg < LEAST_SPAN_DEG)
        f->high_deg = f->low_deg + LEAST_SPAN_DEG;
}

static void draw_axes(struct omo_figure *figure, const struct frame *f)
{
    char text[64];
    for (double deg = f->low_deg; deg <= f->high_deg + 0.5; deg += STEP_DEG) {
        line(figure, f->left, y_of(f, deg), f->right, y_of(f, deg), 1, GREY);
        snprintf(text, sizeof text, "%.0f\u00b0", deg);
        words(figure, f->left - f->size * 0.4, y_of(f, deg) + f->size * 0.35, text,
              f->size, OMO_ANCHOR_END, QUIET);
    }
    for (int days = 0; days <= OMO_MONTH_DAYS; days += WEEK)
        line(figure, x_of(f, days), f->bottom, x_of(f, days), f->bottom + f->size * 0.4,
             1, GREY);
    double y = f->bottom + f->size * 1.6;
    words(figure, f->left, y, omo_word("a month ago"), f->size, OMO_ANCHOR_START, QUIET);
    words(figure, f->right, y, omo_word("today"), f->size, OMO_ANCHOR_END, QUIET);
}

struct omo_figure *omo_month_figure(double width, double height, const char *what,
                                    const struct omo_month_point *points, size_t count)
{
    struct omo_figure *figure = omo_figure_create(width, height);
    if (!figure)
        return NULL;
    double size = fmin(width / 26, height / 18);
    struct frame f = {.left = size * 3.2,
                      .right = width - size,
                      .top = size * 3,
                      .bottom = height - size * 5.4,
                      .size = size};
    scale(&f, points, count);
    words(figure, size * 0.5, size * 1.4, what, size, OMO_ANCHOR_START, LIGHT);
    draw_axes(figure, &f);
    int shown = 0;
    for (size_t i = 0; i < count; i++) {
        if (!is_shown(&points[i]))
            continue;
        double x = x_of(&f, points[i].days_ago), y = y_of(&f, points[i].deg);
        double bar = points[i].u95_deg;
        if (isfinite(bar))
            line(figure, x, y_of(&f, points[i].deg - bar), x,
                 y_of(&f, points[i].deg + bar), 1, QUIET);
        omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_RING,
                                                  .at = {x, y},
                                                  .radius = size * 0.18,
                                                  .colour = ACCENT,
                                                  .width = size * 0.36});
        shown++;
    }
    if (shown == 0)
        words(figure, width / 2, (f.top + f.bottom) / 2, omo_word("nothing measured yet"),
              size, OMO_ANCHOR_MIDDLE, QUIET);
    words(figure, size * 0.5, height - size * 2, omo_word("This changes over months."),
          size, OMO_ANCHOR_START, LIGHT);
    words(figure, size * 0.5, height - size * 0.6,
          omo_word("Bars: what a figure is good to."), size, OMO_ANCHOR_START, QUIET);
    return figure;
}
