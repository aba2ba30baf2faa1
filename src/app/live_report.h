/** What a live run came to, for people and for programs. */
#ifndef OMO_APP_LIVE_REPORT_H
#define OMO_APP_LIVE_REPORT_H

#include <stdbool.h>

#include "app/measuring.h"

/** Rows on standard output (text or JSON); pictures, ages and processor time on standard
 *  output too, or on standard error with JSON. `budget`: with what the figures are good
 *  to. */
void omo_live_report(const struct omo_measuring *m, bool json, bool budget);

#endif
