#include "motion/keys.h"

#include <stdarg.h>
#include <string.h>

#include "omogon/log.h"
#include "omogon/text.h"

#define SENTENCE_SIZE 512

/** Length of the line that begins at `at`, without its end. */
static size_t line_length(const char *bytes, size_t size, size_t at)
{
    const char *end = memchr(bytes + at, '\n', size - at);
    return end != NULL ? (size_t)(end - bytes) - at : size - at;
}

static bool begins_group(const char *line, size_t length, const char *group)
{
    size_t name = strlen(group);
    return length >= name + 2 && line[0] == '[' && memcmp(line + 1, group, name) == 0 &&
           line[name + 1] == ']';
}

static bool begins_key(const char *line, size_t length, const char *key)
{
    size_t name = strlen(key);
    while (length > 0 && (*line == ' ' || *line == '\t')) {
        line++;
        length--;
    }
    if (length <= name || memcmp(line, key, name) != 0)
        return false;
    return line[name] == '=' || line[name] == ' ' || line[name] == '\t';
}

/** Line of the key, or of its group when the key is not there; 0: neither. GLib keeps no
 *  line numbers. */
static int line_of(const struct omo_keys *keys, const char *group, const char *key)
{
    int line = 0, found = 0;
    bool inside = false;
    for (size_t at = 0; at < keys->size;) {
        size_t length = line_length(keys->bytes, keys->size, at);
        const char *text = keys->bytes + at;
        line++;
        if (length > 0 && text[0] == '[') {
            inside = begins_group(text, length, group);
            if (inside && found == 0)
                found = line;
        } else if (inside && key != NULL && begins_key(text, length, key)) {
            return line;
        }
        at += length + 1;
    }
    return found;
}

void omo_keys_mistake(struct omo_keys *keys, const char *group, const char *key,
                      const char *format, ...)
{
    if (keys->failed)
        return;
    keys->failed = true;
    char sentence[SENTENCE_SIZE];
    va_list rest;
    va_start(rest, format);
    g_vsnprintf(sentence, sizeof sentence, format, rest);
    va_end(rest);
    int line = line_of(keys, group, key);
    char where[32] = "";
    if (line > 0)
        omo_text_add(where, sizeof where, ", line %d", line);
    omo_error("%s%s: [%s]%s%s: %s", keys->name, where, group, key != NULL ? " " : "",
              key != NULL ? key : "", sentence);
}

/** GLib lets a later group or key of the same name win, which hides a slip of the hand:
 *  the first line that says something again, or 0. `word` gets what it says. */
static int repeated_line(const char *bytes, size_t size, char **word)
{
    GHashTable *said = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    char *group = g_strdup("");
    int line = 0, found = 0;
    for (size_t at = 0; at < size && found == 0;) {
        size_t length = line_length(bytes, size, at);
        char *text = g_strstrip(g_strndup(bytes + at, length));
        line++;
        at += length + 1;
        char *equals = strchr(text, '=');
        if (text[0] == '[') {
            g_free(group);
            group = g_strdup(text);
        } else if (text[0] == '#' || equals == NULL) {
            g_free(text);
            continue;
        } else {
            *equals = '\0';
        }
        char *full = text[0] == '[' ? g_strdup(text)
                                    : g_strconcat(group, " ", g_strchomp(text), NULL);
        g_free(text);
        if (g_hash_table_contains(said, full)) {
            found = line;
            *word = full;
        } else {
            g_hash_table_add(said, full);
        }
    }
    g_free(group);
    g_hash_table_destroy(said);
    return found;
}

enum omo_status omo_keys_open(const char *bytes, size_t size, const char *name,
                              struct omo_keys *keys)
{
    GError *error = NULL;
    GKeyFile *file = g_key_file_new();
    /* GLib stops at a NUL byte and would take what follows for missing. */
    if (size > 0 && memchr(bytes, '\0', size) != NULL) {
        omo_error("%s is not a text file.", name);
        g_key_file_free(file);
        return OMO_ERR_SETTINGS;
    }
    if (!g_key_file_load_from_data(file, size > 0 ? bytes : "", size, G_KEY_FILE_NONE,
                                   &error)) {
        omo_error("%s cannot be understood: %s.", name, error->message);
        g_error_free(error);
        g_key_file_free(file);
        return OMO_ERR_SETTINGS;
    }
    char *word = NULL;
    int line = repeated_line(bytes, size, &word);
    if (line > 0) {
        omo_error("%s, line %d: %.80s is there twice.", name, line, word);
        g_free(word);
        g_key_file_free(file);
        return OMO_ERR_SETTINGS;
    }
    *keys = (struct omo_keys){.file = file, .name = name, .bytes = bytes, .size = size};
    return OMO_OK;
}

