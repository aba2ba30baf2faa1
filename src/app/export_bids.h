/** A Motion-BIDS data set in the making; the specification is BIDS 1.11.1. */
#ifndef OMO_APP_EXPORT_BIDS_H
#define OMO_APP_EXPORT_BIDS_H

#include <stdbool.h>

#include "app/export.h"

#define OMO_BIDS_CHANNELS 24

/** A column of a motion table. */
struct omo_bids_channel {
    char name[48];
    const char *component, *type, *units; /* "x", "POS", "m" */
    char point[32], placement[48];
    const char *frame; /* a level of reference_frame */
    bool good;         /* at least one value */
    enum {
        FROM_X,
        FROM_Y,
        FROM_ANGLE,
        FROM_IMAGE,
        FROM_ELBOW,
        FROM_LEAN,
        FROM_HIKE,
        FROM_LATENCY
    } from;
    int role, decimals;
};

/** One recording: a session's row with its trace and where it stands in the data set. */
struct omo_bids_recording {
    const struct omo_session_row *row;
    char person[24]; /* as omo_export_person() has it */
    struct omo_trace trace;
    char task[32], acq[32];
    int session, run;
    char stem[200];  /* "sub-P07/ses-01/motion/sub-P07_ses-01_..._run-01" */
    double m_per_px; /* NAN: places are in px */
    struct omo_bids_channel channel[OMO_BIDS_CHANNELS];
    int channels;
};

/* ---- export_bids_recording.c ---------------------------------------------------------
 */

#define OMO_BIDS_MISSING "n/a"

/** A cell and its tab or line end. */
void omo_bids_add(GString *table, const char *text, bool last);
void omo_bids_add_number(GString *table, double value, int decimals, bool last);
OMO_MUST_CHECK enum omo_status omo_bids_put(const struct omo_export_folder *folder,
                                            const char *name, const GString *text);
/** Motion, channels and events of a recording that has its trace, with their sidecars. */
OMO_MUST_CHECK enum omo_status omo_bids_recording(const struct omo_export_folder *folder,
                                                  const struct omo_export *export,
                                                  struct omo_bids_recording *recording);

/* ---- export_bids_sidecars.c ----------------------------------------------------------
 */

/** dataset_description.json, README.md, participants.json. */
OMO_MUST_CHECK enum omo_status omo_bids_describe(const struct omo_export_folder *folder);
/** The JSON files beside a recording. */
OMO_MUST_CHECK enum omo_status omo_bids_sidecars(
    const struct omo_export_folder *folder, const struct omo_export *export,
    const struct omo_bids_recording *recording);
/** What the columns of sub-*_sessions.tsv and *_scans.tsv are. */
OMO_MUST_CHECK enum omo_status omo_bids_column_sidecar(
    const struct omo_export_folder *folder, const char *name, bool scans);

#endif
