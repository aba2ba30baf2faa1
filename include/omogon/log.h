/** Messages for people: one line each, to standard error unless a handler is set. */
#ifndef OMOGON_LOG_H
#define OMOGON_LOG_H

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** How grave a message is. */
enum omo_log_level { OMO_LOG_ERROR, OMO_LOG_WARNING, OMO_LOG_INFO };

/** Gets one finished sentence without a line end. May be called from any thread. */
typedef void (*omo_log_handler)(enum omo_log_level level, const char *text, void *user);

/** Replaces the handler of the whole process; NULL restores standard error. */
OMO_API void omo_log_set_handler(omo_log_handler handler, void *user);

/**
 * Whoever detects a fault says it once, as one sentence: what, where, what to do.
 * Whoever passes the status on stays silent. Never a person's code, note or angle.
 */
OMO_API void omo_error(const char *format, ...) OMO_PRINTF(1, 2);
/** What went on all the same, and what it costs. */
OMO_API void omo_warning(const char *format, ...) OMO_PRINTF(1, 2);
/** What is good to know. */
OMO_API void omo_info(const char *format, ...) OMO_PRINTF(1, 2);

#ifdef __cplusplus
}
#endif

#endif
