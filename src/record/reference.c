#include "omogon/reference.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "omogon/csv.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/models.h"
#include "omogon/text.h"

#define FILE_LIMIT_BYTES (1024 * 1024)
#define AGE_MOST         130
#define PEOPLE_MOST      1000000

struct omo_references {
    GArray *values; /* struct omo_reference_value */
};

/** A line being read. */
struct line {
    const struct omo_csv_table *table;
    const char *path;
    size_t row;
    bool good;
};

static const char *const movements[] = {"flexion",           "extension",
                                        "abduction",         "adduction",
                                        "scaption",          "external-rotation",
                                        "internal-rotation", NULL};
static const char *const positions[] = {"",           "standing", "seated", "supine",
                                        "side-lying", "prone",    NULL};
static const char *const modes[] = {"", "active", "assisted", "passive", NULL};
static const char *const against[] = {"", "gravity", "trunk", NULL};
static const char *const sexes[] = {"female", "male", "any", NULL};
static const char *const sides[] = {"left",         "right", "dominant",
                                    "non-dominant", "any",   NULL};
static const char *const kinds[] = {"range-of-people", "interval-of-mean", NULL};
static const char *const answers[] = {"no", "yes", NULL};

/* ---- cells --------------------------------------------------------------------------
 */

/** Says what is wrong with a line, once. */
static void fault(struct line *line, const char *what)
{
    if (line->good)
        omo_error("%s, line %u: %s; nothing of the file is used until it is put right",
                  line->path, (unsigned)line->row + 1, what);
    line->good = false;
}

static const char *cell(const struct line *line, const char *column)
{
    return omo_csv_cell(line->table, line->row,
                        (size_t)omo_csv_find(line->table, column));
}

static int choice(struct line *line, const char *column, const char *const *of)
{
    const char *text = cell(line, column);
    for (int i = 0; of[i]; i++)
        if (!strcmp(text, of[i]))
            return i;
    g_autofree char *all = g_strjoinv(", ", (gchar **)(uintptr_t)of);
    g_autofree char *what = g_strdup_printf("%s \"%s\" is not one of: %s", column, text,
                                            all[0] == ',' ? all + 2 : all);
    fault(line, what);
    return 0;
}

static void text(struct line *line, const char *column, char *out, size_t size)
{
    const char *from = cell(line, column);
    g_autofree char *what =
        g_strdup_printf("%s is longer than %u bytes", column, (unsigned)(size - 1));
    if (strlen(from) >= size)
        fault(line, what);
    g_strlcpy(out, from, size);
}

static double number(struct line *line, const char *column, double least, double most)
{
    const char *from = cell(line, column);
    char *end = NULL;
    if (!from[0])
        return NAN;
    double value = g_ascii_strtod(from, &end);
    if (end != from && *end == '\0' && value >= least && value <= most)
        return value;
    g_autofree char *what =
        g_strdup_printf("%s \"%s\" has to be a number of %g to %g, or empty", column,
                        from, least, most);
    fault(line, what);
    return NAN;
}

static int whole(struct line *line, const char *column, int least, int most, int none)
{
    double value = number(line, column, least, most);
    if (isfinite(value) && value != floor(value))
        fault(line, "ages and numbers of people are whole numbers");
    return isfinite(value) ? (int)value : none;
}

/* ---- lines --------------------------------------------------------------------------
 */

static bool is_rotation(const char *movement)
{
    return g_str_has_suffix(movement, "-rotation");
}

static void check_figures(struct line *line, const struct omo_reference_value *v)
{
    const double order[] = {v->p5_deg, v->p25_deg, v->p50_deg, v->p75_deg, v->p95_deg};
    double last = -INFINITY;
    for (size_t i = 0; i < G_N_ELEMENTS(order); i++) {
        if (order[i] < last)
            fault(line, "its percentiles do not rise");
        last = isfinite(order[i]) ? order[i] : last;
    }
    double low, high;
    if (v->kind == OMO_REFERENCE_PEOPLE && !omo_reference_range(v, &low, &high))
        fault(line, "a range of people needs mean_deg and sd_deg, or p5_deg and p95_deg");
    if (v->kind == OMO_REFERENCE_MEAN && !(v->mean_low_deg < v->mean_high_deg))
        fault(line, "an interval of a mean needs mean_low_deg below mean_high_deg");
    if (v->kind == OMO_REFERENCE_PEOPLE &&
        (isfinite(v->mean_low_deg) || isfinite(v->mean_high_deg)))
        fault(line, "a range of people has no mean_low_deg and mean_high_deg");
}

static void check_line(struct line *line, const struct omo_reference_value *v)
{
    if (!v->source[0])
        fault(line, "it has no source");
    if (v->age_from < 0 || v->age_to < v->age_from)
        fault(line, "age_from and age_to have to be given, the younger first");
    if (is_rotation(v->movement) != isfinite(v->at_abduction_deg))
        fault(line, "at_abduction_deg belongs to rotations, and to all of them");
    if (v->confirmed && (!v->position[0] || !v->mode[0] || !v->reference[0]))
        fault(line, "what is confirmed has position, mode and reference filled in");
    check_figures(line, v);
}

