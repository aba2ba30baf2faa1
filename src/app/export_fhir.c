/* An HL7 FHIR R4 Bundle: the Bundle, who it is about and what measured; the Observations
 * are in export_fhir_observation.c. Rules that schemas let through are kept here: one
 * value or a reason for none, no empty list or text, every reference to something in the
 * Bundle. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/export_fhir.h"
#include "app/output_file.h"
#include "omogon/files.h"
#include "omogon/log.h"

/* ---- pieces --------------------------------------------------------------------------
 */

void omo_fhir_add(cJSON *object, const char *name, const char *text)
{
    cJSON_AddStringToObject(object, name, text);
}

cJSON *omo_fhir_list(cJSON *object, const char *name, cJSON *item)
{
    cJSON *array = cJSON_AddArrayToObject(object, name);
    cJSON_AddItemToArray(array, item);
    return item;
}

cJSON *omo_fhir_concept(const char *system, const char *code, const char *display,
                        const char *text)
{
    cJSON *object = cJSON_CreateObject();
    if (code) {
        cJSON *coding = omo_fhir_list(object, "coding", cJSON_CreateObject());
        omo_fhir_add(coding, "system", system);
        omo_fhir_add(coding, "code", code);
        omo_fhir_add(coding, "display", display);
    }
    omo_fhir_add(object, "text", text);
    return object;
}

void omo_fhir_reference(cJSON *object, const char *name, const char *uuid)
{
    g_autofree char *urn = g_strconcat("urn:uuid:", uuid, NULL);
    cJSON *to = cJSON_AddObjectToObject(object, name);
    omo_fhir_add(to, "reference", urn);
}

/** Takes the resource over. */
static void add_entry(cJSON *entries, const char *uuid, cJSON *resource)
{
    g_autofree char *urn = g_strconcat("urn:uuid:", uuid, NULL);
    cJSON *entry = cJSON_CreateObject();
    omo_fhir_add(entry, "fullUrl", urn);
    cJSON_AddItemToObject(entry, "resource", resource);
    cJSON_AddItemToArray(entries, entry);
}

/* ---- who and with what ---------------------------------------------------------------
 */

static cJSON *identifier(const struct omo_export *export, const char *value)
{
    g_autofree char *system = g_strconcat("urn:uuid:", export->installation, NULL);
    cJSON *object = cJSON_CreateObject();
    omo_fhir_add(object, "system", system);
    omo_fhir_add(object, "value", value);
    return object;
}

void omo_fhir_patient_uuid(const struct omo_export *export, const char *person,
                           char out[37])
{
    g_autofree char *key = g_strdup_printf("%s %s", export->installation, person);
    omo_export_uuid(export, "patient", key, out);
}

void omo_fhir_device_key(const struct omo_export *export,
                         const struct omo_session_row *row, char out[37], char camera[24])
{
    const struct omo_set_up_row *set_up = omo_export_set_up(export, row);
    g_autofree char *key =
        g_strdup_printf("%s %s", set_up ? set_up->camera : "", row->version);
    char uuid[37];
    omo_export_uuid(export, "device", key, out);
    omo_export_uuid(export, "camera", set_up ? set_up->camera : "", uuid);
    snprintf(camera, 24, "camera-%.8s", uuid);
}

static cJSON *patient(const struct omo_export *export, const char *person)
{
    char code[24];
    cJSON *resource = cJSON_CreateObject();
    omo_export_person(export, person, code);
    omo_fhir_add(resource, "resourceType", "Patient");
    cJSON *id = omo_fhir_list(resource, "identifier", identifier(export, code));
    omo_fhir_add(id, "use", "secondary");
    cJSON *type = cJSON_AddObjectToObject(id, "type");
    omo_fhir_add(type, "text", "pseudonym");
    return resource;
}

