#include <glib.h>
#include <math.h>
#include <string.h>

#include "app/course_view.h"
#include "app/overview_parts.h"
#include "omogon/programme.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define NIGHTS_MOST 14
#define STEPS_DAYS  28

void omo_overview_nights(const struct overview_reading *r,
                         struct omo_overview_section *section)
{
    int asked = 0, woken = 0;
    char day[16] = "";
    section->none = omo_word("not asked about yet");
    for (guint i = 0; i < r->notes->len && asked < NIGHTS_MOST; i++) {
        const struct omo_note_row *note = g_ptr_array_index(r->notes, i);
        if (strcmp(note->item, "woken") != 0)
            continue;
        if (asked++ == 0)
            omo_date_of(note->written, day);
        woken += note->value > 0;
    }
    if (asked == 0)
        return;
    struct omo_overview_item *item = omo_overview_add(section);
    omo_text_copy(item->what, sizeof item->what, omo_word("woken by the shoulder"));
    omo_text_add(item->text, sizeof item->text, omo_word("%d of %d nights asked about"),
                 woken, asked);
    omo_text_copy(item->day, sizeof item->day, day);
    item->rows = asked;
    omo_overview_number(item, "woken", woken);
    omo_overview_number(item, "asked", asked);
}

/** Days between two dates; NAN when one is none. */
static double days_between(const char *from, const char *to)
{
    g_autofree char *a = g_strconcat(from, "T00:00:00Z", NULL);
    g_autofree char *b = g_strconcat(to, "T00:00:00Z", NULL);
    g_autoptr(GDateTime) first = g_date_time_new_from_iso8601(a, NULL);
    g_autoptr(GDateTime) last = g_date_time_new_from_iso8601(b, NULL);
    if (!first || !last)
        return NAN;
    return (double)g_date_time_difference(last, first) / (double)G_TIME_SPAN_DAY;
}

static bool was_done(const struct omo_step_row *step)
{
    return step->step[0] &&
           (!strcmp(step->result, "done") || !strcmp(step->result, "part"));
}

void omo_overview_steps(const struct overview_reading *r,
                        struct omo_overview_section *section)
{
    static const struct {
        const char *kind, *words;
    } kinds[] = {{"press", OMO_WORD("press and rest")},
                 {"pendulum", OMO_WORD("pendulum")},
                 {"stay", OMO_WORD("reach and rest")},
                 {"measure", OMO_WORD("measured")}};
    section->none = omo_word("none done in the last 28 days");
    for (size_t n = 0; n < G_N_ELEMENTS(kinds); n++) {
        int count = 0;
        char newest[16] = "";
        for (guint i = 0; i < r->steps->len; i++) {
            const struct omo_step_row *step = g_ptr_array_index(r->steps, i);
            char day[16];
            omo_date_of(step->started, day);
            if (!was_done(step) || strcmp(step->kind, kinds[n].kind) != 0 ||
                !(days_between(day, r->today) < STEPS_DAYS))
                continue;
            if (count++ == 0)
                omo_text_copy(newest, sizeof newest, day);
        }
        if (count == 0)
            continue;
        struct omo_overview_item *item = omo_overview_add(section);
        omo_text_copy(item->what, sizeof item->what, omo_word(kinds[n].words));
        omo_text_add(item->text, sizeof item->text, omo_word("%d in the last %d days"),
                     count, STEPS_DAYS);
        omo_text_copy(item->day, sizeof item->day, newest);
        item->rows = count;
        omo_overview_number(item, "steps", count);
    }
}

/** "upper back, right" */
static void name_item(struct omo_overview_item *item, const char *what,
                      const struct omo_step_row *step)
{
    omo_text_copy(item->what, sizeof item->what, what);
    if (step->side[0])
        omo_text_add(item->what, sizeof item->what, ", %s", omo_course_word(step->side));
    omo_date_of(step->started, item->day);
}

