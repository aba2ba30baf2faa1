#include "show/paper/board.h"

#include <cairo-pdf.h>
#include <stdio.h>

#include "draw/cairo_writer.h"
#include "omogon/log.h"
#include "omogon/words.h"
#include "show/paper/page.h"

static cairo_status_t take_bytes(void *array, const unsigned char *data,
                                 unsigned int length)
{
    g_byte_array_append(array, data, length);
    return CAIRO_STATUS_SUCCESS;
}

/** Black squares, the upper left one among them, and nothing close around. */
static void draw_squares(cairo_t *cairo, double left, double top)
{
    double square = omo_page_mm(OMO_BOARD_SQUARE_MM);
    cairo_set_source_rgb(cairo, 0, 0, 0);
    for (int row = 0; row <= OMO_BOARD_ROWS; row++)
        for (int column = row % 2; column <= OMO_BOARD_COLUMNS; column += 2)
            cairo_rectangle(cairo, left + column * square, top + row * square, square,
                            square);
    cairo_fill(cairo);
}

static void draw_page(cairo_t *cairo, double width)
{
    double wide = omo_page_mm((OMO_BOARD_COLUMNS + 1) * OMO_BOARD_SQUARE_MM);
    double high = omo_page_mm((OMO_BOARD_ROWS + 1) * OMO_BOARD_SQUARE_MM);
    double left = (width - wide) / 2, top = omo_page_mm(22);
    char text[256];
    snprintf(text, sizeof text,
             omo_word("Board for \"omogon lens\": squares of %d mm. Glue it on something "
                      "flat and stiff; leave the white border."),
             OMO_BOARD_SQUARE_MM);
    omo_page_text(
        cairo,
        &(struct omo_page_text){.x = left, .y = omo_page_mm(9), .width = wide, .size = 8},
        text);
    draw_squares(cairo, left, top);
    double below = top + high + omo_page_mm(12);
    omo_page_ruler(cairo, left, below, wide);
}

enum omo_status omo_board_pdf(bool us_letter, GByteArray **out)
{
    double width = us_letter ? 11 * 72 : omo_page_mm(297);
    double height = us_letter ? 8.5 * 72 : omo_page_mm(210);
    GByteArray *bytes = g_byte_array_new();
    cairo_surface_t *surface =
        cairo_pdf_surface_create_for_stream(take_bytes, bytes, width, height);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE,
                                   omo_word("Board for omogon lens"));
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "omogon");
    /* No date of making: the same board is the same file. */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "");
    cairo_t *cairo = cairo_create(surface);
    omo_steady_fonts(cairo);
    draw_page(cairo, width);
    cairo_show_page(cairo);
    cairo_destroy(cairo);
    cairo_surface_finish(surface);
    cairo_status_t status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    if (status != CAIRO_STATUS_SUCCESS) {
        omo_error("the board could not be made: %s", cairo_status_to_string(status));
        g_byte_array_unref(bytes);
        return OMO_ERR_MEMORY;
    }
    *out = bytes;
    return OMO_OK;
}
