#include <math.h>
#include <string.h>

#include "app/course_view.h"
#include "app/overview_parts.h"
#include "app/person_state.h"
#include "omogon/motion.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define PERCENTS 16

const char *overview_shown(double value, int decimals)
{
    static char text[8][32];
    static int next;
    next = (next + 1) % 8;
    omo_number_text(value, decimals, text[next], sizeof text[next]);
    return text[next];
}

struct omo_overview_item *overview_add(struct omo_overview_section *section)
{
    g_array_set_size(section->items, section->items->len + 1);
    struct omo_overview_item *item =
        &g_array_index(section->items, struct omo_overview_item, section->items->len - 1);
    *item = (struct omo_overview_item){.rows = 1};
    return item;
}

void overview_number(struct omo_overview_item *item, const char *key, double value)
{
    for (int i = 0; i < OMO_OVERVIEW_NUMBERS; i++) {
        if (item->number[i].key)
            continue;
        item->number[i].key = key;
        item->number[i].value = value;
        return;
    }
}

/** An item about a course: its movement and side, its newest day, its sessions. */
static struct omo_overview_item *add_course(struct omo_overview_section *section,
                                            const struct omo_progress_course *course)
{
    struct omo_overview_item *item = overview_add(section);
    const struct omo_session_row *row = omo_progress_newest(course)->row;
    omo_course_short(row, item->what, sizeof item->what);
    if (strcmp(row->mode, "active") != 0)
        omo_text_add(item->what, sizeof item->what, ", %s", omo_course_word(row->mode));
    omo_date_of(row->started, item->day);
    item->rows = (int)course->count;
    return item;
}

/* ---- out of what was measured -------------------------------------------------------
 */

static void fill_percents(const struct overview_reading *r,
                          struct omo_overview_section *section)
{
    struct omo_percent percent[PERCENTS];
    int count = omo_percent_of_other(r->state, percent, PERCENTS);
    if (r->state->history & OMO_HISTORY_BOTH_SIDES)
        section->none =
            omo_word("left blank: both sides are affected, so that neither is a "
                     "measure for the other");
    else if (!r->state->affected_known)
        section->none = omo_word("left blank until it is known which side is affected "
                                 "(omogon people --affected)");
    for (int i = 0; i < count; i++) {
        struct omo_overview_item *item = overview_add(section);
        omo_text_copy(item->what, sizeof item->what,
                      omo_movement_words(percent[i].movement));
        omo_text_add(item->text, sizeof item->text, omo_word("%s %% (%s of %s degrees)"),
                     overview_shown(percent[i].percent, 0),
                     overview_shown(percent[i].affected_deg, 1),
                     overview_shown(percent[i].other_deg, 1));
        overview_number(item, "percent", percent[i].percent);
        overview_number(item, "affected_deg", percent[i].affected_deg);
        overview_number(item, "other_deg", percent[i].other_deg);
    }
}

