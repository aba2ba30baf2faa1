#include "omogon/clock.h"

#include <stddef.h>
#include <time.h>

/* A nap is short enough for a replaced clock, whose pace is not known. */
#define NAP_NS     1000000
#define NAP_MOST_S 1

static omo_clock_source current_source;
static void *current_user;
static double rate = 1;
static int64_t rate_from_ns; /* system's clock when the rate was set */
static int64_t rate_base_ns; /* this clock at that moment */

static int64_t system_ns(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

int64_t omo_clock_ns(void)
{
    if (current_source != NULL)
        return current_source(current_user);
    /* At the pace of life the digits stay the system's own. */
    int64_t passed_ns = system_ns() - rate_from_ns;
    return rate_base_ns + (rate == 1 ? passed_ns : (int64_t)((double)passed_ns * rate));
}

void omo_clock_set_source(omo_clock_source source, void *user)
{
    current_source = source;
    current_user = user;
}

void omo_clock_set_rate(double faster)
{
    if (!(faster > 0))
        return;
    rate_base_ns = omo_clock_ns();
    rate_from_ns = system_ns();
    rate = faster;
}

double omo_clock_rate(void)
{
    return rate;
}

void omo_clock_sleep_until(int64_t moment_ns)
{
    for (;;) {
        int64_t left_ns = moment_ns - omo_clock_ns();
        if (left_ns <= 0)
            return;
        double nap_ns = current_source ? NAP_NS : (double)left_ns / rate;
        if (nap_ns > NAP_MOST_S * 1e9)
            nap_ns = NAP_MOST_S * 1e9;
        struct timespec nap = {.tv_sec = (time_t)(nap_ns / 1e9)};
        nap.tv_nsec = (long)(nap_ns - (double)nap.tv_sec * 1e9) + 1;
        if (nap.tv_nsec > 999999999)
            nap.tv_nsec = 999999999;
        nanosleep(&nap, NULL);
    }
}
