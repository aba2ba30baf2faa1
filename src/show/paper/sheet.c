/* Pages of stickers. The coloured disc is plain; a dark rim parts it from skin, and the
 * letters stand outside the rim, four times round. Everything around the colour has a
 * fourfold turn and no colour of its own, so the centre that is found stays in place: off
 * by 0.035 px at most with a disc of 20 px on skin, where a white tab on one side makes
 * it 0.09 px (tests/test_stickers.py holds the first to 0.1). Nothing is printed on the
 * colour, because its middle is where a person points to teach it. */
#include "show/paper/sheet.h"

#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "omogon/picture.h"
#include "omogon/placement.h"
#include "omogon/words.h"
#include "show/paper/bench.h"
#include "show/paper/page.h"

static const double margin_mm = 8, rim_mm = 1.4, ring_mm = 4.6, gap_mm = 1.5;
static const double top_mm = 33, bottom_mm = 25, tab_mm = 18;
/** One shoulder's set twice, and this many to spare. */
static const int discs_spare = 2;
/** Strips: an arm is thicker round than a page is long, so two for each place on it. */
static const enum omo_role strips[] = {OMO_SHOULDER, OMO_SHOULDER, OMO_ELBOW, OMO_ELBOW,
                                       OMO_WRIST};
static const int strip_count = G_N_ELEMENTS(strips);

void omo_sheet_page_size(const struct omo_sheet_settings *settings, double *width,
                         double *height)
{
    *width = settings->us_letter ? 8.5 * 72 : omo_page_mm(210);
    *height = settings->us_letter ? 11 * 72 : omo_page_mm(297);
}

uint32_t omo_sheet_colour(const struct omo_marker_set *set, enum omo_role role)
{
    const struct omo_set_entry *found = NULL;
    for (int i = 0; i < set->count; i++)
        if (!strcmp(set->entry[i].name, omo_role_name(role)))
            found = &set->entry[i];
    if (!found)
        return role == OMO_CHEST ? omo_sheet_colour(set, OMO_HIP) : 0;
    /* A set learnt without luma: a middle one, so that neither end clips much. */
    const double ycbcr[3] = {isnan(found->luma) ? 110 : found->luma, found->cb,
                             found->cr};
    double rgb[3];
    omo_ycbcr_to_srgb(ycbcr, rgb);
    uint32_t colour = 0xff;
    for (int i = 0; i < 3; i++)
        colour = colour << 8 | (uint32_t)lround(fmin(fmax(rgb[i], 0), 255));
    return colour;
}

/** The acromion's sticker is printed where the set has one. */
static bool has_acromion(const struct omo_sheet_settings *s)
{
    return omo_sheet_colour(s->set, OMO_ACROMION) != 0;
}

/* ---- how many fit ---- */

struct grid {
    double pitch; /**< mm from one sticker to the next */
    int columns, rows;
    double left, top; /**< mm: of the first cell */
};

static struct grid grid_of(const struct omo_sheet_settings *s)
{
    double width, height;
    omo_sheet_page_size(s, &width, &height);
    width /= omo_page_mm(1);
    height /= omo_page_mm(1);
    struct grid g = {.pitch = s->size_mm + 2 * (rim_mm + ring_mm) + gap_mm};
    double high = height - top_mm - bottom_mm;
    g.columns = (int)floor((width - 2 * margin_mm + gap_mm) / g.pitch);
    g.rows = (int)floor((high + gap_mm) / g.pitch);
    g.left = (width - g.columns * g.pitch + gap_mm) / 2;
    g.top = top_mm;
    return g;
}

static int sticker_pages(const struct omo_sheet_settings *s)
{
    struct grid g = grid_of(s);
    if (!s->bands) {
        int least = 2 * (OMO_ACROMION + has_acromion(s)) + discs_spare;
        return (least + g.columns * g.rows - 1) / (g.columns * g.rows);
    }
    /* Strips by columns; the trunk's discs need one column more. */
    return (strip_count + 1 + g.columns - 1) / g.columns;
}

int omo_sheet_pages(const struct omo_sheet_settings *settings)
{
    return settings->bench ? OMO_BENCH_PAGES : sticker_pages(settings) + 2;
}

/* ---- stickers ---- */

