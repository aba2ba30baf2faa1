#include <math.h>
#include <pango/pangocairo.h>
#include <string.h>

#include "show/screen/screen_private.h"

/* Sizes are worked out from the glyphs of the font that is really there, at this em. */
#define PROBE_PX 1000
/* Lines stand a little closer than the font asks for. */
#define LINE_SPACING 0.96F
#define SHRINK       0.96

void omo_set_colour(cairo_t *cairo, uint32_t colour)
{
    cairo_set_source_rgba(cairo, ((colour >> 16) & 255) / 255.0,
                          ((colour >> 8) & 255) / 255.0, (colour & 255) / 255.0,
                          (colour >> 24) / 255.0);
}

static PangoLayout *new_layout(cairo_t *cairo, const char *text, double size_px,
                               bool bold)
{
    PangoLayout *layout = pango_cairo_create_layout(cairo);
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, "Sans");
    pango_font_description_set_weight(font,
                                      bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_absolute_size(font, size_px * PANGO_SCALE);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    /* Without hinting a size is the size asked for, whatever the display. */
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(pango_layout_get_context(layout), options);
    cairo_font_options_destroy(options);
    pango_layout_context_changed(layout);
    pango_layout_set_text(layout, text, -1);
    pango_layout_set_line_spacing(layout, LINE_SPACING);
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    return layout;
}

/** A context to measure with. */
static cairo_t *probe(void)
{
    static cairo_t *cairo;
    if (cairo == NULL) {
        cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
        cairo = cairo_create(surface);
        cairo_surface_destroy(surface);
    }
    return cairo;
}

static double ink_ratio(const char *text, bool bold)
{
    PangoLayout *layout = new_layout(probe(), text, PROBE_PX, bold);
    PangoRectangle ink;
    pango_layout_get_extents(layout, &ink, NULL);
    g_object_unref(layout);
    return (double)ink.height / PANGO_SCALE / PROBE_PX;
}

double omo_cap_ratio(void)
{
    static double ratio;
    if (!(ratio > 0))
        ratio = ink_ratio("H", false);
    return ratio;
}

double omo_figure_ratio(void)
{
    /* A 1 has no overshoot: the smallest figure counts. */
    static double ratio;
    if (!(ratio > 0))
        ratio = fmin(ink_ratio("1", false), ink_ratio("7", false));
    return ratio;
}

void omo_text_size(const char *text, double size_px, bool bold, int width_px, int *width,
                   int *height)
{
    PangoLayout *layout = new_layout(probe(), text, size_px, bold);
    if (width_px > 0)
        pango_layout_set_width(layout, width_px * PANGO_SCALE);
    int w, h;
    pango_layout_get_pixel_size(layout, &w, &h);
    g_object_unref(layout);
    if (width != NULL)
        *width = w;
    if (height != NULL)
        *height = h;
}

/** Whether a word had to be broken, which reads as cut. */
static bool breaks_a_word(PangoLayout *layout, const char *text)
{
    for (int i = 0; i + 1 < pango_layout_get_line_count(layout); i++) {
        PangoLayoutLine *line = pango_layout_get_line_readonly(layout, i);
        int end = line->start_index + line->length;
        if (text[end] == '\0' || end == 0)
            continue;
        if (text[end - 1] != ' ' && text[end - 1] != '-' && text[end] != ' ' &&
            text[end] != '\n' && text[end - 1] != '\n')
            return true;
    }
    return false;
}

void omo_text_draw(cairo_t *cairo, const SDL_Rect *box, const char *text,
                   const struct omo_ink *ink)
{
    int room = box->w - 2 * ink->pad_px;
    double size_px = ink->size_px;
    double least_px = size_px * (ink->smallest > 0 ? ink->smallest : 1);
    PangoLayout *layout = NULL;
    PangoRectangle drawn, box_of_lines;
    for (;;) {
        layout = new_layout(cairo, text, size_px, ink->bold);
        pango_layout_set_width(layout, room * PANGO_SCALE);
        pango_layout_set_alignment(layout, ink->align == OMO_ALIGN_LEFT ? PANGO_ALIGN_LEFT
                                           : ink->align == OMO_ALIGN_RIGHT
                                               ? PANGO_ALIGN_RIGHT
                                               : PANGO_ALIGN_CENTER);
        pango_layout_get_pixel_extents(layout, &drawn, &box_of_lines);
        bool fits = drawn.height + 2 <= box->h && drawn.width <= room &&
                    !breaks_a_word(layout, text);
        if (fits || size_px * SHRINK < least_px)
            break;
        size_px *= SHRINK;
        g_object_unref(layout);
    }
    /* The lines are centred as lines; where these are too tall, their ink is. */
    double y = (box->h - box_of_lines.height) / 2.0;
    if (y + drawn.y < 1 || y + drawn.y + drawn.height > box->h - 1)
        y = (box->h - drawn.height) / 2.0 - drawn.y;
    omo_set_colour(cairo, ink->colour);
    cairo_move_to(cairo, box->x + ink->pad_px, box->y + floor(y));
    pango_cairo_show_layout(cairo, layout);
    g_object_unref(layout);
}
