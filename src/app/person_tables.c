#include "app/person_tables.h"

#include <string.h>

#include "omogon/text.h"

enum omo_status omo_person_tables_open(const char *directory,
                                       struct omo_person_tables *out)
{
    struct omo_person_tables tables = {.record = NULL};
    enum omo_status status = omo_record_open(directory, false, &tables.record);

    for (int i = 0; i < OMO_TABLE_COUNT && status == OMO_OK; i++)
        status = omo_table_open(directory, (enum omo_table_kind)i, &tables.table[i]);
    if (status == OMO_OK)
        *out = tables;
    else
        omo_person_tables_close(&tables);
    return status;
}

void omo_person_tables_close(struct omo_person_tables *tables)
{
    for (int i = 0; i < OMO_TABLE_COUNT; i++)
        omo_table_close(tables->table[i]);
    omo_record_close(tables->record);
    memset(tables, 0, sizeof *tables);
}

/* ---- one thing -------------------------------------------------------------------- */

const struct omo_person_row *omo_person_who(const struct omo_person_tables *tables,
                                            const char *person)
{
    const struct omo_table *table = tables->table[OMO_TABLE_PEOPLE];

    for (size_t i = omo_table_count(table); i > 0; i--) {
        const struct omo_person_row *row = omo_table_row(table, i - 1);

        if (strcmp(row->person, person) == 0)
            return row;
    }
    return NULL;
}

const struct omo_sheet_row *omo_person_fact(const struct omo_person_tables *tables,
                                            const char *person, const char *item)
{
    const struct omo_table *table = tables->table[OMO_TABLE_SHEET];

    for (size_t i = omo_table_count(table); i > 0; i--) {
        const struct omo_sheet_row *row = omo_table_row(table, i - 1);

        if (strcmp(row->person, person) == 0 && strcmp(row->item, item) == 0)
            return row;
    }
    return NULL;
}

const char *omo_person_value(const struct omo_person_tables *tables, const char *person,
                             const char *item)
{
    const struct omo_sheet_row *fact = omo_person_fact(tables, person, item);

    return fact != NULL ? fact->value : "";
}

const char *omo_person_affected(const struct omo_person_tables *tables,
                                const char *person)
{
    const struct omo_person_row *who = omo_person_who(tables, person);
    if (!strcmp(omo_person_value(tables, person, "history:both-sides"), "yes"))
        return "both";
    return who ? who->affected_side : "";
}

const struct omo_limit_row *omo_person_limit(const struct omo_person_tables *tables,
                                             const char *person, const char *movement,
                                             const char *side)
{
    const struct omo_table *table = tables->table[OMO_TABLE_LIMITS];

    for (size_t i = omo_table_count(table); i > 0; i--) {
        const struct omo_limit_row *row = omo_table_row(table, i - 1);

        if (strcmp(row->person, person) == 0 && strcmp(row->movement, movement) == 0 &&
            strcmp(row->side, side) == 0)
            return strcmp(row->status, "withdrawn") == 0 ? NULL : row;
    }
    return NULL;
}

/* ---- many ------------------------------------------------------------------------- */

GPtrArray *omo_person_limits(const struct omo_person_tables *tables, const char *person)
{
    const struct omo_table *table = tables->table[OMO_TABLE_LIMITS];
    GPtrArray *limits = g_ptr_array_new();

    for (size_t i = 0; i < omo_table_count(table); i++) {
        const struct omo_limit_row *row = omo_table_row(table, i);
        const struct omo_limit_row *counts;

        if (strcmp(row->person, person) != 0)
            continue;
        counts = omo_person_limit(tables, person, row->movement, row->side);
        if (counts != NULL && !g_ptr_array_find(limits, counts, NULL))
            g_ptr_array_add(limits, (void *)counts);
    }
    return limits;
}

/* The last row of each id, from the end of the file on. */
static GPtrArray *last_rows(const struct omo_table *table, const char *person,
                            const char *(*person_of)(const void *row))
{
    GHashTable *seen = g_hash_table_new(g_str_hash, g_str_equal);
    GPtrArray *rows = g_ptr_array_new();

    for (size_t i = omo_table_count(table); i > 0; i--) {
        const void *row = omo_table_row(table, i - 1);

        /* The id comes first in every row. */
        if (strcmp(person_of(row), person) == 0 && g_hash_table_add(seen, (void *)row))
            g_ptr_array_add(rows, (void *)row);
    }
    g_hash_table_destroy(seen);
    return rows;
}

static const char *person_of_note(const void *row)
{
    return ((const struct omo_note_row *)row)->person;
}

static const char *person_of_step(const void *row)
{
    return ((const struct omo_step_row *)row)->person;
}

