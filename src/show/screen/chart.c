#include <math.h>
#include <stdio.h>

#include "omogon/words.h"
#include "show/screen/screen_private.h"

#define CHART_S 20.0
/* Two samples further apart are not joined by a line. */
#define GAP_S 0.25

void omo_chart_add(struct omo_chart *chart, double time_s, double angle_deg,
                   double other_deg)
{
    if (!isfinite(time_s))
        return;
    if (chart->count > 0) {
        int last = (chart->first + chart->count - 1) % OMO_CHART_MOST;
        double before_s = chart->sample[last].time_s;
        if (time_s == before_s)
            return; /* the same frame drawn again */
        if (time_s < before_s)
            chart->count = 0; /* another movement */
    }
    while (chart->count > 0 && (chart->count == OMO_CHART_MOST ||
                                chart->sample[chart->first].time_s < time_s - CHART_S)) {
        chart->first = (chart->first + 1) % OMO_CHART_MOST;
        chart->count--;
    }
    int at = (chart->first + chart->count) % OMO_CHART_MOST;
    chart->sample[at].time_s = time_s;
    chart->sample[at].angle_deg[0] = angle_deg;
    chart->sample[at].angle_deg[1] = other_deg;
    chart->count++;
}

static void draw_line(cairo_t *cairo, const struct omo_chart *chart, int arm,
                      double now_s, double left, double right, double top, double bottom,
                      struct omo_range range)
{
    bool open = false;
    double before_s = -INFINITY, drawn_x = -INFINITY;
    for (int i = 0; i < chart->count; i++) {
        int k = (chart->first + i) % OMO_CHART_MOST;
        double time_s = chart->sample[k].time_s, angle = chart->sample[k].angle_deg[arm];
        if (!isfinite(angle) || time_s < now_s - CHART_S) {
            open = false;
            continue;
        }
        double x = right - (now_s - time_s) / CHART_S * (right - left);
        double share = (angle - range.low_deg) / (range.high_deg - range.low_deg);
        double y = bottom + (top - bottom) * fmin(fmax(share, 0), 1);
        /* Half a pixel is as fine as the chart gets. */
        if (open && x - drawn_x < 0.5 && i + 1 < chart->count)
            continue;
        if (!open || time_s - before_s > GAP_S)
            cairo_move_to(cairo, x, y);
        cairo_line_to(cairo, x, y);
        open = true;
        before_s = time_s;
        drawn_x = x;
    }
    cairo_stroke(cairo);
}

/** What the page draws itself, in the chart's place. */
static void draw_figure(struct omo_screen *screen, const struct omo_measure_page *page)
{
    const SDL_Rect *at = &screen->layout.chart;
    uint64_t key =
        omo_hash(OMO_HASH_START, &page->figure_version, sizeof page->figure_version);
    key = omo_hash(key, &page->user, sizeof page->user);
    struct omo_pen pen =
        omo_tile_begin(screen, &screen->chart_tile, at->w, at->h, key, OMO_GREY_FRAME);
    if (pen.cairo != NULL) {
        cairo_surface_flush(pen.surface);
        page->figure((uint32_t *)(void *)cairo_image_surface_get_data(pen.surface), at->w,
                     at->h, cairo_image_surface_get_stride(pen.surface) / 4, page->user);
        cairo_surface_mark_dirty(pen.surface);
        omo_tile_end(&screen->chart_tile, &pen);
    }
    omo_tile_show(screen, &screen->chart_tile, at->x, at->y);
}

void omo_chart_draw(struct omo_screen *screen, const struct omo_measure_page *page)
{
    const struct omo_measure_layout *l = &screen->layout;
    struct omo_chart *chart = &screen->chart;
    int w = l->chart.w, h = l->chart.h;
    int caption = (int)(l->small_px * 1.4);
    if (h < 3 * caption)
        return;
    screen->chart_tile.text = false;
    if (page->figure != NULL) {
        draw_figure(screen, page);
        return;
    }
    struct omo_range range = omo_range_of(page->settings);
    double now_s =
        chart->count > 0
            ? chart->sample[(chart->first + chart->count - 1) % OMO_CHART_MOST].time_s
            : 0;
    /* It moves on by whole pixels, so most pictures find it as it is. */
    int figures = 0;
    omo_text_size("180", l->small_px * 0.85, false, 0, &figures, NULL);
    double left = figures + l->small_px * 0.5, right = w - 2;
    double pixel_s = CHART_S / (right - left);
    now_s = ceil(now_s / pixel_s) * pixel_s;
    uint64_t key = omo_hash(OMO_HASH_START, &now_s, sizeof now_s);
    key = omo_hash(key, &range.high_deg, sizeof range.high_deg);
    key = omo_hash(key, &range.low_deg, sizeof range.low_deg);
    key = omo_hash(key, &l->small_px, sizeof l->small_px);
    struct omo_pen pen =
        omo_tile_begin(screen, &screen->chart_tile, w, h, key, OMO_GREY_PANEL);
    if (pen.cairo != NULL) {
        double top = l->small_px * 0.7, bottom = h - caption;
        struct omo_ink ink = {.size_px = l->small_px * 0.85,
                              .colour = OMO_GREY_QUIET,
                              .align = OMO_ALIGN_RIGHT,
                              .smallest = 0.6};
        int step = range.high_deg - range.low_deg > 150 ? 90 : 45;
        for (int deg = -180; deg <= range.high_deg; deg += step) {
            if (deg < range.low_deg)
                continue;
            double y = bottom + (top - bottom) * (deg - range.low_deg) /
                                    (range.high_deg - range.low_deg);
            omo_set_colour(pen.cairo, OMO_GREY_BUTTON);
            cairo_rectangle(pen.cairo, left, floor(y), right - left, 1);
            cairo_fill(pen.cairo);
            char text[16];
            snprintf(text, sizeof text, "%d", deg);
            int half = (int)(l->small_px * 0.7);
            omo_text_draw(pen.cairo, &(SDL_Rect){2, (int)y - half, figures, 2 * half},
                          text, &ink);
        }
        SDL_Rect below = {(int)left, h - caption, (int)(right - left), caption};
        ink.align = OMO_ALIGN_LEFT;
        omo_text_draw(pen.cairo, &below, omo_word("20 seconds ago"), &ink);
        ink.align = OMO_ALIGN_RIGHT;
        omo_text_draw(pen.cairo, &below, omo_word("now"), &ink);
        omo_set_colour(pen.cairo, OMO_ACCENT);
        cairo_set_line_width(pen.cairo, fmax(1.5, l->small_px / 9));
        cairo_set_line_join(pen.cairo, CAIRO_LINE_JOIN_ROUND);
        draw_line(pen.cairo, chart, 0, now_s, left, right, top, bottom, range);
        if (page->other != NULL) {
            const double dash[] = {l->small_px * 0.35, l->small_px * 0.25};
            cairo_set_dash(pen.cairo, dash, 2, 0);
            omo_set_colour(pen.cairo, OMO_GREY_LIGHT);
            draw_line(pen.cairo, chart, 1, now_s, left, right, top, bottom, range);
        }
        omo_tile_end(&screen->chart_tile, &pen);
    }
    omo_tile_show(screen, &screen->chart_tile, l->chart.x, l->chart.y);
}
