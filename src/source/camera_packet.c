/* A packet, and what a JPEG says about itself. */
#include <stdlib.h>

#include "source/camera_parts.h"

void omo_packet_finish(struct omo_packet *packet)
{
    free(packet->bytes);
    *packet = (struct omo_packet){0};
}

/* SOF0 to SOF15 but for the tables and extensions among them. */
static bool is_frame_header(uint8_t marker)
{
    return marker >= 0xc0 && marker <= 0xcf && marker != 0xc4 && marker != 0xc8 &&
           marker != 0xcc;
}

/* Segments before the picture data: ff, marker, length with itself, content
 * (ITU-T T.81 annex B). */
bool omo_camera_jpeg_size(const uint8_t *bytes, size_t size, int *width, int *height)
{
    size_t at = 2;

    if (size < 4 || bytes[0] != 0xff || bytes[1] != 0xd8)
        return false;
    while (at + 4 <= size) {
        size_t length;

        if (bytes[at] != 0xff)
            return false;
        if (bytes[at + 1] == 0xff) { /* fill bytes may stand before a marker */
            at++;
            continue;
        }
        length = (size_t)bytes[at + 2] << 8 | bytes[at + 3];
        if (is_frame_header(bytes[at + 1])) {
            if (at + 9 > size)
                return false;
            *height = bytes[at + 5] << 8 | bytes[at + 6];
            *width = bytes[at + 7] << 8 | bytes[at + 8];
            return *width > 0 && *height > 0;
        }
        if (length < 2 || bytes[at + 1] == 0xda)
            return false;
        at += 2 + length;
    }
    return false;
}
