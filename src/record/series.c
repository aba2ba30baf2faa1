#include "omogon/series.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "omogon/log.h"
#include "omogon/motion.h"
#include "omogon/source.h"
#include "omogon/text.h"
#include "omogon/vision.h"
#include "record/series_means.h"

/** A trace's numbers, in the order of its file; of words there is no column. */
static const struct {
    const char *name;
    size_t offset; /* of a double in struct omo_trace_row */
} angles[] = {
    {"angle_deg", offsetof(struct omo_trace_row, angle_deg)},
    {"angle_raw_deg", offsetof(struct omo_trace_row, angle_raw_deg)},
    {"angle_image_deg", offsetof(struct omo_trace_row, angle_image_deg)},
    {"angle_vertical_deg", offsetof(struct omo_trace_row, angle_vertical_deg)},
    {"elbow_flexion_deg", offsetof(struct omo_trace_row, elbow_flexion_deg)},
    {"trunk_lean_deg", offsetof(struct omo_trace_row, trunk_lean_deg)},
    {"hike_ratio", offsetof(struct omo_trace_row, hike_ratio)},
    {"hike_mm", offsetof(struct omo_trace_row, hike_mm)},
};

struct omo_series {
    char *setting[SERIES_NAMES]; /* NULL: the default */
    struct omo_movement_table *table;
    size_t count;
    struct omo_trace_row *rows;
    double width_px, height_px;
    GHashTable *columns; /* name -> double[count], filled when asked for */
    struct omo_result result;
    char word[256];
};

struct omo_series *omo_series_create(void)
{
    struct omo_series *series = g_try_malloc0(sizeof *series);
    if (series)
        series->columns = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, g_free);
    return series;
}

static void forget(struct omo_series *series)
{
    g_hash_table_remove_all(series->columns);
    g_free(series->rows);
    series->rows = NULL;
    series->count = 0;
    series->result = (struct omo_result){0};
}

void omo_series_destroy(struct omo_series *series)
{
    if (!series)
        return;
    forget(series);
    g_hash_table_unref(series->columns);
    omo_movement_table_destroy(series->table);
    for (int i = 0; i < SERIES_NAMES; i++)
        g_free(series->setting[i]);
    g_free(series);
}

enum omo_status omo_series_set(struct omo_series *series, const char *name,
                               const char *value)
{
    for (int i = 0; i < SERIES_NAMES; i++) {
        if (strcmp(name, omo_series_names[i]) != 0)
            continue;
        g_free(series->setting[i]);
        series->setting[i] = value && value[0] ? g_strdup(value) : NULL;
        return OMO_OK;
    }
    return OMO_ERR_ARG;
}

/* ---- measuring --------------------------------------------------------------------- */

/** Every frame of the stretch with its markers. OMO_ERR_DAMAGED with frames is good. */
static enum omo_status track(struct omo_source *source, const struct series_means *means,
                             GArray *frames)
{
    struct omo_tracker *tracker = NULL;
    struct omo_frame frame;
    enum omo_status status = omo_tracker_create(&means->tracker, &tracker);
    while (status == OMO_OK) {
        status = omo_source_next(source, false, &frame);
        if (status != OMO_OK)
            break;
        struct omo_track_frame out = {.index = frame.index,
                                      .time_s = frame.time_s,
                                      .damaged = frame.damaged,
                                      .repeated = frame.repeated};
        status = omo_tracker_step(tracker, &frame, &out.markers);
        if (!(out.time_s < means->start_s) && !(out.time_s > means->end_s))
            g_array_append_val(frames, out);
    }
    omo_tracker_destroy(tracker);
    if (status == OMO_END || (status == OMO_ERR_DAMAGED && frames->len > 0))
        return OMO_OK;
    return status;
}

enum omo_status omo_series_measure(struct omo_series *series, const char *clip)
{
    struct series_means means;
    struct omo_source *source = NULL;
    forget(series);
    enum omo_status status = OMO_OK;
    if (!series->table)
        status = omo_movement_table_load(NULL, &series->table);
    if (status == OMO_OK)
        status = omo_series_means(series->table, series->setting, &means);
    if (status == OMO_OK)
        status = omo_clip_open(clip, &source);
    if (status != OMO_OK)
        return status;
    const struct omo_source_info *info = omo_source_info(source);
    means.measure.picture_width = info->width;
    means.measure.picture_height = info->height;
    series->width_px = info->width;
    series->height_px = info->height;
    g_autoptr(GArray) frames = g_array_new(FALSE, FALSE, sizeof(struct omo_track_frame));
    status = track(source, &means, frames);
    omo_source_destroy(source);
    if (status != OMO_OK)
        return status;
    series->rows = g_try_malloc0_n(frames->len + 1, sizeof *series->rows);
    if (!series->rows)
        return OMO_ERR_MEMORY;
    status = omo_measure(&means.measure, (void *)frames->data, frames->len, series->rows,
                         &series->result);
    series->count = frames->len;
    if (status == OMO_ERR_EMPTY)
        omo_error("no frame of %s has an angle; check the light, the colours, the side "
                  "and the stretch",
                  clip);
    else if (status != OMO_OK)
        forget(series);
    return status;
}

