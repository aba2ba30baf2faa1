/** A table that a spreadsheet saved in its own manner, in the standard one. */
#ifndef RECORD_DIALECT_H
#define RECORD_DIALECT_H

#include "record/columns.h"

/**
 * Where the first line is this form's header with semicolons between its names, as
 * spreadsheets save it where the comma is the decimal sign: the same table with commas
 * between and dots in the numbers, line by line, to be freed by free(). NULL for any
 * other table, and without memory. Which sign is which is decided by the header, never by
 * a cell: a number that has both stays as it is, and is then no number.
 */
char *omo_dialect_standard(const struct row_form *form, const char *bytes, size_t size,
                           size_t *out_size);

#endif
