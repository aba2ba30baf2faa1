/** Whole files that are there or not there, never half; and folders for them. */
#ifndef OMOGON_FILES_H
#define OMOGON_FILES_H

#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Writes `path` in one step: a hidden file in the same folder, synced, then renamed, the
 *  folder synced. A reader sees the old file or the new one. An existing file is
 * replaced. Permissions are exactly `mode`. OMO_ERR_IO with one sentence; the old file
 * stays. */
OMO_API OMO_MUST_CHECK enum omo_status omo_file_write_atomic(const char *path,
                                                             const void *bytes,
                                                             size_t size, unsigned mode);

/** The same in pieces. add and commit say a sentence on failure and release everything.
 */
struct omo_atomic_file;
/** Makes the hidden file. */
OMO_API OMO_MUST_CHECK enum omo_status omo_atomic_begin(const char *path, unsigned mode,
                                                        struct omo_atomic_file **out);
/** Adds bytes to it. */
OMO_API OMO_MUST_CHECK enum omo_status omo_atomic_add(struct omo_atomic_file *file,
                                                      const void *bytes, size_t size);
/** Puts it in the place of `path` and frees it. */
OMO_API OMO_MUST_CHECK enum omo_status omo_atomic_commit(struct omo_atomic_file *file);
/** Gives up; the old file stays. NULL is fine. */
OMO_API void omo_atomic_abort(struct omo_atomic_file *file);

/** Removes what killed runs left of such writes in a folder. Files that another program
 * is writing now are left alone. Silent. */
OMO_API void omo_atomic_sweep(const char *folder);

/** Makes a folder and those above it, mode 0700, durable. One that is there is left as it
 *  is. OMO_ERR_OPEN when the path is something else, OMO_ERR_IO; one sentence. */
OMO_API OMO_MUST_CHECK enum omo_status omo_folder_make(const char *path);

/** Removes a folder and everything in it; a link to a folder goes, not what it leads to.
 * Silent: what cannot be removed stays. */
OMO_API void omo_folder_remove(const char *path);

/** Reads a whole file; *bytes gets a NUL after its end; free() it. OMO_ERR_OPEN when it
 *  cannot be opened (silent, errno kept), OMO_ERR_IO with a sentence, OMO_ERR_FORMAT when
 * it is longer than `limit`, with a sentence. */
OMO_API OMO_MUST_CHECK enum omo_status omo_file_read(const char *path, size_t limit,
                                                     char **bytes, size_t *size);

/** Writes all bytes to a descriptor, going on after short writes. 0 or the errno. */
OMO_API OMO_MUST_CHECK int omo_write_all(int descriptor, const void *bytes, size_t size);
/** What a person can do about an errno, as the end of a sentence ("; free some space
 * ...") or "". */
OMO_API const char *omo_errno_remedy(int error);
/** Syncs a folder's entries. 0 or the errno; file systems that cannot count as done. */
OMO_API OMO_MUST_CHECK int omo_folder_sync(const char *folder);

#ifdef __cplusplus
}
#endif

#endif
