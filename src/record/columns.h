/**
 * A row's columns as a list, so that header, writer and reader of a table cannot drift
 * apart; and the lists of sessions.csv and of the tables beside it.
 */
#ifndef RECORD_COLUMNS_H
#define RECORD_COLUMNS_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/csv.h"
#include "omogon/record.h"
#include "omogon/tables.h"

#define DEGREE_DECIMALS   3
#define RATIO_DECIMALS    3
#define PIXEL_DECIMALS    3
#define MM_DECIMALS       3
#define CM_DECIMALS       2
#define KG_DECIMALS       3
#define DISTANCE_DECIMALS 1 /* metres */
#define TIME_DECIMALS     6
#define HELD_DECIMALS     3 /* seconds that somebody stayed */
#define RATE_DECIMALS     3
#define PAIN_DECIMALS     1 /* a rating of 0 to 10, or 0 to 100 */
#define VALUE_DECIMALS    3 /* whatever was entered by hand */

enum column_kind { COLUMN_TEXT, COLUMN_NUMBER, COLUMN_COUNT };
struct column {
    const char *name;
    enum column_kind kind;
    size_t offset, size; /* of the field in the row's struct */
    int decimals;
};

/** A kind of row and the file it is kept in. The first column is never empty. */
struct row_form {
    const char *file;
    const char *header; /* without the line end */
    const struct column *columns;
    size_t column_count, row_bytes;
};

/* ---- forms.c ----------------------------------------------------------------------- */

extern const struct row_form omo_session_form;
const struct row_form *omo_table_form(enum omo_table_kind kind);
/** The form of a file of the record's folder, NULL for any other name. */
const struct row_form *omo_form_of_file(const char *file);

/* ---- tables.c ---------------------------------------------------------------------- */

#define TABLE_ID_BYTES 33
/** A row's id by lot, in hexadecimal digits. */
OMO_MUST_CHECK bool omo_table_random_id(char out[TABLE_ID_BYTES]);

/* ---- columns.c --------------------------------------------------------------------- */

/** Everything empty: texts "", numbers NAN, counts -1. */
void omo_row_clear(const struct row_form *form, void *row);
/** Adds the row's cells and line end. */
void omo_row_write(const struct row_form *form, const void *row,
                   struct omo_csv_text *csv);
/** Reads row `index`. False when the width or a number is wrong, or the first cell empty;
 *  *row is then undefined. */
OMO_MUST_CHECK bool omo_row_read(const struct row_form *form,
                                 const struct omo_csv_table *table, size_t index,
                                 void *row);
/** Fills the index-th column of a row; false past the last. */
bool omo_row_field(const struct row_form *form, const void *row, int index,
                   struct omo_session_field *field);
/** Whether the table's first row is this version's header. */
bool omo_header_matches(const struct row_form *form, const struct omo_csv_table *table);

#endif
