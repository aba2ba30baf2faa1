/* A trace made again from its provenance. What the options call by name - colours, lens -
 * is laid out from the provenance's own text, so that nothing else than the clip is
 * needed. */
#include "app/provenance.h"

#include <errno.h>
#include <math.h>
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
#include "omogon/rise.h"
#include "omogon/words.h"

#define LIMIT_BYTES ((size_t)1 << 20)

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

GArray *omo_provenance_corrections(const char *directory, const char *trace,
                                   const char *content)
{
    g_autofree char *path = omo_provenance_path(directory, trace);
    cJSON *json = g_file_test(path, G_FILE_TEST_IS_REGULAR) ? read_json(path) : NULL;
    GArray *found = json && !strcmp(text_of(json, "clip_sha256"), content)
                        ? corrections_of(json)
                        : NULL;
    cJSON_Delete(json);
    return found;
}

/** What excess of rise was judged against; false: nothing. */
static bool rise_of(const cJSON *json, struct omo_rise *rise)
{
    const cJSON *point;
    rise->count = 0;
    cJSON_ArrayForEach(point, cJSON_GetObjectItem(json, "expected_rise"))
    {
        double value[4];
        for (int i = 0; i < 4; i++) {
            const cJSON *item = cJSON_GetArrayItem(point, i);
            value[i] = cJSON_IsNumber(item) ? item->valuedouble : (double)NAN;
        }
        if (rise->count < OMO_RISE_MAX)
            rise->point[rise->count++] =
                (struct omo_rise_point){value[0], value[1], value[2], value[3], 0};
    }
    return rise->count > 0;
}

/** Measures into the folder; the sum of the trace that comes out. */
static enum omo_status measure_into(const char *folder, const cJSON *json,
                                    const char *clip, const struct omo_plan *plan,
                                    char sum[65])
{
    struct omo_plan side[2] = {*plan, *plan};
    const struct omo_stretch stretch = {number_of(json, "start_s"),
                                        number_of(json, "end_s")};
    struct omo_run run = {.record = NULL};
    enum omo_status status = omo_record_open(folder, true, &run.record);
    if (status != OMO_OK)
        return status;
    if (plan->both_sides)
        omo_plan_take_side(&side[1], OMO_LEFT);
    const struct omo_work work = {.plan = side,
                                  .side_count = plan->both_sides ? 2 : 1,
                                  .stretch = &stretch,
                                  .stretch_count = 1,
                                  .corrections = corrections_of(json)};
    struct omo_clip_job job = {.work = &work, .path = clip};
    g_strlcpy(run.directory, folder, sizeof run.directory);
    bool good = omo_clip_measure_alone(&run, &job);
    status = OMO_ERR_EMPTY;
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
    return status;
}

/** The models' files that are others than then, by name; "" when none is. */
static void name_other_models(const cJSON *json, const struct omo_plan *plan,
                              GString *names)
{
    const cJSON *sums = cJSON_GetObjectItem(json, "models_sha256");
    for (size_t i = 0; i < OMO_MODELS; i++)
        if (strcmp(text_of(sums, omo_model_names[i]), plan->model_sha256[i]) != 0)
            g_string_append_printf(names, "%s%s", names->len ? ", " : "",
                                   omo_model_names[i]);
}

static void warn_of_other_settings(const cJSON *json, const struct omo_plan *plan)
{
    char settings[33];
    struct omo_plan side = *plan;
    g_autoptr(GString) models = g_string_new(NULL);
    if (plan->both_sides && !strcmp(text_of(json, "measured_side"), "left"))
        omo_plan_take_side(&side, OMO_LEFT);
    omo_provenance_settings(&side, settings);
    name_other_models(json, plan, models);
    if (models->len > 0)
        omo_warning("in models/ these files are not those of then: %s", models->str);
    else if (strcmp(settings, text_of(json, "settings_mark")) != 0)
        omo_warning("the settings are not those of then (omogon %s, now %s)",
                    text_of(json, "omogon"), OMO_VERSION);
}

