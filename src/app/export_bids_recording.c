/* Motion-BIDS: the tables of one recording. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/export_bids.h"
#include "omogon/analysis.h"
#include "omogon/text.h"

#define MM_PER_M 1000.0

/** A cell and its tab or line end. */
void omo_bids_add(GString *table, const char *text, bool last)
{
    g_string_append(table, text[0] ? text : OMO_BIDS_MISSING);
    g_string_append_c(table, last ? '\n' : '\t');
}

void omo_bids_add_number(GString *table, double value, int decimals, bool last)
{
    char text[40];
    omo_number_text(value, decimals, text, sizeof text);
    omo_bids_add(table, text, last);
}

enum omo_status omo_bids_put(const struct omo_export_folder *folder, const char *name,
                             const GString *text)
{
    return omo_export_add(folder, name, text->str, text->len);
}

/* ---- channels ------------------------------------------------------------------------
 */

static double value_of(const struct omo_bids_recording *recording,
                       const struct omo_bids_channel *channel, size_t frame)
{
    const struct omo_trace_row *row = &recording->trace.rows[frame];
    const struct omo_marker *marker = &row->markers.role[channel->role];
    double scale = isfinite(recording->m_per_px) ? recording->m_per_px : 1;
    switch (channel->from) {
    case FROM_X:
        return marker->seen ? marker->x_px * scale : (double)NAN;
    case FROM_Y:
        return marker->seen ? marker->y_px * scale : (double)NAN;
    case FROM_ANGLE:
        return row->angle_deg;
    case FROM_IMAGE:
        return row->angle_image_deg;
    case FROM_ELBOW:
        return row->elbow_flexion_deg;
    case FROM_LEAN:
        return row->trunk_lean_deg;
    case FROM_HIKE:
        return row->hike_ratio;
    case FROM_LATENCY:
        return row->time_s - recording->trace.rows[0].time_s;
    }
    return NAN;
}

static bool has_value(const struct omo_bids_recording *recording,
                      const struct omo_bids_channel *channel)
{
    for (size_t i = 0; i < recording->trace.count; i++)
        if (isfinite(value_of(recording, channel, i)))
            return true;
    return false;
}

static void add_channel(struct omo_bids_recording *recording,
                        struct omo_bids_channel channel)
{
    channel.good = has_value(recording, &channel);
    recording->channel[recording->channels++] = channel;
}

/** Places of the markers that were seen at all. */
static void add_places(struct omo_bids_recording *recording)
{
    bool metres = isfinite(recording->m_per_px);
    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        for (int axis = 0; axis < 2; axis++) {
            struct omo_bids_channel channel = {.component = axis ? "y" : "x",
                                               .type = "POS",
                                               .units = metres ? "m" : "px",
                                               .frame = "image",
                                               .from = axis ? FROM_Y : FROM_X,
                                               .role = role,
                                               .decimals = metres ? 5 : 3};
            snprintf(channel.name, sizeof channel.name, "%s_pos_%s",
                     omo_role_name((enum omo_role)role), channel.component);
            snprintf(channel.point, sizeof channel.point, "%s",
                     omo_role_name((enum omo_role)role));
            snprintf(channel.placement, sizeof channel.placement, "%s on %s",
                     omo_role_name((enum omo_role)role),
                     recording->row->placement[0] ? recording->row->placement : "skin");
            if (has_value(recording, &channel))
                add_channel(recording, channel);
        }
}

static void add_others(struct omo_bids_recording *recording)
{
    const struct omo_bids_channel fixed[] = {
        {"shoulder_angle", "n/a", "JNTANG", "deg", "shoulder", "shoulder", "joint", false,
         FROM_ANGLE, 0, 3},
        {"shoulder_angle_image", "n/a", "JNTANG", "deg", "shoulder", "shoulder", "joint",
         false, FROM_IMAGE, 0, 3},
        {"elbow_flexion", "n/a", "JNTANG", "deg", "elbow", "elbow", "joint", false,
         FROM_ELBOW, 0, 3},
        {"trunk_lean", "n/a", "MISC", "deg", "trunk", "trunk", "gravity", false,
         FROM_LEAN, 0, 3},
        {"shoulder_rise", "n/a", "MISC", "n/a", "shoulder", "shoulder", "trunk", false,
         FROM_HIKE, 0, 3},
        {"latency", "n/a", "LATENCY", "s", "n/a", "n/a", "n/a", true, FROM_LATENCY, 0, 6},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(fixed); i++)
        add_channel(recording, fixed[i]);
}

static int by_size(const void *a, const void *b)
{
    double one = *(const double *)a, other = *(const double *)b;
    return (one > other) - (one < other);
}

