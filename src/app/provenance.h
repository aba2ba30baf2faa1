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
/** Mark of everything of the plan that changes an angle, by nobody's name. */
void omo_provenance_settings(const struct omo_plan *plan, char out[33]);
/** What was placed by hand in a trace of the folder, as its provenance has it; NULL:
 * there is none, or it is of another clip than the one of this SHA-256. g_array_unref()
 * it. */
GArray *omo_provenance_corrections(const char *directory, const char *trace,
                                   const char *content);
/** Where the provenance of a trace is; g_free() it. */
char *omo_provenance_path(const char *directory, const char *trace);
/** Measures the clip again as such a file says and tells whether the trace is the same to
 *  the bit; returns the exit code. `clip` NULL: looked for beside the file. */
int omo_provenance_again(const char *path, const char *clip);

#endif
