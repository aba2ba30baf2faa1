/* An HL7 FHIR R4 Bundle. Codes stand in one table; what has no code that was verified is
 * said in words alone. Rules that schemas let through are kept here: one value or a
 * reason for none, no empty list or text, every reference to something in the Bundle. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cjson/cJSON.h>

#include "app/export.h"
#include "app/export_codes.h"
#include "app/output_file.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"

#define LOINC     "http://loinc.org"
#define SNOMED    "http://snomed.info/sct"
#define UCUM      "http://unitsofmeasure.org"
#define CATEGORY  "http://terminology.hl7.org/CodeSystem/observation-category"
#define NO_DATA   "http://terminology.hl7.org/CodeSystem/data-absent-reason"
#define PERIOD_MS 40.0 /* of traces: 25 a second */
#define GAP_S     0.1  /* wider ones stay empty */
#define DISCLAIMER                                                                       \
    "This program is not a medical device. It is meant for information and research. "   \
    "It "                                                                                \
    "does not diagnose, treat or monitor any condition. Angles come from one camera "    \
    "and "                                                                               \
    "can be wrong by several degrees."

/* Read word for word in published implementation guides. */
#define PAIN_CODE    "72514-3"
#define PAIN_DISPLAY "Pain severity - 0-10 verbal numeric rating [Score] - Reported"

/* ---- pieces --------------------------------------------------------------------------
 */

static void add(cJSON *object, const char *name, const char *text)
{
    cJSON_AddStringToObject(object, name, text);
}

static cJSON *list(cJSON *object, const char *name, cJSON *item)
{
    cJSON *array = cJSON_AddArrayToObject(object, name);
    cJSON_AddItemToArray(array, item);
    return item;
}

/** {"text": ...}, with a coding where there is a code. */
static cJSON *concept(const char *system, const char *code, const char *display,
                      const char *text)
{
    cJSON *object = cJSON_CreateObject();
    if (code) {
        cJSON *coding = list(object, "coding", cJSON_CreateObject());
        add(coding, "system", system);
        add(coding, "code", code);
        add(coding, "display", display);
    }
    add(object, "text", text);
    return object;
}

static cJSON *quantity(double value, int decimals, const char *unit)
{
    char text[40];
    cJSON *object = cJSON_CreateObject();
    omo_number_text(value, decimals, text, sizeof text);
    cJSON_AddItemToObject(object, "value", cJSON_CreateRaw(text));
    add(object, "unit", unit);
    add(object, "system", UCUM);
    add(object, "code", unit);
    return object;
}

static void reference(cJSON *object, const char *name, const char *uuid)
{
    g_autofree char *urn = g_strconcat("urn:uuid:", uuid, NULL);
    cJSON *to = cJSON_AddObjectToObject(object, name);
    add(to, "reference", urn);
}

/** Takes the resource over. */
static void add_entry(cJSON *entries, const char *uuid, cJSON *resource)
{
    g_autofree char *urn = g_strconcat("urn:uuid:", uuid, NULL);
    cJSON *entry = cJSON_CreateObject();
    add(entry, "fullUrl", urn);
    cJSON_AddItemToObject(entry, "resource", resource);
    cJSON_AddItemToArray(entries, entry);
}

/* ---- who and with what ---------------------------------------------------------------
 */

static cJSON *identifier(const struct omo_export *export, const char *value)
{
    g_autofree char *system = g_strconcat("urn:uuid:", export->installation, NULL);
    cJSON *object = cJSON_CreateObject();
    add(object, "system", system);
    add(object, "value", value);
    return object;
}

static void patient_uuid(const struct omo_export *export, const char *person,
                         char out[37])
{
    g_autofree char *key = g_strdup_printf("%s %s", export->installation, person);
    omo_export_uuid("patient", key, out);
}

/** A camera and a version of the program are one device. */
static void device_key(const struct omo_export *export, const struct omo_session_row *row,
                       char out[37], char camera[24])
{
    const struct omo_set_up_row *set_up = omo_export_set_up(export, row);
    g_autofree char *key =
        g_strdup_printf("%s %s", set_up ? set_up->camera : "", row->version);
    char uuid[37];
    omo_export_uuid("device", key, out);
    omo_export_uuid("camera", set_up ? set_up->camera : "", uuid);
    snprintf(camera, 24, "camera-%.8s", uuid);
}

