/* Today's mark: where the arm has come to in comfort lately. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/text.h"
#include "omogon/words.h"
#include "programme/care_parts.h"

#define SESSIONS_MOST 16

void omo_why(char *why, size_t size, const char *format, ...)
{
    char whole[1024];
    va_list rest;
    if (why == NULL || size == 0)
        return;
    va_start(rest, format);
    vsnprintf(whole, sizeof whole, format, rest);
    va_end(rest);
    omo_text_copy(why, size, whole);
}

static int by_size(const void *a, const void *b)
{
    double first = *(const double *)a, second = *(const double *)b;
    return (first > second) - (first < second);
}

double omo_median_of(double *values, int count)
{
    if (count < 1)
        return NAN;
    qsort(values, (size_t)count, sizeof *values, by_size);
    return 0.5 * (values[(count - 1) / 2] + values[count / 2]);
}

static bool counts(const struct omo_past *past, const char *movement, const char *side,
                   const char *mode)
{
    return past->comfortable && past->sore != OMO_SORE_SORE &&
           isfinite(past->mean_of_maxima_deg) && strcmp(past->movement, movement) == 0 &&
           strcmp(past->side, side) == 0 && strcmp(past->mode, mode) == 0;
}

double omo_comfortable_median(const struct omo_care *care,
                              const struct omo_person_state *person, const char *movement,
                              const char *side, const char *mode, int *count)
{
    double means[SESSIONS_MOST];
    int most = care->mark_sessions < SESSIONS_MOST ? care->mark_sessions : SESSIONS_MOST;
    *count = 0;
    for (size_t i = 0; i < person->past_count && *count < most; i++) {
        if (counts(&person->past[i], movement, side, mode))
            means[(*count)++] = person->past[i].mean_of_maxima_deg;
    }
    if (*count < care->mark_least)
        return NAN;
    return omo_median_of(means, *count);
}

/** The practitioner's own mark for this movement and side, or NAN. */
static double told_mark(const struct omo_person_state *person, const char *movement,
                        const char *side)
{
    if (strcmp(person->told_movement, movement) != 0 ||
        strcmp(person->told_side, side) != 0 || !isfinite(person->told_mark_deg))
        return NAN;
    return person->told_mark_deg;
}

double omo_mark_today(const struct omo_care *care, const struct omo_person_state *person,
                      const char *movement, const char *side, const char *mode,
                      const struct omo_soreness *soreness, double ceiling_deg, char *why,
                      size_t why_size)
{
    int count;
    double median = omo_comfortable_median(care, person, movement, side, mode, &count);
    double told = told_mark(person, movement, side);
    if (omo_sore_of(care, soreness) == OMO_SORE_SORE) {
        omo_why(why, why_size, "%s", omo_word("No mark today: it is a sore day."));
        return NAN;
    }
    if (soreness->woken != 0) {
        omo_why(why, why_size, "%s",
                omo_word("No mark today: the shoulder woke you last night."));
        return NAN;
    }
    if (isnan(median)) {
        omo_why(why, why_size,
                omo_word("No mark yet: it takes %d comfortable sessions, and there are "
                         "%d."),
                care->mark_least, count);
        return NAN;
    }
    double mark = median;
    if (!isnan(told))
        mark = person->mark_told ? told : fmin(told, median);
    if (mark > ceiling_deg) {
        omo_why(
            why, why_size,
            omo_word(
                "Today's mark is %.0f degrees: the limit that was set allows no more."),
            ceiling_deg);
        return ceiling_deg;
    }
    if (mark != median)
        omo_why(why, why_size,
                omo_word("Today's mark is %.0f degrees, as your practitioner set it."),
                mark);
    else
        omo_why(why, why_size,
                omo_word("Today's mark is %.0f degrees, the middle of your last %d "
                         "comfortable sessions."),
                mark, count);
    return mark;
}