static int compare(const cJSON *json, const char *clip, const char *folder,
                   const struct omo_option_words *words)
{
    char content[65], sum[65] = "";
    struct omo_plan plan;
    struct omo_rise rise;
    if (omo_input_hash(clip, content) != OMO_OK)
        return OMO_EXIT_FAILED;
    if (strcmp(content, text_of(json, "clip_sha256")) != 0) {
        omo_error("%s is not the clip of this trace: its content is another", clip);
        return OMO_EXIT_FAILED;
    }
    if (!omo_plan_resolve(words, true, &plan))
        return OMO_EXIT_USAGE;
    if (rise_of(json, &rise))
        plan.measure.expected_rise = &rise;
    warn_of_other_settings(json, &plan);
    g_autofree char *record = g_build_filename(folder, "record", NULL);
    enum omo_status status = measure_into(record, json, clip, &plan, sum);
    omo_plan_finish(&plan);
    if (status != OMO_OK)
        return OMO_EXIT_FAILED;
    bool same = !strcmp(sum, text_of(json, "trace_sha256"));
    puts(same ? omo_word("the same trace, to the bit") : omo_word("another trace"));
    return same ? OMO_EXIT_DONE : OMO_EXIT_FAILED;
}

/** Puts a file that an option names into the folder, and its path in the option's place;
 *  `usual` is its name where the option was not given. */
static enum omo_status lay_out(const cJSON *json, const char *text_name,
                               const char *folder, const char *usual, char **word)
{
    const char *text = text_of(json, text_name);
    if (!text[0])
        return OMO_OK;
    g_autofree char *base = g_path_get_basename(*word ? *word : usual);
    /* A name alone becomes a path: with its ending, that a set and a profile are files.
     */
    g_autofree char *name =
        g_str_has_suffix(base, ".ini") ? g_strdup(base) : g_strconcat(base, ".ini", NULL);
    char *path = g_build_filename(folder, name, NULL);
    g_free(*word);
    *word = path;
    return omo_file_write_atomic(path, text, strlen(text), 0600);
}

/** With everything it needs in a folder of its own, which is gone afterwards. */
static int again_in(const char *folder, const cJSON *json, const char *clip,
                    struct omo_option_words *words)
{
    const cJSON *given = cJSON_GetObjectItem(json, "options");
    for (const struct omo_option_word *word = omo_option_word_list; word->name; word++)
        if (word->changes_trace && text_of(given, word->name)[0])
            *omo_option_word_at(words, word) = g_strdup(text_of(given, word->name));
    words->mirrored = cJSON_IsTrue(cJSON_GetObjectItem(given, "mirrored"));
    if (lay_out(json, "colours_text", folder, "colours", &words->colours) != OMO_OK ||
        lay_out(json, "lens_text", folder, "lens", &words->lens) != OMO_OK)
        return OMO_EXIT_FAILED;
    return compare(json, clip, folder, words);
}

int omo_provenance_again(const char *path, const char *clip)
{
    struct omo_option_words words = {.takes_both_sides = true};
    cJSON *json = read_json(path);
    if (!json)
        return OMO_EXIT_FAILED;
    g_autoptr(GError) error = NULL;
    g_autofree char *folder = g_dir_make_tmp("omogon-again-XXXXXX", &error);
    g_autofree char *beside = g_path_get_dirname(path);
    g_autofree char *usual = g_build_filename(beside, text_of(json, "clip"), NULL);
    int code = OMO_EXIT_FAILED;
    if (folder) {
        code = again_in(folder, json, clip ? clip : usual, &words);
        omo_folder_remove(folder);
    } else {
        omo_error("no folder for the time being can be made: %s", error->message);
    }
    omo_options_finish(&words);
    cJSON_Delete(json);
    return code;
}
