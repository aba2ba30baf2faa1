#include "app/rise_from.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>

#include <glib.h>

#include "omogon/csv.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"

#define TRACE_BYTES_MAX ((size_t)256 * 1024 * 1024)

/** A cell's number; NAN for an empty one. False when it is something else. */
static bool read_cell(const struct omo_csv_table *table, size_t row, int column,
                      double *out)
{
    const char *cell = omo_csv_cell(table, row, (size_t)column);
    *out = NAN;
    return cell[0] == '\0' || omo_number_parse(cell, out);
}

static enum omo_status read_rows(const char *path, const struct omo_csv_table *table,
                                 struct omo_trace_row *rows)
{
    static const char *const names[] = {"time_s", "angle_deg", "hike_ratio",
                                        "trunk_lean_deg"};
    int column[G_N_ELEMENTS(names)];
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++) {
        column[i] = omo_csv_find(table, names[i]);
        if (column[i] < 0) {
            omo_error("--rise-from %s is no trace: it has no column %s; give a "
                      ".trace.csv of the same person",
                      path, names[i]);
            return OMO_ERR_FORMAT;
        }
    }
    for (size_t k = 1; k < omo_csv_rows(table); k++) {
        struct omo_trace_row *row = &rows[k - 1];
        if (!read_cell(table, k, column[0], &row->time_s) ||
            !read_cell(table, k, column[1], &row->angle_deg) ||
            !read_cell(table, k, column[2], &row->hike_ratio) ||
            !read_cell(table, k, column[3], &row->trunk_lean_deg)) {
            omo_error("--rise-from %s is damaged in line %zu; measure that clip again",
                      path, k + 1);
            return OMO_ERR_FORMAT;
        }
    }
    return OMO_OK;
}

static enum omo_status curve_of(const char *path, const struct omo_csv_table *table,
                                struct omo_rise *rise)
{
    size_t count = omo_csv_rows(table) > 0 ? omo_csv_rows(table) - 1 : 0;
    struct omo_trace_row *rows = calloc(count + 1, sizeof *rows);
    if (rows == NULL)
        return OMO_ERR_MEMORY;
    enum omo_status status = read_rows(path, table, rows);
    if (status == OMO_OK) {
        status = omo_rise_of(rows, count, rise);
        if (status == OMO_ERR_EMPTY)
            omo_error("--rise-from %s shows no raise with a rise of the shoulder; give "
                      "a trace with a rest, a trunk marker and a raise",
                      path);
    }
    free(rows);
    return status;
}

enum omo_status omo_rise_from(const char *path, struct omo_rise *rise)
{
    char *bytes = NULL;
    size_t size = 0, line = 0;
    struct omo_csv_table *table = NULL;
    enum omo_status status = omo_file_read(path, TRACE_BYTES_MAX, &bytes, &size);
    if (status == OMO_ERR_OPEN)
        omo_error("--rise-from %s cannot be opened: %s; give a trace of the same person",
                  path, g_strerror(errno));
    if (status != OMO_OK)
        return status;
    status = omo_csv_parse(bytes, size, &table, &line);
    if (status == OMO_ERR_FORMAT)
        omo_error("--rise-from %s is no trace: line %zu is not one of a CSV file", path,
                  line);
    if (status == OMO_OK) {
        status = curve_of(path, table, rise);
        omo_csv_destroy(table);
    }
    free(bytes);
    return status;
}

void omo_rise_identify(const struct omo_rise *rise, struct omo_id *id)
{
    char number[32];
    for (int i = 0; rise != NULL && i < rise->count; i++) {
        const struct omo_rise_point *p = &rise->point[i];
        const double values[] = {p->angle_deg, p->ratio, p->ratio_sd};
        for (size_t k = 0; k < G_N_ELEMENTS(values); k++) {
            omo_number_text(values[k], 6, number, sizeof number);
            omo_id_add_text(id, "expected_rise", number);
        }
    }
}
