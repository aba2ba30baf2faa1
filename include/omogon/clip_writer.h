/** A video out of JPEG pictures, as they are. */
#ifndef OMOGON_CLIP_WRITER_H
#define OMOGON_CLIP_WRITER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

struct omo_clip_writer;
/** Whether the ending of a name is one that can be written: .mkv or .avi, in any case. */
OMO_API bool omo_clip_writer_takes(const char *path);
/** Begins a video of motion JPEG in a hidden file beside `path`, which ends in .mkv or
 * .avi; mode 0600. One sentence on failure: OMO_ERR_ARG for another ending, OMO_ERR_IO.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_clip_writer_begin(
    const char *path, int width, int height, double frames_per_second,
    struct omo_clip_writer **out);
/** Adds a JPEG of that size shown from time_s on, counted from the video's beginning;
 * times rise. One sentence on failure. */
OMO_API OMO_MUST_CHECK enum omo_status omo_clip_writer_add(struct omo_clip_writer *writer,
                                                           const uint8_t *jpeg,
                                                           size_t size, double time_s);
/** Ends it and, when `keep`, puts it in its place: mode 0600, the file and its folder
 *  synced; frees the writer. `keep` false takes it away. One sentence on failure,
 *  OMO_ERR_IO: nothing is there then, or a whole file whose folder could not be synced.
 *  NULL is fine. */
OMO_API OMO_MUST_CHECK enum omo_status omo_clip_writer_end(struct omo_clip_writer *writer,
                                                           bool keep);

#ifdef __cplusplus
}
#endif

#endif
