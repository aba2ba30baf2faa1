/** RFC 4180 CSV with LF line ends, UTF-8. */
#ifndef OMOGON_CSV_H
#define OMOGON_CSV_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** A text being written; grows. Zero-initialise. */
struct omo_csv_text {
    char *bytes; /**< NUL-terminated, owned; omo_csv_text_free() */
    size_t size, room;
    bool row_started, failed; /**< failed: out of memory */
};
/** Adds a cell, quoted where it has to be. */
OMO_API void omo_csv_add_text(struct omo_csv_text *csv, const char *field);
/** Adds a cell; empty for NAN. */
OMO_API void omo_csv_add_number(struct omo_csv_text *csv, double value, int decimals);
/** Adds a cell. */
OMO_API void omo_csv_add_integer(struct omo_csv_text *csv, long long value);
/** Ends the line. */
OMO_API void omo_csv_end_row(struct omo_csv_text *csv);
/** Frees the bytes and clears the struct. */
OMO_API void omo_csv_text_free(struct omo_csv_text *csv);

/** A parsed table; rows may differ in width. */
struct omo_csv_table;
/** Parses bytes (a leading byte-order mark and CR LF are accepted). On a mistake
 *  OMO_ERR_FORMAT, *line_out (may be NULL) the 1-based line, nothing to destroy. Silent.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_csv_parse(const char *bytes, size_t size,
                                                     struct omo_csv_table **out,
                                                     size_t *line_out);
/** Frees it; NULL is fine. */
OMO_API void omo_csv_destroy(struct omo_csv_table *table);
/** Rows, the header's among them. */
OMO_API size_t omo_csv_rows(const struct omo_csv_table *table);
/** Cells of a row; 0 outside the table. */
OMO_API size_t omo_csv_columns(const struct omo_csv_table *table, size_t row);
/** "" outside the table. Lent. */
OMO_API const char *omo_csv_cell(const struct omo_csv_table *table, size_t row,
                                 size_t column);
/** Column whose header cell (row 0) is `name`, or -1. */
OMO_API int omo_csv_find(const struct omo_csv_table *table, const char *name);

#ifdef __cplusplus
}
#endif

#endif