static gint newer_note(gconstpointer a, gconstpointer b)
{
    const struct omo_note_row *const *first = a, *const *second = b;

    return strcmp((*second)->written, (*first)->written);
}

static gint newer_step(gconstpointer a, gconstpointer b)
{
    const struct omo_step_row *const *first = a, *const *second = b;

    return strcmp((*second)->started, (*first)->started);
}

static gint newer_session(gconstpointer a, gconstpointer b)
{
    const struct omo_session_row *const *first = a, *const *second = b;

    return strcmp((*second)->started, (*first)->started);
}

GPtrArray *omo_person_notes(const struct omo_person_tables *tables, const char *person)
{
    GPtrArray *rows = last_rows(tables->table[OMO_TABLE_NOTES], person, person_of_note);

    for (guint i = rows->len; i > 0; i--) {
        const struct omo_note_row *row = g_ptr_array_index(rows, i - 1);

        if (strcmp(row->status, "ok") != 0)
            g_ptr_array_remove_index(rows, i - 1);
    }
    g_ptr_array_sort(rows, newer_note);
    return rows;
}

GPtrArray *omo_person_steps(const struct omo_person_tables *tables, const char *person)
{
    GPtrArray *rows = last_rows(tables->table[OMO_TABLE_STEPS], person, person_of_step);

    g_ptr_array_sort(rows, newer_step);
    return rows;
}

GPtrArray *omo_person_sessions(const struct omo_person_tables *tables, const char *person)
{
    GHashTable *seen = g_hash_table_new(g_str_hash, g_str_equal);
    GPtrArray *rows = g_ptr_array_new();

    for (size_t i = omo_record_count(tables->record); i > 0; i--) {
        const struct omo_session_row *row = omo_record_row(tables->record, i - 1);

        if (strcmp(row->person, person) == 0 && g_hash_table_add(seen, (void *)row->id) &&
            strcmp(row->status, "ok") == 0)
            g_ptr_array_add(rows, (void *)row);
    }
    g_hash_table_destroy(seen);
    g_ptr_array_sort(rows, newer_session);
    return rows;
}

static gint by_alphabet(gconstpointer a, gconstpointer b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static void add_person(GPtrArray *people, GHashTable *seen, const char *person)
{
    if (person[0] != '\0' && g_hash_table_add(seen, (void *)person))
        g_ptr_array_add(people, (void *)person);
}

GPtrArray *omo_person_all(const struct omo_person_tables *tables)
{
    GHashTable *seen = g_hash_table_new(g_str_hash, g_str_equal);
    GPtrArray *people = g_ptr_array_new();

    for (int kind = 0; kind < OMO_TABLE_COUNT; kind++) {
        const struct omo_table *table = tables->table[kind];

        if (kind == OMO_TABLE_SET_UPS || kind == OMO_TABLE_CHANGES)
            continue; /* about cameras; and about people who may be gone */
        for (size_t i = 0; i < omo_table_count(table); i++) {
            const char *row = omo_table_row(table, i);

            /* Behind the id, but in people.csv, which has none. */
            add_person(people, seen,
                       kind == OMO_TABLE_PEOPLE
                           ? row
                           : row + offsetof(struct omo_sheet_row, person));
        }
    }
    for (size_t i = 0; i < omo_record_count(tables->record); i++)
        add_person(people, seen, omo_record_row(tables->record, i)->person);
    g_hash_table_destroy(seen);
    g_ptr_array_sort(people, by_alphabet);
    return people;
}

/* Where omo_person_all() looks for the person. */
#define PERSON_AT(row) offsetof(struct row, person)
_Static_assert(PERSON_AT(omo_step_row) == PERSON_AT(omo_sheet_row) &&
                   PERSON_AT(omo_note_row) == PERSON_AT(omo_sheet_row) &&
                   PERSON_AT(omo_limit_row) == PERSON_AT(omo_sheet_row) &&
                   PERSON_AT(omo_person_row) == 0,
               "a person's place in a row");

/* ---- time ------------------------------------------------------------------------- */

void omo_date_of(const char *time, char out[16])
{
    out[0] = '\0';
    if (strlen(time) >= 10 && time[4] == '-' && time[7] == '-')
        omo_text_copy(out, 11, time);
}

void omo_today(char out[16])
{
    g_autoptr(GDateTime) now = g_date_time_new_now_local();
    g_autofree char *text = g_date_time_format(now, "%Y-%m-%d");

    omo_text_copy(out, 16, text);
}

void omo_now_utc(char out[32])
{
    g_autoptr(GDateTime) now = g_date_time_new_now_utc();
    g_autofree char *text = g_date_time_format(now, "%Y-%m-%dT%H:%M:%SZ");

    omo_text_copy(out, 32, text);
}
