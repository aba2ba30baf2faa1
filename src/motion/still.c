#include "motion/still.h"

#include <math.h>
#include <stdlib.h>

#define ROOM_AT_FIRST    1024
#define TIME_TOLERANCE_S 1e-6 /* time stamps have six decimals */

void omo_still_init(struct omo_still *still, double reach_s)
{
    *still = (struct omo_still){.reach_s = reach_s, .broken = true};
}

void omo_still_finish(struct omo_still *still)
{
    free(still->ring);
    still->ring = NULL;
}

void omo_still_clear(struct omo_still *still)
{
    still->first = still->count = 0;
    still->broken = true;
}

void omo_still_break(struct omo_still *still)
{
    still->broken = true;
}

static struct omo_still_sample *at(const struct omo_still *still, size_t i)
{
    return &still->ring[(still->first + i) % still->room];
}

static enum omo_status widen(struct omo_still *still)
{
    size_t room = still->room > 0 ? 2 * still->room : ROOM_AT_FIRST;
    struct omo_still_sample *ring = calloc(room, sizeof *ring);
    if (ring == NULL)
        return OMO_ERR_MEMORY;
    for (size_t i = 0; i < still->count; i++)
        ring[i] = *at(still, i);
    free(still->ring);
    still->ring = ring;
    still->room = room;
    still->first = 0;
    return OMO_OK;
}

enum omo_status omo_still_push(struct omo_still *still, int64_t number, double time_s,
                               double value)
{
    if (still->broken)
        still->first = still->count = 0;
    /* One sample beyond the reach stays, so that a stretch can be as long as the reach.
     */
    while (still->count > 1 && time_s - at(still, 1)->time_s >= still->reach_s) {
        still->first = (still->first + 1) % still->room;
        still->count--;
    }
    if (still->count == still->room && widen(still) != OMO_OK)
        return OMO_ERR_MEMORY;
    still->count++;
    *at(still, still->count - 1) =
        (struct omo_still_sample){.number = number, .time_s = time_s, .value = value};
    still->broken = false;
    return OMO_OK;
}

struct omo_still_stretch omo_still_stretch(const struct omo_still *still, double spread,
                                           double for_s, int64_t from)
{
    struct omo_still_stretch stretch = {.low = NAN, .high = NAN};
    if (still->count == 0 || still->broken)
        return stretch;
    const struct omo_still_sample *last = at(still, still->count - 1);
    stretch.number = last->number;
    stretch.low = stretch.high = last->value;
    for (size_t i = still->count - 1; i > 0; i--) {
        const struct omo_still_sample *one = at(still, i - 1);
        double low = fmin(stretch.low, one->value), high = fmax(stretch.high, one->value);
        if (one->number < from || high - low >= spread)
            break;
        stretch.for_s = last->time_s - one->time_s;
        stretch.number = one->number;
        stretch.low = low;
        stretch.high = high;
        if (stretch.for_s >= for_s - TIME_TOLERANCE_S)
            break;
    }
    return stretch;
}
