/** What the files of a clip's job share. */
#ifndef OMO_APP_CLIP_PIECE_H
#define OMO_APP_CLIP_PIECE_H

#include "app/clip_job.h"

/** One movement while its clip is being read. */
struct piece {
    const struct omo_stretch *stretch;
    struct omo_outcome *outcome;
    const struct omo_plan *plan; /**< its side's */
    int which;                   /**< place of its side among what is tracked */
    bool wanted, picture_wanted; /**< has to be measured, and drawn, in this run */
    bool measured;
    size_t count; /**< of rows */
    struct omo_trace_row *rows;
    struct omo_result result;
};

/* ---- clip_claim.c --------------------------------------------------------------------
 */

int omo_clip_piece_count(const struct omo_clip_job *job);
/** Where the picture of a trace lies. */
void omo_clip_picture_path(const struct omo_run *run, const char *trace, char *out,
                           size_t size);
/**
 * In the job's turn gives each movement its row, and a trace unless it has been measured
 * before, here or by a shard; `opened` is what opening the clip came to, which is handed
 * back when it is no OMO_OK. One sentence on failure.
 */
OMO_MUST_CHECK enum omo_status omo_clip_claim(struct omo_clip_job *job,
                                              enum omo_status opened, const char *content,
                                              const struct omo_source_info *info,
                                              struct piece *piece);

#endif
