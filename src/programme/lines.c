#include "programme/lines.h"

#include <string.h>

#include "omogon/log.h"
#include "omogon/text.h"

#define SENTENCE_SIZE 640
#define QUOTE_SIZE    48
#define MARK_BYTES    "\xef\xbb\xbf" /* a byte-order mark, which some editors write */

struct omo_mistake {
    int number;
    char text[SENTENCE_SIZE];
};

void omo_lines_mistake(struct omo_lines *lines, int number, const char *format, ...)
{
    /* A file of a million bad lines needs no million sentences. */
    if (lines->mistakes->len > 4096)
        return;
    struct omo_mistake *mistake = g_new0(struct omo_mistake, 1);
    mistake->number = number;
    va_list rest;
    va_start(rest, format);
    g_vsnprintf(mistake->text, sizeof mistake->text, format, rest);
    va_end(rest);
    g_ptr_array_add(lines->mistakes, mistake);
}

static gint by_line(gconstpointer a, gconstpointer b)
{
    const struct omo_mistake *const *first = a, *const *second = b;
    return (*first)->number - (*second)->number;
}

bool omo_lines_say(struct omo_lines *lines)
{
    /* Merges, so that two mistakes of a line stay in the order they were found. */
    g_ptr_array_sort(lines->mistakes, by_line);
    for (guint i = 0; i < lines->mistakes->len && i < OMO_MISTAKES_MOST; i++) {
        const struct omo_mistake *mistake = g_ptr_array_index(lines->mistakes, i);
        omo_error("%s:%d: %s", lines->called, mistake->number, mistake->text);
    }
    return lines->mistakes->len > 0;
}

static void free_block(gpointer data)
{
    struct omo_block *block = data;
    for (guint i = 0; i < block->lines->len; i++) {
        struct omo_line *line = &g_array_index(block->lines, struct omo_line, i);
        g_free(line->key);
        g_free(line->value);
    }
    g_array_unref(block->lines);
    g_free(block->name);
    g_free(block);
}

static void open_block(struct omo_lines *lines, int number, char *text)
{
    char *end = strchr(text, ']');
    if (end == NULL || end[1] != '\0') {
        omo_lines_mistake(lines, number,
                          "a line that begins with [ is a step's name alone; write "
                          "[name], with nothing after it");
        /* What follows is meant for this step all the same. */
        if (end == NULL)
            end = text + strlen(text);
    }
    *end = '\0';
    struct omo_block *block = g_new0(struct omo_block, 1);
    block->number = number;
    block->name = g_strdup(text + 1);
    block->lines = g_array_new(FALSE, TRUE, sizeof(struct omo_line));
    g_ptr_array_add(lines->blocks, block);
}

/** Takes out what a backslash stands for, in place; false for one that stands for
 *  nothing. */
static bool unescape(char *text)
{
    char *to = text;
    for (const char *from = text; *from != '\0'; from++) {
        if (*from != '\\') {
            *to++ = *from;
            continue;
        }
        switch (*++from) {
        case 's':
            *to++ = ' ';
            break;
        case 'n':
            *to++ = '\n';
            break;
        case 't':
            *to++ = '\t';
            break;
        case '\\':
            *to++ = '\\';
            break;
        default:
            return false;
        }
    }
    *to = '\0';
    return true;
}

static void add_line(struct omo_lines *lines, int number, char *text, char *equals)
{
    if (lines->blocks->len == 0) {
        omo_lines_mistake(lines, number,
                          "this stands before the first [group]; put it below "
                          "[programme] or below a step's name");
        return;
    }
    *equals = '\0';
    char *value = equals + 1;
    g_strchomp(text);
    g_strchug(value);
    if (!unescape(value)) {
        omo_lines_mistake(lines, number,
                          "a backslash stands for nothing here; write two of them for "
                          "one, or none");
        return;
    }
    struct omo_block *block = g_ptr_array_index(lines->blocks, lines->blocks->len - 1);
    struct omo_line line = {number, g_strdup(text), g_strdup(value), false};
    g_array_append_val(block->lines, line);
}

/** One line without its end; `text` is changed. */
static void take_line(struct omo_lines *lines, int number, char *text, size_t length)
{
    if (!g_utf8_validate(text, (gssize)length, NULL)) {
        omo_lines_mistake(lines, number,
                          "this line is not UTF-8 text; save the file as UTF-8 in your "
                          "editor");
        return;
    }
    for (size_t i = 0; i < length; i++) {
        if ((unsigned char)text[i] < ' ' && text[i] != '\t') {
            omo_lines_mistake(lines, number,
                              "there is a character that cannot be seen; delete this "
                              "line and write it again");
            return;
        }
    }
    g_strstrip(text);
    char *equals = strchr(text, '=');
    if (text[0] == '\0' || text[0] == '#')
        return;
    if (text[0] == '[') {
        open_block(lines, number, text);
    } else if (equals == NULL || equals == text) {
        char quote[QUOTE_SIZE];
        omo_text_copy(quote, sizeof quote, text);
        omo_lines_mistake(
            lines, number,
            "\"%s\" is not key=value; write it so, or put # before a remark", quote);
    } else {
        add_line(lines, number, text, equals);
    }
}

/** A message is cut at its end, so a long path gives up its beginning. */
static void keep_called(struct omo_lines *lines, const char *called)
{
    size_t length = strlen(called), room = sizeof lines->called - 1;
    if (length <= room) {
        omo_text_copy(lines->called, sizeof lines->called, called);
        return;
    }
    const char *from = called + length - (room - 3);
    while (((unsigned char)*from & 0xc0u) == 0x80u)
        from++;
    g_snprintf(lines->called, sizeof lines->called, "...%s", from);
}

void omo_lines_open(const char *bytes, size_t size, const char *called,
                    struct omo_lines *lines)
{
    lines->blocks = g_ptr_array_new_with_free_func(free_block);
    lines->mistakes = g_ptr_array_new_with_free_func(g_free);
    keep_called(lines, called);
    size_t at = size >= 3 && memcmp(bytes, MARK_BYTES, 3) == 0 ? 3 : 0;
    for (int number = 1; at < size; number++) {
        const char *end = memchr(bytes + at, '\n', size - at);
        size_t length = end != NULL ? (size_t)(end - bytes) - at : size - at;
        size_t shown = length;
        if (shown > 0 && bytes[at + shown - 1] == '\r')
            shown--;
        char *text = g_malloc(shown + 1);
        memcpy(text, bytes + at, shown);
        text[shown] = '\0';
        take_line(lines, number, text, shown);
        g_free(text);
        at += length + 1;
    }
}

void omo_lines_close(struct omo_lines *lines)
{
    g_ptr_array_unref(lines->blocks);
    g_ptr_array_unref(lines->mistakes);
}

struct omo_line *omo_block_find(const struct omo_block *block, const char *key)
{
    for (guint i = 0; i < block->lines->len; i++) {
        struct omo_line *line = &g_array_index(block->lines, struct omo_line, i);
        if (strcmp(line->key, key) == 0)
            return line;
    }
    return NULL;
}
