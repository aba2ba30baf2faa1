#include "app/view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/corrections.h"
#include "app/lens_plan.h"
#include "omogon/draw.h"
#include "omogon/log.h"
#include "omogon/source.h"
#include "omogon/text.h"
#include "omogon/words.h"
#include "show/screen/stepper.h"

#define STRIP_PX    150 /* of the trace beneath */
#define FINE_PX     0.1
#define COARSE_PX   1.0
#define PAGE_FRAMES 10
/* Of a marker whose uncertainty its trace does not hold: for what is shown alone. */
#define SHOWN_SIGMA_PX 0.2
#define GROUND         0xff131517u
#define LINE           0xff9cc0d2u
#define QUIET          0xffc3c8ccu
#define LIGHT          0xfff4f4f2u

struct viewer {
    const struct omo_inspection *view;
    struct omo_measure_settings settings;
    struct omo_trace trace;         /* as it was measured */
    struct omo_track_frame *frames; /* with what is placed */
    struct omo_trace_row *rows;     /* worked out anew after every change */
    struct omo_result result;
    struct omo_lens lens;
    GArray *corrections; /* one a frame and marker */
    struct omo_source *source;
    struct omo_frame frame; /* the one that is shown, lent by the source */
    size_t at;              /* among the rows */
    enum omo_role role;
    int factor, photo_height; /* of the picture that is shown */
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
    omo_corrections_apply(v->corrections, v->frames, v->trace.count);
    enum omo_status status =
        omo_measure(&v->settings, v->frames, v->trace.count, v->rows, &v->result);
    if (status == OMO_ERR_EMPTY) {
        omo_text_copy(v->said, sizeof v->said,
                      omo_word("With these markers no angle can be worked out."));
        status = OMO_OK;
    }
    return status;
}

static struct omo_correction *correction_at(const struct viewer *v, int64_t frame,
                                            enum omo_role role)
{
    for (guint i = 0; i < v->corrections->len; i++) {
        struct omo_correction *c =
            &g_array_index(v->corrections, struct omo_correction, i);
        if (c->frame == frame && c->role == role)
            return c;
    }
    return NULL;
}

/** Puts the chosen marker there; NAN takes it away. */
static enum omo_status place(struct viewer *v, double x_px, double y_px)
{
    int64_t frame = v->trace.rows[v->at].frame;
    struct omo_correction *there = correction_at(v, frame, v->role);
    const struct omo_correction one = {frame, v->role, x_px, y_px, NAN, NAN};
    if (there)
        *there = one;
    else
        g_array_append_val(v->corrections, one);
    v->asked_to_leave = false;
    v->said[0] = '\0';
    return work_out(v);
}

static enum omo_status move(struct viewer *v, const struct omo_stepper_input *input)
{
    const struct omo_marker *marker = &v->frames[v->at].markers.role[v->role];
    double step = input->control ? FINE_PX : COARSE_PX;
    if (!marker->seen)
        return OMO_OK;
    return place(v,
                 marker->x_px + (input->key == OMO_STEPPER_RIGHT  ? step
                                 : input->key == OMO_STEPPER_LEFT ? -step
                                                                  : 0),
                 marker->y_px + (input->key == OMO_STEPPER_DOWN ? step
                                 : input->key == OMO_STEPPER_UP ? -step
                                                                : 0));
}

static enum omo_status undo(struct viewer *v)
{
    if (v->corrections->len == 0)
        return OMO_OK;
    g_array_set_size(v->corrections, v->corrections->len - 1);
    v->said[0] = '\0';
    return work_out(v);
}

/* ---- the picture ---------------------------------------------------------------------
 */

/** Decodes up to the frame that is looked at; backwards from the clip's beginning. */
static enum omo_status fetch(struct viewer *v)
{
    int64_t wanted = v->trace.rows[v->at].frame;
    enum omo_status status = OMO_OK;
    if (v->source && v->frame.index > wanted) {
        omo_source_destroy(v->source);
        v->source = NULL;
    }
    if (!v->source) {
        status = omo_clip_open(v->view->clip, &v->source);
        v->frame.index = -1;
    }
    while (status == OMO_OK && v->frame.index < wanted)
        status = omo_source_next(v->source, true, &v->frame);
    return status;
}

static double strip_x(const struct viewer *v, int width, size_t index)
{
    return 10 + (width - 20.0) * (double)index / (double)MAX(v->trace.count - 1, 1);
}

static void add_line(struct omo_figure *figure, const struct omo_point *points,
                     size_t count, double width, uint32_t colour)
{
    if (count > 1)
        omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                                  .points = points,
                                                  .count = count,
                                                  .width = width,
                                                  .colour = colour});
}

