/** Reads a settings file of groups and keys, and says where a mistake is. */
#ifndef OMO_MOTION_KEYS_H
#define OMO_MOTION_KEYS_H

#include <stdbool.h>
#include <stddef.h>

#include <glib.h>

#include "omogon/status.h"

/** An open file. Once something is wrong `failed` stays set and later reads are silent:
 *  one sentence a file. */
struct omo_keys {
    GKeyFile *file;
    const char *name; /**< for messages */
    const char *bytes;
    size_t size;
    bool failed;
};

/** Borrows name and bytes (size of them; a NUL after the end is not needed). */
OMO_MUST_CHECK enum omo_status omo_keys_open(const char *bytes, size_t size,
                                             const char *name, struct omo_keys *keys);
void omo_keys_close(struct omo_keys *keys);

/** Says "name, line n: [group] key: ..." once; key may be NULL. */
void omo_keys_mistake(struct omo_keys *keys, const char *group, const char *key,
                      const char *format, ...) OMO_PRINTF(4, 5);

/** A text of 1 to size - 1 bytes. */
void omo_keys_text(struct omo_keys *keys, const char *group, const char *key, char *out,
                   size_t size);
void omo_keys_number(struct omo_keys *keys, const char *group, const char *key,
                     double lowest, double highest, double *out);
/** Index of the value among `words` (NULL-terminated). */
void omo_keys_choice(struct omo_keys *keys, const char *group, const char *key,
                     const char *const *words, int *out);
/** Bits of the words in a list separated by ';'; at least one. */
void omo_keys_choices(struct omo_keys *keys, const char *group, const char *key,
                      const char *const *words, unsigned *bits);
/** A mistake when the group has a key that is not among `allowed` (NULL-terminated). */
void omo_keys_only(struct omo_keys *keys, const char *group, const char *const *allowed);
/** A mistake when there is a group that is not among `allowed` (NULL-terminated). */
void omo_keys_groups(struct omo_keys *keys, const char *const *allowed);

#endif