static cJSON *device(const struct omo_export *export, const struct omo_session_row *row,
                     const char *camera)
{
    cJSON *resource = cJSON_CreateObject();
    omo_fhir_add(resource, "resourceType", "Device");
    omo_fhir_list(resource, "identifier", identifier(export, camera));
    omo_fhir_add(resource, "status", "active");
    omo_fhir_add(resource, "manufacturer", "omogon project");
    cJSON *name = omo_fhir_list(resource, "deviceName", cJSON_CreateObject());
    omo_fhir_add(name, "name", "omogon");
    omo_fhir_add(name, "type", "user-friendly-name");
    cJSON *version = omo_fhir_list(resource, "version", cJSON_CreateObject());
    cJSON *type = cJSON_AddObjectToObject(version, "type");
    omo_fhir_add(type, "text", "software version");
    omo_fhir_add(version, "value", row->version[0] ? row->version : OMO_VERSION);
    cJSON *note = omo_fhir_list(resource, "note", cJSON_CreateObject());
    omo_fhir_add(note, "text", OMO_FHIR_DISCLAIMER);
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
    omo_fhir_patient_uuid(export, row->person, uuid);
    if (g_hash_table_add(there, g_strdup(uuid)))
        add_entry(entries, uuid, patient(export, row->person));
    omo_fhir_device_key(export, row, uuid, camera);
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
    omo_export_uuid(export, "trace", row->id, trace_uuid);
    omo_export_uuid(export, "maximum", row->id, uuid);
    if (has_trace) {
        add_entry(entries, trace_uuid, omo_fhir_trace(export, row, &trace));
        omo_trace_free(&trace);
    }
    add_entry(entries, uuid,
              omo_fhir_maximum(export, row, has_trace ? trace_uuid : NULL));
    return OMO_OK;
}

/** Of what is in it, so that the same sessions are the same Bundle. */
static void bundle_uuid(const struct omo_export *export, char out[37])
{
    g_autoptr(GString) ids = g_string_new(NULL);
    for (guint i = 0; i < export->rows->len; i++)
        g_string_append(
            ids,
            ((const struct omo_session_row *)g_ptr_array_index(export->rows, i))->id);
    omo_export_uuid(export, "bundle", ids->str, out);
}

/** That of the newest session in it, and not the clock's: the same sessions are the same
 *  Bundle, and the day of a shared copy's making would tell of its sessions' days. */
static void newest_time(const struct omo_export *export, char out[40])
{
    out[0] = '\0';
    for (guint i = 0; i < export->rows->len; i++) {
        char time[40];
        omo_export_instant(export, g_ptr_array_index(export->rows, i), time);
        if (strcmp(time, out) > 0)
            snprintf(out, 40, "%s", time);
    }
}

/** All but its entries. */
static cJSON *empty_bundle(const struct omo_export *export)
{
    char uuid[37], time[40];
    cJSON *bundle = cJSON_CreateObject();
    omo_fhir_add(bundle, "resourceType", "Bundle");
    bundle_uuid(export, uuid);
    g_autofree char *urn = g_strconcat("urn:uuid:", uuid, NULL);
    omo_fhir_add(bundle, "id", uuid);
    cJSON *meta = cJSON_AddObjectToObject(bundle, "meta");
    cJSON *tag = omo_fhir_list(meta, "tag", cJSON_CreateObject());
    omo_fhir_add(tag, "system",
                 "http://terminology.hl7.org/CodeSystem/v3-ObservationValue");
    omo_fhir_add(tag, "code", "PSEUDED");
    omo_fhir_add(tag, "display", "pseudonymized");
    cJSON *own = cJSON_AddObjectToObject(bundle, "identifier");
    omo_fhir_add(own, "system", "urn:ietf:rfc:3986");
    omo_fhir_add(own, "value", urn);
    omo_fhir_add(bundle, "type", "collection");
    newest_time(export, time);
    omo_fhir_add(bundle, "timestamp", time);
    return bundle;
}

enum omo_status omo_export_fhir(const struct omo_export *export, const char *target)
{
    if (!omo_output_free(target, "to", false))
        return OMO_ERR_OPEN;
    g_autoptr(GHashTable) there =
        g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    cJSON *bundle = empty_bundle(export);
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
