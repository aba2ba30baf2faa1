/** Pieces of a FHIR R4 Bundle, and the Observations in it. */
#ifndef OMO_APP_EXPORT_FHIR_H
#define OMO_APP_EXPORT_FHIR_H

#include <cjson/cJSON.h>

#include "app/export.h"

#define OMO_FHIR_DISCLAIMER                                                              \
    "This program is not a medical device. It is meant for information and research. "   \
    "It "                                                                                \
    "does not diagnose, treat or monitor any condition. Angles come from one camera "    \
    "and "                                                                               \
    "can be wrong by several degrees."

/* ---- pieces: export_fhir.c -----------------------------------------------------------
 */

/** A text. */
void omo_fhir_add(cJSON *object, const char *name, const char *text);
/** A list of one, whose item is taken over and returned. */
cJSON *omo_fhir_list(cJSON *object, const char *name, cJSON *item);
/** {"text": ...}, with a coding where there is a code (else NULL). */
cJSON *omo_fhir_concept(const char *system, const char *code, const char *display,
                        const char *text);
/** To another entry, by its UUID. */
void omo_fhir_reference(cJSON *object, const char *name, const char *uuid);
/** Of a person's Patient. */
void omo_fhir_patient_uuid(const struct omo_export *export, const char *person,
                           char out[37]);
/** Of a session's Device, and its camera's code. A camera and a version of the program
 *  are one device. */
void omo_fhir_device_key(const struct omo_export *export,
                         const struct omo_session_row *row, char out[37],
                         char camera[24]);

/* ---- export_fhir_observation.c: for the caller to free -------------------------------
 */

/** The angle over time. `trace` has at least one row. */
cJSON *omo_fhir_trace(const struct omo_export *export, const struct omo_session_row *row,
                      const struct omo_trace *trace);
/** The highest angle; `trace_uuid` of the trace it comes from, NULL: none. */
cJSON *omo_fhir_maximum(const struct omo_export *export,
                        const struct omo_session_row *row, const char *trace_uuid);

#endif
