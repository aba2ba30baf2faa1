#include "app/pipeline.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "omogon/draw.h"
#include "omogon/log.h"
#include "omogon/text.h"

void omo_tracked_finish(struct omo_tracked *tracked)
{
    g_free(tracked->frame);
    memset(tracked, 0, sizeof *tracked);
}

static struct omo_track_frame *tracked_add(struct omo_tracked *tracked,
                                           const struct omo_frame *frame)
{
    if (tracked->count == tracked->room) {
        size_t room = tracked->room ? tracked->room * 2 : 1024;
        struct omo_track_frame *grown =
            g_try_realloc_n(tracked->frame, room, sizeof *tracked->frame);
        if (!grown)
            return NULL;
        tracked->frame = grown;
        tracked->room = room;
    }
    struct omo_track_frame *out = &tracked->frame[tracked->count++];
    *out = (struct omo_track_frame){.index = frame->index,
                                    .time_s = frame->time_s,
                                    .damaged = frame->damaged,
                                    .repeated = frame->repeated};
    return out;
}

enum omo_status omo_track_source(struct omo_source *source, struct omo_tracker *tracker,
                                 omo_frame_hook hook, void *user,
                                 struct omo_tracked *tracked)
{
    for (;;) {
        struct omo_frame frame;
        enum omo_status status = omo_source_next(source, false, &frame);
        if (status == OMO_END)
            return OMO_OK;
        if (status != OMO_OK)
            return status;
        struct omo_track_frame *out = tracked_add(tracked, &frame);
        if (!out)
            return OMO_ERR_MEMORY;
        status = omo_tracker_step(tracker, &frame, &out->markers);
        if (status != OMO_OK) {
            tracked->count--;
            return status;
        }
        if (hook && !hook(out, 0, user))
            return OMO_ERR_CANCELLED;
    }
}

enum omo_status omo_track_pair(struct omo_source *source, struct omo_pair *pair,
                               omo_frame_hook hook, void *user,
                               struct omo_tracked *tracked)
{
    for (;;) {
        struct omo_frame frame;
        struct omo_markers markers[2];
        enum omo_status status = omo_source_next(source, false, &frame);
        if (status == OMO_END)
            return OMO_OK;
        if (status == OMO_OK)
            status = omo_pair_step(pair, &frame, markers);
        if (status != OMO_OK)
            return status;
        for (int side = 0; side < 2; side++) {
            struct omo_track_frame *out = tracked_add(&tracked[side], &frame);
            if (!out)
                return OMO_ERR_MEMORY;
            out->markers = markers[side];
            if (hook && !hook(out, side, user))
                return OMO_ERR_CANCELLED;
        }
    }
}

enum omo_status omo_highest_write(struct omo_source *source,
                                  const struct omo_highest *highest, const char *path)
{
    struct omo_frame frame;
    enum omo_status status;
    char caption[96] = "";
    const struct omo_session_row *session = highest->session;
    omo_text_add(caption, sizeof caption, "%s, %s, %s, %s", session->movement,
                 session->side, session->position, session->mode);
    do
        status = omo_source_next(source, true, &frame);
    while (status == OMO_OK && frame.index < highest->row->frame);
    if (status != OMO_OK)
        return status;
    return omo_still_write(&(struct omo_still){.planes = &frame.planes,
                                               .quarter_turns =
                                                   frame.turned.quarter_turns,
                                               .row = highest->row,
                                               .result = highest->result,
                                               .settings = highest->settings,
                                               .caption = caption,
                                               .show_head = highest->show_head},
                           path);
}

const struct omo_trace_row *omo_row_of_frame(const struct omo_trace_row *rows,
                                             size_t count, int64_t frame)
{
    for (size_t i = 0; i < count; i++)
        if (rows[i].frame == frame)
            return &rows[i];
    return NULL;
}

