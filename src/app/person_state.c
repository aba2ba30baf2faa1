#include "app/person_state.h"

#include <math.h>
#include <string.h>

#include <glib.h>

#include "app/person_tables.h"
#include "omogon/log.h"
#include "omogon/text.h"

#define SAME(a, b) (strcmp((a), (b)) == 0)

/* ---- the sheet -------------------------------------------------------------------- */

static void read_who(const struct omo_person_row *who, struct omo_person_state *state)
{
    if (who == NULL)
        return;
    state->affected = SAME(who->affected_side, "right") ? OMO_RIGHT : OMO_LEFT;
    state->affected_known =
        SAME(who->affected_side, "left") || SAME(who->affected_side, "right");
    if (SAME(who->affected_side, "both"))
        state->history |= OMO_HISTORY_BOTH_SIDES;
}

static bool says_yes(const struct omo_person_tables *tables, const char *person,
                     const char *kind, const char *name)
{
    g_autofree char *item = g_strconcat(kind, ":", name, NULL);

    return SAME(omo_person_value(tables, person, item), "yes");
}

bool omo_mark_parse(const char *value, struct omo_told_mark *out)
{
    g_auto(GStrv) part = g_strsplit(value, ":", -1);
    guint count = g_strv_length(part);
    struct omo_told_mark mark = {.above = count == 4};

    if (count < 3 || count > 4 || (count == 4 && strcmp(part[3], "above") != 0) ||
        (strcmp(part[1], "left") != 0 && strcmp(part[1], "right") != 0) ||
        !omo_number_parse(part[2], &mark.deg))
        return false;
    omo_text_copy(mark.movement, sizeof mark.movement, part[0]);
    omo_text_copy(mark.side, sizeof mark.side, part[1]);
    *out = mark;
    return true;
}

static void read_sheet(const struct omo_person_tables *tables, const char *person,
                       struct omo_person_state *state)
{
    const char *weight = omo_person_value(tables, person, "weight");
    struct omo_told_mark mark;
    double kg;

    for (int bit = 0; omo_history_name(bit) != NULL; bit++)
        if (says_yes(tables, person, "history", omo_history_name(bit)))
            state->history |= 1u << bit;
    state->taught_front = says_yes(tables, person, "taught", "blade-front");
    state->taught_armpit = says_yes(tables, person, "taught", "armpit-back");
    state->weight_ticked = omo_number_parse(weight, &kg) && kg > 0;
    if (state->weight_ticked)
        state->weight_most_kg = kg;
    if (omo_mark_parse(omo_person_value(tables, person, "mark"), &mark)) {
        state->mark_told = mark.above;
        state->told_mark_deg = mark.deg;
        omo_text_copy(state->told_movement, sizeof state->told_movement, mark.movement);
        omo_text_copy(state->told_side, sizeof state->told_side, mark.side);
    }
}

/* ---- limits ----------------------------------------------------------------------- */

/* A word that is not known allows nothing. */
static enum omo_allowed allowed_of(const char *word)
{
    if (SAME(word, "active"))
        return OMO_ALLOWED_ACTIVE;
    return SAME(word, "assisted") ? OMO_ALLOWED_ASSISTED : OMO_ALLOWED_NONE;
}

static void read_limits(const struct omo_person_tables *tables, const char *person,
                        struct omo_person_state *state)
{
    g_autoptr(GPtrArray) rows = omo_person_limits(tables, person);
    struct omo_limit *limits = g_new0(struct omo_limit, rows->len + 1);

    for (guint i = 0; i < rows->len; i++) {
        const struct omo_limit_row *row = g_ptr_array_index(rows, i);
        struct omo_limit *limit = &limits[i];

        omo_text_copy(limit->movement, sizeof limit->movement, row->movement);
        omo_text_copy(limit->side, sizeof limit->side, row->side);
        omo_text_copy(limit->set_by, sizeof limit->set_by, row->set_by);
        omo_text_copy(limit->valid_until, sizeof limit->valid_until, row->valid_until);
        limit->ceiling_deg = row->ceiling_deg;
        limit->load_kg = row->load_kg;
        limit->allowed = allowed_of(row->allowed);
    }
    state->limits = limits;
    state->limit_count = rows->len;
}

/* ---- how sore a day was ----------------------------------------------------------- */

static bool on_day(const char *time, const char *date)
{
    char day[16];

    omo_date_of(time, day);
    return SAME(day, date);
}

