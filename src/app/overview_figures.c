#include <math.h>
#include <string.h>

#include "app/course_view.h"
#include "app/overview_parts.h"
#include "app/person_state.h"
#include "omogon/motion.h"
#include "omogon/overview.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define PERCENTS 16

const char *omo_overview_shown(double value, int decimals)
{
    static char text[8][32];
    static int next;
    next = (next + 1) % 8;
    omo_number_text(value, decimals, text[next], sizeof text[next]);
    return text[next];
}

struct omo_overview_item *omo_overview_add(struct omo_overview_section *section)
{
    g_array_set_size(section->items, section->items->len + 1);
    struct omo_overview_item *item =
        &g_array_index(section->items, struct omo_overview_item, section->items->len - 1);
    *item = (struct omo_overview_item){.rows = 1};
    return item;
}

void omo_overview_number(struct omo_overview_item *item, const char *key, double value)
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
    struct omo_overview_item *item = omo_overview_add(section);
    const struct omo_session_row *row = omo_progress_newest(course)->row;
    omo_course_short(row, item->what, sizeof item->what);
    if (row->mode[0] && strcmp(row->mode, "active") != 0)
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
    struct omo_overview_percent percent[PERCENTS];
    const char *affected = omo_person_affected(r->tables, r->person);
    size_t count = omo_overview_percents(r->progress, affected,
                                         omo_person_value(r->tables, r->person, "arms"),
                                         percent, PERCENTS);
    section->none = omo_word("no movement was measured alike on both sides yet");
    if (!strcmp(affected, "both"))
        section->none =
            omo_word("left blank: both sides are affected, so that neither is a "
                     "measure for the other");
    else if (!affected[0])
        section->none = omo_word("left blank until it is known which side is affected "
                                 "(omogon people --affected)");
    for (size_t i = 0; i < count; i++) {
        struct omo_overview_item *item = add_course(section, percent[i].affected);
        omo_date_of(omo_progress_newest(percent[i].other)->row->started, item->other_day);
        item->other_rows = (int)percent[i].other->count;
        omo_text_add(item->text, sizeof item->text, omo_word("%s %% (%s of %s degrees)"),
                     omo_overview_shown(percent[i].percent, 0),
                     omo_overview_shown(percent[i].affected_deg, 1),
                     omo_overview_shown(percent[i].other_deg, 1));
        omo_overview_number(item, "percent", percent[i].percent);
        omo_overview_number(item, "affected_deg", percent[i].affected_deg);
        omo_overview_number(item, "other_deg", percent[i].other_deg);
    }
}

static void fill_before_lift(const struct overview_reading *r,
                             struct omo_overview_section *section)
{
    section->none = omo_word("not measured yet, or the trunk was not seen");
    for (size_t k = 0; k < omo_progress_count(r->progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(r->progress, k);
        const struct omo_session_row *row = omo_progress_newest(course)->row;
        if (!isfinite(row->max_before_hike_deg) || !isfinite(row->max_deg))
            continue;
        struct omo_overview_item *item = add_course(section, course);
        omo_text_add(item->text, sizeof item->text,
                     omo_word("%s of %s degrees before the shoulder lifts"),
                     omo_overview_shown(row->max_before_hike_deg, 1),
                     omo_overview_shown(row->max_deg, 1));
        omo_overview_number(item, "max_before_hike_deg", row->max_before_hike_deg);
        omo_overview_number(item, "max_deg", row->max_deg);
    }
}

static void fill_stopped(const struct overview_reading *r,
                         struct omo_overview_section *section)
{
    section->none = omo_word("not asked about yet");
    for (size_t k = 0; k < omo_progress_count(r->progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(r->progress, k);
        struct omo_overview_stops stops = omo_overview_stops_of(course);
        if (stops.known == 0)
            continue;
        struct omo_overview_item *item = add_course(section, course);
        omo_text_add(item->text, sizeof item->text,
                     omo_word("stiff %d, pain %d, weak %d"), stops.stiff, stops.pain,
                     stops.weak);
        omo_overview_number(item, "stiff", stops.stiff);
        omo_overview_number(item, "pain", stops.pain);
        omo_overview_number(item, "weak", stops.weak);
    }
}

static void fill_onset(const struct overview_reading *r,
                       struct omo_overview_section *section)
{
    section->none = omo_word("not told yet");
    for (size_t k = 0; k < omo_progress_count(r->progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(r->progress, k);
        const struct omo_session_row *row = omo_progress_newest(course)->row;
        if (!isfinite(row->pain_onset_deg))
            continue;
        struct omo_overview_item *item = add_course(section, course);
        omo_text_add(item->text, sizeof item->text, omo_word("from %s of %s degrees on"),
                     omo_overview_shown(row->pain_onset_deg, 1),
                     omo_overview_shown(row->max_deg, 1));
        omo_overview_number(item, "pain_onset_deg", row->pain_onset_deg);
        omo_overview_number(item, "max_deg", row->max_deg);
        omo_overview_number(item, "pain_at_max", row->pain_at_max);
    }
}

static void fill_assisted(const struct overview_reading *r,
                          struct omo_overview_section *section)
{
    struct omo_care care;
    section->none = omo_word("no movement was measured in both ways yet");
    for (size_t k = 0; k < omo_progress_count(r->progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(r->progress, k);
        const struct omo_progress_course *other =
            omo_overview_assisted(r->progress, course);
        if (!other)
            continue;
        double active_deg = omo_progress_newest(course)->mean_deg;
        double assisted_deg = omo_progress_newest(other)->mean_deg;
        struct omo_overview_item *item = add_course(section, course);
        omo_date_of(omo_progress_newest(other)->row->started, item->other_day);
        item->other_rows = (int)other->count;
        omo_text_add(item->text, sizeof item->text,
                     omo_word("active %s, assisted %s degrees: %s apart"),
                     omo_overview_shown(active_deg, 1),
                     omo_overview_shown(assisted_deg, 1),
                     omo_overview_shown(assisted_deg - active_deg, 1));
        omo_overview_number(item, "active_deg", active_deg);
        omo_overview_number(item, "assisted_deg", assisted_deg);
        omo_overview_number(item, "difference_deg", assisted_deg - active_deg);
    }
    /* The same sentence that a session ends with. */
    if (omo_care_load(NULL, &care) == OMO_OK)
        omo_active_lags(&care, r->state, section->note, sizeof section->note);
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
        {"nights", omo_word("Nights"), omo_overview_nights},
        {"steps", omo_word("Steps done"), omo_overview_steps},
        {"tenderness", omo_word("Tenderness by area, 0 to 10"), omo_overview_tenderness},
        {"pendulum", omo_word("Pendulum"), omo_overview_pendulum},
        {"activities", omo_word("Activities of their own choosing"),
         omo_overview_activities},
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
