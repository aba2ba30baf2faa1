/* A figure as the bytes of a file. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <cairo-pdf.h>
#include <cairo.h>
#include <glib.h>

#include "draw/cairo_writer.h"
#include "draw/svg_writer.h"
#include "omogon/draw.h"
#include "omogon/log.h"

/* A picture has so many pixels for one of the figure, to look good on any screen. */
#define PNG_SCALE 2
/* A figure's px in points: 96 to the inch as in CSS. */
#define POINTS_A_PX 0.75

static cairo_status_t take_bytes(void *array, const unsigned char *data,
                                 unsigned int length)
{
    g_byte_array_append(array, data, length);
    return CAIRO_STATUS_SUCCESS;
}

static cairo_status_t draw(const struct omo_figure *figure, cairo_surface_t *surface,
                           double scale)
{
    cairo_t *cairo = cairo_create(surface);
    omo_steady_fonts(cairo);
    cairo_set_source_rgb(cairo, 1, 1, 1);
    cairo_paint(cairo);
    cairo_scale(cairo, scale, scale);
    cairo_translate(cairo, 0.5, 0.5);
    omo_figure_draw(figure, cairo);
    cairo_show_page(cairo);
    cairo_status_t status = cairo_status(cairo);
    cairo_destroy(cairo);
    return status;
}

static cairo_status_t make_pdf(const struct omo_figure *figure, const char *title,
                               GByteArray *bytes)
{
    double width, height;
    omo_figure_size(figure, &width, &height);
    cairo_surface_t *surface =
        cairo_pdf_surface_create_for_stream(take_bytes, bytes, width * POINTS_A_PX,
                                            height * POINTS_A_PX);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "omogon");
    /* No date of making: the same figure is the same file. */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "");
    cairo_status_t status = draw(figure, surface, POINTS_A_PX);
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return status;
}

static cairo_status_t make_png(const struct omo_figure *figure, GByteArray *bytes)
{
    double width, height;
    omo_figure_size(figure, &width, &height);
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)ceil(width * PNG_SCALE),
                                   (int)ceil(height * PNG_SCALE));
    cairo_status_t status = draw(figure, surface, PNG_SCALE);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_write_to_png_stream(surface, take_bytes, bytes);
    cairo_surface_destroy(surface);
    return status;
}

bool omo_figure_kind_of(const char *path, enum omo_figure_kind *kind)
{
    static const char *const ends[] = {".svg", ".pdf", ".png"};
    g_autofree char *low = g_ascii_strdown(path, -1);
    for (size_t i = 0; i < G_N_ELEMENTS(ends); i++) {
        if (g_str_has_suffix(low, ends[i])) {
            *kind = (enum omo_figure_kind)i;
            return true;
        }
    }
    return false;
}

enum omo_status omo_figure_bytes(const struct omo_figure *figure,
                                 enum omo_figure_kind kind, const char *title,
                                 const char *description, char **bytes, size_t *size)
{
    if (kind == OMO_FIGURE_SVG) {
        GString *svg = g_string_new("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        omo_svg_add(svg, figure, "figure", title, description);
        *size = svg->len;
        *bytes = g_string_free(svg, FALSE);
        return OMO_OK;
    }
    GByteArray *made = g_byte_array_new();
    cairo_status_t status =
        kind == OMO_FIGURE_PDF ? make_pdf(figure, title, made) : make_png(figure, made);
    if (status != CAIRO_STATUS_SUCCESS) {
        omo_error("a figure could not be drawn: %s", cairo_status_to_string(status));
        g_byte_array_unref(made);
        return OMO_ERR_MEMORY;
    }
    *bytes = (char *)g_byte_array_steal(made, size);
    g_byte_array_unref(made);
    return OMO_OK;
}
