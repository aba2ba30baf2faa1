#include "app/bundle_file.h"

#include <string.h>

#include <archive.h>
#include <archive_entry.h>
#include <cjson/cJSON.h>

#include "omogon/log.h"
#include "omogon/record.h"
#include "omogon/tables.h"

#define LIST_NAME     "manifest.json"
#define ENTRIES_MOST  20000
#define BYTES_MOST    ((size_t)512 << 20) /* of all files together */
#define TRACE_ENDING  ".trace.csv"
#define TRACES_FOLDER "traces/"

static void entry_free(gpointer data)
{
    struct omo_bundle_entry *entry = data;
    g_free(entry->name);
    g_free(entry->bytes);
    g_free(entry);
}

struct omo_bundle *omo_bundle_create(const char *person)
{
    struct omo_bundle *bundle = g_new0(struct omo_bundle, 1);
    bundle->person = g_strdup(person);
    bundle->files = g_ptr_array_new_with_free_func(entry_free);
    return bundle;
}

void omo_bundle_free(struct omo_bundle *bundle)
{
    if (!bundle)
        return;
    g_free(bundle->person);
    g_ptr_array_unref(bundle->files);
    g_free(bundle);
}

void omo_bundle_add(struct omo_bundle *bundle, const char *name, const char *bytes,
                    size_t size)
{
    struct omo_bundle_entry *entry = g_new(struct omo_bundle_entry, 1);
    entry->name = g_strdup(name);
    entry->bytes = g_malloc(size + 1);
    memcpy(entry->bytes, bytes, size);
    entry->bytes[size] = '\0';
    entry->size = size;
    g_ptr_array_add(bundle->files, entry);
}

const struct omo_bundle_entry *omo_bundle_find(const struct omo_bundle *bundle,
                                               const char *name)
{
    for (guint i = 0; i < bundle->files->len; i++) {
        const struct omo_bundle_entry *entry = g_ptr_array_index(bundle->files, i);
        if (!strcmp(entry->name, name))
            return entry;
    }
    return NULL;
}

/* ---- packing ------------------------------------------------------------------------
 */

static char *list_of(const struct omo_bundle *bundle)
{
    cJSON *list = cJSON_CreateObject(), *files = cJSON_CreateArray();
    cJSON_AddStringToObject(list, "format", OMO_BUNDLE_FORMAT);
    cJSON_AddNumberToObject(list, "format_version", OMO_BUNDLE_VERSION);
    cJSON_AddStringToObject(list, "made_with", "omogon " OMO_VERSION);
    cJSON_AddStringToObject(list, "person", bundle->person);
    cJSON_AddItemToObject(list, "files", files);
    for (guint i = 0; i < bundle->files->len; i++) {
        const struct omo_bundle_entry *entry = g_ptr_array_index(bundle->files, i);
        cJSON *file = cJSON_CreateObject();
        g_autofree char *sum =
            g_compute_checksum_for_data(G_CHECKSUM_SHA256, (const guchar *)entry->bytes,
                                        entry->size);
        cJSON_AddStringToObject(file, "name", entry->name);
        cJSON_AddNumberToObject(file, "bytes", (double)entry->size);
        cJSON_AddStringToObject(file, "sha256", sum);
        cJSON_AddItemToArray(files, file);
    }
    char *text = cJSON_Print(list);
    cJSON_Delete(list);
    return text;
}

static la_ssize_t take_bytes(struct archive *archive, void *out, const void *bytes,
                             size_t size)
{
    (void)archive;
    g_byte_array_append(out, bytes, (guint)size);
    return (la_ssize_t)size;
}

static bool write_entry(struct archive *archive, const char *name, const char *bytes,
                        size_t size)
{
    struct archive_entry *entry = archive_entry_new();
    archive_entry_set_pathname(entry, name);
    archive_entry_set_size(entry, (la_int64_t)size);
    archive_entry_set_filetype(entry, AE_IFREG);
    archive_entry_set_perm(entry, 0600);
    /* No time and no owner: the same files are the same bundle, and tell nothing else. */
    archive_entry_set_mtime(entry, 0, 0);
    bool written = archive_write_header(archive, entry) == ARCHIVE_OK &&
                   archive_write_data(archive, bytes, size) == (la_ssize_t)size;
    archive_entry_free(entry);
    return written;
}