void omo_keys_close(struct omo_keys *keys)
{
    g_key_file_free(keys->file);
    keys->file = NULL;
}

/** The value, to g_free(), or NULL after a mistake. */
static char *value_of(struct omo_keys *keys, const char *group, const char *key)
{
    if (keys->failed)
        return NULL;
    if (!g_key_file_has_key(keys->file, group, key, NULL)) {
        omo_keys_mistake(keys, group, NULL, "\"%s\" is missing.", key);
        return NULL;
    }
    GError *error = NULL;
    char *value = g_key_file_get_string(keys->file, group, key, &error);
    if (value == NULL) {
        omo_keys_mistake(keys, group, key, "cannot be read: %s.", error->message);
        g_error_free(error);
        return NULL;
    }
    /* Blanks after a value are not seen in an editor. */
    return g_strchomp(value);
}

void omo_keys_text(struct omo_keys *keys, const char *group, const char *key, char *out,
                   size_t size)
{
    char *value = value_of(keys, group, key);
    if (value == NULL)
        return;
    if (value[0] == '\0')
        omo_keys_mistake(keys, group, key, "is empty.");
    else if (strlen(value) >= size)
        omo_keys_mistake(keys, group, key, "is longer than %zu bytes.", size - 1);
    else
        omo_text_copy(out, size, value);
    g_free(value);
}

void omo_keys_number(struct omo_keys *keys, const char *group, const char *key,
                     double lowest, double highest, double *out)
{
    char *value = value_of(keys, group, key);
    if (value == NULL)
        return;
    double number;
    if (!omo_number_parse(value, &number))
        omo_keys_mistake(keys, group, key, "\"%.40s\" is not a number.", value);
    else if (number < lowest || number > highest)
        omo_keys_mistake(keys, group, key, "%.40s is not between %g and %g.", value,
                         lowest, highest);
    else
        *out = number;
    g_free(value);
}

static int word_index(const char *value, const char *const *words)
{
    for (int i = 0; words[i] != NULL; i++) {
        if (strcmp(words[i], value) == 0)
            return i;
    }
    return -1;
}

static void wrong_word(struct omo_keys *keys, const char *group, const char *key,
                       const char *value, const char *const *words)
{
    char *known = g_strjoinv(", ", (char **)(void *)words);
    omo_keys_mistake(keys, group, key, "\"%.40s\" is not one of %s.", value, known);
    g_free(known);
}

void omo_keys_choice(struct omo_keys *keys, const char *group, const char *key,
                     const char *const *words, int *out)
{
    char *value = value_of(keys, group, key);
    if (value == NULL)
        return;
    int index = word_index(value, words);
    if (index < 0)
        wrong_word(keys, group, key, value, words);
    else
        *out = index;
    g_free(value);
}

void omo_keys_choices(struct omo_keys *keys, const char *group, const char *key,
                      const char *const *words, unsigned *bits)
{
    char *value = value_of(keys, group, key);
    if (value == NULL)
        return;
    unsigned found = 0;
    char **list = g_strsplit(value, ";", -1);
    for (char **word = list; *word != NULL && !keys->failed; word++) {
        g_strstrip(*word);
        /* A list may end in its separator. */
        if ((*word)[0] == '\0' && word[1] == NULL)
            break;
        int index = word_index(*word, words);
        if (index < 0)
            wrong_word(keys, group, key, *word, words);
        else
            found |= 1u << index;
    }
    if (found == 0)
        omo_keys_mistake(keys, group, key, "names nothing.");
    if (!keys->failed)
        *bits = found;
    g_strfreev(list);
    g_free(value);
}

void omo_keys_only(struct omo_keys *keys, const char *group, const char *const *allowed)
{
    char **found = g_key_file_get_keys(keys->file, group, NULL, NULL);
    for (char **key = found; key != NULL && *key != NULL && !keys->failed; key++) {
        if (word_index(*key, allowed) < 0)
            omo_keys_mistake(keys, group, *key, "this key is not known.");
    }
    g_strfreev(found);
}

void omo_keys_groups(struct omo_keys *keys, const char *const *allowed)
{
    char **found = g_key_file_get_groups(keys->file, NULL);
    for (char **group = found; *group != NULL && !keys->failed; group++) {
        if (word_index(*group, allowed) < 0)
            omo_keys_mistake(keys, *group, NULL, "this group is not known.");
    }
    g_strfreev(found);
}
