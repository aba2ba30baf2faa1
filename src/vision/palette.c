#include "palette.h"

#include <math.h>
#include <string.h>

/* Colours whose directions are nearer than this are one class. */
#define SAME_CLASS_DEG 7.0
#define SAME_CLASS_LOG 0.7 /* of their chroma */
/* Pigments, paper and printing vary; one standard deviation, our choice. */
#define PIGMENT_SIGMA_DEG 4.5
/* Room around the extremes of the grid of lights. */
#define WIDE_ROOM_DEG 10.0
/* Lights costlier than this are not believed. */
#define GRID_COST_MAX 4.5
/* A dim room leaves this share of a colour's chroma; three stops in sRGB leave 0.39. */
#define DIM_SHARE    0.33
#define BRIGHT_SHARE 1.6
#define LEAST_CHROMA 11.0
/* Logarithms: of one marker's chroma against the others', and of all against the set's.
 */
#define SHARE_SIGMA  0.22
#define DIM_SIGMA    0.42
#define BRIGHT_SIGMA 0.25
/* How far a followed colour may drift from what the set and any light allow. */
#define DRIFT_DEG 12.0
/* Half width of a narrow sector: pigment edges and shading, plus noise, which turns weak
 * colours more than strong ones. */
#define NARROW_DEG       8.0
#define SMEAR_TURN_DEG   32.0
#define NARROW_NOISE_DEG 150.0 /* at chroma 1 */

static void class_init(struct omo_palette *palette, int k)
{
    struct omo_palette_class *c = &palette->classes[k];
    const struct omo_light neutral = {0, 0};
    omo_pigment_under(&c->pigment, &neutral, &c->angle_deg, &c->magnitude);
    c->dimmest = c->strongest = c->magnitude;
    for (int i = 0; i < OMO_LIGHT_GRID; i++) {
        double angle, magnitude;
        omo_pigment_under(&c->pigment, &palette->grid[i], &angle, &magnitude);
        palette->grid_angle_deg[k][i] = angle;
        palette->grid_log_magnitude[k][i] = log(fmax(magnitude, 1));
        if (palette->grid_cost[i] > GRID_COST_MAX)
            continue;
        double turn = omo_colour_turn_deg(c->angle_deg, angle);
        c->low_deg = fmin(c->low_deg, turn);
        c->high_deg = fmax(c->high_deg, turn);
        c->dimmest = fmin(c->dimmest, magnitude);
        c->strongest = fmax(c->strongest, magnitude);
    }
}

static bool same_class(const struct omo_palette_class *a,
                       const struct omo_palette_class *b)
{
    return fabs(omo_colour_turn_deg(a->angle_deg, b->angle_deg)) <= SAME_CLASS_DEG &&
           fabs(log(a->magnitude / b->magnitude)) <= SAME_CLASS_LOG;
}

void omo_palette_init(struct omo_palette *palette, const struct omo_marker_set *set)
{
    memset(palette, 0, sizeof *palette);
    omo_light_grid(palette->grid);
    for (int i = 0; i < OMO_LIGHT_GRID; i++)
        palette->grid_cost[i] = omo_light_cost(&palette->grid[i]);
    for (int i = 0; i < set->count; i++) {
        struct omo_palette_class fresh = {.spread_deg = set->entry[i].spread_deg};
        const struct omo_light neutral = {0, 0};
        omo_pigment_init(&fresh.pigment, &set->entry[i]);
        omo_pigment_under(&fresh.pigment, &neutral, &fresh.angle_deg, &fresh.magnitude);
        int k = 0;
        while (k < palette->class_count && !same_class(&palette->classes[k], &fresh))
            k++;
        palette->class_of_entry[i] = k;
        if (k < palette->class_count)
            continue;
        palette->classes[k] = fresh;
        palette->class_count++;
        class_init(palette, k);
    }
}

void omo_palette_match(struct omo_palette *palette, const struct omo_planes *planes)
{
    if (palette->map_ready && palette->map.space == planes->colour &&
        palette->map.full_range == planes->full_range)
        return;
    omo_colour_map_init(&palette->map, planes->colour, planes->full_range);
    omo_cell_table_fill(&palette->map, &palette->cells);
    palette->map_ready = true;
    palette->lut_ready = false;
    omo_palette_update(palette, palette->narrow);
}

