#include "omogon/progress.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "omogon/text.h"

struct course {
    struct omo_progress_course open; /* what is lent */
    GArray *sessions;                /* struct omo_progress_session */
};

struct omo_progress {
    struct omo_change_settings settings;
    GPtrArray *courses; /* struct course, in the order of their first rows */
    GPtrArray *beside;  /* of the side that was not asked for; not judged */
};

static double mean_of(const struct omo_session_row *row)
{
    return isfinite(row->mean_of_maxima_deg) ? row->mean_of_maxima_deg : row->max_deg;
}

static double day_of(const struct omo_session_row *row)
{
    g_autoptr(GDateTime) time = g_date_time_new_from_iso8601(row->started, NULL);
    return time ? (double)g_date_time_to_unix(time) / 86400 : (double)NAN;
}

/** What rows that may be compared share, as a key. */
static char *key_of(const struct omo_session_row *row, const char *side)
{
    return g_strjoin("\n", row->person, row->movement, side, row->mode, row->position,
                     row->arms, row->view, NULL);
}

static bool named(const char *wanted, const char *text)
{
    return !wanted || !strcmp(wanted, text);
}

static gint by_day(gconstpointer a, gconstpointer b)
{
    const struct omo_progress_session *one = a, *other = b;
    return (one->day > other->day) - (one->day < other->day);
}

static void course_free(gpointer data)
{
    struct course *course = data;
    g_array_unref(course->sessions);
    g_free(course);
}

/** Whether a row's day lies within the filter's; ISO dates sort as texts. */
static bool within(const struct omo_progress_filter *filter, const char *started)
{
    return (!filter->from || strncmp(started, filter->from, 10) >= 0) &&
           (!filter->to || strncmp(started, filter->to, 10) <= 0);
}

/** Sorts every row to its course. */
static void gather(struct omo_progress *progress, const struct omo_record *record,
                   const struct omo_progress_filter *filter)
{
    g_autoptr(GHashTable) by_key = /* key -> struct course, not owned */
        g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    /* The last row with an id is the one that counts. */
    g_autoptr(GHashTable) last = g_hash_table_new(g_str_hash, g_str_equal);
    for (size_t i = 0; i < omo_record_count(record); i++) {
        const struct omo_session_row *row = omo_record_row(record, i);
        g_hash_table_insert(last, (gpointer)(uintptr_t)row->id, (gpointer)(uintptr_t)row);
    }
    for (size_t i = 0; i < omo_record_count(record); i++) {
        const struct omo_session_row *row = omo_record_row(record, i);
        if (g_hash_table_lookup(last, row->id) != row)
            continue;
        struct omo_progress_session session = {row, day_of(row), mean_of(row)};
        if (strcmp(row->status, "ok") != 0 || !isfinite(session.mean_deg) ||
            !isfinite(session.day) || !named(filter->person, row->person) ||
            !named(filter->movement, row->movement) ||
            !named(filter->visit, row->visit) || !within(filter, row->started))
            continue;
        bool wanted = named(filter->side, row->side);
        char *key = key_of(row, row->side);
        struct course *course = g_hash_table_lookup(by_key, key);
        if (!course) {
            course = g_new0(struct course, 1);
            course->sessions = g_array_new(FALSE, FALSE, sizeof session);
            g_ptr_array_add(wanted ? progress->courses : progress->beside, course);
            g_hash_table_insert(by_key, key, course);
        } else {
            g_free(key);
        }
        g_array_append_val(course->sessions, session);
    }
}

static void put_in_order(gpointer data, gpointer unused)
{
    struct course *course = data;
    (void)unused;
    g_array_sort(course->sessions, by_day); /* stable: equal days stay as they were */
    course->open.sessions =
        (const struct omo_progress_session *)(void *)course->sessions->data;
    course->open.count = course->sessions->len;
}

static enum omo_status judge(struct course *course,
                             const struct omo_change_settings *settings)
{
    struct omo_progress_course *open = &course->open;
    g_autofree double *day = g_new(double, open->count);
    g_autofree double *mean_deg = g_new(double, open->count);
    for (size_t i = 0; i < open->count; i++) {
        day[i] = open->sessions[i].day;
        mean_deg[i] = open->sessions[i].mean_deg;
    }
    enum omo_status status =
        omo_change_judge(settings, day, mean_deg, open->count, &open->change);
    if (status != OMO_OK)
        return status;
    size_t first = open->count > OMO_TREND_MOST ? open->count - OMO_TREND_MOST : 0;
    status = omo_trend_fit(day + first, mean_deg + first, open->count - first,
                           OMO_PROGRESS_CONFIDENCE, &open->trend);
    open->has_trend = status == OMO_OK && open->count >= OMO_TREND_LEAST;
    return status == OMO_ERR_MEMORY ? status : OMO_OK;
}

enum omo_status omo_progress_read(const struct omo_record *record,
                                  const struct omo_progress_filter *filter,
                                  const struct omo_change_settings *settings,
                                  struct omo_progress **out)
{
    static const struct omo_progress_filter everything = {0};
    struct omo_change_settings own;
    if (!settings) {
        enum omo_status loaded = omo_change_settings_load(NULL, &own);
        if (loaded != OMO_OK)
            return loaded;
        settings = &own;
    }
    struct omo_progress *progress = g_new0(struct omo_progress, 1);
    progress->settings = *settings;
    progress->courses = g_ptr_array_new_with_free_func(course_free);
    progress->beside = g_ptr_array_new_with_free_func(course_free);
    gather(progress, record, filter ? filter : &everything);
    g_ptr_array_foreach(progress->courses, put_in_order, NULL);
    g_ptr_array_foreach(progress->beside, put_in_order, NULL);
    enum omo_status status = OMO_OK;
    for (guint k = 0; k < progress->courses->len && status == OMO_OK; k++)
        status = judge(g_ptr_array_index(progress->courses, k), settings);
    if (status == OMO_OK)
        *out = progress;
    else
        omo_progress_free(progress);
    return status;
}

void omo_progress_free(struct omo_progress *progress)
{
    if (!progress)
        return;
    g_ptr_array_unref(progress->courses);
    g_ptr_array_unref(progress->beside);
    g_free(progress);
}

size_t omo_progress_count(const struct omo_progress *progress)
{
    return progress->courses->len;
}

const struct omo_progress_course *omo_progress_at(const struct omo_progress *progress,
                                                  size_t index)
{
    const struct course *course = g_ptr_array_index(progress->courses, (guint)index);
    return &course->open;
}

const struct omo_progress_session *omo_progress_newest(
    const struct omo_progress_course *course)
{
    return &course->sessions[course->count - 1];
}

/** Among some courses the one whose sessions have this key. */
static const struct omo_progress_course *find(const GPtrArray *courses,
                                              const char *wanted)
{
    for (guint k = 0; k < courses->len; k++) {
        const struct course *course = g_ptr_array_index(courses, k);
        const struct omo_session_row *row = course->open.sessions[0].row;
        g_autofree char *key = key_of(row, row->side);
        if (!strcmp(key, wanted))
            return &course->open;
    }
    return NULL;
}

const struct omo_progress_course *omo_progress_other_side(
    const struct omo_progress *progress, const struct omo_progress_course *course)
{
    const struct omo_session_row *row = course->sessions[0].row;
    const char *other = !strcmp(row->side, "left") ? "right" : "left";
    g_autofree char *wanted = key_of(row, other);
    const struct omo_progress_course *found = find(progress->courses, wanted);
    return found ? found : find(progress->beside, wanted);
}

const struct omo_change_settings *omo_progress_settings(
    const struct omo_progress *progress)
{
    return &progress->settings;
}
