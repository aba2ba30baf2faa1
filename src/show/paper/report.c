#include "show/paper/report.h"

#include <stdarg.h>
#include <stdlib.h>

#include "omogon/words.h"

void omo_report_init(struct omo_report *report)
{
    *report = (struct omo_report){.rows = g_ptr_array_new()};
}

static void free_row(gpointer row, gpointer unused)
{
    char **cells = row;
    (void)unused;
    for (int i = 0; i < OMO_REPORT_COLUMNS; i++)
        g_free(cells[i]);
    g_free(cells);
}

void omo_report_finish(struct omo_report *report)
{
    g_free(report->title);
    g_free(report->subtitle);
    g_free(report->language);
    g_free(report->table_title);
    g_free(report->disclaimer);
    for (int i = 0; i < OMO_REPORT_COLUMNS; i++)
        g_free(report->head[i]);
    g_ptr_array_foreach(report->rows, free_row, NULL);
    g_ptr_array_unref(report->rows);
    for (int i = 0; i < report->figures; i++) {
        omo_figure_destroy(report->figure[i].figure);
        free(report->figure[i].jpeg);
        g_free(report->figure[i].title);
        g_free(report->figure[i].text);
    }
    for (int i = 0; i < report->lists; i++) {
        g_free(report->list[i].title);
        g_ptr_array_unref(report->list[i].lines);
    }
}

char **omo_report_row(struct omo_report *report)
{
    if (report->rows->len == OMO_REPORT_ROWS)
        return NULL;
    char **cells = g_new0(char *, OMO_REPORT_COLUMNS);
    g_ptr_array_add(report->rows, cells);
    return cells;
}

struct omo_report_list *omo_report_list(struct omo_report *report, const char *title)
{
    g_assert(report->lists < OMO_REPORT_LISTS);
    struct omo_report_list *list = &report->list[report->lists++];
    list->title = g_strdup(title);
    list->lines = g_ptr_array_new_with_free_func(g_free);
    return list;
}

bool omo_report_line(struct omo_report_list *list, const char *format, ...)
{
    va_list arguments;
    if (list->lines->len == OMO_REPORT_LINES) {
        list->without_room++;
        return false;
    }
    va_start(arguments, format);
    char *text = g_strdup_vprintf(format, arguments);
    va_end(arguments);
    if (g_utf8_strlen(text, -1) > OMO_REPORT_LINE_CHARS) {
        g_autofree char *cut = g_utf8_substring(text, 0, OMO_REPORT_LINE_CHARS - 1);
        g_free(text);
        text = g_strconcat(cut, "\u2026", NULL);
    }
    g_ptr_array_add(list->lines, text);
    return true;
}

void omo_report_list_close(struct omo_report_list *list)
{
    if (list->without_room == 0)
        return;
    g_ptr_array_set_size(list->lines, OMO_REPORT_LINES - 1);
    g_ptr_array_add(list->lines,
                    g_strdup_printf(omo_word("Further lines without room here: %u; "
                                             "sessions.csv and set-ups.csv of the "
                                             "record have them."),
                                    list->without_room + 1));
}

bool omo_report_figure(struct omo_report *report, struct omo_figure *figure,
                       const char *title, char *text)
{
    if (!figure || report->figures == OMO_REPORT_FIGURES) {
        omo_figure_destroy(figure);
        g_free(text);
        return false;
    }
    struct omo_report_figure *f = &report->figure[report->figures++];
    *f = (struct omo_report_figure){.figure = figure,
                                    .title = g_strdup(title),
                                    .text = text};
    omo_figure_size(figure, &f->width, &f->height);
    return true;
}

bool omo_report_picture(struct omo_report *report, uint8_t *jpeg, size_t jpeg_size,
                        int width, int height, const char *title, char *text)
{
    if (report->figures == OMO_REPORT_FIGURES) {
        free(jpeg);
        g_free(text);
        return false;
    }
    report->figure[report->figures++] =
        (struct omo_report_figure){.jpeg = jpeg,
                                   .jpeg_size = jpeg_size,
                                   .title = g_strdup(title),
                                   .text = text,
                                   .width = width,
                                   .height = height};
    return true;
}
