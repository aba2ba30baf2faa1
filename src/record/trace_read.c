#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "omogon/csv.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/record.h"
#include "omogon/text.h"

#define TRACE_BYTES_MAX ((size_t)256 * 1024 * 1024)

/** What a trace has to have to be one. The rest is empty where it is missing: a trace of
 * an older version has fewer markers. */
static const struct {
    const char *name;
    size_t offset; /* of a double in struct omo_trace_row */
    bool needed;
} numbers[] = {
    {"time_s", offsetof(struct omo_trace_row, time_s), true},
    {"angle_deg", offsetof(struct omo_trace_row, angle_deg), true},
    {"angle_raw_deg", offsetof(struct omo_trace_row, angle_raw_deg), false},
    {"angle_image_deg", offsetof(struct omo_trace_row, angle_image_deg), false},
    {"angle_vertical_deg", offsetof(struct omo_trace_row, angle_vertical_deg), false},
    {"elbow_flexion_deg", offsetof(struct omo_trace_row, elbow_flexion_deg), false},
    {"trunk_lean_deg", offsetof(struct omo_trace_row, trunk_lean_deg), true},
    {"hike_ratio", offsetof(struct omo_trace_row, hike_ratio), true},
    {"hike_mm", offsetof(struct omo_trace_row, hike_mm), false},
};
static const char *const of_marker[] = {"x_px", "y_px", "diameter_px", "seen"};

/** Where the columns stand; -1: not there. */
struct places {
    int frame, quality, reference, width, height;
    int number[G_N_ELEMENTS(numbers)];
    int marker[OMO_ROLE_COUNT][G_N_ELEMENTS(of_marker)];
};

static bool find_places(const char *path, const struct omo_csv_table *table,
                        struct places *p)
{
    p->frame = omo_csv_find(table, "frame");
    p->quality = omo_csv_find(table, "quality");
    p->reference = omo_csv_find(table, "reference");
    p->width = omo_csv_find(table, "picture_width_px");
    p->height = omo_csv_find(table, "picture_height_px");
    for (size_t i = 0; i < G_N_ELEMENTS(numbers); i++) {
        p->number[i] = omo_csv_find(table, numbers[i].name);
        if (p->number[i] < 0 && numbers[i].needed) {
            omo_error("%s is no trace: it has no column %s; give a .trace.csv", path,
                      numbers[i].name);
            return false;
        }
    }
    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        for (size_t i = 0; i < G_N_ELEMENTS(of_marker); i++) {
            char name[48] = "";
            omo_text_add(name, sizeof name, "%s_%s", omo_role_name((enum omo_role)role),
                         of_marker[i]);
            p->marker[role][i] = omo_csv_find(table, name);
        }
    return true;
}

/** A cell's number; NAN for an empty one and for a column that is not there. */
static bool number_of(const struct omo_csv_table *table, size_t line, int column,
                      double *out)
{
    const char *cell = column < 0 ? "" : omo_csv_cell(table, line, (size_t)column);
    *out = NAN;
    return cell[0] == '\0' || omo_number_parse(cell, out);
}

static const char *text_of(const struct omo_csv_table *table, size_t line, int column)
{
    return column < 0 ? "" : omo_csv_cell(table, line, (size_t)column);
}

/** Words joined by '+' as bits; a word of a later version is passed over. */
static unsigned quality_of(const char *text)
{
    g_auto(GStrv) words = g_strsplit(text, "+", -1);
    unsigned quality = 0;
    const char *word;
    for (int bit = 0; (word = omo_quality_word(bit + 1, NULL)); bit++)
        if (g_strv_contains((const char *const *)words, word))
            quality |= 1u << bit;
    return quality;
}

static enum omo_reference reference_of(const char *text)
{
    for (int i = OMO_REFERENCE_NONE; i <= OMO_REFERENCE_CHEST_HIP; i++)
        if (!strcmp(text, omo_reference_name((enum omo_reference)i)))
            return (enum omo_reference)i;
    return OMO_REFERENCE_NONE;
}

static bool read_marker(const struct omo_csv_table *table, size_t line, const int *places,
                        struct omo_marker *marker)
{
    double seen;
    marker->sigma_px = NAN; /* is not in the file */
    if (!number_of(table, line, places[0], &marker->x_px) ||
        !number_of(table, line, places[1], &marker->y_px) ||
        !number_of(table, line, places[2], &marker->diameter_px) ||
        !number_of(table, line, places[3], &seen))
        return false;
    marker->seen = seen == OMO_SEEN             ? OMO_SEEN
                   : seen == OMO_PLACED_BY_HAND ? OMO_PLACED_BY_HAND
                                                : OMO_NOT_SEEN;
    return true;
}

static bool read_line(const struct omo_csv_table *table, size_t line,
                      const struct places *p, struct omo_trace_row *row)
{
    double frame;
    for (size_t i = 0; i < G_N_ELEMENTS(numbers); i++) {
        double value;
        if (!number_of(table, line, p->number[i], &value))
            return false;
        memcpy((char *)row + numbers[i].offset, &value, sizeof value);
    }
    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        if (!read_marker(table, line, p->marker[role], &row->markers.role[role]))
            return false;
    if (!number_of(table, line, p->frame, &frame) || fabs(frame) > 1e15)
        return false;
    row->frame = isnan(frame) ? (int64_t)line - 1 : (int64_t)frame;
    row->quality = quality_of(text_of(table, line, p->quality));
    row->reference = reference_of(text_of(table, line, p->reference));
    return true;
}

static enum omo_status read_table(const char *path, const struct omo_csv_table *table,
                                  struct omo_trace *out)
{
    struct places places;
    size_t lines = omo_csv_rows(table);
    if (!find_places(path, table, &places))
        return OMO_ERR_FORMAT;
    struct omo_trace trace = {.rows = calloc(lines, sizeof *trace.rows)};
    if (!trace.rows)
        return OMO_ERR_MEMORY;
    for (size_t line = 1; line < lines; line++) {
        if (read_line(table, line, &places, &trace.rows[trace.count++]))
            continue;
        omo_error("%s is damaged in line %zu; measure that clip again", path, line + 1);
        free(trace.rows);
        return OMO_ERR_FORMAT;
    }
    double width, height;
    if (number_of(table, 1, places.width, &width) &&
        number_of(table, 1, places.height, &height) && width >= 1 && width <= 16384 &&
        height >= 1 && height <= 16384) {
        trace.picture_width = (int)width;
        trace.picture_height = (int)height;
    }
    *out = trace;
    return OMO_OK;
}

enum omo_status omo_trace_read(const char *path, struct omo_trace *out)
{
    char *bytes = NULL;
    size_t size = 0, line = 0;
    struct omo_csv_table *table = NULL;
    enum omo_status status = omo_file_read(path, TRACE_BYTES_MAX, &bytes, &size);
    if (status == OMO_ERR_OPEN)
        omo_error("trace %s cannot be opened: %s", path, g_strerror(errno));
    if (status != OMO_OK)
        return status;
    status = omo_csv_parse(bytes, size, &table, &line);
    if (status == OMO_ERR_FORMAT)
        omo_error("%s is no trace: line %zu is not one of a CSV file", path, line);
    if (status == OMO_OK)
        status = read_table(path, table, out);
    omo_csv_destroy(table);
    free(bytes);
    return status;
}

void omo_trace_free(struct omo_trace *trace)
{
    free(trace->rows);
    *trace = (struct omo_trace){0};
}
