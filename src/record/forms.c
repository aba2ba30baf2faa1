/* The columns of sessions.csv and of the tables beside it, in order: T text, N number
   with decimals, C count. Appending a column here is all that a new one needs. */
#include <string.h>

#include "record/columns.h"

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

#define STEP_COLUMNS(T, N, C)                                                            \
    T(id) T(person) T(session) T(started) T(ended) T(programme) T(programme_mark)        \
    T(step) T(group) T(kind) T(movement) T(area) T(side) T(mode) T(result) T(reason)     \
    C(repetitions) C(clockwise) C(counter_clockwise) C(unknown_way)                      \
    N(diameter_cm, CM_DECIMALS) N(diameter_growth_cm, CM_DECIMALS)                       \
    N(loose_ratio, RATIO_DECIMALS) N(held_s, HELD_DECIMALS) C(breaths) C(ease_ups)       \
    N(stop_deg, DEGREE_DECIMALS) N(stop_u95_deg, DEGREE_DECIMALS)                        \
    N(gain_deg, DEGREE_DECIMALS) N(target_deg, DEGREE_DECIMALS)                          \
    N(ceiling_deg, DEGREE_DECIMALS) N(tenderness_before, PAIN_DECIMALS)                  \
    N(tenderness_after, PAIN_DECIMALS) N(pain_start, PAIN_DECIMALS)                      \
    N(pain_most, PAIN_DECIMALS) N(pain_end, PAIN_DECIMALS) N(load_kg, KG_DECIMALS)       \
    T(sore) T(measured) T(version) T(note)

#define NOTE_COLUMNS(T, N, C)                                                            \
    T(id) T(person) T(session) T(written) T(item) T(side) T(detail)                      \
    N(value, VALUE_DECIMALS) T(unit) T(text) T(status) T(replaces)

#define LIMIT_COLUMNS(T, N, C)                                                           \
    T(id) T(person) T(set_on) T(side) T(movement) N(ceiling_deg, DEGREE_DECIMALS)        \
    T(allowed) N(load_kg, KG_DECIMALS) T(set_by) T(valid_until) T(status) T(replaces)    \
    T(note)

#define SHEET_COLUMNS(T, N, C)                                                           \
    T(id) T(person) T(set_on) T(set_by) T(item) T(value) T(note)

#define PERSON_COLUMNS(T, N, C)                                                          \
    T(person) T(set_on) T(set_by) C(birth_year) T(sex) N(height_cm, CM_DECIMALS)         \
    T(dominant_side) T(affected_side) T(note)

#define SET_UP_COLUMNS(T, N, C)                                                          \
    T(id) T(camera) C(picture_width_px) C(picture_height_px)                             \
    N(frames_per_second, RATE_DECIMALS) T(exposure) T(lens) T(lens_mark)                 \
    N(distance_m, DISTANCE_DECIMALS) N(roll_deg, DEGREE_DECIMALS)                        \
    N(pitch_deg, DEGREE_DECIMALS) N(marker_size_mm, MM_DECIMALS) T(colours) T(markers)   \
    N(cutoff_hz, RATE_DECIMALS) T(models_mark) T(protocol) T(version)

#define EDIT_COLUMNS(T, N, C)                                                            \
    T(id) T(person) T(changed_on) T(changed_by) T(what) T(row) T(old_value) T(new_value) \
    T(reason)

#define PLACE(field) offsetof(struct ROW, field), sizeof((struct ROW *)0)->field
#define TEXT_COLUMN(field)             {#field, COLUMN_TEXT, PLACE(field), 0},
#define NUMBER_COLUMN(field, decimals) {#field, COLUMN_NUMBER, PLACE(field), decimals},
#define COUNT_COLUMN(field)            {#field, COLUMN_COUNT, PLACE(field), 0},
#define TEXT_NAME(field)               "," #field
#define NUMBER_NAME(field, decimals)   "," #field
#define COUNT_NAME(field)              "," #field

/* Of the struct that ROW names at the time. The header starts behind its first comma. */
#define COLUMNS_OF(name, LIST)                                                           \
    static const struct column name##_columns[] = {                                      \
        LIST(TEXT_COLUMN, NUMBER_COLUMN, COUNT_COLUMN)};                                 \
    static const char name##_header[] = LIST(TEXT_NAME, NUMBER_NAME, COUNT_NAME)
#define FORM_OF(name, file)                                                              \
    {file, name##_header + 1, name##_columns,                                            \
     sizeof name##_columns / sizeof name##_columns[0], sizeof(struct ROW)}
/* clang-format on */

#define ROW omo_session_row
COLUMNS_OF(session, SESSION_COLUMNS);
const struct row_form omo_session_form = FORM_OF(session, "sessions.csv");
#undef ROW

#define ROW omo_step_row
COLUMNS_OF(step, STEP_COLUMNS);
static const struct row_form step_form = FORM_OF(step, "steps.csv");
#undef ROW

#define ROW omo_note_row
COLUMNS_OF(note, NOTE_COLUMNS);
static const struct row_form note_form = FORM_OF(note, "notes.csv");
#undef ROW

#define ROW omo_limit_row
COLUMNS_OF(limit, LIMIT_COLUMNS);
static const struct row_form limit_form = FORM_OF(limit, "limits.csv");
#undef ROW

#define ROW omo_sheet_row
COLUMNS_OF(sheet, SHEET_COLUMNS);
static const struct row_form sheet_form = FORM_OF(sheet, "sheet.csv");
#undef ROW

#define ROW omo_person_row
COLUMNS_OF(person, PERSON_COLUMNS);
static const struct row_form person_form = FORM_OF(person, "people.csv");
#undef ROW

#define ROW omo_set_up_row
COLUMNS_OF(set_up, SET_UP_COLUMNS);
static const struct row_form set_up_form = FORM_OF(set_up, "set-ups.csv");
#undef ROW

#define ROW omo_edit_row
COLUMNS_OF(edit, EDIT_COLUMNS);
static const struct row_form edit_form = FORM_OF(edit, "changes.csv");
#undef ROW

const struct row_form *omo_table_form(enum omo_table_kind kind)
{
    switch (kind) {
    case OMO_TABLE_STEPS:
        return &step_form;
    case OMO_TABLE_NOTES:
        return &note_form;
    case OMO_TABLE_LIMITS:
        return &limit_form;
    case OMO_TABLE_SHEET:
        return &sheet_form;
    case OMO_TABLE_SET_UPS:
        return &set_up_form;
    case OMO_TABLE_CHANGES:
        return &edit_form;
    case OMO_TABLE_PEOPLE:
    case OMO_TABLE_COUNT:
        break;
    }
    return &person_form;
}

const struct row_form *omo_form_of_file(const char *file)
{
    if (strcmp(file, omo_session_form.file) == 0)
        return &omo_session_form;
    for (int kind = 0; kind < OMO_TABLE_COUNT; kind++) {
        const struct row_form *form = omo_table_form((enum omo_table_kind)kind);

        if (strcmp(file, form->file) == 0)
            return form;
    }
    return NULL;
}
