#include "omogon/change.h"

#include <math.h>
#include <stdlib.h>

#include <glib.h>
#include <gsl/gsl_cdf.h>

#include "omogon/log.h"
#include "omogon/models.h"

/* Efficiency of the mean square successive difference (von Neumann et al. 1941, Ann.
   Math. Stat. 12:153, from memory). */
#define DIFFERENCE_SHARE (2.0 / 3.0)

/* ---- settings ---------------------------------------------------------------------- */

static bool number(GKeyFile *file, const char *path, const char *key, double least,
                   double most, double *out)
{
    g_autoptr(GError) error = NULL;
    *out = g_key_file_get_double(file, "change", key, &error);
    if (!error && *out >= least && *out <= most)
        return true;
    omo_error("%s: \"%s\" in [change] has to be a number of %g to %g", path, key, least,
              most);
    return false;
}

enum omo_status omo_change_settings_load(const char *path,
                                         struct omo_change_settings *out)
{
    char usual[4096];
    struct omo_change_settings read;
    double baseline, last, block;
    g_autoptr(GKeyFile) file = g_key_file_new();
    g_autoptr(GError) error = NULL;
    if (!path) {
        if (omo_models_path("change.ini", usual, sizeof usual) != OMO_OK) {
            omo_error("models/change.ini is missing; install the program anew");
            return OMO_ERR_OPEN;
        }
        path = usual;
    }
    if (!g_key_file_load_from_file(file, path, G_KEY_FILE_NONE, &error)) {
        omo_error("%s: %s", path, error->message);
        return error->domain == G_FILE_ERROR ? OMO_ERR_OPEN : OMO_ERR_SETTINGS;
    }
    if (!number(file, path, "sem_deg", 0.1, 50, &read.sem_deg) ||
        !number(file, path, "sem_df", 0.5, 1000, &read.sem_df) ||
        !number(file, path, "alpha", 0.0001, 0.5, &read.alpha) ||
        !number(file, path, "look_days", 1, 365, &read.look_days) ||
        !number(file, path, "block", 1, 100, &block) ||
        !number(file, path, "baseline", 1, 50, &baseline) ||
        !number(file, path, "last", 1, 50, &last))
        return OMO_ERR_SETTINGS;
    read.baseline = (int)baseline;
    read.last = (int)last;
    read.block = (int)block;
    *out = read;
    return OMO_OK;
}

/* ---- judging ----------------------------------------------------------------------- */

/** A course without the sessions that have no mean. */
struct course {
    const struct omo_change_settings *settings;
    double *day, *mean;
    size_t count;
};

static double mean_of(const double *value, int count)
{
    double sum = 0;
    for (int i = 0; i < count; i++)
        sum += value[i];
    return sum / count;
}

/** Own error, the shrunk one and its degrees of freedom, from the first `count` sessions.
 */
static void error_of(const struct course *c, size_t count, struct omo_change *at)
{
    double squares = 0, differences = (double)(count - 1);
    for (size_t i = 1; i < count; i++)
        squares += (c->mean[i] - c->mean[i - 1]) * (c->mean[i] - c->mean[i - 1]);
    double own = squares / (2 * differences), own_df = DIFFERENCE_SHARE * differences;
    double theirs = c->settings->sem_deg * c->settings->sem_deg;
    at->own_sem_deg = sqrt(own);
    at->df = own_df + c->settings->sem_df;
    at->sem_deg = sqrt((own_df * own + c->settings->sem_df * theirs) / at->df);
}

/** Change after the first `count` sessions, and what it has to exceed at the k-th look.
 */
static void judge_at(const struct course *c, size_t count, int look,
                     struct omo_change *at)
{
    int baseline = c->settings->baseline, last = c->settings->last;
    int block = (look - 1) / c->settings->block;
    double chance = ldexp(c->settings->alpha, -(block + 1)) / c->settings->block;
    error_of(c, count, at);
    at->change_deg =
        mean_of(c->mean + count - (size_t)last, last) - mean_of(c->mean, baseline);
    at->error_deg = gsl_cdf_tdist_Qinv(chance / 2, at->df) * at->sem_deg *
                    sqrt(1.0 / baseline + 1.0 / last);
    at->looks = look;
}

static void judge_course(const struct course *c, struct omo_change *out)
{
    size_t least = (size_t)(c->settings->baseline + c->settings->last);
    *out = (struct omo_change){.state = OMO_CHANGE_FEW,
                               .change_deg = NAN,
                               .error_deg = NAN,
                               .sem_deg = NAN,
                               .own_sem_deg = NAN,
                               .df = NAN};
    if (c->count < least)
        return;
    out->state = OMO_CHANGE_NO_LOOK;
    double began = c->day[c->settings->baseline - 1];
    int look = 0, passed = 0;
    double side = 0; /* of a change that waits for its second session; 0: none waits */
    for (size_t n = least; n <= c->count && out->state != OMO_CHANGE_MORE; n++) {
        /* A look that nobody came to is not made up for later. */
        passed = (int)floor((c->day[n - 1] - began) / c->settings->look_days);
        bool due = passed > look;
        if (!due && side == 0)
            continue;
        look = due ? passed : look;
        struct omo_change at = *out;
        judge_at(c, n, look, &at);
        bool more = fabs(at.change_deg) > at.error_deg;
        bool again = side != 0 && more && (at.change_deg > 0) == (side > 0);
        side = more ? at.change_deg : 0;
        at.state = again ? OMO_CHANGE_MORE : more ? OMO_CHANGE_ONCE : OMO_CHANGE_WITHIN;
        at.told_at = again ? n - 1 : 0;
        *out = at;
    }
    if (out->state == OMO_CHANGE_NO_LOOK)
        out->change_deg =
            mean_of(c->mean + c->count - (size_t)c->settings->last, c->settings->last) -
            mean_of(c->mean, c->settings->baseline);
}

enum omo_status omo_change_judge(const struct omo_change_settings *settings,
                                 const double *day, const double *mean_deg, size_t count,
                                 struct omo_change *out)
{
    if (settings->baseline < 1 || settings->block < 1 || settings->last < 1 ||
        !(settings->sem_deg > 0) || !(settings->sem_df > 0) ||
        !(settings->alpha > 0 && settings->alpha < 1) || !(settings->look_days > 0))
        return OMO_ERR_ARG;
    double *kept = malloc((2 * count + 1) * sizeof *kept);
    if (!kept)
        return OMO_ERR_MEMORY;
    struct course course = {settings, kept, kept + count, 0};
    enum omo_status status = OMO_OK;
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(mean_deg[i]))
            continue;
        if (!isfinite(day[i]) ||
            (course.count > 0 && day[i] < course.day[course.count - 1])) {
            status = OMO_ERR_ARG;
            break;
        }
        course.day[course.count] = day[i];
        course.mean[course.count++] = mean_deg[i];
    }
    if (status == OMO_OK)
        judge_course(&course, out);
    free(kept);
    return status;
}
