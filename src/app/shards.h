/** What other processes of the same study measured, each into a folder of its own. */
#ifndef OMO_APP_SHARDS_H
#define OMO_APP_SHARDS_H

#include "omogon/record.h"
#include "omogon/tables.h"

struct omo_shards;
/** Looks for "shard-I-of-N" below a folder; there may be none. One sentence on failure.
 */
OMO_MUST_CHECK enum omo_status omo_shards_open(const char *directory,
                                               struct omo_shards **out);
void omo_shards_close(struct omo_shards *shards);
/** The row with this id; NULL: no shard has measured it. Lent. *directory is the shard's.
 */
const struct omo_session_row *omo_shards_find(const struct omo_shards *shards,
                                              const char *id, const char **directory);
/** The set-up that a row of a shard names; false: there is none. */
bool omo_shards_set_up(const struct omo_shards *shards, const struct omo_session_row *row,
                       struct omo_set_up_row *out);
/** "DIRECTORY/shard-2-of-8"; g_free() it. */
char *omo_shard_folder(const char *directory, int number, int count);

#endif