static bool read_line(struct line *line, struct omo_reference_value *v)
{
    *v = (struct omo_reference_value){
        .at_abduction_deg = number(line, "at_abduction_deg", 0, 180),
        .age_from = whole(line, "age_from", 0, AGE_MOST, -1),
        .age_to = whole(line, "age_to", 0, AGE_MOST, -1),
        .people = whole(line, "n", 1, PEOPLE_MOST, -1),
        .mean_deg = number(line, "mean_deg", -180, 270),
        .sd_deg = number(line, "sd_deg", 0, 90),
        .p5_deg = number(line, "p5_deg", -180, 270),
        .p25_deg = number(line, "p25_deg", -180, 270),
        .p50_deg = number(line, "p50_deg", -180, 270),
        .p75_deg = number(line, "p75_deg", -180, 270),
        .p95_deg = number(line, "p95_deg", -180, 270),
        .mean_low_deg = number(line, "mean_low_deg", -180, 270),
        .mean_high_deg = number(line, "mean_high_deg", -180, 270),
        .kind = (enum omo_reference_kind)choice(line, "kind", kinds),
        .confirmed = choice(line, "confirmed", answers) == 1};
    g_strlcpy(v->movement, movements[choice(line, "movement", movements)],
              sizeof v->movement);
    g_strlcpy(v->position, positions[choice(line, "position", positions)],
              sizeof v->position);
    g_strlcpy(v->mode, modes[choice(line, "mode", modes)], sizeof v->mode);
    g_strlcpy(v->reference, against[choice(line, "reference", against)],
              sizeof v->reference);
    g_strlcpy(v->sex, sexes[choice(line, "sex", sexes)], sizeof v->sex);
    g_strlcpy(v->side, sides[choice(line, "side", sides)], sizeof v->side);
    text(line, "instrument", v->instrument, sizeof v->instrument);
    text(line, "source", v->source, sizeof v->source);
    text(line, "note", v->note, sizeof v->note);
    check_line(line, v);
    return line->good;
}

/* ---- the file -----------------------------------------------------------------------
 */

static const char *missing_column(const struct omo_csv_table *table)
{
    static const char *const columns[] = {
        "movement",   "at_abduction_deg", "position",  "mode",         "reference",
        "instrument", "age_from",         "age_to",    "sex",          "side",
        "n",          "mean_deg",         "sd_deg",    "p5_deg",       "p25_deg",
        "p50_deg",    "p75_deg",          "p95_deg",   "mean_low_deg", "mean_high_deg",
        "kind",       "source",           "confirmed", "note"};
    for (size_t i = 0; i < G_N_ELEMENTS(columns); i++)
        if (omo_csv_find(table, columns[i]) < 0)
            return columns[i];
    return NULL;
}

static enum omo_status read_table(const struct omo_csv_table *table, const char *path,
                                  GArray *values)
{
    const char *missing = missing_column(table);
    if (missing) {
        omo_error("%s, line 1: the column \"%s\" is missing", path, missing);
        return OMO_ERR_FORMAT;
    }
    for (size_t row = 1; row < omo_csv_rows(table); row++) {
        struct line line = {.table = table, .path = path, .row = row, .good = true};
        struct omo_reference_value value;
        if (omo_csv_columns(table, row) != omo_csv_columns(table, 0))
            fault(&line, "it has another number of cells than the first line");
        else if (read_line(&line, &value))
            g_array_append_val(values, value);
        if (!line.good)
            return OMO_ERR_FORMAT;
    }
    return OMO_OK;
}

enum omo_status omo_references_load(const char *path, struct omo_references **out)
{
    char usual[4096];
    char *bytes = NULL;
    size_t size = 0, row = 0;
    struct omo_csv_table *table = NULL;
    if (!path) {
        if (omo_models_path("reference-values.csv", usual, sizeof usual) != OMO_OK) {
            omo_error("models/reference-values.csv is missing; install the program anew");
            return OMO_ERR_OPEN;
        }
        path = usual;
    }
    enum omo_status status = omo_file_read(path, FILE_LIMIT_BYTES, &bytes, &size);
    if (status == OMO_ERR_OPEN)
        omo_error("%s cannot be opened: %s", path, g_strerror(errno));
    if (status != OMO_OK)
        return status;
    status = omo_csv_parse(bytes, size, &table, &row);
    free(bytes);
    if (status != OMO_OK) {
        omo_error("%s, line %u: a quotation mark is out of place", path, (unsigned)row);
        return OMO_ERR_FORMAT;
    }
    GArray *values = g_array_new(FALSE, TRUE, sizeof(struct omo_reference_value));
    status = read_table(table, path, values);
    omo_csv_destroy(table);
    if (status != OMO_OK) {
        g_array_unref(values);
        return status;
    }
    *out = g_new(struct omo_references, 1);
    (*out)->values = values;
    return OMO_OK;
}

void omo_references_free(struct omo_references *references)
{
    if (!references)
        return;
    g_array_unref(references->values);
    g_free(references);
}

size_t omo_references_count(const struct omo_references *references)
{
    return references->values->len;
}

const struct omo_reference_value *omo_references_at(
    const struct omo_references *references, size_t index)
{
    return &g_array_index(references->values, struct omo_reference_value, index);
}
