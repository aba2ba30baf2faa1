/**
 * The set's colours as they look in this picture's light: classes of the look-up table,
 * wide while nothing is known, narrow round what the followed markers show.
 */
#ifndef OMO_VISION_PALETTE_H
#define OMO_VISION_PALETTE_H

#include "colour.h"

/** Set entries of (nearly) one colour share a class: the look-up table cannot tell them
 *  apart and the layout has to. */
struct omo_palette_class {
    struct omo_pigment pigment;
    double spread_deg;           /**< asked for by the set; NAN: our own */
    double angle_deg, magnitude; /**< under neutral light */
    double low_deg, high_deg;    /**< over the lights worth trying, from angle_deg */
    double dimmest, strongest;   /**< chroma over those lights */
    bool seen;                   /**< the two below are from the picture */
    double seen_angle_deg, seen_magnitude;
    double smear;      /**< motion that thins its colour, diameters a frame */
    double ground_deg; /**< direction of the colour it is then mixed with */
};

struct omo_palette {
    int class_count;
    struct omo_palette_class classes[OMO_SET_MAX];
    int class_of_entry[OMO_SET_MAX];
    struct omo_light grid[OMO_LIGHT_GRID];
    double grid_cost[OMO_LIGHT_GRID];
    double grid_angle_deg[OMO_SET_MAX][OMO_LIGHT_GRID];
    double grid_log_magnitude[OMO_SET_MAX][OMO_LIGHT_GRID];
    struct omo_light light; /**< as fitted to the followed markers */
    bool light_known;
    bool narrow;

    bool map_ready;
    struct omo_colour_map map;
    struct omo_cell_table cells;
    struct omo_lut lut;
    struct omo_sector sectors[OMO_SET_MAX];
    uint8_t struck[OMO_LUT_CELLS]; /**< colours of large patches, see strike.c */
    bool lut_ready;
};

void omo_palette_init(struct omo_palette *palette, const struct omo_marker_set *set);
/** Follows a change of the stream's colour space. */
void omo_palette_match(struct omo_palette *palette, const struct omo_planes *planes);
/** A followed marker shows this colour; rate 0..1 is the weight of the news. */
void omo_palette_show(struct omo_palette *palette, int class_index, const double core[2],
                      double rate);
/** Forgets what was seen; the light goes back to unknown. */
void omo_palette_forget(struct omo_palette *palette);
/** Refits the light to what was seen and rebuilds the table where a sector has moved.
 *  `narrow` false: everything a light of the grid could make of the set. */
void omo_palette_update(struct omo_palette *palette, bool narrow);

/** Direction a class should have now, and how far off may be: halves of its sector. */
void omo_palette_expect(const struct omo_palette *palette, int class_index,
                        double *angle_deg, double *doubt_deg);
/** Chroma a class should have in this light, from the others that were seen. */
double omo_palette_expected_magnitude(const struct omo_palette *palette, int class_index);
/** How badly these colours (direction and length of each) fit the set under one common
 *  light and exposure, squared deviations. */
double omo_palette_joint_cost(const struct omo_palette *palette, const int *class_index,
                              const double *angle_deg, const double *magnitude,
                              int count);

#endif
