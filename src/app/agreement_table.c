#include "app/agreement_table.h"

#include <errno.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/csv.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"

#define FILE_MOST_BYTES ((size_t)256 << 20)

/** A file while it is taken in. */
struct reading {
    const struct omo_agreement_wish *wish;
    const struct omo_csv_table *csv;
    GPtrArray *people, *raters; /* names in the order they came, owned */
    GPtrArray *sides;           /* "person side", likewise */
    GArray *each;               /* struct omo_agreement_value */
    GHashTable *sums;           /* "person rater" -> double[2]: sum and count */
    GHashTable *trials;         /* "rater person side" -> rows so far */
    int status_at;              /* column; -1: none, or the caller chose by it */
    size_t rows, repeated, withdrawn, nameless;
};

static int column(const struct reading *r, const char *name)
{
    int found = omo_csv_find(r->csv, name);
    if (found < 0)
        omo_error(
            "%s has no column \"%s\"; its first line has the names. --person, --rater "
            "and --value name others, --wide those of a table with a column a rater",
            r->wish->path, name);
    return found;
}

/** Place of a name in a list, where it is added when it is new. */
static guint place_of(GPtrArray *names, const char *name)
{
    guint index;
    if (g_ptr_array_find_with_equal_func(names, name, g_str_equal, &index))
        return index;
    g_ptr_array_add(names, g_strdup(name));
    return names->len - 1;
}

static void take(struct reading *r, guint person, guint rater, double value)
{
    g_autofree char *key = g_strdup_printf("%u %u", person, rater);
    double *sum = g_hash_table_lookup(r->sums, key);
    if (!sum) {
        sum = g_new0(double, 2);
        g_hash_table_insert(r->sums, g_steal_pointer(&key), sum);
    } else {
        r->repeated++;
    }
    sum[0] += value;
    sum[1]++;
}

/** Whether a row fits every "COLUMN=TEXT"; -1 after a sentence. */
static int fits(const struct reading *r, size_t row)
{
    for (char **where = r->wish->where; where && *where; where++) {
        const char *sign = strchr(*where, '=');
        if (!sign || sign == *where) {
            omo_error("--where \"%s\" is not understood; write COLUMN=TEXT", *where);
            return -1;
        }
        g_autofree char *name = g_strndup(*where, (gsize)(sign - *where));
        int at = column(r, name);
        if (at < 0)
            return -1;
        if (strcmp(omo_csv_cell(r->csv, row, (size_t)at), sign + 1) != 0)
            return 0;
    }
    return 1;
}

/** "person side"; without a column of sides, or where they are what is compared,
 *  everybody has one. Owned. */
static char *side_of(const struct reading *r, size_t row, guint person)
{
    bool compared = r->wish->rater && strcmp(r->wish->rater, "side") == 0;
    int at = compared ? -1 : omo_csv_find(r->csv, "side");
    return g_strdup_printf("%u %s", person,
                           at < 0 ? "" : omo_csv_cell(r->csv, row, (size_t)at));
}

/** The row's place among those of this rater and side; one without a value keeps its
 *  place, or later trials would be paired with the wrong ones. */
static int trial_of(struct reading *r, size_t row, const char *side, guint rater)
{
    if (r->wish->wide)
        return (int)row;
    g_autofree char *key = g_strdup_printf("%u %s", rater, side);
    int trial = GPOINTER_TO_INT(g_hash_table_lookup(r->trials, key));
    g_hash_table_insert(r->trials, g_steal_pointer(&key), GINT_TO_POINTER(trial + 1));
    return trial;
}

static enum omo_status take_number(struct reading *r, size_t row, int at, guint person,
                                   guint rater)
{
    const char *cell = omo_csv_cell(r->csv, row, (size_t)at);
    double value;
    g_autofree char *side = side_of(r, row, person);
    int trial = trial_of(r, row, side, rater);
    if (cell[0] == '\0')
        return OMO_OK; /* missing */
    if (!omo_number_parse(cell, &value)) {
        omo_error("%s, line %zu: \"%s\" is no number; use a dot for decimals",
                  r->wish->path, row + 1, cell);
        return OMO_ERR_FORMAT;
    }
    take(r, person, rater, value);
    const struct omo_agreement_value one = {(int)person, (int)place_of(r->sides, side),
                                            (int)rater, trial, value};
    g_array_append_val(r->each, one);
    return OMO_OK;
}

