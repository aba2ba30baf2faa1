#include "omogon/csv.h"

#include <limits.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "omogon/text.h"

#define BYTE_ORDER_MARK "\xEF\xBB\xBF"

/* ---- writing --------------------------------------------------------------------- */

static bool make_room(struct omo_csv_text *csv, size_t more)
{
    size_t room = csv->room < 256 ? 256 : csv->room;
    char *bytes;

    if (csv->failed || more > SIZE_MAX / 4 - csv->size) {
        csv->failed = true;
        return false;
    }
    while (room < csv->size + more + 1)
        room *= 2;
    if (room == csv->room)
        return true;
    bytes = realloc(csv->bytes, room);
    if (bytes == NULL) {
        csv->failed = true;
        return false;
    }
    csv->bytes = bytes;
    csv->room = room;
    return true;
}

static void add_bytes(struct omo_csv_text *csv, const char *bytes, size_t size)
{
    if (!make_room(csv, size))
        return;
    memcpy(csv->bytes + csv->size, bytes, size);
    csv->size += size;
    csv->bytes[csv->size] = '\0';
}

static void start_field(struct omo_csv_text *csv)
{
    if (csv->row_started)
        add_bytes(csv, ",", 1);
    csv->row_started = true;
}

static void add_quoted(struct omo_csv_text *csv, const char *field)
{
    const char *quote;

    add_bytes(csv, "\"", 1);
    while ((quote = strchr(field, '"')) != NULL) {
        add_bytes(csv, field, (size_t)(quote - field) + 1);
        add_bytes(csv, "\"", 1);
        field = quote + 1;
    }
    add_bytes(csv, field, strlen(field));
    add_bytes(csv, "\"", 1);
}

static void add_valid(struct omo_csv_text *csv, const char *field)
{
    /* A reader would take a mark at the very start for the file's and drop it. */
    bool has_mark = csv->size == 0 && strncmp(field, BYTE_ORDER_MARK, 3) == 0;

    if (has_mark || field[strcspn(field, ",\"\r\n")] != '\0')
        add_quoted(csv, field);
    else
        add_bytes(csv, field, strlen(field));
}

void omo_csv_add_text(struct omo_csv_text *csv, const char *field)
{
    start_field(csv);
    if (field == NULL)
        return;
    if (g_utf8_validate(field, -1, NULL)) {
        add_valid(csv, field);
    } else {
        /* A file name may hold any bytes; the table stays UTF-8. */
        char *valid = g_utf8_make_valid(field, -1);

        add_valid(csv, valid);
        g_free(valid);
    }
}

void omo_csv_add_number(struct omo_csv_text *csv, double value, int decimals)
{
    char text[48];

    omo_number_text(value, decimals, text, sizeof text);
    start_field(csv);
    add_bytes(csv, text, strlen(text));
}

void omo_csv_add_integer(struct omo_csv_text *csv, long long value)
{
    char text[24];
    int length = snprintf(text, sizeof text, "%lld", value);

    start_field(csv);
    add_bytes(csv, text, (size_t)length);
}

void omo_csv_end_row(struct omo_csv_text *csv)
{
    add_bytes(csv, "\n", 1);
    csv->row_started = false;
}

void omo_csv_text_free(struct omo_csv_text *csv)
{
    free(csv->bytes);
    memset(csv, 0, sizeof *csv);
}

/* ---- reading --------------------------------------------------------------------- */

struct omo_csv_table {
    char *text;   /* cells, each ended by a NUL */
    size_t *cell; /* offsets into text */
    size_t *row;  /* index of each row's first cell; one more at the end */
    size_t cell_count, cell_room, row_count, row_room;
};

struct reader {
    const char *bytes;
    size_t size, at, line;
    char *out; /* next free byte of the table's text */
};

static bool push(size_t **list, size_t *count, size_t *room, size_t value)
{
    if (*count == *room) {
        size_t new_room = *room < 64 ? 64 : *room * 2;
        size_t *grown = realloc(*list, new_room * sizeof **list);

        if (grown == NULL)
            return false;
        *list = grown;
        *room = new_room;
    }
    (*list)[(*count)++] = value;
    return true;
}

static bool at_line_end(const struct reader *r)
{
    if (r->at == r->size || r->bytes[r->at] == '\n')
        return true;
    return r->bytes[r->at] == '\r' && r->at + 1 < r->size && r->bytes[r->at + 1] == '\n';
}

static enum omo_status read_quoted(struct reader *r)
{
    size_t first_line = r->line;

