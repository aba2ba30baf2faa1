/* The lists of a report: who, how, notation, pain and compensation, what was done, and
 * what the numbers cannot say. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/course_view.h"
#include "app/course_words.h"
#include "app/people.h"
#include "app/report_content.h"
#include "omogon/motion.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define DAYS_WOKEN 14

static bool in_time(const struct omo_report_wish *wish, const char *time)
{
    return (!wish->from || strncmp(time, wish->from, 10) >= 0) &&
           (!wish->to || strncmp(time, wish->to, 10) <= 0);
}

/* ---- who ----------------------------------------------------------------------------
 */

static void fill_who(const struct omo_person_tables *tables,
                     const struct omo_report_wish *wish, struct omo_report *report)
{
    struct omo_report_list *list = omo_report_list(report, omo_word("Who"));
    const struct omo_person_row *who = omo_person_who(tables, wish->person);
    char line[400] = "";
    omo_text_add(line, sizeof line, omo_word("Pseudonym: %s."),
                 wish->person[0] ? wish->person : "-");
    long long year = strtoll(wish->today, NULL, 10);
    if (who && who->birth_year > 0 && year >= who->birth_year)
        omo_text_add(line, sizeof line, omo_word(" Age: %lld or %lld."),
                     MAX(year - who->birth_year - 1, 0), year - who->birth_year);
    if (who && who->sex[0])
        omo_text_add(line, sizeof line, omo_word(" Sex: %s."), omo_people_word(who->sex));
    omo_report_line(list, "%s", line);
    line[0] = '\0';
    omo_text_add(line, sizeof line, omo_word("Affected: %s."),
                 who && who->affected_side[0] ? omo_people_side(who->affected_side)
                                              : omo_word("not entered"));
    if (who && who->dominant_side[0])
        omo_text_add(line, sizeof line, omo_word(" Dominant: %s."),
                     omo_people_side(who->dominant_side));
    omo_report_line(list, "%s", line);
    for (char item[] = "activity:1"; item[9] <= '3'; item[9]++) {
        const char *words = omo_person_value(tables, wish->person, item);
        if (words[0])
            omo_report_line(list, omo_word("Own activity: %s"), words);
    }
}

/* ---- how it was measured ------------------------------------------------------------
 */

static const char *view_words(const char *view)
{
    if (!strcmp(view, "front"))
        return omo_word("from the front");
    if (!strcmp(view, "side"))
        return omo_word("from the side");
    if (!strcmp(view, "along-arm"))
        return omo_word("along the arm");
    return view;
}

static const char *placement_words(const char *placement)
{
    if (!strcmp(placement, "skin"))
        return omo_word("the skin");
    if (!strcmp(placement, "band"))
        return omo_word("bands");
    if (!strcmp(placement, "sleeve"))
        return omo_word("a sleeve");
    return placement[0] ? placement : "?";
}

static const struct omo_set_up_row *set_up_of(const struct omo_person_tables *tables,
                                              const char *id)
{
    const struct omo_table *table = tables->table[OMO_TABLE_SET_UPS];
    for (size_t i = omo_table_count(table); id[0] && i-- > 0;) {
        const struct omo_set_up_row *row = omo_table_row(table, i);
        if (!strcmp(row->id, id))
            return row;
    }
    return NULL;
}

/** Adds a line that is not there yet; takes it over. */
static void add_once(GPtrArray *lines, char *line)
{
    if (g_ptr_array_find_with_equal_func(lines, line, g_str_equal, NULL))
        g_free(line);
    else
        g_ptr_array_add(lines, line);
}

/** Camera, markers and version, as set-ups.csv has them. */
static void add_set_up(const struct omo_person_tables *tables,
                       const struct omo_session_row *row, GPtrArray *lines)
{
    const struct omo_set_up_row *set_up = set_up_of(tables, row->set_up);
    if (set_up)
        add_once(lines,
                 g_strdup_printf(omo_word("Set-up: %s, %d x %d, markers %s, omogon %s."),
                                 set_up->camera, set_up->picture_width_px,
                                 set_up->picture_height_px, set_up->colours,
                                 row->version));
}

static void add_view(const struct omo_session_row *row, GPtrArray *lines)
{
    add_once(lines,
             g_strdup_printf(omo_word("Camera %s, %s, %s; markers on %s."),
                             view_words(row->view), omo_course_word(row->position),
                             strcmp(row->arms, "both") ? omo_word("one arm at a time")
                                                       : omo_word("both arms at once"),
                             placement_words(row->placement)));
}