/** Rows that a record keeps although they no longer hold. */
static bool is_withdrawn(const struct reading *r, size_t row)
{
    if (r->status_at < 0)
        return false;
    const char *status = omo_csv_cell(r->csv, row, (size_t)r->status_at);
    return strcmp(status, "withdrawn") == 0 || strcmp(status, "replaced") == 0;
}

/** The column of the record's status, unless --where chooses by it. */
static int status_column(const struct reading *r)
{
    for (char **where = r->wish->where; where && *where; where++)
        if (g_str_has_prefix(*where, "status="))
            return -1;
    return omo_csv_find(r->csv, "status");
}

/**
 * Refuses rows that are not the same measurement: two sides of one body are not two
 * people, and another movement or mode is another quantity, whoever did it. `by_person`
 * looks within each person alone. A column that raters are told apart by is meant to
 * differ.
 */
static enum omo_status check_same(const struct reading *r, const char *name,
                                  int person_at, bool by_person, const char *what)
{
    g_autoptr(GHashTable) seen = /* person -> text, lent */
        g_hash_table_new(g_str_hash, g_str_equal);
    int at = omo_csv_find(r->csv, name);
    if (at < 0 || (r->wish->rater && strcmp(r->wish->rater, name) == 0))
        return OMO_OK;
    for (size_t row = 1; row < omo_csv_rows(r->csv); row++) {
        const char *person = omo_csv_cell(r->csv, row, (size_t)person_at);
        const char *text = omo_csv_cell(r->csv, row, (size_t)at);
        int counts = fits(r, row);
        if (counts < 0)
            return OMO_ERR_ARG;
        if (!counts || person[0] == '\0' || is_withdrawn(r, row))
            continue;
        const char *key = by_person ? person : "";
        const char *before = g_hash_table_lookup(seen, key);
        if (before && strcmp(before, text) != 0) {
            omo_error("%s has %s; choose one with --where %s=%s", r->wish->path, what,
                      name, before[0] ? before : text);
            return OMO_ERR_FORMAT;
        }
        g_hash_table_insert(seen, (gpointer)(uintptr_t)key, (gpointer)(uintptr_t)text);
    }
    return OMO_OK;
}

static enum omo_status check_rows(const struct reading *r, int person_at)
{
    enum omo_status status =
        check_same(r, "movement", person_at, false,
                   "several movements, whose angles are not one measurement");
    if (status == OMO_OK)
        status = check_same(r, "mode", person_at, false,
                            "active and passive movements, which are not one "
                            "measurement");
    if (status == OMO_OK && !r->wish->sides)
        status = check_same(r, "side", person_at, true,
                            "both sides of one person, which are not independent "
                            "(--components has a model for them)");
    return status;
}

/** The values of one row that counts. */
static enum omo_status take_row(struct reading *r, size_t row, guint person, int rater_at,
                                int value_at)
{
    enum omo_status status = OMO_OK;
    if (!r->wish->wide) {
        const char *rater = omo_csv_cell(r->csv, row, (size_t)rater_at);
        return take_number(r, row, value_at, person, place_of(r->raters, rater));
    }
    for (char **one = r->wish->wide; *one && status == OMO_OK; one++) {
        int at = column(r, *one);
        if (at < 0)
            return OMO_ERR_ARG;
        status = take_number(r, row, at, person, place_of(r->raters, *one));
    }
    return status;
}