/* Keeps a direction within what the set and the lights of the grid allow. */
static double allowed_angle(const struct omo_palette_class *c, double angle_deg)
{
    double turn = omo_colour_turn_deg(c->angle_deg, angle_deg);
    double low = c->low_deg - DRIFT_DEG, high = c->high_deg + DRIFT_DEG;
    turn = turn < low ? low : turn > high ? high : turn;
    return c->angle_deg + turn;
}

void omo_palette_show(struct omo_palette *palette, int class_index, const double core[2],
                      double rate)
{
    struct omo_palette_class *c = &palette->classes[class_index];
    double angle = omo_colour_angle_deg(core), magnitude = omo_colour_magnitude(core);
    if (!c->seen) {
        c->seen = true;
        c->seen_angle_deg = allowed_angle(c, angle);
        c->seen_magnitude = magnitude;
        return;
    }
    double turn = omo_colour_turn_deg(c->seen_angle_deg, angle);
    c->seen_angle_deg = allowed_angle(c, c->seen_angle_deg + rate * turn);
    c->seen_magnitude += rate * (magnitude - c->seen_magnitude);
}

void omo_palette_forget(struct omo_palette *palette)
{
    for (int k = 0; k < palette->class_count; k++) {
        palette->classes[k].seen = false;
        palette->classes[k].smear = 0;
    }
    palette->light = (struct omo_light){0, 0};
    palette->light_known = false;
    memset(palette->struck, 0, sizeof palette->struck);
    palette->lut_ready = false;
}

static void fit_light(struct omo_palette *palette)
{
    const struct omo_pigment *pigments[OMO_SET_MAX];
    double angle_deg[OMO_SET_MAX];
    int count = 0;
    for (int k = 0; k < palette->class_count; k++) {
        if (!palette->classes[k].seen)
            continue;
        pigments[count] = &palette->classes[k].pigment;
        angle_deg[count++] = palette->classes[k].seen_angle_deg;
    }
    palette->light_known = count > 0;
    if (count > 0)
        omo_light_fit(pigments, angle_deg, count, PIGMENT_SIGMA_DEG, &palette->light);
}

/* How bright the picture is against the set, from what is followed. */
static double exposure_share(const struct omo_palette *palette)
{
    double sum = 0;
    int count = 0;
    for (int k = 0; k < palette->class_count; k++) {
        const struct omo_palette_class *c = &palette->classes[k];
        double angle, magnitude;
        if (!c->seen)
            continue;
        omo_pigment_under(&c->pigment, &palette->light, &angle, &magnitude);
        sum += c->seen_magnitude / fmax(magnitude, 1);
        count++;
    }
    double share = count ? sum / count : 1;
    return share < 0.25 ? 0.25 : share > 1.5 ? 1.5 : share;
}

static struct omo_sector wide_sector(const struct omo_palette_class *c)
{
    double room = isfinite(c->spread_deg) ? c->spread_deg : WIDE_ROOM_DEG;
    return (struct omo_sector){
        .centre_deg = c->angle_deg,
        .below_deg = room - c->low_deg,
        .above_deg = room + c->high_deg,
        .min_magnitude = fmax(LEAST_CHROMA, DIM_SHARE * c->dimmest),
        .max_magnitude = BRIGHT_SHARE * c->strongest + 10,
    };
}

static struct omo_sector narrow_sector(const struct omo_palette *palette,
                                       const struct omo_palette_class *c)
{
    double angle, magnitude, doubt = 0;
    if (c->seen) {
        angle = c->seen_angle_deg;
        magnitude = c->seen_magnitude;
    } else {
        omo_pigment_under(&c->pigment, &palette->light, &angle, &magnitude);
        magnitude *= exposure_share(palette);
        doubt = 5;
    }
    double half = NARROW_DEG + doubt + NARROW_NOISE_DEG / fmax(magnitude, 8);
    if (isfinite(c->spread_deg))
        half = c->spread_deg;
    /* Smeared by motion it is mixed with its ground, which turns it there. */
    double turn = omo_colour_turn_deg(angle, c->ground_deg) * fmin(c->smear, 1);
    double drawn = fmin(0.6 * fabs(turn), SMEAR_TURN_DEG);
    return (struct omo_sector){
        .centre_deg = angle,
        .below_deg = half + (turn < 0 ? drawn : 0),
        .above_deg = half + (turn > 0 ? drawn : 0),
        .min_magnitude =
            fmax(LEAST_CHROMA, (c->seen ? 0.5 : 0.4) * magnitude / (1 + 0.5 * c->smear)),
        .max_magnitude = 1.6 * magnitude + 10,
    };
}

