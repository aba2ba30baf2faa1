/* CSV tables as RFC 4180 has them, with a Table Schema data package that says what every
 * column is. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <cjson/cJSON.h>

#include "app/export.h"
#include "app/export_columns.h"
#include "app/pipeline.h"
#include "omogon/analysis.h"
#include "omogon/csv.h"
#include "omogon/log.h"
#include "omogon/text.h"

/** A table in the making. */
struct table {
    const char *name; /* "sessions" */
    const char *title;
    struct omo_csv_text csv;
    GPtrArray *columns; /* char *, owned */
};

static void begin(struct table *table, const char *name, const char *title)
{
    *table = (struct table){.name = name,
                            .title = title,
                            .columns = g_ptr_array_new_with_free_func(g_free)};
}

static void add_column(struct table *table, const char *name)
{
    g_ptr_array_add(table->columns, g_strdup(name));
    omo_csv_add_text(&table->csv, name);
}

/** As RFC 4180 ends a line. No cell has a line end of its own. */
static void end_row(struct table *table)
{
    omo_csv_end_row(&table->csv);
}

static char *with_returns(const struct omo_csv_text *csv, size_t *size)
{
    GString *text = g_string_sized_new(csv->size + csv->size / 64);
    for (size_t i = 0; i < csv->size; i++) {
        if (csv->bytes[i] == '\n')
            g_string_append_c(text, '\r');
        g_string_append_c(text, csv->bytes[i]);
    }
    *size = text->len;
    return g_string_free(text, FALSE);
}

/* ---- the package ---------------------------------------------------------------------
 */

static void add_bound(cJSON *constraints, const char *name, double value)
{
    char text[40];
    omo_number_text(value, 0, text, sizeof text);
    if (text[0])
        cJSON_AddItemToObject(constraints, name, cJSON_CreateRaw(text));
}

static cJSON *field_of(const char *name)
{
    struct omo_export_column column = omo_export_column_of(name);
    cJSON *field = cJSON_CreateObject();
    cJSON_AddStringToObject(field, "name", name);
    cJSON_AddStringToObject(field, "type", column.type);
    cJSON_AddStringToObject(field, "description", column.description);
    if (column.unit)
        cJSON_AddStringToObject(field, "unit", column.unit);
    if (column.required || isfinite(column.least) || isfinite(column.most)) {
        cJSON *constraints = cJSON_AddObjectToObject(field, "constraints");
        if (column.required)
            cJSON_AddTrueToObject(constraints, "required");
        add_bound(constraints, "minimum", column.least);
        add_bound(constraints, "maximum", column.most);
    }
    return field;
}

static cJSON *resource_of(const struct table *table)
{
    cJSON *resource = cJSON_CreateObject();
    g_autofree char *path = g_strconcat(table->name, ".csv", NULL);
    cJSON_AddStringToObject(resource, "profile", "tabular-data-resource");
    cJSON_AddStringToObject(resource, "name", table->name);
    cJSON_AddStringToObject(resource, "title", table->title);
    cJSON_AddStringToObject(resource, "path", path);
    cJSON_AddStringToObject(resource, "format", "csv");
    cJSON_AddStringToObject(resource, "mediatype", "text/csv");
    cJSON_AddStringToObject(resource, "encoding", "utf-8");
    cJSON *dialect = cJSON_AddObjectToObject(resource, "dialect");
    cJSON_AddStringToObject(dialect, "delimiter", ",");
    cJSON_AddStringToObject(dialect, "lineTerminator", "\r\n");
    cJSON_AddStringToObject(dialect, "quoteChar", "\"");
    cJSON_AddTrueToObject(dialect, "doubleQuote");
    cJSON_AddTrueToObject(dialect, "header");
    cJSON *schema = cJSON_AddObjectToObject(resource, "schema");
    cJSON *fields = cJSON_AddArrayToObject(schema, "fields");
    for (guint i = 0; i < table->columns->len; i++)
        cJSON_AddItemToArray(fields, field_of(g_ptr_array_index(table->columns, i)));
    cJSON_AddItemToArray(cJSON_AddArrayToObject(schema, "missingValues"),
                         cJSON_CreateString(""));
    return resource;
}

