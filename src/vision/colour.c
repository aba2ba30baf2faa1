#include "colour.h"

#include <math.h>
#include <string.h>

#define RAD_TO_DEG 57.29577951308232

/* Spread of the light's colour: an ordinary camera's white balance leaves a warm bulb or
 * a cool sky with gains of roughly 1.3; our choice. */
#define SIGMA_TEMPERATURE 0.25
#define SIGMA_TINT        0.10
/* Blue moves a little more than red between daylight and bulb. */
#define BLUE_SHARE 1.2

static double srgb_decode(double coded)
{
    return coded <= 0.04045 ? coded / 12.92 : pow((coded + 0.055) / 1.055, 2.4);
}

static double srgb_encode(double linear)
{
    if (linear <= 0)
        return 0;
    if (linear >= 1)
        return 1;
    return linear <= 0.0031308 ? linear * 12.92 : 1.055 * pow(linear, 1 / 2.4) - 0.055;
}

/* Inverse transfer of ITU-R BT.2100 HLG, scaled so that reference white (75 % signal)
 * becomes 1; the system gamma is left out, it hardly turns a direction. */
static double hlg_decode(double coded)
{
    const double a = 0.17883277, b = 0.28466892, c = 0.55991073;
    double scene = coded <= 0.5 ? coded * coded / 3 : (exp((coded - c) / a) + b) / 12;
    return scene / 0.26496256;
}

/* SMPTE ST 2084, reference white at 203 cd/m2 (ITU-R BT.2408). */
static double pq_decode(double coded)
{
    const double m1 = 0.1593017578125, m2 = 78.84375, c1 = 0.8359375, c2 = 18.8515625,
                 c3 = 18.6875;
    double p = pow(coded, 1 / m2);
    double top = p > c1 ? p - c1 : 0;
    return pow(top / (c2 - c3 * p), 1 / m1) * 10000 / 203;
}

static double decode(enum omo_colour_space space, double coded)
{
    double v = coded < 0 ? 0 : coded > 1 ? 1 : coded;
    if (space == OMO_COLOUR_BT2020_HLG)
        return hlg_decode(v);
    if (space == OMO_COLOUR_BT2020_PQ)
        return pq_decode(v);
    return srgb_decode(v);
}

void omo_colour_map_init(struct omo_colour_map *map, enum omo_colour_space space,
                         bool full_range)
{
    memset(map, 0, sizeof *map);
    map->space = space;
    map->full_range = full_range;
    map->curved = space == OMO_COLOUR_BT2020 || space == OMO_COLOUR_BT2020_HLG ||
                  space == OMO_COLOUR_BT2020_PQ;
    omo_chroma_to_bt601(space, full_range, map->m);
}

/* Luma is not decoded, so the curved spaces get the middle of the lumas that keep the
 * colour inside the gamut, drawn towards an ordinary picture's mean. */
static double likely_luma(double red, double green, double blue)
{
    double low = -fmin(red, fmin(green, blue)), high = 1 - fmax(red, fmax(green, blue));
    double usual = 0.42;
    if (low > high)
        return 0.5 * (low + high);
    double y = usual < low ? low : usual > high ? high : usual;
    return 0.5 * (y + 0.5 * (low + high));
}

static void curved_apply(const struct omo_colour_map *map, double cb, double cr,
                         double out[2])
{
    double full = map->full_range ? 255.0 : 224.0;
    double pb = (cb - 128) / full, pr = (cr - 128) / full;
    /* ITU-R BT.2020 non-constant luminance */
    double red = 1.4746 * pr, blue = 1.8814 * pb, green = -0.16455 * pb - 0.57135 * pr;
    double y = likely_luma(red, green, blue);
    red = decode(map->space, y + red);
    green = decode(map->space, y + green);
    blue = decode(map->space, y + blue);
    /* BT.2020 to BT.709 primaries (ITU-R BT.2087) */
    double r = srgb_encode(1.6605 * red - 0.5876 * green - 0.0728 * blue);
    double g = srgb_encode(-0.1246 * red + 1.1329 * green - 0.0083 * blue);
    double b = srgb_encode(-0.0182 * red - 0.1006 * green + 1.1187 * blue);
    double rgb[3] = {255 * r, 255 * g, 255 * b}, ycc[3];
    omo_srgb_to_ycbcr(rgb, ycc);
    out[0] = ycc[1] - 128;
    out[1] = ycc[2] - 128;
}

void omo_colour_map_apply(const struct omo_colour_map *map, double cb, double cr,
                          double out[2])
{
    if (map->curved) {
        curved_apply(map, cb, cr, out);
        return;
    }
    out[0] = map->m[0] * (cb - 128) + map->m[1] * (cr - 128);
    out[1] = map->m[2] * (cb - 128) + map->m[3] * (cr - 128);
}