static void add_words(struct omo_figure *figure, double x, double y, const char *text)
{
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                              .at = {x, y},
                                              .text = text,
                                              .size = 16,
                                              .colour = QUIET});
}

/** The trace with gaps where there is no angle, and where one is. */
static void draw_strip(const struct viewer *v, struct omo_figure *figure, int width,
                       double top)
{
    double low = INFINITY, high = -INFINITY;
    g_autofree struct omo_point *points = g_new(struct omo_point, v->trace.count + 1);
    size_t count = 0;
    for (size_t i = 0; i < v->trace.count; i++) {
        low = isfinite(v->rows[i].angle_deg) ? fmin(low, v->rows[i].angle_deg) : low;
        high = isfinite(v->rows[i].angle_deg) ? fmax(high, v->rows[i].angle_deg) : high;
    }
    double bottom = top + STRIP_PX - 34, scale = (bottom - top - 8) / fmax(high - low, 1);
    for (size_t i = 0; i < v->trace.count; i++) {
        double deg = v->rows[i].angle_deg;
        if (isfinite(deg)) {
            points[count++] =
                (struct omo_point){strip_x(v, width, i), bottom - (deg - low) * scale};
        } else {
            add_line(figure, points, count, 2, LINE);
            count = 0;
        }
    }
    add_line(figure, points, count, 2, LINE);
    double x = strip_x(v, width, v->at);
    const struct omo_point here[] = {{x, top + 2}, {x, bottom}};
    add_line(figure, here, 2, 2, LIGHT);
}

static void draw_words(const struct viewer *v, struct omo_figure *figure, double top)
{
    const struct omo_marker *marker = &v->frames[v->at].markers.role[v->role];
    char text[400] = "";
    omo_text_add(text, sizeof text, omo_word("frame %lld, marker: %s (%s), placed: %u. "),
                 (long long)v->trace.rows[v->at].frame, omo_role_name(v->role),
                 marker->seen == OMO_PLACED_BY_HAND ? omo_word("by hand")
                 : marker->seen                     ? omo_word("seen")
                                                    : omo_word("not seen"),
                 v->corrections->len);
    omo_text_add(text, sizeof text, "%s",
                 v->said[0]
                     ? v->said
                     : omo_word(
                           "arrows: frame; 1-6: marker; click or Shift+arrows: place; "
                           "Del: not there; U: undo; S: save"));
    add_words(figure, 10, top + STRIP_PX - 10, text);
}

/** Photograph with what is measured, the chosen marker, the strip beneath. */
static enum omo_status show(struct viewer *v, struct omo_stepper *stepper)
{
    struct omo_result shown = v->result;
    const struct omo_trace_row *row = &v->rows[v->at];
    uint32_t *photo = NULL;
    int width = 0, height = 0;
    char caption[120] = "", quality[100];
    enum omo_status status = fetch(v);
    if (status != OMO_OK) {
        omo_error("frame %lld of %s cannot be read again",
                  (long long)v->trace.rows[v->at].frame, v->view->clip);
        return status;
    }
    omo_quality_text(row->quality, quality, sizeof quality);
    omo_text_add(caption, sizeof caption, "%s, %s; %s", v->view->plan->row.movement,
                 v->view->plan->row.side, quality);
    shown.max_deg = row->angle_deg;
    shown.max_u95_deg = NAN;
    struct omo_still still = {.planes = &v->frame.planes,
                              .quarter_turns = v->frame.turned.quarter_turns,
                              .row = row,
                              .result = &shown,
                              .settings = &v->settings,
                              .caption = caption,
                              .show_head = v->view->show_head};
    status = omo_still_paint(&still, &photo, &width, &height);
    if (status == OMO_ERR_EMPTY) {
        /* Whoever corrects markers has to see where they are. */
        still.show_head = true;
        status = omo_still_paint(&still, &photo, &width, &height);
    }
    if (status != OMO_OK)
        return status;
    bool turned = (v->frame.turned.quarter_turns & 1) != 0;
    v->factor = width / (turned ? v->frame.planes.height : v->frame.planes.width);
    int whole = height + STRIP_PX;
    uint32_t *pixels = malloc((size_t)width * (size_t)whole * sizeof *pixels);
    struct omo_figure *figure = omo_figure_create(width, whole);
    if (!pixels || !figure) {
        free(photo);
        free(pixels);
        omo_figure_destroy(figure);
        return OMO_ERR_MEMORY;
    }
    memcpy(pixels, photo, (size_t)width * (size_t)height * sizeof *pixels);
    for (size_t i = (size_t)width * (size_t)height; i < (size_t)width * (size_t)whole;
         i++)
        pixels[i] = GROUND;
    free(photo);
    const struct omo_marker *marker = &v->frames[v->at].markers.role[v->role];
    if (marker->seen)
        omo_figure_add(figure,
                       &(struct omo_mark){.kind = OMO_MARK_RING,
                                          .at = {(marker->x_px + 0.5) * v->factor - 0.5,
                                                 (marker->y_px + 0.5) * v->factor - 0.5},
                                          .radius = 12.0 * v->factor,
                                          .width = 2,
                                          .dash = 6,
                                          .colour = LIGHT,
                                          .edge = GROUND,
                                          .edge_width = 1});
    draw_strip(v, figure, width, height);
    draw_words(v, figure, height);
    status = omo_figure_paint(figure, pixels, width, whole, width);
    if (status == OMO_OK)
        status = omo_stepper_show(stepper, pixels, width, whole);
    v->photo_height = height;
    omo_figure_destroy(figure);
    free(pixels);
    return status;
}