/** Metres a pixel from the known size of the markers: one scale for a recording, by the
 *  median of all of the shoulder's and elbow's diameters. */
static double scale_of(const struct omo_export *export,
                       const struct omo_bids_recording *recording)
{
    const struct omo_set_up_row *set_up = omo_export_set_up(export, recording->row);
    const size_t most = 2 * recording->trace.count;
    g_autofree double *size = g_new(double, most);
    size_t count = 0;
    if (!set_up || !(set_up->marker_size_mm > 0))
        return NAN;
    for (size_t i = 0; i < recording->trace.count; i++)
        for (int role = OMO_SHOULDER; role <= OMO_ELBOW; role++) {
            const struct omo_marker *marker =
                &recording->trace.rows[i].markers.role[role];
            if (marker->seen && marker->diameter_px > 0)
                size[count++] = marker->diameter_px;
        }
    if (count == 0)
        return NAN;
    qsort(size, count, sizeof *size, by_size);
    return set_up->marker_size_mm / MM_PER_M / size[count / 2];
}

/* ---- the files of a recording --------------------------------------------------------
 */

static enum omo_status write_motion(const struct omo_export_folder *folder,
                                    const struct omo_bids_recording *recording)
{
    g_autoptr(GString) table = g_string_new(NULL);
    for (size_t i = 0; i < recording->trace.count; i++)
        for (int k = 0; k < recording->channels; k++)
            omo_bids_add_number(table, value_of(recording, &recording->channel[k], i),
                                recording->channel[k].decimals,
                                k == recording->channels - 1);
    g_autofree char *name = g_strconcat(recording->stem, "_motion.tsv", NULL);
    return omo_bids_put(folder, name, table);
}

static enum omo_status write_channels(const struct omo_export_folder *folder,
                                      const struct omo_bids_recording *recording)
{
    g_autoptr(GString) table =
        g_string_new("name\tcomponent\ttype\ttracked_point\tunits\tplacement\t"
                     "reference_frame\tstatus\tstatus_description\n");
    for (int k = 0; k < recording->channels; k++) {
        const struct omo_bids_channel *channel = &recording->channel[k];
        const char *const cells[] = {channel->name,
                                     channel->component,
                                     channel->type,
                                     channel->point,
                                     channel->units,
                                     channel->placement,
                                     channel->frame,
                                     channel->good ? "good" : "bad",
                                     channel->good ? OMO_BIDS_MISSING
                                                   : "no frame has a value"};
        for (size_t i = 0; i < G_N_ELEMENTS(cells); i++)
            omo_bids_add(table, cells[i], i == G_N_ELEMENTS(cells) - 1);
    }
    g_autofree char *name = g_strconcat(recording->stem, "_channels.tsv", NULL);
    return omo_bids_put(folder, name, table);
}

/** Each repetition: it as a whole, and its highest moment. */
static enum omo_status write_events(const struct omo_export_folder *folder,
                                    const struct omo_bids_recording *recording)
{
    struct omo_repetition_figures figure[OMO_REPETITION_MAX];
    size_t count = 0;
    double begin_s = recording->trace.rows[0].time_s;
    g_autoptr(GString) table = g_string_new("onset\tduration\ttrial_type\tvalue\n");
    enum omo_status status =
        omo_analyse_repetitions(recording->trace.rows, recording->trace.count, figure,
                                &count);
    if (status != OMO_OK && status != OMO_ERR_EMPTY)
        return status;
    for (size_t i = 0; i < count; i++) {
        const struct {
            double onset, duration;
            const char *type;
        } event[] = {{figure[i].start_s, figure[i].end_s - figure[i].start_s,
                      "repetition"},
                     {figure[i].peak_s, 0, "highest"}};
        for (int k = 0; k < 2; k++) {
            omo_bids_add_number(table, event[k].onset - begin_s, 6, false);
            omo_bids_add_number(table, event[k].duration, 6, false);
            omo_bids_add(table, event[k].type, false);
            omo_bids_add_number(table, figure[i].max_deg, 3, true);
        }
    }
    g_autofree char *name = g_strconcat(recording->stem, "_events.tsv", NULL);
    return omo_bids_put(folder, name, table);
}

enum omo_status omo_bids_recording(const struct omo_export_folder *folder,
                                   const struct omo_export *export,
                                   struct omo_bids_recording *recording)
{
    recording->m_per_px = scale_of(export, recording);
    add_places(recording);
    add_others(recording);
    enum omo_status status = write_motion(folder, recording);
    if (status == OMO_OK)
        status = write_channels(folder, recording);
    if (status == OMO_OK)
        status = write_events(folder, recording);
    return status == OMO_OK ? omo_bids_sidecars(folder, export, recording) : status;
}
