/** The page after a measurement: what was saved, in figures and words. */
#ifndef OMO_APP_RESULT_PAGE_H
#define OMO_APP_RESULT_PAGE_H

#include <stdbool.h>

#include "app/measuring.h"

enum omo_after { OMO_AFTER_AGAIN, OMO_AFTER_DONE, OMO_AFTER_LEAVE };

/** Shows the movements of a run. Goes on by itself (DONE) after stay_s without an input;
 *  INFINITY: never. */
enum omo_after omo_result_page(struct omo_screen *screen, const struct omo_measuring *m,
                               double stay_s);

/** A page with one question: the chosen item, or -1 for back, -2 for leaving the window.
 */
int omo_ask_page(struct omo_screen *screen, struct omo_list_page *page, double stay_s);

#endif