static cJSON *patient(const struct omo_export *export, const char *person)
{
    cJSON *resource = cJSON_CreateObject();
    add(resource, "resourceType", "Patient");
    cJSON *id = list(resource, "identifier", identifier(export, person));
    add(id, "use", "secondary");
    cJSON *type = cJSON_AddObjectToObject(id, "type");
    add(type, "text", "pseudonym");
    return resource;
}

static cJSON *device(const struct omo_export *export, const struct omo_session_row *row,
                     const char *camera)
{
    cJSON *resource = cJSON_CreateObject();
    add(resource, "resourceType", "Device");
    list(resource, "identifier", identifier(export, camera));
    add(resource, "status", "active");
    add(resource, "manufacturer", "omogon project");
    cJSON *name = list(resource, "deviceName", cJSON_CreateObject());
    add(name, "name", "omogon");
    add(name, "type", "user-friendly-name");
    cJSON *version = list(resource, "version", cJSON_CreateObject());
    cJSON *type = cJSON_AddObjectToObject(version, "type");
    add(type, "text", "software version");
    add(version, "value", row->version[0] ? row->version : OMO_VERSION);
    cJSON *note = list(resource, "note", cJSON_CreateObject());
    add(note, "text", DISCLAIMER);
    return resource;
}

/* ---- what was measured ---------------------------------------------------------------
 */

static void body_site(cJSON *resource, const struct omo_session_row *row)
{
    bool left = !strcmp(row->side, "left"), right = !strcmp(row->side, "right");
    cJSON_AddItemToObject(resource, "bodySite",
                          concept(SNOMED,
                                  left    ? "91775009"
                                  : right ? "91774008"
                                          : NULL,
                                  left ? "Structure of left shoulder region"
                                       : "Structure of right shoulder region",
                                  left    ? "Left shoulder"
                                  : right ? "Right shoulder"
                                          : "Shoulder"));
}

/** What trace and maximum share. */
static cJSON *observation(const struct omo_export *export,
                          const struct omo_session_row *row, cJSON *code)
{
    char uuid[37], camera[24], text[400];
    cJSON *resource = cJSON_CreateObject();
    add(resource, "resourceType", "Observation");
    add(resource, "status", "preliminary"); /* until a professional has looked */
    cJSON *category = list(resource, "category", cJSON_CreateObject());
    cJSON *coding = list(category, "coding", cJSON_CreateObject());
    add(coding, "system", CATEGORY);
    add(coding, "code", "exam");
    add(coding, "display", "Exam");
    cJSON_AddItemToObject(resource, "code", code);
    patient_uuid(export, row->person, uuid);
    reference(resource, "subject", uuid);
    body_site(resource, row);
    snprintf(
        text, sizeof text,
        "Planar angle from coloured markers in one camera's picture: %s; %s, %s, view "
        "%s, against %s; corrected for the marker's distance from the joint and the "
        "turn of the plane where that could be told",
        omo_export_quantity(row), row->mode[0] ? row->mode : "active",
        row->position[0] ? row->position : "position not known",
        row->view[0] ? row->view : "not known",
        row->reference[0] ? row->reference : "the vertical");
    cJSON_AddItemToObject(resource, "method", concept(NULL, NULL, NULL, text));
    device_key(export, row, uuid, camera);
    reference(resource, "device", uuid);
    return resource;
}

/** "2026-11-24T10:05:00Z"; with the date alone where it is shifted, since a time of FHIR
 *  needs an offset and a shifted one has none. */
static void time_of(const struct omo_export *export, const struct omo_session_row *row,
                    char *out, size_t size)
{
    omo_export_time(export, row, export->share, 0, out, size);
    if (export->share)
        out[10] = '\0';
}

