#include "omogon/vision.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/models.h"
#include "omogon/text.h"

#include "length.h"

#define HEAD_GROUP      "set"
#define SET_LIMIT_BYTES 65536

/* One set file being read, for the sentences. */
struct set_file {
    GKeyFile *keys;
    const char *path;
};

static bool has(const struct set_file *file, const char *group, const char *key)
{
    return g_key_file_has_key(file->keys, group, key, NULL) == TRUE;
}

/* A number between bounds; an absent key leaves *out alone. */
static enum omo_status number(const struct set_file *file, const char *group,
                              const char *key, double low, double high, double *out)
{
    if (!has(file, group, key))
        return OMO_OK;
    gchar *text = g_key_file_get_value(file->keys, group, key, NULL);
    double value = 0;
    bool good = text && omo_number_parse(g_strstrip(text), &value) && value >= low &&
                value <= high;
    if (good)
        *out = value;
    else
        omo_error("%s: [%s] %s = %s is not a number from %g to %g.", file->path, group,
                  key, text ? text : "", low, high);
    g_free(text);
    return good ? OMO_OK : OMO_ERR_SETTINGS;
}

/* "40 170 70", sRGB, as people and drawing programs write a colour. */
static enum omo_status srgb(const struct set_file *file, const char *group,
                            struct omo_set_entry *entry)
{
    gchar *text = g_key_file_get_value(file->keys, group, "srgb", NULL);
    gchar **part = g_strsplit_set(text ? text : "", " ,;", -1);
    double rgb[3] = {0}, ycc[3];
    int count = 0;
    bool good = true;
    for (int i = 0; part[i] && good; i++) {
        if (part[i][0] == '\0')
            continue;
        good = count < 3 && omo_number_parse(part[i], &rgb[count]) && rgb[count] >= 0 &&
               rgb[count] <= 255;
        count++;
    }
    good = good && count == 3;
    if (good) {
        omo_srgb_to_ycbcr(rgb, ycc);
        entry->luma = ycc[0];
        entry->cb = ycc[1];
        entry->cr = ycc[2];
    } else {
        omo_error("%s: [%s] srgb = %s is not three numbers from 0 to 255.", file->path,
                  group, text ? text : "");
    }
    g_strfreev(part);
    g_free(text);
    return good ? OMO_OK : OMO_ERR_SETTINGS;
}

static enum omo_status shape(const struct set_file *file, const char *group,
                             struct omo_set_entry *entry)
{
    gchar *text = g_key_file_get_value(file->keys, group, "shape", NULL);
    enum omo_status status = OMO_OK;
    if (!text || strcmp(g_strstrip(text), "disc") == 0) {
        entry->shape = OMO_DISC;
    } else if (strcmp(text, "band") == 0) {
        entry->shape = OMO_BAND;
    } else {
        omo_error("%s: [%s] shape = %s is neither disc nor band.", file->path, group,
                  text);
        status = OMO_ERR_SETTINGS;
    }
    g_free(text);
    return status;
}

static enum omo_status read_entry(const struct set_file *file, const char *group,
                                  struct omo_set_entry *entry)
{
    static const char *const known[] = {"srgb",       "cb",    "cr",     "luma",
                                        "spread_deg", "shape", "size_mm"};
    *entry = (struct omo_set_entry){
        .cb = NAN, .cr = NAN, .luma = NAN, .spread_deg = NAN, .size_mm = NAN};
    omo_text_copy(entry->name, sizeof entry->name, group);
    gchar **keys = g_key_file_get_keys(file->keys, group, NULL, NULL);
    const char *stranger = NULL;
    for (int i = 0; keys && keys[i] && !stranger; i++) {
        bool found = false;
        for (size_t k = 0; k < G_N_ELEMENTS(known); k++)
            found |= strcmp(keys[i], known[k]) == 0;
        if (!found)
            stranger = keys[i];
    }
    if (stranger)
        omo_error("%s: [%s] does not know the key %s.", file->path, group, stranger);
    enum omo_status status = stranger ? OMO_ERR_SETTINGS : OMO_OK;
    g_strfreev(keys);
    if (status == OMO_OK && has(file, group, "srgb"))
        status = srgb(file, group, entry);
    if (status == OMO_OK)
        status = number(file, group, "cb", 0, 255, &entry->cb);
    if (status == OMO_OK)
        status = number(file, group, "cr", 0, 255, &entry->cr);
    if (status == OMO_OK)
        status = number(file, group, "luma", 0, 255, &entry->luma);
    if (status == OMO_OK)
        status = number(file, group, "spread_deg", 1, 60, &entry->spread_deg);
    if (status == OMO_OK)
        status = number(file, group, "size_mm", 2, 300, &entry->size_mm);
    if (status == OMO_OK)
        status = shape(file, group, entry);
    if (status != OMO_OK)
        return status;
    if (!isfinite(entry->cb) || !isfinite(entry->cr)) {
        omo_error("%s: [%s] needs srgb, or cb and cr.", file->path, group);
        return OMO_ERR_SETTINGS;
    }
    if (omo_length(entry->cb - 128, entry->cr - 128) < 12) {
        omo_error("%s: [%s] is nearly grey; a marker needs a strong colour.", file->path,
                  group);
        return OMO_ERR_SETTINGS;
    }
    return OMO_OK;
}

