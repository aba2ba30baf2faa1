#include <math.h>
#include <stdio.h>

#include "omogon/text.h"
#include "omogon/words.h"
#include "show/screen/screen_private.h"

/* Both arms at once: a figure for each, the line it has in the chart, and how far the two
 * are apart now. */

void omo_apart_words(double first_deg, double other_deg, enum omo_side first, char *text,
                     size_t size)
{
    text[0] = '\0';
    if (!isfinite(first_deg) || !isfinite(other_deg))
        return;
    long apart = lround(first_deg) - lround(other_deg);
    bool left_lower = (first == OMO_RIGHT) == (apart > 0);
    if (apart == 0)
        omo_text_copy(text, size, omo_word("equally high"));
    else
        snprintf(text, size,
                 left_lower ? omo_word("left %ld° lower") : omo_word("right %ld° lower"),
                 labs(apart));
}

/** As its line in the chart: whole, or in dashes. */
static void draw_key(struct omo_screen *screen, const SDL_Rect *angle, bool dashed)
{
    double unit = screen->layout.small_px;
    int thick = (int)fmax(2, unit / 6);
    SDL_Rect piece = {angle->x, angle->y + angle->h - (int)(unit * 0.8),
                      (int)(unit * 1.8), thick};
    if (!dashed) {
        omo_fill(screen, &piece, OMO_ACCENT);
        return;
    }
    piece.w = (int)(unit * 0.45);
    for (int i = 0; i < 3; i++) {
        omo_fill(screen, &piece, OMO_GREY_LIGHT);
        piece.x += (int)(unit * 0.68);
    }
}

static void draw_arm(struct omo_screen *screen, const struct omo_live_view *view,
                     bool right, bool other)
{
    const struct omo_measure_layout *l = &screen->layout;
    bool known = isfinite(view->angle_deg);
    char text[64], words[96];
    struct omo_ink ink = {.size_px = l->digits_px,
                          .colour = OMO_GREY_LIGHT,
                          .ground = OMO_GREY_FRAME,
                          .align = OMO_ALIGN_RIGHT,
                          .pad_px = 2,
                          .smallest = 1};
    if (known)
        snprintf(text, sizeof text, "%ld", lround(view->angle_deg));
    else
        omo_text_copy(text, sizeof text, "\xe2\x80\x93"); /* a dash */
    omo_text_tile(screen, other ? &screen->other_angle : &screen->angle,
                  other ? &l->other_angle : &l->angle, text, &ink);
    if (known) {
        struct omo_ink degree = ink;
        degree.size_px *= 0.7;
        degree.align = OMO_ALIGN_LEFT;
        degree.pad_px = 0;
        omo_text_tile(screen, other ? &screen->other_degree : &screen->degree,
                      other ? &l->other_degree : &l->degree, "°", &degree);
    }
    omo_good_to_words(known ? view->angle_u95_deg : (double)NAN, text, sizeof text);
    if (!known)
        omo_text_copy(text, sizeof text, omo_word("no angle now"));
    snprintf(words, sizeof words, right ? omo_word("right: %s") : omo_word("left: %s"),
             text);
    ink.size_px = l->middle_px;
    ink.colour = OMO_GREY_QUIET;
    ink.smallest = 0.6;
    omo_text_tile(screen, other ? &screen->other_good_to : &screen->good_to,
                  other ? &l->other_good_to : &l->good_to, words, &ink);
}

void omo_both_angles_draw(struct omo_screen *screen, const struct omo_measure_page *page)
{
    const struct omo_measure_layout *l = &screen->layout;
    bool right = page->settings->side == OMO_RIGHT;
    char text[64];
    draw_arm(screen, page->view, right, false);
    draw_arm(screen, page->other, !right, true);
    draw_key(screen, &l->angle, false);
    draw_key(screen, &l->other_angle, true);
    omo_apart_words(page->view->angle_deg, page->other->angle_deg, page->settings->side,
                    text, sizeof text);
    struct omo_ink ink = {.size_px = l->middle_px * 1.4,
                          .bold = true,
                          .colour = OMO_GREY_LIGHT,
                          .ground = OMO_GREY_FRAME,
                          .align = OMO_ALIGN_RIGHT,
                          .pad_px = 2,
                          .smallest = 0.6};
    if (text[0] != '\0')
        omo_text_tile(screen, &screen->apart, &l->apart, text, &ink);
}
