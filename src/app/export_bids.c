/* Motion-BIDS: tables with tabs. Names, columns and their order are those of BIDS 1.11.1
 * (Motion; Common principles); what its validators let through is kept as well. */
#include "app/export_bids.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/log.h"
#include "omogon/text.h"

/* ---- names ---------------------------------------------------------------------------
 */

/** Letters and digits alone, as labels of BIDS are. */
static void add_label(char *out, size_t size, const char *text)
{
    for (; *text; text++)
        if (g_ascii_isalnum(*text))
            omo_text_add(out, size, "%c", *text);
}

static bool same_day(const struct omo_session_row *a, const struct omo_session_row *b)
{
    return !strcmp(a->person, b->person) && !strncmp(a->started, b->started, 10);
}

/** Session and run by the rows before it; they are in order of person and time. */
static void place(const struct omo_export *export, guint index,
                  struct omo_bids_recording *recording)
{
    const struct omo_session_row *row = recording->row, *last = NULL;
    add_label(recording->task, sizeof recording->task, row->movement);
    add_label(recording->acq, sizeof recording->acq, row->side);
    if (strcmp(row->mode, "active") != 0)
        add_label(recording->acq, sizeof recording->acq, row->mode);
    omo_export_person(export, row->person, recording->person);
    recording->session = 0;
    recording->run = 1;
    for (guint i = 0; i <= index; i++) {
        const struct omo_session_row *other = g_ptr_array_index(export->rows, i);
        if (strcmp(other->person, row->person) != 0)
            continue;
        recording->session += !last || !same_day(last, other);
        recording->run += i < index && same_day(other, row) &&
                          !strcmp(other->movement, row->movement) &&
                          !strcmp(other->side, row->side) &&
                          !strcmp(other->mode, row->mode);
        last = other;
    }
    /* A label may not be empty: what has neither side nor mode has no "acq". */
    snprintf(recording->stem, sizeof recording->stem,
             "sub-%s/ses-%02d/motion/sub-%s_ses-%02d_task-%s_tracksys-camera%s%s_run-"
             "%02d",
             recording->person, recording->session, recording->person, recording->session,
             recording->task, recording->acq[0] ? "_acq-" : "", recording->acq,
             recording->run);
}

/* ---- tables above the recordings -----------------------------------------------------
 */

/** Rows gathered while the recordings are written. */
struct tables {
    GString *participants, *sessions, *scans;
    char person[24]; /* of the sessions so far */
    int session;     /* of the scans so far */
};

static enum omo_status end_scans(const struct omo_export_folder *folder,
                                 struct tables *tables)
{
    if (tables->scans->len == 0)
        return OMO_OK;
    g_autofree char *name =
        g_strdup_printf("sub-%s/ses-%02d/sub-%s_ses-%02d_scans.tsv", tables->person,
                        tables->session, tables->person, tables->session);
    enum omo_status status = omo_bids_put(folder, name, tables->scans);
    g_autofree char *sidecar = g_strdup_printf("%.*s.json", (int)strlen(name) - 4, name);
    g_string_truncate(tables->scans, 0);
    return status == OMO_OK ? omo_bids_column_sidecar(folder, sidecar, true) : status;
}

static enum omo_status end_sessions(const struct omo_export_folder *folder,
                                    struct tables *tables)
{
    if (tables->sessions->len == 0)
        return OMO_OK;
    g_autofree char *name =
        g_strdup_printf("sub-%s/sub-%s_sessions.tsv", tables->person, tables->person);
    enum omo_status status = omo_bids_put(folder, name, tables->sessions);
    g_autofree char *sidecar = g_strdup_printf("%.*s.json", (int)strlen(name) - 4, name);
    g_string_truncate(tables->sessions, 0);
    return status == OMO_OK ? omo_bids_column_sidecar(folder, sidecar, false) : status;
}

static void add_participant(const struct omo_export *export,
                            const struct omo_bids_recording *recording, GString *table)
{
    const struct omo_session_row *row = recording->row;
    const struct omo_person_row *who = omo_person_who(export->tables, row->person);
    const char *sex = who ? who->sex : "";
    int age = omo_export_age(export, row);
    g_autofree char *id = g_strconcat("sub-", recording->person, NULL);
    if (table->len == 0)
        g_string_append(table, "participant_id\tspecies\tage\tsex\thandedness\t"
                               "affected_side\n");
    omo_bids_add(table, id, false);
    omo_bids_add(table, "homo sapiens", false);
    omo_bids_add_number(table, age >= 0 ? age : (double)NAN, 0, false);
    omo_bids_add(table,
                 !strcmp(sex, "female") ? "F"
                 : !strcmp(sex, "male") ? "M"
                 : sex[0]               ? "O"
                                        : "",
                 false);
    omo_bids_add(table, who ? who->dominant_side : "", false);
    omo_bids_add(table, who ? who->affected_side : "", true);
}

