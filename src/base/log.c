#include "omogon/log.h"

#include <pthread.h>
#include <stdarg.h>
#include <stdio.h>

static pthread_mutex_t handler_lock = PTHREAD_MUTEX_INITIALIZER;
static omo_log_handler current_handler; /* under handler_lock */
static void *current_user;              /* under handler_lock */

static void write_to_stderr(enum omo_log_level level, const char *text)
{
    const char *prefix = level == OMO_LOG_INFO      ? ""
                         : level == OMO_LOG_WARNING ? "omogon: warning: "
                                                    : "omogon: ";

    /* One call, so that lines of two threads do not mix. */
    fprintf(stderr, "%s%s\n", prefix, text);
}

void omo_log_set_handler(omo_log_handler handler, void *user)
{
    pthread_mutex_lock(&handler_lock);
    current_handler = handler;
    current_user = user;
    pthread_mutex_unlock(&handler_lock);
}

static void OMO_PRINTF(2, 0)
    say(enum omo_log_level level, const char *format, va_list arguments)
{
    char text[1024];
    omo_log_handler handler;
    void *user;

    vsnprintf(text, sizeof text, format, arguments);
    /* A file name may hold a line end or an escape code; a message stays one plain line.
     */
    for (char *c = text; *c != '\0'; c++)
        if ((unsigned char)*c < ' ' || *c == 127)
            *c = '?';
    pthread_mutex_lock(&handler_lock);
    handler = current_handler;
    user = current_user;
    pthread_mutex_unlock(&handler_lock);
    if (handler != NULL)
        handler(level, text, user);
    else
        write_to_stderr(level, text);
}

void omo_error(const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    say(OMO_LOG_ERROR, format, arguments);
    va_end(arguments);
}

void omo_warning(const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    say(OMO_LOG_WARNING, format, arguments);
    va_end(arguments);
}

void omo_info(const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    say(OMO_LOG_INFO, format, arguments);
    va_end(arguments);
}
