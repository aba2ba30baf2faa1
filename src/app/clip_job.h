/** One clip from its bytes to finished traces and rows; runs on a worker's thread. */
#ifndef OMO_APP_CLIP_JOB_H
#define OMO_APP_CLIP_JOB_H

#include <glib.h>
#include <stdbool.h>

#include "app/options.h"
#include "app/pipeline.h"
#include "omogon/sides.h"
#include "omogon/tables.h"

/** A stretch of a clip, in its own time stamps. */
struct omo_stretch {
    double start_s, end_s; /**< NAN: from the beginning, to the end */
};

/** How a clip is measured, and which stretches of it. */
struct omo_work {
    const struct omo_plan *plan; /**< side_count of them, one a side */
    int side_count;              /**< 2: both arms at once */
    const struct omo_stretch *stretch;
    int stretch_count;                    /**< at least 1 */
    const struct omo_option_words *words; /**< as typed; NULL: no provenance is wanted */
    const char *overlay, *sheet; /**< files to draw one movement in; NULL: none */
    GArray *corrections; /**< struct omo_correction; NULL: none. Of one clip alone, since
                              what was measured is noted there */
};

struct omo_shards;

/** What all clips of a run share. */
struct omo_run {
    struct omo_record *record; /**< under lock */
    char directory[4096];      /**< of the record; a row's trace is below it */
    bool picture, show_head;
    bool budget; /**< wanted: a clip that is known is measured again for it */
    const struct omo_shards *shards; /**< what other processes measured; NULL: none */
    GMutex lock;
    GCond changed;
    int next_claim; /**< under lock: names are claimed in the order of the arguments */
};

/** What one movement of a clip came to. */
struct omo_outcome {
    enum { OMO_OUTCOME_FAILED, OMO_OUTCOME_KNOWN, OMO_OUTCOME_NEW } kind;
    struct omo_session_row row;
    struct omo_set_up_row set_up; /**< of a NEW one; to be saved before the row */
    struct omo_trace_file *trace; /**< still claimed when NEW */
    bool gathered;                /**< NEW, and taken from a shard */
    char picture[512];            /**< path of the written picture, or "" */
    char circles[256];            /**< of a pendulum, a sentence; or "" */
    bool compared;                /**< with the other arm; both outcomes have this then */
    struct omo_side_difference difference;
    struct omo_budget budget[OMO_MAXIMUM_COUNT]; /**< when it is wanted */
};

struct omo_clip_job {
    struct omo_run *run;
    const struct omo_work *work;
    const char *path;
    int number;                  /**< place among the arguments */
    struct omo_outcome *outcome; /**< side_count for each stretch */
    bool failed;                 /**< the exit code becomes 1 */
    bool done;                   /**< under run->lock */
    gint done_permille;          /**< atomic, for the progress line */
};

/** Measures; the caller then appends the NEW rows in order and closes their traces. */
void omo_clip_job_run(struct omo_clip_job *job);

#endif
