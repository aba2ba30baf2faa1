/** A bundle: some files in one, with what each has to be. */
#ifndef OMO_APP_BUNDLE_FILE_H
#define OMO_APP_BUNDLE_FILE_H

#include <glib.h>

#include "omogon/status.h"

#define OMO_BUNDLE_FORMAT  "omogon-bundle"
#define OMO_BUNDLE_VERSION 1

/** One file of it; owned. */
struct omo_bundle_entry {
    char *name; /* "sessions.csv", "traces/NAME.trace.csv" */
    char *bytes;
    size_t size;
};
struct omo_bundle {
    char *person;     /* whose rows these are */
    GPtrArray *files; /* struct omo_bundle_entry *, without the list itself */
};

struct omo_bundle *omo_bundle_create(const char *person);
void omo_bundle_free(struct omo_bundle *bundle);
/** Takes a copy of the bytes. */
void omo_bundle_add(struct omo_bundle *bundle, const char *name, const char *bytes,
                    size_t size);
const struct omo_bundle_entry *omo_bundle_find(const struct omo_bundle *bundle,
                                               const char *name);

/** A compressed tar archive as bytes: the list with sizes and SHA-256 sums first, then
 * the files. The same files give the same bytes. One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_bundle_pack(const struct omo_bundle *bundle,
                                               GByteArray **out);
/**
 * Reads one from bytes; `path` is for sentences. Every file has to be in the list with
 * its size and sum, under a name that a record has; links, folders outside and more than
 * a bundle can hold are refused. One sentence on failure, nothing is made then:
 * OMO_ERR_FORMAT, OMO_ERR_DAMAGED, OMO_ERR_MEMORY.
 */
OMO_MUST_CHECK enum omo_status omo_bundle_unpack(const char *bytes, size_t size,
                                                 const char *path,
                                                 struct omo_bundle **out);

#endif
