/* Bland and Altman's plot: differences over means. */
#include <math.h>
#include <stdlib.h>

#include "app/agreement_out.h"
#include "omogon/chart.h"
#include "omogon/draw.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define WIDTH  720
#define HEIGHT 480
#define SIZE   14 /* of words, px */
#define TICKS  5

struct plot {
    struct omo_figure *figure;
    const struct omo_chart_colours *colour;
    double left, right, top, bottom; /* px */
    double low_x, high_x, low_y, high_y;
    const struct omo_agreement_found *found;
    const struct omo_limits *limits; /* of what the dots are */
    size_t dots;
};

/** Where a dot is: of single pairs where these have limits, else of a person's means. */
static struct omo_point dot_of(const struct plot *p, size_t at)
{
    double first, second;
    if (omo_agreement_has_pairs(p->found)) {
        const struct omo_agreement_pair *pair =
            &g_array_index(p->found->pairs, struct omo_agreement_pair, at);
        first = pair->first;
        second = pair->second;
    } else {
        first = p->found->table.values[2 * at];
        second = p->found->table.values[2 * at + 1];
    }
    return (struct omo_point){(first + second) / 2, first - second};
}

static double x_of(const struct plot *p, double mean)
{
    return p->left + (p->right - p->left) * (mean - p->low_x) / (p->high_x - p->low_x);
}

static double y_of(const struct plot *p, double difference)
{
    return p->bottom -
           (p->bottom - p->top) * (difference - p->low_y) / (p->high_y - p->low_y);
}

static void line(const struct plot *p, double x0, double y0, double x1, double y1,
                 double width, double dash, uint32_t colour)
{
    const struct omo_point points[] = {{x0, y0}, {x1, y1}};
    omo_figure_add(p->figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                                 .points = points,
                                                 .count = 2,
                                                 .width = width,
                                                 .dash = dash,
                                                 .colour = colour});
}

static void words(const struct plot *p, double x, double y, enum omo_anchor anchor,
                  const char *text)
{
    omo_figure_add(p->figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                                 .at = {x, y},
                                                 .text = text,
                                                 .size = SIZE,
                                                 .anchor = anchor,
                                                 .colour = p->colour->text});
}

/** The interval of a level. All are drawn before the lines, none of which they cover. */
static void band(const struct plot *p, double low, double high)
{
    const struct omo_point corner[] = {{p->left, y_of(p, high)},
                                       {p->right, y_of(p, high)},
                                       {p->right, y_of(p, low)},
                                       {p->left, y_of(p, low)}};
    if (isfinite(low) && isfinite(high))
        omo_figure_add(p->figure, &(struct omo_mark){.kind = OMO_MARK_SHAPE,
                                                     .points = corner,
                                                     .count = 4,
                                                     .colour = p->colour->band});
}

/** A line across with its name above it, or below where the line of no difference would
 *  run through the name. */
static void level(const struct plot *p, double at, bool dashed, const char *name)
{
    char number[40], text[120] = "";
    double y = y_of(p, at), above = y - y_of(p, 0);
    bool struck = above > 0 && above < SIZE + 8;
    line(p, p->left, y, p->right, y, 1.5, dashed ? 6 : 0, p->colour->trend);
    omo_number_text(at, 1, number, sizeof number);
    omo_text_add(text, sizeof text, "%s %s", name, number);
    words(p, p->right, struck ? y + SIZE + 2 : y - 5, OMO_ANCHOR_END, text);
}

/** Room for everything that is drawn. */
static void scale(struct plot *p)
{
    p->low_x = p->low_y = INFINITY;
    p->high_x = p->high_y = -INFINITY;
    for (size_t i = 0; i < p->dots; i++) {
        struct omo_point dot = dot_of(p, i);
        p->low_x = fmin(p->low_x, dot.x);
        p->high_x = fmax(p->high_x, dot.x);
        p->low_y = fmin(p->low_y, dot.y);
        p->high_y = fmax(p->high_y, dot.y);
    }
    /* An interval may be missing. */
    p->low_y = fmin(fmin(p->low_y, p->limits->lower), fmin(p->limits->lower_low, 0));
    p->high_y = fmax(fmax(p->high_y, p->limits->upper), fmax(p->limits->upper_high, 0));
    double wide = fmax(p->high_x - p->low_x, 1e-6),
           high = fmax(p->high_y - p->low_y, 1e-6);
    p->low_x -= 0.05 * wide;
    p->high_x += 0.05 * wide;
    p->low_y -= 0.08 * high;
    p->high_y += 0.08 * high;
}

/** A round step, one, two or five of a power of ten, for about TICKS of them. */
static double step_of(double range)
{
    double rough = range / TICKS, power = pow(10, floor(log10(rough)));
    double digit = rough / power;
    return power * (digit < 1.5 ? 1 : digit < 3.5 ? 2 : digit < 7.5 ? 5 : 10);
}