double omo_colour_turn_deg(double from_deg, double to_deg)
{
    double d = fmod(to_deg - from_deg, 360);
    if (d > 180)
        d -= 360;
    if (d <= -180)
        d += 360;
    return d;
}

double omo_colour_angle_deg(const double chroma[2])
{
    return atan2(chroma[1], chroma[0]) * RAD_TO_DEG;
}

double omo_colour_magnitude(const double chroma[2])
{
    return sqrt(chroma[0] * chroma[0] + chroma[1] * chroma[1]);
}

/* Without a luma the middle of those that keep the colour a possible one. */
static double entry_luma(const struct omo_set_entry *entry)
{
    if (isfinite(entry->luma))
        return entry->luma;
    double ycc[3] = {0, entry->cb, entry->cr}, rgb[3];
    omo_ycbcr_to_srgb(ycc, rgb);
    double low = -fmin(rgb[0], fmin(rgb[1], rgb[2]));
    double high = 255 - fmax(rgb[0], fmax(rgb[1], rgb[2]));
    return 0.5 * (low + high);
}

void omo_pigment_init(struct omo_pigment *pigment, const struct omo_set_entry *entry)
{
    double ycc[3] = {entry_luma(entry), entry->cb, entry->cr}, rgb[3];
    omo_ycbcr_to_srgb(ycc, rgb);
    for (int i = 0; i < 3; i++) {
        /* No pigment swallows a channel whole; a floor keeps gains able to act. */
        double v = rgb[i] < 6 ? 6 : rgb[i] > 250 ? 250 : rgb[i];
        pigment->linear[i] = srgb_decode(v / 255);
    }
}

void omo_pigment_under(const struct omo_pigment *pigment, const struct omo_light *light,
                       double *angle_deg, double *magnitude)
{
    double red = exp(light->log_red), blue = exp(light->log_blue);
    double level = 0.2126 * red + 0.7152 + 0.0722 * blue; /* a grey keeps its luminance */
    double rgb[3] = {255 * srgb_encode(pigment->linear[0] * red / level),
                     255 * srgb_encode(pigment->linear[1] / level),
                     255 * srgb_encode(pigment->linear[2] * blue / level)};
    double ycc[3];
    omo_srgb_to_ycbcr(rgb, ycc);
    double chroma[2] = {ycc[1] - 128, ycc[2] - 128};
    *angle_deg = omo_colour_angle_deg(chroma);
    *magnitude = omo_colour_magnitude(chroma);
}

void omo_light_grid(struct omo_light grid[OMO_LIGHT_GRID])
{
    static const double temperature[7] = {0, 0.2, -0.2, 0.4, -0.35, 0.6, 0.8};
    static const double tint[3] = {0, 0.12, -0.12};
    for (int i = 0; i < 7; i++) {
        for (int j = 0; j < 3; j++) {
            struct omo_light *light = &grid[3 * i + j];
            light->log_red = 0.5 * temperature[i] + tint[j];
            light->log_blue = -0.5 * BLUE_SHARE * temperature[i] + tint[j];
        }
    }
}

double omo_light_cost(const struct omo_light *light)
{
    double temperature = (light->log_red - light->log_blue) / (0.5 + 0.5 * BLUE_SHARE);
    double tint = light->log_red - 0.5 * temperature;
    double a = temperature / (2 * SIGMA_TEMPERATURE), b = tint / SIGMA_TINT;
    return a * a + b * b;
}

/* Residuals of all pigments and the two of the prior. */
static double fit_cost(const struct omo_pigment *const *pigments, const double *angle_deg,
                       int count, double sigma_deg, const struct omo_light *light,
                       double *residual)
{
    double cost = 0;
    for (int k = 0; k < count; k++) {
        double expected, magnitude;
        omo_pigment_under(pigments[k], light, &expected, &magnitude);
        residual[k] = omo_colour_turn_deg(expected, angle_deg[k]) / sigma_deg;
        cost += residual[k] * residual[k];
    }
    double temperature = (light->log_red - light->log_blue) / (0.5 + 0.5 * BLUE_SHARE);
    residual[count] = -temperature / (2 * SIGMA_TEMPERATURE);
    residual[count + 1] = -(light->log_red - 0.5 * temperature) / SIGMA_TINT;
    return cost + residual[count] * residual[count] +
           residual[count + 1] * residual[count + 1];
}

