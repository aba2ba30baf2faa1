/** The files a person relies on: sessions.csv and traces; durable, never overwritten. */
#ifndef OMOGON_RECORD_H
#define OMOGON_RECORD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "omogon/motion.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** One row of sessions.csv: texts are UTF-8, "" = empty; numbers NAN = empty. */
struct omo_session_row {
    char id[33];
    char person[24], visit[24];
    char started[32];
    char movement[24], side[8], source[256], position[16], mode[16], view[16], arms[8],
        placement[16], reference[16];
    double max_deg, max_u95_deg, held_max_deg, mean_of_maxima_deg, max_before_hike_deg,
        rest_deg;
    int repetitions; /**< -1 empty */
    double hike_at_max_ratio, lean_at_max_deg, trunk_rest_offset_deg, pivot_offset_ratio,
        plane_turn_deg, rotation_at_abduction_deg;
    double pain_before, pain_at_max, pain_after, pain_onset_deg, pain_end_deg;
    char stopped_by[16], end_feel[32], rater[24], set_up[33];
    double seen_ratio, frames_per_second;
    char trace[256], version[16], status[16], replaces[33], note[512];
};
/** Everything empty, but status "ok" and this library's version. */
OMO_API void omo_session_row_init(struct omo_session_row *row);

/** A person's pseudonym: [A-Za-z0-9]{1,16}, not a date. */
OMO_API bool omo_pseudonym_valid(const char *text);

/** Hash (32 hex digits of SHA-256) over content and settings, as the row's id. */
struct omo_id;
/** Never NULL. */
OMO_API struct omo_id *omo_id_create(void);
/** Adds bytes. */
OMO_API void omo_id_add(struct omo_id *id, const void *bytes, size_t size);
/** Adds "key=value\n". */
OMO_API void omo_id_add_text(struct omo_id *id, const char *key, const char *value);
/** Writes 32 digits and a NUL, and frees the hash. */
OMO_API void omo_id_finish(struct omo_id *id, char out[33]);

/** An open record: a folder, made 0700 if missing. Any thread may use it, but a row lent
 * by omo_record_row() only lasts until the next call that reads or appends. */
struct omo_record;
/** `flat` true: traces beside sessions.csv in `directory` (--out). False: traces in
 *  directory/traces. One sentence on failure: OMO_ERR_FORMAT for a sessions.csv of
 * another version or a damaged one, which is then left alone. Reads the rows that exist
 * and ends what killed runs left. A folder that cannot be written to can still be read.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_record_open(const char *directory, bool flat,
                                                       struct omo_record **out);
/** Closes it; NULL is fine. */
OMO_API void omo_record_close(struct omo_record *record);
/** True when the last row with this id is on disk and ok (re-read under the lock). */
OMO_API bool omo_record_has(struct omo_record *record, const char *id);
/** Copies the last row with this id, false when there is none. */
OMO_API bool omo_record_find(struct omo_record *record, const char *id,
                             struct omo_session_row *row);
/** Rows of sessions.csv, in the file's order. */
OMO_API size_t omo_record_count(const struct omo_record *record);
/** `index` below the count; lent, see struct omo_record. */
OMO_API const struct omo_session_row *omo_record_row(const struct omo_record *record,
                                                     size_t index);

/** A trace in the making: frames so far are on disk as whole lines. */
struct omo_trace_file;
/**
 * Claims "<stem>.trace.csv", or "<stem>-2.trace.csv" ... when that name is in the record
 * or being written by another program. A leftover of an interrupted run (no row refers to
 * it, nobody holds it) is taken over. `name_out` (256) gets the file name.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_trace_begin(
    struct omo_record *record, const char *stem, int picture_width, int picture_height,
    struct omo_trace_file **out, char *name_out);
/** Adds one measured frame (angles may still be NAN); reaches the disk within a second.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_trace_add(struct omo_trace_file *trace,
                                                     const struct omo_trace_row *row);
/** Replaces the file atomically by the finished rows, on disk before it returns. */
OMO_API OMO_MUST_CHECK enum omo_status omo_trace_finish(struct omo_trace_file *trace,
                                                        const struct omo_trace_row *rows,
                                                        size_t count);
/** Ends it; `keep` false removes the file. Kept without a row that names it, it counts as
 *  the leftover of an interrupted run. NULL is fine. */
OMO_API void omo_trace_close(struct omo_trace_file *trace, bool keep);

/** A trace read back. What its file does not hold (a marker's uncertainty) is NAN. */
struct omo_trace {
    size_t count;
    struct omo_trace_row *rows;
    int picture_width, picture_height; /**< px; 0 not known */
};
/** Reads a .trace.csv. One sentence on failure, with path and line; *out is then
 * untouched: OMO_ERR_OPEN, OMO_ERR_IO, OMO_ERR_FORMAT for a file that is no trace or a
 * damaged one, OMO_ERR_MEMORY. Free it by omo_trace_free(). */
OMO_API OMO_MUST_CHECK enum omo_status omo_trace_read(const char *path,
                                                      struct omo_trace *out);
/** Frees the rows and clears the struct. */
OMO_API void omo_trace_free(struct omo_trace *trace);

/** Appends one row: under the lock, on disk (fsync) before it returns. A half line left
 *  by a killed run is cut off first. An id whose last row has the same status and
 *  replaces the same is there already: OMO_OK, *added false. On failure the file is as it
 * was. */
OMO_API OMO_MUST_CHECK enum omo_status omo_record_append(
    struct omo_record *record, const struct omo_session_row *row, bool *added);

/** One cell of a row: column name, text as in the file (without the apostrophe that
 * guards a text from being run as a formula), and whether it is a number. */
struct omo_session_field {
    const char *name;
    char text[520];
    bool is_number;
};
/** Fills the index-th column of a row; false past the last. */
OMO_API bool omo_session_field(const struct omo_session_row *row, int index,
                               struct omo_session_field *field);

/** Header line of sessions.csv / a trace, without the line end; constant. */
OMO_API const char *omo_session_header(void);
/** Of a trace. */
OMO_API const char *omo_trace_header(void);

#ifdef __cplusplus
}
#endif

#endif
