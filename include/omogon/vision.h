/** From chroma planes to named markers. */
#ifndef OMOGON_VISION_H
#define OMOGON_VISION_H

#include <stdbool.h>
#include <stdint.h>

#include "omogon/body.h"
#include "omogon/picture.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What a marker looks like. */
enum omo_shape { OMO_DISC, OMO_BAND };

/** Entries of a set, at most. */
#define OMO_SET_MAX 16

/** One kind of marker: its colour as BT.601 full-range chroma under neutral light. */
struct omo_set_entry {
    char name[24];     /**< role name, or any word for stickers without a body */
    double cb, cr;     /**< 0..255 */
    double luma;       /**< 0..255, NAN unknown */
    double spread_deg; /**< half-width in chroma angle; NAN: the detector's own */
    enum omo_shape shape;
    double size_mm; /**< diameter of a disc, width of a band; NAN unknown */
};

/** Marker colours. The hip's entry also serves the chest unless a chest entry exists.
 *  Entries may share one colour: identity then comes from the body's layout. An acromion
 *  is only looked for when the set has one; it may share the shoulder's colour alone. */
struct omo_marker_set {
    char name[64];
    int count;
    struct omo_set_entry entry[OMO_SET_MAX];
};

/** Reads a set (key file). `name_or_path` without a slash or dot is looked up among the
 *  built-in sets of models/. One sentence on failure, with line or group. */
OMO_API OMO_MUST_CHECK enum omo_status omo_set_load(const char *name_or_path,
                                                    struct omo_marker_set *set);
/** The same, and the text that was read, to be freed with free(); NULL on failure. */
OMO_API OMO_MUST_CHECK enum omo_status omo_set_load_text(const char *name_or_path,
                                                         struct omo_marker_set *set,
                                                         char **text);
/** The same from memory; `path` is for the sentences. *set untouched on a mistake. */
OMO_API OMO_MUST_CHECK enum omo_status omo_set_parse(const char *bytes, size_t size,
                                                     const char *path,
                                                     struct omo_marker_set *set);
/** Writes a key file, atomically. One sentence on failure. */
OMO_API OMO_MUST_CHECK enum omo_status omo_set_save(const struct omo_marker_set *set,
                                                    const char *path);

/** What the tracker may assume. */
struct omo_tracker_settings {
    struct omo_marker_set set;
    bool body; /**< true: the body's roles on one person; false: every entry stands alone
                */
    enum omo_side side;
    enum omo_view view;
    enum omo_position position;
    bool from_behind; /**< front view seen from the back */
    bool facing_left; /**< side view / along the arm: the person faces picture left */
    bool mirrored;    /**< the file is a mirror image */
    unsigned needed;  /**< bit mask (1u << role) of the roles the movement needs */
};

/** Finds and follows markers. Causal: frame n depends on frames 0..n only, so that live
 *  and file agree. No allocation per frame once running. One thread at a time. */
struct omo_tracker;
/** Settings are copied. OMO_ERR_ARG for a set of no or too many entries; OMO_ERR_OPEN or
 *  OMO_ERR_SETTINGS, with a sentence, for models/body.ini; OMO_ERR_MEMORY. */
OMO_API OMO_MUST_CHECK enum omo_status omo_tracker_create(
    const struct omo_tracker_settings *settings, struct omo_tracker **out);
/** Frees it; NULL is fine. */
OMO_API void omo_tracker_destroy(struct omo_tracker *tracker);

/** Measures one frame (luma not needed). Body mode fills `markers`. */
OMO_API OMO_MUST_CHECK enum omo_status omo_tracker_step(struct omo_tracker *tracker,
                                                        const struct omo_frame *frame,
                                                        struct omo_markers *markers);
/** Bodyless mode: found[i] belongs to set.entry[i]; `found` has set.count places. */
OMO_API OMO_MUST_CHECK enum omo_status omo_tracker_step_free(
    struct omo_tracker *tracker, const struct omo_frame *frame, struct omo_marker *found);

