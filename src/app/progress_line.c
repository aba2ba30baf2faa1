#include "app/progress_line.h"

#include <glib.h>
#include <stdbool.h>
#include <stdio.h>
#include <unistd.h>

#include "omogon/log.h"

static GMutex lock; /* guards all below */
static bool on_terminal, drawn;
static gint64 started_us, drawn_us;

static void erase(void)
{
    if (drawn)
        fputs("\r\033[K", stderr);
    drawn = false;
}

static void message(enum omo_log_level level, const char *text, void *user)
{
    (void)user;
    static const char *const prefix[] = {"omogon: ", "omogon: warning: ", ""};
    g_mutex_lock(&lock);
    erase();
    fprintf(stderr, "%s%s\n", prefix[level], text);
    g_mutex_unlock(&lock);
}

void omo_progress_begin(void)
{
    on_terminal = isatty(STDERR_FILENO) == 1;
    started_us = g_get_monotonic_time();
    drawn_us = 0;
    omo_log_set_handler(message, NULL);
}

void omo_progress_show(double done_ratio, const char *what)
{
    gint64 now_us = g_get_monotonic_time();
    g_mutex_lock(&lock);
    if (on_terminal && now_us - drawn_us >= 100000) {
        double spent_s = (double)(now_us - started_us) / 1e6;
        erase();
        fprintf(stderr, "%s: %.0f %%", what, done_ratio * 100);
        if (done_ratio > 0.02 && spent_s > 1)
            fprintf(stderr, ", about %.0f s left",
                    spent_s * (1 - done_ratio) / done_ratio);
        fflush(stderr);
        drawn = true;
        drawn_us = now_us;
    }
    g_mutex_unlock(&lock);
}

void omo_progress_erase(void)
{
    g_mutex_lock(&lock);
    erase();
    fflush(stderr);
    g_mutex_unlock(&lock);
}

void omo_progress_end(void)
{
    omo_progress_erase();
    omo_log_set_handler(NULL, NULL);
}
