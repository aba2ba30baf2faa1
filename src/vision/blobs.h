/**
 * From chroma planes to connected patches of one colour class: look-up table, runs,
 * union-find. Nothing is blurred, eroded or converted; one pass over the planes.
 */
#ifndef OMO_VISION_BLOBS_H
#define OMO_VISION_BLOBS_H

#include "colour.h"

/** One connected patch, in chroma samples. */
struct omo_blob {
    int class_index;
    int area;
    int left, right, top, bottom; /**< inclusive */
    double x, y;                  /**< plain mean of its samples */
    int first_run;                /**< its runs are those with this root_of_run */
};

/** Runs of a row that have one class; patches are lists of them. */
struct omo_run {
    int16_t row, begin, end; /**< end is the last sample */
    uint8_t class_index;
    int32_t parent; /**< union-find */
    int32_t blob;   /**< of a first run: its patch, or -1 */
};

struct omo_blobs {
    struct omo_run *runs;
    int run_count, run_room;
    int32_t *root_of_run; /**< first run of the patch a run belongs to */
    struct omo_blob *blobs;
    int count, room;
    bool
        overflow; /**< more runs than there is room: the picture is noise to this table */
};

/** Buffers for planes of this size; keeps what is there when it is large enough. */
OMO_MUST_CHECK enum omo_status omo_blobs_reserve(struct omo_blobs *blobs, int width,
                                                 int height);
void omo_blobs_finish(struct omo_blobs *blobs);

/** Fills blobs->blobs with all patches of at least min_area samples, in the order of
 *  their first rows. */
void omo_blobs_find(struct omo_blobs *blobs, const struct omo_planes *planes,
                    const struct omo_lut *lut, int min_area);

#endif
