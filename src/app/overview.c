#include "app/overview.h"

#include <math.h>
#include <stdio.h>

#include <cjson/cJSON.h>

#include "app/commands.h"
#include "app/pipeline.h"
#include "omogon/text.h"
#include "omogon/words.h"

static const struct omo_overview_item *item_at(const struct omo_overview_section *section,
                                               guint index)
{
    return &g_array_index(section->items, struct omo_overview_item, index);
}

void omo_overview_line(const struct omo_overview_item *item, char *out, size_t size)
{
    omo_text_add(out, size, "%s: %s", item->what, item->text);
    if (item->day[0] && item->other_day[0])
        omo_text_add(out, size,
                     omo_word("  [newest of %d: %s, against the newest of %d: %s]"),
                     item->rows, item->day, item->other_rows, item->other_day);
    else if (item->day[0])
        omo_text_add(out, size, omo_word("  [newest of %d: %s]"), item->rows, item->day);
}

static void print_section(const struct omo_overview_section *section)
{
    printf("\n%s\n", section->title);
    if (section->items->len == 0)
        printf("  %s\n", section->none);
    for (guint i = 0; i < section->items->len; i++) {
        char line[600] = "";
        omo_overview_line(item_at(section, i), line, sizeof line);
        printf("  %s\n", line);
    }
    if (section->note[0])
        printf("  %s\n", section->note);
}

static cJSON *section_json(const struct omo_overview_section *section)
{
    cJSON *array = cJSON_CreateArray();
    for (guint i = 0; i < section->items->len; i++) {
        const struct omo_overview_item *item = item_at(section, i);
        cJSON *object = cJSON_CreateObject();
        cJSON_AddStringToObject(object, "what", item->what);
        for (int n = 0; n < OMO_OVERVIEW_NUMBERS && item->number[n].key; n++) {
            char number[32];
            omo_number_text(item->number[n].value, 3, number, sizeof number);
            cJSON_AddItemToObject(object, item->number[n].key,
                                  cJSON_CreateRaw(number[0] ? number : "null"));
        }
        cJSON_AddStringToObject(object, "day", item->day);
        cJSON_AddNumberToObject(object, "rows", item->rows);
        if (item->other_day[0]) {
            cJSON_AddStringToObject(object, "other_day", item->other_day);
            cJSON_AddNumberToObject(object, "other_rows", item->other_rows);
        }
        cJSON_AddItemToArray(array, object);
    }
    return array;
}

enum omo_status omo_overview_print(const struct omo_person_tables *tables,
                                   const char *person, const char *today, bool json)
{
    struct omo_overview_section sections[OMO_OVERVIEW_SECTIONS];
    enum omo_status status = omo_overview_read(tables, person, today, sections);
    if (status != OMO_OK)
        return status;
    cJSON *object = json ? cJSON_CreateObject() : NULL;
    if (json)
        cJSON_AddStringToObject(object, "person", person);
    else
        puts(person);
    cJSON *blank = json ? cJSON_CreateObject() : NULL; /* why there is nothing */
    for (int i = 0; i < OMO_OVERVIEW_SECTIONS; i++) {
        if (!json) {
            print_section(&sections[i]);
            continue;
        }
        cJSON_AddItemToObject(object, sections[i].key, section_json(&sections[i]));
        if (sections[i].items->len == 0)
            cJSON_AddStringToObject(blank, sections[i].key, sections[i].none);
    }
    if (json) {
        cJSON_AddItemToObject(object, "blank", blank);
        cJSON *array = cJSON_CreateArray();
        cJSON_AddItemToArray(array, object);
        omo_json_print(array);
    } else {
        printf("\n%s", omo_word(OMO_CAUTION));
    }
    omo_overview_free(sections);
    return OMO_OK;
}
