/**
 * A clip as columns of numbers, for programs that want to compute on: measured as
 * "omogon trace" does it, with the names of its files. Settings and figures go by name
 * and text, so that a program in another language needs no struct of ours.
 *
 *     struct omo_series *series = omo_series_create();
 *     omo_series_set(series, "movement", "flexion");
 *     omo_series_set(series, "side", "right");
 *     if (omo_series_measure(series, "clip.mp4") == OMO_OK)
 *         for (size_t i = 0; i < omo_series_length(series); i++)
 *             use(omo_series_column(series, "angle_deg")[i]);
 *     omo_series_destroy(series);
 */
#ifndef OMOGON_SERIES_H
#define OMOGON_SERIES_H

#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

struct omo_series;

/** One thread at a time; several of them are independent. NULL: no memory. */
OMO_API struct omo_series *omo_series_create(void);
/** NULL is fine. Columns and texts that it lent end here. */
OMO_API void omo_series_destroy(struct omo_series *series);

/**
 * A setting by the name of the option of "omogon trace": movement and side (both needed),
 * position, from, facing, mirrored (yes, no), colours, placement, shoulder-marker,
 * marker-size, cutoff, start, end. Numbers have a dot. "" takes the default again.
 * OMO_ERR_ARG, silent, for a name that is none; a value is judged when a clip is
 * measured.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_series_set(struct omo_series *series,
                                                      const char *name,
                                                      const char *value);

/**
 * Measures a clip, or the stretch from start to end; writes nothing. One sentence on
 * failure (omogon/log.h): OMO_ERR_ARG for a setting; OMO_ERR_OPEN, OMO_ERR_FORMAT and
 * OMO_ERR_DAMAGED as omo_clip_open(); OMO_ERR_EMPTY when no frame has an angle, with the
 * columns there all the same; OMO_ERR_MEMORY. A clip that breaks off is measured as far
 * as it goes, with a warning. After any other failure the series is empty.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_series_measure(struct omo_series *series,
                                                          const char *clip);

/** Frames, one value each in every column; 0 before anything was measured. */
OMO_API size_t omo_series_length(const struct omo_series *series);
/** The name of the index-th column, as in a trace file; NULL past the last. */
OMO_API const char *omo_series_column_name(int index);
/**
 * A column of numbers by its name: frame, time_s, angle_deg and so on; NAN is an empty
 * cell. Lent until the next measuring. NULL for a name that is none, and for the two
 * columns of words (reference, quality).
 */
OMO_API const double *omo_series_column(const struct omo_series *series,
                                        const char *name);
/** The word in column "quality" or "reference" of a frame; lent until the next call. NULL
 *  out of range. */
OMO_API const char *omo_series_word(struct omo_series *series, const char *name,
                                    size_t frame);
/** A figure of the whole by its column of sessions.csv: max_deg, max_u95_deg, rest_deg,
 *  repetitions and so on. NAN: empty, or no such figure. */
OMO_API double omo_series_figure(const struct omo_series *series, const char *name);
/** Sentences on what was assumed and what was missing; "" none. Lent as the columns. */
OMO_API const char *omo_series_note(const struct omo_series *series);

#ifdef __cplusplus
}
#endif

#endif