enum omo_status omo_bundle_pack(const struct omo_bundle *bundle, GByteArray **out)
{
    struct archive *archive = archive_write_new();
    GByteArray *bytes = g_byte_array_new();
    char *list = list_of(bundle);
    bool good =
        list && archive_write_set_format_ustar(archive) == ARCHIVE_OK &&
        archive_write_add_filter_gzip(archive) == ARCHIVE_OK &&
        archive_write_set_options(archive, "gzip:!timestamp") == ARCHIVE_OK &&
        archive_write_open(archive, bytes, NULL, take_bytes, NULL) == ARCHIVE_OK &&
        write_entry(archive, LIST_NAME, list, strlen(list));
    for (guint i = 0; good && i < bundle->files->len; i++) {
        const struct omo_bundle_entry *entry = g_ptr_array_index(bundle->files, i);
        good = write_entry(archive, entry->name, entry->bytes, entry->size);
    }
    good = archive_write_close(archive) == ARCHIVE_OK && good;
    if (!good)
        omo_error("the bundle could not be made: %s", archive_error_string(archive)
                                                          ? archive_error_string(archive)
                                                          : "no memory is left");
    archive_write_free(archive);
    cJSON_free(list);
    if (good)
        *out = bytes;
    else
        g_byte_array_unref(bytes);
    return good ? OMO_OK : OMO_ERR_MEMORY;
}

/* ---- unpacking ----------------------------------------------------------------------
 */

static bool plain_name(const char *name)
{
    size_t length = strlen(name);
    if (length == 0 || length > 250 || name[0] == '.')
        return false;
    for (const char *c = name; *c; c++)
        if (!g_ascii_isalnum(*c) && !strchr("._-", *c))
            return false;
    return true;
}

/** A table, a trace, or one of the pages that only people read. */
static bool name_is_known(const char *name)
{
    static const char *const pages[] = {"README.txt", "report.html", "report.pdf", NULL};
    const char *trace =
        g_str_has_prefix(name, TRACES_FOLDER) ? name + strlen(TRACES_FOLDER) : name;
    if (!strcmp(name, "sessions.csv") || g_strv_contains(pages, name))
        return true;
    for (int kind = 0; kind < OMO_TABLE_COUNT; kind++)
        if (!strcmp(name, omo_table_file((enum omo_table_kind)kind)))
            return true;
    return g_str_has_suffix(trace, TRACE_ENDING) && plain_name(trace);
}

/** The next file's bytes; NULL: damaged, or too many. */
static char *read_entry(struct archive *archive, struct archive_entry *entry,
                        size_t *total, size_t *size)
{
    la_int64_t told = archive_entry_size(entry);
    if (told < 0 || (size_t)told > BYTES_MOST - *total)
        return NULL;
    char *bytes = g_try_malloc((size_t)told + 1);
    size_t done = 0;
    while (bytes && done < (size_t)told) {
        la_ssize_t got = archive_read_data(archive, bytes + done, (size_t)told - done);
        if (got <= 0)
            break;
        done += (size_t)got;
    }
    if (!bytes || done != (size_t)told) {
        g_free(bytes);
        return NULL;
    }
    bytes[done] = '\0';
    *size = done;
    *total += done;
    return bytes;
}

