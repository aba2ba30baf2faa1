/** For the sources themselves: back from the interface to what is behind it. */
#ifndef OMO_SOURCE_SELF_H
#define OMO_SOURCE_SELF_H

#include "omogon/source.h"

/** The `self` that was wrapped with these very `ops`; NULL for a source of another kind.
 */
void *omo_source_self(const struct omo_source *source, const struct omo_source_ops *ops);

#endif
