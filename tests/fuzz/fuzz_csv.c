// Any bytes as a table, and as a table of a record that somebody has edited.
// sources: src/base/*.c src/record/columns.c src/record/edit_files.c src/record/forms.c
// sources: src/record/dialect.c
// sources: src/record/id.c src/record/journal.c src/record/ledger.c
// sources: src/record/ledger_read.c src/record/lock.c
// sources: src/motion/quality.c src/layout/body.c
// pkgs: glib-2.0
// options: -max_len=4096
#include <glib.h>

#include "claims.h"
#include "omogon/csv.h"
#include "record/dialect.h"
#include "record/ledger.h"

static void write_again(const struct omo_csv_table *table, struct omo_csv_text *csv)
{
    for (size_t row = 0; row < omo_csv_rows(table); row++) {
        for (size_t i = 0; i < omo_csv_columns(table, row); i++)
            omo_csv_add_text(csv, omo_csv_cell(table, row, i));
        omo_csv_end_row(csv);
    }
}

static void compare(const struct omo_csv_table *a, const struct omo_csv_table *b)
{
    demand(omo_csv_rows(a) == omo_csv_rows(b), "as many rows");
    for (size_t row = 0; row < omo_csv_rows(a); row++) {
        demand(omo_csv_columns(a, row) == omo_csv_columns(b, row), "as many columns");
        for (size_t i = 0; i < omo_csv_columns(a, row); i++) {
            const char *cell = omo_csv_cell(a, row, i);

            demand(strcmp(cell, omo_csv_cell(b, row, i)) == 0, "the same cell");
#ifdef OMO_PLANTED_FAULT
            /* Only below the header, and only out of a cell that needs its quotes thrice.
             */
            if (row > 0 && strchr(cell, ',') != NULL && strchr(cell, '\n') != NULL &&
                strchr(cell, '"') != NULL)
                demand(false, "the planted fault");
#endif
        }
    }
}

static void read_as_table(const char *bytes, size_t size)
{
    struct omo_csv_table *table, *again;
    struct omo_csv_text csv = {0};
    size_t line = 0;
    enum omo_status status = omo_csv_parse(bytes, size, &table, &line);

    if (status != OMO_OK) {
        demand(status == OMO_ERR_FORMAT && line >= 1 && line <= size + 1,
               "a mistake has a line");
        return;
    }
    write_again(table, &csv);
    demand(omo_csv_parse(csv.bytes, csv.size, &again, NULL) == OMO_OK,
           "what is written can be read");
    compare(table, again);
    (void)omo_csv_find(table, "note");
    omo_csv_destroy(again);
    omo_csv_destroy(table);
    omo_csv_text_free(&csv);
}

static void write_rows(const struct ledger *ledger, struct omo_csv_text *csv)
{
    char **names = g_strsplit(ledger->form->header, ",", -1);

    for (int i = 0; names[i] != NULL; i++)
        omo_csv_add_text(csv, names[i]);
    omo_csv_end_row(csv);
    g_strfreev(names);
    for (size_t i = 0; i < ledger->count; i++)
        omo_row_write(ledger->form, omo_ledger_row(ledger, i), csv);
}

/* Rows that were read and written are rounded; from then on nothing may change any more.
 */
static void read_as_rows(const struct row_form *form, const char *bytes, size_t size)
{
    struct ledger first = {.form = form}, second = {.form = form};
    struct omo_csv_text once = {0}, twice = {0};

    if (omo_ledger_read(&first, bytes, size) == OMO_OK) {
        demand(first.keep_bytes <= (off_t)size, "no more is kept than there is");
        write_rows(&first, &once);
        demand(omo_ledger_read(&second, once.bytes, once.size) == OMO_OK,
               "rows that are written can be read");
        demand(second.keep_bytes == (off_t)once.size && !second.lacks_line_end,
               "written rows are whole lines");
        write_rows(&second, &twice);
        demand(once.size == twice.size && memcmp(once.bytes, twice.bytes, once.size) == 0,
               "rows come back as they were written");
    }
    omo_csv_text_free(&once);
    omo_csv_text_free(&twice);
    g_free(first.rows);
    g_free(second.rows);
}

/* Behind a good header more of the input reaches the rows. */
static void read_below_header(const struct row_form *form, const uint8_t *bytes,
                              size_t size)
{
    size_t length = strlen(form->header);
    char *table = malloc(length + 1 + size);

    if (table == NULL)
        return;
    memcpy(table, form->header, length);
    table[length] = '\n';
    memcpy(table + length + 1, bytes, size);
    read_as_rows(form, table, length + 1 + size);
    free(table);
}

/* The same as a spreadsheet saves it with semicolons: what comes of it is a table like
 * any other, and is taken for no other dialect again. */
static void read_dialect(const struct row_form *form, const uint8_t *bytes, size_t size)
{
    size_t length = strlen(form->header), standard_size = 0, again_size = 0;
    char *table = malloc(length + 1 + size);
    char *standard;

    if (table == NULL)
        return;
    for (size_t i = 0; i < length; i++)
        table[i] = form->header[i] == ',' ? ';' : form->header[i];
    table[length] = '\n';
    memcpy(table + length + 1, bytes, size);
    standard = omo_dialect_standard(form, table, length + 1 + size, &standard_size);
    demand((standard == NULL) == (memchr(bytes, '\0', size) != NULL),
           "all is read but what no text has");
    if (standard != NULL) {
        demand(omo_dialect_standard(form, standard, standard_size, &again_size) == NULL,
               "the standard form is the standard form");
        read_as_rows(form, standard, standard_size);
    }
    free(standard);
    free(table);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    read_as_table((const char *)bytes, size);
    read_as_rows(&omo_session_form, (const char *)bytes, size);
    read_below_header(&omo_session_form, bytes, size);
    read_dialect(&omo_session_form, bytes, size);
    for (int kind = 0; kind < OMO_TABLE_COUNT; kind++)
        read_below_header(omo_table_form((enum omo_table_kind)kind), bytes, size);
    read_dialect(omo_table_form(OMO_TABLE_STEPS), bytes, size);
    return 0;
}
