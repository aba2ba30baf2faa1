#include "omogon/draw.h"

#include <glib.h>
#include <math.h>

struct omo_figure {
    double width, height;
    GArray *marks; /**< of struct omo_mark; points and text are its own */
};

static void forget_mark(void *mark)
{
    struct omo_mark *m = mark;
    g_free((void *)m->points);
    g_free((void *)m->text);
}

struct omo_figure *omo_figure_create(double width, double height)
{
    struct omo_figure *figure = g_new0(struct omo_figure, 1);
    figure->width = width;
    figure->height = height;
    figure->marks = g_array_new(FALSE, FALSE, sizeof(struct omo_mark));
    g_array_set_clear_func(figure->marks, forget_mark);
    return figure;
}

void omo_figure_destroy(struct omo_figure *figure)
{
    if (figure == NULL)
        return;
    g_array_unref(figure->marks);
    g_free(figure);
}

void omo_figure_add(struct omo_figure *figure, const struct omo_mark *mark)
{
    struct omo_mark own = *mark;
    own.points = g_memdup2(mark->points, mark->count * sizeof *mark->points);
    own.text = g_strdup(mark->text);
    g_array_append_val(figure->marks, own);
}

size_t omo_figure_count(const struct omo_figure *figure)
{
    return figure->marks->len;
}

const struct omo_mark *omo_figure_at(const struct omo_figure *figure, size_t index)
{
    g_assert(index < figure->marks->len);
    return &g_array_index(figure->marks, struct omo_mark, index);
}

/** Light of one channel, from its sRGB value. */
static double linear(uint32_t value)
{
    double v = (double)(value & 0xff) / 255.0;
    return v <= 0.03928 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

static double luminance(uint32_t colour)
{
    return 0.2126 * linear(colour >> 16) + 0.7152 * linear(colour >> 8) +
           0.0722 * linear(colour);
}

double omo_contrast_ratio(uint32_t a, uint32_t b)
{
    double first = luminance(a), second = luminance(b);
    return (fmax(first, second) + 0.05) / (fmin(first, second) + 0.05);
}

void omo_figure_size(const struct omo_figure *figure, double *width, double *height)
{
    *width = figure->width;
    *height = figure->height;
}
