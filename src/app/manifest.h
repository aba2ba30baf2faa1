/** A whole study out of a table: `omogon trace --manifest`. */
#ifndef OMO_APP_MANIFEST_H
#define OMO_APP_MANIFEST_H

#include <stdbool.h>

#include "app/clip_job.h"
#include "app/options.h"

/** A row of a manifest: a movement of a clip. */
struct omo_manifest_row {
    int line;   /**< in the file, the header is line 1 */
    char *clip; /**< path; one that is not absolute is from the manifest's folder on */
    struct omo_option_words words; /**< the call's own, where the row's cell is empty */
    struct omo_stretch stretch;
};

/** Reads a manifest; the rows are to be freed by omo_manifest_free(). `common` has what
 * the call says for every row. One sentence on failure, with the line. */
OMO_MUST_CHECK enum omo_status omo_manifest_read(const char *path,
                                                 const struct omo_option_words *common,
                                                 GArray **out);
void omo_manifest_free(GArray *rows);

/** What a study is called with; texts are lent, NULL: not given. */
struct omo_study {
    const struct omo_option_words *words;
    const char *manifest, *shard, *protocol;
    bool json;
    int jobs;
};
/** Measures all rows, those of the shard alone, or gathers what shards measured; returns
 *  the exit code. */
int omo_study_run(const struct omo_study *study);

#endif