static void cut_line(cairo_t *cairo)
{
    const double dash[] = {omo_page_mm(1.6), omo_page_mm(1.2)};
    cairo_save(cairo);
    cairo_set_dash(cairo, dash, 2, 0);
    cairo_set_source_rgb(cairo, 0.45, 0.45, 0.45);
    cairo_set_line_width(cairo, omo_page_mm(0.2));
    cairo_stroke(cairo);
    cairo_restore(cairo);
}

static void draw_disc(cairo_t *cairo, const struct omo_sheet_settings *s, double x,
                      double y, enum omo_role role)
{
    double radius = omo_page_mm(s->size_mm / 2), rim = omo_page_mm(rim_mm);
    double ring = omo_page_mm(ring_mm);
    /* The rim lies wholly outside the colour, which so has the size asked for. */
    cairo_set_source_rgb(cairo, 0, 0, 0);
    cairo_arc(cairo, x, y, radius + rim, 0, 2 * G_PI);
    cairo_fill(cairo);
    omo_page_colour(cairo, omo_sheet_colour(s->set, role));
    cairo_arc(cairo, x, y, radius, 0, 2 * G_PI);
    cairo_fill(cairo);
    double middle = radius + rim + 0.48 * ring;
    for (int k = 0; k < 4; k++)
        omo_page_letter(cairo, x + middle * sin(k * G_PI / 2),
                        y - middle * cos(k * G_PI / 2), omo_page_mm(4.4), 90 * k,
                        omo_placement_letter(role));
    cairo_arc(cairo, x, y, radius + rim + ring, 0, 2 * G_PI);
    cut_line(cairo);
}

/** A strip that goes round a limb: colour between two rims, letters outside them, a white
 *  tab at the lower end. */
static void draw_strip(cairo_t *cairo, const struct omo_sheet_settings *s, double x,
                       double top, double bottom, enum omo_role role)
{
    double half = omo_page_mm(s->size_mm / 2), rim = omo_page_mm(rim_mm);
    double ring = omo_page_mm(ring_mm), tab = omo_page_mm(tab_mm);
    double high = bottom - tab - top;
    cairo_set_source_rgb(cairo, 0, 0, 0);
    cairo_rectangle(cairo, x - half - rim, top, 2 * (half + rim), high);
    cairo_fill(cairo);
    omo_page_colour(cairo, omo_sheet_colour(s->set, role));
    cairo_rectangle(cairo, x - half, top, 2 * half, high);
    cairo_fill(cairo);
    int letters = (int)fmax(2, round(high / omo_page_mm(40)));
    for (int k = 0; k < letters; k++) {
        double y = top + (k + 0.5) * high / letters;
        omo_page_letter(cairo, x - half - rim - 0.48 * ring, y, omo_page_mm(4.4), -90,
                        omo_placement_letter(role));
        omo_page_letter(cairo, x + half + rim + 0.48 * ring, y, omo_page_mm(4.4), 90,
                        omo_placement_letter(role));
    }
    omo_page_letter(cairo, x - half * 0.7, bottom - tab / 2, omo_page_mm(6), 0,
                    omo_placement_letter(role));
    omo_page_text(cairo,
                  &(struct omo_page_text){.x = x - half * 0.45,
                                          .y = bottom - tab * 0.72,
                                          .width = 1.4 * half,
                                          .size = 7},
                  omo_word(OMO_WORD("tab: the other end is stuck on here")));
    cairo_rectangle(cairo, x - half - rim - ring, top, 2 * (half + rim + ring),
                    bottom - top);
    cut_line(cairo);
}

static void draw_discs(cairo_t *cairo, const struct omo_sheet_settings *s,
                       const struct grid *g, int first)
{
    static const enum omo_role order[] = {OMO_SHOULDER, OMO_ELBOW, OMO_WRIST,
                                          OMO_HIP,      OMO_CHEST, OMO_ACROMION};
    const int roles = OMO_ACROMION + has_acromion(s);
    double half = (g->pitch - gap_mm) / 2;
    for (int i = 0; i < g->columns * g->rows; i++) {
        double x = g->left + half + (i % g->columns) * g->pitch;
        double y = g->top + half + (i / g->columns) * g->pitch;
        draw_disc(cairo, s, omo_page_mm(x), omo_page_mm(y), order[(first + i) % roles]);
    }
}

