/* Observations of the Bundle: a session's highest angle, and the trace behind it. What
 * has no code that was verified is said in words alone. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/export_codes.h"
#include "app/export_fhir.h"
#include "omogon/text.h"

#define LOINC     "http://loinc.org"
#define SNOMED    "http://snomed.info/sct"
#define UCUM      "http://unitsofmeasure.org"
#define CATEGORY  "http://terminology.hl7.org/CodeSystem/observation-category"
#define NO_DATA   "http://terminology.hl7.org/CodeSystem/data-absent-reason"
#define PERIOD_MS 40.0 /* of traces: 25 a second */
#define GAP_S     0.1  /* wider ones stay empty */

/* Read word for word in published implementation guides. */
#define PAIN_CODE    "72514-3"
#define PAIN_DISPLAY "Pain severity - 0-10 verbal numeric rating [Score] - Reported"
#define PAIN_MOST    10 /* of that scale, whose least is 0 */

static cJSON *quantity(double value, int decimals, const char *unit)
{
    char text[40];
    cJSON *object = cJSON_CreateObject();
    omo_number_text(value, decimals, text, sizeof text);
    cJSON_AddItemToObject(object, "value", cJSON_CreateRaw(text));
    omo_fhir_add(object, "unit", unit);
    omo_fhir_add(object, "system", UCUM);
    omo_fhir_add(object, "code", unit);
    return object;
}

/** A movement that has no side has a shoulder all the same. */
static const char *shoulder(const struct omo_session_row *row)
{
    return !strcmp(row->side, "left")    ? "Left shoulder"
           : !strcmp(row->side, "right") ? "Right shoulder"
                                         : "Shoulder";
}

static void body_site(cJSON *resource, const struct omo_session_row *row)
{
    const char *code = NULL, *display = NULL;
    if (!strcmp(row->side, "left")) {
        code = "91775009";
        display = "Structure of left shoulder region";
    } else if (!strcmp(row->side, "right")) {
        code = "91774008";
        display = "Structure of right shoulder region";
    }
    cJSON_AddItemToObject(resource, "bodySite",
                          omo_fhir_concept(SNOMED, code, display, shoulder(row)));
}

