#include "app/shards.h"

#include <stdio.h>
#include <string.h>

#include <glib.h>

struct shard {
    char *directory;
    struct omo_record *record;
    struct omo_table *set_ups;
};
struct found {
    const struct shard *shard;
    const struct omo_session_row *row;
};
struct omo_shards {
    GPtrArray *shards; /* struct shard */
    GHashTable *rows;  /* id, lent by a row, to struct found */
};

char *omo_shard_folder(const char *directory, int number, int count)
{
    return g_strdup_printf("%s/shard-%d-of-%d", directory, number, count);
}

static void shard_free(gpointer data)
{
    struct shard *shard = data;
    omo_record_close(shard->record);
    omo_table_close(shard->set_ups);
    g_free(shard->directory);
    g_free(shard);
}

static gint by_name(gconstpointer a, gconstpointer b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/** Names of the shards' folders, in order, so that what is taken does not depend on how a
 *  folder is listed. */
static GPtrArray *folders_in(const char *directory)
{
    GPtrArray *names = g_ptr_array_new_with_free_func(g_free);
    g_autoptr(GDir) folder = g_dir_open(directory, 0, NULL);
    for (const char *name; folder && (name = g_dir_read_name(folder));) {
        int number, count, end = 0;
        if (sscanf(name, "shard-%d-of-%d%n", &number, &count, &end) == 2 && !name[end])
            g_ptr_array_add(names, g_strdup(name));
    }
    g_ptr_array_sort(names, by_name);
    return names;
}

enum omo_status omo_shards_open(const char *directory, struct omo_shards **out)
{
    g_autoptr(GPtrArray) names = folders_in(directory);
    struct omo_shards *shards = g_new0(struct omo_shards, 1);
    enum omo_status status = OMO_OK;
    shards->shards = g_ptr_array_new_with_free_func(shard_free);
    shards->rows = g_hash_table_new_full(g_str_hash, g_str_equal, NULL, g_free);
    for (guint k = 0; status == OMO_OK && k < names->len; k++) {
        struct shard *shard = g_new0(struct shard, 1);
        shard->directory =
            g_build_filename(directory, (char *)g_ptr_array_index(names, k), NULL);
        g_ptr_array_add(shards->shards, shard);
        status = omo_record_open(shard->directory, true, &shard->record);
        if (status == OMO_OK)
            status = omo_table_open(shard->directory, OMO_TABLE_SET_UPS, &shard->set_ups);
        for (size_t i = 0; status == OMO_OK && i < omo_record_count(shard->record); i++) {
            const struct omo_session_row *row = omo_record_row(shard->record, i);
            struct found *found = g_new(struct found, 1);
            *found = (struct found){shard, row};
            if (strcmp(row->status, "ok") != 0)
                g_free(found);
            else
                g_hash_table_replace(shards->rows, (gpointer)(uintptr_t)row->id, found);
        }
    }
    if (status == OMO_OK)
        *out = shards;
    else
        omo_shards_close(shards);
    return status;
}

void omo_shards_close(struct omo_shards *shards)
{
    if (!shards)
        return;
    g_hash_table_unref(shards->rows);
    g_ptr_array_unref(shards->shards);
    g_free(shards);
}

const struct omo_session_row *omo_shards_find(const struct omo_shards *shards,
                                              const char *id, const char **directory)
{
    const struct found *found = g_hash_table_lookup(shards->rows, id);
    if (!found)
        return NULL;
    *directory = found->shard->directory;
    return found->row;
}

bool omo_shards_set_up(const struct omo_shards *shards, const struct omo_session_row *row,
                       struct omo_set_up_row *out)
{
    const struct found *found = g_hash_table_lookup(shards->rows, row->id);
    for (size_t i = 0; found && i < omo_table_count(found->shard->set_ups); i++) {
        const struct omo_set_up_row *set_up = omo_table_row(found->shard->set_ups, i);
        if (!strcmp(set_up->id, row->set_up)) {
            *out = *set_up;
            return true;
        }
    }
    return false;
}
