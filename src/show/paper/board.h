/** The board to calibrate a lens with: a chessboard in true size on one page. */
#ifndef OMO_SHOW_PAPER_BOARD_H
#define OMO_SHOW_PAPER_BOARD_H

#include <glib.h>
#include <stdbool.h>

#include "omogon/status.h"

/* Places where four squares meet; one odd and one even, so that a board turned by half a
 * turn looks different. */
#define OMO_BOARD_COLUMNS   9
#define OMO_BOARD_ROWS      6
#define OMO_BOARD_SQUARE_MM 22

/** A PDF, A4 or US letter, lying. The same call gives the same bytes with the same
 *  libraries. One sentence on failure; *bytes is the caller's. */
OMO_MUST_CHECK enum omo_status omo_board_pdf(bool us_letter, GByteArray **bytes);

#endif