/** The trace at even times, decimals separated by one blank, E where there is none. */
static char *sampled(const struct omo_trace *trace)
{
    GString *data = g_string_new(NULL);
    double begin_s = trace->rows[0].time_s;
    double took_s = trace->rows[trace->count - 1].time_s - begin_s;
    size_t at = 0;
    for (long i = 0; (double)i * PERIOD_MS <= took_s * 1000; i++) {
        double time_s = begin_s + (double)i * PERIOD_MS / 1000;
        while (at + 1 < trace->count && trace->rows[at + 1].time_s <= time_s)
            at++;
        const struct omo_trace_row *a = &trace->rows[at];
        const struct omo_trace_row *b = &trace->rows[at + 1 < trace->count ? at + 1 : at];
        double wide_s = b->time_s - a->time_s;
        double share = wide_s > 0 ? (time_s - a->time_s) / wide_s : 0;
        double deg = share > 0 ? a->angle_deg + share * (b->angle_deg - a->angle_deg)
                               : a->angle_deg;
        char text[40];
        omo_number_text(wide_s <= GAP_S ? deg : (double)NAN, 2, text, sizeof text);
        g_string_append_printf(data, "%s%s", data->len ? " " : "", text[0] ? text : "E");
    }
    return g_string_free(data, FALSE);
}

static cJSON *trace_observation(const struct omo_export *export,
                                const struct omo_session_row *row,
                                const struct omo_trace *trace)
{
    char text[200], time[40];
    snprintf(text, sizeof text, "%s shoulder, %s: angle over time",
             !strcmp(row->side, "left") ? "Left" : "Right", row->movement);
    cJSON *resource = observation(export, row, concept(NULL, NULL, NULL, text));
    time_of(export, row, time, sizeof time);
    add(resource, "effectiveDateTime", time);
    cJSON *data = cJSON_AddObjectToObject(resource, "valueSampledData");
    cJSON_AddItemToObject(data, "origin", quantity(0, 0, "deg"));
    cJSON_AddItemToObject(data, "period", cJSON_CreateRaw("40"));
    cJSON_AddItemToObject(data, "factor", cJSON_CreateRaw("1"));
    cJSON_AddItemToObject(data, "dimensions", cJSON_CreateRaw("1"));
    g_autofree char *values = sampled(trace);
    add(data, "data", values);
    return resource;
}

static void add_component(cJSON **components, cJSON *resource, cJSON *code, cJSON *value)
{
    if (!*components)
        *components = cJSON_AddArrayToObject(resource, "component");
    cJSON *component = cJSON_CreateObject();
    cJSON_AddItemToObject(component, "code", code);
    cJSON_AddItemToObject(component, "valueQuantity", value);
    cJSON_AddItemToArray(*components, component);
}

static cJSON *code_of(const struct omo_session_row *row)
{
    char text[200];
    const char *code = NULL, *display = NULL;
    snprintf(text, sizeof text, "%s shoulder, %s %s, highest angle of the session",
             !strcmp(row->side, "left") ? "Left" : "Right",
             row->mode[0] ? row->mode : "active", row->movement);
    export_loinc(row, &code, &display);
    return concept(LOINC, code, display, text);
}

static cJSON *maximum(const struct omo_export *export, const struct omo_session_row *row,
                      const char *trace_uuid)
{
    char time[40];
    cJSON *components = NULL;
    cJSON *resource = observation(export, row, code_of(row));
    time_of(export, row, time, sizeof time);
    add(resource, "effectiveDateTime", time);
    if (isfinite(row->max_deg))
        cJSON_AddItemToObject(resource, "valueQuantity",
                              quantity(row->max_deg, 3, "deg"));
    else
        cJSON_AddItemToObject(resource, "dataAbsentReason",
                              concept(NO_DATA, "error", "Error",
                                      "no angle was measured"));
    if (trace_uuid) {
        g_autofree char *urn = g_strconcat("urn:uuid:", trace_uuid, NULL);
        cJSON *from = list(resource, "derivedFrom", cJSON_CreateObject());
        add(from, "reference", urn);
    }
    cJSON *note = list(resource, "note", cJSON_CreateObject());
    add(note, "text", DISCLAIMER);
    const struct {
        double value;
        const char *words;
    } degrees[] = {{row->max_u95_deg, "Expanded uncertainty of the highest angle, k = 2"},
                   {row->mean_of_maxima_deg, "Mean of the repetitions' highest angles"},
                   {row->max_before_hike_deg,
                    "Highest angle before the shoulder girdle rose or the trunk leaned"},
                   {row->pain_onset_deg, "Angle at which pain was marked to begin"}};
    for (size_t i = 0; i < G_N_ELEMENTS(degrees); i++)
        if (isfinite(degrees[i].value))
            add_component(&components, resource,
                          concept(NULL, NULL, NULL, degrees[i].words),
                          quantity(degrees[i].value, 3, "deg"));
    if (isfinite(row->pain_at_max))
        add_component(&components, resource,
                      concept(LOINC, PAIN_CODE, PAIN_DISPLAY,
                              "Pain at the highest angle"),
                      quantity(row->pain_at_max, 1, "{score}"));
    return resource;
}

