#include "app/view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/corrections.h"
#include "app/lens_plan.h"
#include "app/view_frames.h"
#include "app/view_page.h"
#include "omogon/log.h"
#include "omogon/source.h"
#include "omogon/text.h"
#include "omogon/words.h"
#include "show/screen/stepper.h"

#define FINE_PX     0.1
#define COARSE_PX   1.0
#define PAGE_FRAMES 10
/* Of a marker whose uncertainty its trace does not hold: for what is shown alone. */
#define SHOWN_SIGMA_PX 0.2

struct viewer {
    const struct omo_inspection *view;
    struct omo_measure_settings settings;
    struct omo_trace trace;         /* as it was measured */
    struct omo_track_frame *frames; /* with what is placed */
    struct omo_trace_row *rows;     /* worked out anew after every change */
    struct omo_result result;
    struct omo_lens lens;
    GArray *log;      /* struct omo_correction_step, the later one counts */
    guint begun_with; /* of them: what counted before, which is not undone */
    GArray *counts;   /* struct omo_correction: what the log comes to */
    struct omo_view_frames *pictures;
    struct omo_view_page page; /* that is shown; its pixels are gone */
    size_t at;                 /* among the rows */
    enum omo_role role;
    bool asked_to_leave;
    char said[200];
};

/* ---- figures -------------------------------------------------------------------------
 */

/** Frames as they were measured, then what is placed, then every angle anew. */
static enum omo_status work_out(struct viewer *v)
{
    for (size_t i = 0; i < v->trace.count; i++) {
        const struct omo_trace_row *row = &v->trace.rows[i];
        v->frames[i] = (struct omo_track_frame){.index = row->frame,
                                                .time_s = row->time_s,
                                                .markers = row->markers};
        for (int role = 0; role < OMO_ROLE_COUNT; role++)
            if (v->frames[i].markers.role[role].seen)
                v->frames[i].markers.role[role].sigma_px = SHOWN_SIGMA_PX;
    }
    g_clear_pointer(&v->counts, g_array_unref);
    v->counts = omo_corrections_settle(v->log);
    omo_corrections_apply(v->counts, v->frames, v->trace.count);
    enum omo_status status =
        omo_measure(&v->settings, v->frames, v->trace.count, v->rows, &v->result);
    if (status == OMO_ERR_EMPTY) {
        omo_text_copy(v->said, sizeof v->said,
                      omo_word("With these markers no angle can be worked out."));
        status = OMO_OK;
    }
    return status;
}

/** One step more in the log, of the chosen marker in this frame. */
static enum omo_status step(struct viewer *v, double x_px, double y_px, bool as_measured)
{
    const struct omo_correction_step one = {{v->trace.rows[v->at].frame, v->role, x_px,
                                             y_px, NAN, NAN},
                                            as_measured};
    g_array_append_val(v->log, one);
    v->asked_to_leave = false;
    v->said[0] = '\0';
    return work_out(v);
}

static enum omo_status move(struct viewer *v, const struct omo_stepper_input *input)
{
    const struct omo_marker *marker = &v->frames[v->at].markers.role[v->role];
    double px = input->control ? FINE_PX : COARSE_PX;
    if (!marker->seen)
        return OMO_OK;
    return step(v,
                marker->x_px + (input->key == OMO_STEPPER_RIGHT  ? px
                                : input->key == OMO_STEPPER_LEFT ? -px
                                                                 : 0),
                marker->y_px + (input->key == OMO_STEPPER_DOWN ? px
                                : input->key == OMO_STEPPER_UP ? -px
                                                               : 0),
                false);
}

/** The last step of this window is as if it had not been. */
static enum omo_status undo(struct viewer *v)
{
    if (v->log->len == v->begun_with)
        return OMO_OK;
    g_array_set_size(v->log, v->log->len - 1);
    v->said[0] = '\0';
    return work_out(v);
}

/* ---- the picture ---------------------------------------------------------------------
 */

static enum omo_status show(struct viewer *v, struct omo_stepper *stepper)
{
    const struct omo_frame *frame = NULL;
    enum omo_status status =
        omo_view_frames_get(v->pictures, v->trace.rows[v->at].frame, &frame);
    if (status != OMO_OK)
        return status;
    const struct omo_view_content content = {
        .frame = frame,
        .rows = v->rows,
        .count = v->trace.count,
        .at = v->at,
        .result = &v->result,
        .settings = &v->settings,
        .movement = v->view->plan->row.movement,
        .side = v->view->plan->row.side,
        .marker = &v->frames[v->at].markers.role[v->role],
        .role = v->role,
        .placed = v->counts->len,
        .said = v->said,
        .show_head = v->view->show_head,
    };
    status = omo_view_page_paint(&content, &v->page);
    if (status == OMO_OK)
        status = omo_stepper_show(stepper, v->page.pixels, v->page.width, v->page.height);
    free(v->page.pixels);
    v->page.pixels = NULL;
    return status;
}

/* ---- keys ----------------------------------------------------------------------------
 */

static void go(struct viewer *v, long by)
{
    long to = (long)v->at + by;
    v->at = (size_t)CLAMP(to, 0, (long)v->trace.count - 1);
}

/** On to the next frame that is not as it should be. */
static void go_to_fault(struct viewer *v)
{
    for (size_t i = v->at + 1; i < v->trace.count; i++)
        if (!isfinite(v->rows[i].angle_deg)) {
            v->at = i;
            return;
        }
    omo_text_copy(v->said, sizeof v->said,
                  omo_word("No frame without an angle follows."));
}