/** Set-ups first: what was measured from where can be told from the movements. */
static void fill_how(const struct omo_person_tables *tables,
                     const struct omo_progress *progress, struct omo_report *report)
{
    struct omo_report_list *list =
        omo_report_list(report, omo_word("How it was measured"));
    g_autoptr(GPtrArray) lines = g_ptr_array_new_with_free_func(g_free);
    size_t count = omo_progress_count(progress);
    bool charts = false;
    omo_report_line(list, "%s",
                    omo_word(
                        "Angles between upper arm and trunk in the camera's picture, "
                        "from coloured markers; 0 is the arm along the trunk. "
                        "Rotations: 0 is the forearm straight ahead. \"Good to\" is "
                        "the expanded uncertainty (k = 2)."));
    for (size_t k = 0; k < count; k++)
        charts |= omo_progress_at(progress, k)->count > 1;
    if (charts)
        omo_report_line(list, "%s", omo_chart_signs());
    for (size_t k = 0; k < count; k++)
        add_set_up(tables, omo_progress_newest(omo_progress_at(progress, k))->row, lines);
    for (size_t k = 0; k < count; k++)
        add_view(omo_progress_newest(omo_progress_at(progress, k))->row, lines);
    for (guint k = 0; k < lines->len; k++)
        omo_report_line(list, "%s", (const char *)g_ptr_array_index(lines, k));
    omo_report_list_close(list);
}

/* ---- notation -----------------------------------------------------------------------
 */

