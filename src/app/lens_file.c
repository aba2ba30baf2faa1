#include "app/lens_file.h"

#include <math.h>
#include <string.h>

#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"

#define GROUP        "lens"
#define CAMERAS      "cameras"
#define CAMERAS_FILE "cameras.keys"
#define NAME_MOST    40

static const char *const keys[OMO_LENS_VALUES] = {"fx_px", "fy_px", "cx_px",
                                                  "cy_px", "k1",    "k2",
                                                  "p1",    "p2",    "k3"};

char *omo_lens_folder(const char *data)
{
    if (data)
        return g_build_filename(data, "lenses", NULL);
    return g_build_filename(g_get_user_data_dir(), "omogon", "lenses", NULL);
}

static bool name_letter(char c)
{
    return g_ascii_isalnum(c) || c == '-' || c == '_';
}

bool omo_lens_name_valid(const char *name)
{
    size_t length = strlen(name);
    for (size_t i = 0; i < length; i++)
        if (!name_letter(name[i]))
            return false;
    return length >= 1 && length <= NAME_MOST && strcmp(name, "none") != 0;
}

void omo_lens_name_from(const char *text, char *out, size_t size)
{
    size_t length = 0;
    for (; *text && length < NAME_MOST && length + 1 < size; text++) {
        char c = name_letter(*text) ? g_ascii_tolower(*text) : '-';
        if (c == '-' && (length == 0 || out[length - 1] == '-'))
            continue;
        out[length++] = c;
    }
    while (length > 0 && out[length - 1] == '-')
        length--;
    out[length] = '\0';
    if (!omo_lens_name_valid(out))
        omo_text_copy(out, size, "camera");
}

char *omo_lens_path(const char *data, const char *name)
{
    g_autofree char *folder = omo_lens_folder(data);
    g_autofree char *file = g_strconcat(name, ".ini", NULL);
    return g_build_filename(folder, file, NULL);
}

/* ---- reading ---- */

struct reading {
    GKeyFile *file;
    const char *path;
    bool good; /* nothing was said yet */
};

static void blame(struct reading *r, const char *key)
{
    if (r->good)
        omo_error("%s: \"%s\" is missing or no number that fits; make the profile anew "
                  "with \"omogon lens\"",
                  r->path, key);
    r->good = false;
}

/** A key that may be empty only where `empty` says so: NAN. */
static double read_number(struct reading *r, const char *key, bool empty)
{
    g_autofree char *text = g_key_file_get_string(r->file, GROUP, key, NULL);
    double value = NAN;
    if (!text || !text[0]) {
        if (!empty)
            blame(r, key);
        return NAN;
    }
    if (!omo_number_parse(text, &value))
        blame(r, key);
    return value;
}

static void read_covariance(struct reading *r, struct omo_lens *lens)
{
    for (int i = 0; i < OMO_LENS_VALUES; i++) {
        g_autofree char *key = g_strdup_printf("covariance_%s", keys[i]);
        gsize count = 0;
        g_auto(GStrv) cells =
            g_key_file_get_string_list(r->file, GROUP, key, &count, NULL);
        bool good = count == OMO_LENS_VALUES;
        for (int k = 0; good && k < OMO_LENS_VALUES; k++)
            good = omo_number_parse(cells[k], &lens->covariance[i][k]);
        if (!good)
            blame(r, key);
    }
}

static void read_lens(struct reading *r, struct omo_lens *lens)
{
    g_autofree char *source = g_key_file_get_string(r->file, GROUP, "source", NULL);
    memset(lens, 0, sizeof *lens);
    lens->source =
        source && !strcmp(source, "calibrated") ? OMO_LENS_CALIBRATED : OMO_LENS_ASSUMED;
    lens->width = g_key_file_get_integer(r->file, GROUP, "picture_width_px", NULL);
    lens->height = g_key_file_get_integer(r->file, GROUP, "picture_height_px", NULL);
    for (int i = 0; i < OMO_LENS_VALUES; i++)
        lens->value[i] = read_number(r, keys[i], false);
    read_covariance(r, lens);
    lens->reprojection_px = read_number(r, "reprojection_px", true);
    lens->roll_deg = read_number(r, "roll_deg", true);
    lens->roll_u_deg = read_number(r, "roll_u_deg", true);
    lens->pitch_deg = read_number(r, "pitch_deg", true);
    lens->pitch_u_deg = read_number(r, "pitch_u_deg", true);
    lens->readout_s = read_number(r, "readout_s", true);
}

