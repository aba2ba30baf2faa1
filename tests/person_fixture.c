#include "person_fixture.h"

#include <stdio.h>
#include <string.h>

#include <check.h>
#include <glib.h>

#include "app/person_state.h"
#include "omogon/text.h"
#include "record_fixture.h"

struct omo_person_state person_state;

void person_append(enum omo_table_kind kind, void *row)
{
    struct omo_table *table = NULL;

    ck_assert_int_eq(omo_table_open(fixture_folder, kind, &table), OMO_OK);
    ck_assert_int_eq(omo_table_append(table, row), OMO_OK);
    omo_table_close(table);
}

void person_fact(const char *item, const char *value, const char *set_on)
{
    struct omo_sheet_row row;

    omo_table_row_init(OMO_TABLE_SHEET, &row);
    strcpy(row.person, "P001");
    omo_text_copy(row.set_on, sizeof row.set_on, set_on);
    omo_text_copy(row.item, sizeof row.item, item);
    omo_text_copy(row.value, sizeof row.value, value);
    person_append(OMO_TABLE_SHEET, &row);
}

void person_affected(const char *side)
{
    struct omo_person_row row;

    omo_table_row_init(OMO_TABLE_PEOPLE, &row);
    strcpy(row.person, "P001");
    omo_text_copy(row.affected_side, sizeof row.affected_side, side);
    person_append(OMO_TABLE_PEOPLE, &row);
}

void person_limit(const char *movement, const char *side, double ceiling_deg,
                  const char *allowed, const char *until, const char *status)
{
    struct omo_limit_row row;

    omo_table_row_init(OMO_TABLE_LIMITS, &row);
    strcpy(row.person, "P001");
    omo_text_copy(row.movement, sizeof row.movement, movement);
    omo_text_copy(row.side, sizeof row.side, side);
    omo_text_copy(row.allowed, sizeof row.allowed, allowed);
    omo_text_copy(row.valid_until, sizeof row.valid_until, until);
    omo_text_copy(row.status, sizeof row.status, status);
    row.ceiling_deg = ceiling_deg;
    person_append(OMO_TABLE_LIMITS, &row);
}

/* A measured movement of a day; `number` makes its id and its mean. */
struct omo_session_row person_session(int number, const char *date)
{
    struct omo_session_row row = fixture_row(number);

    omo_text_add(row.started, sizeof row.started, "%sT09:00:00Z", date);
    strcpy(row.mode, "active");
    strcpy(row.arms, "one");
    row.mean_of_maxima_deg = 100 + number;
    return row;
}

void person_record(const struct omo_session_row *row)
{
    struct omo_record *open = fixture_open(true);
    bool added;

    ck_assert_int_eq(omo_record_append(open, row, &added), OMO_OK);
    omo_record_close(open);
}

void person_note(const char *item, double value, const char *date)
{
    struct omo_note_row row;

    omo_table_row_init(OMO_TABLE_NOTES, &row);
    strcpy(row.person, "P001");
    omo_text_add(row.written, sizeof row.written, "%sT08:00:00Z", date);
    omo_text_copy(row.item, sizeof row.item, item);
    row.value = value;
    person_append(OMO_TABLE_NOTES, &row);
}

/* What is told on a day without anything to be careful about. */
void person_calm_day(const char *date)
{
    static const char *const items[] = {"pain-now", "pain-worst-24h", "woken", "constant",
                                        "before-end"};

    for (int i = 0; i < (int)G_N_ELEMENTS(items); i++)
        person_note(items[i], 0, date);
}

struct omo_step_row person_step(const char *kind, const char *result, const char *date)
{
    struct omo_step_row row;

    omo_table_row_init(OMO_TABLE_STEPS, &row);
    strcpy(row.person, "P001");
    omo_text_add(row.started, sizeof row.started, "%sT09:00:00Z", date);
    omo_text_copy(row.kind, sizeof row.kind, kind);
    omo_text_copy(row.result, sizeof row.result, result);
    strcpy(row.step, "one");
    row.pain_start = 1;
    row.pain_most = 1;
    return row;
}

void person_load(void)
{
    omo_person_state_free(&person_state);
    ck_assert_int_eq(omo_person_state_load(fixture_folder, "P001", TODAY, &person_state),
                     OMO_OK);
    ck_assert_int_eq(fixture_messages, 0);
}

void person_end(void)
{
    omo_person_state_free(&person_state);
    fixture_remove();
}
