// Any bytes as a received bundle: plain tar, since random bytes never unpack.
// sources: src/base/*.c src/record/columns.c src/record/edit_files.c src/record/forms.c
// sources: src/record/id.c src/record/journal.c src/record/ledger.c src/record/ledger_read.c
// sources: src/record/lock.c src/record/tables.c src/motion/quality.c
// sources: src/layout/body.c src/record/dialect.c src/app/bundle_file.c
// pkgs: glib-2.0 libarchive libcjson
// options: -max_len=8192
#include <glib.h>

#include "app/bundle_file.h"
#include "claims.h"

/** What the receiver relies on, whoever made the file. */
static void bundle_is_sound(const struct omo_bundle *bundle)
{
    demand(bundle->person[0] != '\0' && strlen(bundle->person) <= 16, "a code is one");
#ifdef OMO_PLANTED_FAULT
    demand(bundle->person[0] == 'P', "the planted fault");
#endif
    for (guint i = 0; i < bundle->files->len; i++) {
        const struct omo_bundle_entry *entry = g_ptr_array_index(bundle->files, i);
        demand(entry->bytes[entry->size] == '\0', "a file ends");
        demand(entry->name[0] != '/' && entry->name[0] != '.' &&
                   !strstr(entry->name, ".."),
               "a name stays within the folder");
        demand(omo_bundle_find(bundle, entry->name) == entry, "a name is there once");
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    struct omo_bundle *bundle = NULL;
    int before = sentences;
    enum omo_status status =
        omo_bundle_unpack((const char *)bytes, size, "a bundle", &bundle);
    if (status != OMO_OK) {
        demand(bundle == NULL, "a refused one is not handed out");
        demand(sentences == before + 1, "one sentence says why");
        return 0;
    }
    demand(sentences == before, "a good one is silent");
    bundle_is_sound(bundle);
    omo_bundle_free(bundle);
    return 0;
}
