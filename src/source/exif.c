#include "source/exif.h"

#include <stdbool.h>
#include <string.h>

/* A TIFF block (TIFF 6.0, Exif 2.3 section 4.5) with bounds checked at every read. */
struct tiff {
    const uint8_t *bytes;
    size_t size;
    bool big_endian;
};

static unsigned read_number(const struct tiff *t, size_t at, int length)
{
    unsigned value = 0;

    if (at > t->size || t->size - at < (size_t)length)
        return 0;
    for (int i = 0; i < length; i++)
        value = value << 8 | t->bytes[at + (size_t)(t->big_endian ? i : length - 1 - i)];
    return value;
}

static int orientation_of(const uint8_t *bytes, size_t size)
{
    struct tiff t = {bytes, size, size > 0 && bytes[0] == 'M'};
    size_t directory = read_number(&t, 4, 4);
    unsigned entries = read_number(&t, directory, 2);

    for (unsigned i = 0; i < entries; i++) {
        size_t entry = directory + 2 + 12 * (size_t)i;

        if (entry >= size)
            break;
        if (read_number(&t, entry, 2) == 0x0112) {
            unsigned value = read_number(&t, entry + 8, 2);

            return value >= 1 && value <= 8 ? (int)value : 1;
        }
    }
    return 1;
}

int omo_exif_orientation(const uint8_t *bytes, size_t size)
{
    static const char mark[6] = "Exif\0";
    size_t at = 2;

    /* Segments up to the start of scan: ff, marker, big-endian length of the rest. */
    while (at + 4 <= size && bytes[at] == 0xff && bytes[at + 1] != 0xda) {
        size_t length = (size_t)bytes[at + 2] << 8 | bytes[at + 3];

        if (length < 2 || length > size - at - 2)
            break;
        if (bytes[at + 1] == 0xe1 && length >= 2 + sizeof mark &&
            memcmp(bytes + at + 4, mark, sizeof mark) == 0)
            return orientation_of(bytes + at + 4 + sizeof mark, length - 2 - sizeof mark);
        at += 2 + length;
    }
    return 1;
}
