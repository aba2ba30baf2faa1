#include "app/pace.h"

#include <math.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

/* What a run costs is told in life's seconds, however fast the project's clock runs. */
static int64_t system_ns(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

static double cpu_s(void)
{
    struct rusage use;
    getrusage(RUSAGE_SELF, &use);
    return (double)(use.ru_utime.tv_sec + use.ru_stime.tv_sec) +
           (double)(use.ru_utime.tv_usec + use.ru_stime.tv_usec) / 1e6;
}

static int64_t process_began_ns;

void omo_pace_process_begins(void)
{
    process_began_ns = system_ns();
}

void omo_pace_first(struct omo_pace *pace, enum omo_pace_mark mark)
{
    if (pace->first_s[mark] <= 0)
        pace->first_s[mark] = (double)(system_ns() - process_began_ns) / 1e9;
}

void omo_pace_begin(struct omo_pace *pace)
{
    memset(pace, 0, sizeof *pace);
    pace->begun_ns = system_ns();
    pace->begun_cpu_s = cpu_s();
}

void omo_pace_add(struct omo_pace *pace, int64_t age_ns)
{
    int64_t age_ms = age_ns < 0 ? 0 : (age_ns + 500000) / 1000000;
    pace->bin[age_ms < OMO_PACE_BINS ? age_ms : OMO_PACE_BINS - 1]++;
    pace->shown++;
}

double omo_pace_age_ms(const struct omo_pace *pace, double share)
{
    int64_t below = 0;
    for (int i = 0; i < OMO_PACE_BINS; i++) {
        below += pace->bin[i];
        if (below > 0 && (double)below >= share * (double)pace->shown)
            return i;
    }
    return NAN;
}

double omo_pace_spent_s(const struct omo_pace *pace)
{
    return (double)(system_ns() - pace->begun_ns) / 1e9;
}

double omo_pace_cpu_ratio(const struct omo_pace *pace)
{
    double spent_s = omo_pace_spent_s(pace);
    return spent_s > 0 ? (cpu_s() - pace->begun_cpu_s) / spent_s : 0;
}
