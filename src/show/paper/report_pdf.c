/* A report as one A4 page, with cairo and pango. */
#include <cairo-pdf.h>
#include <math.h>

#include "draw/cairo_writer.h"
#include "omogon/log.h"
#include "show/paper/page.h"
#include "show/paper/pdf_words.h"
#include "show/paper/report.h"

#define QUIET 0x4a4a4a

/* Points. Text is made a little smaller before the figures are, down to what still reads
   on paper, and only then both. */
static const double page_width = 595.276, page_height = 841.89, margin = 34;
static const double sizes[] = {8, 7.5, 7, 6.5, 6};
static const double figure_least[] = {140, 110, 80}, figure_most = 160;

/** A page while it is laid out; drawn only when `draw`. */
struct sheet {
    cairo_t *cairo;
    const struct omo_report *report;
    double size; /* of text */
    double figure_height;
    bool draw;
};

/** A paragraph with its tag; returns its height. */
static double text(const struct sheet *s, const char *tag, double x, double y,
                   double width, double size, bool bold, uint32_t colour,
                   const char *words)
{
    struct omo_page_text how = {
        .x = x, .y = y, .width = width, .size = size, .bold = bold, .colour = colour};
    if (!s->draw)
        return omo_page_text_height(s->cairo, &how, words);
    cairo_tag_begin(s->cairo, tag, NULL);
    double height = omo_page_text(s->cairo, &how, words);
    cairo_tag_end(s->cairo, tag);
    return height;
}

static void rule(const struct sheet *s, double y, double width)
{
    if (!s->draw)
        return;
    omo_page_colour(s->cairo, QUIET);
    cairo_set_line_width(s->cairo, width);
    cairo_move_to(s->cairo, margin, y);
    cairo_line_to(s->cairo, page_width - margin, y);
    cairo_stroke(s->cairo);
}

static void tag(const struct sheet *s, const char *name, bool begin)
{
    if (!s->draw)
        return;
    if (begin)
        cairo_tag_begin(s->cairo, name, NULL);
    else
        cairo_tag_end(s->cairo, name);
}

/* ---- the table ----------------------------------------------------------------------
 */

/* Shares of the page's width; the first and the last column hold sentences. */
static const double shares[OMO_REPORT_COLUMNS] = {0.25, 0.06, 0.075, 0.105, 0.085,
                                                  0.07, 0.08, 0.075, 0.20};

/* Larger, "stopped" and "degrees" would be broken in their columns. */
static const double head_most = 7;

static double row(const struct sheet *s, char *const *cells, double y, bool head)
{
    double x = margin, wide = page_width - 2 * margin, tall = 0;
    tag(s, "TR", true);
    for (int i = 0; i < OMO_REPORT_COLUMNS; i++) {
        double height = text(s, head || i == 0 ? "TH" : "TD", x, y, shares[i] * wide - 5,
                             head ? fmin(s->size, head_most) : s->size, head, 0,
                             cells[i] ? cells[i] : "");
        tall = fmax(tall, height);
        x += shares[i] * wide;
    }
    tag(s, "TR", false);
    rule(s, y + tall + 1.5, head ? 0.8 : 0.3);
    return tall + 3.5;
}

static double table(const struct sheet *s, double y)
{
    const struct omo_report *r = s->report;
    double wide = page_width - 2 * margin, top = y;
    y += text(s, "H2", margin, y, wide, s->size * 1.2, true, 0, r->table_title) + 2;
    tag(s, "Table", true);
    y += row(s, r->head, y, true);
    for (guint k = 0; k < r->rows->len; k++)
        y += row(s, g_ptr_array_index(r->rows, k), y, false);
    tag(s, "Table", false);
    return y + 4 - top;
}

/* ---- figures ------------------------------------------------------------------------
 */

/** The JPEG goes into the file as it is; the surface only tells its size. */
static void draw_picture(cairo_t *cairo, const struct omo_report_figure *f)
{
    cairo_surface_t *picture =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)f->width, (int)f->height);
    cairo_surface_set_mime_data(picture, CAIRO_MIME_TYPE_JPEG, f->jpeg, f->jpeg_size,
                                NULL, NULL);
    cairo_set_source_surface(cairo, picture, 0, 0);
    cairo_paint(cairo);
    cairo_surface_destroy(picture);
}

