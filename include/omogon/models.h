/** Where the data files of models/ are found at run time. */
#ifndef OMOGON_MODELS_H
#define OMOGON_MODELS_H

#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/**
 * Full path of a file below models/: the folder named by OMOGON_MODELS if set, else the
 * installed one, else the source tree the program was built from.
 * OMO_ERR_OPEN (silent, out untouched) when none of them has it.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_models_path(const char *relative, char *out,
                                                       size_t size);

#ifdef __cplusplus
}
#endif

#endif
