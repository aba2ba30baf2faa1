#include <math.h>
#include <string.h>

#include "omogon/words.h"
#include "show/screen/screen_private.h"

/*
 *  +--------------------------------+--------------+-------+
 *  | title            status  sign  |     1 1 8 °  |  180  |
 *  +--------------------------------+    good to ..|   |   |
 *  |                                |  shoulder up |   |   |
 *  |   picture, letterboxed:        |  ticks       |  120  |
 *  |   nothing ever covers it but   |  trunk back  |   |   |
 *  |   lines, rings and names       |  ticks       |   |   |
 *  |                                | 2 of 5 raises|   60  |
 *  |                                |  strip chart |   0   |
 *  +--------------------------------+--------------+-------+
 *  | ! instruction, one line or two, over the whole width  |
 *  +-------------------------------------------------------+
 *  | buttons                                               |
 *  +-------------------------------------------------------+
 *
 * Everything is a share of the window's height, so it can be read from the same distance
 * in any window that fills the display, and never under a size for the hand.
 */

/* A little above what is promised (0.15 and 0.06), for rounding and antialiasing. */
#define FIGURE_SHARE 0.155
/* Two figures, an arm each: to be read from two metres as one is from three. */
#define FIGURES_SHARE     0.125
#define INSTRUCTION_SHARE 0.0625
/* Of a step of a programme: what to do is the largest, the angle stands beside it. */
#define FIRST_FIGURE_SHARE      0.07
#define FIRST_INSTRUCTION_SHARE 0.082
/* The smallest window everything fits in at scale 1. */
#define LEAST_WIDTH  800
#define LEAST_HEIGHT 600
#define BUTTON_LEAST 46

static int whole(double value)
{
    return (int)lround(value);
}

struct omo_range omo_range_of(const struct omo_measure_settings *settings)
{
    const struct omo_movement *movement = settings->movement;
    if (movement == NULL)
        return (struct omo_range){-15, 195, 30};
    switch (movement->geometry) {
    case OMO_GEOMETRY_ROTATION:
        return (struct omo_range){-70, 125, 30};
    case OMO_GEOMETRY_FORESHORTENED:
        return (struct omo_range){-70, 95, 30};
    case OMO_GEOMETRY_PENDULUM:
        return (struct omo_range){-65, 65, 20};
    case OMO_GEOMETRY_ELEVATION:
        break;
    }
    /* Movements that end far below the horizontal get a finer scale. */
    if (strcmp(movement->name, "extension") == 0 ||
        strcmp(movement->name, "adduction") == 0)
        return (struct omo_range){-20, 95, 10};
    return (struct omo_range){-15, 195, 30};
}

/** The widest text of figures this movement can come to. */
static int figures_width(const struct omo_measure_settings *settings, double size_px)
{
    bool wide = settings->movement != NULL &&
                settings->movement->geometry != OMO_GEOMETRY_ELEVATION;
    int positive = 0, negative = 0;
    omo_text_size("188", size_px, false, 0, &positive, NULL);
    omo_text_size(wide ? "-188" : "-88", size_px, false, 0, &negative, NULL);
    return positive > negative ? positive : negative;
}

/** Hands out the column from its top. */
static SDL_Rect take(SDL_Rect *column, int height)
{
    SDL_Rect row = {column->x, column->y, column->w, height};
    column->y += height;
    column->h -= height;
    return row;
}

static void lay_column(struct omo_measure_layout *l, SDL_Rect column, int degree_width)
{
    int gap = l->margin / 2;
    double figure_px = l->digits_px * omo_figure_ratio();
    SDL_Rect top = take(&column, whole(figure_px * 1.22));
    l->degree = (SDL_Rect){top.x + top.w - degree_width, top.y, degree_width,
                           whole(figure_px * 0.62)};
    l->angle = (SDL_Rect){top.x, top.y, top.w - degree_width, top.h};
    int line = whole(l->middle_px * 1.35);
    int ticks = whole(l->small_px * 1.5);
    l->good_to = take(&column, line);
    take(&column, gap);
    l->hike = take(&column, line);
    l->hike_ticks = take(&column, ticks);
    take(&column, gap);
    l->lean = take(&column, whole(l->middle_px * 2.4));
    l->lean_ticks = take(&column, ticks);
    take(&column, gap);
    l->raises = take(&column, line);
    take(&column, gap);
    l->chart = column;
}

/** Both arms at once: a figure each and how far they are apart; hike and lean, which the
 *  instruction still speaks of, make room for them. */
