// Bytes to planes: any bytes may come from a camera or a broken file.
// sources: src/picture/jpeg_decode.c src/picture/jpeg_error.c src/picture/planes.c
// sources: src/source/exif.c
// pkgs: libjpeg
#include <stdlib.h>
#include <string.h>

#include "omogon/picture.h"

#include "source/exif.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

/* Larger pictures show nothing new and take a second each; the size limit itself has its
 * own test. */
static bool is_large(const uint8_t *bytes, size_t size)
{
    for (size_t at = 0; at + 9 <= size; at++) {
        unsigned height, width;

        if (bytes[at] != 0xff || (bytes[at + 1] & 0xf0) != 0xc0)
            continue;
        height = (unsigned)bytes[at + 5] << 8 | bytes[at + 6];
        width = (unsigned)bytes[at + 7] << 8 | bytes[at + 8];
        if (height * width > 256u * 1024u)
            return true;
    }
    return false;
}

static uint64_t sum_of(const uint8_t *plane, int stride, int width, int height)
{
    uint64_t sum = 1469598103934665603u;

    for (int row = 0; row < height; row++)
        for (int x = 0; x < width; x++)
            sum =
                (sum ^ plane[(size_t)row * (size_t)stride + (size_t)x]) * 1099511628211u;
    return sum;
}

static uint64_t chroma_sum(const struct omo_planes *p, bool damaged)
{
    int rows = p->chroma_height;

#ifdef OMO_PLANTED_FAULT
    /* As a reader would that trusts a damaged picture's size: one row of MCUs too far. */
    rows += damaged ? 16 : 0;
#else
    (void)damaged;
#endif
    return sum_of(p->cb, p->chroma_stride, p->chroma_width, rows) ^
           sum_of(p->cr, p->chroma_stride, p->chroma_width, rows) * 3u;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    struct omo_jpeg *jpeg;
    struct omo_planes planes;
    static volatile uint64_t touched;
    uint64_t sums[2] = {0, 0};
    bool damaged = false;

    (void)omo_exif_orientation(bytes, size);
    if (is_large(bytes, size))
        return 0;
    jpeg = omo_jpeg_create();
    if (jpeg == NULL)
        return 0;
    for (int need_luma = 0; need_luma < 2; need_luma++) {
        if (omo_jpeg_decode(jpeg, bytes, size, need_luma, &planes, &damaged) != OMO_OK)
            break;
        sums[need_luma] = chroma_sum(&planes, damaged);
        if (planes.y != NULL)
            touched = sum_of(planes.y, planes.y_stride, planes.width, planes.height);
        /* Colour may not depend on whether luma was wanted. */
        if (need_luma == 1 && sums[0] != sums[1])
            abort();
    }
    (void)touched;
    omo_jpeg_destroy(jpeg);
    return 0;
}