static double figures(const struct sheet *s, double y)
{
    const struct omo_report *r = s->report;
    double half = (page_width - 2 * margin - 12) / 2, top = y, tall = 0;
    for (int i = 0; i < r->figures; i++) {
        const struct omo_report_figure *f = &r->figure[i];
        double x = margin + (i % 2) * (half + 12);
        double scale = fmin(half / f->width, s->figure_height / f->height);
        if (s->draw) {
            cairo_tag_begin(s->cairo, "Figure", NULL);
            cairo_save(s->cairo);
            cairo_translate(s->cairo, x, y);
            cairo_scale(s->cairo, scale, scale);
            if (f->figure)
                omo_figure_draw(f->figure, s->cairo);
            else
                draw_picture(s->cairo, f);
            cairo_restore(s->cairo);
            cairo_tag_end(s->cairo, "Figure");
        }
        double words = text(s, "Caption", x, y + scale * f->height + 1, half,
                            s->size * 0.9, false, QUIET, f->text);
        tall = fmax(tall, scale * f->height + words + 5);
        if (i % 2 == 1 || i == r->figures - 1) {
            y += tall;
            tall = 0;
        }
    }
    return y - top;
}

/* ---- lists --------------------------------------------------------------------------
 */

static double list(const struct sheet *s, const struct omo_report_list *l, double x,
                   double y, double width)
{
    double top = y;
    y += text(s, "H2", x, y, width, s->size * 1.1, true, 0, l->title);
    for (guint k = 0; k < l->lines->len; k++)
        y +=
            text(s, "P", x, y, width, s->size, false, 0, g_ptr_array_index(l->lines, k)) +
            0.5;
    return y + 4 - top;
}

/** Two columns; each list goes where there is less so far. */
static double lists(const struct sheet *s, double y)
{
    const struct omo_report *r = s->report;
    double half = (page_width - 2 * margin - 12) / 2, end[2] = {y, y};
    for (int i = 0; i < r->lists; i++) {
        int column = end[1] < end[0] ? 1 : 0;
        end[column] +=
            list(s, &r->list[i], margin + column * (half + 12), end[column], half);
    }
    return fmax(end[0], end[1]) - y;
}

/** The whole page; returns where it ends. */
static double lay_out(const struct sheet *s)
{
    const struct omo_report *r = s->report;
    double wide = page_width - 2 * margin, y = margin;
    y += text(s, "H1", margin, y, wide, 15, true, 0, r->title);
    y += text(s, "P", margin, y, wide, s->size * 1.1, false, QUIET, r->subtitle) + 4;
    y += table(s, y);
    y += figures(s, y);
    y += lists(s, y);
    rule(s, y + 1, 1);
    y += 4;
    y += text(s, "P", margin, y, wide, fmax(s->size, 7.5), true, 0, r->disclaimer);
    return y;
}

/** The largest text and then the largest figures with which all is on the page. */
static bool fit(struct sheet *s)
{
    double room = page_height - margin;
    int rows = (s->report->figures + 1) / 2;
    for (size_t k = 0; k < G_N_ELEMENTS(figure_least); k++) {
        for (size_t i = 0; i < G_N_ELEMENTS(sizes); i++) {
            s->size = sizes[i];
            s->figure_height = figure_least[k];
            double end = lay_out(s);
            if (end > room)
                continue;
            if (rows > 0)
                s->figure_height =
                    fmin(figure_most, figure_least[k] + (room - end) / rows);
            return true;
        }
    }
    return false;
}

static cairo_status_t take_bytes(void *array, const unsigned char *data,
                                 unsigned int length)
{
    g_byte_array_append(array, data, length);
    return CAIRO_STATUS_SUCCESS;
}

enum omo_status omo_report_pdf(const struct omo_report *report, GByteArray **bytes)
{
    GByteArray *made = g_byte_array_new();
    cairo_surface_t *surface =
        cairo_pdf_surface_create_for_stream(take_bytes, made, page_width, page_height);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, report->title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_SUBJECT, report->subtitle);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "omogon");
    /* No date of making: the same report is the same file. */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "");
    struct sheet sheet = {.cairo = cairo_create(surface), .report = report};
    omo_steady_fonts(sheet.cairo);
    bool fits = fit(&sheet);
    if (fits) {
        sheet.draw = true;
        tag(&sheet, "Document", true);
        lay_out(&sheet);
        tag(&sheet, "Document", false);
        cairo_show_page(sheet.cairo);
    }
    cairo_status_t status = cairo_status(sheet.cairo);
    cairo_destroy(sheet.cairo);
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    if (fits && status == CAIRO_STATUS_SUCCESS) {
        const char *words[OMO_REPORT_FIGURES];
        for (int i = 0; i < report->figures; i++)
            words[i] = report->figure[i].text;
        /* Another version's layout is still a page to print. */
        (void)omo_pdf_add_words(made, report->language, words, report->figures);
        *bytes = made;
        return OMO_OK;
    }
    if (fits)
        omo_error("the report could not be drawn: %s", cairo_status_to_string(status));
    else
        omo_error("the report does not fit on one page; choose fewer sessions with "
                  "--since or --visit");
    g_byte_array_unref(made);
    return OMO_ERR_MEMORY;
}
