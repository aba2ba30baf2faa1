#include "omogon/notation.h"

#include <math.h>

#include "omogon/text.h"

/* "At 90" is only said when 80 to 100 was measured; elsewhere the name of a position is
   never nearer to 90 than it was. */
#define RIGHT_LOW_DEG  80
#define RIGHT_HIGH_DEG 100

bool omo_neutral_zero(double away_deg, double toward_deg, char *out, size_t size)
{
    out[0] = '\0';
    if (!isfinite(away_deg) || !isfinite(toward_deg))
        return false;
    long away = lround(away_deg), toward = lround(toward_deg);
    if (away + toward < 0) /* its ends would have passed each other */
        return false;
    if (away == -toward && away != 0) {
        /* Fixed: how far, on its side. */
        if (away > 0)
            omo_text_add(out, size, "%ld-0", away);
        else
            omo_text_add(out, size, "0-%ld", toward);
    } else if (away < 0) {
        omo_text_add(out, size, "0-%ld-%ld", -away, toward);
    } else if (toward < 0) {
        omo_text_add(out, size, "%ld-%ld-0", away, -toward);
    } else {
        omo_text_add(out, size, "%ld-0-%ld", away, toward);
    }
    return true;
}

/** "F0", "F45", "F90". */
static long position_of(double at_abduction_deg)
{
    if (!isfinite(at_abduction_deg))
        return 0;
    if (at_abduction_deg >= RIGHT_LOW_DEG && at_abduction_deg <= RIGHT_HIGH_DEG)
        return 90;
    return 5 * lround(at_abduction_deg / 5);
}

bool omo_sftr(enum omo_pair pair, double away_deg, double toward_deg,
              double at_abduction_deg, char *out, size_t size)
{
    char range[48];
    out[0] = '\0';
    if (!omo_neutral_zero(away_deg, toward_deg, range, sizeof range))
        return false;
    switch (pair) {
    case OMO_PAIR_EXTENSION_FLEXION:
        omo_text_add(out, size, "S: %s", range);
        return true;
    case OMO_PAIR_ABDUCTION_ADDUCTION:
        omo_text_add(out, size, "F: %s", range);
        return true;
    case OMO_PAIR_EXTERNAL_INTERNAL_ROTATION:
        omo_text_add(out, size, "R(F%ld): %s", position_of(at_abduction_deg), range);
        return true;
    case OMO_PAIR_COUNT:
        break;
    }
    return false;
}