/** The file a word stands for: a profile's name first, then a path. */
static char *find_file(const char *data, const char *word)
{
    if (omo_lens_name_valid(word)) {
        char *path = omo_lens_path(data, word);
        if (g_file_test(path, G_FILE_TEST_IS_REGULAR))
            return path;
        g_free(path);
    }
    return g_file_test(word, G_FILE_TEST_IS_REGULAR) ? g_strdup(word) : NULL;
}

enum omo_status omo_lens_parse(const char *bytes, size_t size, const char *path,
                               struct omo_lens_profile *profile)
{
    g_autoptr(GKeyFile) file = g_key_file_new();
    g_autoptr(GError) error = NULL;
    if (!g_key_file_load_from_data(file, bytes, size, G_KEY_FILE_NONE, &error)) {
        omo_error("%s is no lens profile (%s); make it anew with \"omogon lens\"", path,
                  error->message);
        return OMO_ERR_SETTINGS;
    }
    struct omo_lens_profile found = {0};
    struct reading reading = {file, path, true};
    read_lens(&reading, &found.lens);
    if (reading.good && !omo_lens_valid(&found.lens)) {
        omo_error("%s: its values describe no lens; make the profile anew with \"omogon "
                  "lens\"",
                  path);
        reading.good = false;
    }
    if (!reading.good)
        return OMO_ERR_SETTINGS;
    g_autofree char *camera = g_key_file_get_string(file, GROUP, "camera", NULL);
    g_autofree char *base = g_path_get_basename(path);
    if (g_str_has_suffix(base, ".ini"))
        base[strlen(base) - strlen(".ini")] = '\0';
    omo_text_copy(found.camera, sizeof found.camera, camera ? camera : "");
    omo_text_copy(found.name, sizeof found.name, base);
    *profile = found;
    return OMO_OK;
}

enum omo_status omo_lens_load(const char *data, const char *word,
                              struct omo_lens_profile *profile, char **text)
{
    g_autofree char *path = find_file(data, word);
    g_autofree char *bytes = NULL;
    g_autoptr(GError) error = NULL;
    gsize size = 0;
    if (!path) {
        omo_error("there is no lens profile \"%s\"; \"omogon lens --list\" shows those "
                  "there are",
                  word);
        return OMO_ERR_OPEN;
    }
    if (!g_file_get_contents(path, &bytes, &size, &error)) {
        omo_error("%s cannot be read: %s", path, error->message);
        return OMO_ERR_OPEN;
    }
    enum omo_status status = omo_lens_parse(bytes, size, path, profile);
    if (status == OMO_OK && text)
        *text = g_steal_pointer(&bytes);
    return status;
}

/* ---- writing ---- */

/** Twelve digits whatever the size, which omo_number_text does not give. "" for NAN. */
static void value_text(double value, char text[32])
{
    text[0] = '\0';
    if (isfinite(value))
        g_ascii_formatd(text, 32, "%.12g", value);
}

static void write_number(GKeyFile *file, const char *key, double value)
{
    char text[32];
    value_text(value, text);
    g_key_file_set_string(file, GROUP, key, text);
}

static void write_covariance(GKeyFile *file, const struct omo_lens *lens)
{
    for (int i = 0; i < OMO_LENS_VALUES; i++) {
        g_autofree char *key = g_strdup_printf("covariance_%s", keys[i]);
        g_autoptr(GString) cells = g_string_new(NULL);
        for (int k = 0; k < OMO_LENS_VALUES; k++) {
            char text[32];
            value_text(lens->covariance[i][k], text);
            g_string_append_printf(cells, "%s;", text);
        }
        g_key_file_set_string(file, GROUP, key, cells->str);
    }
}

