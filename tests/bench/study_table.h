/** The study's tables, with what is required beside each figure. */
#ifndef STUDY_TABLE_H
#define STUDY_TABLE_H

#include "study_runs.h"

/** Prints Markdown; returns how many requirements are missed, each named on stderr when
 *  `name_missed`. */
int study_table_print(const struct study_plan *plan, bool name_missed);

#endif
