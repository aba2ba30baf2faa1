#include "live_fixture.h"

#include <check.h>
#include <math.h>

struct omo_track_frame fed[FED_MAX];
struct omo_live_view seen[FED_MAX];
size_t fed_count;
struct omo_live *live;
struct omo_live_settings live_settings;
struct omo_movement_table *live_table;
struct stage stage;

void load_live_table(void)
{
    ck_assert_int_eq(omo_movement_table_load(NULL, &live_table), OMO_OK);
}

void drop_live_table(void)
{
    end_live();
    omo_movement_table_destroy(live_table);
    live_table = NULL;
}

void begin_again(void)
{
    end_live();
    fed_count = 0;
    ck_assert_int_eq(omo_live_create(&live_settings, &live), OMO_OK);
}

void begin_live(const struct figure *figure)
{
    omo_live_settings_default(&live_settings);
    figure_settings(figure, live_table, &live_settings.measure);
    stage = (struct stage){.figure = *figure,
                           .rate_hz = 30,
                           .angle_deg = figure->rest_deg,
                           .noise_state = 7};
    begin_again();
}

void end_live(void)
{
    omo_live_destroy(live);
    live = NULL;
}

static void hide_marker(struct omo_markers *markers, enum omo_role role)
{
    markers->role[role].seen = OMO_NOT_SEEN;
    markers->role[role].x_px = markers->role[role].y_px = NAN;
}

static void film_markers(struct omo_markers *markers)
{
    struct figure now = stage.figure;
    now.rest_deg = stage.angle_deg +
                   stage.breath_deg * sin(2 * M_PI * 0.25 * stage.now_s) +
                   stage.tremor_deg * sin(2 * M_PI * 5 * stage.now_s);
    now.top_deg = now.rest_deg;
    figure_markers(&now, 0, markers);
    for (int role = 0; role < OMO_ROLE_COUNT; role++) {
        struct omo_marker *m = &markers->role[role];
        m->x_px += stage.aside_px + stage.noise_px * figure_noise(&stage.noise_state);
        m->y_px += stage.noise_px * figure_noise(&stage.noise_state);
        if ((stage.hidden & (1u << role)) != 0)
            hide_marker(markers, (enum omo_role)role);
    }
    if (stage.angle_deg < stage.hip_hidden_below_deg)
        hide_marker(markers, OMO_HIP);
}

void feed(void)
{
    ck_assert_uint_lt(fed_count, FED_MAX);
    struct omo_track_frame *frame = &fed[fed_count];
    *frame = (struct omo_track_frame){.index = (int64_t)fed_count,
                                      .time_s = stage.now_s,
                                      .repeated = stage.repeated,
                                      .damaged = stage.damaged};
    film_markers(&frame->markers);
    if (stage.repeated && fed_count > 0)
        frame->markers = fed[fed_count - 1].markers;
    ck_assert_int_eq(omo_live_step(live, frame, &seen[fed_count]), OMO_OK);
    fed_count++;
    stage.now_s += 1 / stage.rate_hz;
}

void keep_still(double seconds)
{
    long frames = lround(seconds * stage.rate_hz);
    for (long k = 0; k < frames; k++)
        feed();
}

void move_arm(double to_deg, double seconds)
{
    double from_deg = stage.angle_deg;
    long frames = lround(seconds * stage.rate_hz);
    for (long k = 1; k <= frames; k++) {
        double share = 0.5 - 0.5 * cos(M_PI * (double)k / (double)frames);
        stage.angle_deg = from_deg + (to_deg - from_deg) * share;
        feed();
    }
}

void raise_arm(double top_deg)
{
    move_arm(top_deg, 2);
    keep_still(1.5);
    move_arm(stage.figure.rest_deg, 2);
    keep_still(1);
}

void reach_neutral(void)
{
    size_t from = fed_count;
    while (events_since(from, OMO_EVENT_NEUTRAL) == 0) {
        ck_assert_msg(fed_count - from < 20 * 30, "no neutral in 20 s of stillness");
        feed();
    }
}

const struct omo_live_view *last_view(void)
{
    return &seen[fed_count - 1];
}

int events_since(size_t from, enum omo_live_event event)
{
    int found = 0;
    for (size_t k = from; k < fed_count; k++)
        found += (seen[k].events & (unsigned)event) != 0;
    return found;
}
