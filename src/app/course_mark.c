#include "app/course_mark.h"

#include <math.h>
#include <string.h>

#include <glib.h>

#include "app/person_state.h"
#include "omogon/text.h"

struct omo_course_marks {
    const struct omo_person_tables *tables;
    struct omo_care care;
    GHashTable *states; /* code -> struct omo_person_state, read once a person */
    char today[16];
};

static void state_free(gpointer data)
{
    omo_person_state_free(data);
    g_free(data);
}

struct omo_course_marks *omo_course_marks_open(const struct omo_person_tables *tables)
{
    struct omo_course_marks *marks = g_new0(struct omo_course_marks, 1);
    if (omo_care_load(NULL, &marks->care) != OMO_OK) {
        g_free(marks);
        return NULL;
    }
    marks->tables = tables;
    marks->states = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, state_free);
    omo_today(marks->today);
    return marks;
}

void omo_course_marks_close(struct omo_course_marks *marks)
{
    if (!marks)
        return;
    g_hash_table_unref(marks->states);
    g_free(marks);
}

/** NULL: it cannot be read, which is said once. */
static const struct omo_person_state *state_of(struct omo_course_marks *marks,
                                               const char *person)
{
    struct omo_person_state *state = g_hash_table_lookup(marks->states, person);
    if (state)
        return state;
    state = g_new0(struct omo_person_state, 1);
    if (omo_person_state_read(marks->tables, person, marks->today, state) != OMO_OK) {
        g_free(state);
        return NULL;
    }
    g_hash_table_insert(marks->states, g_strdup(person), state);
    return state;
}

double omo_course_mark(struct omo_course_marks *marks,
                       const struct omo_progress_course *course)
{
    const struct omo_session_row *row = omo_progress_newest(course)->row;
    /* How sore today is nobody has been asked: what a calm day would have. */
    const struct omo_soreness calm = {0, 0, 0, 0, 0};
    struct omo_offer offer;
    const struct omo_person_state *person =
        marks && row->person[0] ? state_of(marks, row->person) : NULL;
    if (!person)
        return NAN;
    struct omo_step step = {.kind = OMO_STEP_STAY,
                            .side = strcmp(row->side, "left") ? OMO_STEP_RIGHT
                                                              : OMO_STEP_LEFT,
                            .mode = strcmp(row->mode, "active") ? OMO_MODE_ASSISTED
                                                                : OMO_MODE_ACTIVE,
                            .position = omo_position_from_name(row->position),
                            .position_told = true,
                            .repetitions = 1,
                            .ease_ups = 1,
                            .ceiling_deg = NAN,
                            .pain_limit = NAN,
                            .load_kg = NAN,
                            .hold_s = 10};
    omo_text_copy(step.movement, sizeof step.movement, row->movement);
    omo_offer_step(&marks->care, &step, NULL, person, &calm, row->max_u95_deg, &offer);
    return offer.offered ? offer.target_deg : (double)NAN;
}
