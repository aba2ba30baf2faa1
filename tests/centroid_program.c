/* Reads chroma planes as raw bytes (width, height on the command line; Cb then Cr, one
 * picture after the other) from standard input and prints where the green sticker is, or
 * that of the colour given as three further numbers (sRGB). */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "omogon/vision.h"

int main(int argc, char **argv)
{
    if (argc != 3 && argc != 6)
        return 2;
    int width = atoi(argv[1]), height = atoi(argv[2]);
    size_t count = (size_t)width * (size_t)height;
    uint8_t *bytes = malloc(2 * count);
    double colour[3] = {40, 170, 70};
    for (int i = 0; i < argc - 3; i++)
        colour[i] = atof(argv[3 + i]);
    double ycbcr[3];
    struct omo_tracker_settings settings = {.set = {.count = 1}};
    struct omo_tracker *tracker = NULL;
    omo_srgb_to_ycbcr(colour, ycbcr);
    settings.set.entry[0] = (struct omo_set_entry){.name = "dot",
                                                   .cb = ycbcr[1],
                                                   .cr = ycbcr[2],
                                                   .luma = NAN,
                                                   .spread_deg = NAN,
                                                   .size_mm = NAN};
    if (!bytes || omo_tracker_create(&settings, &tracker) != OMO_OK)
        return 1;
    for (int k = 0; fread(bytes, 1, 2 * count, stdin) == 2 * count; k++) {
        struct omo_frame frame = {.planes = {.width = width,
                                             .height = height,
                                             .chroma_width = width,
                                             .chroma_height = height,
                                             .cb = bytes,
                                             .cr = bytes + count,
                                             .chroma_stride = width,
                                             .scale_x = 1,
                                             .scale_y = 1,
                                             .full_range = true},
                                  .turned = {0, width, height},
                                  .index = k,
                                  .time_s = k / 30.0};
        struct omo_marker found;
        if (omo_tracker_step_free(tracker, &frame, &found) != OMO_OK)
            return 1;
        printf("%d %.6f %.6f\n", (int)found.seen, found.x_px, found.y_px);
    }
    omo_tracker_destroy(tracker);
    free(bytes);
    return 0;
}