/** Into the picture: there; into the trace beneath: to that frame; beside both: nothing.
 */
static enum omo_status click(struct viewer *v, const struct omo_stepper_input *input)
{
    struct omo_point at;
    if (omo_view_page_in_photo(&v->page, input->x, input->y, &at))
        return step(v, at.x, at.y, false);
    if (input->y >= v->page.top)
        v->at = omo_view_page_row(&v->page, input->x, v->trace.count);
    return OMO_OK;
}

/** Whether the window can be left: nothing was changed, or it was asked for twice. */
static bool may_leave(struct viewer *v)
{
    if (omo_corrections_same(v->counts, v->view->placed) || v->asked_to_leave)
        return true;
    v->asked_to_leave = true;
    omo_text_copy(v->said, sizeof v->said,
                  omo_word("Not saved yet: S saves, Escape once more leaves without."));
    return false;
}

/** True: to be left. */
static bool act(struct viewer *v, const struct omo_stepper_input *input, bool *save,
                enum omo_status *status)
{
    bool sideways = input->key == OMO_STEPPER_LEFT || input->key == OMO_STEPPER_RIGHT;
    v->said[0] = '\0';
    switch (input->key) {
    case OMO_STEPPER_LEFT:
    case OMO_STEPPER_RIGHT:
    case OMO_STEPPER_UP:
    case OMO_STEPPER_DOWN:
        if (input->shift || input->control)
            *status = move(v, input);
        else if (sideways)
            go(v, input->key == OMO_STEPPER_LEFT ? -1 : 1);
        break;
    case OMO_STEPPER_PAGE_UP:
    case OMO_STEPPER_PAGE_DOWN:
        go(v, input->key == OMO_STEPPER_PAGE_UP ? -PAGE_FRAMES : PAGE_FRAMES);
        break;
    case OMO_STEPPER_HOME:
        v->at = 0;
        break;
    case OMO_STEPPER_END:
        v->at = v->trace.count - 1;
        break;
    case OMO_STEPPER_NEXT:
        go_to_fault(v);
        break;
    case OMO_STEPPER_ROLE:
        if (input->number <= OMO_ROLE_COUNT)
            v->role = (enum omo_role)(input->number - 1);
        break;
    case OMO_STEPPER_DELETE:
        *status = step(v, NAN, NAN, false);
        break;
    case OMO_STEPPER_MEASURED:
        *status = step(v, NAN, NAN, true);
        break;
    case OMO_STEPPER_UNDO:
        *status = undo(v);
        break;
    case OMO_STEPPER_CLICK:
        *status = click(v, input);
        break;
    case OMO_STEPPER_SAVE:
        *save = !omo_corrections_same(v->counts, v->view->placed);
        return *save;
    case OMO_STEPPER_LEAVE:
        return may_leave(v);
    case OMO_STEPPER_NOTHING:
        break;
    }
    return false;
}

/** Everything but the window. */
static enum omo_status prepare(struct viewer *v)
{
    const struct omo_inspection *view = v->view;
    v->settings.picture_width = v->trace.picture_width;
    v->settings.picture_height = v->trace.picture_height;
    v->frames = g_new0(struct omo_track_frame, v->trace.count);
    v->rows = g_new0(struct omo_trace_row, v->trace.count + 1);
    v->log = g_array_new(FALSE, FALSE, sizeof(struct omo_correction_step));
    for (guint i = 0; view->placed && i < view->placed->len; i++) {
        const struct omo_correction_step one = {g_array_index(view->placed,
                                                              struct omo_correction, i),
                                                false};
        g_array_append_val(v->log, one);
    }
    v->begun_with = v->log->len;
    v->pictures = omo_view_frames_create(view->clip);
    if (!omo_plan_fit_lens(view->plan, v->trace.picture_width, v->trace.picture_height,
                           &v->lens, &v->settings.lens))
        return OMO_ERR_ARG;
    return work_out(v);
}

static enum omo_status step_through(struct viewer *v, bool *save)
{
    struct omo_stepper *stepper = NULL;
    bool leave = false;
    enum omo_status status =
        omo_stepper_open(omo_word("omogon: a clip, frame by frame"), &stepper);
    while (status == OMO_OK && !leave) {
        struct omo_stepper_input input;
        status = show(v, stepper);
        if (status != OMO_OK)
            break;
        do
            omo_stepper_wait(stepper, &input);
        while (input.key == OMO_STEPPER_NOTHING);
        leave = act(v, &input, save, &status);
    }
    omo_stepper_close(stepper);
    return status;
}

enum omo_status omo_view_run(const struct omo_inspection *view, GArray **corrections,
                             bool *changed)
{
    struct viewer v = {.view = view, .settings = view->plan->measure};
    *corrections = NULL;
    *changed = false;
    enum omo_status status = omo_trace_read(view->trace, &v.trace);
    if (status != OMO_OK)
        return status;
    if (v.trace.count == 0) {
        omo_error("%s has no frame", view->trace);
        omo_trace_free(&v.trace);
        return OMO_ERR_EMPTY;
    }
    status = prepare(&v);
    if (status == OMO_OK)
        status = step_through(&v, changed);
    *changed &= status == OMO_OK;
    if (*changed && v.counts->len > 0)
        *corrections = g_array_ref(v.counts);
    omo_view_frames_destroy(v.pictures);
    omo_trace_free(&v.trace);
    g_free(v.frames);
    g_free(v.rows);
    g_array_unref(v.log);
    g_clear_pointer(&v.counts, g_array_unref);
    return status;
}
