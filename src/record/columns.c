#include <math.h>
#include <string.h>

#include "omogon/text.h"
#include "record/record_private.h"

#define DEGREE_DECIMALS 3
#define RATIO_DECIMALS  3
#define PIXEL_DECIMALS  3
#define MM_DECIMALS     3
#define TIME_DECIMALS   6
#define RATE_DECIMALS   3
#define PAIN_DECIMALS   1 /* a rating of 0 to 10, or 0 to 100 */

/* The columns of sessions.csv in order: T text, N number with decimals, C count. The
   header, the writer and the reader all come from this list. */
/* clang-format off */
#define SESSION_COLUMNS(T, N, C)                                                         \
    T(id) T(person) T(visit) T(started) T(movement) T(side) T(source) T(position)        \
    T(mode) T(view) T(arms) T(placement) T(reference)                                    \
    N(max_deg, DEGREE_DECIMALS) N(max_u95_deg, DEGREE_DECIMALS)                          \
    N(held_max_deg, DEGREE_DECIMALS) N(mean_of_maxima_deg, DEGREE_DECIMALS)              \
    N(max_before_hike_deg, DEGREE_DECIMALS) N(rest_deg, DEGREE_DECIMALS) C(repetitions)  \
    N(hike_at_max_ratio, RATIO_DECIMALS) N(lean_at_max_deg, DEGREE_DECIMALS)             \
    N(trunk_rest_offset_deg, DEGREE_DECIMALS) N(pivot_offset_ratio, RATIO_DECIMALS)      \
    N(plane_turn_deg, DEGREE_DECIMALS) N(rotation_at_abduction_deg, DEGREE_DECIMALS)     \
    N(pain_before, PAIN_DECIMALS) N(pain_at_max, PAIN_DECIMALS)                          \
    N(pain_after, PAIN_DECIMALS) N(pain_onset_deg, DEGREE_DECIMALS)                      \
    N(pain_end_deg, DEGREE_DECIMALS) T(stopped_by) T(end_feel) T(rater) T(set_up)        \
    N(seen_ratio, RATIO_DECIMALS) N(frames_per_second, RATE_DECIMALS) T(trace)           \
    T(version) T(status) T(replaces) T(note)
/* clang-format on */

enum column_kind { COLUMN_TEXT, COLUMN_NUMBER, COLUMN_COUNT };
struct column {
    const char *name;
    enum column_kind kind;
    size_t offset, size;
    int decimals;
};

/* clang-format off */
#define PLACE(field) offsetof(struct omo_session_row, field), \
                     sizeof((struct omo_session_row *)0)->field
#define TEXT_COLUMN(field)             {#field, COLUMN_TEXT, PLACE(field), 0},
#define NUMBER_COLUMN(field, decimals) {#field, COLUMN_NUMBER, PLACE(field), decimals},
#define COUNT_COLUMN(field)            {#field, COLUMN_COUNT, PLACE(field), 0},
/* clang-format on */

static const struct column columns[] = {
    SESSION_COLUMNS(TEXT_COLUMN, NUMBER_COLUMN, COUNT_COLUMN)};
#define COLUMN_TOTAL (sizeof columns / sizeof columns[0])

#define TEXT_NAME(field)             "," #field
#define NUMBER_NAME(field, decimals) "," #field
#define COUNT_NAME(field)            "," #field

const char *omo_session_header(void)
{
    static const char names[] = SESSION_COLUMNS(TEXT_NAME, NUMBER_NAME, COUNT_NAME);

    return names + 1; /* without the first comma */
}