/** Published ranges of the courses that have one, as many as find room. */
static void add_ranges(const struct omo_progress *progress,
                       const struct omo_course_ranges *ranges,
                       struct omo_report_list *list)
{
    unsigned matched = 0, without_room = 0;
    for (size_t k = 0; k < omo_progress_count(progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(progress, k);
        const struct omo_reference_value *value = omo_course_range(ranges, course);
        char what[128];
        if (!value)
            continue;
        matched++;
        /* The last line is kept for how many are missing. */
        if (list->lines->len + 1 >= OMO_REPORT_LINES) {
            without_room++;
            continue;
        }
        omo_course_short(omo_progress_newest(course)->row, what, sizeof what);
        g_autofree char *words = omo_course_range_words(value);
        omo_report_line(list, "%s: %s; %s.", what, words, value->source);
    }
    if (matched == 0)
        omo_report_line(
            list, "%s",
            omo_word("There is no matching published range: movement, position, help, "
                     "reference, age and sex all have to be the same."));
    else if (without_room > 0)
        omo_report_line(list, omo_word("Published ranges without room here: %u."),
                        without_room);
}

static void fill_notation(const struct omo_progress *progress,
                          const struct omo_course_ranges *ranges,
                          const struct omo_report_wish *wish, struct omo_report *report)
{
    static const char *const sides[] = {"right", "left"};
    struct omo_report_list *list = omo_report_list(
        report, omo_word("Neutral Zero Method and SFTR, active; published ranges"));
    for (size_t s = 0; s < G_N_ELEMENTS(sides); s++) {
        g_autofree char *words =
            omo_course_pairs_words(progress, NULL, sides[s], "active");
        if (words)
            omo_report_line(list, "%s: %s.", omo_people_side(sides[s]), words);
    }
    if (list->lines->len == 0)
        omo_report_line(list, "%s",
                        wish->movement
                            ? omo_word("Needs both directions of a pair; this report is "
                                       "of one movement alone.")
                            : omo_word("Needs both directions of a pair, for example "
                                       "flexion and extension; not measured yet."));
    add_ranges(progress, ranges, list);
}

/* ---- pain and compensation ----------------------------------------------------------
 */

static void add_stops(const struct omo_progress *progress, struct omo_report_list *list)
{
    static const char *const names[] = {"stiff", "pain", "weak"};
    int count[G_N_ELEMENTS(names)] = {0};
    for (size_t k = 0; k < omo_progress_count(progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(progress, k);
        for (size_t i = 0; i < course->count; i++)
            for (size_t n = 0; n < G_N_ELEMENTS(names); n++)
                count[n] += !strcmp(course->sessions[i].row->stopped_by, names[n]);
    }
    if (count[0] + count[1] + count[2] > 0)
        omo_report_line(list,
                        omo_word("Why movements stopped: stiff %d, pain %d, weak %d."),
                        count[0], count[1], count[2]);
}

static void add_nights(const struct omo_person_tables *tables,
                       const struct omo_report_wish *wish, struct omo_report_list *list)
{
    g_autoptr(GPtrArray) notes = omo_person_notes(tables, wish->person);
    int asked = 0, woken = 0;
    for (guint i = 0; i < notes->len && asked < DAYS_WOKEN; i++) {
        const struct omo_note_row *note = g_ptr_array_index(notes, i);
        if (strcmp(note->item, "woken") || !in_time(wish, note->written))
            continue;
        asked++;
        woken += note->value > 0;
    }
    if (asked > 0)
        omo_report_line(list,
                        omo_word("Woken by the shoulder: %d of the last %d nights "
                                 "that were asked about."),
                        woken, asked);
}

static void fill_compensation(const struct omo_person_tables *tables,
                              const struct omo_progress *progress,
                              const GPtrArray *courses,
                              const struct omo_report_wish *wish,
                              struct omo_report *report)
{
    struct omo_report_list *list =
        omo_report_list(report, omo_word("Pain and compensation"));
    add_stops(progress, list);
    add_nights(tables, wish, list);
    for (guint k = 0; k < courses->len; k++) {
        const struct omo_session_row *row =
            omo_progress_newest(g_ptr_array_index(courses, k))->row;
        char line[300] = "", what[128];
        if (!isfinite(row->hike_at_max_ratio))
            continue;
        omo_course_short(row, what, sizeof what);
        omo_text_add(line, sizeof line,
                     omo_word("%s, highest: shoulder raised by %s %% of the upper arm"),
                     what, omo_report_number(100 * row->hike_at_max_ratio, 0));
        if (isfinite(row->lean_at_max_deg))
            omo_text_add(line, sizeof line, omo_word(", trunk leaning %s degrees"),
                         omo_report_number(row->lean_at_max_deg, 0));
        if (isfinite(row->pain_onset_deg))
            omo_text_add(line, sizeof line, omo_word(", pain began at %s degrees"),
                         omo_report_number(row->pain_onset_deg, 0));
        omo_report_line(list, "%s.", line);
    }
    if (list->lines->len == 0)
        omo_report_line(list, "%s", omo_word("Nothing was written down."));
    omo_report_list_close(list);
}

/* ---- what was done ------------------------------------------------------------------
 */

static void fill_done(const struct omo_person_tables *tables,
                      const struct omo_report_wish *wish, struct omo_report *report)
{
    static const struct {
        const char *kind, *words;
    } kinds[] = {{"press", OMO_WORD("press and rest")},
                 {"pendulum", OMO_WORD("pendulum")},
                 {"stay", OMO_WORD("reach and rest")},
                 {"measure", OMO_WORD("measured")}};
    struct omo_report_list *list = omo_report_list(report, omo_word("What was done"));
    g_autoptr(GPtrArray) steps = omo_person_steps(tables, wish->person);
    g_autoptr(GString) line = g_string_new(NULL);
    for (size_t n = 0; n < G_N_ELEMENTS(kinds); n++) {
        int count = 0;
        for (guint i = 0; i < steps->len; i++) {
            const struct omo_step_row *step = g_ptr_array_index(steps, i);
            bool done = !strcmp(step->result, "done") || !strcmp(step->result, "part");
            count += done && !strcmp(step->kind, kinds[n].kind) &&
                     in_time(wish, step->started);
        }
        if (count > 0) {
            g_string_append_printf(line, "%s%s %d", line->len ? ", " : "",
                                   omo_word(kinds[n].words), count);
        }
    }
    if (line->len)
        omo_report_line(list, omo_word("Steps of a programme: %s."), line->str);
    else
        omo_report_line(list, "%s", omo_word("No step of a programme was written down."));
}

static void fill_limits_of_numbers(int left_out, int charts_left_out,
                                   const struct omo_report_wish *wish,
                                   struct omo_report *report)
{
    struct omo_report_list *list =
        omo_report_list(report, omo_word("What these numbers cannot say"));
    omo_report_line(list, "%s",
                    omo_word("One camera sees an angle in its picture, no movement in "
                             "three dimensions and no cause. A small change may be "
                             "measuring error; a published range speaks of the people "
                             "who were measured for it."));
    omo_report_line(list, "%s",
                    omo_word("Stop at pain. See a doctor at once for chest pain, a hot, "
                             "swollen, injured or suddenly weak or numb arm, or fever. "
                             "Follow the rules of your country."));
    if (left_out > 0)
        omo_report_line(list,
                        omo_word(
                            "Left out for want of room: %d further courses; \"omogon "
                            "progress --person %s\" has them."),
                        left_out, wish->person);
    if (charts_left_out > 0)
        omo_report_line(list,
                        omo_word(
                            "Charts without room here: %d; \"omogon progress --person "
                            "%s --chart course.pdf\" draws them."),
                        charts_left_out, wish->person);
}

void omo_report_fill_lists(const struct omo_person_tables *tables,
                           const struct omo_progress *progress, const GPtrArray *courses,
                           const struct omo_course_ranges *ranges,
                           const struct omo_report_wish *wish, int left_out,
                           int charts_left_out, struct omo_report *report)
{
    fill_who(tables, wish, report);
    fill_notation(progress, ranges, wish, report);
    fill_how(tables, progress, report);
    fill_compensation(tables, progress, courses, wish, report);
    fill_done(tables, wish, report);
    fill_limits_of_numbers(left_out, charts_left_out, wish, report);
}
