#include "omogon/overview.h"

#include <math.h>
#include <string.h>

#include <glib.h>

/** Rows of before there were modes are active ones. */
static const char *mode_of(const struct omo_session_row *row)
{
    return row->mode[0] ? row->mode : "active";
}

static int mode_rank(const struct omo_session_row *row)
{
    static const char *const modes[] = {"active", "assisted", "passive"};
    int rank = 0;
    while (rank < (int)G_N_ELEMENTS(modes) && strcmp(modes[rank], mode_of(row)) != 0)
        rank++;
    return rank;
}

static const struct omo_session_row *newest_row(const struct omo_progress_course *course)
{
    return omo_progress_newest(course)->row;
}

double omo_overview_percent(const struct omo_progress *progress,
                            const struct omo_progress_course *course,
                            const char *affected)
{
    if (!affected || (strcmp(affected, "left") != 0 && strcmp(affected, "right") != 0) ||
        strcmp(newest_row(course)->side, affected) != 0)
        return NAN;
    const struct omo_progress_course *other = omo_progress_other_side(progress, course);
    if (!other || !(omo_progress_newest(other)->mean_deg > 0))
        return NAN;
    return 100 * omo_progress_newest(course)->mean_deg /
           omo_progress_newest(other)->mean_deg;
}

static gint least_first(gconstpointer a, gconstpointer b)
{
    const struct omo_overview_percent *one = a, *other = b;
    int order = (one->percent > other->percent) - (one->percent < other->percent);
    return order != 0 ? order
                      : strcmp(newest_row(one->affected)->movement,
                               newest_row(other->affected)->movement);
}

/** Which of two courses of one movement stands for it. */
static bool stands_for(const struct omo_progress_course *one,
                       const struct omo_progress_course *other)
{
    int rank = mode_rank(newest_row(one)) - mode_rank(newest_row(other));
    return rank != 0 ? rank < 0
                     : omo_progress_newest(one)->day > omo_progress_newest(other)->day;
}

size_t omo_overview_percents(const struct omo_progress *progress, const char *affected,
                             const char *arms, struct omo_overview_percent *out,
                             size_t most)
{
    g_autoptr(GArray) all = g_array_new(FALSE, TRUE, sizeof(struct omo_overview_percent));
    for (size_t k = 0; k < omo_progress_count(progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(progress, k);
        const struct omo_session_row *row = newest_row(course);
        struct omo_overview_percent one = {.affected = course,
                                           .percent =
                                               omo_overview_percent(progress, course,
                                                                    affected)};
        if (!isfinite(one.percent) ||
            (arms && arms[0] && row->arms[0] && strcmp(arms, row->arms) != 0))
            continue;
        one.other = omo_progress_other_side(progress, course);
        one.affected_deg = omo_progress_newest(course)->mean_deg;
        one.other_deg = omo_progress_newest(one.other)->mean_deg;
        guint known = 0;
        while (known < all->len &&
               strcmp(newest_row(
                          g_array_index(all, struct omo_overview_percent, known).affected)
                          ->movement,
                      row->movement) != 0)
            known++;
        if (known == all->len)
            g_array_append_val(all, one);
        else if (stands_for(course, g_array_index(all, struct omo_overview_percent, known)
                                        .affected))
            g_array_index(all, struct omo_overview_percent, known) = one;
    }
    g_array_sort(all, least_first);
    size_t count = MIN((size_t)all->len, most);
    if (count > 0)
        memcpy(out, all->data, count * sizeof *out);
    return count;
}

struct omo_overview_stops omo_overview_stops_of(const struct omo_progress_course *course)
{
    struct omo_overview_stops stops = {0};
    for (size_t i = 0; i < course->count; i++) {
        const char *by = course->sessions[i].row->stopped_by;
        stops.stiff += !strcmp(by, "stiff");
        stops.pain += !strcmp(by, "pain");
        stops.weak += !strcmp(by, "weak");
        stops.known += by[0] != '\0';
    }
    return stops;
}

const struct omo_progress_course *omo_overview_assisted(
    const struct omo_progress *progress, const struct omo_progress_course *active)
{
    const struct omo_session_row *row = newest_row(active);
    if (strcmp(mode_of(row), "active") != 0)
        return NULL;
    for (size_t k = 0; k < omo_progress_count(progress); k++) {
        const struct omo_progress_course *course = omo_progress_at(progress, k);
        const struct omo_session_row *one = newest_row(course);
        if (!strcmp(one->person, row->person) && !strcmp(one->movement, row->movement) &&
            !strcmp(one->side, row->side) && !strcmp(one->position, row->position) &&
            !strcmp(one->view, row->view) && !strcmp(one->arms, row->arms) &&
            !strcmp(one->mode, "assisted"))
            return course;
    }
    return NULL;
}