static bool sore_from_name(const char *name, enum omo_sore *sore)
{
    for (int i = OMO_SORE_CALM; i <= OMO_SORE_SORE; i++) {
        if (SAME(name, omo_sore_name((enum omo_sore)i))) {
            *sore = (enum omo_sore)i;
            return true;
        }
    }
    return false;
}

static void take_answer(const struct omo_note_row *note, struct omo_soreness *soreness)
{
    const struct {
        const char *item;
        double *number;
        int *answer;
    } asked[] = {
        {"pain-now", &soreness->now, NULL},
        {"pain-worst-24h", &soreness->worst_24h, NULL},
        {"woken", NULL, &soreness->woken},
        {"constant", NULL, &soreness->constant},
        {"before-end", NULL, &soreness->before_end},
    };

    for (size_t i = 0; i < G_N_ELEMENTS(asked); i++) {
        if (!SAME(note->item, asked[i].item) || !isfinite(note->value))
            continue;
        if (asked[i].number != NULL)
            *asked[i].number = note->value;
        else
            *asked[i].answer = note->value > 0;
    }
}

/* Rows are newest first, so that the day's last word counts. */
static enum omo_sore sore_on(const struct omo_care *care, const GPtrArray *steps,
                             const GPtrArray *notes, const char *date)
{
    struct omo_soreness soreness = {NAN, NAN, -1, -1, -1};
    enum omo_sore sore;

    for (guint i = 0; i < steps->len; i++) {
        const struct omo_step_row *step = g_ptr_array_index(steps, i);

        if (on_day(step->started, date) && sore_from_name(step->sore, &sore))
            return sore;
    }
    for (guint i = notes->len; i > 0; i--) {
        const struct omo_note_row *note = g_ptr_array_index(notes, i - 1);

        if (on_day(note->written, date))
            take_answer(note, &soreness);
    }
    return omo_sore_of(care, &soreness);
}

/* ---- past sessions ---------------------------------------------------------------- */

/* The most pain told, NAN when none was. */
static double more(double a, double b)
{
    return fmax(a, b); /* ignores a NAN beside a number */
}

static bool ended_for_pain(const struct omo_care *care, const struct omo_session_row *row,
                           const GPtrArray *steps)
{
    double pain = more(row->pain_at_max, row->pain_after);

    if (SAME(row->stopped_by, "pain"))
        return true;
    for (guint i = 0; i < steps->len; i++) {
        const struct omo_step_row *step = g_ptr_array_index(steps, i);

        if (!SAME(step->measured, row->id))
            continue;
        if (SAME(step->result, "pain"))
            return true;
        pain = more(pain, step->pain_most);
    }
    return isfinite(pain) &&
           omo_pain_ends(care, care->pain_limit, row->pain_before, pain);
}

static bool is_there(const GArray *past, const struct omo_past *wanted)
{
    for (guint i = 0; i < past->len; i++) {
        const struct omo_past *one = &g_array_index(past, struct omo_past, i);

        if (SAME(one->date, wanted->date) && SAME(one->movement, wanted->movement) &&
            SAME(one->side, wanted->side) && SAME(one->mode, wanted->mode))
            return true;
    }
    return false;
}

static struct omo_past past_of(const struct omo_session_row *row)
{
    struct omo_past past = {.mean_of_maxima_deg = row->mean_of_maxima_deg,
                            .max_deg = row->max_deg,
                            .u95_deg = row->max_u95_deg,
                            .pain_at_max = row->pain_at_max,
                            .pain_after = row->pain_after};

    omo_date_of(row->started, past.date);
    omo_text_copy(past.movement, sizeof past.movement, row->movement);
    omo_text_copy(past.side, sizeof past.side, row->side);
    omo_text_copy(past.mode, sizeof past.mode, row->mode[0] ? row->mode : "active");
    return past;
}

static void read_past(const struct omo_person_tables *tables, const char *person,
                      const struct omo_care *care, struct omo_person_state *state)
{
    g_autoptr(GPtrArray) sessions = omo_person_sessions(tables, person);
    g_autoptr(GPtrArray) steps = omo_person_steps(tables, person);
    g_autoptr(GPtrArray) notes = omo_person_notes(tables, person);
    const char *arms = omo_person_value(tables, person, "arms");
    GArray *all = g_array_new(FALSE, TRUE, sizeof(struct omo_past));

    for (guint i = 0; i < sessions->len; i++) {
        const struct omo_session_row *row = g_ptr_array_index(sessions, i);
        struct omo_past past = past_of(row);

        /* One protocol a course, never mixed. */
        if (arms[0] != '\0' && row->arms[0] != '\0' && !SAME(arms, row->arms))
            continue;
        if (is_there(all, &past))
            continue;
        past.sore = sore_on(care, steps, notes, past.date);
        past.comfortable =
            past.sore != OMO_SORE_SORE && !ended_for_pain(care, row, steps);
        g_array_append_val(all, past);
    }
    state->past_count = all->len;
    state->past = (const struct omo_past *)(void *)g_array_free(all, FALSE);
}

