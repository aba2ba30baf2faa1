#include <math.h>
#include <stdio.h>

#include "omogon/words.h"
#include "show/screen/screen_private.h"

/*
 * The degree scale at the window's edge, from left to right: words of the notches, the
 * notches, a channel in which the pointer moves, ticks, figures.
 */

struct gauge {
    SDL_Rect at;
    struct omo_range range;
    double top_y, bottom_y; /**< of the range */
    int notch_x, channel_x, channel_w, tick_x, tick_w, figure_x;
};

static struct gauge lay(const struct omo_measure_layout *l, struct omo_range range)
{
    struct gauge g = {.at = l->gauge, .range = range};
    double unit = l->small_px;
    int figures = 0;
    omo_text_size("180", l->small_px, false, 0, &figures, NULL);
    g.figure_x = g.at.w - figures - (int)(unit * 0.5);
    g.tick_w = (int)(unit * 0.8);
    g.tick_x = g.figure_x - g.tick_w - (int)(unit * 0.3);
    g.channel_w = (int)(unit * 1.35);
    g.channel_x = g.tick_x - g.channel_w;
    g.notch_x = g.channel_x - (int)(unit * 0.9);
    g.top_y = g.at.y + unit;
    g.bottom_y = g.at.y + g.at.h - unit;
    return g;
}

/** Height in the window; beyond the ends, the end. */
static double y_of(const struct gauge *g, double angle_deg)
{
    double share =
        (angle_deg - g->range.low_deg) / (g->range.high_deg - g->range.low_deg);
    share = fmin(fmax(share, 0), 1);
    return g->bottom_y + (g->top_y - g->bottom_y) * share;
}

static void draw_scale(struct omo_screen *screen, const struct gauge *g)
{
    const struct omo_measure_layout *l = &screen->layout;
    uint64_t key = omo_hash(OMO_HASH_START, &g->range.low_deg, sizeof g->range.low_deg);
    key = omo_hash(key, &g->range.high_deg, sizeof g->range.high_deg);
    key = omo_hash(key, &l->small_px, sizeof l->small_px);
    struct omo_pen pen =
        omo_tile_begin(screen, &screen->gauge, g->at.w, g->at.h, key, OMO_GREY_PANEL);
    if (pen.cairo != NULL) {
        omo_set_colour(pen.cairo, OMO_GREY_FRAME);
        cairo_rectangle(pen.cairo, g->channel_x, 0, g->channel_w, g->at.h);
        cairo_fill(pen.cairo);
        double thin = fmax(1, floor(l->small_px / 12));
        int first = (int)ceil(g->range.low_deg / 10) * 10;
        for (int deg = first; deg <= g->range.high_deg; deg += 5) {
            bool long_one = deg % g->range.step_deg == 0;
            bool ten = deg % 10 == 0;
            double y = floor(y_of(g, deg) - g->at.y - thin / 2);
            double width = g->tick_w * (long_one ? 1 : ten ? 0.7 : 0.35);
            omo_set_colour(pen.cairo, long_one ? OMO_GREY_LIGHT : OMO_GREY_QUIET);
            cairo_rectangle(pen.cairo, g->tick_x, y, width, long_one ? thin + 1 : thin);
            cairo_fill(pen.cairo);
            if (!long_one)
                continue;
            char text[16];
            snprintf(text, sizeof text, "%d", deg);
            struct omo_ink ink = {.size_px = l->small_px,
                                  .colour = OMO_GREY_LIGHT,
                                  .align = OMO_ALIGN_LEFT};
            int half = (int)(l->small_px * 0.8);
            omo_text_draw(pen.cairo,
                          &(SDL_Rect){g->figure_x, (int)y - half, g->at.w - g->figure_x,
                                      2 * half},
                          text, &ink);
        }
        omo_tile_end(&screen->gauge, &pen);
    }
    omo_tile_show(screen, &screen->gauge, g->at.x, g->at.y);
}

/** In the channel from x on. */
static void draw_pointer(struct omo_screen *screen, const struct gauge *g, int x, int w,
                         const struct omo_live_view *view)
{
    if (!isfinite(view->angle_deg))
        return;
    double u = isfinite(view->angle_u95_deg) ? view->angle_u95_deg : 0;
    double middle = y_of(g, view->angle_deg);
    int top = (int)lround(y_of(g, view->angle_deg + u));
    int bottom = (int)lround(y_of(g, view->angle_deg - u));
    if (bottom < top + 1)
        bottom = top + 1;
    int line = (int)fmax(2, screen->layout.small_px / 7);
    SDL_Rect band = {g->at.x + x, top, w, bottom - top};
    omo_fill(screen, &band, OMO_ACCENT);
    /* The angle itself, across channel and, where that ends here, ticks. */
    bool ends = x + w == g->channel_x + g->channel_w;
    SDL_Rect needle = {g->at.x + x, (int)lround(middle) - line / 2,
                       w + (ends ? g->tick_w : 0), line};
    SDL_Rect edge = {needle.x, needle.y - 1, needle.w, needle.h + 2};
    omo_fill(screen, &edge, OMO_GREY_FRAME);
    omo_fill(screen, &needle, OMO_GREY_LIGHT);
}

