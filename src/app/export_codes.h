/** Codes for what is exported. */
#ifndef OMO_APP_EXPORT_CODES_H
#define OMO_APP_EXPORT_CODES_H

#include "omogon/record.h"

/** LOINC's code and name of what a session measured; both stay as they are where none was
 *  read word for word. Constant texts. */
void omo_export_loinc(const struct omo_session_row *row, const char **code,
                      const char **display);

#endif
