/* One person's sheet, and the list of all, as text. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/people.h"
#include "app/person_state.h"
#include "omogon/motion.h"
#include "omogon/overview.h"
#include "omogon/programme.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define SESSIONS_SHOWN 5 /* of each movement, side and mode */
#define NOTES_SHOWN    20
#define STEPS_SHOWN    20
#define LAST_SHOWN     3 /* of a person in the list */
#define PERCENTS_MOST  16

/* A number as it is shown; lent, four at a time. */
static const char *shown(double value, int decimals)
{
    static char text[4][32];
    static int next;

    next = (next + 1) % 4;
    omo_number_text(value, decimals, text[next], sizeof text[next]);
    return text[next];
}

/* ---- the list --------------------------------------------------------------------- */

static int days_of(const GPtrArray *sessions)
{
    char last[16] = "", day[16];
    int days = 0;

    for (guint i = 0; i < sessions->len; i++) {
        const struct omo_session_row *row = g_ptr_array_index(sessions, i);

        omo_date_of(row->started, day);
        days += strcmp(day, last) != 0;
        omo_text_copy(last, sizeof last, day);
    }
    return days;
}

void omo_people_print_list(const struct omo_person_tables *tables)
{
    g_autoptr(GPtrArray) people = omo_person_all(tables);

    if (people->len == 0)
        puts(omo_word("Nobody yet; \"omogon people --person CODE --add --set-by CODE\" "
                      "begins a sheet."));
    for (guint i = 0; i < people->len; i++) {
        const char *person = g_ptr_array_index(people, i);
        const struct omo_person_row *who = omo_person_who(tables, person);
        g_autoptr(GPtrArray) sessions = omo_person_sessions(tables, person);
        const struct omo_session_row *newest =
            sessions->len > 0 ? g_ptr_array_index(sessions, 0) : NULL;
        char line[600] = "", day[16] = "";

        if (newest == NULL) {
            omo_text_add(line, sizeof line, "%s", omo_word("not measured yet"));
        } else {
            omo_date_of(newest->started, day);
            omo_text_add(line, sizeof line, omo_word("measured on %d day(s), last %s"),
                         days_of(sessions), day);
        }
        for (guint k = 0; k < sessions->len && k < LAST_SHOWN; k++) {
            const struct omo_session_row *row = g_ptr_array_index(sessions, k);

            omo_text_add(line, sizeof line, "; %s, %s", omo_movement_words(row->movement),
                         omo_people_side(row->side));
            if (isfinite(row->max_deg))
                omo_text_add(line, sizeof line, " %s", shown(row->max_deg, 1));
        }
        printf(omo_word("%-16s affected: %-10s %s\n"), person,
               who != NULL && who->affected_side[0] ? omo_people_side(who->affected_side)
                                                    : "-",
               line);
    }
}

/* ---- the sheet's parts ------------------------------------------------------------ */

static void print_who(const struct omo_person_tables *tables, const char *person)
{
    const struct omo_person_row *who = omo_person_who(tables, person);
    const struct omo_sheet_row *programme = omo_person_fact(tables, person, "programme");
    const char *arms = omo_person_value(tables, person, "arms");
    const char *weight = omo_person_value(tables, person, "weight");
    const char *mark = omo_person_value(tables, person, "mark");

    printf("%s\n", person);
    if (who == NULL)
        puts(omo_word("  Not in the list yet; --add puts this person there."));
    else {
        if (who->birth_year >= 0)
            printf(omo_word("  born in %d\n"), who->birth_year);
        if (who->sex[0])
            printf(omo_word("  sex: %s\n"), omo_people_word(who->sex));
        if (isfinite(who->height_cm))
            printf(omo_word("  height: %ld cm\n"), lround(who->height_cm));
        if (who->dominant_side[0])
            printf(omo_word("  dominant: %s\n"), omo_people_side(who->dominant_side));
        printf(omo_word("  affected: %s\n"), who->affected_side[0]
                                                 ? omo_people_side(who->affected_side)
                                                 : omo_word("not entered"));
    }
    if (programme != NULL)
        printf(omo_word("  programme: %s (%s)\n"), programme->value, programme->note);
    else
        puts(omo_word("  programme: none chosen"));
    if (arms[0])
        printf("%s\n", strcmp(arms, "both") == 0
                           ? omo_word("  measured in this course: both arms at once")
                           : omo_word("  measured in this course: one arm at a time"));
    if (mark[0] && strcmp(mark, "none") != 0)
        printf(omo_word("  mark: %s\n"), mark);
    if (weight[0] && strcmp(weight, "none") != 0)
        printf(omo_word("  hand weight: allowed up to %s kg\n"), weight);
    else
        puts(omo_word("  hand weight: not allowed"));
}

