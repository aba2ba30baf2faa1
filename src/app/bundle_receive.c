#include "app/bundle_receive.h"

#include <stdio.h>
#include <string.h>

#include "app/person_tables.h"
#include "omogon/edit.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"

/* In sheet.csv of who was received: "begun SUM", and "done SUM" when all is there. */
#define ITEM       "bundle"
#define SUM_DIGITS 32

/* ---- a folder for the time being ----------------------------------------------------
 */

/** The tables and traces of a bundle as a record of their own. */
static enum omo_status lay_out(const struct omo_bundle *bundle, const char *folder)
{
    g_autofree char *traces = g_build_filename(folder, "traces", NULL);
    enum omo_status status = omo_folder_make(traces);
    for (guint i = 0; status == OMO_OK && i < bundle->files->len; i++) {
        const struct omo_bundle_entry *entry = g_ptr_array_index(bundle->files, i);
        g_autofree char *path = g_build_filename(folder, entry->name, NULL);
        if (g_str_has_suffix(entry->name, ".csv"))
            status = omo_file_write_atomic(path, entry->bytes, entry->size, 0600);
    }
    return status;
}

/** Whether every row is of the bundle's own person, and every trace is one. */
static bool all_theirs(const struct omo_person_tables *tables,
                       const struct omo_bundle *bundle, const char *folder)
{
    g_autoptr(GPtrArray) people = omo_person_all(tables);
    for (guint i = 0; i < people->len; i++) {
        if (strcmp(g_ptr_array_index(people, i), bundle->person) != 0) {
            omo_error("the bundle has rows of somebody else than it says; nothing was "
                      "taken from it");
            return false;
        }
    }
    for (size_t i = 0; i < omo_record_count(tables->record); i++) {
        const char *trace = omo_record_row(tables->record, i)->trace;
        g_autofree char *path = g_build_filename(folder, trace, NULL);
        struct omo_trace read;
        if (!trace[0] || !omo_bundle_find(bundle, trace))
            continue;
        if (omo_trace_read(path, &read) != OMO_OK)
            return false;
        omo_trace_free(&read);
    }
    return true;
}

/* ---- into the record ----------------------------------------------------------------
 */

static bool has_row(const struct omo_table *table, const char *first)
{
    for (size_t i = 0; i < omo_table_count(table); i++)
        if (!strcmp(omo_table_row(table, i), first))
            return true;
    return false;
}

/** Rows whose first cell (their id; in people.csv the code) is not there yet. */
static enum omo_status add_table(const struct omo_table *from, struct omo_table *to,
                                 int *rows)
{
    enum omo_status status = OMO_OK;
    for (size_t i = 0; status == OMO_OK && i < omo_table_count(from); i++) {
        union {
            struct omo_step_row step;
            struct omo_note_row note;
            struct omo_limit_row limit;
            struct omo_sheet_row sheet;
            struct omo_person_row person;
            struct omo_set_up_row set_up;
            struct omo_edit_row edit;
        } row;
        static const size_t sizes[OMO_TABLE_COUNT] = {
            [OMO_TABLE_STEPS] = sizeof row.step,
            [OMO_TABLE_NOTES] = sizeof row.note,
            [OMO_TABLE_LIMITS] = sizeof row.limit,
            [OMO_TABLE_SHEET] = sizeof row.sheet,
            [OMO_TABLE_PEOPLE] = sizeof row.person,
            [OMO_TABLE_SET_UPS] = sizeof row.set_up,
            [OMO_TABLE_CHANGES] = sizeof row.edit};
        const char *lent = omo_table_row(from, i);
        if (has_row(to, lent))
            continue;
        memcpy(&row, lent, sizes[omo_table_kind_of(from)]);
        status = omo_table_append(to, &row);
        *rows += status == OMO_OK;
    }
    return status;
}

