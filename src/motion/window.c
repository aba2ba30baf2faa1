#include <stdlib.h>
#include <string.h>

#include "motion/take.h"

/* Each list keeps the indices that can still become the extreme: a value that is passed
 * by a later one never will. So every index enters and leaves once. */

enum omo_status omo_window_init(struct omo_window *window, const double *value,
                                size_t count)
{
    *window = (struct omo_window){.value = value};
    window->low = calloc(2 * count + 1, sizeof *window->low);
    if (window->low == NULL)
        return OMO_ERR_MEMORY;
    window->high = window->low + count;
    return OMO_OK;
}

enum omo_status omo_window_grow(struct omo_window *window, const double *value,
                                size_t old_count, size_t count)
{
    size_t *low = calloc(2 * count + 1, sizeof *low);
    if (low == NULL)
        return OMO_ERR_MEMORY;
    if (window->low != NULL) {
        memcpy(low, window->low, old_count * sizeof *low);
        memcpy(low + count, window->high, old_count * sizeof *low);
    }
    free(window->low);
    window->value = value;
    window->low = low;
    window->high = low + count;
    return OMO_OK;
}

void omo_window_finish(struct omo_window *window)
{
    free(window->low);
    window->low = window->high = NULL;
}

void omo_window_clear(struct omo_window *window)
{
    window->low_from = window->low_to = window->high_from = window->high_to = 0;
}

void omo_window_push(struct omo_window *window, size_t index)
{
    const double *value = window->value;
    while (window->low_to > window->low_from &&
           value[window->low[window->low_to - 1]] > value[index])
        window->low_to--;
    window->low[window->low_to++] = index;
    while (window->high_to > window->high_from &&
           value[window->high[window->high_to - 1]] < value[index])
        window->high_to--;
    window->high[window->high_to++] = index;
}

void omo_window_drop(struct omo_window *window, size_t index)
{
    while (window->low_to > window->low_from && window->low[window->low_from] < index)
        window->low_from++;
    while (window->high_to > window->high_from && window->high[window->high_from] < index)
        window->high_from++;
}

double omo_window_low(const struct omo_window *window)
{
    return window->value[window->low[window->low_from]];
}

double omo_window_high(const struct omo_window *window)
{
    return window->value[window->high[window->high_from]];
}
