#include "app/course_page.h"

#include <math.h>
#include <string.h>

#include <glib.h>

#include "app/course_mark.h"
#include "app/course_range.h"
#include "app/course_view.h"
#include "app/course_words.h"
#include "app/measuring_words.h"
#include "app/options.h"
#include "app/result_page.h"
#include "omogon/words.h"

#define SIGNS_LEAST_PX 600

/** What the page shows. */
struct pages {
    struct omo_screen *screen;
    const struct omo_progress *progress;
    const struct omo_course_ranges *ranges;
    struct omo_course_marks *marks;
    size_t index; /* of the course */
    unsigned version;
};

static void paint(uint32_t *pixels, int width, int height, int stride_pixels, void *user)
{
    const struct pages *pages = user;
    const struct omo_progress_course *course =
        omo_progress_at(pages->progress, pages->index);
    struct omo_course_view view;
    omo_course_view_of(pages->progress, course, &view);
    view.chart.width = width;
    view.chart.height = height;
    view.chart.dark = true;
    view.chart.small = true;
    view.chart.mark_deg = omo_course_mark(pages->marks, course);
    omo_course_range_in(omo_course_range(pages->ranges, course), &view);
    omo_course_short(omo_progress_newest(course)->row, view.what, sizeof view.what);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            pixels[(size_t)y * (size_t)stride_pixels + (size_t)x] =
                omo_chart_colours(true)->ground;
    struct omo_figure *figure = omo_chart_figure(&view.chart);
    if (figure &&
        omo_figure_paint(figure, pixels, width, height, stride_pixels) != OMO_OK)
        memset(pixels, 0,
               sizeof *pixels); /* an empty figure is better than half of one */
    omo_figure_destroy(figure);
    omo_course_view_free(&view);
}

/** As a sentence of its own, with a capital; frees the words. NULL: nothing. */
static void add_line(GPtrArray *lines, char *words)
{
    if (!words)
        return;
    gchar first[8] = "";
    g_unichar_to_utf8(g_unichar_toupper(g_utf8_get_char(words)), first);
    g_ptr_array_add(lines, g_strconcat(first, g_utf8_next_char(words), ".", NULL));
    g_free(words);
}

static GPtrArray *lines_of(const struct pages *pages)
{
    const struct omo_progress_course *course =
        omo_progress_at(pages->progress, pages->index);
    const struct omo_change_settings *settings = omo_progress_settings(pages->progress);
    GPtrArray *lines = g_ptr_array_new_with_free_func(g_free);
    char what[192];
    omo_course_words(omo_progress_newest(course)->row, what, sizeof what);
    g_ptr_array_add(lines, g_strdup(what));
    if (course->count == 1)
        g_ptr_array_add(lines, g_strdup(omo_word("One session so far. The line begins "
                                                 "with the second.")));
    add_line(lines, omo_course_trend_words(course));
    add_line(lines, omo_course_change_words(course, settings));
    add_line(lines, omo_course_other_words(pages->progress, course));
    add_line(lines, omo_course_range_words(omo_course_range(pages->ranges, course)));
    /* In the smallest window there is no room for more than the course itself. */
    int width, height;
    omo_screen_size(pages->screen, &width, &height);
    if (height >= SIGNS_LEAST_PX)
        g_ptr_array_add(lines, g_strdup(omo_chart_signs()));
    return lines;
}

/** Until Back; true: the window was left. */
static bool run(struct pages *pages)
{
    size_t count = omo_progress_count(pages->progress);
    int chosen = 0;
    for (;;) {
        g_autoptr(GPtrArray) lines = lines_of(pages);
        g_autofree char *title =
            g_strdup_printf(omo_word("How it went: %u of %u"), (unsigned)pages->index + 1,
                            (unsigned)count);
        const char *several[] = {omo_word("Next movement"), omo_word("Movement before"),
                                 omo_word("Back")};
        struct omo_list_page page = {.title = title,
                                     .lines = (const char *const *)lines->pdata,
                                     .line_count = (int)lines->len,
                                     .items = count > 1 ? several : several + 2,
                                     .item_count = count > 1 ? 3 : 1,
                                     .chosen = chosen,
                                     .foot = omo_caution_words(),
                                     .figure = paint,
                                     .user = pages,
                                     .figure_version = pages->version};
        int item = omo_ask_page(pages->screen, &page, INFINITY);
        if (item == -2)
            return true;
        if (item < 0 || item == page.item_count - 1)
            return false;
        chosen = item;
        pages->index = (pages->index + (item == 0 ? 1 : count - 1)) % count;
        pages->version++;
    }
}

/** The course of what was measured last, else the first one. */
static size_t first_of(const struct omo_progress *progress,
                       const struct omo_preferences *preferences)
{
    size_t best = 0;
    double day = -INFINITY;
    for (size_t k = 0; k < omo_progress_count(progress); k++) {
        const struct omo_progress_session *newest =
            omo_progress_newest(omo_progress_at(progress, k));
        if (strcmp(newest->row->movement, preferences->movement) ||
            strcmp(newest->row->side, omo_preferences_arm(preferences)) ||
            newest->day <= day)
            continue;
        best = k;
        day = newest->day;
    }
    return best;
}

static bool nothing(struct omo_screen *screen)
{
    const char *lines[] = {
        omo_word("Nothing was measured yet. Measure a movement on a few "
                 "days, and this page shows how it went.")};
    const char *items[] = {omo_word("Back")};
    struct omo_list_page page = {.title = omo_word("How it went"),
                                 .lines = lines,
                                 .line_count = 1,
                                 .items = items,
                                 .item_count = 1,
                                 .foot = omo_caution_words()};
    return omo_ask_page(screen, &page, INFINITY) == -2;
}

bool omo_course_page(struct omo_screen *screen, const struct omo_preferences *preferences)
{
    struct omo_option_words own = {0};
    struct omo_record *record = NULL;
    struct omo_progress *progress = NULL;
    struct omo_course_ranges ranges;
    const char *person = preferences->person[0] ? preferences->person : NULL;
    const struct omo_progress_filter filter = {.person = person};
    char directory[4096];
    /* Only to look: a record is not made for it. */
    g_autofree char *home = g_build_filename(g_get_user_data_dir(), "omogon", NULL);
    if (!g_file_test(home, G_FILE_TEST_IS_DIR) ||
        omo_open_record(&own, &record, directory, sizeof directory) != OMO_OK)
        return nothing(screen);
    bool left;
    omo_course_ranges_open(directory, &ranges);
    if (omo_progress_read(record, &filter, NULL, &progress) != OMO_OK ||
        omo_progress_count(progress) == 0) {
        left = nothing(screen);
    } else {
        struct pages pages = {.screen = screen,
                              .progress = progress,
                              .ranges = &ranges,
                              .index = first_of(progress, preferences)};
        struct omo_person_tables tables;
        bool marked = omo_person_tables_open(directory, &tables) == OMO_OK;
        if (marked)
            pages.marks = omo_course_marks_open(&tables);
        left = run(&pages);
        omo_course_marks_close(pages.marks);
        if (marked)
            omo_person_tables_close(&tables);
    }
    omo_progress_free(progress);
    omo_course_ranges_close(&ranges);
    omo_record_close(record);
    return left;
}