/** A row a measurement, or (wide) a row a person. */
static enum omo_status take_rows(struct reading *r)
{
    const struct omo_agreement_wish *w = r->wish;
    const char *value = w->value ? w->value : "mean_of_maxima_deg";
    int person_at = column(r, w->person ? w->person : "person");
    int rater_at =
        w->wide || person_at < 0 ? 0 : column(r, w->rater ? w->rater : "rater");
    int value_at = w->wide || person_at < 0 || rater_at < 0 ? 0 : column(r, value);
    if (person_at < 0 || rater_at < 0 || value_at < 0)
        return OMO_ERR_ARG;
    r->status_at = status_column(r);
    enum omo_status status = check_rows(r, person_at);
    for (size_t row = 1; status == OMO_OK && row < omo_csv_rows(r->csv); row++) {
        const char *name = omo_csv_cell(r->csv, row, (size_t)person_at);
        int counts = fits(r, row);
        if (counts < 0)
            return OMO_ERR_ARG;
        if (!counts || name[0] == '\0')
            continue;
        if (is_withdrawn(r, row)) {
            r->withdrawn++;
        } else if (!w->wide && omo_csv_cell(r->csv, row, (size_t)rater_at)[0] == '\0') {
            r->nameless++;
        } else {
            r->rows++;
            status = take_row(r, row, place_of(r->people, name), rater_at, value_at);
        }
    }
    return status;
}

static void fill(struct reading *r, struct omo_agreement_table *out)
{
    *out =
        (struct omo_agreement_table){.raters = g_ptr_array_ref(r->raters),
                                     .values = g_new(double,
                                                     r->people->len * r->raters->len + 1),
                                     .repeated = r->repeated,
                                     .withdrawn = r->withdrawn,
                                     .nameless = r->nameless,
                                     .rows = r->rows,
                                     .each = g_array_ref(r->each),
                                     .persons = (int)r->people->len,
                                     .person_sides = (int)r->sides->len};
    for (guint i = 0; i < r->people->len; i++) {
        double *row = out->values + out->people * r->raters->len;
        bool whole = r->raters->len > 0;
        for (guint j = 0; j < r->raters->len; j++) {
            g_autofree char *key = g_strdup_printf("%u %u", i, j);
            const double *sum = g_hash_table_lookup(r->sums, key);
            whole &= sum != NULL;
            row[j] = sum ? sum[0] / sum[1] : (double)NAN;
        }
        out->people += whole;
        out->left_out += !whole;
    }
}

enum omo_status omo_agreement_read(const struct omo_agreement_wish *wish,
                                   struct omo_agreement_table *out)
{
    char *bytes = NULL;
    size_t size = 0, line = 0;
    struct omo_csv_table *csv = NULL;
    enum omo_status status = omo_file_read(wish->path, FILE_MOST_BYTES, &bytes, &size);
    if (status == OMO_ERR_OPEN)
        omo_error("%s cannot be opened: %s", wish->path, g_strerror(errno));
    if (status != OMO_OK)
        return status;
    status = omo_csv_parse(bytes, size, &csv, &line);
    if (status == OMO_ERR_FORMAT)
        omo_error("%s is no CSV file at line %zu", wish->path, line);
    if (status == OMO_OK) {
        struct reading r = {
            .wish = wish,
            .csv = csv,
            .people = g_ptr_array_new_with_free_func(g_free),
            .raters = g_ptr_array_new_with_free_func(g_free),
            .sides = g_ptr_array_new_with_free_func(g_free),
            .each = g_array_new(FALSE, FALSE, sizeof(struct omo_agreement_value)),
            .sums = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free),
            .trials = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL)};
        status = take_rows(&r);
        if (status == OMO_OK)
            fill(&r, out);
        g_ptr_array_unref(r.people);
        g_ptr_array_unref(r.raters);
        g_ptr_array_unref(r.sides);
        g_array_unref(r.each);
        g_hash_table_unref(r.sums);
        g_hash_table_unref(r.trials);
    }
    omo_csv_destroy(csv);
    free(bytes);
    return status;
}

void omo_agreement_table_free(struct omo_agreement_table *table)
{
    g_ptr_array_unref(table->raters);
    g_array_unref(table->each);
    g_free(table->values);
}
