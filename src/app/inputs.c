#include "app/inputs.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/log.h"
#include "omogon/text.h"

static const char *const clip_endings[] = {"avi",   "mov",  "mp4", "m4v", "mkv", "webm",
                                           "mjpeg", "mjpg", "mpg", "3gp", NULL};

static bool is_clip_name(const char *name)
{
    const char *dot = strrchr(name, '.');
    for (int i = 0; dot && clip_endings[i]; i++)
        if (!g_ascii_strcasecmp(dot + 1, clip_endings[i]))
            return true;
    return false;
}

static int compare_paths(gconstpointer a, gconstpointer b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static bool add_folder(GPtrArray *paths, const char *folder)
{
    g_autoptr(GError) error = NULL;
    GDir *dir = g_dir_open(folder, 0, &error);
    if (!dir) {
        omo_error("the folder %s cannot be read (%s); check its permissions", folder,
                  error->message);
        return false;
    }
    g_autoptr(GPtrArray) found = g_ptr_array_new();
    const char *name;
    while ((name = g_dir_read_name(dir)))
        if (name[0] != '.' && is_clip_name(name))
            g_ptr_array_add(found, g_build_filename(folder, name, NULL));
    g_dir_close(dir);
    if (found->len == 0) {
        omo_error("%s is a folder without a clip in it; name a video file, or a folder "
                  "that holds some",
                  folder);
        return false;
    }
    g_ptr_array_sort(found, compare_paths);
    for (guint i = 0; i < found->len; i++)
        g_ptr_array_add(paths, found->pdata[i]);
    return true;
}

static bool add_list(GPtrArray *paths, const char *list)
{
    FILE *in = !strcmp(list, "-") ? stdin : fopen(list, "re");
    if (!in) {
        omo_error(
            "the list %s cannot be read (%s); give a text file with one clip a line",
            list, strerror(errno));
        return false;
    }
    char *line = NULL;
    size_t room = 0;
    ssize_t length;
    while ((length = getline(&line, &room, in)) >= 0) {
        while (length > 0 && (line[length - 1] == '\n' || line[length - 1] == '\r'))
            line[--length] = '\0';
        if (length > 0)
            g_ptr_array_add(paths, g_strdup(line));
    }
    free(line);
    if (in != stdin)
        fclose(in);
    return true;
}

GPtrArray *omo_inputs_expand(char **words, const char *list, int *failed)
{
    GPtrArray *paths = g_ptr_array_new_with_free_func(g_free);
    for (; words && *words; words++) {
        if (!g_file_test(*words, G_FILE_TEST_IS_DIR))
            g_ptr_array_add(paths, g_strdup(*words));
        else if (!add_folder(paths, *words))
            (*failed)++;
    }
    if (list && !add_list(paths, list))
        (*failed)++;
    return paths;
}

static bool hash_file(GChecksum *sum, const char *path)
{
    FILE *in = fopen(path, "re");
    if (!in)
        return false;
    static const size_t piece = 1 << 18;
    unsigned char *buffer = g_malloc(piece);
    size_t got;
    while ((got = fread(buffer, 1, piece, in)) > 0)
        g_checksum_update(sum, buffer, (gssize)got);
    bool good = !ferror(in);
    g_free(buffer);
    fclose(in);
    return good;
}

/** "dir/%04d.jpg" into its parts; false when it is no such pattern. */
static bool split_sequence(const char *path, char **before, int *digits, char **after)
{
    const char *percent = strchr(path, '%');
    if (!percent)
        return false;
    char *end;
    long width = strtol(percent + 1, &end, 10);
    if (*end != 'd' || width < 0 || width > 12 || strchr(end, '%'))
        return false;
    *before = g_strndup(path, (size_t)(percent - path));
    *after = g_strdup(end + 1);
    *digits = (int)width;
    return true;
}

static bool hash_sequence(GChecksum *sum, const char *path)
{
    g_autofree char *before = NULL, *after = NULL;
    int digits = 0, hashed = 0;
    if (!split_sequence(path, &before, &digits, &after))
        return false;
    /* A sequence may start at any of the first numbers, then has no hole. */
    for (int number = 0; hashed > 0 || number < 5; number++) {
        g_autofree char *file =
            g_strdup_printf("%s%0*d%s", before, digits, number, after);
        if (!g_file_test(file, G_FILE_TEST_IS_REGULAR)) {
            if (hashed > 0)
                break;
            continue;
        }
        if (!hash_file(sum, file))
            return false;
        hashed++;
    }
    return hashed > 0;
}

enum omo_status omo_input_hash(const char *path, char out[65])
{
    g_autoptr(GChecksum) sum = g_checksum_new(G_CHECKSUM_SHA256);
    if (!hash_file(sum, path) && !hash_sequence(sum, path)) {
        omo_error("%s cannot be read to its end; copy it to a sound disk and try again",
                  path);
        return OMO_ERR_IO;
    }
    omo_text_copy(out, 65, g_checksum_get_string(sum));
    return OMO_OK;
}

void omo_input_stem(const char *path, char *out, size_t size)
{
    g_autofree char *base = g_path_get_basename(path);
    char *dot = strrchr(base, '.');
    if (dot && dot != base)
        *dot = '\0';
    for (char *c = base; *c; c++)
        if (*c == '%' || *c == '/' || (unsigned char)*c < 32)
            *c = '_';
    omo_text_copy(out, size, base);
}
