/** The trade's short forms of a range: the Neutral Zero Method's and SFTR's. */
#ifndef OMOGON_NOTATION_H
#define OMOGON_NOTATION_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** The two ends of a pair of movements. A direction whose neutral cannot be reached is
 *  negative: external rotation that stops at 15 degrees of internal rotation is -15. */
enum omo_pair {
    OMO_PAIR_EXTENSION_FLEXION,
    OMO_PAIR_ABDUCTION_ADDUCTION,
    OMO_PAIR_EXTERNAL_INTERNAL_ROTATION,
    OMO_PAIR_COUNT
};

/**
 * "45-0-170": away from the body, neutral, toward it; the zero moves to the side that
 * cannot be reached ("0-15-70"). A range of nothing has two numbers (SFTR's form for a
 * fixed joint). Whole degrees, halves away from zero. False, and "", when either end has
 * no value or both cannot be. Neutral Zero Method as in handbooks; examples in the tests
 * name theirs.
 */
OMO_API bool omo_neutral_zero(double away_deg, double toward_deg, char *out, size_t size);
/**
 * The same with plane and position: "S: 45-0-170", "F: 180-0-40", "R(F90): 70-0-70".
 * `at_abduction_deg` is for rotations: where the arm was held, F0 without a value. A
 * position is "F90" only within 80 to 100 degrees, else the nearest five degrees.
 */
OMO_API bool omo_sftr(enum omo_pair pair, double away_deg, double toward_deg,
                      double at_abduction_deg, char *out, size_t size);

#ifdef __cplusplus
}
#endif

#endif
