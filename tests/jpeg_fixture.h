/** JPEG files of any kind for tests, written with libjpeg's own interface. */
#ifndef OMO_JPEG_FIXTURE_H
#define OMO_JPEG_FIXTURE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum jpeg_fixture_colour { FIXTURE_YCBCR, FIXTURE_GREY, FIXTURE_RGB, FIXTURE_CMYK };

struct jpeg_fixture {
    int width, height;
    int h, v; /**< subsampling of chroma, 1..4 */
    enum jpeg_fixture_colour colour;
    bool progressive, arithmetic, restarts, no_tables;
    const char *comment; /**< NULL for none */
};

/** A noisy, colourful picture; free() the bytes. Same settings, same bytes. */
uint8_t *jpeg_fixture_make(const struct jpeg_fixture *fixture, size_t *size);

#endif
