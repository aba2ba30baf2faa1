/** The one clock of the library: monotonic, and replaceable so that tests run faster. */
#ifndef OMOGON_CLOCK_H
#define OMOGON_CLOCK_H

#include <stdint.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Nanoseconds since some fixed moment; never goes back. Any thread. */
OMO_API int64_t omo_clock_ns(void);

/** Replaces the clock of the whole process; NULL restores the system's. Set it before
 *  other threads start. */
typedef int64_t (*omo_clock_source)(void *user);
/** `user` is handed to `source` at every call. */
OMO_API void omo_clock_set_source(omo_clock_source source, void *user);

/** Lets the system's clock run this many times faster than life, from now on; above 0,
 *  else nothing happens. Set it before other threads start. */
OMO_API void omo_clock_set_rate(double rate);
/** As it was set; 1 at first. For who waits by other means than the function below. */
OMO_API double omo_clock_rate(void);

/** Sleeps until the clock has reached this moment; at once when it has passed.
 * Interrupted by nothing. */
OMO_API void omo_clock_sleep_until(int64_t moment_ns);

#ifdef __cplusplus
}
#endif

#endif