static enum omo_status save_key_file(GKeyFile *file, const char *data, const char *path)
{
    gsize size = 0;
    g_autofree char *bytes = g_key_file_to_data(file, &size, NULL);
    g_autofree char *folder = omo_lens_folder(data);
    enum omo_status status = omo_folder_make(folder);
    if (status == OMO_OK)
        status = omo_file_write_atomic(path, bytes, size, 0600);
    return status;
}

enum omo_status omo_lens_save(const char *data, const struct omo_lens_profile *profile)
{
    const struct omo_lens *lens = &profile->lens;
    g_autoptr(GKeyFile) file = g_key_file_new();
    g_autofree char *path = omo_lens_path(data, profile->name);
    g_key_file_set_string(file, GROUP, "camera", profile->camera);
    g_key_file_set_string(file, GROUP, "source",
                          lens->source == OMO_LENS_CALIBRATED ? "calibrated" : "assumed");
    g_key_file_set_integer(file, GROUP, "picture_width_px", lens->width);
    g_key_file_set_integer(file, GROUP, "picture_height_px", lens->height);
    for (int i = 0; i < OMO_LENS_VALUES; i++)
        write_number(file, keys[i], lens->value[i]);
    write_number(file, "reprojection_px", lens->reprojection_px);
    write_number(file, "roll_deg", lens->roll_deg);
    write_number(file, "roll_u_deg", lens->roll_u_deg);
    write_number(file, "pitch_deg", lens->pitch_deg);
    write_number(file, "pitch_u_deg", lens->pitch_u_deg);
    write_number(file, "readout_s", lens->readout_s);
    write_covariance(file, lens);
    return save_key_file(file, data, path);
}

static int compare_names(gconstpointer a, gconstpointer b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

GPtrArray *omo_lens_names(const char *data)
{
    GPtrArray *names = g_ptr_array_new_with_free_func(g_free);
    g_autofree char *folder = omo_lens_folder(data);
    GDir *dir = g_dir_open(folder, 0, NULL);
    const char *entry;
    while (dir && (entry = g_dir_read_name(dir))) {
        if (!g_str_has_suffix(entry, ".ini"))
            continue;
        char *name = g_strndup(entry, strlen(entry) - strlen(".ini"));
        if (omo_lens_name_valid(name))
            g_ptr_array_add(names, name);
        else
            g_free(name);
    }
    if (dir)
        g_dir_close(dir);
    g_ptr_array_sort(names, compare_names);
    return names;
}

/* ---- which camera used which ---- */

static GKeyFile *cameras_of(const char *data, char **path)
{
    g_autofree char *folder = omo_lens_folder(data);
    GKeyFile *file = g_key_file_new();
    *path = g_build_filename(folder, CAMERAS_FILE, NULL);
    /* One that is missing or broken remembers nothing. */
    g_key_file_load_from_file(file, *path, G_KEY_FILE_NONE, NULL);
    return file;
}

void omo_lens_remembered(const char *data, const char *camera, char *out, size_t size)
{
    g_autofree char *path = NULL;
    g_autoptr(GKeyFile) file = cameras_of(data, &path);
    char key[64];
    omo_lens_name_from(camera, key, sizeof key);
    g_autofree char *name = g_key_file_get_string(file, CAMERAS, key, NULL);
    omo_text_copy(out, size, name && camera[0] ? name : "");
}

void omo_lens_remember(const char *data, const char *camera, const char *name)
{
    g_autofree char *path = NULL;
    g_autoptr(GKeyFile) file = cameras_of(data, &path);
    char key[64];
    if (!camera[0])
        return;
    omo_lens_name_from(camera, key, sizeof key);
    g_key_file_set_string(file, CAMERAS, key, name);
    if (save_key_file(file, data, path) != OMO_OK)
        omo_warning("which lens profile goes with this camera is not remembered");
}
