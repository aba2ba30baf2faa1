#include "app/manifest.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/csv.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"

#define MANIFEST_LIMIT_BYTES ((size_t)64 << 20)

/** A column is called what its option is, with "_" for "-". g_free() it. */
static char *column_name(const struct omo_option_word *word)
{
    return g_strdelimit(g_strdup(word->name), "-", '_');
}

static bool is_column(const char *name)
{
    for (const struct omo_option_word *word = omo_option_word_list; word->name; word++) {
        g_autofree char *column = column_name(word);
        if (!strcmp(name, column))
            return true;
    }
    return g_strv_contains((const char *const[]){"clip", "start", "end", "mirrored",
                                                 NULL},
                           name);
}

/** Whether the header is one; a sentence where it is not. */
static bool header_fits(const char *path, const struct omo_csv_table *table)
{
    if (omo_csv_rows(table) < 2) {
        omo_error("%s has no row below its header; a row is a movement of a clip", path);
        return false;
    }
    for (size_t i = 0; i < omo_csv_columns(table, 0); i++) {
        const char *name = omo_csv_cell(table, 0, i);
        if (!is_column(name)) {
            omo_error("%s: there is no column \"%s\"; its columns are clip, start, end, "
                      "mirrored and what trace's options are called (person, visit, "
                      "movement, side, rater, position, mode ...)",
                      path, name);
            return false;
        }
        if (omo_csv_find(table, name) != (int)i) {
            omo_error("%s: the column \"%s\" stands there twice", path, name);
            return false;
        }
    }
    if (omo_csv_find(table, "clip") < 0) {
        omo_error("%s has no column \"clip\"", path);
        return false;
    }
    return true;
}

static const char *cell(const struct omo_csv_table *table, size_t row, const char *name)
{
    int column = omo_csv_find(table, name);
    return column < 0 ? "" : omo_csv_cell(table, row, (size_t)column);
}

static bool seconds_of(const char *path, int line, const char *name, const char *text,
                       double *out)
{
    if (!text[0] || omo_number_parse(text, out))
        return true;
    omo_error("%s:%d: %s \"%s\" is no time; give seconds with a dot, for example 3.5",
              path, line, name, text);
    return false;
}

static bool fill_row(const char *path, const struct omo_csv_table *table, size_t index,
                     const struct omo_option_words *common, struct omo_manifest_row *row)
{
    const char *clip = cell(table, index, "clip");
    const char *mirrored = cell(table, index, "mirrored");
    row->line = (int)index + 1;
    row->stretch = (struct omo_stretch){NAN, NAN};
    row->words.takes_both_sides = true;
    row->words.mirrored = common->mirrored || !strcmp(mirrored, "yes");
    for (const struct omo_option_word *word = omo_option_word_list; word->name; word++) {
        g_autofree char *column = column_name(word);
        const char *own = cell(table, index, column);
        const char *given = *omo_option_word_at(common, word);
        *omo_option_word_at(&row->words, word) = g_strdup(own[0] ? own : given);
    }
    row->words.data = g_strdup(common->data);
    if (omo_csv_columns(table, index) != omo_csv_columns(table, 0)) {
        omo_error("%s:%d has %zu cells, the header %zu", path, row->line,
                  omo_csv_columns(table, index), omo_csv_columns(table, 0));
        return false;
    }
    if (!clip[0]) {
        omo_error("%s:%d names no clip", path, row->line);
        return false;
    }
    if (mirrored[0] && strcmp(mirrored, "yes") != 0 && strcmp(mirrored, "no") != 0) {
        omo_error("%s:%d: mirrored \"%s\": say yes or no", path, row->line, mirrored);
        return false;
    }
    if (!seconds_of(path, row->line, "start", cell(table, index, "start"),
                    &row->stretch.start_s) ||
        !seconds_of(path, row->line, "end", cell(table, index, "end"),
                    &row->stretch.end_s))
        return false;
    if (row->stretch.end_s <= row->stretch.start_s) {
        omo_error("%s:%d: the end is not after the start", path, row->line);
        return false;
    }
    g_autofree char *folder = g_path_get_dirname(path);
    row->clip =
        g_path_is_absolute(clip) ? g_strdup(clip) : g_build_filename(folder, clip, NULL);
    return true;
}

static void row_clear(gpointer data)
{
    struct omo_manifest_row *row = data;
    g_free(row->clip);
    omo_options_finish(&row->words);
}

enum omo_status omo_manifest_read(const char *path, const struct omo_option_words *common,
                                  GArray **out)
{
    char *bytes = NULL;
    size_t size = 0, line = 0;
    struct omo_csv_table *table = NULL;
    enum omo_status status = omo_file_read(path, MANIFEST_LIMIT_BYTES, &bytes, &size);
    if (status == OMO_ERR_OPEN)
        omo_error("the manifest %s cannot be opened: %s", path, g_strerror(errno));
    if (status != OMO_OK)
        return status;
    status = omo_csv_parse(bytes, size, &table, &line);
    free(bytes);
    if (status != OMO_OK) {
        omo_error("%s:%zu is no line of a CSV table; save it as UTF-8 with commas", path,
                  line);
        return status;
    }
    GArray *rows = g_array_new(FALSE, TRUE, sizeof(struct omo_manifest_row));
    g_array_set_clear_func(rows, row_clear);
    bool good = header_fits(path, table);
    for (size_t i = 1; good && i < omo_csv_rows(table); i++) {
        if (omo_csv_columns(table, i) == 1 && !omo_csv_cell(table, i, 0)[0])
            continue; /* a blank line */
        g_array_set_size(rows, rows->len + 1);
        good = fill_row(path, table, i, common,
                        &g_array_index(rows, struct omo_manifest_row, rows->len - 1));
    }
    omo_csv_destroy(table);
    if (!good) {
        omo_manifest_free(rows);
        return OMO_ERR_FORMAT;
    }
    *out = rows;
    return OMO_OK;
}

void omo_manifest_free(GArray *rows)
{
    g_array_free(rows, TRUE);
}