static enum omo_status read_groups(const struct set_file *file,
                                   struct omo_marker_set *set)
{
    gsize count = 0;
    gchar **groups = g_key_file_get_groups(file->keys, &count);
    enum omo_status status = OMO_OK;
    for (gsize i = 0; i < count && status == OMO_OK; i++) {
        if (strcmp(groups[i], HEAD_GROUP) == 0) {
            gchar *name = g_key_file_get_string(file->keys, HEAD_GROUP, "name", NULL);
            if (name)
                omo_text_copy(set->name, sizeof set->name, name);
            g_free(name);
            continue;
        }
        if (set->count == OMO_SET_MAX) {
            omo_error("%s: more than %d markers.", file->path, OMO_SET_MAX);
            status = OMO_ERR_SETTINGS;
            break;
        }
        status = read_entry(file, groups[i], &set->entry[set->count]);
        set->count++;
    }
    if (status == OMO_OK && set->count == 0) {
        omo_error("%s: no marker in it; each needs a group such as [elbow].", file->path);
        status = OMO_ERR_SETTINGS;
    }
    g_strfreev(groups);
    return status;
}

/* A bare word names a set that comes with the program. */
static enum omo_status set_path(const char *name_or_path, char *path, size_t size)
{
    if (strpbrk(name_or_path, "/.")) {
        omo_text_copy(path, size, name_or_path);
        return OMO_OK;
    }
    char relative[96];
    g_snprintf(relative, sizeof relative, "markers-%.64s.ini", name_or_path);
    enum omo_status status = omo_models_path(relative, path, size);
    if (status != OMO_OK)
        omo_error("No set of markers is called %s; see models/markers-*.ini or give a "
                  "file.",
                  name_or_path);
    return status;
}

enum omo_status omo_set_parse(const char *bytes, size_t size, const char *path,
                              struct omo_marker_set *set)
{
    struct set_file file = {.keys = g_key_file_new(), .path = path};
    struct omo_marker_set read = {.count = 0};
    GError *error = NULL;
    enum omo_status status = OMO_ERR_SETTINGS;
    /* GLib takes no empty text and stops at a NUL byte without a word. */
    if (size == 0 || memchr(bytes, '\0', size)) {
        omo_error("%s is not a text file with a set of markers.", path);
    } else if (!g_key_file_load_from_data(file.keys, bytes, size, G_KEY_FILE_NONE,
                                          &error)) {
        omo_error("%s: %s", path, error->message);
        g_error_free(error);
    } else {
        gchar *base = g_path_get_basename(path);
        omo_text_copy(read.name, sizeof read.name, base);
        g_free(base);
        status = read_groups(&file, &read);
    }
    if (status == OMO_OK)
        *set = read;
    g_key_file_free(file.keys);
    return status;
}

enum omo_status omo_set_load(const char *name_or_path, struct omo_marker_set *set)
{
    char *text = NULL;
    enum omo_status status = omo_set_load_text(name_or_path, set, &text);
    free(text);
    return status;
}

enum omo_status omo_set_load_text(const char *name_or_path, struct omo_marker_set *set,
                                  char **text)
{
    char path[4096], *bytes;
    size_t size;
    if (!name_or_path || !set || !text)
        return OMO_ERR_ARG;
    *text = NULL;
    enum omo_status status = set_path(name_or_path, path, sizeof path);
    if (status != OMO_OK)
        return status;
    status = omo_file_read(path, SET_LIMIT_BYTES, &bytes, &size);
    if (status == OMO_ERR_OPEN)
        omo_error("The set of markers %s cannot be read: %s.", path, g_strerror(errno));
    if (status != OMO_OK)
        return status;
    status = omo_set_parse(bytes, size, path, set);
    if (status == OMO_OK)
        *text = bytes;
    else
        free(bytes);
    return status;
}

static void put(GKeyFile *keys, const char *group, const char *key, double value,
                int decimals)
{
    char text[32];
    if (!isfinite(value))
        return;
    omo_number_text(value, decimals, text, sizeof text);
    g_key_file_set_value(keys, group, key, text);
}

enum omo_status omo_set_save(const struct omo_marker_set *set, const char *path)
{
    if (!set || !path || set->count < 1 || set->count > OMO_SET_MAX)
        return OMO_ERR_ARG;
    GKeyFile *keys = g_key_file_new();
    g_key_file_set_string(keys, HEAD_GROUP, "name", set->name);
    for (int i = 0; i < set->count; i++) {
        const struct omo_set_entry *entry = &set->entry[i];
        put(keys, entry->name, "cb", entry->cb, 2);
        put(keys, entry->name, "cr", entry->cr, 2);
        put(keys, entry->name, "luma", entry->luma, 1);
        put(keys, entry->name, "spread_deg", entry->spread_deg, 1);
        put(keys, entry->name, "size_mm", entry->size_mm, 1);
        if (entry->shape == OMO_BAND)
            g_key_file_set_value(keys, entry->name, "shape", "band");
    }
    gsize size = 0;
    gchar *text = g_key_file_to_data(keys, &size, NULL);
    enum omo_status status = omo_file_write_atomic(path, text, size, 0600);
    g_free(text);
    g_key_file_free(keys);
    return status;
}