static void draw_strips(cairo_t *cairo, const struct omo_sheet_settings *s,
                        const struct grid *g, int page)
{
    double height, width, half = (g->pitch - gap_mm) / 2;
    omo_sheet_page_size(s, &width, &height);
    static const enum omo_role order[] = {OMO_HIP, OMO_CHEST, OMO_ACROMION};
    const int roles = 2 + has_acromion(s);
    int disc = 0;
    for (int column = 0; column < g->columns; column++) {
        int strip = page * g->columns + column;
        double x = omo_page_mm(g->left + half + column * g->pitch);
        if (strip < strip_count) {
            draw_strip(cairo, s, x, omo_page_mm(g->top), height - omo_page_mm(bottom_mm),
                       strips[strip]);
            continue;
        }
        for (int row = 0; row < g->rows; row++)
            draw_disc(cairo, s, x, omo_page_mm(g->top + half + row * g->pitch),
                      order[disc++ % roles]);
    }
}

/* ---- the page around them ---- */

static void draw_head(cairo_t *cairo, const struct omo_sheet_settings *s, double width)
{
    char title[160], size[16];
    double left = omo_page_mm(margin_mm + 4), y = omo_page_mm(9);
    double wide = width - 2 * left;
    snprintf(size, sizeof size, "%g", s->size_mm);
    snprintf(title, sizeof title,
             s->bands ? omo_word(OMO_WORD("Bands %s mm wide, and stickers for the trunk"))
                      : omo_word(OMO_WORD("Stickers, %s mm across")),
             size);
    y += omo_page_text(
        cairo, &(struct omo_page_text){.x = left, .y = y, .size = 14, .bold = true},
        title);
    char letters[200] = "";
    for (int i = 0; i < OMO_ACROMION + has_acromion(s); i++) {
        static const char *const names[OMO_ROLE_COUNT] = {
            OMO_WORD("shoulder"), OMO_WORD("elbow"), OMO_WORD("wrist"),
            OMO_WORD("hip"),      OMO_WORD("chest"), OMO_WORD("acromion")};
        size_t used = strlen(letters);
        snprintf(letters + used, sizeof letters - used, "%s%s %s", i ? "    " : "",
                 omo_placement_letter((enum omo_role)i), omo_word(names[i]));
    }
    y += omo_page_text(
        cairo, &(struct omo_page_text){.x = left, .y = y, .size = 10, .bold = true},
        letters);
    const char *advice =
        s->bands
            ? omo_word(OMO_WORD(
                  "Print in colour on matt paper. Cut along the dashed lines. Round a "
                  "thick "
                  "arm, join two strips of one letter at the tab. Close with tape, loose "
                  "enough for a finger below."))
            : omo_word(OMO_WORD(
                  "Print in colour on matt sticker paper; shiny paper mirrors lamps. Cut "
                  "along the dashed circles: a rough cut does no harm, since only the "
                  "colour inside the black rim is measured."));
    omo_page_text(
        cairo, &(struct omo_page_text){.x = left, .y = y + 1, .width = wide, .size = 9},
        advice);
}

enum omo_status omo_sheet_draw(const struct omo_sheet_settings *settings, int page,
                               cairo_t *cairo)
{
    double width, height;
    if (settings->bench)
        return omo_bench_draw(settings, page, cairo);
    int stickers = sticker_pages(settings);
    omo_sheet_page_size(settings, &width, &height);
    if (page == stickers)
        return omo_sheet_draw_places(settings, cairo);
    if (page == stickers + 1)
        return omo_sheet_draw_order(settings, cairo);
    if (page < 0 || page > stickers + 1)
        return OMO_ERR_ARG;

    struct grid g = grid_of(settings);
    draw_head(cairo, settings, width);
    if (settings->bands)
        draw_strips(cairo, settings, &g, page);
    else
        draw_discs(cairo, settings, &g, page * g.columns * g.rows);
    double left = omo_page_mm(margin_mm + 4);
    omo_page_ruler(cairo, left, height - omo_page_mm(bottom_mm - 4), width - 2 * left);
    return OMO_OK;
}
