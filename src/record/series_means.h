/** Settings by name and text into what a clip is tracked and measured with. */
#ifndef RECORD_SERIES_MEANS_H
#define RECORD_SERIES_MEANS_H

#include "omogon/motion.h"
#include "omogon/vision.h"

enum series_name {
    SERIES_MOVEMENT,
    SERIES_SIDE,
    SERIES_POSITION,
    SERIES_FROM,
    SERIES_FACING,
    SERIES_MIRRORED,
    SERIES_COLOURS,
    SERIES_PLACEMENT,
    SERIES_SHOULDER_MARKER,
    SERIES_MARKER_SIZE,
    SERIES_CUTOFF,
    SERIES_START,
    SERIES_END,
    SERIES_NAMES
};
extern const char *const omo_series_names[SERIES_NAMES];

struct series_means {
    struct omo_tracker_settings tracker;
    struct omo_measure_settings measure; /* its movement is lent by the table */
    double start_s, end_s;               /* NAN: open */
};

/** `setting` has a text or NULL for every name. One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_series_means(const struct omo_movement_table *table,
                                                char *const *setting,
                                                struct series_means *means);

#endif