static enum omo_status write_package(const struct omo_export_folder *folder,
                                     struct table *const *tables, int count)
{
    cJSON *json = cJSON_CreateObject();
    cJSON_AddStringToObject(json, "profile", "tabular-data-package");
    cJSON_AddStringToObject(json, "name", "shoulder-range-of-motion");
    cJSON_AddStringToObject(json, "title",
                            "Shoulder range of motion, one camera and coloured markers");
    cJSON_AddStringToObject(
        json, "description",
        "Planar angles from one camera; they can be wrong by several degrees, and each "
        "maximum has its expanded uncertainty beside it. Made by omogon " OMO_VERSION
        ", a measuring and record-keeping aid that is not a medical device. A text that "
        "would begin like a formula has an apostrophe in front.");
    cJSON *resources = cJSON_AddArrayToObject(json, "resources");
    for (int i = 0; i < count; i++)
        cJSON_AddItemToArray(resources, resource_of(tables[i]));
    g_autofree char *lines = omo_json_lines(json);
    if (!lines)
        return OMO_ERR_MEMORY;
    return omo_export_add(folder, "datapackage.json", lines, strlen(lines));
}

/* ---- the tables ----------------------------------------------------------------------
 */

/** Free texts, names of files and what only the record itself needs stay at home. */
static bool stays(const char *column)
{
    static const char *const names[] = {"source",   "trace", "status",
                                        "replaces", "note",  "started"};
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++)
        if (!strcmp(column, names[i]))
            return true;
    return false;
}

/** Ids of the record; in a shared copy other ones stand for them. */
static void replace_ids(const struct omo_export *export, struct omo_session_field *field)
{
    char code[33];
    if (!strcmp(field->name, "person"))
        omo_export_person(export, field->text, code);
    else if (!strcmp(field->name, "id"))
        omo_export_own_id(export, "session", field->text, code);
    else if (!strcmp(field->name, "set_up"))
        omo_export_own_id(export, "set-up", field->text, code);
    else
        return;
    omo_text_copy(field->text, sizeof field->text, code);
}

/** No text of a row is run as a formula by a spreadsheet; numbers stay numbers. */
static void add_field(struct table *table, const struct omo_session_field *field)
{
    bool formula =
        !field->is_number && field->text[0] && strchr("=+-@\t\r", field->text[0]);
    g_autofree char *guarded = g_strconcat(formula ? "'" : "", field->text, NULL);
    omo_csv_add_text(&table->csv, guarded);
}

static void fill_sessions(const struct omo_export *export, struct table *table)
{
    struct omo_session_field field;
    struct omo_session_row none;
    omo_session_row_init(&none);
    for (int i = 0; omo_session_field(&none, i, &field); i++)
        if (!stays(field.name))
            add_column(table, field.name);
    add_column(table, "started");
    add_column(table, "quantity");
    end_row(table);
    for (guint k = 0; k < export->rows->len; k++) {
        const struct omo_session_row *row = g_ptr_array_index(export->rows, k);
        char time[40];
        omo_export_instant(export, row, time);
        for (int i = 0; omo_session_field(row, i, &field); i++)
            if (!stays(field.name)) {
                replace_ids(export, &field);
                add_field(table, &field);
            }
        omo_csv_add_text(&table->csv, time);
        omo_csv_add_text(&table->csv, omo_export_quantity(row));
        end_row(table);
    }
}

