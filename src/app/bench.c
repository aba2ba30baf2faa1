#include "app/bench.h"

#include <cjson/cJSON.h>
#include <glib.h>
#include <math.h>
#include <stdio.h>

#include "app/bench_form.h"
#include "app/commands.h"
#include "app/lens_plan.h"
#include "app/pipeline.h"
#include "app/progress_line.h"
#include "omogon/filter.h"
#include "omogon/geometry.h"
#include "omogon/log.h"
#include "omogon/source.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* What counts as held: the rule of held_max_deg. */
#define HELD_S          1.0
#define HELD_SPREAD_DEG 1.0
#define GAP_S           0.1
#define SHORT_S         0.3
/* An arm that was not held at the top was held still somewhere below, before the raise.
 */
#define BELOW_TOP_DEG 5.0

/* ---- one clip ---- */

/** The picture's own angle, read by the rule that the corrected one is read by. */
static double held_image_deg(const struct omo_trace_row *rows, size_t count,
                             double cutoff_hz)
{
    double *block = g_try_new(double, 3 * count);
    double held_deg = NAN;
    if (!block)
        return NAN;
    double *time_s = block, *raw = block + count, *smooth = block + 2 * count;
    for (size_t i = 0; i < count; i++) {
        time_s[i] = rows[i].time_s;
        raw[i] = rows[i].angle_image_deg;
    }
    if (omo_smooth_series(time_s, raw, count, cutoff_hz, GAP_S, SHORT_S, smooth, NULL) ==
        OMO_OK)
        held_deg = omo_sustained_max_deg(time_s, smooth, count, HELD_S, GAP_S,
                                         HELD_SPREAD_DEG, NULL);
    g_free(block);
    return held_deg;
}

static void read_angles(const struct omo_measure_settings *settings,
                        const struct omo_tracked *tracked, struct omo_bench_row *row)
{
    struct omo_trace_row *rows = g_try_malloc0_n(tracked->count + 1, sizeof *rows);
    struct omo_result result;
    enum omo_status status = OMO_ERR_MEMORY;
    if (rows)
        status = omo_measure(settings, tracked->frame, tracked->count, rows, &result);
    if (status == OMO_ERR_EMPTY) {
        omo_error(
            "line %zu: the markers in %s were never seen together; check the light, "
            "the colours with \"omogon colours\", and --side",
            row->line, row->clip);
    } else if (status == OMO_ERR_MEMORY) {
        omo_error("line %zu: %s is too long for this machine's memory", row->line,
                  row->clip);
    } else if (status == OMO_OK && result.against_direction) {
        omo_error("line %zu: in %s the arm moves against the stated direction; check "
                  "--side and --facing",
                  row->line, row->clip);
    } else if (status == OMO_OK &&
               !(result.held_max_deg > result.max_deg - BELOW_TOP_DEG)) {
        omo_error("line %zu: in %s the board is not held for a second at its highest "
                  "angle; film it again",
                  row->line, row->clip);
    } else if (status == OMO_OK) {
        row->angle_deg = result.held_max_deg;
        row->u95_deg = result.max_u95_deg;
        row->image_deg = held_image_deg(rows, tracked->count, settings->cutoff_hz);
        row->measured = isfinite(row->image_deg);
    }
    g_free(rows);
}

static void measure_clip(const struct omo_plan *plan, const char *path,
                         struct omo_bench_row *row)
{
    struct omo_source *source = NULL;
    struct omo_tracker *tracker = NULL;
    struct omo_tracked tracked = {0};
    enum omo_status status = omo_clip_open(path, &source);
    if (status == OMO_OK)
        status = omo_tracker_create(&plan->tracker, &tracker);
    if (status == OMO_OK)
        status = omo_track_source(source, tracker, NULL, NULL, &tracked);
    if (status == OMO_OK) {
        struct omo_measure_settings settings = plan->measure;
        struct omo_lens lens;
        const struct omo_source_info *info = omo_source_info(source);
        settings.picture_width = info->width;
        settings.picture_height = info->height;
        if (omo_plan_fit_lens(plan, info->width, info->height, &lens, &settings.lens))
            read_angles(&settings, &tracked, row);
    }
    omo_tracked_finish(&tracked);
    omo_tracker_destroy(tracker);
    omo_source_destroy(source);
}

