#include "app/live_movement.h"

#include <math.h>
#include <string.h>

#include "app/lens_plan.h"
#include "app/pipeline.h"
#include "app/set_up.h"
#include "app/sides_text.h"
#include "omogon/text.h"

void omo_live_movement_init(struct omo_live_movement *movement,
                            const struct omo_saver_settings *settings)
{
    *movement = (struct omo_live_movement){.settings = settings};
    for (int i = 0; i < settings->arms; i++)
        movement->arm[i].frames =
            g_array_new(FALSE, FALSE, sizeof(struct omo_track_frame));
}

void omo_live_movement_finish(struct omo_live_movement *movement)
{
    for (int i = 0; i < movement->settings->arms; i++)
        g_array_unref(movement->arm[i].frames);
}

static enum omo_status first_of(enum omo_status one, enum omo_status other)
{
    return one != OMO_OK ? one : other;
}

/* ---- while it lasts ---- */

/** When it began and what its files are called; real time only of a camera. */
static void name(const struct omo_saver_settings *settings, struct omo_session_row *row,
                 char *stem, size_t size)
{
    omo_text_add(stem, size, "%s%s", row->person, row->person[0] ? "-" : "");
    if (settings->real_time) {
        g_autoptr(GDateTime) now = g_date_time_new_now_utc();
        g_autofree char *started = g_date_time_format(now, "%Y-%m-%dT%H:%M:%SZ");
        g_autofree char *stamp = g_date_time_format(now, "%Y%m%dT%H%M%S");
        omo_text_copy(row->started, sizeof row->started, started);
        omo_text_add(stem, size, "%s-", stamp);
    }
    omo_text_add(stem, size, "%s-", row->movement);
}

enum omo_status omo_live_movement_begin(struct omo_live_movement *m, int width,
                                        int height)
{
    const struct omo_saver_settings *settings = m->settings;
    struct omo_session_row first = settings->plan->row;
    enum omo_status status = OMO_OK;
    char stem[128] = "";
    m->width = width;
    m->height = height;
    m->open = true;
    name(settings, &first, stem, sizeof stem);
    for (int i = 0; i < settings->arms; i++) {
        struct omo_session_row *row = &m->arm[i].row;
        char of_arm[160] = "";
        g_array_set_size(m->arm[i].frames, 0);
        *row = settings->plan[i].row;
        omo_text_copy(row->source, sizeof row->source, settings->source);
        omo_text_copy(row->started, sizeof row->started, first.started);
        omo_text_add(of_arm, sizeof of_arm, "%s%s", stem, row->side);
        status = first_of(status, omo_trace_begin(settings->record, of_arm, width, height,
                                                  &m->arm[i].trace, row->trace));
    }
    return status;
}

enum omo_status omo_live_movement_add(struct omo_live_movement *m, int arm,
                                      const struct omo_track_frame *frame)
{
    struct omo_trace_row row;
    if (!m->open)
        return OMO_OK;
    g_array_append_val(m->arm[arm].frames, *frame);
    if (!m->arm[arm].trace)
        return OMO_OK; /* said when it failed */
    omo_trace_row_init(&row, frame);
    if (frame->repeated)
        row.quality |= OMO_QUALITY_REPEATED;
    enum omo_status status = omo_trace_add(m->arm[arm].trace, &row);
    if (status == OMO_OK)
        return OMO_OK;
    omo_trace_close(m->arm[arm].trace, true);
    m->arm[arm].trace = NULL;
    return status;
}

/* ---- at its end ---- */

/** The frames' own figures are the content that a live row is known by. */
static void identify(struct omo_live_movement *m, int arm,
                     const struct omo_trace_row *rows)
{
    struct omo_id *id = omo_id_create();
    omo_id_add_text(id, "started", m->arm[arm].row.started);
    omo_plan_identify(&m->settings->plan[arm], id);
    for (guint i = 0; i < m->arm[arm].frames->len; i++) {
        const struct omo_trace_row *row = &rows[i];
        omo_id_add(id, &row->frame, sizeof row->frame);
        omo_id_add(id, &row->time_s, sizeof row->time_s);
        for (int r = 0; r < OMO_ROLE_COUNT; r++) {
            const struct omo_marker *marker = &row->markers.role[r];
            const double place[] = {marker->x_px, marker->y_px};
            if (marker->seen != OMO_NOT_SEEN)
                omo_id_add(id, place, sizeof place);
        }
    }
    omo_id_finish(id, m->arm[arm].row.id);
}

static void fill_row(struct omo_live_movement *m, int arm,
                     const struct omo_live_view *view, const char *note,
                     const struct omo_result *result)
{
    struct omo_session_row *row = &m->arm[arm].row;
    omo_row_fill(row, result);
    row->pain_onset_deg = view->pain_onset_deg;
    row->pain_end_deg = view->pain_end_deg;
    if (view->end == OMO_END_ENOUGH || view->end == OMO_END_STOP)
        omo_text_copy(row->stopped_by, sizeof row->stopped_by, "chose");
    if (note[0])
        omo_row_note(row, note);
    if (m->settings->arms > 1 &&
        (isfinite(view->pain_onset_deg) || isfinite(view->pain_end_deg)))
        omo_row_note(row, "Pain was marked while both arms moved, which does not tell "
                          "whose it was.");
}

