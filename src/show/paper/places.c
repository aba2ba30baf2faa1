/* Where the stickers go, the order, and what to mind. */
#include <glib.h>
#include <stdio.h>

#include "draw/cairo_writer.h"
#include "omogon/placement.h"
#include "omogon/words.h"
#include "show/paper/page.h"
#include "show/paper/sheet.h"

static const double left_mm = 12;

static struct omo_placement_settings figure_settings(const struct omo_sheet_settings *s,
                                                     enum omo_view view, double width,
                                                     double height)
{
    struct omo_placement_settings f = {.view = view,
                                       .side = s->side,
                                       .modest = s->modest,
                                       .width = width,
                                       .height = height,
                                       .bands = s->bands,
                                       .text_size = 8.5};
    for (int i = 0; i < OMO_ROLE_COUNT; i++)
        f.colour[i] = omo_sheet_colour(s->set, (enum omo_role)i);
    f.acromion = f.colour[OMO_ACROMION] != 0;
    return f;
}

/** A picture with its title above and its places in words beside it. */
static enum omo_status draw_view(const struct omo_sheet_settings *s, cairo_t *cairo,
                                 enum omo_view view, const char *title, const char *use,
                                 double y, double height)
{
    double page_width, page_height;
    omo_sheet_page_size(s, &page_width, &page_height);
    double left = omo_page_mm(left_mm), figure_width = omo_page_mm(118);
    double text_left = left + figure_width + omo_page_mm(5);
    double text_width = page_width - text_left - left;
    struct omo_placement_settings f = figure_settings(s, view, figure_width, height);
    struct omo_figure *figure = NULL;
    enum omo_status status = omo_placement_figure(&f, &figure, NULL);
    if (status != OMO_OK)
        return status;
    cairo_save(cairo);
    cairo_translate(cairo, left, y);
    omo_figure_draw(figure, cairo);
    cairo_restore(cairo);
    omo_figure_destroy(figure);

    struct omo_page_text how = {
        .x = text_left, .y = y + 4, .width = text_width, .size = 12, .bold = true};
    how.y += omo_page_text(cairo, &how, title) + 3;
    how.size = 9.5;
    how.bold = false;
    how.y += omo_page_text(cairo, &how, use) + 8;
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        const char *place = omo_placement_place(&f, (enum omo_role)i);
        if (place[0] == '\0')
            continue;
        how.bold = true;
        how.x = text_left;
        how.size = 11;
        omo_page_text(cairo, &how, omo_placement_letter((enum omo_role)i));
        how.bold = false;
        how.x = text_left + omo_page_mm(7);
        how.width = text_width - omo_page_mm(7);
        how.size = 10;
        how.y += omo_page_text(cairo, &how, place) + 5;
        how.width = text_width;
    }
    return OMO_OK;
}

/** A title for the whole page; returns its height. */
static double draw_title(const struct omo_sheet_settings *s, cairo_t *cairo,
                         const char *right, const char *left)
{
    struct omo_page_text how = {.x = omo_page_mm(left_mm),
                                .y = omo_page_mm(10),
                                .size = 15,
                                .bold = true};
    return how.y + omo_page_text(cairo, &how, s->side == OMO_RIGHT ? right : left);
}

enum omo_status omo_sheet_draw_places(const struct omo_sheet_settings *s, cairo_t *cairo)
{
    double width, height;
    omo_sheet_page_size(s, &width, &height);
    double y =
        draw_title(s, cairo, omo_word(OMO_WORD("Where the stickers go: your right side")),
                   omo_word(OMO_WORD("Where the stickers go: your left side")));
    y += omo_page_mm(4);
    /* The front is wider than high beside its names, the side higher than wide. */
    double room = height - y - omo_page_mm(12), front = 0.44 * room;
    enum omo_status status =
        draw_view(s, cairo, OMO_VIEW_FRONT, omo_word(OMO_WORD("Seen from the front")),
                  omo_word(OMO_WORD(
                      "For raising the arm sideways. Face the camera, palm forward.")),
                  y, front - omo_page_mm(6));
    if (status == OMO_OK)
        status =
            draw_view(s, cairo, OMO_VIEW_SIDE, omo_word(OMO_WORD("Seen from the side")),
                      omo_word(OMO_WORD(
                          "For raising the arm forward or backward. Turn this side to "
                          "the camera, palm to the body.")),
                      y + front, room - front);
    return status;
}

