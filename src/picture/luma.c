#include <math.h>

#include "omogon/picture.h"

/* Steps along the picture's shorter side: some 6000 samples at 16 to 9, one cache line
 * each. */
#define GRID      60
#define SPREAD    0.61803398875 /* golden section: evenly, whatever the step */
#define BRIGHTEST 250.0
#define DARKEST   12.0

void omo_luma_read(const struct omo_planes *planes, struct omo_luma *luma)
{
    *luma = (struct omo_luma){NAN, NAN, NAN};
    if (planes->y == NULL || planes->width < 1 || planes->height < 1)
        return;
    int shorter = planes->width < planes->height ? planes->width : planes->height;
    int step = shorter / GRID > 1 ? shorter / GRID : 1;
    long tally[256] = {0}, count = 0;
    for (int row = 0, y = step / 2; y < planes->height; row++, y += step) {
        const uint8_t *line = planes->y + (ptrdiff_t)y * planes->y_stride;
        /* Every row begins elsewhere, so that stripes do not fool it. */
        int begin = (int)(SPREAD * row * step) % step;
        for (int x = begin; x < planes->width; x += step, count++)
            tally[line[x]]++;
    }
    /* ITU-R BT.601: 16 is black and 235 white unless the range is full. */
    double low = planes->full_range ? 0.0 : 16.0;
    double gain = planes->full_range ? 1.0 : 255.0 / 219.0;
    double sum = 0.0;
    long bright = 0, dark = 0;
    for (int i = 0; i < 256; i++) {
        double value = gain * (i - low);
        sum += (double)tally[i] * fmin(fmax(value, 0.0), 255.0);
        bright += value >= BRIGHTEST ? tally[i] : 0;
        dark += value <= DARKEST ? tally[i] : 0;
    }
    luma->mean = sum / (double)count;
    luma->bright_ratio = (double)bright / (double)count;
    luma->dark_ratio = (double)dark / (double)count;
}
