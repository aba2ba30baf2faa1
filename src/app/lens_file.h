/** Lens profiles: one key file each in the folder "lenses" of the record, by name, and
 * which camera last used which. */
#ifndef OMO_APP_LENS_FILE_H
#define OMO_APP_LENS_FILE_H

#include <glib.h>
#include <stdbool.h>

#include "omogon/lens.h"

struct omo_lens_profile {
    char name[64];
    char camera[64]; /**< what the camera calls itself; "" not known */
    struct omo_lens lens;
};

/** Of the record at `data` (NULL: the user's own). g_free() it. */
char *omo_lens_folder(const char *data);
/** 1 to 40 letters, digits, '-', '_': safe as a file's name. */
bool omo_lens_name_valid(const char *name);
/** Such a name out of any text. */
void omo_lens_name_from(const char *text, char *out, size_t size);
/** Where the profile of this name is. g_free() it. */
char *omo_lens_path(const char *data, const char *name);

/** By name, or a path to a file. `text` gets what was read, to be freed with g_free();
 *  NULL: not wanted. One sentence on failure: OMO_ERR_OPEN, OMO_ERR_SETTINGS. */
OMO_MUST_CHECK enum omo_status omo_lens_load(const char *data, const char *word,
                                             struct omo_lens_profile *profile,
                                             char **text);
/** The same from memory; `path` is for the sentences and gives the profile its name.
 *  *profile untouched on failure: OMO_ERR_SETTINGS. */
OMO_MUST_CHECK enum omo_status omo_lens_parse(const char *bytes, size_t size,
                                              const char *path,
                                              struct omo_lens_profile *profile);
/** Replaces one that is there. One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_lens_save(const char *data,
                                             const struct omo_lens_profile *profile);
/** Names, sorted; g_ptr_array_unref() it. Empty when there are none. */
GPtrArray *omo_lens_names(const char *data);

/** The profile that this camera used last, into out; "": none. */
void omo_lens_remembered(const char *data, const char *camera, char *out, size_t size);
/** From now on it is this one; "none" counts as a choice too. A failure is only said. */
void omo_lens_remember(const char *data, const char *camera, const char *name);

#endif