static void fill_people(const struct omo_export *export, struct table *table)
{
    static const char *const columns[] = {"person",    "age_years",     "sex",
                                          "height_cm", "dominant_side", "affected_side"};
    const char *last = NULL;
    for (size_t i = 0; i < G_N_ELEMENTS(columns); i++)
        add_column(table, columns[i]);
    end_row(table);
    for (guint k = 0; k < export->rows->len; k++) {
        const struct omo_session_row *row = g_ptr_array_index(export->rows, k);
        if (last && !strcmp(last, row->person))
            continue;
        last = row->person;
        const struct omo_person_row *who = omo_person_who(export->tables, row->person);
        int age = omo_export_age(export, row);
        char code[24];
        omo_export_person(export, row->person, code);
        omo_csv_add_text(&table->csv, code);
        omo_csv_add_number(&table->csv, age >= 0 ? age : (double)NAN, 0);
        omo_csv_add_text(&table->csv, who ? who->sex : "");
        omo_csv_add_number(&table->csv, who ? who->height_cm : (double)NAN, 1);
        omo_csv_add_text(&table->csv, who ? who->dominant_side : "");
        omo_csv_add_text(&table->csv, who ? who->affected_side : "");
        end_row(table);
    }
}

/** `session`: the key of its row in sessions. */
static enum omo_status add_repetitions(const char *session, const struct omo_trace *trace,
                                       struct table *table)
{
    struct omo_repetition_figures figure[OMO_REPETITION_MAX];
    size_t count = 0;
    enum omo_status status =
        omo_analyse_repetitions(trace->rows, trace->count, figure, &count);
    for (size_t i = 0; status == OMO_OK && i < count; i++) {
        const struct omo_repetition_figures *f = &figure[i];
        const struct {
            double value;
            int decimals;
        } cells[] = {{(double)i + 1, 0},
                     {f->start_s, 6},
                     {f->peak_s, 6},
                     {f->end_s, 6},
                     {f->max_deg, 3},
                     {f->range_deg, 3},
                     {f->raising.peak_deg_per_s, 3},
                     {f->lowering.peak_deg_per_s, 3},
                     {f->raising.spectral_arc_length, 6},
                     {f->raising.log_dimensionless_jerk, 6},
                     {f->hike_at_peak_ratio, 3},
                     {f->lean_at_peak_deg, 3}};
        omo_csv_add_text(&table->csv, session);
        for (size_t k = 0; k < G_N_ELEMENTS(cells); k++)
            omo_csv_add_number(&table->csv, cells[k].value, cells[k].decimals);
        end_row(table);
    }
    return status == OMO_ERR_EMPTY ? OMO_OK : status;
}

static void add_frames(const char *session, const struct omo_trace *trace,
                       struct table *table)
{
    for (size_t i = 0; i < trace->count; i++) {
        const struct omo_trace_row *frame = &trace->rows[i];
        const double degrees[] = {frame->angle_deg,         frame->angle_raw_deg,
                                  frame->angle_image_deg,   frame->angle_vertical_deg,
                                  frame->elbow_flexion_deg, frame->trunk_lean_deg};
        char quality[256];
        omo_quality_text(frame->quality, quality, sizeof quality);
        omo_csv_add_text(&table->csv, session);
        omo_csv_add_integer(&table->csv, frame->frame);
        omo_csv_add_number(&table->csv, frame->time_s, 6);
        for (size_t k = 0; k < G_N_ELEMENTS(degrees); k++)
            omo_csv_add_number(&table->csv, degrees[k], 3);
        omo_csv_add_number(&table->csv, frame->hike_ratio, 3);
        omo_csv_add_number(&table->csv, frame->hike_mm, 3);
        omo_csv_add_text(&table->csv, omo_reference_name(frame->reference));
        omo_csv_add_text(&table->csv, quality);
        for (int role = 0; role < OMO_ROLE_COUNT; role++) {
            const struct omo_marker *marker = &frame->markers.role[role];
            omo_csv_add_number(&table->csv, marker->x_px, 3);
            omo_csv_add_number(&table->csv, marker->y_px, 3);
            omo_csv_add_number(&table->csv, marker->diameter_px, 3);
            omo_csv_add_integer(&table->csv, marker->seen);
        }
        end_row(table);
    }
}