/* ---- past steps ------------------------------------------------------------------- */

static bool kind_from_name(const char *name, enum omo_step_kind *kind)
{
    for (int i = 0; i < OMO_STEP_KIND_COUNT; i++) {
        if (SAME(name, omo_step_kind_name((enum omo_step_kind)i))) {
            *kind = (enum omo_step_kind)i;
            return true;
        }
    }
    return false;
}

/* Pain over where the step began; pain that was not asked for may have been there. */
static bool hurt(const struct omo_step_row *step)
{
    double most = more(step->pain_most, step->pain_end);

    if (SAME(step->result, "pain") || SAME(step->result, "sign") || !isfinite(most))
        return true;
    return most > (isfinite(step->pain_start) ? step->pain_start : 0);
}

/* An area that was given up for a sign or for tenderness begins anew when the
   practitioner takes it up again. */
static bool before_taken_up(const struct omo_person_tables *tables, const char *person,
                            const struct omo_step_row *step)
{
    g_autofree char *item = g_strconcat("taken-up:", step->area, NULL);
    const struct omo_sheet_row *fact =
        step->area[0] != '\0' ? omo_person_fact(tables, person, item) : NULL;

    return fact != NULL && strcmp(step->started, fact->set_on) < 0;
}

static struct omo_past_step past_step_of(const struct omo_step_row *row)
{
    struct omo_past_step step = {.tenderness_before = row->tenderness_before,
                                 .tenderness_after = row->tenderness_after,
                                 .diameter_cm = row->diameter_cm,
                                 .clockwise = MAX(row->clockwise, 0),
                                 .counter_clockwise = MAX(row->counter_clockwise, 0),
                                 .discomfort = hurt(row),
                                 .ended_by_sign = SAME(row->result, "sign")};

    omo_date_of(row->started, step.date);
    omo_text_copy(step.area, sizeof step.area, row->area);
    omo_text_copy(step.side, sizeof step.side, row->side);
    return step;
}

static void read_past_steps(const struct omo_person_tables *tables, const char *person,
                            struct omo_person_state *state)
{
    static const char *const not_done[] = {"begun", "skipped", "not-offered", NULL};
    g_autoptr(GPtrArray) rows = omo_person_steps(tables, person);
    GArray *all = g_array_new(FALSE, TRUE, sizeof(struct omo_past_step));

    for (guint i = 0; i < rows->len; i++) {
        const struct omo_step_row *row = g_ptr_array_index(rows, i);
        struct omo_past_step step = past_step_of(row);

        if (g_strv_contains(not_done, row->result) ||
            !kind_from_name(row->kind, &step.kind) ||
            before_taken_up(tables, person, row))
            continue;
        g_array_append_val(all, step);
    }
    state->past_step_count = all->len;
    state->past_steps = (const struct omo_past_step *)(void *)g_array_free(all, FALSE);
}

/* ---- all of it -------------------------------------------------------------------- */

enum omo_status omo_person_state_read(const struct omo_person_tables *tables,
                                      const char *person, const char *today,
                                      struct omo_person_state *out)
{
    struct omo_person_state state = {.told_mark_deg = NAN, .weight_most_kg = NAN};
    struct omo_care care;
    enum omo_status status = omo_care_load(NULL, &care);

    if (status != OMO_OK)
        return status;
    omo_text_copy(state.today, sizeof state.today, today);
    read_who(omo_person_who(tables, person), &state);
    read_sheet(tables, person, &state);
    read_limits(tables, person, &state);
    read_past(tables, person, &care, &state);
    read_past_steps(tables, person, &state);
    *out = state;
    return OMO_OK;
}

enum omo_status omo_person_state_load(const char *directory, const char *person,
                                      const char *today, struct omo_person_state *out)
{
    struct omo_person_tables tables;
    enum omo_status status = omo_person_tables_open(directory, &tables);

    if (status != OMO_OK)
        return status;
    status = omo_person_state_read(&tables, person, today, out);
    omo_person_tables_close(&tables);
    return status;
}

void omo_person_state_free(struct omo_person_state *state)
{
    if (state == NULL)
        return;
    g_free((void *)state->limits);
    g_free((void *)state->past);
    g_free((void *)state->past_steps);
    memset(state, 0, sizeof *state);
}
