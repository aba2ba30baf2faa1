#include <string.h>

#include "show/screen/screen_private.h"

#define HASH_PRIME 1099511628211u

uint64_t omo_hash(uint64_t start, const void *bytes, size_t size)
{
    const unsigned char *byte = bytes;
    for (size_t i = 0; i < size; i++)
        start = (start ^ byte[i]) * HASH_PRIME;
    return start;
}

uint64_t omo_hash_text(uint64_t start, const char *text)
{
    return omo_hash(start, text, strlen(text) + 1);
}

struct omo_pen omo_tile_begin(struct omo_screen *screen, struct omo_tile *tile, int width,
                              int height, uint64_t key, uint32_t ground)
{
    struct omo_pen none = {NULL, NULL};
    if (width < 1 || height < 1)
        return none;
    bool same_size =
        tile->texture != NULL && tile->width == width && tile->height == height;
    if (same_size && tile->key == key)
        return none;
    if (!same_size) {
        if (tile->texture != NULL)
            SDL_DestroyTexture(tile->texture);
        tile->texture = SDL_CreateTexture(screen->renderer, SDL_PIXELFORMAT_ARGB8888,
                                          SDL_TEXTUREACCESS_STATIC, width, height);
        if (tile->texture == NULL)
            return none;
        tile->width = width;
        tile->height = height;
    }
    bool opaque = ground >> 24 == 255;
    SDL_SetTextureBlendMode(tile->texture,
                            opaque ? SDL_BLENDMODE_NONE : SDL_BLENDMODE_BLEND);
    tile->key = key;
    struct omo_pen pen;
    pen.surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, width, height);
    pen.cairo = cairo_create(pen.surface);
    if (opaque) {
        omo_set_colour(pen.cairo, ground);
        cairo_paint(pen.cairo);
    }
    return pen;
}

void omo_tile_end(struct omo_tile *tile, struct omo_pen *pen)
{
    if (pen->cairo == NULL)
        return;
    cairo_destroy(pen->cairo);
    cairo_surface_flush(pen->surface);
    if (cairo_surface_status(pen->surface) == CAIRO_STATUS_SUCCESS)
        SDL_UpdateTexture(tile->texture, NULL, cairo_image_surface_get_data(pen->surface),
                          cairo_image_surface_get_stride(pen->surface));
    cairo_surface_destroy(pen->surface);
    pen->cairo = NULL;
    pen->surface = NULL;
}

void omo_tile_show(struct omo_screen *screen, struct omo_tile *tile, int x, int y)
{
    if (tile->texture == NULL)
        return;
    tile->at = (SDL_Rect){x, y, tile->width, tile->height};
    tile->shown = screen->drawing;
    SDL_RenderCopy(screen->renderer, tile->texture, NULL, &tile->at);
}

void omo_tile_finish(struct omo_tile *tile)
{
    if (tile->texture != NULL)
        SDL_DestroyTexture(tile->texture);
    tile->texture = NULL;
    tile->width = tile->height = 0;
    tile->shown = 0;
}

void omo_text_tile(struct omo_screen *screen, struct omo_tile *tile, const SDL_Rect *at,
                   const char *text, const struct omo_ink *ink)
{
    if (text == NULL || text[0] == '\0' || at->w < 1 || at->h < 1)
        return;
    uint64_t key = omo_hash_text(OMO_HASH_START, text);
    /* Field by field: padding has no value. */
    key = omo_hash(key, &ink->size_px, sizeof ink->size_px);
    key = omo_hash(key, &ink->colour, sizeof ink->colour);
    key = omo_hash(key, &ink->ground, sizeof ink->ground);
    key = omo_hash(key, &ink->align, sizeof ink->align);
    key = omo_hash(key, &ink->bold, sizeof ink->bold);
    struct omo_pen pen = omo_tile_begin(screen, tile, at->w, at->h, key, ink->ground);
    if (pen.cairo != NULL) {
        omo_text_draw(pen.cairo, &(SDL_Rect){0, 0, at->w, at->h}, text, ink);
        omo_tile_end(tile, &pen);
    }
    tile->text = true;
    omo_tile_show(screen, tile, at->x, at->y);
}