static void frame_columns(struct table *table)
{
    static const char *const columns[] = {"session",
                                          "frame",
                                          "time_s",
                                          "angle_deg",
                                          "angle_raw_deg",
                                          "angle_image_deg",
                                          "angle_vertical_deg",
                                          "elbow_flexion_deg",
                                          "trunk_lean_deg",
                                          "hike_ratio",
                                          "hike_mm",
                                          "reference",
                                          "quality"};
    static const char *const of_marker[] = {"x_px", "y_px", "diameter_px", "seen"};
    for (size_t i = 0; i < G_N_ELEMENTS(columns); i++)
        add_column(table, columns[i]);
    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        for (size_t i = 0; i < G_N_ELEMENTS(of_marker); i++) {
            g_autofree char *name =
                g_strdup_printf("%s_%s", omo_role_name((enum omo_role)role),
                                of_marker[i]);
            add_column(table, name);
        }
    end_row(table);
}

static enum omo_status fill_traces(const struct omo_export *export,
                                   struct table *repetitions, struct table *frames)
{
    static const char *const columns[] = {"session",
                                          "repetition",
                                          "start_s",
                                          "peak_s",
                                          "end_s",
                                          "max_deg",
                                          "range_deg",
                                          "raising_peak_deg_per_s",
                                          "lowering_peak_deg_per_s",
                                          "raising_sparc",
                                          "raising_ldlj",
                                          "hike_at_peak_ratio",
                                          "lean_at_peak_deg"};
    int without = 0;
    for (size_t i = 0; i < G_N_ELEMENTS(columns); i++)
        add_column(repetitions, columns[i]);
    end_row(repetitions);
    frame_columns(frames);
    for (guint k = 0; k < export->rows->len; k++) {
        const struct omo_session_row *row = g_ptr_array_index(export->rows, k);
        struct omo_trace trace;
        enum omo_status status = omo_export_trace(export, row, &trace);
        without += status == OMO_ERR_EMPTY;
        if (status == OMO_ERR_EMPTY)
            continue;
        if (status == OMO_OK) {
            char session[33];
            omo_export_own_id(export, "session", row->id, session);
            add_frames(session, &trace, frames);
            status = add_repetitions(session, &trace, repetitions);
            omo_trace_free(&trace);
        }
        if (status != OMO_OK)
            return status;
    }
    if (without)
        omo_warning("%d sessions have no trace, so no frames", without);
    return OMO_OK;
}

enum omo_status omo_export_table(const struct omo_export *export, const char *target)
{
    struct omo_export_folder folder;
    struct table sessions, people, repetitions, frames;
    struct table *const all[] = {&sessions, &people, &repetitions, &frames};
    enum omo_status status = omo_export_folder_begin(target, &folder);
    if (status != OMO_OK)
        return status;
    begin(&sessions, "sessions", "A row for each measured movement");
    begin(&people, "people", "Who was measured, by pseudonym");
    begin(&repetitions, "repetitions", "Each repetition of each movement");
    begin(&frames, "frames", "Each frame of each movement");
    fill_sessions(export, &sessions);
    fill_people(export, &people);
    status = fill_traces(export, &repetitions, &frames);
    for (size_t i = 0; i < G_N_ELEMENTS(all); i++) {
        size_t size = 0;
        g_autofree char *name = g_strconcat(all[i]->name, ".csv", NULL);
        g_autofree char *bytes = with_returns(&all[i]->csv, &size);
        if (status == OMO_OK && all[i]->csv.failed)
            status = OMO_ERR_MEMORY;
        if (status == OMO_OK)
            status = omo_export_add(&folder, name, bytes, size);
    }
    if (status == OMO_OK)
        status = write_package(&folder, all, G_N_ELEMENTS(all));
    for (size_t i = 0; i < G_N_ELEMENTS(all); i++) {
        omo_csv_text_free(&all[i]->csv);
        g_ptr_array_unref(all[i]->columns);
    }
    return omo_export_folder_end(&folder, status);
}
