#include <math.h>
#include <stdio.h>

#include "show/screen/screen_private.h"

/* Ticks of hike and lean: a level ruler with zero marked and a mark that moves along. */
#define HIKE_LOW   -0.1
#define HIKE_HIGH  0.3
#define HIKE_STEP  0.05
#define LEAN_MOST  20.0
#define LEAN_STEP  5.0
#define MARK_SHARE 0.36

static void draw_ruler(struct omo_screen *screen, struct omo_tile *tile,
                       const SDL_Rect *at, double low, double high, double step,
                       double value)
{
    const struct omo_measure_layout *l = &screen->layout;
    double inset = l->small_px * MARK_SHARE + 2;
    double left = inset, right = at->w - inset;
    uint64_t key = omo_hash(OMO_HASH_START, &l->small_px, sizeof l->small_px);
    struct omo_pen pen = omo_tile_begin(screen, tile, at->w, at->h, key, OMO_GREY_FRAME);
    if (pen.cairo != NULL) {
        double base = at->h - 2.0, thin = fmax(1, floor(l->small_px / 12));
        omo_set_colour(pen.cairo, OMO_GREY_LINE);
        cairo_rectangle(pen.cairo, left, base - thin, right - left, thin);
        cairo_fill(pen.cairo);
        int first = (int)lround(low / step), last = (int)lround(high / step);
        for (int i = first; i <= last; i++) {
            double x = left + (i * step - low) / (high - low) * (right - left);
            double tall = i == 0 ? l->small_px * 0.75 : l->small_px * 0.35;
            omo_set_colour(pen.cairo, i == 0 ? OMO_GREY_LIGHT : OMO_GREY_LINE);
            cairo_rectangle(pen.cairo, floor(x), base - tall, i == 0 ? thin + 1 : thin,
                            tall);
            cairo_fill(pen.cairo);
        }
        omo_tile_end(tile, &pen);
    }
    omo_tile_show(screen, tile, at->x, at->y);
    if (!isfinite(value))
        return;
    double share = fmin(fmax((value - low) / (high - low), 0), 1);
    float x = (float)(at->x + left + share * (right - left));
    float half = (float)(l->small_px * MARK_SHARE);
    float top = (float)(at->y + 1), tip = (float)(at->y + at->h - 3 - l->small_px * 0.35);
    const SDL_FPoint corner[3] = {{x - half, top}, {x + half, top}, {x, tip}};
    omo_wedge(screen, corner, OMO_GREY_LIGHT);
}

void omo_disturbances_draw(struct omo_screen *screen, const struct omo_measure_page *page)
{
    const struct omo_measure_layout *l = &screen->layout;
    const struct omo_live_view *view = page->view;
    struct omo_ink ink = {.size_px = l->middle_px,
                          .colour = OMO_GREY_LIGHT,
                          .ground = OMO_GREY_FRAME,
                          .align = OMO_ALIGN_LEFT,
                          .pad_px = 2,
                          .smallest = 0.7};
    char text[OMO_TEXT_MOST];
    omo_hike_words(view->hike_ratio, text, sizeof text);
    if (text[0] != '\0') {
        omo_text_tile(screen, &screen->hike, &l->hike, text, &ink);
        draw_ruler(screen, &screen->hike_ticks, &l->hike_ticks, HIKE_LOW, HIKE_HIGH,
                   HIKE_STEP, view->hike_ratio);
    }
    omo_lean_words(view->trunk_lean_deg, page->settings, text, sizeof text);
    if (text[0] != '\0') {
        omo_text_tile(screen, &screen->lean, &l->lean, text, &ink);
        draw_ruler(screen, &screen->lean_ticks, &l->lean_ticks, -LEAN_MOST, LEAN_MOST,
                   LEAN_STEP, view->trunk_lean_deg);
    }
}
