#include "raster.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/** Value noise that repeats, mean 0, about -1 to 1: `cells` across, `cells_y` down. */
static void add_noise(float *texture, int cells, int cells_y, double depth,
                      struct omo_random *random)
{
    static const int n = OMO_TEXTURE_SIZE;
    double *grid = malloc((size_t)(cells * cells_y) * sizeof *grid);
    if (!grid)
        return;
    for (int i = 0; i < cells * cells_y; i++)
        grid[i] = 2 * omo_random_unit(random) - 1;
    for (int y = 0; y < n; y++) {
        double v = (double)y * cells_y / n;
        int y0 = (int)v;
        double fy = v - y0, sy = fy * fy * (3 - 2 * fy);
        for (int x = 0; x < n; x++) {
            double u = (double)x * cells / n;
            int x0 = (int)u;
            double fx = u - x0, sx = fx * fx * (3 - 2 * fx);
            const double *a = grid + y0 * cells, *b = grid + (y0 + 1) % cells_y * cells;
            double top = omo_sim_mix(a[x0], a[(x0 + 1) % cells], sx);
            double low = omo_sim_mix(b[x0], b[(x0 + 1) % cells], sx);
            texture[y * n + x] += (float)(depth * omo_sim_mix(top, low, sy));
        }
    }
    free(grid);
}

static void make_textures(struct omo_canvas *canvas)
{
    struct omo_random random = {4711};
    /* folds: long across the limb (x), short along it (y) */
    add_noise(canvas->fold, 2, 5, 0.6, &random);
    add_noise(canvas->fold, 4, 12, 0.35, &random);
    add_noise(canvas->fold, 8, 16, 0.15, &random);
    add_noise(canvas->grain, 64, 64, 0.6, &random);
    add_noise(canvas->grain, 32, 32, 0.4, &random);
}

enum omo_status omo_canvas_create(struct omo_canvas *canvas, int width, int height)
{
    size_t pixels = (size_t)width * (size_t)height;
    size_t texels = (size_t)OMO_TEXTURE_SIZE * OMO_TEXTURE_SIZE;
    bool good = true;
    *canvas = (struct omo_canvas){.width = width, .height = height};
    canvas->pixel = aligned_alloc(16, pixels * sizeof(omo_float4));
    canvas->row = aligned_alloc(16, (size_t)width * sizeof(omo_float4));
    canvas->low = malloc((size_t)height * sizeof(int));
    canvas->high = malloc((size_t)height * sizeof(int));
    canvas->fold = calloc(texels, sizeof(float));
    canvas->grain = calloc(texels, sizeof(float));
    for (int i = 0; i < OMO_MASK_COUNT; i++) {
        canvas->mask[i].cover =
            malloc((size_t)OMO_MASK_SIDE * OMO_MASK_SIDE * sizeof(float));
        good = good && canvas->mask[i].cover;
    }
    if (!good || !canvas->pixel || !canvas->row || !canvas->low || !canvas->high ||
        !canvas->fold || !canvas->grain) {
        omo_canvas_free(canvas);
        return OMO_ERR_MEMORY;
    }
    memset(canvas->pixel, 0, pixels * sizeof(omo_float4));
    omo_canvas_clear_spans(canvas);
    make_textures(canvas);
    omo_canvas_clip_all(canvas);
    return OMO_OK;
}

void omo_canvas_free(struct omo_canvas *canvas)
{
    free(canvas->pixel);
    free(canvas->row);
    free(canvas->low);
    free(canvas->high);
    free(canvas->fold);
    free(canvas->grain);
    for (int i = 0; i < OMO_MASK_COUNT; i++)
        free(canvas->mask[i].cover);
    *canvas = (struct omo_canvas){0};
}

