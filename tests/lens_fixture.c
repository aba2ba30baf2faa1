#include "lens_fixture.h"

#include <math.h>

struct omo_lens webcam(void)
{
    struct omo_lens lens;
    omo_lens_default(1280, 720, &lens);
    lens.source = OMO_LENS_CALIBRATED;
    const double value[OMO_LENS_VALUES] = {940,  944,    655,     349, -0.11,
                                           0.05, 0.0011, -0.0008, 0};
    for (int i = 0; i < OMO_LENS_VALUES; i++)
        lens.value[i] = value[i];
    return lens;
}

struct omo_point shown(const struct omo_lens *lens, double x, double y, double z)
{
    double e = isnan(lens->pitch_deg) ? 0 : lens->pitch_deg * M_PI / 180;
    double r = isnan(lens->roll_deg) ? 0 : lens->roll_deg * M_PI / 180;
    /* Looking up lowers what is ahead in the picture. */
    double ahead = z * cos(e) - y * sin(e), below = y * cos(e) + z * sin(e);
    /* The top of what is upright leans to the right. */
    double across = x * cos(r) - below * sin(r);
    double down = x * sin(r) + below * cos(r);
    double u = across / ahead, v = down / ahead, q = u * u + v * v;
    const double *k = lens->value;
    double s =
        1 + k[OMO_LENS_K1] * q + k[OMO_LENS_K2] * q * q + k[OMO_LENS_K3] * q * q * q;
    double p1 = k[OMO_LENS_P1], p2 = k[OMO_LENS_P2];
    double bent_u = u * s + 2 * p1 * u * v + p2 * (q + 2 * u * u);
    double bent_v = v * s + p1 * (q + 2 * v * v) + 2 * p2 * u * v;
    return (struct omo_point){k[OMO_LENS_FX] * bent_u + k[OMO_LENS_CX],
                              k[OMO_LENS_FY] * bent_v + k[OMO_LENS_CY]};
}
