#include "omogon/clock.h"

#include <stddef.h>
#include <time.h>

static omo_clock_source current_source;
static void *current_user;

int64_t omo_clock_ns(void)
{
    struct timespec now;

    if (current_source != NULL)
        return current_source(current_user);
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

void omo_clock_set_source(omo_clock_source source, void *user)
{
    current_source = source;
    current_user = user;
}
