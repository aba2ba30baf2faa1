#include "omogon/pendulum.h"

#include <math.h>
#include <stdlib.h>

#include "motion/swing.h"

/* Hidden for this long the view says that nothing swings. */
#define LOST_S 0.3

const char *omo_swing_way_name(enum omo_swing_way way)
{
    switch (way) {
    case OMO_SWING_UNKNOWN:
        return "unknown";
    case OMO_SWING_CLOCKWISE:
        return "clockwise";
    case OMO_SWING_COUNTER_CLOCKWISE:
        return "counter-clockwise";
    }
    return NULL;
}

void omo_pendulum_settings_default(struct omo_pendulum_settings *settings)
{
    *settings = (struct omo_pendulum_settings){.wrist_mm = NAN,
                                               .picture_width = 1280,
                                               .picture_height = 720,
                                               .focal_px = NAN,
                                               .roll_deg = NAN,
                                               .pitch_deg = NAN};
}

enum omo_status omo_pendulum_create(const struct omo_pendulum_settings *settings,
                                    struct omo_pendulum **out)
{
    struct omo_pendulum *p;
    struct omo_swing_eye eye;
    if (settings == NULL || out == NULL)
        return OMO_ERR_ARG;
    enum omo_status status = omo_swing_eye_init(settings, &eye);
    if (status != OMO_OK)
        return status;
    p = calloc(1, sizeof *p);
    if (p == NULL)
        return OMO_ERR_MEMORY;
    p->eye = eye;
    p->laps = g_array_new(FALSE, FALSE, sizeof(struct omo_swing_lap));
    p->lap_s = p->time_s = p->since_s = NAN;
    *out = p;
    return OMO_OK;
}

void omo_pendulum_destroy(struct omo_pendulum *pendulum)
{
    if (pendulum == NULL)
        return;
    g_array_free(pendulum->laps, TRUE);
    free(pendulum);
}

static const struct omo_swing_lap *laps(const struct omo_pendulum *p)
{
    return (const struct omo_swing_lap *)(const void *)p->laps->data;
}

/** Mean width of the laps from one to another (not itself), in the order of those that
 *  are swung at full width. */
static double mean_cm(const struct omo_swing_lap *lap, size_t count, size_t from,
                      size_t to)
{
    double sum = 0.0;
    size_t full = 0;
    for (size_t i = 0; i < count; i++) {
        if (lap[i].to_rest)
            continue;
        if (full >= from && full < to)
            sum += lap[i].width_mm / 10.0;
        full++;
    }
    return sum / (double)(to - from);
}

static void show_size(const struct omo_pendulum *p, struct omo_pendulum_view *view)
{
    const struct omo_swing_lap *lap = laps(p);
    size_t count = p->laps->len, full = 0;
    view->diameter_cm = view->mean_diameter_cm = view->growth_cm = NAN;
    if (!p->eye.size_known || count == 0)
        return;
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        full += !lap[i].to_rest;
        sum += lap[i].width_mm / 10.0;
    }
    view->diameter_cm = lap[count - 1].width_mm / 10.0;
    view->mean_diameter_cm = sum / (double)count;
    if (full >= 3)
        view->growth_cm =
            mean_cm(lap, count, full - full / 3, full) - mean_cm(lap, count, 0, full / 3);
}

static double mean_loose(const struct omo_swing_lap *lap, size_t count)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t i = count > 3 ? count - 3 : 0; i < count; i++) {
        if (isnan(lap[i].loose))
            continue;
        sum += lap[i].loose;
        n++;
    }
    return n > 0 ? sum / (double)n : (double)NAN;
}

/** Of the lap being swung: from the picture where it shows which way, else as the last.
 */
static enum omo_swing_way present_way(const struct omo_pendulum *p)
{
    size_t count = p->laps->len;
    if (!p->swinging || p->side == 0)
        return OMO_SWING_UNKNOWN;
    if (p->turn.way == 0 || p->turn.turn < 0.5 * M_PI || p->kind == OMO_SWING_BY_SPEED)
        return p->begin > 0 && p->way != 0 ? laps(p)[count - 1].way : OMO_SWING_UNKNOWN;
    int side = p->kind == OMO_SWING_BY_SIZE ? 1 : p->side;
    return p->turn.way * side > 0 ? OMO_SWING_CLOCKWISE : OMO_SWING_COUNTER_CLOCKWISE;
}

static void show(const struct omo_pendulum *p, bool closed,
                 struct omo_pendulum_view *view)
{
    const struct omo_swing_lap *lap = laps(p);
    size_t count = p->laps->len;
    *view = (struct omo_pendulum_view){.time_s = p->time_s, .lap_closed = closed};
    for (size_t i = 0; i < count; i++) {
        view->unknown += lap[i].way == OMO_SWING_UNKNOWN;
        view->clockwise += lap[i].way == OMO_SWING_CLOCKWISE;
        view->counter_clockwise += lap[i].way == OMO_SWING_COUNTER_CLOCKWISE;
    }
    view->swinging = p->swinging && p->time_s - p->sample[p->count - 1].time_s <= LOST_S;
    view->way = present_way(p);
    view->lap_ratio = p->swinging ? fmin(p->turn.turn / (2.0 * M_PI), 1.0) : 0.0;
    view->camera_off_plane_deg = omo_swing_off_plane_deg(lap, count);
    view->loose_ratio = mean_loose(lap, count);
    view->loose = view->loose_ratio >= 0.5;
    show_size(p, view);
}

void omo_pendulum_step(struct omo_pendulum *pendulum, const struct omo_track_frame *frame,
                       struct omo_pendulum_view *view)
{
    struct omo_swing_sample sample;
    bool closed = false;
    if (!(frame->time_s <= pendulum->time_s) && isfinite(frame->time_s)) {
        pendulum->time_s = frame->time_s;
        if (!frame->damaged && !frame->repeated &&
            omo_swing_see(&pendulum->eye, frame, &sample))
            closed = omo_swing_take(pendulum, &sample);
    }
    show(pendulum, closed, view);
}

void omo_pendulum_finish(struct omo_pendulum *pendulum, struct omo_pendulum_view *view)
{
    show(pendulum, omo_swing_end(pendulum), view);
}
