#include "app/view_page.h"

#include <glib.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/text.h"
#include "omogon/words.h"

#define STRIP_PX   120 /* of the trace beneath */
#define LINE_PX    28  /* of words beneath that */
#define LINES      3
#define SIDE_PX    10
#define LETTERS_PX 20
#define WIDTH_MIN  640 /* of a page whose picture is narrow: the words need it */
#define GROUND     0xff131517u
#define LINE       0xff9cc0d2u
#define QUIET      0xffc3c8ccu
#define LIGHT      0xfff4f4f2u

static double strip_x(const struct omo_view_page *page, size_t index, size_t count)
{
    return SIDE_PX +
           (page->width - 2.0 * SIDE_PX) * (double)index / (double)MAX(count - 1, 1);
}

size_t omo_view_page_row(const struct omo_view_page *page, double x, size_t count)
{
    double share = (x - SIDE_PX) / (page->width - 2.0 * SIDE_PX);
    return (size_t)lround(fmin(fmax(share, 0), 1) * (double)(count - 1));
}

bool omo_view_page_in_photo(const struct omo_view_page *page, double x, double y,
                            struct omo_point *out)
{
    double left = x - page->photo_left;
    *out = (struct omo_point){(left + 0.5) / page->factor - 0.5,
                              (y + 0.5) / page->factor - 0.5};
    return left >= 0 && left < page->photo_width && y >= 0 && y < page->photo_height;
}

static void add_line(struct omo_figure *figure, const struct omo_point *points,
                     size_t count, uint32_t colour)
{
    if (count > 1)
        omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                                  .points = points,
                                                  .count = count,
                                                  .width = 2,
                                                  .colour = colour});
}

/** The trace with gaps where there is no angle, and where one is. */
static void draw_strip(const struct omo_view_content *c, const struct omo_view_page *page,
                       struct omo_figure *figure)
{
    double low = INFINITY, high = -INFINITY;
    g_autofree struct omo_point *points = g_new(struct omo_point, c->count + 1);
    size_t count = 0;
    for (size_t i = 0; i < c->count; i++) {
        low = isfinite(c->rows[i].angle_deg) ? fmin(low, c->rows[i].angle_deg) : low;
        high = isfinite(c->rows[i].angle_deg) ? fmax(high, c->rows[i].angle_deg) : high;
    }
    double top = page->top, bottom = top + STRIP_PX - 4;
    double scale = (bottom - top - 8) / fmax(high - low, 1);
    for (size_t i = 0; i < c->count; i++) {
        double deg = c->rows[i].angle_deg;
        if (isfinite(deg)) {
            points[count++] = (struct omo_point){strip_x(page, i, c->count),
                                                 bottom - (deg - low) * scale};
        } else {
            add_line(figure, points, count, LINE);
            count = 0;
        }
    }
    add_line(figure, points, count, LINE);
    double x = strip_x(page, c->at, c->count);
    const struct omo_point here[] = {{x, top + 2}, {x, bottom}};
    add_line(figure, here, 2, LIGHT);
}

static void add_words(struct omo_figure *figure, const struct omo_view_page *page,
                      int line, const char *text)
{
    double y = page->height - (LINES - 1 - line) * LINE_PX - 8;
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                              .at = {SIDE_PX, y},
                                              .text = text,
                                              .size = LETTERS_PX,
                                              .colour = QUIET});
}

static void draw_words(const struct omo_view_content *c, const struct omo_view_page *page,
                       bool bare_head, struct omo_figure *figure)
{
    char text[200] = "";
    omo_text_add(text, sizeof text, omo_word("frame %lld, marker: %s (%s), placed: %u"),
                 (long long)c->rows[c->at].frame, omo_role_name(c->role),
                 c->marker->seen == OMO_PLACED_BY_HAND ? omo_word("by hand")
                 : c->marker->seen                     ? omo_word("seen")
                                                       : omo_word("not seen"),
                 c->placed);
    add_words(figure, page, 0, text);
    add_words(figure, page, 1,
              bare_head
                  ? omo_word("The head cannot be located here, so it is not covered.")
                  : omo_word("arrows: frame; 1-6: marker; click, Shift+arrows: place;"));
    add_words(figure, page, 2,
              c->said[0] ? c->said
                         : omo_word("Del: not there; M: as measured; U: undo; S: save"));
}

