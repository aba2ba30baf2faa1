/** Wires source -> vision -> motion: the frames of one source, tracked and measured. */
#ifndef OMO_APP_PIPELINE_H
#define OMO_APP_PIPELINE_H

#include "app/options.h"
#include "omogon/source.h"

/** All frames of a source with their markers; grows. Zero-initialise. */
struct omo_tracked {
    struct omo_track_frame *frame;
    size_t count, room;
};
void omo_tracked_finish(struct omo_tracked *tracked);

/** Called after each frame, with both arms once for each: `side` by enum omo_side, 0 for
 *  one arm. False ends the reading. */
typedef bool (*omo_frame_hook)(const struct omo_track_frame *frame, int side, void *user);

/**
 * Reads a source to its end. OMO_OK at the end, OMO_ERR_DAMAGED when it broke off (what
 * came before is in *tracked), OMO_ERR_CANCELLED when the hook ended it.
 */
OMO_MUST_CHECK enum omo_status omo_track_source(struct omo_source *source,
                                                struct omo_tracker *tracker,
                                                omo_frame_hook hook, void *user,
                                                struct omo_tracked *tracked);

/** The same for both arms at once; *tracked has two places, by enum omo_side. */
OMO_MUST_CHECK enum omo_status omo_track_pair(struct omo_source *source,
                                              struct omo_pair *pair, omo_frame_hook hook,
                                              void *user, struct omo_tracked *tracked);

/** Which picture to write of a measured movement. */
struct omo_highest {
    const struct omo_trace_row *row; /**< the highest frame's row */
    const struct omo_result *result;
    const struct omo_measure_settings *settings;
    const struct omo_session_row *session;
    bool show_head;
};
/** Reads a fresh source up to that frame and writes it annotated to `path`. */
OMO_MUST_CHECK enum omo_status omo_highest_write(struct omo_source *source,
                                                 const struct omo_highest *highest,
                                                 const char *path);

/** The row with this frame number, or NULL. */
const struct omo_trace_row *omo_row_of_frame(const struct omo_trace_row *rows,
                                             size_t count, int64_t frame);

/** Fills the figures of a result into a row. */
void omo_row_fill(struct omo_session_row *row, const struct omo_result *result);

/** Adds a sentence to the row's note. */
void omo_row_note(struct omo_session_row *row, const char *sentence);

/** One line for people: "flexion, right, standing: 118.2 degrees, good to 6.1 ...". */
void omo_row_text(const struct omo_session_row *row, char *text, size_t size);

struct cJSON;
/** Adds a cell under its column's name; an empty number is null. */
void omo_json_add_field(struct cJSON *object, const struct omo_session_field *field);
/** A row as a JSON object, keys as the columns of sessions.csv; to be deleted or added to
 *  an array. */
struct cJSON *omo_row_json(const struct omo_session_row *row);
/** Prints an array of such objects on standard output and deletes it. */
void omo_json_print(struct cJSON *array);
/** Its text with a line end, g_free() it, and deletes it; NULL: no memory. */
char *omo_json_lines(struct cJSON *json);

#endif
