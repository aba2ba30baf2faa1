/* A figure as SVG whose words stay words, so that they can be read, searched and
 * enlarged. */
#include "draw/svg_writer.h"

#include <math.h>

#include "omogon/text.h"

/** Numbers of a picture: hundredths of a px are more than anyone sees. */
static void add_number(GString *svg, const char *name, double value)
{
    char text[32];
    omo_number_text(value, 2, text, sizeof text);
    g_string_append_printf(svg, " %s=\"%s\"", name, text);
}

static void add_colour(GString *svg, const char *name, uint32_t colour)
{
    unsigned alpha = colour >> 24;
    g_string_append_printf(svg, " %s=\"#%06x\"", name, colour & 0xffffffu);
    if (alpha < 255) {
        char opacity[32];
        omo_number_text(alpha / 255.0, 3, opacity, sizeof opacity);
        g_string_append_printf(svg, " %s-opacity=\"%s\"", name, opacity);
    }
}

static void add_text(GString *svg, const char *text)
{
    g_autofree char *escaped = g_markup_escape_text(text ? text : "", -1);
    g_string_append(svg, escaped);
}

static void add_place(GString *svg, char command, struct omo_point point)
{
    char x[32], y[32];
    omo_number_text(point.x, 2, x, sizeof x);
    omo_number_text(point.y, 2, y, sizeof y);
    g_string_append_printf(svg, "%c%s %s", command, x, y);
}

static struct omo_point on_circle(const struct omo_mark *mark, double deg)
{
    double angle = deg * G_PI / 180;
    return (struct omo_point){mark->at.x + mark->radius * cos(angle),
                              mark->at.y + mark->radius * sin(angle)};
}

static void add_path(GString *svg, const struct omo_mark *mark)
{
    g_string_append(svg, "<path d=\"");
    if (mark->kind == OMO_MARK_ARC) {
        char radius[32];
        omo_number_text(mark->radius, 2, radius, sizeof radius);
        add_place(svg, 'M', on_circle(mark, mark->from_deg));
        g_string_append_printf(svg, "A%s %s 0 %d %d", radius, radius,
                               fabs(mark->sweep_deg) > 180, mark->sweep_deg >= 0);
        add_place(svg, ' ', on_circle(mark, mark->from_deg + mark->sweep_deg));
    }
    for (size_t i = 0; mark->kind != OMO_MARK_ARC && i < mark->count; i++)
        add_place(svg, i ? 'L' : 'M', mark->points[i]);
    g_string_append(svg, mark->kind == OMO_MARK_SHAPE ? "Z\"" : "\"");
}

/** The outline of a mark, without colour and end. */
static void add_outline(GString *svg, const struct omo_mark *mark)
{
    if (mark->kind == OMO_MARK_RING) {
        g_string_append(svg, "<circle");
        add_number(svg, "cx", mark->at.x);
        add_number(svg, "cy", mark->at.y);
        add_number(svg, "r", mark->radius);
    } else {
        add_path(svg, mark);
    }
}

static void add_stroked(GString *svg, const struct omo_mark *mark)
{
    if (mark->edge_width > 0) {
        add_outline(svg, mark);
        add_colour(svg, "stroke", mark->edge);
        add_number(svg, "stroke-width", mark->width + 2 * mark->edge_width);
        g_string_append(svg, "/>\n");
    }
    add_outline(svg, mark);
    add_colour(svg, "stroke", mark->colour);
    add_number(svg, "stroke-width", mark->width);
    if (mark->dash > 0)
        add_number(svg, "stroke-dasharray", mark->dash);
    g_string_append(svg, "/>\n");
}

static void add_filled(GString *svg, const struct omo_mark *mark)
{
    add_outline(svg, mark);
    add_colour(svg, "fill", mark->colour);
    if (mark->edge_width > 0) {
        add_colour(svg, "stroke", mark->edge);
        add_number(svg, "stroke-width", 2 * mark->edge_width);
        g_string_append(svg, " paint-order=\"stroke\"");
    }
    g_string_append(svg, "/>\n");
}

static void add_words(GString *svg, const struct omo_mark *mark)
{
    static const char *const anchors[] = {"start", "middle", "end"};
    g_string_append(svg, "<text");
    add_number(svg, "x", mark->at.x);
    add_number(svg, "y", mark->at.y);
    add_number(svg, "font-size", mark->size);
    if (mark->anchor != OMO_ANCHOR_START)
        g_string_append_printf(svg, " text-anchor=\"%s\"", anchors[mark->anchor]);
    if (mark->bold)
        g_string_append(svg, " font-weight=\"bold\"");
    add_colour(svg, "fill", mark->colour);
    if (mark->edge_width > 0) {
        add_colour(svg, "stroke", mark->edge);
        add_number(svg, "stroke-width", 2 * mark->edge_width);
        g_string_append(svg, " paint-order=\"stroke\"");
    } else {
        g_string_append(svg, " stroke=\"none\"");
    }
    g_string_append_c(svg, '>');
    add_text(svg, mark->text);
    g_string_append(svg, "</text>\n");
}

void omo_svg_add(GString *svg, const struct omo_figure *figure, const char *name,
                 const char *title, const char *description)
{
    double width, height;
    omo_figure_size(figure, &width, &height);
    g_string_append(svg, "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\"");
    g_string_append_printf(svg, " aria-labelledby=\"%s-title %s-text\"", name, name);
    add_number(svg, "width", width);
    add_number(svg, "height", height);
    g_string_append(svg, " viewBox=\"-0.5 -0.5");
    char text[32];
    omo_number_text(width, 2, text, sizeof text);
    g_string_append_printf(svg, " %s", text);
    omo_number_text(height, 2, text, sizeof text);
    g_string_append_printf(svg, " %s\">\n<title id=\"%s-title\">", text, name);
    add_text(svg, title);
    g_string_append_printf(svg, "</title>\n<desc id=\"%s-text\">", name);
    add_text(svg, description);
    g_string_append(svg, "</desc>\n<g fill=\"none\" stroke-linecap=\"round\" "
                         "stroke-linejoin=\"round\" font-family=\"DejaVu Sans, Verdana, "
                         "sans-serif\">\n");
    for (size_t i = 0; i < omo_figure_count(figure); i++) {
        const struct omo_mark *mark = omo_figure_at(figure, i);
        switch (mark->kind) {
        case OMO_MARK_LINE:
        case OMO_MARK_RING:
        case OMO_MARK_ARC:
            add_stroked(svg, mark);
            break;
        case OMO_MARK_SHAPE:
            add_filled(svg, mark);
            break;
        case OMO_MARK_TEXT:
            add_words(svg, mark);
            break;
        }
    }
    g_string_append(svg, "</g>\n</svg>\n");
}
