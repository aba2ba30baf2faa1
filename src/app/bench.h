/** Clips of a hinged board, whose angles were set by a protractor, against what is
 *  measured of them. */
#ifndef OMO_APP_BENCH_H
#define OMO_APP_BENCH_H

#include <stdbool.h>

#include "app/options.h"

/**
 * Reads the form (columns set_deg, yaw_deg, clip; clips lie beside it), measures each
 * clip as `trace` does, and prints both differences: of the picture's angle from what a
 * turned board has to show there, and of the corrected angle from the one that was set.
 * Returns the exit code: 1 when the form or a clip could not be used.
 */
int omo_bench_check(const struct omo_option_words *words, const char *form, bool json);

#endif
