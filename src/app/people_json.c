/* The list of people and one person's sheet as JSON; keys are the tables' columns. */
#include <cjson/cJSON.h>
#include <math.h>
#include <string.h>

#include "app/people.h"
#include "app/pipeline.h"
#include "omogon/overview.h"
#include "omogon/text.h"

#define PERCENTS_MOST 16

static cJSON *row_json(enum omo_table_kind kind, const void *row)
{
    cJSON *object = cJSON_CreateObject();
    struct omo_session_field field;

    for (int i = 0; omo_table_field(kind, row, i, &field); i++)
        omo_json_add_field(object, &field);
    return object;
}

static cJSON *rows_json(enum omo_table_kind kind, GPtrArray *rows)
{
    cJSON *array = cJSON_CreateArray();

    for (guint i = 0; i < rows->len; i++)
        cJSON_AddItemToArray(array, row_json(kind, g_ptr_array_index(rows, i)));
    g_ptr_array_unref(rows);
    return array;
}

static cJSON *sessions_json(GPtrArray *rows)
{
    cJSON *array = cJSON_CreateArray();

    for (guint i = 0; i < rows->len; i++)
        cJSON_AddItemToArray(array, omo_row_json(g_ptr_array_index(rows, i)));
    g_ptr_array_unref(rows);
    return array;
}

void omo_people_json_list(const struct omo_person_tables *tables)
{
    g_autoptr(GPtrArray) people = omo_person_all(tables);
    cJSON *array = cJSON_CreateArray();

    for (guint i = 0; i < people->len; i++) {
        const char *person = g_ptr_array_index(people, i);
        const struct omo_person_row *who = omo_person_who(tables, person);
        g_autoptr(GPtrArray) sessions = omo_person_sessions(tables, person);
        cJSON *object = cJSON_CreateObject();

        cJSON_AddStringToObject(object, "person", person);
        cJSON_AddStringToObject(object, "affected_side",
                                who != NULL ? who->affected_side : "");
        cJSON_AddNumberToObject(object, "sessions", sessions->len);
        if (sessions->len > 0)
            cJSON_AddItemToObject(object, "last_session",
                                  omo_row_json(g_ptr_array_index(sessions, 0)));
        else
            cJSON_AddNullToObject(object, "last_session");
        cJSON_AddItemToArray(array, object);
    }
    omo_json_print(array);
}

static cJSON *limits_json(const struct omo_person_tables *tables, const char *person,
                          const char *today)
{
    GPtrArray *rows = omo_person_limits(tables, person);
    cJSON *array = cJSON_CreateArray();

    for (guint i = 0; i < rows->len; i++) {
        cJSON *object = row_json(OMO_TABLE_LIMITS, g_ptr_array_index(rows, i));

        cJSON_AddBoolToObject(object, "expired",
                              omo_limit_expired(g_ptr_array_index(rows, i), today));
        cJSON_AddItemToArray(array, object);
    }
    g_ptr_array_unref(rows);
    return array;
}

/* The facts that count: the last row of each item. */
static cJSON *facts_json(const struct omo_person_tables *tables, const char *person)
{
    const struct omo_table *table = tables->table[OMO_TABLE_SHEET];
    cJSON *array = cJSON_CreateArray();

    for (size_t i = 0; i < omo_table_count(table); i++) {
        const struct omo_sheet_row *row = omo_table_row(table, i);

        if (strcmp(row->person, person) == 0 &&
            omo_person_fact(tables, person, row->item) == row)
            cJSON_AddItemToArray(array, row_json(OMO_TABLE_SHEET, row));
    }
    return array;
}

static void add_degrees(cJSON *object, const char *key, double value)
{
    char number[32];

    omo_number_text(value, 3, number, sizeof number);
    cJSON_AddItemToObject(object, key, cJSON_CreateRaw(number[0] ? number : "null"));
}

static cJSON *percents_json(const struct omo_person_tables *tables, const char *person,
                            const struct omo_progress *progress)
{
    struct omo_overview_percent percent[PERCENTS_MOST];
    size_t count = omo_overview_percents(progress, omo_person_affected(tables, person),
                                         omo_person_value(tables, person, "arms"),
                                         percent, PERCENTS_MOST);
    cJSON *array = cJSON_CreateArray();

    for (size_t i = 0; i < count; i++) {
        const struct omo_session_row *row = omo_progress_newest(percent[i].affected)->row;
        cJSON *object = cJSON_CreateObject();

        cJSON_AddStringToObject(object, "movement", row->movement);
        add_degrees(object, "affected_deg", percent[i].affected_deg);
        add_degrees(object, "other_deg", percent[i].other_deg);
        add_degrees(object, "percent", percent[i].percent);
        cJSON_AddItemToArray(array, object);
    }
    return array;
}

enum omo_status omo_people_json_sheet(const struct omo_person_tables *tables,
                                      const char *person, const char *today)
{
    const struct omo_person_row *who = omo_person_who(tables, person);
    struct omo_progress *progress = NULL;
    enum omo_status status =
        omo_progress_read(tables->record, &(struct omo_progress_filter){.person = person},
                          NULL, &progress);
    cJSON *array, *object;

    if (status != OMO_OK)
        return status;
    array = cJSON_CreateArray();
    object = who != NULL ? row_json(OMO_TABLE_PEOPLE, who) : cJSON_CreateObject();
    if (who == NULL)
        cJSON_AddStringToObject(object, "person", person);
    cJSON_AddItemToObject(object, "sheet", facts_json(tables, person));
    cJSON_AddItemToObject(object, "limits", limits_json(tables, person, today));
    cJSON_AddItemToObject(object, "percent_of_other",
                          percents_json(tables, person, progress));
    cJSON_AddItemToObject(object, "sessions",
                          sessions_json(omo_person_sessions(tables, person)));
    cJSON_AddItemToObject(object, "steps",
                          rows_json(OMO_TABLE_STEPS, omo_person_steps(tables, person)));
    cJSON_AddItemToObject(object, "notes",
                          rows_json(OMO_TABLE_NOTES, omo_person_notes(tables, person)));
    cJSON_AddItemToArray(array, object);
    omo_json_print(array);
    omo_progress_free(progress);
    return OMO_OK;
}
