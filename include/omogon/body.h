/** The words every floor shares about a body: marker roles, sides, views, positions. */
#ifndef OMOGON_BODY_H
#define OMOGON_BODY_H

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What a marker stands for. */
enum omo_role {
    OMO_SHOULDER,
    OMO_ELBOW,
    OMO_WRIST,
    OMO_HIP,
    OMO_CHEST,
    OMO_ACROMION, /**< above the shoulder's, for hike alone; few wear one */
    OMO_ROLE_COUNT
};
/** "shoulder", "elbow", ...; NULL out of range. */
OMO_API const char *omo_role_name(enum omo_role role);
/** Role of a name, or OMO_ROLE_COUNT. */
OMO_API enum omo_role omo_role_from_name(const char *name);

/** How a marker's place is known. */
enum omo_seen { OMO_NOT_SEEN = 0, OMO_SEEN = 1, OMO_PLACED_BY_HAND = 2 };

/** One marker in one frame, upright coordinates. Values are NAN when not seen. */
struct omo_marker {
    enum omo_seen seen;
    double x_px, y_px;
    double diameter_px; /**< of a disc (area-equivalent); of a band its width along the
                           limb */
    double sigma_px;    /**< standard uncertainty of the centre, per axis */
};

/** All markers of one frame. */
struct omo_markers {
    struct omo_marker role[OMO_ROLE_COUNT];
};

/** The person's own. */
enum omo_side { OMO_LEFT, OMO_RIGHT };
/** From where the camera looks. */
enum omo_view {
    OMO_VIEW_FRONT,     /**< camera before (or behind) the person */
    OMO_VIEW_SIDE,      /**< measured side turned to the camera */
    OMO_VIEW_ALONG_ARM, /**< camera looks along the upper arm: rotations */
};
/** How the person is placed. */
enum omo_position {
    OMO_STANDING,
    OMO_SEATED,
    OMO_SUPINE,
    OMO_SIDE_LYING,
    OMO_PRONE,
    OMO_POSITION_COUNT
};
/** "standing", "seated", "supine", "side-lying", "prone". */
OMO_API const char *omo_position_name(enum omo_position position);
OMO_API enum omo_position omo_position_from_name(const char *name); /**< COUNT: unknown */
OMO_API const char *omo_side_name(enum omo_side side); /**< "left", "right" */
OMO_API const char *omo_view_name(
    enum omo_view view); /**< "front", "side", "along-arm" */

#ifdef __cplusplus
}
#endif

#endif