void omo_session_row_init(struct omo_session_row *row)
{
    memset(row, 0, sizeof *row);
    for (size_t i = 0; i < COLUMN_TOTAL; i++)
        if (columns[i].kind == COLUMN_NUMBER)
            *(double *)((char *)row + columns[i].offset) = NAN;
    row->repetitions = -1;
    omo_text_copy(row->version, sizeof row->version, OMO_VERSION);
    omo_text_copy(row->status, sizeof row->status, "ok");
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

/* ---- rows of sessions.csv -------------------------------------------------------- */

void session_row_write(const struct omo_session_row *row, struct omo_csv_text *csv)
{
    for (size_t i = 0; i < COLUMN_TOTAL; i++) {
        const char *field = (const char *)row + columns[i].offset;

        switch (columns[i].kind) {
        case COLUMN_TEXT:
            write_text(csv, field);
            break;
        case COLUMN_NUMBER:
            omo_csv_add_number(csv, *(const double *)field, columns[i].decimals);
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

bool omo_session_field(const struct omo_session_row *row, int index,
                       struct omo_session_field *field)
{
    const struct column *column;
    const char *place;

    if (index < 0 || (size_t)index >= COLUMN_TOTAL)
        return false;
    column = &columns[index];
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

bool session_row_read(const struct omo_csv_table *table, size_t index,
                      struct omo_session_row *row)
{
    if (omo_csv_columns(table, index) != COLUMN_TOTAL)
        return false;
    memset(row, 0, sizeof *row);
    for (size_t i = 0; i < COLUMN_TOTAL; i++) {
        const char *cell = omo_csv_cell(table, index, i);
        char *field = (char *)row + columns[i].offset;

        switch (columns[i].kind) {
        case COLUMN_TEXT:
            read_text(cell, field, columns[i].size);
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
    return row->id[0] != '\0';
}

bool session_header_matches(const struct omo_csv_table *table)
{
    if (omo_csv_columns(table, 0) != COLUMN_TOTAL)
        return false;
    for (size_t i = 0; i < COLUMN_TOTAL; i++)
        if (strcmp(omo_csv_cell(table, 0, i), columns[i].name) != 0)
            return false;
    return true;
}

/* ---- rows of a trace ------------------------------------------------------------- */

#define MARKER_NAMES(role)                                                               \
    "," role "_x_px," role "_y_px," role "_diameter_px," role "_seen"

const char *omo_trace_header(void)
{
    _Static_assert(OMO_ROLE_COUNT == 6, "a new role needs its columns here");
    return "frame,time_s,angle_deg,angle_raw_deg,angle_image_deg,angle_vertical_deg,"
           "elbow_flexion_deg,trunk_lean_deg,hike_ratio,hike_mm,reference,quality,"
           "picture_width_px,picture_height_px" MARKER_NAMES("shoulder")
               MARKER_NAMES("elbow") MARKER_NAMES("wrist") MARKER_NAMES("hip")
                   MARKER_NAMES("chest") MARKER_NAMES("acromion");
}

static void write_marker(const struct omo_marker *marker, struct omo_csv_text *csv)
{
    omo_csv_add_number(csv, marker->x_px, PIXEL_DECIMALS);
    omo_csv_add_number(csv, marker->y_px, PIXEL_DECIMALS);
    omo_csv_add_number(csv, marker->diameter_px, PIXEL_DECIMALS);
    omo_csv_add_integer(csv, marker->seen);
}

void trace_row_write(const struct omo_trace_row *row, int picture_width,
                     int picture_height, struct omo_csv_text *csv)
{
    const double angles_deg[] = {row->angle_deg,         row->angle_raw_deg,
                                 row->angle_image_deg,   row->angle_vertical_deg,
                                 row->elbow_flexion_deg, row->trunk_lean_deg};
    char quality[256];

    omo_quality_text(row->quality, quality, sizeof quality);
    omo_csv_add_integer(csv, row->frame);
    omo_csv_add_number(csv, row->time_s, TIME_DECIMALS);
    for (size_t i = 0; i < sizeof angles_deg / sizeof angles_deg[0]; i++)
        omo_csv_add_number(csv, angles_deg[i], DEGREE_DECIMALS);
    omo_csv_add_number(csv, row->hike_ratio, RATIO_DECIMALS);
    omo_csv_add_number(csv, row->hike_mm, MM_DECIMALS);
    omo_csv_add_text(csv, omo_reference_name(row->reference));
    omo_csv_add_text(csv, quality);
    omo_csv_add_integer(csv, picture_width);
    omo_csv_add_integer(csv, picture_height);
    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        write_marker(&row->markers.role[role], csv);
    omo_csv_end_row(csv);
}