/** A trace under a name that is free here; the same bytes keep theirs. */
static enum omo_status add_trace(const char *from, const char *to, const char *trace,
                                 char *name, size_t size, int *traces)
{
    g_autofree char *source = g_build_filename(from, trace, NULL);
    g_autofree char *bytes = NULL;
    gsize length = 0;
    omo_text_copy(name, size, "");
    if (!trace[0] || !g_file_get_contents(source, &bytes, &length, NULL))
        return OMO_OK; /* the row says that there was one; it was not sent */
    g_autofree char *stem = g_strndup(trace, strlen(trace) - strlen(".trace.csv"));
    for (int number = 1;; number++) {
        g_autofree char *one = number == 1
                                   ? g_strdup(trace)
                                   : g_strdup_printf("%s-%d.trace.csv", stem, number);
        g_autofree char *path = g_build_filename(to, one, NULL);
        g_autofree char *there = NULL;
        gsize there_length = 0;
        if (g_file_get_contents(path, &there, &there_length, NULL)) {
            if (there_length != length || memcmp(there, bytes, length) != 0)
                continue;
            omo_text_copy(name, size, one);
            return OMO_OK;
        }
        g_autofree char *folder = g_path_get_dirname(path);
        omo_text_copy(name, size, one);
        enum omo_status status = omo_folder_make(folder);
        if (status == OMO_OK)
            status = omo_file_write_atomic(path, bytes, length, 0600);
        *traces += status == OMO_OK;
        return status;
    }
}

static enum omo_status add_sessions(const struct omo_record *from,
                                    const char *from_folder, struct omo_record *to,
                                    const char *to_folder, struct omo_received *out)
{
    enum omo_status status = OMO_OK;
    for (size_t i = 0; status == OMO_OK && i < omo_record_count(from); i++) {
        struct omo_session_row row = *omo_record_row(from, i);
        char trace[sizeof row.trace];
        bool added = false;
        status = add_trace(from_folder, to_folder, row.trace, trace, sizeof trace,
                           &out->traces);
        if (status != OMO_OK)
            break;
        omo_text_copy(row.trace, sizeof row.trace, trace);
        status = omo_record_append(to, &row, &added);
        out->rows += added;
    }
    return status;
}

/** An id is the clip's own: the same session may be somebody else's here already. False
 * with a sentence. */
static bool none_is_taken(const struct omo_record *from, struct omo_record *to,
                          const char *person)
{
    for (size_t i = 0; i < omo_record_count(from); i++) {
        struct omo_session_row there;
        if (!omo_record_find(to, omo_record_row(from, i)->id, &there) ||
            !strcmp(there.person, person))
            continue;
        omo_error(
            "a session of the bundle is here already as one of %s; nothing was taken "
            "from it",
            there.person);
        return false;
    }
    return true;
}

static enum omo_status mark(struct omo_person_tables *tables, const char *person,
                            const char *word, const char *sum)
{
    struct omo_sheet_row row;
    omo_table_row_init(OMO_TABLE_SHEET, &row);
    omo_text_copy(row.person, sizeof row.person, person);
    omo_now_utc(row.set_on);
    omo_text_copy(row.item, sizeof row.item, ITEM);
    omo_text_add(row.value, sizeof row.value, "%s %.*s", word, SUM_DIGITS, sum);
    return omo_table_append(tables->table[OMO_TABLE_SHEET], &row);
}

static enum omo_status add_all(const struct omo_person_tables *from, const char *folder,
                               struct omo_person_tables *to, const char *directory,
                               const char *sum, struct omo_received *out)
{
    if (!none_is_taken(from->record, to->record, out->person))
        return OMO_ERR_ARG;
    enum omo_status status = mark(to, out->person, "begun", sum);
    for (int kind = 0; status == OMO_OK && kind < OMO_TABLE_COUNT; kind++)
        status = add_table(from->table[kind], to->table[kind], &out->rows);
    if (status == OMO_OK)
        status = add_sessions(from->record, folder, to->record, directory, out);
    if (status == OMO_OK)
        status = mark(to, out->person, "done", sum);
    return status;
}

