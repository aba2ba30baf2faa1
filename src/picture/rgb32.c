#include "omogon/picture.h"

#include "picture/colour.h"

/* Products of each possible sample in 1/65536, so that a pixel costs only sums. */
struct tables {
    int32_t luma[256], red_cr[256], green_cb[256], green_cr[256], blue_cb[256];
};

static int32_t fixed(double value)
{
    return (int32_t)(value * 65536.0 + (value < 0.0 ? -0.5 : 0.5));
}

static void fill_tables(const struct omo_planes *planes, struct tables *t)
{
    struct omo_ycbcr_to_rgb to = omo_ycbcr_to_rgb_of(planes->colour, planes->full_range);

    for (int v = 0; v < 256; v++) {
        t->luma[v] = fixed(to.luma_gain * (v - to.luma_zero) + 0.5);
        t->red_cr[v] = fixed(to.red_from_cr * (v - 128));
        t->green_cb[v] = fixed(to.green_from_cb * (v - 128));
        t->green_cr[v] = fixed(to.green_from_cr * (v - 128));
        t->blue_cb[v] = fixed(to.blue_from_cb * (v - 128));
    }
}

static uint32_t channel(int32_t value)
{
    if (value < 0)
        return 0;
    return value >= 256 * 65536 ? 255u : (uint32_t)value >> 16;
}

static uint32_t pixel_of(const struct tables *t, uint8_t y, uint8_t cb, uint8_t cr)
{
    int32_t luma = t->luma[y];

    return 0xff000000u | channel(luma + t->red_cr[cr]) << 16 |
           channel(luma + t->green_cb[cb] + t->green_cr[cr]) << 8 |
           channel(luma + t->blue_cb[cb]);
}

/* The chroma sample nearest to luma position i. */
static int nearest(int i, double scale, double offset, int count)
{
    double at = (i - offset) / scale + 0.5;
    int sample = at <= 0.0 ? 0 : (int)at;

    return sample < count ? sample : count - 1;
}

enum omo_status omo_planes_to_rgb32(const struct omo_planes *planes, int quarter_turns,
                                    uint32_t *pixels)
{
    struct tables t;
    ptrdiff_t width = planes->width, height = planes->height;
    /* Where the coded top-left pixel goes, and the steps for one to the right and one
     * down: a clockwise quarter turn sends right to down and down to left. */
    const ptrdiff_t start[4] = {0, height - 1, width * height - 1, (width - 1) * height};
    const ptrdiff_t right[4] = {1, height, -1, -height};
    const ptrdiff_t down[4] = {width, -1, -width, 1};
    int turns = quarter_turns & 3;

    if (planes->y == NULL || planes->cb == NULL || planes->cr == NULL || width < 1 ||
        height < 1)
        return OMO_ERR_ARG;
    fill_tables(planes, &t);
    for (int row = 0; row < planes->height; row++) {
        const uint8_t *y = planes->y + (size_t)row * (size_t)planes->y_stride;
        size_t chroma_row = (size_t)nearest(row, planes->scale_y, planes->offset_y,
                                            planes->chroma_height);
        const uint8_t *cb = planes->cb + chroma_row * (size_t)planes->chroma_stride;
        const uint8_t *cr = planes->cr + chroma_row * (size_t)planes->chroma_stride;
        uint32_t *out = pixels + start[turns] + row * down[turns];

        for (int x = 0; x < planes->width; x++, out += right[turns]) {
            int c = nearest(x, planes->scale_x, planes->offset_x, planes->chroma_width);

            *out = pixel_of(&t, y[x], cb[c], cr[c]);
        }
    }
    return OMO_OK;
}
