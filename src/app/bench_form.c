#include "app/bench_form.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "omogon/csv.h"
#include "omogon/log.h"
#include "omogon/text.h"

/* Elevations as a person's; a board turned further shows too little of its length. */
#define SET_LOW_DEG   (-20.0)
#define SET_HIGH_DEG  180.0
#define YAW_HIGH_DEG  60.0
#define FORM_SIZE_MAX 1000000

static const char *const columns[] = {"set_deg", "yaw_deg", "clip"};
enum { SET, YAW, CLIP, COLUMNS };

static bool find_columns(const char *path, const struct omo_csv_table *table,
                         int at[COLUMNS])
{
    for (int i = 0; i < COLUMNS; i++) {
        at[i] = omo_csv_find(table, columns[i]);
        if (at[i] >= 0)
            continue;
        omo_error("%s has no column \"%s\"; its first line has to name set_deg, yaw_deg "
                  "and clip",
                  path, columns[i]);
        return false;
    }
    return true;
}

static bool read_angle(const char *path, size_t line, const char *name, const char *text,
                       double low_deg, double high_deg, double *out_deg)
{
    if (omo_number_parse(text, out_deg) && *out_deg >= low_deg && *out_deg <= high_deg)
        return true;
    omo_error("line %zu of %s: %s \"%s\" is no angle; give %.0f to %.0f degrees", line,
              path, name, text, low_deg, high_deg);
    return false;
}

static bool read_rows(const char *path, const struct omo_csv_table *table,
                      struct omo_bench_form *form)
{
    int at[COLUMNS];
    if (!find_columns(path, table, at))
        return false;
    size_t rows = omo_csv_rows(table);
    form->row = g_new0(struct omo_bench_row, rows);
    for (size_t i = 1; i < rows; i++) {
        g_autofree char *clip = g_strdup(omo_csv_cell(table, i, (size_t)at[CLIP]));
        if (g_strstrip(clip)[0] == '\0')
            continue;
        struct omo_bench_row *row = &form->row[form->count];
        *row = (struct omo_bench_row){.line = i + 1,
                                      .image_deg = NAN,
                                      .expected_deg = NAN,
                                      .angle_deg = NAN,
                                      .u95_deg = NAN};
        const char *set = omo_csv_cell(table, i, (size_t)at[SET]);
        const char *yaw = omo_csv_cell(table, i, (size_t)at[YAW]);
        if (!read_angle(path, row->line, columns[SET], set, SET_LOW_DEG, SET_HIGH_DEG,
                        &row->set_deg) ||
            !read_angle(path, row->line, columns[YAW], yaw, -YAW_HIGH_DEG, YAW_HIGH_DEG,
                        &row->yaw_deg))
            return false;
        row->clip = g_steal_pointer(&clip);
        form->count++;
    }
    if (form->count == 0)
        omo_error("no clip is named in %s; write each clip's name into the column clip",
                  path);
    return form->count > 0;
}

bool omo_bench_form_read(const char *path, struct omo_bench_form *form)
{
    g_autofree char *bytes = NULL;
    g_autoptr(GError) error = NULL;
    gsize size = 0;
    struct omo_csv_table *table = NULL;
    size_t line = 0;
    *form = (struct omo_bench_form){0};
    if (!g_file_get_contents(path, &bytes, &size, &error)) {
        omo_error("the form cannot be read: %s", error->message);
        return false;
    }
    if (size > FORM_SIZE_MAX || memchr(bytes, '\0', size) ||
        omo_csv_parse(bytes, size, &table, &line) != OMO_OK) {
        if (line > 0)
            omo_error("line %zu of %s is no line of a CSV file", line, path);
        else
            omo_error("%s is no form; it is a CSV file with the columns set_deg, yaw_deg "
                      "and clip",
                      path);
        return false;
    }
    bool good = read_rows(path, table, form);
    omo_csv_destroy(table);
    return good;
}

void omo_bench_form_finish(struct omo_bench_form *form)
{
    for (size_t i = 0; i < form->count; i++)
        g_free(form->row[i].clip);
    g_free(form->row);
    *form = (struct omo_bench_form){0};
}
