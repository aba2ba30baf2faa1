/**
 * Where the markers go: a drawn body with bony points and stickers, and the order in
 * which a person alone with one stiff arm puts them on.
 *
 * The drawing takes its proportions from models/body.ini. It has no face.
 */
#ifndef OMOGON_PLACEMENT_H
#define OMOGON_PLACEMENT_H

#include <stdbool.h>
#include <stdint.h>

#include "omogon/body.h"
#include "omogon/draw.h"
#include "omogon/geometry.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What is drawn. Zero-initialise. */
struct omo_placement_settings {
    enum omo_view view;
    bool from_behind;   /**< front view seen from the back */
    enum omo_side side; /**< the person's own measured side: in the front view a right arm
                             is at picture left, in the other views a right side faces
                             picture right */
    bool modest;        /**< long loose garment and head scarf */
    double width, height; /**< px */
    double text_size;     /**< px; 0: from the height */
    bool no_bony_names;   /**< for small pictures */
    bool bands;           /**< bands on the arm; the trunk keeps stickers */
    bool acromion;        /**< with a sticker on the acromion, for the shoulder's rise */
    uint32_t colour[OMO_ROLE_COUNT]; /**< 0xffRRGGBB of each sticker; 0: white */
};

/** Bony points to feel for. */
enum omo_bony {
    OMO_BONY_ACROMION,   /**< outer edge of the shoulder's roof */
    OMO_BONY_EPICONDYLE, /**< outer bump of the elbow */
    OMO_BONY_OLECRANON,  /**< point of the elbow */
    OMO_BONY_STYLOID,    /**< bump of the wrist: little-finger side along the arm, else
                              thumb side */
    OMO_BONY_HIP_BONE,   /**< its front from the front, its edge from the side, the
                              dimple from behind */
    OMO_BONY_NOTCH,      /**< top of the breastbone */
    OMO_BONY_SIDE_LINE,  /**< side line at mid-chest */
    OMO_BONY_NECK,       /**< the bump at the root of the neck, from behind */
    OMO_BONY_COUNT
};
OMO_API const char *omo_bony_name(enum omo_bony bony); /**< translated */

/** Where things are in the picture, px. */
struct omo_placement_map {
    bool shown[OMO_ROLE_COUNT];
    struct omo_point marker[OMO_ROLE_COUNT];
    double ring_radius;
    bool bony_shown[OMO_BONY_COUNT];
    struct omo_point bony[OMO_BONY_COUNT];
    double px_per_stature;
};

/** The letter on a sticker: the same in every language, so that a printed sheet and a
 *  window always agree. */
OMO_API const char *omo_placement_letter(enum omo_role role);

/** In words where the marker goes in this view; translated. "" where it is not worn. */
OMO_API const char *omo_placement_place(const struct omo_placement_settings *settings,
                                        enum omo_role role);

/** Makes the figure; destroy it. `map` may be NULL. OMO_ERR_ARG for an empty picture;
 *  OMO_ERR_OPEN, OMO_ERR_SETTINGS with a sentence when models/body.ini cannot be read. */
OMO_API OMO_MUST_CHECK enum omo_status omo_placement_figure(
    const struct omo_placement_settings *settings, struct omo_figure **figure,
    struct omo_placement_map *map);

/* ---- the order ---- */

/** Steps, at most. */
#define OMO_PLACEMENT_STEPS 8

/** One step. No step asks a stiff arm to do more than rest. */
struct omo_placement_step {
    bool has_role;
    enum omo_role role;
    enum omo_side hand;  /**< the hand that holds the sticker */
    enum omo_side moves; /**< the arm that is moved */
    bool across;         /**< the moved arm reaches over the middle of the body */
    bool helper;         /**< a second person does it */
    const char *words;   /**< translated, at most 20 words */
};

/**
 * The steps for a person alone one of whose arms is stiff: `stiff` tells whether that is
 * the measured side or the other one. Only the settings' view, from_behind and side
 * count. Returns their number.
 */
OMO_API int omo_placement_steps(const struct omo_placement_settings *settings, bool stiff,
                                struct omo_placement_step step[OMO_PLACEMENT_STEPS]);

/** What to know before anything touches the skin; translated; NULL past the end. */
OMO_API const char *omo_placement_caution(int index);

#ifdef __cplusplus
}
#endif

#endif
