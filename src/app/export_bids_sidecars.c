/* Motion-BIDS: what the tables mean, as JSON. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cjson/cJSON.h>

#include "app/export_bids.h"
#include "app/pipeline.h"
#include "omogon/text.h"

#define NOT_KNOWN "n/a"
#define CAUTION                                                                          \
    "Angles come from one camera and can be wrong by several degrees; each is given "    \
    "with "                                                                              \
    "its expanded uncertainty (k = 2). Made by a measuring and record-keeping aid that " \
    "is "                                                                                \
    "not a medical device."

static enum omo_status put(const struct omo_export_folder *folder, const char *name,
                           cJSON *json)
{
    g_autofree char *lines = omo_json_lines(json);
    if (!lines)
        return OMO_ERR_MEMORY;
    return omo_export_add(folder, name, lines, strlen(lines));
}

static void add(cJSON *object, const char *name, const char *text)
{
    cJSON_AddStringToObject(object, name, text);
}

/** A number with fixed decimals under any locale. */
static void add_number(cJSON *object, const char *name, double value, int decimals)
{
    char text[40];
    omo_number_text(value, decimals, text, sizeof text);
    if (text[0])
        cJSON_AddItemToObject(object, name, cJSON_CreateRaw(text));
}

/** An entry for a column; `units` NULL: none. */
static cJSON *column(cJSON *json, const char *name, const char *description,
                     const char *units)
{
    cJSON *entry = cJSON_AddObjectToObject(json, name);
    add(entry, "Description", description);
    if (units)
        add(entry, "Units", units);
    return entry;
}

static void level(cJSON *entry, const char *name, const char *description)
{
    cJSON *levels = cJSON_GetObjectItem(entry, "Levels");
    if (!levels)
        levels = cJSON_AddObjectToObject(entry, "Levels");
    add(levels, name, description);
}

static void add_list(cJSON *object, const char *name, const char *item)
{
    cJSON_AddItemToArray(cJSON_AddArrayToObject(object, name), cJSON_CreateString(item));
}

static enum omo_status describe_data(const struct omo_export_folder *folder)
{
    cJSON *json = cJSON_CreateObject();
    add(json, "Name", "Shoulder range of motion, one camera and coloured markers");
    add(json, "BIDSVersion", "1.11.1");
    add(json, "DatasetType", "raw");
    add(json, "License", NOT_KNOWN);
    cJSON *authors = cJSON_AddArrayToObject(json, "Authors");
    cJSON_AddItemToArray(authors, cJSON_CreateString("to be filled in"));
    cJSON_AddItemToArray(authors, cJSON_CreateString("by who shares the data"));
    add(json, "Acknowledgements", NOT_KNOWN);
    add(json, "HowToAcknowledge", NOT_KNOWN);
    add_list(json, "Funding", NOT_KNOWN);
    add_list(json, "EthicsApprovals", NOT_KNOWN);
    add_list(json, "ReferencesAndLinks", NOT_KNOWN);
    cJSON *maker = cJSON_CreateObject();
    add(maker, "Name", "omogon");
    add(maker, "Version", OMO_VERSION);
    add(maker, "Description",
        "Planar tracking of coloured markers in a camera's pictures");
    cJSON_AddItemToArray(cJSON_AddArrayToObject(json, "GeneratedBy"), maker);
    return put(folder, "dataset_description.json", json);
}

static enum omo_status describe_people(const struct omo_export_folder *folder)
{
    cJSON *json = cJSON_CreateObject(), *entry;
    column(json, "species", "Binomial species name", NULL);
    column(
        json, "age",
        "Year of the first session less year of birth, at most 89; may be one too many",
        "year");
    entry = column(json, "sex", "Sex as entered", NULL);
    level(entry, "F", "Female");
    level(entry, "M", "Male");
    level(entry, "O", "Other");
    entry = column(json, "handedness", "Dominant hand as entered", NULL);
    level(entry, "left", "left");
    level(entry, "right", "right");
    level(entry, "ambidextrous", "both alike");
    entry = column(json, "affected_side", "Side of the complaint as entered", NULL);
    level(entry, "left", "left");
    level(entry, "right", "right");
    level(entry, "both", "both");
    level(entry, "none", "none");
    return put(folder, "participants.json", json);
}