static enum omo_status add_to_tables(const struct omo_export_folder *folder,
                                     const struct omo_export *export,
                                     const struct omo_bids_recording *recording,
                                     bool has_motion, struct tables *tables)
{
    const struct omo_session_row *row = recording->row;
    enum omo_status status = OMO_OK;
    char time[40];
    omo_export_time(export, row, true, 6, time, sizeof time);
    bool other = strcmp(tables->person, recording->person) != 0;
    if (other || tables->session != recording->session)
        status = end_scans(folder, tables);
    if (status == OMO_OK && other)
        status = end_sessions(folder, tables);
    if (status != OMO_OK)
        return status;
    if (other)
        add_participant(export, recording, tables->participants);
    if (other || tables->session != recording->session) {
        if (tables->sessions->len == 0)
            g_string_append(tables->sessions, "session_id\tacq_time\tpain_before\n");
        g_autofree char *id = g_strdup_printf("ses-%02d", recording->session);
        omo_bids_add(tables->sessions, id, false);
        omo_bids_add(tables->sessions, time, false);
        omo_bids_add_number(tables->sessions, row->pain_before, 1, true);
    }
    omo_text_copy(tables->person, sizeof tables->person, recording->person);
    tables->session = recording->session;
    if (!has_motion)
        return OMO_OK;
    if (tables->scans->len == 0)
        g_string_append(tables->scans,
                        "filename\tacq_time\tmax_deg\tmax_u95_deg\tmean_of_maxima_deg\t"
                        "max_before_hike_deg\tpain_at_max\n");
    g_autofree char *file =
        g_strconcat(strstr(recording->stem, "motion/"), "_motion.tsv", NULL);
    omo_bids_add(tables->scans, file, false);
    omo_bids_add(tables->scans, time, false);
    omo_bids_add_number(tables->scans, row->max_deg, 3, false);
    omo_bids_add_number(tables->scans, row->max_u95_deg, 3, false);
    omo_bids_add_number(tables->scans, row->mean_of_maxima_deg, 3, false);
    omo_bids_add_number(tables->scans, row->max_before_hike_deg, 3, false);
    omo_bids_add_number(tables->scans, row->pain_at_max, 1, true);
    return OMO_OK;
}

enum omo_status omo_export_bids(const struct omo_export *export, const char *target)
{
    struct omo_export_folder folder;
    struct tables tables = {g_string_new(NULL), g_string_new(NULL), g_string_new(NULL),
                            "", 0};
    int without = 0;
    enum omo_status status = omo_export_folder_begin(target, &folder);
    bool begun = status == OMO_OK;
    if (begun)
        status = omo_bids_describe(&folder);
    for (guint i = 0; status == OMO_OK && i < export->rows->len; i++) {
        struct omo_bids_recording recording = {.row = g_ptr_array_index(export->rows, i)};
        place(export, i, &recording);
        status = omo_export_trace(export, recording.row, &recording.trace);
        bool motion = status == OMO_OK;
        without += status == OMO_ERR_EMPTY;
        if (motion)
            status = omo_bids_recording(&folder, export, &recording);
        if (status == OMO_OK || status == OMO_ERR_EMPTY)
            status = add_to_tables(&folder, export, &recording, motion, &tables);
        if (motion)
            omo_trace_free(&recording.trace);
    }
    if (status == OMO_OK)
        status = end_scans(&folder, &tables);
    if (status == OMO_OK)
        status = end_sessions(&folder, &tables);
    if (status == OMO_OK)
        status = omo_bids_put(&folder, "participants.tsv", tables.participants);
    if (status == OMO_OK && (guint)without == export->rows->len) {
        omo_error("none of these sessions has a trace, so there is no motion to write");
        status = OMO_ERR_EMPTY;
    }
    if (begun)
        status = omo_export_folder_end(&folder, status);
    if (status == OMO_OK && without)
        omo_warning("%d sessions have no trace and are in the table of sessions alone",
                    without);
    g_string_free(tables.participants, TRUE);
    g_string_free(tables.sessions, TRUE);
    g_string_free(tables.scans, TRUE);
    return status;
}
