/**
 * A report on one page: what it says, once, for two writers. The page for paper and the
 * page for a screen have the same words and figures.
 */
#ifndef OMO_SHOW_PAPER_REPORT_H
#define OMO_SHOW_PAPER_REPORT_H

#include <stdint.h>

#include <glib.h>

#include "omogon/draw.h"

/* What fits on a page; what is more is left out by who fills a report in, and said. */
#define OMO_REPORT_COLUMNS    9
#define OMO_REPORT_ROWS       10
#define OMO_REPORT_FIGURES    4
#define OMO_REPORT_LISTS      6
#define OMO_REPORT_LINES      7   /* of a list */
#define OMO_REPORT_LINE_CHARS 230 /* of a line; the rest is cut */

struct omo_report_list {
    char *title;
    GPtrArray *lines;      /* char *, owned */
    unsigned without_room; /* lines that were refused */
};

struct omo_report_figure {
    struct omo_figure *figure; /* NULL: it is a picture */
    uint8_t *jpeg;             /* free() */
    size_t jpeg_size;
    char *title, *text; /* text: the figure in words */
    double width, height;
};

/** Texts are UTF-8, translated, without markup; all is owned. */
struct omo_report {
    char *title, *subtitle;
    char *language; /* "en" */
    char *table_title;
    char *head[OMO_REPORT_COLUMNS];
    GPtrArray
        *rows; /* char **, OMO_REPORT_COLUMNS of them; the first is the row's head */
    struct omo_report_figure figure[OMO_REPORT_FIGURES];
    int figures;
    struct omo_report_list list[OMO_REPORT_LISTS];
    int lists;
    char *disclaimer;
};

void omo_report_init(struct omo_report *report);
void omo_report_finish(struct omo_report *report);
/** Adds a row of empty cells; they are the report's. NULL: there are OMO_REPORT_ROWS. */
char **omo_report_row(struct omo_report *report);
/** Adds a list, empty. */
struct omo_report_list *omo_report_list(struct omo_report *report, const char *title);
/** Adds a line, cut at OMO_REPORT_LINE_CHARS; false, and counted, when the list is full.
 */
bool omo_report_line(struct omo_report_list *list, const char *format, ...)
    OMO_PRINTF(2, 3);
/** Where lines were refused, the last one gives way to one that says how many are missing
 * and that the record's tables have them. */
void omo_report_list_close(struct omo_report_list *list);
/** Takes the figure over; false (and destroyed) when there are enough. */
bool omo_report_figure(struct omo_report *report, struct omo_figure *figure,
                       const char *title, char *text);

/** The same of a picture, a JPEG of this size in px, released with free(). */
bool omo_report_picture(struct omo_report *report, uint8_t *jpeg, size_t jpeg_size,
                        int width, int height, const char *title, char *text);

/** One self-contained file: no script, nothing that is fetched. g_free() it. */
char *omo_report_html(const struct omo_report *report, size_t *size);
/** One A4 page; g_byte_array_unref() it. OMO_ERR_MEMORY with one sentence. */
OMO_MUST_CHECK enum omo_status omo_report_pdf(const struct omo_report *report,
                                              GByteArray **bytes);

#endif
