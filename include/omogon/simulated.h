/**
 * The simulated camera: an invented person with markers, rendered in a room, with known
 * truth. Its body is its own: it shares no code with the measuring side but the limb
 * proportions in layout. The truth is asked for here and travels no other way.
 */
#ifndef OMOGON_SIMULATED_H
#define OMOGON_SIMULATED_H

#include <stdbool.h>
#include <stdint.h>

#include "omogon/body.h"
#include "omogon/source.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Settings of a scene; opaque. Every setting has a name (see omo_scene_help). */
struct omo_scene;
OMO_API struct omo_scene *omo_scene_create(void); /**< good light, right flexion */
/** Frees it; NULL is fine. */
OMO_API void omo_scene_destroy(struct omo_scene *scene);
/** Sets one setting from text, e.g. ("noise", "3"). OMO_ERR_ARG with a sentence. */
OMO_API OMO_MUST_CHECK enum omo_status omo_scene_set(struct omo_scene *scene,
                                                     const char *name, const char *value);
/** Reads a scene file (key file, group [scene]) or, for a bare word, a built-in scene of
 *  models/scenes/. A mistake leaves the scene as it was. OMO_ERR_OPEN, OMO_ERR_SETTINGS
 *  with a sentence. */
OMO_API OMO_MUST_CHECK enum omo_status omo_scene_load(struct omo_scene *scene,
                                                      const char *name_or_path);
/** The settings as "name = value" lines with meanings, for --help and documents. Lent. */
OMO_API const char *omo_scene_help(void);

/** Renders the scene frame by frame as JPEG bytes and decodes them as a camera's; with
 *  quality 0 the planes come as rendered. The scene is copied. The same scene and seed
 *  give the same bits on every machine. */
OMO_API OMO_MUST_CHECK enum omo_status omo_simulated_open(const struct omo_scene *scene,
                                                          struct omo_source **source);
/** The next frame's JPEG bytes instead of planes (for writing clips); lent. OMO_END. */
OMO_API OMO_MUST_CHECK enum omo_status omo_simulated_next_jpeg(struct omo_source *source,
                                                               const uint8_t **bytes,
                                                               size_t *size,
                                                               double *time_s);

/** Passes over the next `frames` (at least 0) without rendering them; those after them
 * are the same bits as ever. OMO_END when fewer were left. */
OMO_API OMO_MUST_CHECK enum omo_status omo_simulated_skip(struct omo_source *source,
                                                          int64_t frames);

/** Truth of one marker. */
struct omo_truth_marker {
    bool placed;          /**< the scene has this marker */
    double x_px, y_px;    /**< true centre in the picture (of the disc, or of the band on
                               the limb's axis) */
    double visible_ratio; /**< share of its picture area not covered, 0..1 */
    double diameter_px;
    double middle_x_px, middle_y_px; /**< of what is seen of it: a band on a limb that
                                          points at the camera shows its near side */
};
/** Truth of the frame that was delivered last, at the middle of its exposure. Hike is
 *  against frame 0. Silent, and nothing is written, for a source of another kind. */
struct omo_truth {
    int64_t frame;
    double time_s;
    struct omo_truth_marker marker[OMO_ROLE_COUNT];
    double angle_deg;       /**< true arm against the trunk as it stood (joint centres) */
    double angle_image_deg; /**< line through the true marker centres against the trunk
                                 line through true marker centres: chest to hip, else
                                 shoulder to hip, else vertical; turned to be vertical in
                                 frame 0, but for chest to hip of a person on the side
                                 seen from above */
    double trunk_lean_deg, hike_ratio, hike_mm, elbow_flexion_deg;
    /* The other arm: its markers with the trunk's, and what is true of it; angles are
       NAN while it hangs. */
    struct omo_truth_marker other_marker[OMO_ROLE_COUNT];
    double other_angle_deg, other_angle_image_deg, other_hike_ratio;
};
/** Of the frame that was given last. */
OMO_API void omo_simulated_truth(const struct omo_source *source,
                                 struct omo_truth *truth);

#ifdef __cplusplus
}
#endif

#endif
