#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/log.h"
#include "show/screen/screen_private.h"

/*
 * With a graphics card the planes go up as they are and the card scales and mirrors. In
 * software both cost more than everything else in a picture (SDL stretches after it has
 * converted the whole of it, and turns a mirrored copy through two more surfaces), so the
 * planes are resampled, and mirrored, on their way into the texture at the size they are
 * shown in; SDL then converts that many pixels and no more.
 */

#define WEIGHT_BITS 7
#define WEIGHT_ONE  (1u << WEIGHT_BITS)
#define INDEX_BITS  8 /* below the index, its weight */

static SDL_YUV_CONVERSION_MODE mode_of(const struct omo_planes *planes)
{
    if (planes->full_range)
        return SDL_YUV_CONVERSION_JPEG;
    return planes->colour == OMO_COLOUR_BT601 ? SDL_YUV_CONVERSION_BT601
                                              : SDL_YUV_CONVERSION_BT709;
}

/** Where sample i of `to` lies in `from` samples: index and weight of the next one. */
static void place(int i, int to, int from, uint32_t *index, uint32_t *weight)
{
    double at = (i + 0.5) * from / to - 0.5;
    if (at < 0)
        at = 0;
    if (at > from - 1)
        at = from - 1;
    *index = (uint32_t)at;
    *weight = (uint32_t)((at - *index) * WEIGHT_ONE + 0.5);
    if (*index + 1 >= (uint32_t)from) {
        /* The last sample has no next one. */
        *index = from > 1 ? (uint32_t)from - 2 : 0;
        *weight = from > 1 ? WEIGHT_ONE : 0;
    }
}

static bool make_columns(struct omo_screen *screen, int from, int to, bool mirror)
{
    if (screen->columns_size < (size_t)to) {
        uint32_t *columns = realloc(screen->columns, (size_t)to * sizeof *columns);
        if (columns == NULL)
            return false;
        screen->columns = columns;
        screen->columns_size = (size_t)to;
    }
    for (int i = 0; i < to; i++) {
        uint32_t index, weight;
        place(mirror ? to - 1 - i : i, to, from, &index, &weight);
        screen->columns[i] = index << INDEX_BITS | weight;
    }
    return true;
}

static void copy_row(uint8_t *to, const uint8_t *from, int width, bool mirror)
{
    if (!mirror) {
        memcpy(to, from, (size_t)width);
        return;
    }
    int i = 0;
    for (; i + 8 <= width; i += 8) {
        uint64_t eight;
        memcpy(&eight, from + width - 8 - i, 8);
        eight = __builtin_bswap64(eight);
        memcpy(to + i, &eight, 8);
    }
    for (; i < width; i++)
        to[i] = from[width - 1 - i];
}

static void resample_row(uint8_t *to, const uint8_t *above, const uint8_t *below,
                         uint32_t weight_below, const uint32_t *columns, int width)
{
    uint32_t weight_above = WEIGHT_ONE - weight_below;
    for (int i = 0; i < width; i++) {
        uint32_t column = columns[i];
        const uint8_t *a = above + (column >> INDEX_BITS);
        const uint8_t *b = below + (column >> INDEX_BITS);
        uint32_t right = column & ((1u << INDEX_BITS) - 1), left = WEIGHT_ONE - right;
        uint32_t sum = (a[0] * left + a[1] * right) * weight_above +
                       (b[0] * left + b[1] * right) * weight_below;
        to[i] = (uint8_t)((sum + (1u << (2 * WEIGHT_BITS - 1))) >> (2 * WEIGHT_BITS));
    }
}

/** One plane into another of any size. */
static bool plane(struct omo_screen *screen, const uint8_t *from, int from_width,
                  int from_height, int from_stride, uint8_t *to, int width, int height,
                  bool mirror)
{
    if (from_height >= 2 * height && from_height / 2 == height) {
        /* 4:2:2: every second chroma row. */
        from_stride *= 2;
        from_height = height;
    }
    if (from_width == width && from_height == height) {
        for (int row = 0; row < height; row++)
            copy_row(to + (size_t)row * (size_t)width,
                     from + (size_t)row * (size_t)from_stride, width, mirror);
        return true;
    }
    if (from_width < 2 || !make_columns(screen, from_width, width, mirror))
        return false;
    for (int row = 0; row < height; row++) {
        uint32_t index, weight;
        place(row, height, from_height, &index, &weight);
        const uint8_t *above = from + (size_t)index * (size_t)from_stride;
        const uint8_t *below = from_height > 1 ? above + from_stride : above;
        resample_row(to + (size_t)row * (size_t)width, above, below, weight,
                     screen->columns, width);
    }
    return true;
}

/** A texture of this size, the one that is there if it fits. */
static bool need_texture(struct omo_screen *screen, int width, int height)
{
    if (screen->picture != NULL && screen->picture_width == width &&
        screen->picture_height == height)
        return true;
    if (screen->picture != NULL)
        SDL_DestroyTexture(screen->picture);
    screen->picture = SDL_CreateTexture(screen->renderer, SDL_PIXELFORMAT_IYUV,
                                        SDL_TEXTUREACCESS_STREAMING, width, height);
    if (screen->picture == NULL) {
        omo_error("The window cannot show a picture of %d x %d px: %s.", width, height,
                  SDL_GetError());
        return false;
    }
    screen->picture_width = width;
    screen->picture_height = height;
    SDL_SetTextureBlendMode(screen->picture, SDL_BLENDMODE_NONE);
    SDL_SetTextureScaleMode(screen->picture, SDL_ScaleModeLinear);
    return true;
}

