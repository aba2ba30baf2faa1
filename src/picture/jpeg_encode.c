#include <stdlib.h>
#include <string.h>

#include "omogon/picture.h"

#include "picture/jpeg_error.h"

#define OMO_ROWS_MAX 32

/* What has to be seen again after a jump out of libjpeg. */
struct writer {
    struct omo_jpeg_error error;
    struct jpeg_compress_struct cinfo;
    unsigned char *bytes;
    unsigned long size;
    uint8_t *padded; /* one row of MCUs of all components, edges repeated */
};

static enum omo_status writer_end(struct writer *w, bool good, uint8_t **bytes,
                                  size_t *size)
{
    jpeg_destroy_compress(&w->cinfo);
    free(w->padded);
    if (!good) {
        free(w->bytes);
        return OMO_ERR_MEMORY;
    }
    *bytes = w->bytes;
    *size = w->size;
    return OMO_OK;
}

static void writer_begin(struct writer *w, int width, int height, int components,
                         J_COLOR_SPACE space, int quality)
{
    jpeg_create_compress(&w->cinfo);
    jpeg_mem_dest(&w->cinfo, &w->bytes, &w->size);
    w->cinfo.image_width = (JDIMENSION)width;
    w->cinfo.image_height = (JDIMENSION)height;
    w->cinfo.input_components = components;
    w->cinfo.in_color_space = space;
    jpeg_set_defaults(&w->cinfo);
    jpeg_set_quality(&w->cinfo, quality, TRUE);
}

/* ---- from planes ---- */

/* 1, 2 or 4, else 0. Not 3: libjpeg can write it, but hardly any program reads it. */
static int whole_scale(double scale)
{
    int factor = scale > 0.5 && scale < 4.5 ? (int)scale : 0;

    return factor == scale && factor != 3 ? factor : 0;
}

static bool chroma_fits(const struct omo_planes *p, const int factor[2])
{
    /* 8 luma blocks and 2 of chroma are the most that a JPEG may interleave. */
    return factor[0] * factor[1] >= 1 && factor[0] * factor[1] <= 8 &&
           p->chroma_width == (p->width + factor[0] - 1) / factor[0] &&
           p->chroma_height == (p->height + factor[1] - 1) / factor[1] &&
           p->offset_x == (factor[0] - 1) / 2.0 && p->offset_y == (factor[1] - 1) / 2.0;
}

static bool can_express(const struct omo_planes *p, int factor[2])
{
    factor[0] = factor[1] = 1;
    if (p->width < 1 || p->height < 1 || p->width > 16384 || p->height > 16384)
        return false;
    if (p->y == NULL || (p->cb == NULL) != (p->cr == NULL))
        return false;
    if (p->colour != OMO_COLOUR_BT601 || !p->full_range)
        return false;
    if (p->cb == NULL)
        return true;
    factor[0] = whole_scale(p->scale_x);
    factor[1] = whole_scale(p->scale_y);
    return chroma_fits(p, factor);
}

static void pad_row(const uint8_t *in, int width, int padded_width, uint8_t *out)
{
    memcpy(out, in, (size_t)width);
    memset(out + width, in[width - 1], (size_t)(padded_width - width));
}

static void write_rows(struct writer *w, const struct omo_planes *p, const int factor[2])
{
    struct jpeg_compress_struct *cinfo = &w->cinfo;
    const uint8_t *plane[3] = {p->y, p->cb, p->cr};
    int width[3] = {p->width, p->chroma_width, p->chroma_width};
    int height[3] = {p->height, p->chroma_height, p->chroma_height};
    int stride[3] = {p->y_stride, p->chroma_stride, p->chroma_stride};
    int mcus = (p->width + factor[0] * DCTSIZE - 1) / (factor[0] * DCTSIZE);
    JSAMPROW row_start[3][OMO_ROWS_MAX];
    JSAMPARRAY rows[3] = {row_start[0], row_start[1], row_start[2]};

    for (int mcu_row = 0; cinfo->next_scanline < cinfo->image_height; mcu_row++) {
        uint8_t *out = w->padded;

        for (int i = 0; i < cinfo->num_components; i++) {
            int padded_width = mcus * cinfo->comp_info[i].h_samp_factor * DCTSIZE;
            int count = cinfo->comp_info[i].v_samp_factor * DCTSIZE;

            for (int r = 0; r < count; r++, out += padded_width) {
                int row = mcu_row * count + r;

                row = row < height[i] ? row : height[i] - 1;
                pad_row(plane[i] + (size_t)row * (size_t)stride[i], width[i],
                        padded_width, out);
                row_start[i][r] = out;
            }
        }
        (void)jpeg_write_raw_data(cinfo, rows, (JDIMENSION)(factor[1] * DCTSIZE));
    }
}

