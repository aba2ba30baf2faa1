/* Stands in for the usual pipeline where OpenCV is not installed: its columns are empty.
 */
#include "usual_pipeline.h"

bool usual_pipeline_is_there(void)
{
    return false;
}

struct usual_pipeline *usual_pipeline_create(const struct omo_marker_set *set, bool chest)
{
    (void)set;
    (void)chest;
    return NULL;
}

void usual_pipeline_destroy(struct usual_pipeline *pipeline)
{
    (void)pipeline;
}

bool usual_pipeline_step(struct usual_pipeline *pipeline, const uint8_t *bytes,
                         size_t size, struct omo_markers *markers)
{
    (void)pipeline;
    (void)bytes;
    (void)size;
    (void)markers;
    return false;
}

const char *usual_pipeline_opencv_version(void)
{
    return "none";
}
