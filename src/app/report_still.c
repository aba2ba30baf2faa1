/* A picture that the person agreed to, for a report. */
#include <errno.h>
#include <stdlib.h>

#include <glib.h>

#include "app/report_content.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/picture.h"

#define MOST_BYTES   ((size_t)64 << 20)
#define MOST_PX      1600 /* at half a page's width this is over 400 dots an inch */
#define JPEG_QUALITY 88

/** Every step-th pixel's block as its mean, into the same memory. */
static void shrink(uint32_t *pixels, int *width, int *height, int step)
{
    int wide = *width / step, high = *height / step, all = step * step;
    for (int y = 0; y < high; y++)
        for (int x = 0; x < wide; x++) {
            int sum[3] = {0};
            for (int i = 0; i < all; i++) {
                uint32_t pixel = pixels[(size_t)(y * step + i / step) * (size_t)*width +
                                        (size_t)(x * step + i % step)];
                for (int c = 0; c < 3; c++)
                    sum[c] += pixel >> (8 * c) & 0xff;
            }
            uint32_t mean = 0xff000000;
            for (int c = 0; c < 3; c++)
                mean |= (uint32_t)((sum[c] + all / 2) / all) << (8 * c);
            pixels[(size_t)y * (size_t)wide + (size_t)x] = mean;
        }
    *width = wide;
    *height = high;
}

static enum omo_status compress(const struct omo_planes *planes,
                                struct omo_report_still *out)
{
    int width = planes->width, height = planes->height;
    int most = MAX(width, height), step = (most + MOST_PX - 1) / MOST_PX;
    g_autofree uint32_t *pixels =
        g_try_malloc_n((size_t)width * (size_t)height, sizeof *pixels);
    if (!pixels)
        return OMO_ERR_MEMORY;
    enum omo_status status = omo_planes_to_rgb32(planes, 0, pixels);
    if (status == OMO_OK && step > 1)
        shrink(pixels, &width, &height, step);
    if (status == OMO_OK)
        status = omo_jpeg_encode_rgb32(pixels, width, height, width, JPEG_QUALITY,
                                       &out->jpeg, &out->jpeg_size);
    out->width = width;
    out->height = height;
    return status;
}

enum omo_status omo_report_still_read(const char *path, struct omo_report_still *out)
{
    struct omo_report_still still = {0};
    struct omo_planes planes;
    char *bytes = NULL;
    size_t size = 0;
    bool damaged = false;
    enum omo_status status = omo_file_read(path, MOST_BYTES, &bytes, &size);
    if (status == OMO_ERR_OPEN)
        omo_error("--still %s cannot be opened: %s", path, g_strerror(errno));
    if (status != OMO_OK)
        return status;
    struct omo_jpeg *jpeg = omo_jpeg_create();
    status = jpeg ? omo_jpeg_decode(jpeg, (const uint8_t *)bytes, size, true, &planes,
                                    &damaged)
                  : OMO_ERR_MEMORY;
    if (status == OMO_OK && !damaged)
        status = compress(&planes, &still);
    if (damaged || status == OMO_ERR_FORMAT || status == OMO_ERR_DAMAGED) {
        omo_error("--still %s is no whole JPEG; \"omogon trace --picture\" writes one",
                  path);
        status = OMO_ERR_FORMAT;
    } else if (status != OMO_OK) {
        omo_error("--still %s could not be prepared: %s", path, omo_status_text(status));
    }
    omo_jpeg_destroy(jpeg);
    free(bytes);
    if (status == OMO_OK)
        *out = still;
    return status;
}
