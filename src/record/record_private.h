/** What the files of this folder share about an open record and its traces. */
#ifndef RECORD_PRIVATE_H
#define RECORD_PRIVATE_H

#include <stdbool.h>

#include <glib.h>

#include "omogon/record.h"
#include "record/ledger.h"

#define RECORD_TRACES "traces"

struct omo_record {
    struct ledger sessions; /* its lock guards the rest too */
    bool flat;
    GPtrArray *claimed; /* names of the traces begun here, owned */
};

/* ---- record.c -------------------------------------------------------------------- */

/** The last row with an id, which is the one that counts: a later one takes back an
 *  earlier. NULL: none. Rows as last read. */
const struct omo_session_row *omo_record_last_with(const struct omo_record *record,
                                                   const char *id);
/** Whether a row names this trace; rows as last read. */
bool omo_record_names_trace(const struct omo_record *record, const char *name);

/* ---- trace_row.c ----------------------------------------------------------------- */

void omo_trace_row_write(const struct omo_trace_row *row, int picture_width,
                         int picture_height, struct omo_csv_text *csv);

/* ---- trace.c --------------------------------------------------------------------- */

/** Under the lock: ends what killed runs left of traces, so that readers see whole lines
 *  only. */
void omo_trace_tidy(struct omo_record *record);

#endif