/* ---- the table ---- */

/** Root mean square and largest of one kind of difference at one turn. */
struct spread {
    int count, within;
    double sum, most;
};

static void spread_add(struct spread *s, double off)
{
    s->count++;
    s->sum += off * off;
    s->most = fmax(s->most, fabs(off));
}

static double spread_rms(const struct spread *s)
{
    return sqrt(s->sum / s->count);
}

static double image_off(const struct omo_bench_row *row)
{
    return row->image_deg - row->expected_deg;
}

static double angle_off(const struct omo_bench_row *row)
{
    return row->angle_deg - row->set_deg;
}

/** Both spreads of the rows at one turn, row `first` on; counts 0 when a row of that turn
 *  came before. */
static void spreads_at(const struct omo_bench_form *form, size_t first,
                       struct spread *image, struct spread *angle)
{
    *image = *angle = (struct spread){0};
    double yaw_deg = form->row[first].yaw_deg;
    for (size_t i = 0; i < form->count; i++) {
        const struct omo_bench_row *row = &form->row[i];
        if (!row->measured || fabs(row->yaw_deg - yaw_deg) > 1e-9)
            continue;
        if (i < first) {
            *image = *angle = (struct spread){0};
            return;
        }
        spread_add(image, image_off(row));
        spread_add(angle, angle_off(row));
        angle->within += fabs(angle_off(row)) <= row->u95_deg;
    }
}

static void print_cell(double value, int decimals)
{
    char text[32];
    omo_number_text(value, decimals, text, sizeof text);
    printf(" %10s", text);
}

/** A heading right above its column, whatever the width of its letters in bytes. */
static void print_heading(const char *text)
{
    printf(" %*s%s", MAX(10 - (int)g_utf8_strlen(text, -1), 0), "", text);
}

static void print_rows(const struct omo_bench_form *form)
{
    const char *const headings[] = {
        omo_word_in("column", "set"),     omo_word_in("column", "turn"),
        omo_word_in("column", "picture"), omo_word_in("column", "expected"),
        omo_word_in("column", "off"),     omo_word_in("column", "corrected"),
        omo_word_in("column", "off"),     omo_word_in("column", "good to"),
    };
    for (size_t i = 0; i < G_N_ELEMENTS(headings); i++)
        print_heading(headings[i]);
    printf("  %s\n", omo_word_in("column", "clip"));
    for (size_t i = 0; i < form->count; i++) {
        const struct omo_bench_row *row = &form->row[i];
        if (!row->measured)
            continue;
        const double values[] = {row->set_deg,      row->yaw_deg,   row->image_deg,
                                 row->expected_deg, image_off(row), row->angle_deg,
                                 angle_off(row),    row->u95_deg};
        for (size_t k = 0; k < G_N_ELEMENTS(values); k++)
            print_cell(values[k], k == 4 || k == 6 ? 2 : 1);
        printf("  %s\n", row->clip);
    }
}

static void print_table(const struct omo_bench_form *form)
{
    print_rows(form);
    puts("");
    for (size_t i = 0; i < form->count; i++) {
        struct spread image, angle;
        char yaw[32], number[4][32];
        if (!form->row[i].measured)
            continue;
        spreads_at(form, i, &image, &angle);
        if (angle.count == 0)
            continue;
        omo_number_text(form->row[i].yaw_deg, 0, yaw, sizeof yaw);
        omo_number_text(spread_rms(&image), 2, number[0], sizeof number[0]);
        omo_number_text(image.most, 2, number[1], sizeof number[1]);
        omo_number_text(spread_rms(&angle), 2, number[2], sizeof number[2]);
        omo_number_text(angle.most, 2, number[3], sizeof number[3]);
        printf(omo_word("turned by %s degrees, clips: %d: picture off by %s (root mean "
                        "square), %s at most; corrected off by %s, %s at most; within "
                        "what it is good to: %d\n"),
               yaw, angle.count, number[0], number[1], number[2], number[3],
               angle.within);
    }
    puts(omo_word(
        "\nAll in degrees. \"Expected\" is what a board turned so far shows in a "
        "picture. A board has no\nskin and no shoulder blade: this tests camera, "
        "lens, level and turn, not the stickers' places.\nThe correction expects "
        "a person, and may be off on a board by as much as it is good to."));
}