double omo_palette_expected_magnitude(const struct omo_palette *palette, int class_index)
{
    double angle, magnitude;
    omo_pigment_under(&palette->classes[class_index].pigment, &palette->light, &angle,
                      &magnitude);
    return magnitude * exposure_share(palette);
}

static bool sector_moved(const struct omo_sector *a, const struct omo_sector *b)
{
    return fabs(omo_colour_turn_deg(a->centre_deg, b->centre_deg)) > 1.5 ||
           fabs(a->below_deg - b->below_deg) > 1.5 ||
           fabs(a->above_deg - b->above_deg) > 1.5 ||
           fabs(a->min_magnitude - b->min_magnitude) > 0.08 * a->min_magnitude ||
           fabs(a->max_magnitude - b->max_magnitude) > 0.2 * a->max_magnitude;
}

void omo_palette_update(struct omo_palette *palette, bool narrow)
{
    struct omo_sector sectors[OMO_SET_MAX];
    bool moved = !palette->lut_ready || narrow != palette->narrow;
    if (narrow)
        fit_light(palette);
    for (int k = 0; k < palette->class_count; k++) {
        const struct omo_palette_class *c = &palette->classes[k];
        sectors[k] = narrow ? narrow_sector(palette, c) : wide_sector(c);
        moved = moved || sector_moved(&palette->sectors[k], &sectors[k]);
    }
    palette->narrow = narrow;
    if (!moved || !palette->map_ready)
        return;
    memcpy(palette->sectors, sectors, sizeof sectors);
    omo_lut_build(&palette->cells, palette->sectors, palette->class_count,
                  palette->struck, &palette->lut);
    palette->lut_ready = true;
}

void omo_palette_expect(const struct omo_palette *palette, int class_index,
                        double *angle_deg, double *doubt_deg)
{
    const struct omo_palette_class *c = &palette->classes[class_index];
    struct omo_sector s = palette->narrow ? narrow_sector(palette, c) : wide_sector(c);
    *angle_deg = s.centre_deg + 0.5 * (s.above_deg - s.below_deg);
    *doubt_deg = 0.5 * (s.above_deg + s.below_deg);
}

/* Markers share one exposure but for shade and the corners' loss of light. */
static double exposure_cost(const double *log_share, int count)
{
    double mean = 0, cost = 0;
    for (int k = 0; k < count; k++)
        mean += log_share[k] / count;
    for (int k = 0; k < count; k++) {
        double d = (log_share[k] - mean) / SHARE_SIGMA;
        cost += d * d;
    }
    double all = mean / (mean < 0 ? DIM_SIGMA : BRIGHT_SIGMA);
    return cost + all * all;
}

double omo_palette_joint_cost(const struct omo_palette *palette, const int *class_index,
                              const double *angle_deg, const double *magnitude, int count)
{
    double least = INFINITY, log_magnitude[OMO_SET_MAX], log_share[OMO_SET_MAX];
    for (int k = 0; k < count; k++)
        log_magnitude[k] = log(fmax(magnitude[k], 1));
    for (int i = 0; i < OMO_LIGHT_GRID; i++) {
        double cost = palette->grid_cost[i];
        for (int k = 0; k < count && cost < least; k++) {
            int c = class_index[k];
            double turn =
                omo_colour_turn_deg(palette->grid_angle_deg[c][i], angle_deg[k]) /
                PIGMENT_SIGMA_DEG;
            cost += turn * turn;
            log_share[k] = log_magnitude[k] - palette->grid_log_magnitude[c][i];
        }
        if (cost < least)
            least = fmin(least, cost + exposure_cost(log_share, count));
    }
    return least;
}
