#include "record/dialect.h"

#include <string.h>

#include <glib.h>

#define BYTE_ORDER_MARK "\xEF\xBB\xBF"

/** The header's length in bytes when it is this form's with semicolons; 0: it is not. */
static size_t header_length(const struct row_form *form, const char *bytes, size_t size)
{
    size_t length = strlen(form->header);
    if (size < length)
        return 0;
    for (size_t i = 0; i < length; i++)
        if (bytes[i] != (form->header[i] == ',' ? ';' : form->header[i]))
            return 0;
    return size == length || bytes[length] == '\n' || bytes[length] == '\r' ? length : 0;
}

/** One cell from `at` on, without its quotes; `at` is then behind it. */
static void take_cell(const char *bytes, size_t size, size_t *at, GString *cell)
{
    g_string_truncate(cell, 0);
    bool quoted = *at < size && bytes[*at] == '"';
    *at += quoted;
    for (; *at < size; ++*at) {
        char c = bytes[*at];
        if (quoted && c == '"') {
            if (*at + 1 < size && bytes[*at + 1] == '"')
                ++*at;
            else
                quoted = false;
            if (!quoted)
                continue;
        } else if (!quoted && (c == ';' || c == '\n' || c == '\r')) {
            break;
        }
        g_string_append_c(cell, c);
    }
}

static void add_cell(const struct row_form *form, size_t column, GString *cell,
                     struct omo_csv_text *out)
{
    bool number = column < form->column_count &&
                  form->columns[column].kind != COLUMN_TEXT && !strchr(cell->str, '.');
    char *comma = number ? strchr(cell->str, ',') : NULL;
    if (comma && !strchr(comma + 1, ','))
        *comma = '.';
    omo_csv_add_text(out, cell->str);
}

char *omo_dialect_standard(const struct row_form *form, const char *bytes, size_t size,
                           size_t *out_size)
{
    struct omo_csv_text out = {0};
    size_t mark = size >= 3 && !memcmp(bytes, BYTE_ORDER_MARK, 3) ? 3 : 0;
    size_t at = mark + header_length(form, bytes + mark, size - mark), column = 0;
    if (at == mark || memchr(bytes, '\0', size))
        return NULL; /* a cell would end at that byte, unsaid */
    g_autoptr(GString) cell = g_string_new(NULL);
    g_auto(GStrv) names = g_strsplit(form->header, ",", -1);
    for (int i = 0; names[i]; i++)
        omo_csv_add_text(&out, names[i]);
    while (at < size) {
        char c = bytes[at];
        if (c == '\r') {
            at++;
        } else if (c == '\n') {
            omo_csv_end_row(&out);
            column = 0;
            at++;
            /* A row begins with a cell, and a line of nothing stays one of nothing. */
            if (at < size && bytes[at] != '\n' && bytes[at] != '\r') {
                take_cell(bytes, size, &at, cell);
                add_cell(form, column, cell, &out);
            }
        } else { /* a semicolon */
            at++;
            column++;
            take_cell(bytes, size, &at, cell);
            add_cell(form, column, cell, &out);
        }
    }
    if (out.failed) {
        omo_csv_text_free(&out);
        return NULL;
    }
    *out_size = out.size;
    return out.bytes; /* taken over */
}
