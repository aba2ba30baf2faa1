#include "app/provenance.h"
#include "app/pipeline.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <cjson/cJSON.h>

#include "app/corrections.h"
#include "app/inputs.h"
#include "omogon/files.h"
#include "omogon/rise.h"
#include "omogon/text.h"

#define TRACE_SUFFIX      ".trace.csv"
#define PROVENANCE_SUFFIX ".provenance.json"

void omo_provenance_settings(const struct omo_plan *plan, char out[33])
{
    struct omo_plan nobody = *plan;
    struct omo_id *id = omo_id_create();
    nobody.row.person[0] = nobody.row.visit[0] = nobody.row.rater[0] = '\0';
    omo_plan_identify(&nobody, id);
    omo_id_finish(id, out);
}

char *omo_provenance_path(const char *directory, const char *trace)
{
    g_autofree char *stem = g_strndup(trace, strlen(trace) - strlen(TRACE_SUFFIX));
    return g_strconcat(directory, "/", stem, PROVENANCE_SUFFIX, NULL);
}

static void add_number(cJSON *object, const char *name, double value, int decimals)
{
    char text[40];
    omo_number_text(value, decimals, text, sizeof text);
    cJSON_AddItemToObject(object, name, cJSON_CreateRaw(text[0] ? text : "null"));
}

static cJSON *options_json(const struct omo_provenance *what)
{
    cJSON *object = cJSON_CreateObject();
    for (const struct omo_option_word *word = omo_option_word_list; word->name; word++) {
        const char *given = *omo_option_word_at(what->work->words, word);
        /* A file is named without its folder; its text is below. */
        g_autofree char *name =
            given && word->changes_trace ? g_path_get_basename(given) : NULL;
        if (name)
            cJSON_AddStringToObject(object, word->name, name);
    }
    if (what->work->words->mirrored)
        cJSON_AddTrueToObject(object, "mirrored");
    return object;
}

static cJSON *markers_json(const struct omo_plan *plan)
{
    cJSON *array = cJSON_CreateArray();
    for (int i = 0; i < plan->tracker.set.count; i++) {
        const struct omo_set_entry *entry = &plan->tracker.set.entry[i];
        cJSON *object = cJSON_CreateObject();
        cJSON_AddStringToObject(object, "name", entry->name);
        cJSON_AddStringToObject(object, "shape",
                                entry->shape == OMO_BAND ? "band" : "disc");
        add_number(object, "cb", entry->cb, 6);
        add_number(object, "cr", entry->cr, 6);
        cJSON_AddItemToArray(array, object);
    }
    return array;
}

/** SHA-256 of each data file. */
static cJSON *models_json(const struct omo_plan *plan)
{
    cJSON *object = cJSON_CreateObject();
    for (size_t i = 0; i < OMO_MODELS; i++)
        cJSON_AddStringToObject(object, omo_model_names[i], plan->model_sha256[i]);
    return object;
}

/** The person's own rise of the shoulder that excess is judged against, to the bit. */
static cJSON *rise_json(const struct omo_rise *rise)
{
    cJSON *array = cJSON_CreateArray();
    for (int i = 0; rise && i < rise->count; i++) {
        const struct omo_rise_point *p = &rise->point[i];
        const double values[] = {p->angle_deg, p->ratio, p->ratio_sd, p->lean_deg};
        cJSON *one = cJSON_CreateArray();
        for (size_t k = 0; k < G_N_ELEMENTS(values); k++) {
            char text[G_ASCII_DTOSTR_BUF_SIZE]; /* 17 digits: the same double again */
            g_ascii_dtostr(text, sizeof text, values[k]);
            cJSON_AddItemToArray(one,
                                 cJSON_CreateRaw(isfinite(values[k]) ? text : "null"));
        }
        cJSON_AddItemToArray(array, one);
    }
    return array;
}

/** The fit or the prior that the correction came from. */
static cJSON *correction_json(const struct omo_session_row *row)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "from",
                            isfinite(row->pivot_offset_ratio)
                                ? "fit of pivot and plane"
                                : "what is believed beforehand (models/pivot.ini)");
    add_number(object, "pivot_offset_ratio", row->pivot_offset_ratio, 3);
    add_number(object, "plane_turn_deg", row->plane_turn_deg, 3);
    return object;
}

/** What was placed, and what had been measured there. */
static cJSON *corrections_json(const GArray *corrections)
{
    cJSON *array = cJSON_CreateArray();
    for (guint i = 0; corrections && i < corrections->len; i++) {
        const struct omo_correction *c =
            &g_array_index(corrections, struct omo_correction, i);
        cJSON *object = cJSON_CreateObject();
        cJSON_AddNumberToObject(object, "frame", (double)c->frame);
        cJSON_AddStringToObject(object, "marker", omo_role_name(c->role));
        add_number(object, "x_px", c->x_px, 6);
        add_number(object, "y_px", c->y_px, 6);
        add_number(object, "measured_x_px", c->measured_x_px, 6);
        add_number(object, "measured_y_px", c->measured_y_px, 6);
        cJSON_AddItemToArray(array, object);
    }
    return array;
}

enum omo_status omo_provenance_write(const char *directory,
                                     const struct omo_provenance *what)
{
    char settings[33], sum[65];
    g_autofree char *trace = g_build_filename(directory, what->row->trace, NULL);
    g_autofree char *path = omo_provenance_path(directory, what->row->trace);
    g_autofree char *name = g_path_get_basename(what->clip);
    enum omo_status status = omo_input_hash(trace, sum);
    if (status != OMO_OK)
        return status;
    omo_provenance_settings(what->plan, settings);
    cJSON *json = cJSON_CreateObject();
    cJSON_AddStringToObject(json, "omogon", OMO_VERSION);
    cJSON_AddStringToObject(json, "clip", name);
    cJSON_AddStringToObject(json, "clip_sha256", what->content);
    add_number(json, "start_s", what->stretch->start_s, 6);
    add_number(json, "end_s", what->stretch->end_s, 6);
    cJSON_AddStringToObject(json, "measured_side", what->plan->row.side);
    cJSON_AddItemToObject(json, "options", options_json(what));
    cJSON_AddStringToObject(json, "settings_mark", settings);
    cJSON_AddItemToObject(json, "models_sha256", models_json(what->plan));
    cJSON_AddStringToObject(json, "colours_text", what->plan->colours_text);
    cJSON_AddItemToObject(json, "markers", markers_json(what->plan));
    if (what->plan->has_lens) {
        cJSON_AddStringToObject(json, "lens", what->plan->lens_name);
        cJSON_AddStringToObject(json, "lens_text", what->plan->lens_text);
    } else {
        cJSON_AddNullToObject(json, "lens");
    }
    cJSON_AddItemToObject(json, "expected_rise",
                          rise_json(what->plan->measure.expected_rise));
    add_number(json, "cutoff_hz", what->plan->measure.cutoff_hz, 3);
    cJSON_AddItemToObject(json, "correction", correction_json(what->row));
    cJSON_AddItemToObject(json, "markers_placed_by_hand",
                          corrections_json(what->work->corrections));
    cJSON_AddStringToObject(json, "trace_sha256", sum);
    g_autofree char *lines = omo_json_lines(json);
    if (!lines)
        return OMO_ERR_MEMORY;
    return omo_file_write_atomic(path, lines, strlen(lines), 0600);
}