enum omo_status omo_bids_describe(const struct omo_export_folder *folder)
{
    static const char readme[] =
        "# Shoulder range of motion\n\n"
        "Positions of coloured markers in the pictures of one camera, and the planar "
        "angles "
        "that were worked out from them. Positions are in metres in the picture's plane "
        "where the size of a marker is known, else in pixels. No picture is part of the "
        "data set.\n\n" CAUTION "\n\n"
        "Dates are shifted: each participant's first session is 1925-01-05T10:00:00, and "
        "all distances in time are kept. These are still data of people.\n";
    enum omo_status status = describe_data(folder);
    if (status == OMO_OK)
        status = omo_export_add(folder, "README.md", readme, strlen(readme));
    return status == OMO_OK ? describe_people(folder) : status;
}

enum omo_status omo_bids_column_sidecar(const struct omo_export_folder *folder,
                                        const char *name, bool scans)
{
    cJSON *json = cJSON_CreateObject();
    if (scans) {
        column(json, "max_deg",
               "Largest angle that was kept up for 0.2 s, filtered and corrected", "deg");
        column(
            json, "max_u95_deg",
            "Its expanded uncertainty by the Guide to the Expression of Uncertainty in "
            "Measurement, k = 2",
            "deg");
        column(json, "mean_of_maxima_deg", "Mean of the repetitions' highest angles",
               "deg");
        column(
            json, "max_before_hike_deg",
            "Highest angle before the shoulder girdle rose or the trunk leaned more than "
            "is allowed for",
            "deg");
        column(json, "pain_at_max", "Pain told, 0 (none) to 10 (worst imaginable)",
               "arbitrary");
    } else {
        column(json, "pain_before",
               "Pain told before the first movement, 0 (none) to 10 (worst imaginable)",
               "arbitrary");
    }
    return put(folder, name, json);
}

/* ---- beside a recording --------------------------------------------------------------
 */

static int count_of(const struct omo_bids_recording *recording, const char *type)
{
    int count = 0;
    for (int k = 0; k < recording->channels; k++)
        count += !strcmp(recording->channel[k].type, type);
    return count;
}

static int points_of(const struct omo_bids_recording *recording)
{
    return count_of(recording, "POS") / 2;
}

static enum omo_status motion_sidecar(const struct omo_export_folder *folder,
                                      const struct omo_export *export,
                                      const struct omo_bids_recording *recording)
{
    static const char *const counted[] = {"POS",   "JNTANG",   "LATENCY", "MISC",
                                          "ACCEL", "ANGACCEL", "GYRO",    "MAGN",
                                          "ORNT",  "VEL"};
    const struct omo_session_row *row = recording->row;
    const struct omo_set_up_row *set_up = omo_export_set_up(export, row);
    const struct omo_trace *trace = &recording->trace;
    double took_s = trace->rows[trace->count - 1].time_s - trace->rows[0].time_s;
    double effective = took_s > 0 ? (double)(trace->count - 1) / took_s : (double)NAN;
    double nominal = row->frames_per_second > 0 ? row->frames_per_second : effective;
    char camera[37], text[300];
    cJSON *json = cJSON_CreateObject();
    add(json, "TaskName", recording->task);
    snprintf(text, sizeof text, "%s of the %s%sshoulder, %s, %s: %s", row->movement,
             row->side, row->side[0] ? " " : "", row->mode[0] ? row->mode : "active",
             row->position[0] ? row->position : "position not known",
             omo_export_quantity(row));
    add(json, "TaskDescription", text);
    add(json, "Instructions",
        "Move the arm as far as is comfortable, then slowly back. Stop at pain.");
    add_number(json, "SamplingFrequency", isfinite(nominal) ? round(nominal) : 1, 1);
    add_number(json, "SamplingFrequencyEffective", effective, 3);
    add(json, "TrackingSystemName",
        "One camera with coloured markers, planar tracking in its pictures");
    add(json, "Manufacturer", NOT_KNOWN);
    if (set_up && set_up->picture_width_px > 0)
        snprintf(text, sizeof text, "camera, %d x %d", set_up->picture_width_px,
                 set_up->picture_height_px);
    else
        snprintf(text, sizeof text, "camera, %d x %d", trace->picture_width,
                 trace->picture_height);
    add(json, "ManufacturersModelName", text);
    omo_export_uuid(export, "camera", set_up ? set_up->camera : "", camera);
    snprintf(text, sizeof text, "camera-%.8s", camera);
    add(json, "DeviceSerialNumber", text);
    snprintf(text, sizeof text, "omogon %s", row->version);
    add(json, "SoftwareVersions", text);
    add(json, "InstitutionName", NOT_KNOWN);
    add(json, "InstitutionAddress", NOT_KNOWN);
    add(json, "InstitutionalDepartmentName", NOT_KNOWN);
    cJSON_AddNumberToObject(json, "MotionChannelCount", recording->channels);
    for (size_t i = 0; i < G_N_ELEMENTS(counted); i++) {
        snprintf(text, sizeof text, "%sChannelCount", counted[i]);
        cJSON_AddNumberToObject(json, text, count_of(recording, counted[i]));
    }
    cJSON_AddNumberToObject(json, "TrackedPointsCount", points_of(recording));
    add(json, "MissingValues", NOT_KNOWN);
    add(json, "RecordingType", "continuous");
    add_number(json, "RecordingDuration", took_s, 6);
    add(json, "SubjectArtefactDescription", NOT_KNOWN);
    g_autofree char *name = g_strconcat(recording->stem, "_motion.json", NULL);
    return put(folder, name, json);
}

