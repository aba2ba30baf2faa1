/**
 * Colour as the tracker sees it: a direction and a length in BT.601 full-range chroma.
 *
 * Exposure moves a colour along its ray from (128, 128), the light's own colour turns the
 * ray. So a pigment is judged by direction first and by length relative to what the light
 * lets one expect.
 */
#ifndef OMO_VISION_COLOUR_H
#define OMO_VISION_COLOUR_H

#include <stdbool.h>
#include <stdint.h>

#include "omogon/picture.h"
#include "omogon/vision.h"

/** From a stream's own chroma to BT.601 full range, by matrix, or through the transfer
 *  curve where the stream's is not an ordinary camera's. */
struct omo_colour_map {
    enum omo_colour_space space;
    bool full_range;
    bool curved;
    double m[4];
};
void omo_colour_map_init(struct omo_colour_map *map, enum omo_colour_space space,
                         bool full_range);
/** Chroma sample (0..255) to (cb - 128, cr - 128). */
void omo_colour_map_apply(const struct omo_colour_map *map, double cb, double cr,
                          double out[2]);

/** Difference of two directions, (-180, 180]. */
double omo_colour_turn_deg(double from_deg, double to_deg);
double omo_colour_angle_deg(const double chroma[2]);
double omo_colour_magnitude(const double chroma[2]);

/** Gains of the red and blue channel against green in linear light, as logarithms. */
struct omo_light {
    double log_red, log_blue;
};

/** A marker's colour under neutral light. */
struct omo_pigment {
    double linear[3];
};
void omo_pigment_init(struct omo_pigment *pigment, const struct omo_set_entry *entry);
/** Direction and length of its chroma under a light of the same brightness. */
void omo_pigment_under(const struct omo_pigment *pigment, const struct omo_light *light,
                       double *angle_deg, double *magnitude);

/** Lights worth trying before anything is known: warm to cool, green to purple. */
#define OMO_LIGHT_GRID 21
void omo_light_grid(struct omo_light grid[OMO_LIGHT_GRID]);
/** Squared distance from neutral in standard deviations. */
double omo_light_cost(const struct omo_light *light);
/** The light that explains measured directions best, kept near neutral by its prior and
 *  started from *light. Returns the cost: residuals and prior, in squared deviations. */
double omo_light_fit(const struct omo_pigment *const *pigments, const double *angle_deg,
                     int count, double sigma_deg, struct omo_light *light);

/** Part of the chroma plane that belongs to one class. */
struct omo_sector {
    double centre_deg, below_deg, above_deg; /**< widths to either side, > 0 */
    double min_magnitude, max_magnitude;
};

#define OMO_LUT_SHIFT 2
#define OMO_LUT_SIDE  64
#define OMO_LUT_CELLS (OMO_LUT_SIDE * OMO_LUT_SIDE)
/** Class + 1 of every chroma cell, 0 for none, and a coarse table by high nibbles that
 *  lets the scanner pass over most pixels sixteen at a time: class bits cb[i] & cr[j] is
 *  0 only where no cell of the block has a class. */
struct omo_lut {
    uint8_t cell[OMO_LUT_CELLS]; /**< [cb >> 2][cr >> 2] */
    uint8_t nibble_cb[16], nibble_cr[16];
};
/** Directions and lengths of the cells' centres, fixed for one kind of stream. */
struct omo_cell_table {
    float angle_deg[OMO_LUT_CELLS], magnitude[OMO_LUT_CELLS];
    uint16_t degree[OMO_LUT_CELLS]; /**< the direction, 0..359 */
};
void omo_cell_table_fill(const struct omo_colour_map *map, struct omo_cell_table *table);
/** A cell goes to the sector whose centre is nearest in units of that sector's width;
 *  cells that are struck (one byte each, not 0) to none. */
void omo_lut_build(const struct omo_cell_table *table, const struct omo_sector *sectors,
                   int count, const uint8_t *struck, struct omo_lut *lut);

#endif