/* ---- who it becomes -----------------------------------------------------------------
 */

/** Whose sheet says last that this bundle was `word` ("begun", "done"); NULL nobody's. */
static const char *whose(const struct omo_person_tables *tables, const char *word,
                         const char *sum)
{
    g_autoptr(GPtrArray) people = omo_person_all(tables);
    g_autofree char *value = g_strdup_printf("%s %.*s", word, SUM_DIGITS, sum);
    for (guint i = 0; i < people->len; i++)
        if (!strcmp(omo_person_value(tables, g_ptr_array_index(people, i), ITEM), value))
            return g_ptr_array_index(people, i);
    return NULL;
}

/** Sets out->person and out->known; false with a sentence. */
static bool choose(const struct omo_person_tables *tables,
                   const struct omo_bundle *bundle, const char *sum, const char *as,
                   struct omo_received *out)
{
    g_autoptr(GPtrArray) people = omo_person_all(tables);
    const char *done = whose(tables, "done", sum), *begun = whose(tables, "begun", sum);
    const char *code = done ? done : begun ? begun : as ? as : bundle->person;
    omo_text_copy(out->person, sizeof out->person, code);
    out->known = done != NULL;
    if (done || begun)
        return true;
    if (!omo_pseudonym_valid(code)) {
        omo_error("--as \"%s\" is no code; use 1 to 16 letters and digits", code);
        return false;
    }
    if (g_ptr_array_find_with_equal_func(people, code, g_str_equal, NULL)) {
        omo_error(
            "the code %s is somebody's here already; give a free one with --as CODE",
            code);
        return false;
    }
    return true;
}

/** The laid-out bundle under the code that it gets here. */
static enum omo_status take_over(const struct omo_bundle *bundle, const char *folder,
                                 const char *directory, const char *sum,
                                 struct omo_received *out)
{
    const struct omo_edit_reason why = {"bundle", ""};
    struct omo_person_tables from, to;
    struct omo_edit_done done;
    enum omo_status status = omo_person_tables_open(folder, &from);
    if (status != OMO_OK)
        return status;
    bool good = all_theirs(&from, bundle, folder);
    omo_person_tables_close(&from);
    if (!good)
        return OMO_ERR_FORMAT;
    if (strcmp(out->person, bundle->person) != 0)
        status = omo_edit_rename(folder, bundle->person, out->person, &why, &done);
    if (status == OMO_OK)
        status = omo_person_tables_open(folder, &from);
    if (status != OMO_OK)
        return status;
    status = omo_person_tables_open(directory, &to);
    if (status == OMO_OK) {
        status = add_all(&from, folder, &to, directory, sum, out);
        omo_person_tables_close(&to);
    }
    omo_person_tables_close(&from);
    return status;
}

enum omo_status omo_bundle_receive(const struct omo_bundle *bundle, const char *sum,
                                   const char *directory, const char *as,
                                   struct omo_received *out)
{
    struct omo_person_tables tables;
    *out = (struct omo_received){.known = false};
    enum omo_status status = omo_person_tables_open(directory, &tables);
    if (status != OMO_OK)
        return status;
    bool chosen = choose(&tables, bundle, sum, as, out);
    omo_person_tables_close(&tables);
    if (!chosen)
        return OMO_ERR_ARG;
    if (out->known)
        return OMO_OK;
    g_autofree char *folder = g_dir_make_tmp("omogon-bundle-XXXXXX", NULL);
    if (!folder) {
        omo_error("no folder could be made for the time being; is the disk full?");
        return OMO_ERR_IO;
    }
    status = lay_out(bundle, folder);
    if (status == OMO_OK)
        status = take_over(bundle, folder, directory, sum, out);
    omo_folder_remove(folder);
    return status;
}
