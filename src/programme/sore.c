/* How sore a day is, and when pain ends a step. */
#include <math.h>
#include <stddef.h>

#include "omogon/care.h"

static const char *const sore_names[] = {
    [OMO_SORE_CALM] = "calm", [OMO_SORE_MIDDLE] = "middle", [OMO_SORE_SORE] = "sore"};

const char *omo_sore_name(enum omo_sore sore)
{
    return (unsigned)sore <= OMO_SORE_SORE ? sore_names[sore] : NULL;
}

/** Something between two whole numbers is the larger; what is no answer is the worst. */
static double careful_pain(double pain)
{
    return pain >= 0.0 ? ceil(pain) : HUGE_VAL;
}

enum omo_sore omo_sore_of(const struct omo_care *care,
                          const struct omo_soreness *soreness)
{
    double pain = fmax(careful_pain(soreness->now), careful_pain(soreness->worst_24h));
    if (pain >= care->sore_from || soreness->constant != 0 || soreness->before_end != 0)
        return OMO_SORE_SORE;
    /* A night woken is pain at rest, which no calm day has. */
    if (pain >= care->middle_from || soreness->woken != 0)
        return OMO_SORE_MIDDLE;
    return OMO_SORE_CALM;
}

bool omo_pain_ends(const struct omo_care *care, double limit, double start, double now)
{
    if (isnan(limit))
        limit = care->pain_limit;
    /* Somebody who cannot say how much it hurts stops. */
    if (isnan(now) || now >= limit)
        return true;
    return !isnan(start) && now - start >= care->pain_rise;
}
