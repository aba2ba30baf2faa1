#include "record/columns.h"

#include <limits.h>
#include <math.h>
#include <string.h>

#include "omogon/text.h"

void omo_row_clear(const struct row_form *form, void *row)
{
    memset(row, 0, form->row_bytes);
    for (size_t i = 0; i < form->column_count; i++) {
        char *field = (char *)row + form->columns[i].offset;

        if (form->columns[i].kind == COLUMN_NUMBER)
            *(double *)field = NAN;
        else if (form->columns[i].kind == COLUMN_COUNT)
            *(int *)field = -1;
    }
}

/* ---- text cells ---------------------------------------------------------------------
   A spreadsheet runs a cell that starts like a formula, quoted or not. Such a text gets
   an apostrophe before it, and so does one that already looks like that, so that reading
   takes exactly one away. Control characters become blanks: one row is one line. */

static bool is_guarded(const char *text)
{
    text += strspn(text, "'");
    return text[0] != '\0' && strchr("=+-@", text[0]) != NULL;
}

static void copy_line(char *out, size_t size, const char *text)
{
    omo_text_copy(out, size, text);
    for (; *out != '\0'; out++)
        if ((unsigned char)*out < ' ' || *out == 127)
            *out = ' ';
}

static void write_text(struct omo_csv_text *csv, const char *text)
{
    char cell[600] = "'"; /* the longest field and its apostrophe */

    copy_line(cell + 1, sizeof cell - 1, text);
    omo_csv_add_text(csv, is_guarded(cell + 1) ? cell : cell + 1);
}

static void read_text(const char *cell, char *out, size_t size)
{
    omo_text_copy(out, size, cell[0] == '\'' && is_guarded(cell) ? cell + 1 : cell);
}

/* ---- rows ---------------------------------------------------------------------- */

void omo_row_write(const struct row_form *form, const void *row, struct omo_csv_text *csv)
{
    for (size_t i = 0; i < form->column_count; i++) {
        const char *field = (const char *)row + form->columns[i].offset;

        switch (form->columns[i].kind) {
        case COLUMN_TEXT:
            write_text(csv, field);
            break;
        case COLUMN_NUMBER:
            omo_csv_add_number(csv, *(const double *)field, form->columns[i].decimals);
            break;
        case COLUMN_COUNT:
            if (*(const int *)field >= 0)
                omo_csv_add_integer(csv, *(const int *)field);
            else
                omo_csv_add_text(csv, "");
            break;
        }
    }
    omo_csv_end_row(csv);
}

bool omo_row_field(const struct row_form *form, const void *row, int index,
                   struct omo_session_field *field)
{
    const struct column *column;
    const char *place;

    if (index < 0 || (size_t)index >= form->column_count)
        return false;
    column = &form->columns[index];
    place = (const char *)row + column->offset;
    memset(field, 0, sizeof *field);
    field->name = column->name;
    field->is_number = column->kind != COLUMN_TEXT;
    if (column->kind == COLUMN_TEXT)
        copy_line(field->text, sizeof field->text, place);
    else if (column->kind == COLUMN_NUMBER)
        omo_number_text(*(const double *)place, column->decimals, field->text,
                        sizeof field->text);
    else if (*(const int *)place >= 0)
        omo_number_text(*(const int *)place, 0, field->text, sizeof field->text);
    return true;
}

static bool read_number(const char *cell, double *out)
{
    *out = NAN;
    return cell[0] == '\0' || omo_number_parse(cell, out);
}

static bool read_count(const char *cell, int *out)
{
    long long value = -1;

    if (cell[0] != '\0' && (!omo_integer_parse(cell, &value) || value < 0))
        return false;
    if (value > INT_MAX)
        return false;
    *out = (int)value;
    return true;
}

bool omo_row_read(const struct row_form *form, const struct omo_csv_table *table,
                  size_t index, void *row)
{
    if (omo_csv_columns(table, index) != form->column_count)
        return false;
    memset(row, 0, form->row_bytes);
    for (size_t i = 0; i < form->column_count; i++) {
        const char *cell = omo_csv_cell(table, index, i);
        char *field = (char *)row + form->columns[i].offset;

        switch (form->columns[i].kind) {
        case COLUMN_TEXT:
            read_text(cell, field, form->columns[i].size);
            break;
        case COLUMN_NUMBER:
            if (!read_number(cell, (double *)field))
                return false;
            break;
        case COLUMN_COUNT:
            if (!read_count(cell, (int *)field))
                return false;
            break;
        }
    }
    return ((char *)row)[form->columns[0].offset] != '\0';
}

bool omo_header_matches(const struct row_form *form, const struct omo_csv_table *table)
{
    if (omo_csv_columns(table, 0) != form->column_count)
        return false;
    for (size_t i = 0; i < form->column_count; i++)
        if (strcmp(omo_csv_cell(table, 0, i), form->columns[i].name) != 0)
            return false;
    return true;
}