/** Of both arms at once each has half of the channel, the one that is at the left in the
 *  window the left one. */
static void draw_pointers(struct omo_screen *screen, const struct gauge *g,
                          const struct omo_measure_page *page)
{
    if (page->other == NULL) {
        draw_pointer(screen, g, g->channel_x, g->channel_w, page->view);
        return;
    }
    const struct omo_measure_settings *s = page->settings;
    bool left = (s->side == OMO_RIGHT) != (s->from_behind != s->mirrored);
    if (page->mirror)
        left = !left;
    int half = g->channel_w / 2, middle = g->channel_x + half;
    draw_pointer(screen, g, g->channel_x, half - 1, left ? page->view : page->other);
    draw_pointer(screen, g, middle, g->channel_w - half, left ? page->other : page->view);
}

/** A notch beside the channel and its words, moved to label_y where two would collide. */
static void draw_notch(struct omo_screen *screen, const struct gauge *g,
                       struct omo_tile *tile, const char *text, double angle_deg,
                       double label_y, int label_h, bool filled)
{
    float tip_x = (float)(g->at.x + g->channel_x), y = (float)y_of(g, angle_deg);
    float back_x = (float)(g->at.x + g->notch_x);
    float half = (float)(screen->layout.small_px * 0.45);
    const SDL_FPoint corner[3] = {{tip_x, y}, {back_x, y - half}, {back_x, y + half}};
    omo_wedge(screen, corner, OMO_GREY_LIGHT);
    if (!filled) {
        /* Last time's is hollow. */
        const float in = half * 0.55F;
        const SDL_FPoint inner[3] = {{tip_x - half * 0.8F, y},
                                     {back_x + half * 0.35F, y - in},
                                     {back_x + half * 0.35F, y + in}};
        omo_wedge(screen, inner, OMO_GREY_PANEL);
    }
    SDL_Rect at = {g->at.x + 2, (int)lround(label_y - label_h / 2.0), g->notch_x - 4,
                   label_h};
    struct omo_ink ink = {.size_px = screen->layout.small_px,
                          .colour = OMO_GREY_LIGHT,
                          .ground = OMO_GREY_PANEL,
                          .align = OMO_ALIGN_RIGHT,
                          .pad_px = 2,
                          .smallest = 0.6};
    omo_text_tile(screen, tile, &at, text, &ink);
}

static const char *side_word(bool right)
{
    return right ? omo_word("right\nhighest") : omo_word("left\nhighest");
}

void omo_gauge_draw(struct omo_screen *screen, const struct omo_measure_page *page)
{
    struct gauge g = lay(&screen->layout, omo_range_of(page->settings));
    draw_scale(screen, &g);
    draw_pointers(screen, &g, page);

    int label_h = 0;
    bool both = page->other != NULL, right = page->settings->side == OMO_RIGHT;
    omo_text_size(both ? "Hg\nHg\nHg" : "Hg\nHg", screen->layout.small_px, false, 0, NULL,
                  &label_h);
    label_h += 2;
    double best = page->view->best_deg;
    double last = both ? page->other->best_deg : page->last_time_deg;
    double best_y = isfinite(best) ? y_of(&g, best) : (double)NAN;
    double last_y = isfinite(last) ? y_of(&g, last) : (double)NAN;
    if (isfinite(best_y) && isfinite(last_y) && fabs(best_y - last_y) < label_h + 2) {
        double middle = (best_y + last_y) / 2, apart = (label_h + 2) / 2.0;
        double up = best >= last ? -1 : 1;
        best_y = middle + up * apart;
        last_y = middle - up * apart;
    }
    /* Both stay on the panel, and apart. */
    double low = g.at.y + label_h / 2.0 + 2, high = g.at.y + g.at.h - label_h / 2.0 - 2;
    double shift =
        fmax(fmax(low - fmin(best_y, last_y), 0), 0); /* fmin() passes over a NAN */
    double back = fmax(fmax(best_y, last_y) - high, 0);
    best_y += shift - back;
    last_y += shift - back;
    char text[96];
    if (isfinite(best)) {
        snprintf(text, sizeof text, "%s\n%ld°",
                 both ? side_word(right) : omo_word("highest"), lround(best));
        draw_notch(screen, &g, &screen->gauge_best, text, best, best_y, label_h, true);
    }
    if (isfinite(last)) {
        snprintf(text, sizeof text, "%s\n%ld°",
                 both ? side_word(!right) : omo_word("last time"), lround(last));
        draw_notch(screen, &g, &screen->gauge_last, text, last, last_y, label_h, both);
    }
}
