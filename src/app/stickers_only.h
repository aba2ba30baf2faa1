/** Positions of named stickers with no body behind them. */
#ifndef OMO_APP_STICKERS_ONLY_H
#define OMO_APP_STICKERS_ONLY_H

#include <glib.h>

#include "app/options.h"

/** Writes "<clip>.stickers.csv" for each path; returns the exit code. */
int omo_trace_stickers(const struct omo_option_words *words, const struct omo_plan *plan,
                       GPtrArray *paths);

#endif