static void ticks(const struct plot *p)
{
    double step_x = step_of(p->high_x - p->low_x), step_y = step_of(p->high_y - p->low_y);
    char text[40];
    for (double x = ceil(p->low_x / step_x) * step_x; x <= p->high_x; x += step_x) {
        omo_number_text(x, step_x < 1 ? 1 : 0, text, sizeof text);
        words(p, x_of(p, x), p->bottom + SIZE * 1.5, OMO_ANCHOR_MIDDLE, text);
    }
    for (double y = ceil(p->low_y / step_y) * step_y; y <= p->high_y; y += step_y) {
        omo_number_text(y, step_y < 1 ? 1 : 0, text, sizeof text);
        words(p, p->left - 6, y_of(p, y) + SIZE * 0.35, OMO_ANCHOR_END, text);
    }
    line(p, p->left, p->bottom, p->right, p->bottom, 1, 0, p->colour->quiet);
    line(p, p->left, p->top, p->left, p->bottom, 1, 0, p->colour->quiet);
    line(p, p->left, y_of(p, 0), p->right, y_of(p, 0), 1, 2, p->colour->quiet);
}

static void draw(struct plot *p)
{
    const struct omo_agreement_found *f = p->found;
    const char *first = g_ptr_array_index(f->table.raters, 0);
    const char *second = g_ptr_array_index(f->table.raters, 1);
    const struct omo_limits *l = p->limits;
    char text[200];
    scale(p);
    band(p, l->upper_low, l->upper_high);
    band(p, l->bias_low, l->bias_high);
    band(p, l->lower_low, l->lower_high);
    level(p, l->upper, true, omo_word("upper limit"));
    level(p, l->bias, false, omo_word("mean difference"));
    level(p, l->lower, true, omo_word("lower limit"));
    ticks(p);
    for (size_t i = 0; i < p->dots; i++) {
        struct omo_point dot = dot_of(p, i);
        omo_figure_add(p->figure,
                       &(struct omo_mark){.kind = OMO_MARK_RING,
                                          .at = {x_of(p, dot.x), y_of(p, dot.y)},
                                          .radius = 4,
                                          .width = 2,
                                          .colour = p->colour->mean});
    }
    g_snprintf(text, sizeof text, omo_word("%s less %s, over the mean of both (%s)"),
               first, second, f->value);
    words(p, p->left, p->top - SIZE, OMO_ANCHOR_START, text);
}

/** One sentence where there is nothing to draw. */
static bool can_plot(const struct omo_agreement_found *found, const char *path,
                     enum omo_figure_kind *kind)
{
    if (!omo_figure_kind_of(path, kind))
        omo_error(
            "--plot \"%s\" has no ending that is known; end it in .svg, .pdf or .png",
            path);
    else if (found->table.raters->len != 2)
        omo_error("--plot shows two raters against each other; there are %u",
                  found->table.raters->len);
    else if (!omo_agreement_has_pairs(found) && !found->has_limits)
        omo_error("--plot draws limits of agreement, and these two raters have none: too "
                  "few pairs of both, or differences that are all the same");
    else
        return true;
    return false;
}

/** What the plot says, for those who do not see it. */
static void describe(const struct plot *p, char *text, size_t size)
{
    const struct omo_limits *l = p->limits;
    char bias[40], lower[40], upper[40];
    omo_number_text(l->bias, 2, bias, sizeof bias);
    omo_number_text(l->lower, 2, lower, sizeof lower);
    omo_number_text(l->upper, 2, upper, sizeof upper);
    if (omo_agreement_has_pairs(p->found))
        omo_text_add(text, size,
                     omo_word("Mean difference %s, limits of agreement %s to %s of "
                              "single pairs, %zu of %zu people; bands are the "
                              "intervals."),
                     bias, lower, upper, p->dots, p->found->pair_limits.people);
    else
        omo_text_add(text, size,
                     omo_word("Mean difference %s, limits of agreement %s to %s, %zu "
                              "people; bands are the intervals."),
                     bias, lower, upper, p->dots);
}

enum omo_status omo_agreement_plot(const struct omo_agreement_found *found,
                                   const char *path)
{
    enum omo_figure_kind kind;
    char text[300] = "";
    if (!can_plot(found, path, &kind))
        return OMO_ERR_ARG;
    bool single = omo_agreement_has_pairs(found);
    struct plot p = {.figure = omo_figure_create(WIDTH, HEIGHT),
                     .colour = omo_chart_colours(false),
                     .left = 60,
                     .right = WIDTH - 20,
                     .top = 40,
                     .bottom = HEIGHT - 40,
                     .found = found,
                     .limits = single ? &found->pair_limits.limits : &found->limits,
                     .dots = single ? found->pairs->len : found->table.people};
    if (!p.figure)
        return OMO_ERR_MEMORY;
    draw(&p);
    describe(&p, text, sizeof text);
    char *bytes = NULL;
    size_t size = 0;
    enum omo_status status =
        omo_figure_bytes(p.figure, kind, omo_word("Agreement of two raters"), text,
                         &bytes, &size);
    if (status == OMO_OK)
        status = omo_file_write_atomic(path, bytes, size, 0600);
    free(bytes);
    omo_figure_destroy(p.figure);
    return status;
}