static void print_limits(const struct omo_person_tables *tables, const char *person,
                         const char *today)
{
    g_autoptr(GPtrArray) limits = omo_person_limits(tables, person);

    puts(omo_word("\nLimits (in force until they are renewed or withdrawn)"));
    if (limits->len == 0)
        puts(omo_word("  none set"));
    for (guint i = 0; i < limits->len; i++) {
        const struct omo_limit_row *limit = g_ptr_array_index(limits, i);
        char text[160];

        omo_limit_text(limit, text, sizeof text);
        printf(omo_limit_expired(limit, today)
                   ? omo_word("  %s, %s: %s; set by %s - EXPIRED, still in force; renew "
                              "or withdraw it\n")
                   : omo_word("  %s, %s: %s; set by %s\n"),
               omo_limit_movement(limit->movement), omo_people_side(limit->side), text,
               limit->set_by);
    }
}

static void print_ticks(const struct omo_person_tables *tables, const char *person)
{
    const struct omo_area *area;
    int count = 0;

    puts(omo_word("\nHistory"));
    for (int bit = 0; omo_history_name(bit) != NULL; bit++) {
        if (!omo_people_says_yes(tables, person, "history", omo_history_name(bit)))
            continue;
        printf("  %s\n", omo_word(omo_history_words(bit)));
        count++;
    }
    if (count == 0)
        puts(omo_word("  nothing entered"));
    puts(omo_word("\nTaught in person"));
    count = 0;
    for (int i = 0; (area = omo_area_at(i)) != NULL; i++) {
        if (!area->taught || !omo_people_says_yes(tables, person, "taught", area->name))
            continue;
        printf("  %s\n", omo_word(area->words));
        count++;
    }
    if (count == 0)
        puts(omo_word("  nothing that has to be"));
    count = 0;
    for (char item[] = "activity:1"; item[9] <= '3'; item[9]++) {
        const char *words = omo_person_value(tables, person, item);

        if (words[0] == '\0')
            continue;
        if (count++ == 0)
            puts(omo_word("\nActivities of their own choosing"));
        printf("  %c. %s\n", item[9], words);
    }
}

static enum omo_status print_percents(const struct omo_person_tables *tables,
                                      const char *person)
{
    struct omo_overview_percent percent[PERCENTS_MOST];
    const char *affected = omo_person_affected(tables, person);
    struct omo_progress *progress = NULL;
    enum omo_status status =
        omo_progress_read(tables->record, &(struct omo_progress_filter){.person = person},
                          NULL, &progress);

    if (status != OMO_OK)
        return status;
    size_t count = omo_overview_percents(progress, affected,
                                         omo_person_value(tables, person, "arms"),
                                         percent, PERCENTS_MOST);
    puts(omo_word("\nPercent of the other side, least first"));
    if (!strcmp(affected, "both"))
        puts(omo_word("  Left blank: both sides are affected, so that neither is a "
                      "measure for the other."));
    else if (!affected[0])
        puts(omo_word("  Left blank until it is known which side is affected "
                      "(--affected)."));
    else if (count == 0)
        puts(omo_word("  No movement has been measured on both sides yet."));
    for (size_t i = 0; i < count; i++) {
        const struct omo_session_row *row = omo_progress_newest(percent[i].affected)->row;

        printf(omo_word("  %s: %s %% (%s of %s degrees)\n"),
               omo_movement_words(row->movement), shown(percent[i].percent, 0),
               shown(percent[i].affected_deg, 1), shown(percent[i].other_deg, 1));
    }
    omo_progress_free(progress);
    return OMO_OK;
}

static bool same_kind(const struct omo_past *a, const struct omo_past *b)
{
    return strcmp(a->movement, b->movement) == 0 && strcmp(a->side, b->side) == 0 &&
           strcmp(a->mode, b->mode) == 0;
}

static void print_past(const struct omo_past *past)
{
    char text[200] = "";

    if (isfinite(past->mean_of_maxima_deg))
        omo_text_add(text, sizeof text, omo_word("  mean of the maxima %s"),
                     shown(past->mean_of_maxima_deg, 1));
    if (isfinite(past->max_deg))
        omo_text_add(text, sizeof text, omo_word("  highest %s"),
                     shown(past->max_deg, 1));
    if (isfinite(past->u95_deg))
        omo_text_add(text, sizeof text, omo_word(" (good to %s)"),
                     shown(past->u95_deg, 1));
    if (isfinite(past->pain_at_max))
        omo_text_add(text, sizeof text, omo_word("  pain there %s"),
                     shown(past->pain_at_max, 0));
    if (isfinite(past->pain_after))
        omo_text_add(text, sizeof text, omo_word("  pain after %s"),
                     shown(past->pain_after, 0));
    printf("    %s%s\n", past->date, text);
}

