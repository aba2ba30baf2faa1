/**
 * The usual way to find coloured markers with OpenCV, for comparison alone: decode to
 * BGR, blur, HSV, one inRange a colour, erode and dilate, contours, centroid of the
 * largest. It never links into the library or the program.
 */
#ifndef OMOGON_BENCH_USUAL_PIPELINE_H
#define OMOGON_BENCH_USUAL_PIPELINE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#include "omogon/body.h"
#include "omogon/picture.h"
#include "omogon/vision.h"

struct usual_pipeline;

/** False in a build without OpenCV: nothing can be created then. */
bool usual_pipeline_is_there(void);

/** Colour ranges come from the set. `chest`: the scene has a second trunk marker, which
 *  is the upper of the two largest patches of the hip's colour. One thread. NULL when
 *  OpenCV fails. */
struct usual_pipeline *usual_pipeline_create(const struct omo_marker_set *set,
                                             bool chest);
void usual_pipeline_destroy(struct usual_pipeline *pipeline);

/** One frame's JPEG bytes to markers; false when the bytes are no picture. */
bool usual_pipeline_step(struct usual_pipeline *pipeline, const uint8_t *bytes,
                         size_t size, struct omo_markers *markers);

/** "4.6.0" */
const char *usual_pipeline_opencv_version(void);

#ifdef __cplusplus
}
#endif

#endif
