#include "app/provenance.h"

#include <errno.h>
#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cjson/cJSON.h>

#include "app/clip_run.h"
#include "app/commands.h"
#include "app/corrections.h"
#include "app/inputs.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define TRACE_SUFFIX      ".trace.csv"
#define PROVENANCE_SUFFIX ".provenance.json"
#define LIMIT_BYTES       ((size_t)1 << 20)

/* Options that a trace depends on. Who it is of, and who measured, are not among them. */
#define WORD(name, field)                                                                \
    {                                                                                    \
        name, offsetof(struct omo_option_words, field)                                   \
    }
static const struct {
    const char *name;
    size_t offset;
} options[] = {
    WORD("movement", movement),
    WORD("side", side),
    WORD("from", from),
    WORD("facing", facing),
    WORD("position", position),
    WORD("mode", mode),
    WORD("arms", arms),
    WORD("placement", placement),
    WORD("shoulder-marker", shoulder_marker),
    WORD("colours", colours),
    WORD("cutoff", cutoff),
    WORD("marker-size", marker_size),
    WORD("abduction", abduction),
    WORD("forearm", forearm),
    WORD("lens", lens),
};

static char **word_at(const struct omo_option_words *words, size_t offset)
{
    return (char **)(void *)((char *)(uintptr_t)words + offset);
}

/** Hash of everything of the plan that changes an angle, by nobody's name. */
static void settings_id(const struct omo_plan *plan, char out[33])
{
    struct omo_plan nobody = *plan;
    struct omo_id *id = omo_id_create();
    nobody.row.person[0] = nobody.row.visit[0] = nobody.row.rater[0] = '\0';
    omo_plan_identify(&nobody, id);
    omo_id_finish(id, out);
}

static char *beside(const char *directory, const char *trace)
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
    for (size_t i = 0; i < G_N_ELEMENTS(options); i++) {
        const char *word = *word_at(what->work->words, options[i].offset);
        /* A file of colours is named without its folder; its marks are below. */
        g_autofree char *name = word ? g_path_get_basename(word) : NULL;
        if (name)
            cJSON_AddStringToObject(object, options[i].name, name);
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
    g_autofree char *path = beside(directory, what->row->trace);
    g_autofree char *name = g_path_get_basename(what->clip);
    enum omo_status status = omo_input_hash(trace, sum);
    if (status != OMO_OK)
        return status;
    settings_id(what->plan, settings);
    cJSON *json = cJSON_CreateObject();
    cJSON_AddStringToObject(json, "omogon", OMO_VERSION);
    cJSON_AddStringToObject(json, "clip", name);
    cJSON_AddStringToObject(json, "clip_sha256", what->content);
    add_number(json, "start_s", what->stretch->start_s, 6);
    add_number(json, "end_s", what->stretch->end_s, 6);
    cJSON_AddStringToObject(json, "measured_side", what->plan->row.side);
    cJSON_AddItemToObject(json, "options", options_json(what));
    cJSON_AddStringToObject(json, "settings_mark", settings);
    cJSON_AddStringToObject(json, "models_mark", what->plan->models);
    cJSON_AddItemToObject(json, "markers", markers_json(what->plan));
    if (what->plan->has_lens)
        cJSON_AddStringToObject(json, "lens", what->plan->lens_name);
    else
        cJSON_AddNullToObject(json, "lens");
    add_number(json, "cutoff_hz", what->plan->measure.cutoff_hz, 3);
    cJSON_AddItemToObject(json, "correction", correction_json(what->row));
    cJSON_AddItemToObject(json, "markers_placed_by_hand",
                          corrections_json(what->work->corrections));
    cJSON_AddStringToObject(json, "trace_sha256", sum);
    char *text = cJSON_Print(json);
    cJSON_Delete(json);
    if (!text)
        return OMO_ERR_MEMORY;
    g_autofree char *lines = g_strconcat(text, "\n", NULL);
    free(text);
    return omo_file_write_atomic(path, lines, strlen(lines), 0600);
}

/* ---- again ---------------------------------------------------------------------------
 */

static const char *text_of(const cJSON *json, const char *name)
{
    const char *text = cJSON_GetStringValue(cJSON_GetObjectItem(json, name));
    return text ? text : "";
}

static double number_of(const cJSON *json, const char *name)
{
    const cJSON *item = cJSON_GetObjectItem(json, name);
    return cJSON_IsNumber(item) ? item->valuedouble : (double)NAN;
}

static cJSON *read_json(const char *path)
{
    char *bytes = NULL;
    size_t size = 0;
    enum omo_status status = omo_file_read(path, LIMIT_BYTES, &bytes, &size);
    if (status == OMO_ERR_OPEN)
        omo_error("%s cannot be opened: %s", path, g_strerror(errno));
    if (status != OMO_OK)
        return NULL;
    cJSON *json = cJSON_ParseWithLength(bytes, size);
    free(bytes);
    if (!text_of(json, "clip_sha256")[0] || !text_of(json, "trace_sha256")[0]) {
        omo_error(
            "%s is no provenance of a trace; \"omogon trace --provenance\" writes one",
            path);
        cJSON_Delete(json);
        return NULL;
    }
    return json;
}