/* ---- what came out ----------------------------------------------------------------- */

size_t omo_series_length(const struct omo_series *series)
{
    return series->count;
}

enum {
    FRAME,
    TIME,
    FIRST_ANGLE,
    WIDTH = FIRST_ANGLE + G_N_ELEMENTS(angles),
    HEIGHT,
    FIRST_MARKER,
    COLUMNS = FIRST_MARKER + 4 * OMO_ROLE_COUNT
};

const char *omo_series_column_name(int index)
{
    static const char *const of_marker[] = {"x_px", "y_px", "diameter_px", "seen"};
    static char marker[OMO_ROLE_COUNT * 4][32];
    static gsize made;
    if (g_once_init_enter(&made)) {
        for (int i = 0; i < OMO_ROLE_COUNT * 4; i++) {
            marker[i][0] = '\0';
            omo_text_add(marker[i], sizeof marker[i], "%s_%s",
                         omo_role_name((enum omo_role)(i / 4)), of_marker[i % 4]);
        }
        g_once_init_leave(&made, 1);
    }
    if (index < 0 || index >= COLUMNS)
        return NULL;
    if (index >= FIRST_MARKER)
        return marker[index - FIRST_MARKER];
    switch (index) {
    case FRAME:
        return "frame";
    case TIME:
        return "time_s";
    case WIDTH:
        return "picture_width_px";
    case HEIGHT:
        return "picture_height_px";
    default:
        return angles[index - FIRST_ANGLE].name;
    }
}

static double value_of(const struct omo_series *series, size_t frame, int index)
{
    const struct omo_trace_row *row = &series->rows[frame];
    if (index >= FIRST_MARKER) {
        const struct omo_marker *marker = &row->markers.role[(index - FIRST_MARKER) / 4];
        const double values[] = {marker->x_px, marker->y_px, marker->diameter_px,
                                 marker->seen};
        return values[(index - FIRST_MARKER) % 4];
    }
    switch (index) {
    case FRAME:
        return (double)row->frame;
    case TIME:
        return row->time_s;
    case WIDTH:
        return series->width_px;
    case HEIGHT:
        return series->height_px;
    default: {
        double value;
        memcpy(&value, (const char *)row + angles[index - FIRST_ANGLE].offset,
               sizeof value);
        return value;
    }
    }
}

const double *omo_series_column(const struct omo_series *series, const char *name)
{
    double *column = g_hash_table_lookup(series->columns, name);
    if (column)
        return column;
    int index = 0;
    const char *one;
    while ((one = omo_series_column_name(index)) && strcmp(one, name) != 0)
        index++;
    if (!one || series->count == 0)
        return NULL;
    column = g_try_new(double, series->count);
    if (!column)
        return NULL;
    for (size_t i = 0; i < series->count; i++)
        column[i] = value_of(series, i, index);
    g_hash_table_insert(series->columns, g_strdup(name), column);
    return column;
}

const char *omo_series_word(struct omo_series *series, const char *name, size_t frame)
{
    if (frame >= series->count)
        return NULL;
    if (!strcmp(name, "reference"))
        return omo_reference_name(series->rows[frame].reference);
    if (strcmp(name, "quality") != 0)
        return NULL;
    omo_quality_text(series->rows[frame].quality, series->word, sizeof series->word);
    return series->word;
}

double omo_series_figure(const struct omo_series *series, const char *name)
{
    const struct omo_result *r = &series->result;
    const struct {
        const char *name;
        double value;
    } figures[] = {
        {"max_deg", r->max_deg},
        {"max_u95_deg", r->max_u95_deg},
        {"held_max_deg", r->held_max_deg},
        {"mean_of_maxima_deg", r->mean_of_maxima_deg},
        {"max_before_hike_deg", r->max_before_hike_deg},
        {"rest_deg", r->rest_deg},
        {"repetitions", r->repetitions},
        {"hike_at_max_ratio", r->hike_at_max_ratio},
        {"lean_at_max_deg", r->lean_at_max_deg},
        {"trunk_rest_offset_deg", r->trunk_rest_offset_deg},
        {"pivot_offset_ratio", r->pivot_offset_ratio},
        {"plane_turn_deg", r->plane_turn_deg},
        {"rotation_at_abduction_deg", r->rotation_at_abduction_deg},
        {"seen_ratio", r->seen_ratio},
        {"frames_per_second", r->frames_per_second},
    };
    for (size_t i = 0; series->count > 0 && i < G_N_ELEMENTS(figures); i++)
        if (!strcmp(name, figures[i].name))
            return figures[i].value;
    return NAN;
}

const char *omo_series_note(const struct omo_series *series)
{
    return series->result.note;
}
