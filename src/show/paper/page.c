#include "show/paper/page.h"

#include <glib.h>
#include <pango/pangocairo.h>
#include <stdio.h>
#include <string.h>

#include "omogon/words.h"

static const char font_family[] = "DejaVu Sans, sans-serif";

double omo_page_mm(double mm)
{
    return mm * 72 / 25.4;
}

void omo_page_colour(cairo_t *cairo, uint32_t colour)
{
    cairo_set_source_rgb(cairo, (colour >> 16 & 0xff) / 255.0,
                         (colour >> 8 & 0xff) / 255.0, (colour & 0xff) / 255.0);
}

static PangoLayout *layout_of(cairo_t *cairo, double size, bool bold, const char *text)
{
    PangoLayout *layout = pango_cairo_create_layout(cairo);
    PangoFontDescription *font = pango_font_description_from_string(font_family);
    pango_font_description_set_absolute_size(font, size * PANGO_SCALE);
    if (bold)
        pango_font_description_set_weight(font, PANGO_WEIGHT_BOLD);
    /* Print is finer than the grid of points that glyphs are otherwise rounded to. */
    pango_context_set_round_glyph_positions(pango_layout_get_context(layout), FALSE);
    pango_layout_set_font_description(layout, font);
    pango_layout_set_text(layout, text, -1);
    pango_font_description_free(font);
    return layout;
}

/** An option of a command ("--person") that is broken over two lines cannot be typed in.
 */
static void keep_options_whole(PangoLayout *layout, const char *text)
{
    PangoAttrList *attributes = pango_attr_list_new();
    for (const char *at = strstr(text, "--"); at; at = strstr(at, "--")) {
        const char *end = at + strcspn(at, " \n");
        PangoAttribute *whole = pango_attr_allow_breaks_new(FALSE);
        whole->start_index = (guint)(at - text);
        whole->end_index = (guint)(end - text);
        pango_attr_list_insert(attributes, whole);
        at = end;
    }
    pango_layout_set_attributes(layout, attributes);
    pango_attr_list_unref(attributes);
}

static PangoLayout *paragraph(cairo_t *cairo, const struct omo_page_text *how,
                              const char *text, double *height)
{
    PangoLayout *layout = layout_of(cairo, how->size, how->bold, text);
    if (how->width > 0)
        pango_layout_set_width(layout, (int)(how->width * PANGO_SCALE));
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    keep_options_whole(layout, text);
    PangoRectangle extent;
    pango_layout_get_extents(layout, NULL, &extent);
    *height = (double)extent.height / PANGO_SCALE;
    return layout;
}

double omo_page_text(cairo_t *cairo, const struct omo_page_text *how, const char *text)
{
    double height;
    PangoLayout *layout = paragraph(cairo, how, text, &height);
    PangoRectangle extent;
    pango_layout_get_extents(layout, NULL, &extent);
    double left = how->middle ? (double)extent.width / PANGO_SCALE / 2 : 0;
    omo_page_colour(cairo, how->colour);
    cairo_move_to(cairo, how->x - left, how->y);
    pango_cairo_show_layout(cairo, layout);
    cairo_new_path(cairo); /* or the next arc would begin with a line from here */
    g_object_unref(layout);
    return height;
}

double omo_page_text_height(cairo_t *cairo, const struct omo_page_text *how,
                            const char *text)
{
    double height;
    g_object_unref(paragraph(cairo, how, text, &height));
    return height;
}

void omo_page_letter(cairo_t *cairo, double x, double y, double size, double turn_deg,
                     const char *letter)
{
    PangoLayout *layout = layout_of(cairo, size, true, letter);
    PangoRectangle ink;
    pango_layout_get_extents(layout, &ink, NULL);
    cairo_save(cairo);
    cairo_translate(cairo, x, y);
    cairo_rotate(cairo, turn_deg * G_PI / 180);
    cairo_set_source_rgb(cairo, 0, 0, 0);
    cairo_move_to(cairo, -(ink.x + ink.width / 2.0) / PANGO_SCALE,
                  -(ink.y + ink.height / 2.0) / PANGO_SCALE);
    pango_cairo_show_layout(cairo, layout);
    cairo_new_path(cairo);
    cairo_restore(cairo);
    g_object_unref(layout);
}

/* ---- the ruler ---- */

static void stroke_line(cairo_t *cairo, double x1, double y1, double x2, double y2,
                        double width)
{
    cairo_set_line_width(cairo, width);
    cairo_move_to(cairo, x1, y1);
    cairo_line_to(cairo, x2, y2);
    cairo_stroke(cairo);
}

double omo_page_ruler(cairo_t *cairo, double x, double y, double width)
{
    const double tall = omo_page_mm(4), line = omo_page_mm(0.4);
    cairo_save(cairo);
    cairo_set_source_rgb(cairo, 0, 0, 0);
    /* Butt caps and ticks that stand on the line: its ends are exactly the ends. */
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
    double number = omo_page_mm(2.6);
    double base = y + number * 1.3 + tall;
    stroke_line(cairo, x, base + line / 2, x + omo_page_mm(100), base + line / 2, line);
    for (int k = 0; k <= 100; k++) {
        double reach = k % 10 == 0 ? tall : k % 5 == 0 ? 0.7 * tall : 0.4 * tall;
        double at = x + omo_page_mm(k);
        stroke_line(cairo, at, base, at, base - reach, omo_page_mm(0.15));
        if (k % 10 == 0) {
            char text[16];
            snprintf(text, sizeof text, "%d", k);
            omo_page_text(
                cairo,
                &(struct omo_page_text){.x = at, .y = y, .size = number, .middle = true},
                text);
        }
    }
    cairo_restore(cairo);
    double below = base + line + omo_page_mm(1.2);
    double high = omo_page_text(
        cairo, &(struct omo_page_text){.x = x, .y = below, .width = width, .size = 9},
        omo_word(OMO_WORD("This line must be exactly 100 mm long; print at 100 %, not "
                          "fitted to the page.")));
    return below + high - y;
}
