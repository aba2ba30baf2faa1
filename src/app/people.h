/** "omogon people": the practitioner's side of a record. */
#ifndef OMO_APP_PEOPLE_H
#define OMO_APP_PEOPLE_H

#include <glib.h>
#include <stdbool.h>

#include "app/person_tables.h"
#include "omogon/care.h"

/** As typed; freed by the command. */
struct omo_people_words {
    char *person, *set_by, *data;
    gboolean add, json, overview;
    char *birth_year, *sex, *height, *dominant, *affected;
    char **history, **no_history, **taught, **not_taught, **limits, **activities, **notes;
    char **taken_up;
    char *weight, *programme, *arms, *valid_until, *mark;
};

/** A change that is checked but not yet written. */
struct omo_people_change {
    enum omo_table_kind kind;
    union {
        struct omo_note_row note;
        struct omo_limit_row limit;
        struct omo_sheet_row sheet;
        struct omo_person_row person;
    } row;
    char said[700]; /**< what changes, one line or several, for people */
};

/** What an edit has to know; changes are gathered first, so that a mistake in one of
 *  them leaves all unwritten. */
struct omo_people_edit {
    const struct omo_people_words *words;
    const struct omo_person_tables *tables;
    char today[16], now[32];
    GArray *changes; /**< struct omo_people_change */
};

/** A new change; rows begin empty, with person, time and who set them. */
struct omo_people_change *omo_people_change_add(struct omo_people_edit *edit,
                                                enum omo_table_kind kind);
/** Appends to a change's line: "WHAT: NOW (before: BEFORE)". */
void omo_people_change_say(struct omo_people_change *change, const char *what,
                           const char *now, const char *before);

/** Whether any option asks for a change. */
bool omo_people_edits(const struct omo_people_words *words);
/** Checks everything that was typed and gathers the changes. False after one sentence. */
bool omo_people_gather(struct omo_people_edit *edit);
/** The limits' part of it: people_limit.c. */
bool omo_people_gather_limits(struct omo_people_edit *edit);
/** "up to 90 degrees, assisted, no weight" */
void omo_limit_text(const struct omo_limit_row *limit, char *text, size_t size);
/** A word of a file, such as yes, left or done, for people; others stay as they are. */
const char *omo_people_word(const char *name);
/** A limit's movement and a row's side in words; every movement where none is named. */
const char *omo_limit_movement(const char *movement);
const char *omo_people_side(const char *side);
/** What was typed for --mark: one sentence when it is not understood. */
bool omo_people_mark_valid(const char *word);
/** Whether a limit's day has passed; it stays in force. */
bool omo_limit_expired(const struct omo_limit_row *limit, const char *today);

/** Of sheet.csv: "yes" or "no" of a name, false when never said. */
bool omo_people_says_yes(const struct omo_person_tables *tables, const char *person,
                         const char *kind, const char *name);

/** The list of everybody, and one person's sheet, to standard output. */
void omo_people_print_list(const struct omo_person_tables *tables);
OMO_MUST_CHECK enum omo_status omo_people_print_sheet(
    const struct omo_person_tables *tables, const char *person, const char *today);
void omo_people_json_list(const struct omo_person_tables *tables);
OMO_MUST_CHECK enum omo_status omo_people_json_sheet(
    const struct omo_person_tables *tables, const char *person, const char *today);

#endif
