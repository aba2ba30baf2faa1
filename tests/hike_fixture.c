#include "hike_fixture.h"

#include <math.h>

#define SCALE_PX_PER_MM 0.4
#define NOISE_PX        0.15

static double uniform(unsigned *state, double low, double high)
{
    *state = *state * 1664525u + 1013904223u;
    return low + (high - low) * (double)(*state >> 8) / 16777216.0;
}

struct shoulder random_shoulder(unsigned *state, double top_deg, bool hitches)
{
    bool stiff = uniform(state, 0, 1) < 0.3;
    struct shoulder s = {
        .setting_deg = stiff ? uniform(state, 0, 20) : uniform(state, 10, 45),
        .setting_width_deg = uniform(state, 2, 8),
        .natural_mm = uniform(state, 10, 40),
        .blade_share = stiff ? uniform(state, 0.4, 0.65) : uniform(state, 0.25, 0.5),
        .marker_up_mm = 5 + 10 * figure_noise(state),
        .marker_out_mm = 5 + 8 * figure_noise(state),
        .slide_mm = uniform(state, 4, 15),
        .even = uniform(state, 0, 1) < 0.5,
    };
    if (uniform(state, 0, 1) < 0.5)
        s.slide_mm = -s.slide_mm;
    if (!hitches)
        return s;
    s.onset_deg = uniform(state, 35, top_deg - 15);
    s.over_deg = uniform(state, 20, 35);
    s.hitch_mm = uniform(state, fmax(25, 25 * s.over_deg / 30), 60);
    return s;
}

double hitch_at(const struct shoulder *s, double angle_deg)
{
    double v = (angle_deg - s->onset_deg) / s->over_deg;
    if (!(s->over_deg > 0) || v <= 0)
        return 0;
    if (v >= 1)
        return s->hitch_mm;
    return s->hitch_mm * (s->even ? v : v * v * (3 - 2 * v));
}

/** Angle beyond the setting, with a soft corner. */
static double set_out(const struct shoulder *s, double angle_deg)
{
    double w = s->setting_width_deg;
    return w * log1p(exp((angle_deg - s->setting_deg) / w));
}

void film_shoulder(const struct figure *f, const struct shoulder *s, int raise,
                   unsigned *state)
{
    double period_s =
        (figure_duration_s(f) - 1) / (f->repetitions > 0 ? f->repetitions : 1);
    double rest_deg = f->rest_deg;
    film(f);
    for (size_t k = 0; k < count; k++) {
        double a = figure_angle_deg(f, frames[k].time_s);
        double set_deg = set_out(s, a) - set_out(s, rest_deg);
        double turn = s->blade_share * set_deg * M_PI / 180;
        double rise = s->natural_mm * set_deg / (set_out(s, 150) - set_out(s, rest_deg));
        bool now = raise < 0 || (int)(frames[k].time_s / period_s) == raise;
        rise += now ? hitch_at(s, a) : 0;
        double up = s->marker_up_mm * cos(turn) + s->marker_out_mm * sin(turn) +
                    s->slide_mm * a / 150;
        double out = s->marker_out_mm * cos(turn) - s->marker_up_mm * sin(turn);
        struct omo_marker *shoulder = &frames[k].markers.role[OMO_SHOULDER];
        struct omo_marker *elbow = &frames[k].markers.role[OMO_ELBOW];
        shoulder->y_px -= SCALE_PX_PER_MM * (rise + up);
        shoulder->x_px += SCALE_PX_PER_MM * out;
        elbow->y_px -= SCALE_PX_PER_MM * rise;
        for (int role = 0; role < OMO_ROLE_COUNT; role++) {
            frames[k].markers.role[role].x_px += NOISE_PX * figure_noise(state);
            frames[k].markers.role[role].y_px += NOISE_PX * figure_noise(state);
        }
    }
}
