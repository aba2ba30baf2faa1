/** What a trace was made of, so that it can be made again to the bit. */
#ifndef OMO_APP_PROVENANCE_H
#define OMO_APP_PROVENANCE_H

#include "app/clip_job.h"

/** What is known of a finished trace. */
struct omo_provenance {
    const struct omo_work *work;
    const struct omo_plan *plan; /**< its side's */
    const struct omo_stretch *stretch;
    const char *clip;    /**< path; its name alone is written */
    const char *content; /**< SHA-256 of the clip */
    const struct omo_session_row *row;
};
/** Writes "STEM.provenance.json" beside the finished trace, in a record's folder: no
 * path, no person, no host. One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_provenance_write(const char *directory,
                                                    const struct omo_provenance *what);
/** Measures the clip again as such a file says and tells whether the trace is the same to
 *  the bit; returns the exit code. `clip` NULL: looked for beside the file. `data` NULL:
 *  the user's record, where lens profiles are. */
int omo_provenance_again(const char *path, const char *clip, const char *data);

#endif
