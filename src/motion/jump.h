/** What tells a knocked camera from a body that moves: for a whole take and live. */
#ifndef OMO_MOTION_JUMP_H
#define OMO_MOTION_JUMP_H

#include "omogon/body.h"

/* Two markers of the trunk jump together out of a standstill, within two frames or so,
 * and soon stand still elsewhere; in between the camera may ring. A body cannot: out of
 * rest over a distance d in a time t it takes an acceleration of at least 2 d / t^2, for
 * 30 mm in 0.07 s more than gravity's. The limits are our choice. */
#define JUMP_S            0.05
#define SETTLE_S          0.7
#define STILL_S           0.3
#define JUMP_PX_MIN       4.0
#define JUMP_ARM_SHARE    0.10 /* of the upper arm: 30 mm on 300 */
#define JUMP_APART_SHARE  0.35 /* a camera also turns */
#define STILL_BEFORE      0.15 /* share of the jump */
#define STILL_AFTER       0.25
#define STILL_SAMPLES_MIN 3
/* Without a full arm in view the jump is judged against this length. */
#define ARM_PX_UNKNOWN 100.0

/** The two markers that show the camera's moves. */
struct anchors {
    enum omo_role a, b;
};

#endif
