/** The clips a call names: files, folders and lists, and the content of each. */
#ifndef OMO_APP_INPUTS_H
#define OMO_APP_INPUTS_H

#include <glib.h>
#include <stdbool.h>
#include <stddef.h>

#include "omogon/status.h"

/**
 * Expands the words of a call: a folder becomes the clips in it by name, a list file
 * (one path a line, "-" for standard input) its lines. Returns paths to be freed with
 * g_ptr_array_unref. A folder without a clip and an unreadable list are said and counted
 * in *failed.
 */
GPtrArray *omo_inputs_expand(char **words, const char *list, int *failed);

/** SHA-256 (64 hex digits) of a clip's bytes; of all pictures of a numbered sequence. */
OMO_MUST_CHECK enum omo_status omo_input_hash(const char *path, char out[65]);

/** "arm.mp4" of "/x/arm.mp4": safe inside a file name, without the ending. */
void omo_input_stem(const char *path, char *out, size_t size);

#endif
