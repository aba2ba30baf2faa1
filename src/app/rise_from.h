/** The person's own rise of the shoulder, read from a trace. */
#ifndef OMO_APP_RISE_FROM_H
#define OMO_APP_RISE_FROM_H

#include "omogon/record.h"
#include "omogon/rise.h"

/** Reads the curve from a trace file: the person's other side, or an earlier session. One
 *  sentence and the status on failure: OMO_ERR_OPEN, OMO_ERR_FORMAT for a file that is no
 *  trace, OMO_ERR_EMPTY for one without a raise and a rise. */
OMO_MUST_CHECK enum omo_status omo_rise_from(const char *path, struct omo_rise *rise);
/** Adds the curve to an id; NULL adds nothing. */
void omo_rise_identify(const struct omo_rise *rise, struct omo_id *id);

#endif
