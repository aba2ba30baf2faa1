/* The annotated still: what is drawn over the photograph and written below it. */
#include "omogon/draw.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "draw/head.h"
#include "draw/still_layout.h"
#include "omogon/files.h"
#include "omogon/log.h"

#define JPEG_QUALITY 90
/* A smaller picture is enlarged, or no word on it could be read. */
#define LEAST_PX 480
#define MOST_PX  16384

/** Whole-number factor by which the photograph is enlarged. */
static int enlargement(int width, int height)
{
    int least = width < height ? width : height, most = width < height ? height : width;
    int factor = (LEAST_PX + least - 1) / least;
    return factor * most > MOST_PX ? (most < MOST_PX ? MOST_PX / most : 1) : factor;
}

/** Repeats every pixel factor times both ways. */
static void enlarge(const uint32_t *from, int width, int height, int factor, uint32_t *to)
{
    size_t row = (size_t)width * (size_t)factor;
    for (int y = 0; y < height; y++) {
        uint32_t *first = to + (size_t)y * (size_t)factor * row;
        for (int x = 0; x < width; x++)
            for (int i = 0; i < factor; i++)
                first[x * factor + i] = from[(size_t)y * (size_t)width + (size_t)x];
        for (int i = 1; i < factor; i++)
            memcpy(first + (size_t)i * row, first, row * sizeof *first);
    }
}

/** The photograph upright and enlarged at the top of pixels. */
static enum omo_status photograph(const struct omo_still *still, int factor,
                                  uint32_t *pixels)
{
    const struct omo_planes *planes = still->planes;
    bool turned = (still->quarter_turns & 1) != 0;
    int width = turned ? planes->height : planes->width;
    int height = turned ? planes->width : planes->height;
    if (factor == 1)
        return omo_planes_to_rgb32(planes, still->quarter_turns, pixels);

    uint32_t *small = malloc((size_t)width * (size_t)height * sizeof *small);
    if (small == NULL)
        return OMO_ERR_MEMORY;
    enum omo_status status = omo_planes_to_rgb32(planes, still->quarter_turns, small);
    if (status == OMO_OK)
        enlarge(small, width, height, factor, pixels);
    free(small);
    return status;
}

/** Finds the regions to cover; *count 0 when the head is to be shown. */
static enum omo_status heads(const struct omo_still *still,
                             struct omo_head_region region[OMO_HEAD_REGIONS], int *count)
{
    struct omo_layout proportions;
    *count = 0;
    if (still->show_head)
        return OMO_OK;
    enum omo_status status = omo_layout_load(NULL, &proportions);
    if (status != OMO_OK)
        return status;
    *count = omo_head_regions(still->settings, still->row, still->result, &proportions,
                              region);
    return *count > 0 ? OMO_OK : OMO_ERR_EMPTY;
}

enum omo_status omo_still_paint(const struct omo_still *still, uint32_t **pixels,
                                int *width, int *height)
{
    if (still == NULL || still->planes == NULL || still->planes->y == NULL ||
        still->row == NULL || still->result == NULL || still->settings == NULL ||
        still->settings->movement == NULL)
        return OMO_ERR_ARG;
    struct omo_head_region region[OMO_HEAD_REGIONS];
    int count;
    enum omo_status status = heads(still, region, &count);
    if (status != OMO_OK)
        return status;

    bool turned = (still->quarter_turns & 1) != 0;
    int wide = turned ? still->planes->height : still->planes->width;
    int high = turned ? still->planes->width : still->planes->height;
    struct omo_still_layout layout;
    omo_still_compose(still, wide, high, enlargement(wide, high), region, count, &layout);
    uint32_t *all = calloc((size_t)layout.width * (size_t)layout.height, sizeof *all);
    status = all == NULL ? OMO_ERR_MEMORY : photograph(still, layout.factor, all);
    if (status == OMO_OK)
        status = omo_figure_paint(layout.figure, all, layout.width, layout.height,
                                  layout.width);
    omo_figure_destroy(layout.figure);
    if (status != OMO_OK) {
        free(all);
        return status;
    }
    *pixels = all;
    *width = layout.width;
    *height = layout.height;
    return OMO_OK;
}

enum omo_status omo_still_write(const struct omo_still *still, const char *path)
{
    uint32_t *pixels = NULL;
    uint8_t *bytes = NULL;
    size_t size = 0;
    int width, height;
    if (path == NULL)
        return OMO_ERR_ARG;
    enum omo_status status = omo_still_paint(still, &pixels, &width, &height);
    if (status == OMO_ERR_EMPTY)
        omo_error("no picture was written: where the head is cannot be told from the "
                  "markers seen in frame %lld, so it could not be covered; a hip marker "
                  "settles it",
                  (long long)still->row->frame);
    else if (status != OMO_OK && status != OMO_ERR_ARG)
        omo_error("the photograph for %s could not be prepared: %s", path,
                  omo_status_text(status));
    if (status != OMO_OK)
        return status;
    status =
        omo_jpeg_encode_rgb32(pixels, width, height, width, JPEG_QUALITY, &bytes, &size);
    free(pixels);
    if (status != OMO_OK) {
        omo_error("%s could not be compressed: %s", path, omo_status_text(status));
        return status;
    }
    status = omo_file_write_atomic(path, bytes, size, 0600);
    free(bytes);
    return status;
}