static void lay_both(struct omo_measure_layout *l, SDL_Rect column, int degree_width)
{
    int gap = l->margin / 2;
    double figure_px = l->digits_px * omo_figure_ratio();
    int line = whole(l->middle_px * 1.35);
    SDL_Rect *angle[] = {&l->angle, &l->other_angle};
    SDL_Rect *degree[] = {&l->degree, &l->other_degree};
    SDL_Rect *good_to[] = {&l->good_to, &l->other_good_to};
    for (int i = 0; i < 2; i++) {
        SDL_Rect top = take(&column, whole(figure_px * 1.2));
        *degree[i] = (SDL_Rect){top.x + top.w - degree_width, top.y, degree_width,
                                whole(figure_px * 0.62)};
        *angle[i] = (SDL_Rect){top.x, top.y, top.w - degree_width, top.h};
        *good_to[i] = take(&column, line);
    }
    take(&column, gap);
    l->apart = take(&column, whole(l->middle_px * 1.8));
    take(&column, gap);
    l->raises = take(&column, line);
    take(&column, gap);
    l->chart = column;
}

static void lay_title(struct omo_measure_layout *l, SDL_Rect row, bool two_rows)
{
    int line = whole(l->small_px * 1.7);
    int sign_width = 0;
    omo_text_size(omo_word("camera off"), l->small_px, true, 0, &sign_width, NULL);
    int on_width = 0;
    omo_text_size(omo_word("camera on"), l->small_px, true, 0, &on_width, NULL);
    if (on_width > sign_width)
        sign_width = on_width;
    sign_width += whole(l->small_px * 2.6);
    l->sign = (SDL_Rect){row.x + row.w - sign_width, row.y, sign_width, line};
    int rest = row.w - sign_width - l->margin;
    if (two_rows) {
        l->title = (SDL_Rect){row.x, row.y, rest, line};
        l->status = (SDL_Rect){row.x, row.y + line, row.w, line};
    } else {
        int title = rest * 54 / 100;
        l->title = (SDL_Rect){row.x, row.y, title, line};
        l->status = (SDL_Rect){row.x + title, row.y, rest - title, line};
    }
}

void omo_measure_layout(struct omo_screen *screen, int lines)
{
    struct omo_measure_layout *l = &screen->layout;
    omo_screen_size(screen, &l->width, &l->height);
    int w = l->width, whole_h = l->height;
    /* In a window taller than 4:3 sizes follow its width, or the figures would leave the
     * picture no room. */
    int h = whole_h < w * 3 / 4 ? whole_h : w * 3 / 4;
    l->scale =
        fmin(screen->scale, fmin((double)w / LEAST_WIDTH, (double)h / LEAST_HEIGHT));
    l->scale = fmax(l->scale, 0.5);
    l->margin = whole(fmax(6 * l->scale, h * 0.012));
    l->small_px = fmax(14 * l->scale, h * 0.023);
    l->middle_px = fmax(17 * l->scale, h * 0.034);
    bool words_first = screen->measure.page.words_first;
    l->large_px =
        (words_first ? FIRST_INSTRUCTION_SHARE : INSTRUCTION_SHARE) * h / omo_cap_ratio();
    l->digits_px =
        (words_first ? FIRST_FIGURE_SHARE : FIGURE_SHARE) * h / omo_figure_ratio();

    int m = l->margin;
    int row = whole(fmax(BUTTON_LEAST * l->scale, h * 0.072));
    l->buttons = (SDL_Rect){m, whole_h - m / 2 - row, w - 2 * m, row};
    int line_height = 0;
    omo_text_size("Hg", l->large_px, false, 0, NULL, &line_height);
    int band = line_height * (lines > 2 ? lines : 2) + m / 2;
    int mark = whole(l->large_px * 0.9);
    l->instruction =
        (SDL_Rect){2 * m + mark, l->buttons.y - m / 2 - band, w - 3 * m - mark, band};
    l->mark = (SDL_Rect){m, l->instruction.y, mark, band};
    l->progress = (SDL_Rect){0, l->instruction.y - m / 2, w, m / 2};
    int bottom = l->progress.y - m / 2;

    int degree = 0;
    omo_text_size("°", l->digits_px * 0.7, false, 0, &degree, NULL);
    int figures = figures_width(&screen->measure.settings, l->digits_px);
    int column = figures + degree + whole(l->digits_px * 0.12);
    /* Under smaller figures the words and drawings keep their room. */
    if (words_first)
        column = whole(column * FIGURE_SHARE / FIRST_FIGURE_SHARE * 0.85);
    int gauge = whole(fmax(h * 0.24, 140 * l->scale));
    l->gauge = (SDL_Rect){w - gauge, 0, gauge, bottom};
    int column_x = w - gauge - m - column;
    SDL_Rect at = {column_x, m, column, bottom - m};
    if (screen->measure.page.other != NULL) {
        l->digits_px *= FIGURES_SHARE / FIGURE_SHARE;
        lay_both(l, at, degree);
    } else {
        lay_column(l, at, degree);
    }

    int area = column_x - 2 * m;
    bool two_rows = area < l->small_px * 44;
    int title = whole(l->small_px * 1.7) * (two_rows ? 2 : 1);
    lay_title(l, (SDL_Rect){m, m / 2, area, title}, two_rows);
    int top = m / 2 + title + m / 2;
    l->picture = (SDL_Rect){m, top, area, bottom - top};
}