void omo_canvas_clip_all(struct omo_canvas *canvas)
{
    canvas->clip_left = canvas->clip_top = 0;
    canvas->clip_right = canvas->width;
    canvas->clip_bottom = canvas->height;
    canvas->tint = (omo_float4){1, 1, 1, 1};
    canvas->lift = (omo_float4){0, 0, 0, 0};
}

void omo_canvas_clear_spans(struct omo_canvas *canvas)
{
    for (int y = 0; y < canvas->height; y++) {
        canvas->low[y] = canvas->width;
        canvas->high[y] = -1;
    }
}

/* ---- masks ---- */

void omo_canvas_drop_masks(struct omo_canvas *canvas)
{
    for (int i = 0; i < OMO_MASK_COUNT; i++)
        canvas->mask[i].live = false;
}

void omo_mask_open(struct omo_mask *mask, double x, double y, double reach)
{
    int side = (int)(2 * reach) + 4;
    if (side > OMO_MASK_SIDE)
        side = OMO_MASK_SIDE;
    mask->width = mask->height = side;
    mask->left = (int)floor(x) - side / 2;
    mask->top = (int)floor(y) - side / 2;
    memset(mask->cover, 0, (size_t)side * OMO_MASK_SIDE * sizeof(float));
}

void omo_mask_keep(const struct omo_canvas *canvas, struct omo_mask *mask, int y,
                   int from, int to)
{
    int row = y - mask->top;
    if (row < 0 || row >= mask->height)
        return;
    for (int x = from; x <= to; x++) {
        int column = x - mask->left;
        if (column >= 0 && column < mask->width)
            mask->cover[row * OMO_MASK_SIDE + column] = canvas->row[x][3];
    }
}

double omo_mask_sum(const struct omo_mask *mask)
{
    double sum = 0;
    for (int y = 0; y < mask->height; y++)
        for (int x = 0; x < mask->width; x++)
            sum += (double)mask->cover[y * OMO_MASK_SIDE + x];
    return sum;
}

void omo_mask_middle(const struct omo_mask *mask, double *x_px, double *y_px)
{
    double sum = 0, sum_x = 0, sum_y = 0;
    for (int y = 0; y < mask->height; y++) {
        for (int x = 0; x < mask->width; x++) {
            double cover = (double)mask->cover[y * OMO_MASK_SIDE + x];
            sum += cover;
            sum_x += cover * (mask->left + x);
            sum_y += cover * (mask->top + y);
        }
    }
    *x_px = sum > 0 ? sum_x / sum : (double)NAN;
    *y_px = sum > 0 ? sum_y / sum : (double)NAN;
}

void omo_canvas_cover_masks(struct omo_canvas *canvas, int y, int from, int to)
{
    for (int i = 0; i < OMO_MASK_COUNT; i++) {
        struct omo_mask *mask = &canvas->mask[i];
        int row = y - mask->top, last = mask->left + mask->width - 1;
        if (!mask->live || row < 0 || row >= mask->height)
            continue;
        int left = from > mask->left ? from : mask->left;
        int right = to < last ? to : last;
        for (int x = left; x <= right; x++)
            mask->cover[row * OMO_MASK_SIDE + x - mask->left] *= 1 - canvas->row[x][3];
    }
}

void omo_canvas_blend(struct omo_canvas *canvas, int y, int from, int to)
{
    omo_float4 *pixel = canvas->pixel + (size_t)y * (size_t)canvas->width;
    const omo_float4 tint = canvas->tint, lift = canvas->lift;
    for (int x = from; x <= to; x++) {
        omo_float4 colour = canvas->row[x];
        float cover = colour[3];
        if (cover <= 0)
            continue;
        colour = colour * tint + lift;
        colour[3] = 1; /* a layer's fourth element gathers coverage */
        pixel[x] += (colour - pixel[x]) * cover;
    }
    if (from < canvas->low[y])
        canvas->low[y] = from;
    if (to > canvas->high[y])
        canvas->high[y] = to;
    omo_canvas_cover_masks(canvas, y, from, to);
}
