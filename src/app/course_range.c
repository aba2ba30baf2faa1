#include "app/course_range.h"

#include <math.h>
#include <string.h>

#include <glib.h>

#include "app/people.h"
#include "omogon/text.h"
#include "omogon/words.h"

void omo_course_ranges_open(const char *directory, struct omo_course_ranges *ranges)
{
    *ranges = (struct omo_course_ranges){.values = NULL};
    if (omo_references_load(NULL, &ranges->values) != OMO_OK)
        return;
    if (omo_table_open(directory, OMO_TABLE_PEOPLE, &ranges->people) != OMO_OK)
        ranges->people = NULL;
}

void omo_course_ranges_close(struct omo_course_ranges *ranges)
{
    omo_references_free(ranges->values);
    omo_table_close(ranges->people);
    memset(ranges, 0, sizeof *ranges);
}

/** The last row about a person counts. */
static const struct omo_person_row *who(const struct omo_table *people,
                                        const char *person)
{
    for (size_t i = omo_table_count(people); i > 0; i--) {
        const struct omo_person_row *row = omo_table_row(people, i - 1);
        if (!strcmp(row->person, person))
            return row;
    }
    return NULL;
}

const struct omo_reference_value *omo_course_range(
    const struct omo_course_ranges *ranges, const struct omo_progress_course *course)
{
    const struct omo_session_row *row = omo_progress_newest(course)->row;
    if (!ranges->values || !ranges->people)
        return NULL;
    return omo_reference_of(ranges->values, row, who(ranges->people, row->person));
}

static const char *sex_words(const char *sex)
{
    return strcmp(sex, "any") ? omo_people_word(sex) : omo_word("both sexes");
}

char *omo_course_range_words(const struct omo_reference_value *value)
{
    double low_deg, high_deg;
    char low[32], high[32];
    if (!value || !omo_reference_range(value, &low_deg, &high_deg))
        return g_strdup(omo_word("no matching published range"));
    omo_number_text(low_deg, 0, low, sizeof low);
    omo_number_text(high_deg, 0, high, sizeof high);
    return g_strdup_printf(
        isfinite(value->p5_deg)
            ? omo_word("published range: %s to %s degrees, nine of ten people (%s, aged "
                       "%d to %d)")
            : omo_word("published range: %s to %s degrees, 19 of 20 people (%s, aged %d "
                       "to %d)"),
        low, high, sex_words(value->sex), value->age_from, value->age_to);
}

char *omo_course_range_source(const struct omo_reference_value *value)
{
    return value ? g_strdup_printf(omo_word("its source: %s"), value->source) : NULL;
}

void omo_course_range_in(const struct omo_reference_value *value,
                         struct omo_course_view *view)
{
    double low_deg, high_deg;
    view->range[0] = '\0';
    if (!value || !omo_reference_range(value, &low_deg, &high_deg))
        return;
    view->chart.range_low_deg = low_deg;
    view->chart.range_high_deg = high_deg;
    if (!view->chart.small)
        omo_text_add(view->range, sizeof view->range, omo_word("%s, aged %d to %d; "),
                     sex_words(value->sex), value->age_from, value->age_to);
    omo_text_add(view->range, sizeof view->range, "%s", value->source);
    view->chart.range_source = view->range;
}