/** Into the texture by way of our own loops. */
static void write_planes(struct omo_screen *screen, const struct omo_planes *planes,
                         bool mirror)
{
    int width = screen->picture_width, height = screen->picture_height;
    size_t luma = (size_t)width * (size_t)height, chroma = luma / 4;
    void *pixels = NULL;
    int pitch = 0;
    uint8_t *own = NULL;
    if (SDL_LockTexture(screen->picture, NULL, &pixels, &pitch) != 0)
        return;
    uint8_t *to = pixels;
    if (pitch != width) {
        /* A driver's own row length: through a buffer of ours. */
        SDL_UnlockTexture(screen->picture);
        own = malloc(luma + 2 * chroma);
        if (own == NULL)
            return;
        to = own;
    }
    bool done = plane(screen, planes->y, planes->width, planes->height, planes->y_stride,
                      to, width, height, mirror);
    const uint8_t *const from[2] = {planes->cb, planes->cr};
    for (int i = 0; i < 2 && done; i++) {
        uint8_t *at = to + luma + (size_t)i * chroma;
        if (from[i] == NULL)
            memset(at, 128, chroma);
        else
            done = plane(screen, from[i], planes->chroma_width, planes->chroma_height,
                         planes->chroma_stride, at, width / 2, height / 2, mirror);
    }
    if (own == NULL)
        SDL_UnlockTexture(screen->picture);
    else
        SDL_UpdateYUVTexture(screen->picture, NULL, own, width, own + luma, width / 2,
                             own + luma + chroma, width / 2);
    free(own);
    screen->picture_mirrored = mirror;
}

void omo_screen_picture(struct omo_screen *screen, const struct omo_planes *planes)
{
    if (planes == NULL || planes->y == NULL || planes->width < 4 || planes->height < 4) {
        if (planes == NULL)
            omo_picture_finish(screen);
        return;
    }
    screen->camera_width = planes->width;
    screen->camera_height = planes->height;
    screen->picture_mode = mode_of(planes);
    SDL_SetYUVConversionMode(screen->picture_mode);
    /* Even sizes: the chroma planes are halves. */
    int width = planes->width & ~1, height = planes->height & ~1;
    if (screen->software) {
        if (screen->fit_width > 0) {
            width = screen->fit_width;
            height = screen->fit_height;
        }
        if (need_texture(screen, width, height))
            write_planes(screen, planes, screen->want_mirror);
        return;
    }
    if (!need_texture(screen, width, height))
        return;
    bool halves = planes->cb != NULL && planes->cr != NULL &&
                  planes->chroma_width >= width / 2 &&
                  planes->chroma_width <= width / 2 + 1;
    bool every = halves && planes->chroma_height <= height / 2 + 1;
    bool second = halves && planes->chroma_height >= height - 1;
    if (every || second) {
        int stride = planes->chroma_stride * (second ? 2 : 1);
        SDL_UpdateYUVTexture(screen->picture, NULL, planes->y, planes->y_stride,
                             planes->cb, stride, planes->cr, stride);
        screen->picture_mirrored = false;
    } else {
        write_planes(screen, planes, false);
    }
}

bool omo_picture_show(struct omo_screen *screen, const SDL_Rect *area, bool mirror,
                      SDL_Rect *at)
{
    screen->want_mirror = mirror;
    if (screen->picture == NULL || area->w < 16 || area->h < 16)
        return false;
    double scale = fmin((double)area->w / screen->camera_width,
                        (double)area->h / screen->camera_height);
    int width = (int)(screen->camera_width * scale + 0.01) & ~1;
    int height = (int)(screen->camera_height * scale + 0.01) & ~1;
    /* A pixel or two of scaling is not worth its cost. */
    if (screen->camera_width <= area->w && screen->camera_height <= area->h &&
        width <= screen->camera_width + 2) {
        width = screen->camera_width & ~1;
        height = screen->camera_height & ~1;
    }
    *at = (SDL_Rect){area->x + (area->w - width) / 2, area->y + (area->h - height) / 2,
                     width, height};
    screen->picture_at = *at;
    screen->fit_width = width;
    screen->fit_height = height;
    SDL_SetYUVConversionMode(screen->picture_mode);
    if (mirror == screen->picture_mirrored)
        SDL_RenderCopy(screen->renderer, screen->picture, NULL, at);
    else
        SDL_RenderCopyEx(screen->renderer, screen->picture, NULL, at, 0, NULL,
                         SDL_FLIP_HORIZONTAL);
    return true;
}

void omo_picture_finish(struct omo_screen *screen)
{
    if (screen->picture != NULL)
        SDL_DestroyTexture(screen->picture);
    screen->picture = NULL;
    free(screen->columns);
    screen->columns = NULL;
    screen->columns_size = 0;
}
