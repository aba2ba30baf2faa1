#include <math.h>

#include "omogon/words.h"
#include "show/screen/screen_private.h"

/* What is drawn over the picture: lines along the limbs, a ring round each marker that is
 * seen, and its name beside it. */

#define RING_SHARE 1.35 /* ring over marker, so that the marker's rim stays visible */

struct seen {
    bool there;
    double x, y, radius;
};

/* Of both arms at once the second one's roles follow the first one's. */
enum { SEEN_MOST = 2 * OMO_ROLE_COUNT };

static const char *name_of(int role)
{
    switch (role % OMO_ROLE_COUNT) {
    case OMO_SHOULDER:
        return omo_word("shoulder");
    case OMO_ELBOW:
        return omo_word("elbow");
    case OMO_WRIST:
        return omo_word("wrist");
    case OMO_HIP:
        return omo_word("hip");
    case OMO_ACROMION:
        return omo_word("acromion");
    default:
        return omo_word("chest");
    }
}

static void find(const struct omo_screen *screen, const struct omo_measure_page *page,
                 const SDL_Rect *at, struct seen seen[SEEN_MOST])
{
    double scale = (double)at->w / screen->camera_width;
    for (int i = 0; i < SEEN_MOST; i++) {
        const struct omo_live_view *view = i < OMO_ROLE_COUNT ? page->view : page->other;
        int role = i % OMO_ROLE_COUNT;
        /* The trunk's markers are both arms'. */
        bool again = i >= OMO_ROLE_COUNT && seen[role].there &&
                     (role == OMO_HIP || role == OMO_CHEST);
        seen[i].there = false;
        if (view == NULL || again)
            continue;
        const struct omo_marker *marker = &view->markers.role[role];
        seen[i].there = marker->seen != OMO_NOT_SEEN && isfinite(marker->x_px) &&
                        isfinite(marker->y_px);
        if (!seen[i].there)
            continue;
        /* Pixel (0, 0) is a pixel's centre. */
        double x = (marker->x_px + 0.5) * scale;
        seen[i].x = at->x + (page->mirror ? at->w - x : x);
        seen[i].y = at->y + (marker->y_px + 0.5) * scale;
        double radius =
            isfinite(marker->diameter_px) ? marker->diameter_px / 2 * scale : 0;
        seen[i].radius = fmax(radius * RING_SHARE, screen->layout.small_px * 0.6);
    }
}

static void join(struct omo_screen *screen, const struct seen *a, const struct seen *b)
{
    if (!a->there || !b->there)
        return;
    /* From ring to ring: the markers stay free. */
    double length = hypot(b->x - a->x, b->y - a->y);
    if (!(length > a->radius + b->radius + 2))
        return;
    double ux = (b->x - a->x) / length, uy = (b->y - a->y) / length;
    double width = fmax(2, screen->layout.small_px / 6);
    omo_stroke(screen, a->x + ux * a->radius, a->y + uy * a->radius,
               b->x - ux * b->radius, b->y - uy * b->radius, width, OMO_GREY_LIGHT,
               0xff000000u, fmax(2, width * 0.8));
}

static int overlap(const SDL_Rect *a, const SDL_Rect *b)
{
    SDL_Rect both;
    return SDL_IntersectRect(a, b, &both) ? both.w * both.h : 0;
}

/** How much a name's place covers of rings, lines and other names. */
static int cost_of(const SDL_Rect *place, const SDL_Rect *at,
                   const struct seen seen[SEEN_MOST], const SDL_Rect *taken,
                   int taken_count)
{
    const int OUTSIDE = 1000000, ON_NAME = 50, ON_LINE = 40;
    int cost = 0;
    SDL_Rect inside;
    if (!SDL_IntersectRect(place, at, &inside) || inside.w != place->w ||
        inside.h != place->h)
        cost += OUTSIDE;
    for (int i = 0; i < taken_count; i++)
        cost += ON_NAME * overlap(place, &taken[i]);
    for (int i = 0; i < SEEN_MOST; i++) {
        if (!seen[i].there)
            continue;
        int r = (int)ceil(seen[i].radius);
        SDL_Rect ring = {(int)seen[i].x - r, (int)seen[i].y - r, 2 * r, 2 * r};
        cost += 10 * overlap(place, &ring);
    }
    static const int line[4][2] = {{OMO_SHOULDER, OMO_ELBOW},
                                   {OMO_ELBOW, OMO_WRIST},
                                   {OMO_SHOULDER, OMO_HIP},
                                   {OMO_CHEST, OMO_HIP}};
    for (int i = 0; i < 8; i++) {
        int arm = i / 4 * OMO_ROLE_COUNT;
        const struct seen *a = &seen[arm + line[i % 4][0]],
                          *b = &seen[arm + line[i % 4][1]];
        if (!a->there || !b->there)
            continue;
        int x0 = (int)a->x, y0 = (int)a->y, x1 = (int)b->x, y1 = (int)b->y;
        if (SDL_IntersectRectAndLine(place, &x0, &y0, &x1, &y1))
            cost += ON_LINE * (int)hypot(x1 - x0, y1 - y0);
    }
    return cost;
}