static void print_sessions(const struct omo_person_tables *tables, const char *person,
                           const struct omo_person_state *state)
{
    g_autoptr(GPtrArray) sessions = omo_person_sessions(tables, person);
    const char *arms = omo_person_value(tables, person, "arms");
    int others = 0;

    puts(omo_word("\nLast sessions, degrees"));
    if (state->past_count == 0)
        puts(omo_word("  none yet"));
    for (size_t i = 0; i < state->past_count; i++) {
        const struct omo_past *first = &state->past[i];
        int shown = 0;
        size_t before = 0;

        while (before < i && !same_kind(&state->past[before], first))
            before++;
        if (before < i)
            continue; /* its heading stands above */
        printf("  %s, %s, %s\n", omo_movement_words(first->movement),
               omo_people_side(first->side), omo_people_word(first->mode));
        for (size_t k = i; k < state->past_count && shown < SESSIONS_SHOWN; k++) {
            if (same_kind(&state->past[k], first)) {
                print_past(&state->past[k]);
                shown++;
            }
        }
    }
    for (guint i = 0; i < sessions->len; i++) {
        const struct omo_session_row *row = g_ptr_array_index(sessions, i);

        others += arms[0] && row->arms[0] && strcmp(arms, row->arms) != 0;
    }
    if (others > 0)
        printf(omo_word("  %d measured with the other protocol are left out here.\n"),
               others);
}

static void print_steps(const struct omo_person_tables *tables, const char *person)
{
    g_autoptr(GPtrArray) steps = omo_person_steps(tables, person);

    puts(omo_word("\nSteps of the programme"));
    if (steps->len == 0)
        puts(omo_word("  none yet"));
    for (guint i = 0; i < steps->len && i < STEPS_SHOWN; i++) {
        const struct omo_step_row *step = g_ptr_array_index(steps, i);
        const struct omo_area *area = omo_area_find(step->area);
        char text[400] = "", day[16];

        omo_date_of(step->started, day);
        omo_text_add(text, sizeof text, "  %s  %s", day,
                     step->step[0] ? step->step : omo_word("the whole session"));
        if (area != NULL)
            omo_text_add(text, sizeof text, ", %s", omo_word(area->words));
        if (step->movement[0])
            omo_text_add(text, sizeof text, ", %s", omo_movement_words(step->movement));
        if (step->side[0])
            omo_text_add(text, sizeof text, ", %s", omo_people_side(step->side));
        if (step->result[0])
            omo_text_add(text, sizeof text, ": %s", omo_people_word(step->result));
        if (step->clockwise >= 0 && step->counter_clockwise >= 0)
            omo_text_add(text, sizeof text, omo_word(", circles %d and %d"),
                         step->clockwise, step->counter_clockwise);
        if (isfinite(step->diameter_cm))
            omo_text_add(text, sizeof text, omo_word(", %s cm wide"),
                         shown(step->diameter_cm, 0));
        if (isfinite(step->held_s))
            omo_text_add(text, sizeof text, omo_word(", stayed %s s"),
                         shown(step->held_s, 0));
        if (isfinite(step->stop_deg))
            omo_text_add(text, sizeof text, omo_word(", stopped at %s degrees"),
                         shown(step->stop_deg, 1));
        if (isfinite(step->pain_most))
            omo_text_add(text, sizeof text, omo_word(", most pain %s"),
                         shown(step->pain_most, 0));
        if (step->reason[0])
            omo_text_add(text, sizeof text, " (%s)", step->reason);
        puts(text);
    }
}

static void print_notes(const struct omo_person_tables *tables, const char *person)
{
    g_autoptr(GPtrArray) notes = omo_person_notes(tables, person);

    puts(omo_word("\nNotes and answers"));
    if (notes->len == 0)
        puts(omo_word("  none yet"));
    for (guint i = 0; i < notes->len && i < NOTES_SHOWN; i++) {
        const struct omo_note_row *note = g_ptr_array_index(notes, i);
        char text[800] = "", day[16];

        omo_date_of(note->written, day);
        omo_text_add(text, sizeof text, "  %s  %s", day, note->item);
        if (note->side[0])
            omo_text_add(text, sizeof text, ", %s", omo_people_side(note->side));
        if (note->detail[0])
            omo_text_add(text, sizeof text, " (%s)", note->detail);
        if (isfinite(note->value))
            omo_text_add(text, sizeof text, ": %s%s%s",
                         shown(note->value, floor(note->value) < note->value ? 1 : 0),
                         note->unit[0] ? " " : "", note->unit);
        if (note->text[0])
            omo_text_add(text, sizeof text, ": %s", note->text);
        puts(text);
    }
}

enum omo_status omo_people_print_sheet(const struct omo_person_tables *tables,
                                       const char *person, const char *today)
{
    struct omo_person_state state;
    enum omo_status status = omo_person_state_read(tables, person, today, &state);

    if (status != OMO_OK)
        return status;
    print_who(tables, person);
    print_limits(tables, person, today);
    print_ticks(tables, person);
    status = print_percents(tables, person);
    if (status != OMO_OK) {
        omo_person_state_free(&state);
        return status;
    }
    print_sessions(tables, person, &state);
    print_steps(tables, person);
    print_notes(tables, person);
    omo_person_state_free(&state);
    return OMO_OK;
}
