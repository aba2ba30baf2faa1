/** A folder of its own for each test of the record, its messages, and invented rows. */
#ifndef RECORD_FIXTURE_H
#define RECORD_FIXTURE_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/record.h"

extern char fixture_folder[64];
extern int fixture_messages, fixture_warnings;
extern char fixture_message[1100]; /* the last one */

void fixture_make(void);
void fixture_remove(void);
/** Path of a name in the folder; lent, eight at a time. */
const char *fixture_path(const char *name);
/** A file's text, lent until the next call; fails the test when it is not there. */
const char *fixture_text(const char *name);
void fixture_write(const char *name, const char *text);
bool fixture_there(const char *name);
/** Entries of the folder that are not hidden. */
int fixture_entries(void);
/** From here on permissions count, also for a test run by root. */
void fixture_drop_root(void);

/** An invented row; `number` makes its id. */
struct omo_session_row fixture_row(int number);
struct omo_trace_row fixture_frame(int number);
struct omo_record *fixture_open(bool flat);
/** Appends fixture_row(number) and wants it added. */
void fixture_append(struct omo_record *record, int number);

#endif