    r->at++;
    for (;;) {
        char c;

        if (r->at == r->size) {
            r->line =
                first_line; /* where the quote was opened, not where the file ends */
            return OMO_ERR_FORMAT;
        }
        c = r->bytes[r->at++];
        if (c == '"') {
            if (r->at == r->size || r->bytes[r->at] != '"')
                break;
            r->at++;
        }
        if (c == '\n')
            r->line++;
        *r->out++ = c;
    }
    /* Only a comma or the line's end may follow the closing quote. */
    return at_line_end(r) || r->bytes[r->at] == ',' ? OMO_OK : OMO_ERR_FORMAT;
}

static enum omo_status read_plain(struct reader *r)
{
    while (!at_line_end(r) && r->bytes[r->at] != ',') {
        char c = r->bytes[r->at++];

        if (c == '"' || c == '\r')
            return OMO_ERR_FORMAT;
        *r->out++ = c;
    }
    return OMO_OK;
}

static enum omo_status read_cell(struct reader *r, struct omo_csv_table *table)
{
    enum omo_status status;

    if (!push(&table->cell, &table->cell_count, &table->cell_room,
              (size_t)(r->out - table->text)))
        return OMO_ERR_MEMORY;
    status = r->at < r->size && r->bytes[r->at] == '"' ? read_quoted(r) : read_plain(r);
    *r->out++ = '\0';
    return status;
}

static enum omo_status read_row(struct reader *r, struct omo_csv_table *table)
{
    enum omo_status status;

    if (!push(&table->row, &table->row_count, &table->row_room, table->cell_count))
        return OMO_ERR_MEMORY;
    while ((status = read_cell(r, table)) == OMO_OK && !at_line_end(r))
        r->at++; /* the comma */
    if (status != OMO_OK)
        return status;
    if (r->at < r->size)
        r->at += r->bytes[r->at] == '\r' ? 2 : 1;
    r->line++;
    return OMO_OK;
}

static size_t line_of(const char *bytes, size_t offset)
{
    size_t line = 1;

    for (size_t i = 0; i < offset; i++)
        line += bytes[i] == '\n';
    return line;
}

static enum omo_status read_rows(struct reader *r, struct omo_csv_table *table)
{
    enum omo_status status = OMO_OK;

    while (status == OMO_OK && r->at < r->size)
        status = read_row(r, table);
    if (status == OMO_OK &&
        !push(&table->row, &table->row_count, &table->row_room, table->cell_count))
        status = OMO_ERR_MEMORY;
    if (status == OMO_OK)
        table->row_count--; /* the last entry only ends the last row */
    return status;
}

enum omo_status omo_csv_parse(const char *bytes, size_t size, struct omo_csv_table **out,
                              size_t *line_out)
{
    struct reader r = {.bytes = bytes, .size = size, .line = 1};
    struct omo_csv_table *table;
    const char *bad;
    enum omo_status status;

    /* Also refuses NUL bytes, which would cut a cell short. */
    if (size > (size_t)SSIZE_MAX / 2)
        return OMO_ERR_MEMORY;
    if (size > 0 && !g_utf8_validate(bytes, (gssize)size, &bad)) {
        if (line_out != NULL)
            *line_out = line_of(bytes, (size_t)(bad - bytes));
        return OMO_ERR_FORMAT;
    }
    if (size >= 3 && memcmp(bytes, BYTE_ORDER_MARK, 3) == 0)
        r.at = 3;
    table = calloc(1, sizeof *table);
    if (table == NULL)
        return OMO_ERR_MEMORY;
    /* Each cell needs no more than its own bytes and the separator after it; only the
       last may lack one. */
    table->text = malloc(size + 1);
    r.out = table->text;
    status = table->text == NULL ? OMO_ERR_MEMORY : read_rows(&r, table);
    if (status == OMO_OK) {
        *out = table;
        return OMO_OK;
    }
    omo_csv_destroy(table);
    if (status == OMO_ERR_FORMAT && line_out != NULL)
        *line_out = r.line;
    return status;
}

void omo_csv_destroy(struct omo_csv_table *table)
{
    if (table == NULL)
        return;
    free(table->text);
    free(table->cell);
    free(table->row);
    free(table);
}

size_t omo_csv_rows(const struct omo_csv_table *table)
{
    return table->row_count;
}

size_t omo_csv_columns(const struct omo_csv_table *table, size_t row)
{
    return row < table->row_count ? table->row[row + 1] - table->row[row] : 0;
}

const char *omo_csv_cell(const struct omo_csv_table *table, size_t row, size_t column)
{
    if (column >= omo_csv_columns(table, row))
        return "";
    return table->text + table->cell[table->row[row] + column];
}

int omo_csv_find(const struct omo_csv_table *table, const char *name)
{
    size_t count = omo_csv_columns(table, 0);

    for (size_t i = 0; i < count && i < INT_MAX; i++)
        if (strcmp(omo_csv_cell(table, 0, i), name) == 0)
            return (int)i;
    return -1;
}
