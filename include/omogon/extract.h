/** One person's rows out of every table of a record, as the bytes of files. */
#ifndef OMOGON_EXTRACT_H
#define OMOGON_EXTRACT_H

#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Gets one file: its name in a record's folder ("sessions.csv"), lent bytes. Anything
 * but OMO_OK ends it. */
typedef enum omo_status (*omo_extract_file)(const char *name, const char *bytes,
                                            size_t size, void *user);

/**
 * Under the folder's lock: hands over sessions.csv and every other table that has rows of
 * the person, with these rows alone; of set-ups.csv those that the sessions name. The
 * same record gives the same bytes. One sentence on failure: OMO_ERR_EMPTY for somebody
 * of whom there is nothing; else as omo_record_open(), or what the hook returned.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_record_extract(const char *directory,
                                                          const char *person,
                                                          omo_extract_file hook,
                                                          void *user);

#ifdef __cplusplus
}
#endif

#endif
