#include "take_fixture.h"

#include <check.h>
#include <math.h>

struct omo_track_frame frames[FRAMES_MAX];
struct omo_trace_row rows[FRAMES_MAX];
struct omo_result result;
struct omo_measure_settings settings;
struct omo_movement_table *table;
size_t count;

void load_table(void)
{
    ck_assert_int_eq(omo_movement_table_load(NULL, &table), OMO_OK);
}

void drop_table(void)
{
    omo_movement_table_destroy(table);
}

void film(const struct figure *figure)
{
    count = figure_frames(figure);
    ck_assert_uint_le(count, FRAMES_MAX);
    figure_film(figure, frames, count);
    figure_settings(figure, table, &settings);
}

enum omo_status measure(void)
{
    return omo_measure(&settings, frames, count, rows, &result);
}

void hide(size_t k, enum omo_role role)
{
    frames[k].markers.role[role].seen = OMO_NOT_SEEN;
    frames[k].markers.role[role].x_px = frames[k].markers.role[role].y_px = NAN;
}

void shift_all(size_t k, double x_px, double y_px)
{
    for (int role = 0; role < OMO_ROLE_COUNT; role++) {
        frames[k].markers.role[role].x_px += x_px;
        frames[k].markers.role[role].y_px += y_px;
    }
}

struct figure flexion(void)
{
    return (struct figure){.movement = "flexion",
                           .side = OMO_RIGHT,
                           .hip = true,
                           .rest_deg = 4,
                           .top_deg = 140};
}