/** The photograph with what is measured; *bare when its head is to be seen although it
 *  should not. */
static enum omo_status paint_photo(const struct omo_view_content *c, bool *bare,
                                   uint32_t **photo, int *width, int *height)
{
    struct omo_result shown = *c->result;
    const struct omo_trace_row *row = &c->rows[c->at];
    char caption[120] = "", quality[100];
    omo_quality_text(row->quality, quality, sizeof quality);
    omo_text_add(caption, sizeof caption, "%s, %s; %s", c->movement, c->side, quality);
    shown.max_deg = row->angle_deg;
    shown.max_u95_deg = NAN;
    struct omo_still still = {.planes = &c->frame->planes,
                              .quarter_turns = c->frame->turned.quarter_turns,
                              .row = row,
                              .result = &shown,
                              .settings = c->settings,
                              .caption = caption,
                              .show_head = c->show_head};
    enum omo_status status = omo_still_paint(&still, photo, width, height);
    *bare = status == OMO_ERR_EMPTY;
    if (*bare) {
        /* Whoever corrects markers has to see where they are; that it is bare is said. */
        still.show_head = true;
        status = omo_still_paint(&still, photo, width, height);
    }
    return status;
}

static void lay_out(const struct omo_view_content *c, int width, int height,
                    struct omo_view_page *page)
{
    bool turned = (c->frame->turned.quarter_turns & 1) != 0;
    int across = turned ? c->frame->planes.height : c->frame->planes.width;
    int down = turned ? c->frame->planes.width : c->frame->planes.height;
    page->factor = MAX(width / across, 1);
    page->photo_width = width;
    page->photo_height = down * page->factor;
    page->top = height;
    page->width = MAX(width, WIDTH_MIN);
    page->photo_left = (page->width - width) / 2;
    page->height = height + STRIP_PX + LINES * LINE_PX;
}

static void copy_photo(const struct omo_view_page *page, const uint32_t *photo)
{
    for (int y = 0; y < page->height; y++) {
        uint32_t *row = page->pixels + (size_t)y * (size_t)page->width;
        for (int x = 0; x < page->width; x++)
            row[x] = GROUND;
        if (y < page->top)
            memcpy(row + page->photo_left, photo + (size_t)y * (size_t)page->photo_width,
                   (size_t)page->photo_width * sizeof *row);
    }
}

static void draw_choice(const struct omo_view_content *c,
                        const struct omo_view_page *page, struct omo_figure *figure)
{
    if (!c->marker->seen)
        return;
    struct omo_point at = {page->photo_left + (c->marker->x_px + 0.5) * page->factor -
                               0.5,
                           (c->marker->y_px + 0.5) * page->factor - 0.5};
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_RING,
                                              .at = at,
                                              .radius = 12.0 * page->factor,
                                              .width = 2,
                                              .dash = 6,
                                              .colour = LIGHT,
                                              .edge = GROUND,
                                              .edge_width = 1});
}

enum omo_status omo_view_page_paint(const struct omo_view_content *content,
                                    struct omo_view_page *page)
{
    uint32_t *photo = NULL;
    int width = 0, height = 0;
    bool bare = false;
    *page = (struct omo_view_page){.pixels = NULL};
    enum omo_status status = paint_photo(content, &bare, &photo, &width, &height);
    if (status != OMO_OK)
        return status;
    lay_out(content, width, height, page);
    page->pixels =
        malloc((size_t)page->width * (size_t)page->height * sizeof *page->pixels);
    struct omo_figure *figure = omo_figure_create(page->width, page->height);
    status = page->pixels && figure ? OMO_OK : OMO_ERR_MEMORY;
    if (status == OMO_OK) {
        copy_photo(page, photo);
        draw_choice(content, page, figure);
        draw_strip(content, page, figure);
        draw_words(content, page, bare, figure);
        status = omo_figure_paint(figure, page->pixels, page->width, page->height,
                                  page->width);
    }
    omo_figure_destroy(figure);
    free(photo);
    if (status != OMO_OK) {
        free(page->pixels);
        page->pixels = NULL;
    }
    return status;
}
