/** The one thing read from a photograph's EXIF block. */
#ifndef OMO_SOURCE_EXIF_H
#define OMO_SOURCE_EXIF_H

#include <stddef.h>
#include <stdint.h>

/** EXIF orientation 1..8 of a JPEG, 1 when there is none. Any bytes are allowed. */
int omo_exif_orientation(const uint8_t *bytes, size_t size);

#endif
