#include "jpeg_fixture.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

static unsigned next_random(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return *state >> 16;
}

/* Smooth ramps with blocks of strong colour and some noise, so that all coefficients and
 * both ends of the range occur. */
static void fill_row(uint8_t *row, int width, int components, int y, unsigned *state)
{
    for (int x = 0; x < width; x++)
        for (int c = 0; c < components; c++) {
            int ramp = (x * (3 + c) + y * (5 - c)) & 255;
            int block = ((x / 11 + y / 7 + c) % 3) * 127;
            int noise = (int)(next_random(state) % 25u) - 12;
            int value = (ramp + block) / 2 + noise;

            row[x * components + c] = (uint8_t)(value < 0     ? 0
                                                : value > 255 ? 255
                                                              : value);
        }
}

static void set_colour(struct jpeg_compress_struct *cinfo,
                       const struct jpeg_fixture *fixture)
{
    static const struct {
        int components;
        J_COLOR_SPACE space;
    } as[] = {{3, JCS_RGB}, {1, JCS_GRAYSCALE}, {3, JCS_RGB}, {4, JCS_CMYK}};

    cinfo->input_components = as[fixture->colour].components;
    cinfo->in_color_space = as[fixture->colour].space;
    jpeg_set_defaults(cinfo);
    if (fixture->colour == FIXTURE_RGB)
        jpeg_set_colorspace(cinfo, JCS_RGB);
    jpeg_set_quality(cinfo, 85, TRUE);
    if (fixture->colour == FIXTURE_YCBCR) {
        cinfo->comp_info[0].h_samp_factor = fixture->h;
        cinfo->comp_info[0].v_samp_factor = fixture->v;
    }
}

/* Cuts every DHT segment out, as cameras do that rely on the standard's tables. */
static size_t drop_tables(uint8_t *bytes, size_t size)
{
    size_t at = 2;

    while (at + 4 <= size && bytes[at] == 0xff && bytes[at + 1] != 0xda) {
        size_t length = 2 + ((size_t)bytes[at + 2] << 8 | bytes[at + 3]);

        if (bytes[at + 1] == 0xc4) {
            memmove(bytes + at, bytes + at + length, size - at - length);
            size -= length;
        } else {
            at += length;
        }
    }
    return size;
}

uint8_t *jpeg_fixture_make(const struct jpeg_fixture *fixture, size_t *size)
{
    struct jpeg_compress_struct cinfo;
    struct jpeg_error_mgr error;
    unsigned char *bytes = NULL;
    unsigned long length = 0;
    unsigned state = 7;
    uint8_t *row = malloc((size_t)fixture->width * 4);
    JSAMPROW rows[1] = {row};

    cinfo.err = jpeg_std_error(&error);
    jpeg_create_compress(&cinfo);
    jpeg_mem_dest(&cinfo, &bytes, &length);
    cinfo.image_width = (JDIMENSION)fixture->width;
    cinfo.image_height = (JDIMENSION)fixture->height;
    set_colour(&cinfo, fixture);
    if (fixture->progressive)
        jpeg_simple_progression(&cinfo);
    cinfo.arith_code = fixture->arithmetic;
    if (fixture->restarts)
        cinfo.restart_interval = 3;
    jpeg_start_compress(&cinfo, TRUE);
    if (fixture->comment != NULL)
        jpeg_write_marker(&cinfo, JPEG_COM, (const JOCTET *)fixture->comment,
                          (unsigned)strlen(fixture->comment));
    while (cinfo.next_scanline < cinfo.image_height) {
        fill_row(row, fixture->width, cinfo.input_components, (int)cinfo.next_scanline,
                 &state);
        (void)jpeg_write_scanlines(&cinfo, rows, 1);
    }
    jpeg_finish_compress(&cinfo);
    jpeg_destroy_compress(&cinfo);
    free(row);
    *size = fixture->no_tables ? drop_tables(bytes, length) : length;
    return bytes;
}