/** One order under its heading; returns its height. */
static double draw_steps(const struct omo_sheet_settings *s, cairo_t *cairo, bool stiff,
                         const char *title, double x, double y, double width)
{
    struct omo_placement_settings f = figure_settings(s, OMO_VIEW_SIDE, 100, 100);
    struct omo_placement_step step[OMO_PLACEMENT_STEPS];
    int count = omo_placement_steps(&f, stiff, step);
    struct omo_page_text how = {
        .x = x, .y = y, .width = width, .size = 11.5, .bold = true};
    how.y += omo_page_text(cairo, &how, title) + 5;
    for (int i = 0; i < count; i++) {
        char number[16];
        snprintf(number, sizeof number, "%d.", i + 1);
        how.x = x;
        how.bold = true;
        how.size = 10;
        omo_page_text(cairo, &how, number);
        how.bold = false;
        how.x = x + omo_page_mm(6);
        how.width = width - omo_page_mm(6);
        how.y += omo_page_text(cairo, &how, step[i].words) + 4;
        how.width = width;
    }
    return how.y - y;
}

enum omo_status omo_sheet_draw_order(const struct omo_sheet_settings *s, cairo_t *cairo)
{
    double width, height, left = omo_page_mm(left_mm), between = omo_page_mm(8);
    omo_sheet_page_size(s, &width, &height);
    double y = draw_title(s, cairo,
                          omo_word(OMO_WORD("Turning the arm, and the order: your right "
                                            "side")),
                          omo_word(OMO_WORD("Turning the arm, and the order: your left "
                                            "side"))) +
               omo_page_mm(4);
    enum omo_status status = draw_view(
        s, cairo, OMO_VIEW_ALONG_ARM, omo_word(OMO_WORD("Seen along the upper arm")),
        omo_word(OMO_WORD("For turning the arm outward or inward, elbow bent to a right "
                          "angle. The upper arm points at the camera.")),
        y, omo_page_mm(80));
    if (status != OMO_OK)
        return status;
    y += omo_page_mm(88);

    struct omo_page_text how = {.x = left, .y = y, .size = 13, .bold = true};
    how.y +=
        omo_page_text(cairo, &how, omo_word(OMO_WORD("Alone, with one stiff arm"))) + 3;
    how.size = 10;
    how.bold = false;
    how.width = width - 2 * left;
    how.y += omo_page_text(cairo, &how,
                           omo_word(OMO_WORD(
                               "The places are those seen from the side; from the front "
                               "the order is the same."))) +
             6;
    double column = (width - 2 * left - between) / 2;
    double first =
        draw_steps(s, cairo, true, omo_word(OMO_WORD("When this is the stiff side")),
                   left, how.y, column);
    double second =
        draw_steps(s, cairo, false, omo_word(OMO_WORD("When the other side is stiff")),
                   left + column + between, how.y, column);
    how.y += MAX(first, second) + 8;

    how.size = 13;
    how.bold = true;
    how.y += omo_page_text(cairo, &how, omo_word(OMO_WORD("Mind"))) + 3;
    how.bold = false;
    how.size = 10;
    for (int i = 0; omo_placement_caution(i); i++) {
        how.x = left;
        omo_page_text(cairo, &how, "•");
        how.x = left + omo_page_mm(4);
        how.width = width - 2 * left - omo_page_mm(4);
        how.y += omo_page_text(cairo, &how, omo_placement_caution(i)) + 3;
    }
    return OMO_OK;
}
