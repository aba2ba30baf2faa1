/** Looks for a board, or something else, in pictures: of files, or of the camera while
 * somebody holds it. */
#ifndef OMO_APP_LENS_BOARD_H
#define OMO_APP_LENS_BOARD_H

#include <stdbool.h>

#include "app/feed.h"
#include "bridge/lens.h"
#include "omogon/picture.h"
#include "omogon/status.h"

/** How the looking goes; filled while it goes on. */
struct omo_board_look {
    const struct omo_bridge_lens_ops *ops;
    struct omo_bridge_board board;
    int width, height; /**< upright pictures; 0 before the first */
    int looked, found; /**< pictures looked at, and with the board in them */
    char camera[64];   /**< what the camera calls itself, once it is open; "" for files */

    /** The board is there and holds still: x and y of its corners in the upright picture.
     *  False ends the looking. */
    bool (*seen)(const double *corners, void *user);
    /** Looks at the pictures instead, for something that is no board (`ops`, `board` and
     *  `seen` are then not used). False ends the looking for want of memory. May be NULL.
     */
    bool (*picture)(const struct omo_frame *frame, void *user);
    /** Now and then, with the share of the files or of the time that is done; false ends
     *  the looking. May be NULL. */
    bool (*idle)(double done_ratio, void *user);
    void *user;

    double before[2 * OMO_BRIDGE_CORNERS_MOST]; /**< where it was one picture ago */
    bool found_before;
};

/** Pictures and clips. OMO_ERR_FORMAT with a sentence when their sizes differ; faults of
 * a file are said where they are found. */
OMO_MUST_CHECK enum omo_status omo_board_in_files(struct omo_board_look *look,
                                                  char **files);
/** The camera, for at most so many seconds. A sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_board_in_camera(struct omo_board_look *look,
                                                   const struct omo_camera_wish *wish,
                                                   double seconds);

#endif
