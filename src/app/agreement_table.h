/** A CSV file as a table of people by raters. */
#ifndef OMO_APP_AGREEMENT_TABLE_H
#define OMO_APP_AGREEMENT_TABLE_H

#include <glib.h>
#include <stdbool.h>

#include "omogon/status.h"

/** What is taken from the file; texts are lent, NULL: the usual name. */
struct omo_agreement_wish {
    const char *path;
    const char *person, *rater, *value; /* columns of the long form */
    char **wide;                        /* columns of values, one a rater; NULL: long */
    char **where;                       /* "COLUMN=TEXT": rows that count; may be NULL */
    bool sides; /* both sides of a person may be there: `each` tells them apart */
};

/** One value as it stands in the file. */
struct omo_agreement_value {
    int person, side, rater; /* side: of its person, numbered through all people */
    int trial; /* values of two raters with the same side and trial are a pair: the row of
                  the wide form, else the place among the rater's rows of that side */
    double value;
};

struct omo_agreement_table {
    GPtrArray *raters; /* names, owned */
    double *values;    /* people by raters, complete rows only */
    size_t people;
    size_t left_out;  /* people without a value of every rater */
    size_t repeated;  /* values that were averaged with others of the same two */
    size_t rows;      /* of the file, that counted */
    size_t withdrawn; /* rows that the record has withdrawn or replaced: not counted */
    size_t nameless;  /* rows that name no rater: not counted */
    GArray *each;     /* struct omo_agreement_value, averaged nothing, missing left out */
    int persons, person_sides; /* of each */
};
/** One sentence on failure; OMO_ERR_ARG for a column that is not there. */
OMO_MUST_CHECK enum omo_status omo_agreement_read(const struct omo_agreement_wish *wish,
                                                  struct omo_agreement_table *out);
void omo_agreement_table_free(struct omo_agreement_table *table);

#endif
