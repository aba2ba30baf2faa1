/** Roll and pitch of a camera, from a board that stands upright and from a plumb line.
 * Never from a person, whose lean it would swallow. */
#ifndef OMO_APP_LENS_LEVEL_H
#define OMO_APP_LENS_LEVEL_H

#include "bridge/lens.h"
#include "omogon/lens.h"

/* How well somebody sets a board upright on a table: its rows against level, its face
 * against the vertical; and hangs a string. Standard uncertainties, our choice. */
#define OMO_LENS_ROWS_U_DEG   0.3
#define OMO_LENS_FACE_U_DEG   1.0
#define OMO_LENS_STRING_U_DEG 0.2
/** Of a point that a person reads off a picture, px. Our choice. */
#define OMO_LENS_POINT_U_PX 1.0

/** Sums over the views; zero-initialise but for the first three. */
struct omo_lens_upright {
    const struct omo_bridge_lens_ops *ops;
    struct omo_bridge_board board;
    struct omo_lens lens; /**< of the pictures' size */
    int views;            /**< that count */
    int doubtful; /**< too small or too far to tell which way the board is tilted */
    int lying;    /**< the board does not stand */
    double roll_sum, pitch_sum, roll_squares, pitch_squares; /* deg */
    double roll_u_squares, pitch_u_squares;
};
void omo_lens_upright_add(struct omo_lens_upright *upright, const double *corners);
/** Puts roll and pitch into the lens; a sentence on failure: OMO_ERR_EMPTY. */
OMO_MUST_CHECK enum omo_status omo_lens_upright_finish(
    const struct omo_lens_upright *upright, struct omo_lens *lens);

/** Roll from two points of a plumb line, upper first, each known to `point_u_px`
 * (standard uncertainty, either way); the pitch stays as it is. A sentence on failure:
 * OMO_ERR_ARG.
 */
OMO_MUST_CHECK enum omo_status omo_lens_hang(struct omo_lens *lens, struct omo_point top,
                                             struct omo_point bottom, double point_u_px);

#endif
