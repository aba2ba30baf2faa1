/** Counts heap allocations of the process by who asked for them. */
#ifndef OMOGON_BENCH_ALLOCATION_COUNT_H
#define OMOGON_BENCH_ALLOCATION_COUNT_H

#include <stdbool.h>
#include <stdint.h>

struct allocation_count {
    int64_t own;    /**< called from this executable's code */
    int64_t jpeg;   /**< from libjpeg */
    int64_t others; /**< from any other library, on whoever's behalf */
};

/** False under a sanitizer, which has its own allocator: nothing is counted then. */
bool allocation_count_works(void);
void allocation_count_start(void);
struct allocation_count allocation_count_stop(void);

#endif