static void frame_level(cJSON *levels, const char *name, const char *description)
{
    cJSON *entry = cJSON_AddObjectToObject(levels, name);
    add(entry, "Description", description);
}

static enum omo_status channels_sidecar(const struct omo_export_folder *folder,
                                        const struct omo_bids_recording *recording)
{
    bool metres = isfinite(recording->m_per_px);
    char text[700];
    cJSON *json = cJSON_CreateObject();
    cJSON *frame = cJSON_AddObjectToObject(json, "reference_frame");
    add(frame, "LongName", "Reference frame");
    add(frame, "Description", "Frame in which the channel is expressed");
    cJSON *levels = cJSON_AddObjectToObject(frame, "Levels");
    snprintf(
        text, sizeof text,
        "The picture of the camera as it sent it, view: %s; x to the right, y "
        "downwards, origin at the centre of the top-left pixel%s. Which way the person "
        "faced is not part of the record, so no anatomical axes are given",
        recording->row->view[0] ? recording->row->view : "not known",
        metres ? "; scaled to metres with the known size of the markers" : "");
    frame_level(levels, "image", text);
    snprintf(
        text, sizeof text,
        "Planar angles in the picture. shoulder_angle: %s, between the trunk as it stood "
        "at rest and the upper arm, 0 along the trunk (rotations: 0 straight ahead), "
        "corrected for the marker's distance from the joint and the turn of the plane, "
        "zero-lag filtered; shoulder_angle_image: the same as the picture shows it, "
        "uncorrected and unfiltered. elbow_flexion: 0 is a straight arm",
        omo_export_quantity(recording->row));
    frame_level(levels, "joint", text);
    frame_level(levels, "gravity",
                "trunk_lean: lean of the trunk away from how it stood at rest, degrees");
    frame_level(
        levels, "trunk",
        "shoulder_rise: rise of the shoulder marker along the trunk, as a share of "
        "the upper arm's length");
    cJSON *placement = cJSON_AddObjectToObject(json, "placement");
    add(placement, "Description",
        "Which marker, and what it sits on: skin, band or sleeve; or what the angle "
        "belongs "
        "to");
    if (!metres) {
        cJSON *units = cJSON_AddObjectToObject(json, "units");
        add(units, "Description", "Unit of the channel");
        level(units, "px",
              "pixels of the camera's picture; the marker's size is not known");
    }
    g_autofree char *name = g_strconcat(recording->stem, "_channels.json", NULL);
    return put(folder, name, json);
}

static enum omo_status events_sidecar(const struct omo_export_folder *folder,
                                      const struct omo_bids_recording *recording)
{
    cJSON *json = cJSON_CreateObject();
    cJSON *type = column(json, "trial_type", "Kind of event", NULL);
    level(type, "repetition", "one movement there and back");
    level(type, "highest", "the moment of its largest angle");
    column(json, "value", "Largest angle of the repetition", "deg");
    g_autofree char *name = g_strconcat(recording->stem, "_events.json", NULL);
    return put(folder, name, json);
}

enum omo_status omo_bids_sidecars(const struct omo_export_folder *folder,
                                  const struct omo_export *export,
                                  const struct omo_bids_recording *recording)
{
    enum omo_status status = motion_sidecar(folder, export, recording);
    if (status == OMO_OK)
        status = channels_sidecar(folder, recording);
    return status == OMO_OK ? events_sidecar(folder, recording) : status;
}