/** Whether the list is of this format, and every file is in it as it should be. */
static bool list_holds(const char *list_text, struct omo_bundle *bundle, const char *path)
{
    cJSON *list = cJSON_Parse(list_text);
    const char *format = cJSON_GetStringValue(cJSON_GetObjectItem(list, "format"));
    const char *person = cJSON_GetStringValue(cJSON_GetObjectItem(list, "person"));
    const cJSON *version = cJSON_GetObjectItem(list, "format_version");
    const cJSON *files = cJSON_GetObjectItem(list, "files"), *file;
    bool good = false;
    if (!format || strcmp(format, OMO_BUNDLE_FORMAT) != 0 || !person ||
        !omo_pseudonym_valid(person) || !cJSON_IsArray(files)) {
        omo_error("%s is no bundle of omogon: its list of files is damaged", path);
    } else if (!cJSON_IsNumber(version) || version->valueint != OMO_BUNDLE_VERSION) {
        omo_error(
            "%s was made by another version of omogon; install that one, or have the "
            "bundle made anew",
            path);
    } else if (cJSON_GetArraySize(files) != (int)bundle->files->len) {
        omo_error("%s is damaged: files are missing from it, or there are more than it "
                  "lists; have it sent again",
                  path);
    } else {
        good = true;
        cJSON_ArrayForEach(file, files)
        {
            const char *name = cJSON_GetStringValue(cJSON_GetObjectItem(file, "name"));
            const char *sum = cJSON_GetStringValue(cJSON_GetObjectItem(file, "sha256"));
            const struct omo_bundle_entry *entry =
                name ? omo_bundle_find(bundle, name) : NULL;
            g_autofree char *own =
                entry ? g_compute_checksum_for_data(G_CHECKSUM_SHA256,
                                                    (const guchar *)entry->bytes,
                                                    entry->size)
                      : NULL;
            if (good && (!own || !sum || g_ascii_strcasecmp(own, sum) != 0)) {
                omo_error(
                    "%s is damaged: %s is not what it was when it was sent; have it "
                    "sent again",
                    path, name ? name : "a file");
                good = false;
            }
        }
        g_free(bundle->person);
        bundle->person = g_strdup(person);
    }
    cJSON_Delete(list);
    return good;
}

/** All files; the list apart. False after one sentence. */
static bool read_all(struct archive *archive, const char *path, struct omo_bundle *bundle,
                     char **list)
{
    struct archive_entry *entry;
    size_t total = 0;
    int result;
    while ((result = archive_read_next_header(archive, &entry)) == ARCHIVE_OK) {
        const char *name = archive_entry_pathname(entry);
        bool is_list = name && !strcmp(name, LIST_NAME) && !*list;
        size_t size = 0;
        if (!name || archive_entry_filetype(entry) != AE_IFREG ||
            archive_entry_hardlink(entry) || bundle->files->len >= ENTRIES_MOST ||
            (!is_list && (!name_is_known(name) || omo_bundle_find(bundle, name)))) {
            omo_error("%s holds \"%s\", which no bundle of omogon has; nothing was taken "
                      "from it",
                      path, name && g_utf8_validate(name, -1, NULL) ? name : "?");
            return false;
        }
        char *bytes = read_entry(archive, entry, &total, &size);
        if (!bytes) {
            omo_error(
                "%s is damaged or larger than a bundle can be at \"%s\"; have it sent "
                "again",
                path, name);
            return false;
        }
        if (is_list)
            *list = bytes;
        else
            omo_bundle_add(bundle, name, bytes, size);
        if (!is_list)
            g_free(bytes);
    }
    if (result != ARCHIVE_EOF || !*list) {
        omo_error("%s is no bundle of omogon, or was cut short; have it sent again",
                  path);
        return false;
    }
    return true;
}

enum omo_status omo_bundle_unpack(const char *bytes, size_t size, const char *path,
                                  struct omo_bundle **out)
{
    struct archive *archive = archive_read_new();
    struct omo_bundle *bundle = omo_bundle_create("");
    char *list = NULL;
    archive_read_support_filter_gzip(archive);
    archive_read_support_format_tar(archive);
    bool good = true;
    if (archive_read_open_memory(archive, bytes, size) != ARCHIVE_OK) {
        omo_error("%s is no bundle of omogon", path);
        good = false;
    }
    good =
        good && read_all(archive, path, bundle, &list) && list_holds(list, bundle, path);
    archive_read_free(archive);
    g_free(list);
    if (good)
        *out = bundle;
    else
        omo_bundle_free(bundle);
    return good ? OMO_OK : OMO_ERR_FORMAT;
}