void omo_row_fill(struct omo_session_row *row, const struct omo_result *result)
{
    row->max_deg = result->max_deg;
    row->max_u95_deg = result->max_u95_deg;
    row->held_max_deg = result->held_max_deg;
    row->mean_of_maxima_deg = result->mean_of_maxima_deg;
    row->max_before_hike_deg = result->max_before_hike_deg;
    row->rest_deg = result->rest_deg;
    row->repetitions = result->repetitions;
    row->hike_at_max_ratio = result->hike_at_max_ratio;
    row->lean_at_max_deg = result->lean_at_max_deg;
    row->trunk_rest_offset_deg = result->trunk_rest_offset_deg;
    row->pivot_offset_ratio = result->pivot_offset_ratio;
    row->plane_turn_deg = result->plane_turn_deg;
    row->rotation_at_abduction_deg = result->rotation_at_abduction_deg;
    row->seen_ratio = result->seen_ratio;
    row->frames_per_second = result->frames_per_second;
    omo_text_copy(row->reference, sizeof row->reference,
                  omo_reference_name(result->reference));
    if (result->note[0])
        omo_row_note(row, result->note);
}

void omo_row_note(struct omo_session_row *row, const char *sentence)
{
    omo_text_add(row->note, sizeof row->note, "%s%s", row->note[0] ? " " : "", sentence);
}

static void add_number(char *text, size_t size, const char *before, double value,
                       int decimals, const char *after)
{
    char number[32];
    if (isnan(value))
        return;
    omo_number_text(value, decimals, number, sizeof number);
    omo_text_add(text, size, "%s%s%s", before, number, after);
}

void omo_row_text(const struct omo_session_row *row, char *text, size_t size)
{
    text[0] = '\0';
    omo_text_add(text, size, "%s, %s, %s: ", row->movement, row->side, row->position);
    if (isnan(row->max_deg))
        omo_text_add(text, size, "no highest angle (no stretch of 0.2 s without a gap)");
    add_number(text, size, "highest ", row->max_deg, 1, " degrees");
    add_number(text, size, ", good to ", row->max_u95_deg, 1, "");
    /* An arm that was not kept up at the top is held longest hanging down. */
    if (row->held_max_deg > row->max_deg - 15)
        add_number(text, size, "; held 1 s ", row->held_max_deg, 1, "");
    if (row->repetitions > 0) {
        omo_text_add(text, size, "; %d repetition%s", row->repetitions,
                     row->repetitions == 1 ? "" : "s");
        add_number(text, size, ", mean of their highest ", row->mean_of_maxima_deg, 1,
                   "");
    }
    add_number(text, size, "; at rest ", row->rest_deg, 1, "");
    add_number(text, size, "; shoulder raised by ", row->hike_at_max_ratio * 100, 0,
               " % of the upper arm at the highest");
    add_number(text, size, "; trunk leaning ", row->lean_at_max_deg, 1, " degrees there");
    if (row->max_before_hike_deg < row->max_deg)
        add_number(text, size, "; highest before shoulder or trunk went too far ",
                   row->max_before_hike_deg, 1, "");
    add_number(text, size, "; angle in ", row->seen_ratio * 100, 0, " % of the frames");
}

void omo_json_add_field(struct cJSON *object, const struct omo_session_field *field)
{
    if (field->is_number && field->text[0])
        cJSON_AddItemToObject(object, field->name, cJSON_CreateRaw(field->text));
    else if (field->is_number)
        cJSON_AddNullToObject(object, field->name);
    else
        cJSON_AddStringToObject(object, field->name, field->text);
}

struct cJSON *omo_row_json(const struct omo_session_row *row)
{
    cJSON *object = cJSON_CreateObject();
    struct omo_session_field field;
    for (int k = 0; omo_session_field(row, k, &field); k++)
        omo_json_add_field(object, &field);
    return object;
}

char *omo_json_lines(struct cJSON *json)
{
    char *text = cJSON_Print(json);
    char *lines = text ? g_strconcat(text, "\n", NULL) : NULL;
    cJSON_free(text);
    cJSON_Delete(json);
    return lines;
}

void omo_json_print(struct cJSON *array)
{
    char *text = cJSON_Print(array);
    puts(text ? text : "[]");
    cJSON_free(text);
    cJSON_Delete(array);
}