enum { SIDES = 8 };

static SDL_Rect beside(const struct seen *seen, int side, int w, int h, int gap)
{
    int x = (int)lround(seen->x), y = (int)lround(seen->y);
    int r = (int)ceil(seen->radius) + gap;
    switch (side) {
    case 0:
        return (SDL_Rect){x + r, y - h / 2, w, h};
    case 1:
        return (SDL_Rect){x - r - w, y - h / 2, w, h};
    case 2:
        return (SDL_Rect){x - w / 2, y - r - h, w, h};
    case 3:
        return (SDL_Rect){x - w / 2, y + r, w, h};
    case 4:
        return (SDL_Rect){x + r * 3 / 4, y - r * 3 / 4 - h, w, h};
    case 5:
        return (SDL_Rect){x - r * 3 / 4 - w, y - r * 3 / 4 - h, w, h};
    case 6:
        return (SDL_Rect){x + r * 3 / 4, y + r * 3 / 4, w, h};
    default:
        return (SDL_Rect){x - r * 3 / 4 - w, y + r * 3 / 4, w, h};
    }
}

static void draw_names(struct omo_screen *screen, const struct seen seen[SEEN_MOST],
                       const SDL_Rect *at)
{
    const struct omo_measure_layout *l = &screen->layout;
    /* In a small picture smaller, or they would crowd each other out. */
    double size_px =
        fmin(fmax(l->small_px, l->middle_px * 0.82), fmax(12 * l->scale, at->w * 0.03));
    SDL_Rect taken[SEEN_MOST];
    int taken_count = 0;
    struct omo_ink ink = {.size_px = size_px,
                          .bold = true,
                          .colour = OMO_GREY_LIGHT,
                          .ground = OMO_GREY_FRAME,
                          .align = OMO_ALIGN_CENTRE,
                          .smallest = 1};
    for (int i = 0; i < SEEN_MOST; i++) {
        if (!seen[i].there)
            continue;
        const char *name = name_of(i);
        int w = 0, h = 0;
        omo_text_size(name, size_px, true, 0, &w, &h);
        w += (int)(size_px * 0.8);
        h += 2;
        int best = screen->name_side[i], gap = 3;
        SDL_Rect place = beside(&seen[i], best, w, h, gap);
        int least = cost_of(&place, at, seen, taken, taken_count);
        /* It stays on its side while that is free, so that it does not hop about. */
        for (int side = 0; side < SIDES && least > 0; side++) {
            SDL_Rect other = beside(&seen[i], side, w, h, gap);
            int cost = cost_of(&other, at, seen, taken, taken_count);
            if (cost < least) {
                least = cost;
                best = side;
                place = other;
            }
        }
        screen->name_side[i] = best;
        SDL_Rect inside;
        bool whole = SDL_IntersectRect(&place, at, &inside) && inside.w == place.w &&
                     inside.h == place.h;
        bool free_place = true;
        for (int k = 0; k < taken_count; k++)
            free_place = free_place && overlap(&place, &taken[k]) == 0;
        /* A name that would be cut, or cover another, is left out: the ring remains. */
        if (!whole || !free_place)
            continue;
        taken[taken_count++] = place;
        omo_text_tile(screen, &screen->name[i], &place, name, &ink);
    }
}

void omo_markers_draw(struct omo_screen *screen, const struct omo_measure_page *page,
                      const SDL_Rect *at)
{
    struct seen seen[SEEN_MOST];
    find(screen, page, at, seen);
    SDL_RenderSetClipRect(screen->renderer, at);
    const struct seen *top =
        seen[OMO_CHEST].there ? &seen[OMO_CHEST] : &seen[OMO_SHOULDER];
    /* With both arms and no chest marker the trunk's line is neither shoulder's. */
    if (page->other == NULL || seen[OMO_CHEST].there)
        join(screen, top, &seen[OMO_HIP]);
    for (const struct seen *arm = seen; arm < seen + SEEN_MOST; arm += OMO_ROLE_COUNT) {
        join(screen, &arm[OMO_SHOULDER], &arm[OMO_ELBOW]);
        join(screen, &arm[OMO_ELBOW], &arm[OMO_WRIST]);
    }
    double line = fmax(1.5, screen->layout.small_px / 8);
    for (int i = 0; i < SEEN_MOST; i++) {
        if (!seen[i].there)
            continue;
        /* Steps of four pixels, with slack, keep the ring's picture from being drawn anew
         * for every breath. */
        int want = (int)lround(2 * seen[i].radius + 3 * line);
        if (want > screen->ring_px[i] + 4 || want < screen->ring_px[i] - 4)
            screen->ring_px[i] = (want + 3) / 4 * 4;
        omo_ring_show(screen, &screen->ring[i], seen[i].x, seen[i].y, screen->ring_px[i],
                      line);
    }
    SDL_RenderSetClipRect(screen->renderer, NULL);
    draw_names(screen, seen, at);
}
