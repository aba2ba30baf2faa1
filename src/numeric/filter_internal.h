/** What the numeric folder's files share. */
#ifndef OMO_NUMERIC_FILTER_INTERNAL_H
#define OMO_NUMERIC_FILTER_INTERNAL_H

#include "omogon/filter.h"

/** Samples reflected at each end by omo_filter_zero_lag(); below `count`. */
size_t omo_filter_pad(const struct omo_lowpass *filter, size_t count);

#endif
