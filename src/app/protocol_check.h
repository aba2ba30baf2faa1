/** What a study fixed beforehand, and what differs from it. */
#ifndef OMO_APP_PROTOCOL_CHECK_H
#define OMO_APP_PROTOCOL_CHECK_H

#include <glib.h>

#include "omogon/csv.h"
#include "omogon/record.h"
#include "omogon/status.h"

struct omo_protocol;
/**
 * Reads a key file with a group [protocol]: movement, side, position, mode, view, arms
 * and placement (lists of words, separated by semicolons), cutoff_hz, repetitions (at
 * least), frames_per_second (at least), seen_ratio (at least), outcome (a column of
 * sessions.csv that may not be empty). One sentence on failure, OMO_ERR_OPEN or
 * OMO_ERR_SETTINGS.
 */
OMO_MUST_CHECK enum omo_status omo_protocol_load(const char *path,
                                                 struct omo_protocol **out);
void omo_protocol_free(struct omo_protocol *protocol);

/** Adds a line to `table` (CSV: line, clip, person, what, wanted, found) for everything
 * in which a planned row, not measured yet, differs; returns how many. */
int omo_protocol_plan(const struct omo_protocol *protocol,
                      const struct omo_session_row *planned, double cutoff_hz, int line,
                      struct omo_csv_text *table);
/** The same of what was measured. */
int omo_protocol_result(const struct omo_protocol *protocol,
                        const struct omo_session_row *row, int line,
                        struct omo_csv_text *table);

#endif
