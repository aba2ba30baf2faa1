#include "show/paper/document.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <math.h>

#include "draw/cairo_writer.h"
#include "omogon/log.h"
#include "omogon/words.h"
#include "show/paper/page.h"

static const double png_dots_an_inch = 300;

static cairo_status_t take_bytes(void *array, const unsigned char *data,
                                 unsigned int length)
{
    g_byte_array_append(array, data, length);
    return CAIRO_STATUS_SUCCESS;
}

static enum omo_status draw_page(const struct omo_sheet_settings *settings, int page,
                                 cairo_surface_t *surface, double scale)
{
    cairo_t *cairo = cairo_create(surface);
    omo_steady_fonts(cairo);
    cairo_scale(cairo, scale, scale);
    enum omo_status status = omo_sheet_draw(settings, page, cairo);
    cairo_show_page(cairo);
    if (status == OMO_OK && cairo_status(cairo) != CAIRO_STATUS_SUCCESS) {
        omo_error("the sheet could not be drawn: %s",
                  cairo_status_to_string(cairo_status(cairo)));
        status = OMO_ERR_MEMORY;
    }
    cairo_destroy(cairo);
    return status;
}

static enum omo_status finish(cairo_surface_t *surface, enum omo_status status)
{
    cairo_surface_finish(surface);
    if (status == OMO_OK && cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS) {
        omo_error("the sheet could not be made: %s",
                  cairo_status_to_string(cairo_surface_status(surface)));
        status = OMO_ERR_MEMORY;
    }
    cairo_surface_destroy(surface);
    return status;
}

static enum omo_status make_pdf(const struct omo_sheet_settings *settings, double width,
                                double height, GByteArray *bytes)
{
    cairo_surface_t *surface =
        cairo_pdf_surface_create_for_stream(take_bytes, bytes, width, height);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE,
                                   settings->bench
                                       ? omo_word(OMO_WORD("Bench check for omogon"))
                                       : omo_word(OMO_WORD("Stickers for omogon")));
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "omogon");
    /* No date of making: the same sheet is the same file. */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "");
    enum omo_status status = OMO_OK;
    for (int page = 0; status == OMO_OK && page < omo_sheet_pages(settings); page++)
        status = draw_page(settings, page, surface, 1);
    return finish(surface, status);
}

static enum omo_status make_svg(const struct omo_sheet_settings *settings, int page,
                                double width, double height, GByteArray *bytes)
{
    cairo_surface_t *surface =
        cairo_svg_surface_create_for_stream(take_bytes, bytes, width, height);
    cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_PT);
    return finish(surface, draw_page(settings, page, surface, 1));
}

/* ---- PNG with its resolution ---- */

/** Check sum of a chunk (PNG specification, annex D). */
static guint32 check_sum(const guint8 *bytes, size_t count)
{
    guint32 sum = 0xffffffffu;
    for (size_t i = 0; i < count; i++) {
        sum ^= bytes[i];
        for (int k = 0; k < 8; k++)
            sum = sum & 1 ? 0xedb88320u ^ (sum >> 1) : sum >> 1;
    }
    return sum ^ 0xffffffffu;
}

static void put_number(guint8 *to, guint32 value)
{
    for (int i = 0; i < 4; i++)
        to[i] = (guint8)(value >> (24 - 8 * i));
}

/** cairo writes no resolution, without which nothing prints in true size: a pHYs chunk
 *  goes behind the header chunk, which is always 33 bytes from the start. */
static void state_resolution(GByteArray *bytes)
{
    const guint after_header = 33;
    guint8 chunk[21] = {0, 0, 0, 9, 'p', 'H', 'Y', 's'};
    guint32 dots_a_metre = (guint32)lround(png_dots_an_inch / 0.0254);
    put_number(chunk + 8, dots_a_metre);
    put_number(chunk + 12, dots_a_metre);
    chunk[16] = 1;
    put_number(chunk + 17, check_sum(chunk + 4, 13));
    if (bytes->len < after_header)
        return;
    guint rest = bytes->len - after_header;
    g_byte_array_set_size(bytes, bytes->len + sizeof chunk);
    memmove(bytes->data + after_header + sizeof chunk, bytes->data + after_header, rest);
    memcpy(bytes->data + after_header, chunk, sizeof chunk);
}

static enum omo_status make_png(const struct omo_sheet_settings *settings, int page,
                                double width, double height, GByteArray *bytes)
{
    double scale = png_dots_an_inch / 72;
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)lround(width * scale),
                                   (int)lround(height * scale));
    cairo_t *cairo = cairo_create(surface);
    cairo_set_source_rgb(cairo, 1, 1, 1);
    cairo_paint(cairo);
    cairo_destroy(cairo);
    enum omo_status status = draw_page(settings, page, surface, scale);
    if (status == OMO_OK &&
        cairo_surface_write_to_png_stream(surface, take_bytes, bytes) !=
            CAIRO_STATUS_SUCCESS) {
        omo_error("the picture of the sheet could not be made: no memory is left");
        status = OMO_ERR_MEMORY;
    }
    state_resolution(bytes);
    return finish(surface, status);
}

enum omo_status omo_sheet_bytes(const struct omo_sheet_settings *settings,
                                enum omo_paper_kind kind, int page, GByteArray **bytes)
{
    double width, height;
    omo_sheet_page_size(settings, &width, &height);
    GByteArray *made = g_byte_array_new();
    enum omo_status status = OMO_ERR_ARG;
    switch (kind) {
    case OMO_PAPER_PDF:
        status = make_pdf(settings, width, height, made);
        break;
    case OMO_PAPER_SVG:
        status = make_svg(settings, page, width, height, made);
        break;
    case OMO_PAPER_PNG:
        status = make_png(settings, page, width, height, made);
        break;
    }
    if (status == OMO_OK)
        *bytes = made;
    else
        g_byte_array_unref(made);
    return status;
}