static void tenderness_of(const struct overview_reading *r,
                          struct omo_overview_section *section,
                          const struct omo_area *area, const char *side)
{
    struct omo_overview_item *item = NULL;
    for (guint i = 0; i < r->steps->len; i++) {
        const struct omo_step_row *step = g_ptr_array_index(r->steps, i);
        if (strcmp(step->area, area->name) != 0 || strcmp(step->side, side) != 0 ||
            !isfinite(step->tenderness_before))
            continue;
        if (item) {
            item->rows++;
            continue;
        }
        item = omo_overview_add(section);
        name_item(item, omo_word(area->words), step);
        omo_text_add(item->text, sizeof item->text, omo_word("before %s, after %s"),
                     omo_overview_shown(step->tenderness_before, 0),
                     isfinite(step->tenderness_after)
                         ? omo_overview_shown(step->tenderness_after, 0)
                         : omo_word("not told"));
        omo_overview_number(item, "tenderness_before", step->tenderness_before);
        omo_overview_number(item, "tenderness_after", step->tenderness_after);
    }
}

/* A step's side may be missing in rows that were written by hand. */
static const char *const sides[] = {"left", "right", ""};

void omo_overview_tenderness(const struct overview_reading *r,
                             struct omo_overview_section *section)
{
    const struct omo_area *area;
    section->none = omo_word("not asked about yet");
    for (int n = 0; (area = omo_area_at(n)); n++)
        for (size_t s = 0; s < G_N_ELEMENTS(sides); s++)
            tenderness_of(r, section, area, sides[s]);
}

static void pendulum_of(const struct overview_reading *r,
                        struct omo_overview_section *section, const char *side)
{
    struct omo_overview_item *item = NULL;
    double first_cm = NAN, newest_cm = NAN;
    for (guint i = 0; i < r->steps->len; i++) {
        const struct omo_step_row *step = g_ptr_array_index(r->steps, i);
        if (strcmp(step->kind, "pendulum") != 0 || strcmp(step->side, side) != 0 ||
            !isfinite(step->diameter_cm))
            continue;
        first_cm = step->diameter_cm; /* the last one seen is the oldest */
        if (item) {
            item->rows++;
            continue;
        }
        item = omo_overview_add(section);
        newest_cm = step->diameter_cm;
        name_item(item, omo_word("circles"), step);
    }
    if (!item)
        return;
    omo_text_add(item->text, sizeof item->text, omo_word("%s cm wide, at first %s cm"),
                 omo_overview_shown(newest_cm, 0), omo_overview_shown(first_cm, 0));
    omo_overview_number(item, "diameter_cm", newest_cm);
    omo_overview_number(item, "first_diameter_cm", first_cm);
}

void omo_overview_pendulum(const struct overview_reading *r,
                           struct omo_overview_section *section)
{
    section->none = omo_word("not measured yet");
    for (size_t s = 0; s < G_N_ELEMENTS(sides); s++)
        pendulum_of(r, section, sides[s]);
}

void omo_overview_activities(const struct overview_reading *r,
                             struct omo_overview_section *section)
{
    section->none = omo_word("none chosen yet (omogon people --activity)");
    for (int n = 1; n <= 3; n++) {
        g_autofree char *fact = g_strdup_printf("activity:%d", n);
        g_autofree char *score = g_strdup_printf("activity-%d", n);
        const char *words = omo_person_value(r->tables, r->person, fact);
        double newest = NAN, first = NAN;
        struct omo_overview_item *item;
        char day[16] = "";
        int rows = 0;
        for (guint i = 0; i < r->notes->len; i++) {
            const struct omo_note_row *note = g_ptr_array_index(r->notes, i);
            if (strcmp(note->item, score) != 0 || !isfinite(note->value))
                continue;
            first = note->value;
            if (rows++ == 0) {
                newest = note->value;
                omo_date_of(note->written, day);
            }
        }
        if (!words[0] && rows == 0)
            continue;
        item = omo_overview_add(section);
        omo_text_add(item->what, sizeof item->what, "%d. %s", n, words);
        if (rows > 0)
            omo_text_add(item->text, sizeof item->text, omo_word("%s of 10, at first %s"),
                         omo_overview_shown(newest, 0), omo_overview_shown(first, 0));
        else
            omo_text_copy(item->text, sizeof item->text, omo_word("not asked about yet"));
        omo_text_copy(item->day, sizeof item->day, day);
        item->rows = rows;
        omo_overview_number(item, "score", newest);
        omo_overview_number(item, "first_score", first);
    }
}
