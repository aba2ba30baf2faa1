/** What a figure is good to, as a table for people and as JSON for programs. */
#ifndef OMO_APP_BUDGET_WORDS_H
#define OMO_APP_BUDGET_WORDS_H

#include <cjson/cJSON.h>
#include <stddef.h>

#include "omogon/motion.h"
#include "omogon/record.h"

/** A source's name in plain words. */
const char *omo_budget_words(const char *name);

/** The highest angle's table and a line for each other maximum, on standard output.
 *  `budget` has OMO_MAXIMUM_COUNT places; the figures are the row's. */
void omo_budget_print(const struct omo_budget *budget, const struct omo_session_row *row);

/** An object with one member a maximum that is there. The caller's. */
cJSON *omo_budget_json(const struct omo_budget *budget);

/** Which two sources are largest, as a sentence; "" without lines. */
void omo_budget_sentence(const struct omo_budget *budget, char *text, size_t size);

#endif