/** For messages after the last frame. */
struct omo_tracker_report {
    int64_t frames;
    int64_t seen[OMO_SET_MAX]; /**< body: per role; free: per entry */
    bool other_side_better;    /**< the markers fit the other arm or direction better */
};
/** Of all frames so far. */
OMO_API void omo_tracker_report(const struct omo_tracker *tracker,
                                struct omo_tracker_report *report);

/**
 * Both arms of one person at once, in the front view: up to three markers on each arm, of
 * the same colours on both, and a trunk's (hip, chest) that serve both. Which arm is
 * which follows from where the shoulders are; the other arm's markers are never taken.
 * `side` of the settings is not looked at. OMO_ERR_ARG for another view and for someone
 * who lies across the picture. Otherwise as a tracker.
 */
struct omo_pair;
/** Settings are copied. */
OMO_API OMO_MUST_CHECK enum omo_status omo_pair_create(
    const struct omo_tracker_settings *settings, struct omo_pair **out);
/** Frees it; NULL is fine. */
OMO_API void omo_pair_destroy(struct omo_pair *pair);
/** `markers` has two places, by enum omo_side; the trunk's are the same in both. */
OMO_API OMO_MUST_CHECK enum omo_status omo_pair_step(struct omo_pair *pair,
                                                     const struct omo_frame *frame,
                                                     struct omo_markers *markers);

/** What lies around the arm and could be taken for it. */
struct omo_surroundings {
    int look_alikes;  /**< whole, lasting patches in a marker's colour within the arm's
                           reach that are neither its markers nor a body's */
    int other_bodies; /**< further sets of markers that could be a body's: someone else's,
                           or a reflection; the person's own other arm is none */
    int lone_patches; /**< while no body is followed: whole patches like markers ... */
    double lone_px;   /**< ... and the largest one's diameter; NAN none */
};
/** Of the frame stepped last, whose planes have to live still; looked at ten times a
 *  second at most. Changes nothing about what is found. */
OMO_API void omo_tracker_surroundings(struct omo_tracker *tracker,
                                      struct omo_surroundings *surroundings);
/** The same beside each arm, by enum omo_side: two places. What the other arm wears is
 *  the person's own, and while one arm is followed nothing is a lone patch. */
OMO_API void omo_pair_surroundings(struct omo_pair *pair,
                                   struct omo_surroundings *surroundings);

/* ---- learning colours ---- */

/** Where somebody says that a marker lies. */
struct omo_learn_point {
    char name[24];
    double x_px, y_px; /**< upright */
    int64_t frame;     /**< 0-based */
};
/** How far apart the learnt colours are. */
struct omo_learn_report {
    double separability; /**< smallest distance between two colours or to the room, in
                              their own standard deviations; below 4 is poor */
    char weakest[96];    /**< which pair that is, in words */
};
/**
 * Learns colours from frames. With points: what lies there in their frames. Without
 * (point_count 0): the round saturated patches that keep together, named by the nearest
 * built-in colour and the body's layout. Feed frames in order, then finish.
 */
struct omo_learner;
/** Points are copied. OMO_ERR_MEMORY. */
OMO_API OMO_MUST_CHECK enum omo_status omo_learner_create(
    const struct omo_learn_point *points, int point_count, struct omo_learner **out);
/** The next frame; chroma is enough. */
OMO_API OMO_MUST_CHECK enum omo_status omo_learner_add(struct omo_learner *learner,
                                                       const struct omo_frame *frame);
/** OMO_ERR_EMPTY with a sentence when nothing is found or a point's frame never came. */
OMO_API OMO_MUST_CHECK enum omo_status omo_learner_finish(
    struct omo_learner *learner, struct omo_marker_set *set,
    struct omo_learn_report *report);
/** Frees it; NULL is fine. */
OMO_API void omo_learner_destroy(struct omo_learner *learner);

#ifdef __cplusplus
}
#endif

#endif