/* ---- keys ----------------------------------------------------------------------------
 */

static void go(struct viewer *v, long step)
{
    long to = (long)v->at + step;
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

static enum omo_status click(struct viewer *v, const struct omo_stepper_input *input)
{
    if (input->y >= v->photo_height) { /* in the strip: to that frame */
        double width = (double)v->factor * ((v->frame.turned.quarter_turns & 1)
                                                ? v->frame.planes.height
                                                : v->frame.planes.width);
        double share = (input->x - 10) / (width - 20);
        v->at = (size_t)lround(fmin(fmax(share, 0), 1) * (double)(v->trace.count - 1));
        return OMO_OK;
    }
    return place(v, (input->x + 0.5) / v->factor - 0.5,
                 (input->y + 0.5) / v->factor - 0.5);
}

/** True: to be left. */
static bool act(struct viewer *v, const struct omo_stepper_input *input, bool *save,
                enum omo_status *status)
{
    bool marker = input->shift || input->control;
    v->said[0] = '\0';
    switch (input->key) {
    case OMO_STEPPER_LEFT:
    case OMO_STEPPER_RIGHT:
    case OMO_STEPPER_UP:
    case OMO_STEPPER_DOWN:
        if (marker)
            *status = move(v, input);
        else if (input->key == OMO_STEPPER_LEFT || input->key == OMO_STEPPER_RIGHT)
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
        *status = place(v, NAN, NAN);
        break;
    case OMO_STEPPER_UNDO:
        *status = undo(v);
        break;
    case OMO_STEPPER_CLICK:
        *status = click(v, input);
        break;
    case OMO_STEPPER_SAVE:
        *save = v->corrections->len > 0;
        return *save;
    case OMO_STEPPER_LEAVE:
        if (v->corrections->len == 0 || v->asked_to_leave)
            return true;
        v->asked_to_leave = true;
        omo_text_copy(v->said, sizeof v->said,
                      omo_word(
                          "Not saved yet: S saves, Escape once more leaves without."));
        break;
    case OMO_STEPPER_NOTHING:
        break;
    }
    return false;
}

enum omo_status omo_view_run(const struct omo_inspection *view, GArray **corrections)
{
    struct viewer v = {.view = view, .settings = view->plan->measure};
    struct omo_stepper *stepper = NULL;
    bool save = false, leave = false;
    *corrections = NULL;
    enum omo_status status = omo_trace_read(view->trace, &v.trace);
    if (status != OMO_OK)
        return status;
    if (v.trace.count == 0) {
        omo_error("%s has no frame", view->trace);
        omo_trace_free(&v.trace);
        return OMO_ERR_EMPTY;
    }
    v.settings.picture_width = v.trace.picture_width;
    v.settings.picture_height = v.trace.picture_height;
    v.frames = g_new0(struct omo_track_frame, v.trace.count);
    v.rows = g_new0(struct omo_trace_row, v.trace.count + 1);
    v.corrections = g_array_new(FALSE, FALSE, sizeof(struct omo_correction));
    if (!omo_plan_fit_lens(view->plan, v.trace.picture_width, v.trace.picture_height,
                           &v.lens, &v.settings.lens))
        status = OMO_ERR_ARG;
    if (status == OMO_OK)
        status = work_out(&v);
    if (status == OMO_OK)
        status = omo_stepper_open(omo_word("omogon: a clip, frame by frame"), &stepper);
    while (status == OMO_OK && !leave) {
        struct omo_stepper_input input;
        status = show(&v, stepper);
        if (status != OMO_OK)
            break;
        do
            omo_stepper_wait(stepper, &input);
        while (input.key == OMO_STEPPER_NOTHING);
        leave = act(&v, &input, &save, &status);
    }
    omo_stepper_close(stepper);
    omo_source_destroy(v.source);
    omo_trace_free(&v.trace);
    g_free(v.frames);
    g_free(v.rows);
    if (status == OMO_OK && save)
        *corrections = v.corrections;
    else
        g_array_unref(v.corrections);
    return status;
}
