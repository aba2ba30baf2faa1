/* A figure drawn with cairo. Text comes from pango: as outlines, so that it can have an
 * edge, and on top as words where the surface keeps words. */
#include "draw/cairo_writer.h"

#include <math.h>
#include <stdbool.h>

#include <pango/pangocairo.h>

#include "omogon/log.h"

static const char font_family[] = "DejaVu Sans, sans-serif";

static void set_colour(cairo_t *cairo, uint32_t colour)
{
    cairo_set_source_rgba(cairo, (colour >> 16 & 0xff) / 255.0,
                          (colour >> 8 & 0xff) / 255.0, (colour & 0xff) / 255.0,
                          (colour >> 24) / 255.0);
}

static void points_path(cairo_t *cairo, const struct omo_mark *mark)
{
    for (size_t i = 0; i < mark->count; i++)
        cairo_line_to(cairo, mark->points[i].x, mark->points[i].y);
}

static void arc_path(cairo_t *cairo, const struct omo_mark *mark)
{
    double from = mark->from_deg * G_PI / 180, to = from + mark->sweep_deg * G_PI / 180;
    if (mark->sweep_deg >= 0)
        cairo_arc(cairo, mark->at.x, mark->at.y, mark->radius, from, to);
    else
        cairo_arc_negative(cairo, mark->at.x, mark->at.y, mark->radius, from, to);
}

/** The text's outlines as the current path; or the words themselves. */
static void place_text(cairo_t *cairo, const struct omo_mark *mark, bool words)
{
    PangoLayout *layout = pango_cairo_create_layout(cairo);
    PangoFontDescription *font = pango_font_description_from_string(font_family);
    pango_font_description_set_absolute_size(font, mark->size * PANGO_SCALE);
    if (mark->bold)
        pango_font_description_set_weight(font, PANGO_WEIGHT_BOLD);
    pango_layout_set_font_description(layout, font);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    pango_layout_set_text(layout, mark->text != NULL ? mark->text : "", -1);

    PangoRectangle extent;
    pango_layout_get_extents(layout, NULL, &extent);
    double width = (double)extent.width / PANGO_SCALE;
    double baseline = (double)pango_layout_get_baseline(layout) / PANGO_SCALE;
    double left = mark->anchor == OMO_ANCHOR_START    ? 0
                  : mark->anchor == OMO_ANCHOR_MIDDLE ? width / 2
                                                      : width;
    cairo_move_to(cairo, mark->at.x - left, mark->at.y - baseline);
    if (words)
        pango_cairo_show_layout(cairo, layout);
    else
        pango_cairo_layout_path(cairo, layout);
    pango_font_description_free(font);
    g_object_unref(layout);
}

/** Strokes the current path: the edge below, the colour on top. */
static void stroke(cairo_t *cairo, const struct omo_mark *mark)
{
    if (mark->edge_width > 0) {
        set_colour(cairo, mark->edge);
        cairo_set_line_width(cairo, mark->width + 2 * mark->edge_width);
        cairo_stroke_preserve(cairo);
    }
    if (mark->dash > 0)
        cairo_set_dash(cairo, &mark->dash, 1, 0);
    set_colour(cairo, mark->colour);
    cairo_set_line_width(cairo, mark->width);
    cairo_stroke(cairo);
    cairo_set_dash(cairo, NULL, 0, 0);
}

/** Fills the current path; the edge is stroked below it. */
static void fill(cairo_t *cairo, const struct omo_mark *mark)
{
    if (mark->edge_width > 0) {
        set_colour(cairo, mark->edge);
        cairo_set_line_width(cairo, 2 * mark->edge_width);
        cairo_stroke_preserve(cairo);
    }
    set_colour(cairo, mark->colour);
    cairo_fill(cairo);
}

static void draw_text(cairo_t *cairo, const struct omo_mark *mark)
{
    cairo_surface_type_t type = cairo_surface_get_type(cairo_get_target(cairo));
    bool words = type != CAIRO_SURFACE_TYPE_IMAGE;
    if (!words || mark->edge_width > 0) {
        place_text(cairo, mark, false);
        fill(cairo, mark);
    }
    if (words) {
        set_colour(cairo, mark->colour);
        place_text(cairo, mark, true);
        cairo_new_path(cairo);
    }
}

static void draw(cairo_t *cairo, const struct omo_mark *mark)
{
    cairo_new_path(cairo);
    switch (mark->kind) {
    case OMO_MARK_LINE:
        points_path(cairo, mark);
        stroke(cairo, mark);
        break;
    case OMO_MARK_RING:
        cairo_arc(cairo, mark->at.x, mark->at.y, mark->radius, 0, 2 * G_PI);
        cairo_close_path(cairo);
        stroke(cairo, mark);
        break;
    case OMO_MARK_ARC:
        arc_path(cairo, mark);
        stroke(cairo, mark);
        break;
    case OMO_MARK_SHAPE:
        points_path(cairo, mark);
        cairo_close_path(cairo);
        fill(cairo, mark);
        break;
    case OMO_MARK_TEXT:
        draw_text(cairo, mark);
        break;
    }
}

void omo_steady_fonts(cairo_t *cairo)
{
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_set_font_options(cairo, options);
    cairo_font_options_destroy(options);
}

void omo_figure_draw(const struct omo_figure *figure, cairo_t *cairo)
{
    cairo_save(cairo);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_ROUND);
    for (size_t i = 0; i < omo_figure_count(figure); i++)
        draw(cairo, omo_figure_at(figure, i));
    cairo_restore(cairo);
}

enum omo_status omo_figure_paint(const struct omo_figure *figure, uint32_t *pixels,
                                 int width, int height, int stride_pixels)
{
    if (pixels == NULL || width < 1 || height < 1 || stride_pixels < width)
        return OMO_ERR_ARG;
    cairo_surface_t *surface =
        cairo_image_surface_create_for_data((unsigned char *)pixels, CAIRO_FORMAT_RGB24,
                                            width, height, stride_pixels * 4);
    cairo_t *cairo = cairo_create(surface);
    omo_steady_fonts(cairo);
    // cairo counts from the corner of the first pixel, a figure from its centre.
    cairo_translate(cairo, 0.5, 0.5);
    omo_figure_draw(figure, cairo);
    cairo_surface_flush(surface);

    enum omo_status status = OMO_OK;
    if (cairo_status(cairo) != CAIRO_STATUS_SUCCESS) {
        omo_error("a picture of %d x %d could not be drawn: %s", width, height,
                  cairo_status_to_string(cairo_status(cairo)));
        status = OMO_ERR_MEMORY;
    }
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    return status;
}
