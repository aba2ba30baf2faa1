/** What a practitioner looks at before choosing what to do: one person, one page. */
#ifndef OMO_APP_OVERVIEW_H
#define OMO_APP_OVERVIEW_H

#include "app/person_tables.h"

/** Prints it on standard output, as text or as JSON (an array of one object). Figures say
 *  of which day and how many sessions they are; what is missing says why. */
OMO_MUST_CHECK enum omo_status omo_overview_print(const struct omo_person_tables *tables,
                                                  const char *person, const char *today,
                                                  bool json);

/* ---- overview_figures.c
 * --------------------------------------------------------------*/

#define OMO_OVERVIEW_NUMBERS 4

/** One line: what it is about, in words for people and as numbers for programs. */
struct omo_overview_item {
    char what[128], text[256];
    char day[16]; /* YYYY-MM-DD of the newest row that it is of; "" not of one day */
    int rows;     /* that it is of */
    char other_day[16]; /* where it compares: of the other side, or with help; else "" */
    int other_rows;
    struct {
        const char *key; /* constant; NULL: no more */
        double value;
    } number[OMO_OVERVIEW_NUMBERS];
};
/** A section: its items, and what is said when there are none. */
struct omo_overview_section {
    const char *key, *title, *none; /* title and none are translated */
    GArray *items;                  /* struct omo_overview_item */
    char note[320];                 /* a sentence below it, translated; "" none */
};
#define OMO_OVERVIEW_SECTIONS 10

/** Fills all sections; free them by omo_overview_free(). */
OMO_MUST_CHECK enum omo_status omo_overview_read(
    const struct omo_person_tables *tables, const char *person, const char *today,
    struct omo_overview_section sections[OMO_OVERVIEW_SECTIONS]);
/** An item as one line: what, figures, and in brackets of which day and how many. */
void omo_overview_line(const struct omo_overview_item *item, char *out, size_t size);
void omo_overview_free(struct omo_overview_section sections[OMO_OVERVIEW_SECTIONS]);

#endif