double omo_light_fit(const struct omo_pigment *const *pigments, const double *angle_deg,
                     int count, double sigma_deg, struct omo_light *light)
{
    enum { MOST = OMO_SET_MAX };
    const double step = 0.02;
    if (count > MOST)
        count = MOST;
    double r[MOST + 2], rr[MOST + 2], rb[MOST + 2];
    double cost = fit_cost(pigments, angle_deg, count, sigma_deg, light, r);
    for (int pass = 0; pass < 4; pass++) {
        struct omo_light red = {light->log_red + step, light->log_blue};
        struct omo_light blue = {light->log_red, light->log_blue + step};
        fit_cost(pigments, angle_deg, count, sigma_deg, &red, rr);
        fit_cost(pigments, angle_deg, count, sigma_deg, &blue, rb);
        double a = 0, b = 0, c = 0, u = 0, v = 0;
        for (int k = 0; k < count + 2; k++) {
            double dr = (rr[k] - r[k]) / step, db = (rb[k] - r[k]) / step;
            a += dr * dr;
            b += dr * db;
            c += db * db;
            u -= dr * r[k];
            v -= db * r[k];
        }
        double det = a * c - b * b;
        if (!(det > 1e-9))
            break;
        struct omo_light next = {light->log_red + (c * u - b * v) / det,
                                 light->log_blue + (a * v - b * u) / det};
        double next_cost = fit_cost(pigments, angle_deg, count, sigma_deg, &next, rr);
        if (!(next_cost < cost))
            break;
        double gained = cost - next_cost;
        *light = next;
        cost = next_cost;
        memcpy(r, rr, sizeof r);
        if (gained < 0.01)
            break;
    }
    return cost;
}

void omo_cell_table_fill(const struct omo_colour_map *map, struct omo_cell_table *table)
{
    const double half = 0.5 * ((1 << OMO_LUT_SHIFT) - 1);
    for (int i = 0; i < OMO_LUT_SIDE; i++) {
        for (int j = 0; j < OMO_LUT_SIDE; j++) {
            double chroma[2];
            omo_colour_map_apply(map, (i << OMO_LUT_SHIFT) + half,
                                 (j << OMO_LUT_SHIFT) + half, chroma);
            int cell = i * OMO_LUT_SIDE + j;
            table->angle_deg[cell] = (float)omo_colour_angle_deg(chroma);
            long degree = lround((double)table->angle_deg[cell]);
            table->degree[cell] = (uint16_t)((degree + 360) % 360);
            table->magnitude[cell] = (float)omo_colour_magnitude(chroma);
        }
    }
}

/* The sectors a direction may belong to, nearest first, for every whole degree. */
#define CHOICES 2
struct by_degree {
    int8_t sector[360][CHOICES]; /* -1: none */
};

static void rank_sectors(const struct omo_sector *sectors, int count,
                         struct by_degree *rank)
{
    for (int degree = 0; degree < 360; degree++) {
        double distance[CHOICES] = {1, 1};
        int8_t *best = rank->sector[degree];
        best[0] = best[1] = -1;
        for (int k = 0; k < count; k++) {
            double turn = omo_colour_turn_deg(sectors[k].centre_deg, degree);
            double d =
                turn < 0 ? -turn / sectors[k].below_deg : turn / sectors[k].above_deg;
            if (d < distance[0]) {
                distance[1] = distance[0];
                best[1] = best[0];
                distance[0] = d;
                best[0] = (int8_t)k;
            } else if (d < distance[1]) {
                distance[1] = d;
                best[1] = (int8_t)k;
            }
        }
    }
}

void omo_lut_build(const struct omo_cell_table *table, const struct omo_sector *sectors,
                   int count, const uint8_t *struck, struct omo_lut *lut)
{
    struct by_degree rank;
    float least[OMO_SET_MAX], most[OMO_SET_MAX];
    rank_sectors(sectors, count, &rank);
    for (int k = 0; k < count; k++) {
        least[k] = (float)sectors[k].min_magnitude;
        most[k] = (float)sectors[k].max_magnitude;
    }
    memset(lut, 0, sizeof *lut);
    for (int cell = 0; cell < OMO_LUT_CELLS; cell++) {
        const int8_t *choice = rank.sector[table->degree[cell]];
        if (choice[0] < 0 || struck[cell])
            continue;
        float magnitude = table->magnitude[cell];
        int k = choice[0];
        if (magnitude < least[k] || magnitude > most[k])
            k = choice[1];
        if (k < 0 || magnitude < least[k] || magnitude > most[k])
            continue;
        lut->cell[cell] = (uint8_t)(k + 1);
        /* Eight bits for any number of classes: sharing a bit only lets more pass. */
        uint8_t bit = (uint8_t)(1u << (k & 7));
        lut->nibble_cb[cell / OMO_LUT_SIDE >> 2] |= bit;
        lut->nibble_cr[cell % OMO_LUT_SIDE >> 2] |= bit;
    }
}
