#include <math.h>

#include "show/screen/screen_private.h"

static SDL_Color sdl_colour(uint32_t colour, Uint8 alpha)
{
    return (SDL_Color){(Uint8)(colour >> 16), (Uint8)(colour >> 8), (Uint8)colour, alpha};
}

void omo_fill(struct omo_screen *screen, const SDL_Rect *rect, uint32_t colour)
{
    SDL_SetRenderDrawColor(screen->renderer, (Uint8)(colour >> 16), (Uint8)(colour >> 8),
                           (Uint8)colour, 255);
    SDL_RenderFillRect(screen->renderer, rect);
}

/** One band along a line: full from -half to +half, fading out over one pixel. */
static void band(struct omo_screen *screen, double x0, double y0, double x1, double y1,
                 double half_px, uint32_t colour)
{
    double length = hypot(x1 - x0, y1 - y0);
    if (!(length > 0.5))
        return;
    double nx = -(y1 - y0) / length, ny = (x1 - x0) / length;
    double inner = fmax(half_px - 0.5, 0), outer = half_px + 0.5;
    const double across[4] = {-outer, -inner, inner, outer};
    SDL_Vertex vertex[8];
    for (int i = 0; i < 4; i++) {
        Uint8 alpha = i == 0 || i == 3 ? 0 : 255;
        SDL_Vertex *v = &vertex[2 * i];
        for (int end = 0; end < 2; end++) {
            v[end].position = (SDL_FPoint){
                (float)((end == 0 ? x0 : x1) + nx * across[i]),
                (float)((end == 0 ? y0 : y1) + ny * across[i]),
            };
            v[end].color = sdl_colour(colour, alpha);
            v[end].tex_coord = (SDL_FPoint){0, 0};
        }
    }
    int index[18];
    for (int i = 0; i < 3; i++) {
        const int quad[6] = {0, 1, 2, 2, 1, 3};
        for (int k = 0; k < 6; k++)
            index[6 * i + k] = 2 * i + quad[k];
    }
    SDL_RenderGeometry(screen->renderer, NULL, vertex, 8, index, 18);
}

void omo_stroke(struct omo_screen *screen, double x0, double y0, double x1, double y1,
                double width_px, uint32_t core, uint32_t edge, double edge_px)
{
    if (!isfinite(x0 + y0 + x1 + y1))
        return;
    if (edge_px > 0)
        band(screen, x0, y0, x1, y1, width_px / 2 + edge_px, edge);
    band(screen, x0, y0, x1, y1, width_px / 2, core);
}

void omo_wedge(struct omo_screen *screen, const SDL_FPoint corner[3], uint32_t colour)
{
    SDL_Vertex vertex[3];
    for (int i = 0; i < 3; i++)
        vertex[i] = (SDL_Vertex){corner[i], sdl_colour(colour, 255), {0, 0}};
    SDL_RenderGeometry(screen->renderer, NULL, vertex, 3, NULL, 0);
}

void omo_ring_show(struct omo_screen *screen, struct omo_tile *tile, double x, double y,
                   int diameter_px, double line_px)
{
    /* Drawn once a size: a ring of triangles in every picture costs more than the rest
     * of the overlay. Its alpha is straight, cairo's is multiplied in, so the few pixels
     * are divided once. */
    int size = diameter_px + 2;
    uint64_t key = omo_hash(OMO_HASH_START, &line_px, sizeof line_px);
    struct omo_pen pen = omo_tile_begin(screen, tile, size, size, key, 0);
    if (pen.cairo != NULL) {
        double middle = size / 2.0;
        cairo_arc(pen.cairo, middle, middle, diameter_px / 2.0 - line_px * 1.5, 0,
                  2 * M_PI);
        cairo_set_line_width(pen.cairo, line_px * 3);
        omo_set_colour(pen.cairo, 0xff000000u);
        cairo_stroke_preserve(pen.cairo);
        cairo_set_line_width(pen.cairo, line_px);
        omo_set_colour(pen.cairo, OMO_GREY_LIGHT);
        cairo_stroke(pen.cairo);
        cairo_surface_flush(pen.surface);
        uint8_t *bytes = cairo_image_surface_get_data(pen.surface);
        int stride = cairo_image_surface_get_stride(pen.surface);
        for (int row = 0; row < size; row++) {
            uint32_t *pixel = (uint32_t *)(void *)(bytes + (size_t)row * (size_t)stride);
            for (int i = 0; i < size; i++) {
                uint32_t alpha = pixel[i] >> 24;
                if (alpha == 0 || alpha == 255)
                    continue;
                uint32_t red = ((pixel[i] >> 16) & 255) * 255 / alpha;
                uint32_t green = ((pixel[i] >> 8) & 255) * 255 / alpha;
                uint32_t blue = (pixel[i] & 255) * 255 / alpha;
                pixel[i] = alpha << 24 | red << 16 | green << 8 | blue;
            }
        }
        cairo_surface_mark_dirty(pen.surface);
        omo_tile_end(tile, &pen);
    }
    tile->text = false;
    omo_tile_show(screen, tile, (int)lround(x - size / 2.0), (int)lround(y - size / 2.0));
}