/** What trace and maximum share. */
static cJSON *observation(const struct omo_export *export,
                          const struct omo_session_row *row, cJSON *code)
{
    char uuid[37], camera[24], text[400];
    cJSON *resource = cJSON_CreateObject();
    omo_fhir_add(resource, "resourceType", "Observation");
    omo_fhir_add(resource, "status", "preliminary"); /* until a professional has looked */
    cJSON *category = omo_fhir_list(resource, "category", cJSON_CreateObject());
    cJSON *coding = omo_fhir_list(category, "coding", cJSON_CreateObject());
    omo_fhir_add(coding, "system", CATEGORY);
    omo_fhir_add(coding, "code", "exam");
    omo_fhir_add(coding, "display", "Exam");
    cJSON_AddItemToObject(resource, "code", code);
    omo_fhir_patient_uuid(export, row->person, uuid);
    omo_fhir_reference(resource, "subject", uuid);
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
    cJSON_AddItemToObject(resource, "method", omo_fhir_concept(NULL, NULL, NULL, text));
    omo_fhir_device_key(export, row, uuid, camera);
    omo_fhir_reference(resource, "device", uuid);
    return resource;
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

cJSON *omo_fhir_trace(const struct omo_export *export, const struct omo_session_row *row,
                      const struct omo_trace *trace)
{
    char text[200], time[40];
    snprintf(text, sizeof text, "%s, %s: angle over time", shoulder(row), row->movement);
    cJSON *resource = observation(export, row, omo_fhir_concept(NULL, NULL, NULL, text));
    omo_export_instant(export, row, time);
    omo_fhir_add(resource, "effectiveDateTime", time);
    cJSON *data = cJSON_AddObjectToObject(resource, "valueSampledData");
    cJSON_AddItemToObject(data, "origin", quantity(0, 0, "deg"));
    cJSON_AddItemToObject(data, "period", cJSON_CreateRaw("40"));
    cJSON_AddItemToObject(data, "factor", cJSON_CreateRaw("1"));
    cJSON_AddItemToObject(data, "dimensions", cJSON_CreateRaw("1"));
    g_autofree char *values = sampled(trace);
    omo_fhir_add(data, "data", values);
    return resource;
}

static cJSON *code_of(const struct omo_session_row *row)
{
    char text[200];
    const char *code = NULL, *display = NULL;
    snprintf(text, sizeof text, "%s, %s %s, highest angle of the session", shoulder(row),
             row->mode[0] ? row->mode : "active", row->movement);
    omo_export_loinc(row, &code, &display);
    return omo_fhir_concept(LOINC, code, display, text);
}

/** A part of the highest angle's Observation. Takes code and `value` over, which is
 *  called `name`; the list is there once it has one. */
static void add_component(cJSON *resource, cJSON *code, const char *name, cJSON *value)
{
    cJSON *components = cJSON_GetObjectItem(resource, "component");
    if (!components)
        components = cJSON_AddArrayToObject(resource, "component");
    cJSON *component = cJSON_CreateObject();
    cJSON_AddItemToObject(component, "code", code);
    cJSON_AddItemToObject(component, name, value);
    cJSON_AddItemToArray(components, component);
}

static void add_degrees(cJSON *resource, const struct omo_session_row *row)
{
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
            add_component(resource, omo_fhir_concept(NULL, NULL, NULL, degrees[i].words),
                          "valueQuantity", quantity(degrees[i].value, 3, "deg"));
}

/** The code's scale has the eleven whole numbers from 0 to 10: what else was told is no
 *  value of it, so it has neither the code nor a value, and stands in the reason. */
static void add_pain(cJSON *resource, const struct omo_session_row *row)
{
    static const char words[] = "Pain at the highest angle";
    double pain = row->pain_at_max;
    char told[40], text[120];
    if (!isfinite(pain))
        return;
    if (pain >= 0 && pain <= PAIN_MOST && pain == floor(pain)) {
        add_component(resource, omo_fhir_concept(LOINC, PAIN_CODE, PAIN_DISPLAY, words),
                      "valueQuantity", quantity(pain, 0, "{score}"));
        return;
    }
    omo_number_text(pain, 1, told, sizeof told);
    snprintf(text, sizeof text, "told as %s, which is no whole number from 0 to 10",
             told);
    add_component(resource, omo_fhir_concept(NULL, NULL, NULL, words), "dataAbsentReason",
                  omo_fhir_concept(NO_DATA, "error", "Error", text));
}

cJSON *omo_fhir_maximum(const struct omo_export *export,
                        const struct omo_session_row *row, const char *trace_uuid)
{
    char time[40];
    cJSON *resource = observation(export, row, code_of(row));
    omo_export_instant(export, row, time);
    omo_fhir_add(resource, "effectiveDateTime", time);
    if (isfinite(row->max_deg))
        cJSON_AddItemToObject(resource, "valueQuantity",
                              quantity(row->max_deg, 3, "deg"));
    else
        cJSON_AddItemToObject(resource, "dataAbsentReason",
                              omo_fhir_concept(NO_DATA, "error", "Error",
                                               "no angle was measured"));
    if (trace_uuid) {
        g_autofree char *urn = g_strconcat("urn:uuid:", trace_uuid, NULL);
        cJSON *from = omo_fhir_list(resource, "derivedFrom", cJSON_CreateObject());
        omo_fhir_add(from, "reference", urn);
    }
    cJSON *note = omo_fhir_list(resource, "note", cJSON_CreateObject());
    omo_fhir_add(note, "text", OMO_FHIR_DISCLAIMER);
    add_degrees(resource, row);
    add_pain(resource, row);
    return resource;
}