/* ---- the Bundle ----------------------------------------------------------------------
 */

/** Adds what a session refers to, where it is not there yet. */
static void add_referred(const struct omo_export *export,
                         const struct omo_session_row *row, GHashTable *there,
                         cJSON *entries)
{
    char uuid[37], camera[24];
    patient_uuid(export, row->person, uuid);
    if (g_hash_table_add(there, g_strdup(uuid)))
        add_entry(entries, uuid, patient(export, row->person));
    device_key(export, row, uuid, camera);
    if (g_hash_table_add(there, g_strdup(uuid)))
        add_entry(entries, uuid, device(export, row, camera));
}

static enum omo_status add_session(const struct omo_export *export,
                                   const struct omo_session_row *row, cJSON *entries)
{
    char trace_uuid[37], uuid[37];
    struct omo_trace trace;
    enum omo_status status = omo_export_trace(export, row, &trace);
    bool has_trace = status == OMO_OK;
    if (status != OMO_OK && status != OMO_ERR_EMPTY)
        return status;
    omo_export_uuid("trace", row->id, trace_uuid);
    omo_export_uuid("maximum", row->id, uuid);
    if (has_trace) {
        add_entry(entries, trace_uuid, trace_observation(export, row, &trace));
        omo_trace_free(&trace);
    }
    add_entry(entries, uuid, maximum(export, row, has_trace ? trace_uuid : NULL));
    return OMO_OK;
}

/** Of what is in it, so that the same sessions are the same Bundle. */
static void bundle_uuid(const struct omo_export *export, char out[37])
{
    g_autoptr(GString) ids = g_string_new(export->share ? "shared" : "");
    for (guint i = 0; i < export->rows->len; i++)
        g_string_append(
            ids,
            ((const struct omo_session_row *)g_ptr_array_index(export->rows, i))->id);
    omo_export_uuid("bundle", ids->str, out);
}

enum omo_status omo_export_fhir(const struct omo_export *export, const char *target)
{
    char uuid[37];
    if (!omo_output_free(target, "to", false))
        return OMO_ERR_OPEN;
    g_autoptr(GHashTable) there =
        g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    cJSON *bundle = cJSON_CreateObject();
    add(bundle, "resourceType", "Bundle");
    bundle_uuid(export, uuid);
    g_autofree char *urn = g_strconcat("urn:uuid:", uuid, NULL);
    add(bundle, "id", uuid);
    cJSON *meta = cJSON_AddObjectToObject(bundle, "meta");
    cJSON *tag = list(meta, "tag", cJSON_CreateObject());
    add(tag, "system", "http://terminology.hl7.org/CodeSystem/v3-ObservationValue");
    add(tag, "code", "PSEUDED");
    add(tag, "display", "pseudonymized");
    cJSON *own = cJSON_AddObjectToObject(bundle, "identifier");
    add(own, "system", "urn:ietf:rfc:3986");
    add(own, "value", urn);
    add(bundle, "type", "collection");
    cJSON *entries = cJSON_AddArrayToObject(bundle, "entry");
    enum omo_status status = OMO_OK;
    for (guint i = 0; status == OMO_OK && i < export->rows->len; i++) {
        const struct omo_session_row *row = g_ptr_array_index(export->rows, i);
        add_referred(export, row, there, entries);
        status = add_session(export, row, entries);
    }
    char *text = status == OMO_OK ? cJSON_Print(bundle) : NULL;
    cJSON_Delete(bundle);
    if (status == OMO_OK && !text)
        status = OMO_ERR_MEMORY;
    if (status == OMO_OK) {
        g_autofree char *lines = g_strconcat(text, "\n", NULL);
        status = omo_file_write_atomic(target, lines, strlen(lines), 0600);
    }
    free(text);
    return status;
}
