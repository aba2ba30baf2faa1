#include "effects.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CODE_STEPS   16384 /* table from linear light to sRGB */
#define NOISE_COUNT  (1 << 17)
#define NOISE_UNIT   20 /* of the noise table: one standard deviation */
#define FINE         16 /* planes hold sixteenths of a grey level before noise */
#define BLUR_REACH   6
#define LEVEL_STEPS  256

struct omo_effects {
    const struct omo_scene *scene;
    int width, height, chroma_width, chroma_height, step_x, step_y;
    omo_float4 *room;  /* sharp */
    omo_float4 *light; /* per pixel: vignetting, gradient, sun */
    omo_float4 *rows;  /* blurred across: BLUR ring of rows */
    omo_float4 *row_sum;
    float *chroma_row; /* Cb and Cr at full resolution, step_y rows */
    int16_t *y, *cb, *cr;                /* developed frame, sixteenths */
    int16_t *room_y, *room_cb, *room_cr; /* the same of the room alone */
    uint8_t *out_y, *out_cb, *out_cr;
    int *dirty_low, *dirty_high; /* spans of y that differ from room_y */
    float code[CODE_STEPS + 2];
    int8_t noise[NOISE_COUNT], chroma_noise[NOISE_COUNT];
    int16_t level[LEVEL_STEPS], chroma_level[LEVEL_STEPS];
    float kernel[BLUR_REACH + 1];
    int reach;
    omo_float4 gain;
};