/** What was placed by hand; NULL: nothing. */
static GArray *corrections_of(const cJSON *json)
{
    const cJSON *item;
    GArray *found = g_array_new(FALSE, FALSE, sizeof(struct omo_correction));
    cJSON_ArrayForEach(item, cJSON_GetObjectItem(json, "markers_placed_by_hand"))
    {
        const struct omo_correction one = {.frame = (int64_t)number_of(item, "frame"),
                                           .role = omo_role_from_name(
                                               text_of(item, "marker")),
                                           .x_px = number_of(item, "x_px"),
                                           .y_px = number_of(item, "y_px")};
        if (one.role != OMO_ROLE_COUNT)
            g_array_append_val(found, one);
    }
    if (found->len > 0)
        return found;
    g_array_unref(found);
    return NULL;
}

/** The sum of the trace that comes out; the record is a folder for the time being. */
static enum omo_status make_again(const cJSON *json, const char *clip,
                                  const struct omo_plan *plan, char sum[65])
{
    g_autofree char *folder = g_dir_make_tmp("omogon-again-XXXXXX", NULL);
    struct omo_plan side[2] = {*plan, *plan};
    const struct omo_stretch stretch = {number_of(json, "start_s"),
                                        number_of(json, "end_s")};
    if (plan->both_sides)
        omo_plan_take_side(&side[1], OMO_LEFT);
    const struct omo_work work = {.plan = side,
                                  .side_count = plan->both_sides ? 2 : 1,
                                  .stretch = &stretch,
                                  .stretch_count = 1,
                                  .corrections = corrections_of(json)};
    struct omo_run run = {.record = NULL};
    struct omo_clip_job job = {.work = &work, .path = clip};
    if (!folder || omo_record_open(folder, true, &run.record) != OMO_OK)
        return OMO_ERR_IO;
    g_strlcpy(run.directory, folder, sizeof run.directory);
    bool good = omo_clip_measure_alone(&run, &job);
    enum omo_status status = good ? OMO_OK : OMO_ERR_EMPTY;
    for (int i = 0; good && i < work.side_count; i++)
        if (!strcmp(job.outcome[i].row.side, text_of(json, "measured_side"))) {
            g_autofree char *trace =
                g_build_filename(folder, job.outcome[i].row.trace, NULL);
            status = omo_input_hash(trace, sum);
        }
    omo_clip_run_finish(&job, 1);
    omo_record_close(run.record);
    if (work.corrections)
        g_array_unref(work.corrections);
    g_autoptr(GDir) inside = g_dir_open(folder, 0, NULL);
    for (const char *name; inside && (name = g_dir_read_name(inside));) {
        g_autofree char *one = g_build_filename(folder, name, NULL);
        remove(one);
    }
    remove(folder);
    return status;
}

static int compare(const cJSON *json, const char *clip,
                   const struct omo_option_words *words)
{
    char content[65], settings[33], sum[65] = "";
    struct omo_plan plan;
    if (omo_input_hash(clip, content) != OMO_OK)
        return OMO_EXIT_FAILED;
    if (strcmp(content, text_of(json, "clip_sha256")) != 0) {
        omo_error("%s is not the clip of this trace: its content is another", clip);
        return OMO_EXIT_FAILED;
    }
    if (!omo_plan_resolve(words, true, &plan))
        return OMO_EXIT_USAGE;
    struct omo_plan side = plan;
    if (plan.both_sides && !strcmp(text_of(json, "measured_side"), "left"))
        omo_plan_take_side(&side, OMO_LEFT);
    settings_id(&side, settings);
    bool same_settings = !strcmp(settings, text_of(json, "settings_mark"));
    if (!same_settings)
        omo_warning("the settings are not those of then (omogon %s, now %s; or models, "
                    "colours or lens are others)",
                    text_of(json, "omogon"), OMO_VERSION);
    enum omo_status status = make_again(json, clip, &plan, sum);
    omo_plan_finish(&plan);
    if (status != OMO_OK)
        return OMO_EXIT_FAILED;
    bool same = !strcmp(sum, text_of(json, "trace_sha256"));
    puts(same ? omo_word("the same trace, to the bit") : omo_word("another trace"));
    return same ? OMO_EXIT_DONE : OMO_EXIT_FAILED;
}

int omo_provenance_again(const char *path, const char *clip, const char *data)
{
    struct omo_option_words words = {.takes_both_sides = true, .data = g_strdup(data)};
    cJSON *json = read_json(path);
    if (!json)
        return OMO_EXIT_FAILED;
    const cJSON *given = cJSON_GetObjectItem(json, "options");
    for (size_t i = 0; i < G_N_ELEMENTS(options); i++)
        if (text_of(given, options[i].name)[0])
            *word_at(&words, options[i].offset) =
                g_strdup(text_of(given, options[i].name));
    words.mirrored = cJSON_IsTrue(cJSON_GetObjectItem(given, "mirrored"));
    g_autofree char *folder = g_path_get_dirname(path);
    g_autofree char *usual = g_build_filename(folder, text_of(json, "clip"), NULL);
    int code = compare(json, clip ? clip : usual, &words);
    omo_options_finish(&words);
    cJSON_Delete(json);
    return code;
}