static void fill_before_lift(const struct overview_reading *r,
                             struct omo_overview_section *section)
{
    for (size_t k = 0; k < omo_progress_count(r->progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(r->progress, k);
        const struct omo_session_row *row = omo_progress_newest(course)->row;
        if (!isfinite(row->max_before_hike_deg) || !isfinite(row->max_deg))
            continue;
        struct omo_overview_item *item = add_course(section, course);
        omo_text_add(item->text, sizeof item->text,
                     omo_word("%s of %s degrees before the shoulder lifts"),
                     overview_shown(row->max_before_hike_deg, 1),
                     overview_shown(row->max_deg, 1));
        overview_number(item, "max_before_hike_deg", row->max_before_hike_deg);
        overview_number(item, "max_deg", row->max_deg);
    }
}

static void fill_stopped(const struct overview_reading *r,
                         struct omo_overview_section *section)
{
    static const char *const names[] = {"stiff", "pain", "weak"};
    for (size_t k = 0; k < omo_progress_count(r->progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(r->progress, k);
        int count[G_N_ELEMENTS(names)] = {0};
        for (size_t i = 0; i < course->count; i++)
            for (size_t n = 0; n < G_N_ELEMENTS(names); n++)
                count[n] += !strcmp(course->sessions[i].row->stopped_by, names[n]);
        if (count[0] + count[1] + count[2] == 0)
            continue;
        struct omo_overview_item *item = add_course(section, course);
        omo_text_add(item->text, sizeof item->text,
                     omo_word("stiff %d, pain %d, weak %d"), count[0], count[1],
                     count[2]);
        for (size_t n = 0; n < G_N_ELEMENTS(names); n++)
            overview_number(item, names[n], count[n]);
    }
}

static void fill_onset(const struct overview_reading *r,
                       struct omo_overview_section *section)
{
    for (size_t k = 0; k < omo_progress_count(r->progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(r->progress, k);
        const struct omo_session_row *row = omo_progress_newest(course)->row;
        if (!isfinite(row->pain_onset_deg))
            continue;
        struct omo_overview_item *item = add_course(section, course);
        omo_text_add(item->text, sizeof item->text, omo_word("from %s of %s degrees on"),
                     overview_shown(row->pain_onset_deg, 1),
                     overview_shown(row->max_deg, 1));
        overview_number(item, "pain_onset_deg", row->pain_onset_deg);
        overview_number(item, "max_deg", row->max_deg);
        overview_number(item, "pain_at_max", row->pain_at_max);
    }
}

/** The newest course of another mode that is alike but for that. */
static const struct omo_progress_course *in_mode(const struct omo_progress *progress,
                                                 const struct omo_session_row *row,
                                                 const char *mode)
{
    for (size_t k = 0; k < omo_progress_count(progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(progress, k);
        const struct omo_session_row *one = course->sessions[0].row;
        if (!strcmp(one->movement, row->movement) && !strcmp(one->side, row->side) &&
            !strcmp(one->position, row->position) && !strcmp(one->view, row->view) &&
            !strcmp(one->arms, row->arms) && !strcmp(one->mode, mode))
            return course;
    }
    return NULL;
}

static void fill_assisted(const struct overview_reading *r,
                          struct omo_overview_section *section)
{
    for (size_t k = 0; k < omo_progress_count(r->progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(r->progress, k);
        const struct omo_progress_session *active = omo_progress_newest(course);
        if (strcmp(active->row->mode, "active") != 0)
            continue;
        const struct omo_progress_course *other =
            in_mode(r->progress, active->row, "assisted");
        if (!other)
            continue;
        double assisted_deg = omo_progress_newest(other)->mean_deg;
        struct omo_overview_item *item = add_course(section, course);
        omo_text_add(item->text, sizeof item->text,
                     omo_word("active %s, assisted %s degrees: %s apart"),
                     overview_shown(active->mean_deg, 1), overview_shown(assisted_deg, 1),
                     overview_shown(assisted_deg - active->mean_deg, 1));
        overview_number(item, "active_deg", active->mean_deg);
        overview_number(item, "assisted_deg", assisted_deg);
    }
}

/* ---- all of it ----------------------------------------------------------------------
 */

enum omo_status omo_overview_read(
    const struct omo_person_tables *tables, const char *person, const char *today,
    struct omo_overview_section sections[OMO_OVERVIEW_SECTIONS])
{
    const struct {
        const char *key, *title;
        void (*fill)(const struct overview_reading *r,
                     struct omo_overview_section *section);
    } all[OMO_OVERVIEW_SECTIONS] = {
        {"percent_of_other", omo_word("Percent of the other side, least first"),
         fill_percents},
        {"before_lift", omo_word("Before the shoulder lifts, against the whole"),
         fill_before_lift},
        {"stopped_by", omo_word("Why movements stopped"), fill_stopped},
        {"pain_began", omo_word("Where pain began"), fill_onset},
        {"active_assisted", omo_word("Active against assisted"), fill_assisted},
        {"nights", omo_word("Nights"), overview_nights},
        {"steps", omo_word("Steps done"), overview_steps},
        {"tenderness", omo_word("Tenderness by area, 0 to 10"), overview_tenderness},
        {"pendulum", omo_word("Pendulum"), overview_pendulum},
        {"activities", omo_word("Activities of their own choosing"), overview_activities},
    };
    struct omo_person_state state;
    struct omo_progress *progress = NULL;
    enum omo_status status = omo_person_state_read(tables, person, today, &state);
    if (status != OMO_OK)
        return status;
    status =
        omo_progress_read(tables->record, &(struct omo_progress_filter){.person = person},
                          NULL, &progress);
    if (status == OMO_OK) {
        struct overview_reading r = {.tables = tables,
                                     .person = person,
                                     .today = today,
                                     .progress = progress,
                                     .state = &state,
                                     .steps = omo_person_steps(tables, person),
                                     .notes = omo_person_notes(tables, person)};
        for (int i = 0; i < OMO_OVERVIEW_SECTIONS; i++) {
            sections[i] = (struct omo_overview_section){
                .key = all[i].key,
                .title = all[i].title,
                .none = omo_word("nothing written down yet"),
                .items = g_array_new(FALSE, TRUE, sizeof(struct omo_overview_item))};
            all[i].fill(&r, &sections[i]);
        }
        g_ptr_array_unref(r.steps);
        g_ptr_array_unref(r.notes);
        omo_progress_free(progress);
    }
    omo_person_state_free(&state);
    return status;
}

void omo_overview_free(struct omo_overview_section sections[OMO_OVERVIEW_SECTIONS])
{
    for (int i = 0; i < OMO_OVERVIEW_SECTIONS; i++)
        g_array_unref(sections[i].items);
}
