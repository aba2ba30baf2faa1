/* The movements of the short set. tests/test_short_set_order.c tries every other order.
 */
#include "app/short_set.h"

void omo_short_set_order(enum omo_side better,
                         struct omo_short_set_item items[OMO_SHORT_SET_ITEMS])
{
    const enum omo_side sides[] = {better, better == OMO_LEFT ? OMO_RIGHT : OMO_LEFT};
    int n = 0;
    for (int i = 0; i < 2; i++)
        items[n++] = (struct omo_short_set_item){"abduction", sides[i], OMO_SET_FRONT};
    for (int i = 0; i < 2; i++)
        items[n++] =
            (struct omo_short_set_item){"flexion", sides[i],
                                        sides[i] == OMO_LEFT ? OMO_SET_LEFT_SIDE
                                                             : OMO_SET_RIGHT_SIDE};
    for (int i = 0; i < 2; i++) {
        enum omo_short_set_place place =
            sides[i] == OMO_LEFT ? OMO_SET_LYING_LEFT : OMO_SET_LYING_RIGHT;
        items[n++] = (struct omo_short_set_item){"external-rotation", sides[i], place};
        items[n++] = (struct omo_short_set_item){"internal-rotation", sides[i], place};
    }
}
