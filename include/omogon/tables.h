/**
 * What is written down beside the measured movements: steps.csv, notes.csv, limits.csv,
 * sheet.csv, people.csv, set-ups.csv and changes.csv in the record's folder. Rows are
 * only ever added; the last one of a thing counts. Durable as sessions.csv is: under a
 * lock, on disk before "saved".
 */
#ifndef OMOGON_TABLES_H
#define OMOGON_TABLES_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/record.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** One step that was done, left or not offered. Texts "" = empty, numbers NAN, counts -1.
 */
struct omo_step_row {
    char id[33];
    char person[24], session[33]; /**< session: id of the whole, one for a run */
    char started[32], ended[32];  /**< UTC, as sessions.csv */
    char programme[64], programme_mark[33];
    char step[32], group[16], kind[16], movement[24], area[32], side[8], mode[16];
    char
        result[24]; /**< begun, done, part, skipped, pain, enough, not-offered, sign; the
                         session's own row has step "" and result begun, done or enough */
    char reason[256];
    int repetitions, clockwise, counter_clockwise, unknown_way;
    double diameter_cm, diameter_growth_cm, loose_ratio;
    double held_s;
    int breaths, ease_ups;
    double stop_deg, stop_u95_deg, gain_deg, target_deg, ceiling_deg;
    double tenderness_before, tenderness_after;
    double pain_start, pain_most, pain_end;
    double load_kg;
    char sore[16];     /**< calm, middle, sore */
    char measured[33]; /**< id of the row in sessions.csv */
    char version[16], note[256];
};

/** Anything entered by hand. */
struct omo_note_row {
    char id[33], person[24], session[33], written[32];
    char item[48]; /**< pain-now, pain-worst-24h, woken, hand-behind-back, note, red-flag
                      ... */
    char side[8], detail[64];
    double value;
    char unit[16];
    char text[512];
    char status[16], replaces[33];
};

/** A limit that somebody set for a person. */
struct omo_limit_row {
    char id[33], person[24], set_on[32], side[8], movement[24];
    double ceiling_deg;
    char allowed[16]; /**< none, assisted, active */
    double load_kg;
    char set_by[32], valid_until[16], status[16], replaces[33], note[256];
};

/** One fact of a person's sheet: history, taught, programme, protocol, activity. */
struct omo_sheet_row {
    char id[33], person[24], set_on[32], set_by[32];
    char item[48]; /**< history:blood-thinners, taught:..., programme, arms, activity:1
                      ... */
    char value[128], note[256];
};

/** Who the person is; all but the pseudonym is optional. */
struct omo_person_row {
    char person[24]; /**< never empty */
    char set_on[32], set_by[32];
    int birth_year; /**< -1 */
    char sex[16];
    double height_cm;
    char dominant_side[8], affected_side[8]; /**< left, right, both */
    char note[256];
};

/** Camera, markers and settings of a measurement. */
struct omo_set_up_row {
    char id[33];     /**< a hash of all below: it stays while they stay */
    char camera[64]; /**< as it calls itself; "clip" for a file */
    int picture_width_px, picture_height_px;
    double frames_per_second;     /**< to whole ones: a clip's own varies a little */
    char exposure[16];            /**< held, automatic; "" for a file */
    char lens[64], lens_mark[33]; /**< the profile's name, and a hash of what is in it */
    double distance_m; /**< from the camera to the shoulder, to half a metre; only with a
                            lens profile and a shoulder sticker whose size is known */
    double roll_deg, pitch_deg; /**< of the camera, by the lens profile */
    double marker_size_mm;      /**< of the shoulder's sticker */
    char colours[64];           /**< name of the marker set */
    char markers[384];    /**< its entries: role, shape, size in mm, colour as Cb/Cr */
    double cutoff_hz;     /**< of the filter */
    char models_mark[33]; /**< a hash of movements, allowances, priors and body */
    char protocol[64];    /**< how the markers sit: placement, and the shoulder's place */
    char version[16];
};

/** One change of what was written down before: never silent. */
struct omo_edit_row {
    char id[33], person[24], changed_on[32], changed_by[32];
    char what[16]; /**< withdraw, restore, replace, rename, delete */
    char row[33];  /**< of sessions.csv; "" for a person */
    char old_value[128], new_value[128], reason[256];
};

/** Which table. */
enum omo_table_kind {
    OMO_TABLE_STEPS,
    OMO_TABLE_NOTES,
    OMO_TABLE_LIMITS,
    OMO_TABLE_SHEET,
    OMO_TABLE_PEOPLE,
    OMO_TABLE_SET_UPS,
    OMO_TABLE_CHANGES,
    OMO_TABLE_COUNT
};
/** "steps.csv" ... and the header line without its end. */
OMO_API const char *omo_table_file(enum omo_table_kind kind);
/** Constant. */
OMO_API const char *omo_table_header(enum omo_table_kind kind);
/** Everything empty, but the version of a step or set-up (this library's) and a note's or
 * limit's status
 *  ("ok"). `row` is of the kind's struct. */
OMO_API void omo_table_row_init(enum omo_table_kind kind, void *row);
/** Fills the index-th column of a row of the kind; false past the last. */
OMO_API bool omo_table_field(enum omo_table_kind kind, const void *row, int index,
                             struct omo_session_field *field);

/** A table of a record's folder, read whole. Faults as omo_record_open(). A missing file
 *  is an empty table. Any thread may use it; all tables of a folder and sessions.csv
 * share one lock, which is held during a call alone. */
struct omo_table;
/** The table is the caller's to close. */
OMO_API OMO_MUST_CHECK enum omo_status omo_table_open(const char *directory,
                                                      enum omo_table_kind kind,
                                                      struct omo_table **out);
/** Closes it; NULL is fine. */
OMO_API void omo_table_close(struct omo_table *table);
/** Which table it is. */
OMO_API enum omo_table_kind omo_table_kind_of(const struct omo_table *table);
/** Reads again what others have added. */
OMO_API OMO_MUST_CHECK enum omo_status omo_table_refresh(struct omo_table *table);
/** Rows, in the file's order. */
OMO_API size_t omo_table_count(const struct omo_table *table);
/** A row of the kind's struct; lent until the next append or refresh. */
OMO_API const void *omo_table_row(const struct omo_table *table, size_t index);
/** Appends a row, on disk before it returns. An empty id is filled in (random, 32 hex
 *  digits) and given back through `row`. On failure (one sentence) the file and `row` are
 *  as they were. OMO_ERR_ARG, silent, for a person without a pseudonym. */
OMO_API OMO_MUST_CHECK enum omo_status omo_table_append(struct omo_table *table,
                                                        void *row);

/** Sees to it that set-ups.csv of the record's folder has this set-up, on disk before it
 *  returns; fills in the row's id. Nothing is written when it is there already. One
 *  sentence on failure; the file and the row are then as they were. */
OMO_API OMO_MUST_CHECK enum omo_status omo_record_set_up(struct omo_record *record,
                                                         struct omo_set_up_row *row);

#ifdef __cplusplus
}
#endif

#endif
