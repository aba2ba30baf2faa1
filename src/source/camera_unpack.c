/* Packets to planes. */
#include <stdlib.h>
#include <string.h>

#include "source/camera_parts.h"

struct room {
    uint8_t *bytes;
    size_t capacity;
};

struct omo_unpacker {
    struct omo_jpeg *jpeg;
    struct room y, cb, cr;
};

enum omo_status omo_unpacker_create(struct omo_unpacker **out)
{
    struct omo_unpacker *unpacker = calloc(1, sizeof *unpacker);

    if (unpacker == NULL)
        return OMO_ERR_MEMORY;
    unpacker->jpeg = omo_jpeg_create();
    if (unpacker->jpeg == NULL) {
        free(unpacker);
        return OMO_ERR_MEMORY;
    }
    *out = unpacker;
    return OMO_OK;
}

void omo_unpacker_destroy(struct omo_unpacker *unpacker)
{
    if (unpacker == NULL)
        return;
    omo_jpeg_destroy(unpacker->jpeg);
    free(unpacker->y.bytes);
    free(unpacker->cb.bytes);
    free(unpacker->cr.bytes);
    free(unpacker);
}

static bool make_room(struct room *room, size_t size)
{
    uint8_t *bigger;

    if (size <= room->capacity)
        return true;
    bigger = malloc(size);
    if (bigger == NULL)
        return false;
    free(room->bytes);
    room->bytes = bigger;
    room->capacity = size;
    return true;
}

/* ---- rows: fixed strides, so that the compiler can do many samples at once ---- */

static void every_second(const uint8_t *restrict in, int count, uint8_t *restrict out)
{
    for (int x = 0; x < count; x++)
        out[x] = in[2 * x];
}

static void every_fourth(const uint8_t *restrict in, int count, uint8_t *restrict out)
{
    for (int x = 0; x < count; x++)
        out[x] = in[4 * x];
}

/* What both raw formats have in common. V4L2 places their chroma samples between the luma
 * samples they belong to ("interstitially sited"). */
static struct omo_planes raw_planes(const struct omo_packet *packet, int scale_y)
{
    struct omo_planes planes = {.width = packet->width,
                                .height = packet->height,
                                .chroma_width = packet->width / 2,
                                .chroma_height = packet->height / scale_y,
                                .scale_x = 2.0,
                                .scale_y = scale_y,
                                .offset_x = 0.5,
                                .offset_y = (scale_y - 1) / 2.0,
                                .colour = packet->colour,
                                .full_range = packet->full_range};

    planes.chroma_stride = planes.chroma_width;
    return planes;
}

static bool chroma_room(struct omo_unpacker *unpacker, struct omo_planes *planes)
{
    size_t size = (size_t)planes->chroma_stride * (size_t)planes->chroma_height;

    if (!make_room(&unpacker->cb, size) || !make_room(&unpacker->cr, size))
        return false;
    planes->cb = unpacker->cb.bytes;
    planes->cr = unpacker->cr.bytes;
    return true;
}

/* Y Cb Y Cr, two pixels in four bytes. */
static enum omo_status unpack_yuyv(struct omo_unpacker *unpacker,
                                   const struct omo_packet *packet, bool need_luma,
                                   struct omo_planes *planes)
{
    struct omo_planes got = raw_planes(packet, 1);
    size_t row_bytes = (size_t)packet->width * 2;

    if (packet->width % 2 != 0 || packet->size < row_bytes * (size_t)packet->height)
        return OMO_ERR_DAMAGED;
    if (!chroma_room(unpacker, &got) ||
        (need_luma && !make_room(&unpacker->y, (size_t)got.width * (size_t)got.height)))
        return OMO_ERR_MEMORY;
    for (int row = 0; row < got.height; row++) {
        const uint8_t *in = packet->bytes + (size_t)row * row_bytes;
        size_t at = (size_t)row * (size_t)got.chroma_stride;

        if (need_luma)
            every_second(in, got.width,
                         unpacker->y.bytes + (size_t)row * (size_t)got.width);
        every_fourth(in + 1, got.chroma_width, unpacker->cb.bytes + at);
        every_fourth(in + 3, got.chroma_width, unpacker->cr.bytes + at);
    }
    if (need_luma) {
        got.y = unpacker->y.bytes;
        got.y_stride = got.width;
    }
    *planes = got;
    return OMO_OK;
}

/* A plane of luma, lent as it lies, then one of Cb and Cr in turn. */
static enum omo_status unpack_nv12(struct omo_unpacker *unpacker,
                                   const struct omo_packet *packet,
                                   struct omo_planes *planes)
{
    struct omo_planes got = raw_planes(packet, 2);
    size_t luma = (size_t)packet->width * (size_t)packet->height;

    if (packet->width % 2 != 0 || packet->height % 2 != 0 ||
        packet->size < luma + luma / 2)
        return OMO_ERR_DAMAGED;
    if (!chroma_room(unpacker, &got))
        return OMO_ERR_MEMORY;
    for (int row = 0; row < got.chroma_height; row++) {
        const uint8_t *in = packet->bytes + luma + (size_t)row * (size_t)packet->width;
        size_t at = (size_t)row * (size_t)got.chroma_stride;

        every_second(in, got.chroma_width, unpacker->cb.bytes + at);
        every_second(in + 1, got.chroma_width, unpacker->cr.bytes + at);
    }
    got.y = packet->bytes;
    got.y_stride = got.width;
    *planes = got;
    return OMO_OK;
}

static enum omo_status unpack_jpeg(struct omo_unpacker *unpacker,
                                   const struct omo_packet *packet, bool need_luma,
                                   struct omo_planes *planes, bool *damaged)
{
    struct omo_planes got;
    bool broken = false;
    enum omo_status status = omo_jpeg_decode(unpacker->jpeg, packet->bytes, packet->size,
                                             need_luma, &got, &broken);

    if (status == OMO_ERR_MEMORY)
        return status;
    /* A header that lies about the size is damage, too. */
    if (status != OMO_OK || got.width != packet->width || got.height != packet->height)
        return OMO_ERR_DAMAGED;
    *planes = got;
    *damaged = broken;
    return OMO_OK;
}

enum omo_status omo_unpack(struct omo_unpacker *unpacker, const struct omo_packet *packet,
                           bool need_luma, struct omo_planes *planes, bool *damaged)
{
    enum omo_status status = OMO_ERR_FORMAT;
    bool broken = false;

    if (packet->bytes == NULL || packet->size == 0 || packet->width < 1 ||
        packet->height < 1)
        return OMO_ERR_DAMAGED;
    if (strcmp(packet->format, "MJPG") == 0)
        status = unpack_jpeg(unpacker, packet, need_luma, planes, &broken);
    else if (strcmp(packet->format, "YUYV") == 0)
        status = unpack_yuyv(unpacker, packet, need_luma, planes);
    else if (strcmp(packet->format, "NV12") == 0)
        status = unpack_nv12(unpacker, packet, planes);
    if (status == OMO_OK && damaged != NULL)
        *damaged = broken;
    return status;
}