static bool write_planes(struct writer *w, const struct omo_planes *p,
                         const int factor[2], int quality)
{
    struct jpeg_compress_struct *cinfo = &w->cinfo;
    int components = p->cb != NULL ? 3 : 1;
    size_t mcu_width = (size_t)p->width + 4 * DCTSIZE;

    writer_begin(w, p->width, p->height, components,
                 components == 3 ? JCS_YCbCr : JCS_GRAYSCALE, quality);
    for (int i = 0; i < components; i++) {
        cinfo->comp_info[i].h_samp_factor = i == 0 ? factor[0] : 1;
        cinfo->comp_info[i].v_samp_factor = i == 0 ? factor[1] : 1;
    }
    cinfo->raw_data_in = TRUE;
    w->padded = malloc(3 * mcu_width * OMO_ROWS_MAX);
    if (w->padded == NULL)
        return false;
    jpeg_start_compress(cinfo, TRUE);
    write_rows(w, p, factor);
    jpeg_finish_compress(cinfo);
    return true;
}

enum omo_status omo_jpeg_encode(const struct omo_planes *planes, int quality,
                                uint8_t **bytes, size_t *size)
{
    struct writer w = {0};
    int factor[2];

    if (!can_express(planes, factor) || quality < 1 || quality > 100)
        return OMO_ERR_ARG;
    w.cinfo.err = omo_jpeg_error_init(&w.error);
    if (setjmp(w.error.escape) != 0)
        return writer_end(&w, false, bytes, size);
    return writer_end(&w, write_planes(&w, planes, factor, quality), bytes, size);
}

/* ---- from packed pixels ---- */

static void write_pixels(struct writer *w, const uint32_t *pixels, int width, int height,
                         int stride_pixels, int quality)
{
    const uint16_t probe = 1;
    bool little = *(const uint8_t *)&probe == 1;

    writer_begin(w, width, height, 4, little ? JCS_EXT_BGRX : JCS_EXT_XRGB, quality);
    jpeg_start_compress(&w->cinfo, TRUE);
    while (w->cinfo.next_scanline < w->cinfo.image_height) {
        const uint32_t *row =
            pixels + (size_t)w->cinfo.next_scanline * (size_t)stride_pixels;
        JSAMPROW start = (JSAMPROW)(uintptr_t)row; /* libjpeg reads only */

        (void)jpeg_write_scanlines(&w->cinfo, &start, 1);
    }
    jpeg_finish_compress(&w->cinfo);
}

enum omo_status omo_jpeg_encode_rgb32(const uint32_t *pixels, int width, int height,
                                      int stride_pixels, int quality, uint8_t **bytes,
                                      size_t *size)
{
    struct writer w = {0};

    if (pixels == NULL || width < 1 || height < 1 || width > 16384 || height > 16384 ||
        stride_pixels < width || quality < 1 || quality > 100)
        return OMO_ERR_ARG;
    w.cinfo.err = omo_jpeg_error_init(&w.error);
    if (setjmp(w.error.escape) != 0)
        return writer_end(&w, false, bytes, size);
    write_pixels(&w, pixels, width, height, stride_pixels, quality);
    return writer_end(&w, true, bytes, size);
}