static void add_number(cJSON *object, const char *key, double value)
{
    char text[32];
    omo_number_text(value, 3, text, sizeof text);
    if (text[0])
        cJSON_AddItemToObject(object, key, cJSON_CreateRaw(text));
    else
        cJSON_AddNullToObject(object, key);
}

static cJSON *clip_object(const struct omo_bench_row *row)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "clip", row->clip);
    add_number(object, "set_deg", row->set_deg);
    add_number(object, "angle_image_deg", row->image_deg);
    add_number(object, "expected_image_deg", row->expected_deg);
    add_number(object, "image_difference_deg", image_off(row));
    add_number(object, "angle_deg", row->angle_deg);
    add_number(object, "difference_deg", angle_off(row));
    add_number(object, "u95_deg", row->u95_deg);
    return object;
}

/** One object a turn, with its clips. */
static void print_json(const struct omo_bench_form *form)
{
    cJSON *array = cJSON_CreateArray();
    for (size_t i = 0; i < form->count; i++) {
        struct spread image, angle;
        if (!form->row[i].measured)
            continue;
        spreads_at(form, i, &image, &angle);
        if (angle.count == 0)
            continue;
        cJSON *turn = cJSON_CreateObject(), *clips = cJSON_CreateArray();
        add_number(turn, "yaw_deg", form->row[i].yaw_deg);
        add_number(turn, "image_rms_deg", spread_rms(&image));
        add_number(turn, "image_max_deg", image.most);
        add_number(turn, "rms_deg", spread_rms(&angle));
        add_number(turn, "max_deg", angle.most);
        cJSON_AddNumberToObject(turn, "within_u95", angle.within);
        for (size_t k = i; k < form->count; k++)
            if (form->row[k].measured &&
                fabs(form->row[k].yaw_deg - form->row[i].yaw_deg) <= 1e-9)
                cJSON_AddItemToArray(clips, clip_object(&form->row[k]));
        cJSON_AddItemToObject(turn, "clips", clips);
        cJSON_AddItemToArray(array, turn);
    }
    char *text = cJSON_Print(array);
    puts(text ? text : "[]");
    cJSON_free(text);
    cJSON_Delete(array);
}

/* ---- the command's part ---- */

/** Measures all clips; true when each gave an angle. */
static bool measure_all(const struct omo_plan *plan, const char *path,
                        struct omo_bench_form *form)
{
    g_autofree char *folder = g_path_get_dirname(path);
    bool all = true;
    omo_progress_begin();
    for (size_t i = 0; i < form->count; i++) {
        struct omo_bench_row *row = &form->row[i];
        g_autofree char *clip = g_path_is_absolute(row->clip)
                                    ? g_strdup(row->clip)
                                    : g_build_filename(folder, row->clip, NULL);
        omo_progress_show((double)i / (double)form->count, row->clip);
        row->expected_deg = omo_projected_angle_deg(row->set_deg, row->yaw_deg);
        measure_clip(plan, clip, row);
        all = all && row->measured;
    }
    omo_progress_end();
    return all;
}

int omo_bench_check(const struct omo_option_words *words, const char *path, bool json)
{
    struct omo_option_words chosen = *words;
    struct omo_bench_form form = {0};
    struct omo_plan plan;
    /* What the sheet is drawn for; lent, not owned. */
    if (!chosen.movement)
        chosen.movement = (char *)"flexion";
    if (!chosen.side)
        chosen.side = (char *)"right";
    if (!omo_plan_resolve(&chosen, true, &plan))
        return OMO_EXIT_USAGE;
    int code = OMO_EXIT_FAILED;
    if (plan.movement->geometry != OMO_GEOMETRY_ELEVATION) {
        omo_error("--movement %s is no raise of the arm; the board stands for flexion or "
                  "abduction",
                  plan.movement->name);
        code = OMO_EXIT_USAGE;
    } else if (omo_bench_form_read(path, &form)) {
        if (measure_all(&plan, path, &form))
            code = OMO_EXIT_DONE;
        if (json)
            print_json(&form);
        else
            print_table(&form);
    }
    omo_bench_form_finish(&form);
    omo_plan_finish(&plan);
    return code;
}
