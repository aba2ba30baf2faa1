/** Pictures of a clip by their number, back and forth. */
#ifndef OMO_APP_VIEW_FRAMES_H
#define OMO_APP_VIEW_FRAMES_H

#include "omogon/source.h"

struct omo_view_frames;
/** Never NULL; `clip` is copied and opened when a picture is first asked for. */
struct omo_view_frames *omo_view_frames_create(const char *clip);
/** NULL is fine. */
void omo_view_frames_destroy(struct omo_view_frames *frames);
/**
 * The picture of a number, lent until the next call. The last ones are kept, at most 64
 * MiB and at least two, so that a step back costs no decoding; one further back is
 * decoded from the clip's beginning. One sentence on failure.
 */
OMO_MUST_CHECK enum omo_status omo_view_frames_get(struct omo_view_frames *frames,
                                                   int64_t number,
                                                   const struct omo_frame **out);

#endif