/** Measures one arm as a file's. */
static enum omo_status measure(struct omo_live_movement *m, int arm,
                               const struct omo_live_view *view, const char *note,
                               struct omo_trace_row *rows, struct omo_saved *saved)
{
    const struct omo_plan *plan = &m->settings->plan[arm];
    struct omo_measure_settings settings = plan->measure;
    struct omo_lens lens;
    const struct omo_track_frame *frames =
        (const struct omo_track_frame *)(void *)m->arm[arm].frames->data;
    size_t count = m->arm[arm].frames->len;
    settings.picture_width = m->width;
    settings.picture_height = m->height;
    if (!omo_plan_fit_lens(plan, m->width, m->height, &lens, &settings.lens))
        return OMO_ERR_SETTINGS; /* said; not to be, for nothing was measured with it */
    enum omo_status status = omo_measure(&settings, frames, count, rows, &saved->result);
    if (status != OMO_OK)
        return status;
    fill_row(m, arm, view, note, &saved->result);
    identify(m, arm, rows);
    const struct omo_trace_row *highest =
        omo_row_of_frame(rows, count, saved->result.frame_at_max);
    saved->has_highest = highest != NULL;
    if (highest)
        saved->highest = *highest;
    saved->first_s = frames[0].time_s;
    saved->last_s = frames[count - 1].time_s;
    return OMO_OK;
}

/** Holds both arms against each other. */
static void compare(struct omo_live_movement *m, struct omo_trace_row *const rows[],
                    struct omo_saved *const saved[])
{
    const struct omo_trace_row *of[2];
    const struct omo_result *result[2];
    struct omo_side_difference difference;
    if (m->settings->arms < 2 || saved[0]->status != OMO_OK || saved[1]->status != OMO_OK)
        return;
    for (int i = 0; i < 2; i++) {
        enum omo_side side = m->settings->plan[i].tracker.side;
        of[side] = rows[i];
        result[side] = &saved[i]->result;
    }
    if (omo_sides_compare(of, m->arm[0].frames->len, result, &difference) != OMO_OK)
        return;
    for (int i = 0; i < 2; i++) {
        char note[160];
        saved[i]->compared = true;
        saved[i]->difference = difference;
        omo_sides_note(&difference, m->settings->plan[i].tracker.side, note, sizeof note);
        if (note[0])
            omo_row_note(&m->arm[i].row, note);
    }
}

static void note_set_up(struct omo_live_movement *m, int arm,
                        const struct omo_trace_row *rows)
{
    const struct omo_saver_settings *s = m->settings;
    bool scene = s->camera.path[0] == '\0';
    const struct omo_set_up_seen seen = {
        .camera = s->camera.name,
        .exposure = scene ? "" : (s->exposure_held ? "held" : "automatic"),
        .width = m->width,
        .height = m->height,
        .frames_per_second = s->camera.frames_per_second,
        .rows = rows,
        .count = m->arm[arm].frames->len,
    };
    struct omo_set_up_row set_up;
    omo_set_up_fill(&s->plan[arm], &seen, &set_up);
    omo_set_up_save(s->record, &set_up, &m->arm[arm].row);
}

/** Replaces the arm's trace and appends its row. */
static enum omo_status keep_arm(struct omo_live_movement *m, int arm,
                                const struct omo_trace_row *rows)
{
    struct omo_record *record = m->settings->record;
    struct omo_session_row *row = &m->arm[arm].row;
    bool added = false;
    if (!m->arm[arm].trace)
        return OMO_ERR_IO; /* said when it failed */
    enum omo_status status =
        omo_trace_finish(m->arm[arm].trace, rows, m->arm[arm].frames->len);
    if (status == OMO_OK)
        note_set_up(m, arm, rows);
    if (status == OMO_OK)
        status = omo_record_append(record, row, &added);
    /* The same again (a simulated scene): the trace that stands is enough. */
    omo_trace_close(m->arm[arm].trace, status != OMO_OK || added);
    m->arm[arm].trace = NULL;
    if (status == OMO_OK && !added)
        omo_record_find(record, row->id, row);
    return status;
}

enum omo_status omo_live_movement_end(struct omo_live_movement *m,
                                      const struct omo_live_view *view, bool keep,
                                      const char *note, struct omo_saved *const saved[])
{
    struct omo_trace_row *rows[OMO_SAVER_ARMS] = {NULL};
    enum omo_status status = OMO_OK;
    for (int i = 0; i < m->settings->arms; i++) {
        rows[i] = g_new0(struct omo_trace_row, m->arm[i].frames->len + 1);
        saved[i]->status = keep && m->arm[i].frames->len > 0
                               ? measure(m, i, &view[i], note, rows[i], saved[i])
                               : OMO_ERR_EMPTY;
    }
    compare(m, rows, saved);
    for (int i = 0; i < m->settings->arms; i++) {
        if (saved[i]->status == OMO_OK)
            saved[i]->status = keep_arm(m, i, rows[i]);
        saved[i]->row = m->arm[i].row;
        saved[i]->last = i + 1 == m->settings->arms;
        if (saved[i]->status != OMO_ERR_EMPTY)
            status = first_of(status, saved[i]->status);
        omo_trace_close(m->arm[i].trace, saved[i]->status != OMO_ERR_EMPTY);
        m->arm[i].trace = NULL;
        g_free(rows[i]);
    }
    m->open = false;
    return status;
}
