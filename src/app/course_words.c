#include "app/course_words.h"

#include <math.h>
#include <string.h>

#include <glib.h>

#include "omogon/notation.h"
#include "omogon/text.h"
#include "omogon/words.h"

/** A figure with one decimal, with a dot under any locale. */
struct number {
    char text[40];
};

static struct number plain(double value)
{
    struct number out;
    omo_number_text(value, 1, out.text, sizeof out.text);
    return out;
}

/** "+1.2" */
static struct number signed_number(double value)
{
    struct number out = {""};
    omo_number_text(fabs(value), 1, out.text + 1, sizeof out.text - 1);
    out.text[0] = value < 0 && strcmp(out.text + 1, "0.0") != 0 ? '-' : '+';
    return out;
}

char *omo_course_trend_words(const struct omo_progress_course *course)
{
    const struct omo_trend *t = &course->trend;
    if (!course->has_trend)
        return NULL;
    return g_strdup_printf(omo_word("trend: %s degrees a month (%s to %s, 95 %%)"),
                           signed_number(t->slope * OMO_DAYS_A_MONTH).text,
                           signed_number(t->low * OMO_DAYS_A_MONTH).text,
                           signed_number(t->high * OMO_DAYS_A_MONTH).text);
}

char *omo_course_change_words(const struct omo_progress_course *course,
                              const struct omo_change_settings *settings)
{
    const struct omo_change *c = &course->change;
    struct number change = signed_number(c->change_deg), error = plain(c->error_deg);
    switch (c->state) {
    case OMO_CHANGE_FEW:
        return g_strdup_printf(omo_word("change: judged from %d sessions on"),
                               settings->baseline + settings->last);
    case OMO_CHANGE_NO_LOOK:
        return g_strdup_printf(
            omo_word("change: %s degrees so far; judged every %.0f days, not yet"),
            change.text, settings->look_days);
    case OMO_CHANGE_WITHIN:
        return g_strdup_printf(
            omo_word("change: %s degrees at the last look, within measuring error (%s)"),
            change.text, error.text);
    case OMO_CHANGE_ONCE:
        return g_strdup_printf(
            omo_word("change: %s degrees; the next session decides whether that is more "
                     "than measuring error (%s)"),
            change.text, error.text);
    case OMO_CHANGE_MORE:
        break;
    }
    return g_strdup_printf(omo_word("change: %s degrees, more than measuring error (%s) "
                                    "in two sessions running"),
                           change.text, error.text);
}

char *omo_course_error_words(const struct omo_progress_course *course,
                             const struct omo_change_settings *settings)
{
    const struct omo_change *c = &course->change;
    if (c->state == OMO_CHANGE_FEW || c->state == OMO_CHANGE_NO_LOOK)
        return NULL;
    return g_strdup_printf(omo_word("error used: %s degrees a session (own %s, shrunk "
                                    "toward the instrument's %s)"),
                           plain(c->sem_deg).text, plain(c->own_sem_deg).text,
                           plain(settings->sem_deg).text);
}

char *omo_course_other_words(const struct omo_progress *progress,
                             const struct omo_progress_course *course)
{
    const struct omo_progress_course *other = omo_progress_other_side(progress, course);
    double other_deg = other ? omo_progress_newest(other)->mean_deg : (double)NAN;
    if (!(other_deg > 0))
        return NULL;
    return g_strdup_printf(omo_word(
                               "the other side: %s degrees; this one is %.0f %% of it"),
                           plain(other_deg).text,
                           100 * omo_progress_newest(course)->mean_deg / other_deg);
}

/* ---- pairs of movements -------------------------------------------------------------
 */

static const struct {
    enum omo_pair pair;
    const char *away, *toward, *words;
} pairs[] = {
    {OMO_PAIR_EXTENSION_FLEXION, "extension", "flexion", OMO_WORD("extension/flexion")},
    {OMO_PAIR_ABDUCTION_ADDUCTION, "abduction", "adduction",
     OMO_WORD("abduction/adduction")},
    {OMO_PAIR_EXTERNAL_INTERNAL_ROTATION, "external-rotation", "internal-rotation",
     OMO_WORD("external/internal rotation")},
};

/** Newest mean of a movement, over all courses; NAN none. */
static double newest_of(const struct omo_progress *progress, const char *person,
                        const char *movement, const char *side, const char *mode,
                        double *at_abduction_deg)
{
    double day = -INFINITY, deg = NAN;
    for (size_t k = 0; k < omo_progress_count(progress); k++) {
        const struct omo_progress_session *s =
            omo_progress_newest(omo_progress_at(progress, k));
        if ((person && strcmp(s->row->person, person)) ||
            strcmp(s->row->movement, movement) || strcmp(s->row->side, side) ||
            strcmp(s->row->mode, mode) || s->day <= day)
            continue;
        day = s->day;
        deg = s->mean_deg;
        *at_abduction_deg = s->row->rotation_at_abduction_deg;
    }
    return deg;
}

static bool write_pair(const struct omo_progress *progress, size_t i, const char *person,
                       const char *side, const char *mode, char *zero, size_t zero_size,
                       char *sftr, size_t sftr_size)
{
    double at_deg = NAN, other_at_deg = NAN;
    double away = newest_of(progress, person, pairs[i].away, side, mode, &at_deg);
    double toward =
        newest_of(progress, person, pairs[i].toward, side, mode, &other_at_deg);
    return omo_neutral_zero(away, toward, zero, zero_size) &&
           omo_sftr(pairs[i].pair, away, toward, at_deg, sftr, sftr_size);
}

bool omo_course_pair(const struct omo_progress *progress,
                     const struct omo_session_row *row, char *zero, size_t zero_size,
                     char *sftr, size_t sftr_size)
{
    for (size_t i = 0; i < G_N_ELEMENTS(pairs); i++)
        if (!strcmp(row->movement, pairs[i].away) ||
            !strcmp(row->movement, pairs[i].toward))
            return write_pair(progress, i, row->person, row->side, row->mode, zero,
                              zero_size, sftr, sftr_size);
    return false;
}

char *omo_course_pairs_words(const struct omo_progress *progress, const char *person,
                             const char *side, const char *mode)
{
    g_autoptr(GString) line = g_string_new(NULL);
    for (size_t i = 0; i < G_N_ELEMENTS(pairs); i++) {
        char zero[48], sftr[64];
        if (write_pair(progress, i, person, side, mode, zero, sizeof zero, sftr,
                       sizeof sftr))
            g_string_append_printf(line, "%s%s %s (%s)", line->len ? "; " : "",
                                   omo_word(pairs[i].words), zero, sftr);
    }
    return line->len ? g_strdup(line->str) : NULL;
}
