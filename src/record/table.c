#include <string.h>

#include <glib.h>

#include "omogon/log.h"
#include "record/record_private.h"

bool record_add_rows(struct omo_record *record, const struct omo_csv_table *table,
                     size_t first, size_t *bad_row)
{
    for (size_t i = first; i < omo_csv_rows(table); i++) {
        /* A blank line is nothing, whoever left it. */
        if (omo_csv_columns(table, i) == 1 && omo_csv_cell(table, i, 0)[0] == '\0')
            continue;
        if (record->count == record->room) {
            size_t room = record->room == 0 ? 16 : record->room * 2;

            record->rows = g_realloc_n(record->rows, room, sizeof *record->rows);
            record->room = room;
        }
        *bad_row = i;
        if (!session_row_read(table, i, &record->rows[record->count]))
            return false;
        record->count++;
    }
    return true;
}

static enum omo_status say_damaged(const struct omo_record *record, size_t line)
{
    omo_error(
        "%s is damaged in line %zu, so nothing is added to it; mend the line or move "
        "the file away",
        record->table_path, line);
    return OMO_ERR_FORMAT;
}

/* Whole lines: the header and rows. */
static enum omo_status read_lines(struct omo_record *record, const char *bytes,
                                  size_t size)
{
    struct omo_csv_table *table;
    size_t bad = 0;
    enum omo_status status = omo_csv_parse(bytes, size, &table, &bad);

    if (status == OMO_ERR_FORMAT)
        return say_damaged(record, bad);
    if (status != OMO_OK)
        return status;
    if (!session_header_matches(table)) {
        omo_error("%s has other columns than this version writes, so nothing is added to "
                  "it; move it away or choose another folder",
                  record->table_path);
        status = OMO_ERR_FORMAT;
    } else if (!record_add_rows(record, table, 1, &bad)) {
        status = say_damaged(record, bad + 1);
    }
    omo_csv_destroy(table);
    return status;
}

/* A last line without its line end is either the half line of a killed run or a whole row
   from which an editor took the line end; only the second has all its columns. */
static bool read_last_line(struct omo_record *record, const char *bytes, size_t size)
{
    struct omo_csv_table *table;
    size_t bad;
    bool whole;

    if (omo_csv_parse(bytes, size, &table, NULL) != OMO_OK)
        return false;
    whole = omo_csv_rows(table) == 1 && record_add_rows(record, table, 0, &bad);
    omo_csv_destroy(table);
    return whole;
}

enum omo_status record_read_table(struct omo_record *record, const char *bytes,
                                  size_t size)
{
    const char *last_end = memrchr(bytes, '\n', size);
    size_t whole = last_end == NULL ? 0 : (size_t)(last_end - bytes) + 1;
    enum omo_status status;

    record->count = 0;
    record->keep_bytes = 0;
    record->lacks_line_end = false;
    if (size == 0)
        return OMO_OK;
    if (whole == 0) { /* the header is made in one step, so it is never half */
        status = read_lines(record, bytes, size);
        record->lacks_line_end = true;
        record->keep_bytes = (off_t)size;
        return status;
    }
    status = read_lines(record, bytes, whole);
    record->keep_bytes = (off_t)whole;
    if (status == OMO_OK && whole < size &&
        read_last_line(record, bytes + whole, size - whole)) {
        record->lacks_line_end = true;
        record->keep_bytes = (off_t)size;
    }
    return status;
}
