/** Many clips at once, saved and told in the order of the call. */
#ifndef OMO_APP_CLIP_RUN_H
#define OMO_APP_CLIP_RUN_H

#include "app/clip_job.h"

/**
 * Measures all jobs (their work and path are filled in), `job_count` at a time, and saves
 * and tells them one after the other; run->record is open. False when one of them failed,
 * which was said. The outcomes stay until omo_clip_run_finish().
 */
bool omo_clip_run(struct omo_run *run, struct omo_clip_job *jobs, guint count,
                  int job_count, bool json);
/** One job, saved and told to nobody: its trace lies in the record's folder without a
 * row.
 */
bool omo_clip_measure_alone(struct omo_run *run, struct omo_clip_job *job);
void omo_clip_run_finish(struct omo_clip_job *jobs, guint count);

#endif
