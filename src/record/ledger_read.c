#include <string.h>

#include <glib.h>

#include "omogon/log.h"
#include "record/ledger.h"

bool omo_ledger_add_rows(struct ledger *ledger, const struct omo_csv_table *table,
                         size_t first, size_t *bad_row)
{
    size_t row_bytes = ledger->form->row_bytes;

    for (size_t i = first; i < omo_csv_rows(table); i++) {
        /* A blank line is nothing, whoever left it. */
        if (omo_csv_columns(table, i) == 1 && omo_csv_cell(table, i, 0)[0] == '\0')
            continue;
        if (ledger->count == ledger->room) {
            size_t room = ledger->room == 0 ? 16 : ledger->room * 2;

            ledger->rows = g_realloc_n(ledger->rows, room, row_bytes);
            ledger->room = room;
        }
        *bad_row = i;
        if (!omo_row_read(ledger->form, table, i,
                          ledger->rows + ledger->count * row_bytes))
            return false;
        ledger->count++;
    }
    return true;
}

static enum omo_status say_damaged(const struct ledger *ledger, size_t line)
{
    omo_error(
        "%s is damaged in line %zu, so nothing is added to it; mend the line or move "
        "the file away",
        ledger->path, line);
    return OMO_ERR_FORMAT;
}

/* Whole lines: the header and rows. */
static enum omo_status read_lines(struct ledger *ledger, const char *bytes, size_t size)
{
    struct omo_csv_table *table;
    size_t bad = 0;
    enum omo_status status = omo_csv_parse(bytes, size, &table, &bad);

    if (status == OMO_ERR_FORMAT)
        return say_damaged(ledger, bad);
    if (status != OMO_OK)
        return status;
    if (!omo_header_matches(ledger->form, table)) {
        omo_error("%s has other columns than this version writes, so nothing is added to "
                  "it; move it away or choose another folder",
                  ledger->path);
        status = OMO_ERR_FORMAT;
    } else if (!omo_ledger_add_rows(ledger, table, 1, &bad)) {
        status = say_damaged(ledger, bad + 1);
    }
    omo_csv_destroy(table);
    return status;
}

/* A last line without its line end is either the half line of a killed run or a whole row
   from which an editor took the line end; only the second has all its columns. */
static bool read_last_line(struct ledger *ledger, const char *bytes, size_t size)
{
    struct omo_csv_table *table;
    size_t bad;
    bool whole;

    if (omo_csv_parse(bytes, size, &table, NULL) != OMO_OK)
        return false;
    whole = omo_csv_rows(table) == 1 && omo_ledger_add_rows(ledger, table, 0, &bad);
    omo_csv_destroy(table);
    return whole;
}

enum omo_status omo_ledger_read(struct ledger *ledger, const char *bytes, size_t size)
{
    const char *last_end = memrchr(bytes, '\n', size);
    size_t whole = last_end == NULL ? 0 : (size_t)(last_end - bytes) + 1;
    enum omo_status status;

    ledger->count = 0;
    ledger->keep_bytes = 0;
    ledger->lacks_line_end = false;
    if (size == 0)
        return OMO_OK;
    if (whole == 0) { /* the header is made in one step, so it is never half */
        status = read_lines(ledger, bytes, size);
        ledger->lacks_line_end = true;
        ledger->keep_bytes = (off_t)size;
        return status;
    }
    status = read_lines(ledger, bytes, whole);
    ledger->keep_bytes = (off_t)whole;
    if (status == OMO_OK && whole < size &&
        read_last_line(ledger, bytes + whole, size - whole)) {
        ledger->lacks_line_end = true;
        ledger->keep_bytes = (off_t)size;
    }
    return status;
}
