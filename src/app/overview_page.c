#include "app/overview_page.h"

#include <math.h>
#include <string.h>

#include "app/measuring_words.h"
#include "app/overview.h"
#include "app/result_page.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* A list page takes 24 lines and 24 items. */
#define LINES_MOST  22
#define PEOPLE_MOST 20
/* Of a section's lines on the one page; the rest is a press away. */
#define SHOWN 2

static const struct omo_overview_item *item_at(const struct omo_overview_section *section,
                                               guint index)
{
    return &g_array_index(section->items, struct omo_overview_item, index);
}

/** A page of text with a way back; true: the window was left. */
static bool tell(struct omo_screen *screen, const char *title, const char *const *lines,
                 int count)
{
    const char *items[] = {omo_word("Back")};
    struct omo_list_page page = {.title = title,
                                 .lines = lines,
                                 .line_count = count,
                                 .items = items,
                                 .item_count = 1,
                                 .foot = omo_caution_words()};
    return omo_ask_page(screen, &page, INFINITY) == -2;
}

/** All of a section. */
static bool section_page(struct omo_screen *screen,
                         const struct omo_overview_section *section)
{
    char line[LINES_MOST][600], more[160];
    const char *lines[LINES_MOST + 2];
    int count = 0;
    for (guint i = 0; i < section->items->len && count < LINES_MOST; i++) {
        line[count][0] = '\0';
        omo_overview_line(item_at(section, i), line[count], sizeof line[count]);
        lines[count] = line[count];
        count++;
    }
    if ((int)section->items->len > count) {
        g_snprintf(more, sizeof more,
                   omo_word("And %d more: omogon people --overview prints all of them."),
                   (int)section->items->len - count);
        lines[count++] = more;
    }
    if (section->items->len == 0)
        lines[count++] = section->none;
    if (section->note[0])
        lines[count++] = section->note;
    return tell(screen, section->title, lines, count);
}

/** Title and first figures of a section: one button of the page. */
static void section_words(const struct omo_overview_section *section, char *out,
                          size_t size)
{
    guint count = section->items->len;
    out[0] = '\0';
    omo_text_add(out, size, "%s: ", section->title);
    if (count == 0)
        omo_text_add(out, size, "%s", section->none);
    for (guint i = 0; i < count && i < SHOWN; i++)
        omo_text_add(out, size, "%s%s %s", i > 0 ? "; " : "", item_at(section, i)->what,
                     item_at(section, i)->text);
    if (count > SHOWN)
        omo_text_add(out, size, omo_word("; %d more"), (int)count - SHOWN);
}

static bool person_page(struct omo_screen *screen, const char *person,
                        const struct omo_overview_section *sections)
{
    char words[OMO_OVERVIEW_SECTIONS][700], title[96];
    const char *items[OMO_OVERVIEW_SECTIONS];
    const char *lines[] = {omo_word(
        "Press a line for all of it, with the days and how many sessions it is of.")};
    g_snprintf(title, sizeof title, omo_word("%s at a glance"), person);
    for (int i = 0; i < OMO_OVERVIEW_SECTIONS; i++) {
        section_words(&sections[i], words[i], sizeof words[i]);
        items[i] = words[i];
    }
    struct omo_list_page page = {.title = title,
                                 .lines = lines,
                                 .line_count = 1,
                                 .items = items,
                                 .item_count = OMO_OVERVIEW_SECTIONS,
                                 .foot = omo_caution_words()};
    for (;;) {
        int item = omo_ask_page(screen, &page, INFINITY);
        if (item < 0)
            return item == -2;
        if (section_page(screen, &sections[item]))
            return true;
        page.chosen = item;
    }
}

static bool show(struct omo_screen *screen, const struct omo_person_tables *tables,
                 const char *person)
{
    struct omo_overview_section sections[OMO_OVERVIEW_SECTIONS];
    char today[16];
    omo_today(today);
    if (omo_overview_read(tables, person, today, sections) != OMO_OK) {
        const char *line =
            omo_word("This could not be read; the terminal window says why.");
        return tell(screen, person, &line, 1);
    }
    bool left = person_page(screen, person, sections);
    omo_overview_free(sections);
    return left;
}

/** Which of the people from `first` on; the next ones by `count`; -1 back, -2 left. */
static int ask_whose(struct omo_screen *screen, const GPtrArray *people, guint first,
                     const char *usual)
{
    const char *items[PEOPLE_MOST + 1];
    const char *lines[] = {omo_word("Whose? The codes are those of the record.")};
    int count = 0, chosen = 0;
    for (guint i = first; i < people->len && count < PEOPLE_MOST; i++) {
        items[count] = g_ptr_array_index(people, i);
        if (!strcmp(items[count], usual))
            chosen = count;
        count++;
    }
    bool more = first + (guint)count < people->len;
    if (more)
        items[count] = omo_word("More people");
    struct omo_list_page page = {.title = omo_word("A person at a glance"),
                                 .lines = lines,
                                 .line_count = 1,
                                 .items = items,
                                 .item_count = count + more,
                                 .chosen = chosen,
                                 .foot = omo_caution_words()};
    return omo_ask_page(screen, &page, INFINITY);
}

static bool choose(struct omo_screen *screen, const struct omo_person_tables *tables,
                   const char *usual)
{
    g_autoptr(GPtrArray) people = omo_person_all(tables);
    if (people->len == 0) {
        const char *line =
            omo_word("Nobody is in the record yet. Measure with a code for the person "
                     "(--person), or begin a sheet with omogon people --add.");
        return tell(screen, omo_word("A person at a glance"), &line, 1);
    }
    if (people->len == 1)
        return show(screen, tables, g_ptr_array_index(people, 0));
    for (guint first = 0;;) {
        int item = ask_whose(screen, people, first, usual);
        if (item == -2)
            return true;
        if (item == -1) {
            if (first == 0)
                return false;
            first -= PEOPLE_MOST;
        } else if (item == PEOPLE_MOST) {
            first += PEOPLE_MOST;
        } else if (show(screen, tables, g_ptr_array_index(people, first + (guint)item))) {
            return true;
        }
    }
}

bool omo_overview_pages(struct omo_screen *screen,
                        const struct omo_preferences *preferences)
{
    g_autofree char *home = g_build_filename(g_get_user_data_dir(), "omogon", NULL);
    struct omo_person_tables tables;
    /* Only to look: a record is not made for it. */
    if (!g_file_test(home, G_FILE_TEST_IS_DIR)) {
        const char *line = omo_word("There is no record yet: nothing was measured with "
                                    "\"omogon measure\" or in this window.");
        return tell(screen, omo_word("A person at a glance"), &line, 1);
    }
    if (omo_person_tables_open(home, &tables) != OMO_OK) {
        const char *line =
            omo_word("This could not be read; the terminal window says why.");
        return tell(screen, omo_word("A person at a glance"), &line, 1);
    }
    bool left = choose(screen, &tables, preferences->person);
    omo_person_tables_close(&tables);
    return left;
}
