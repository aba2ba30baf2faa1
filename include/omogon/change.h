/**
 * Whether a change over sessions is more than measuring error: judged at looks that are
 * set beforehand, on the mean of the last sessions against the first ones.
 */
#ifndef OMOGON_CHANGE_H
#define OMOGON_CHANGE_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** When is looked, and how sure it has to be. */
struct omo_change_settings {
    double
        sem_deg; /**< the instrument's standard error of measurement of one session ... */
    double sem_df; /**< ... and how many degrees of freedom it counts against the person's
                        own */
    double alpha;  /**< chance of ever telling of a change where there is none */
    double look_days; /**< between two looks, from the end of the baseline on */
    int block;        /**< looks of a block, see omo_change_judge() */
    int baseline;     /**< how many first sessions it is measured against */
    int last;         /**< how many last sessions are meant */
};
/** Reads models/change.ini (or `path`), where each value has its source. OMO_ERR_OPEN,
 *  OMO_ERR_SETTINGS with one sentence. */
OMO_API OMO_MUST_CHECK enum omo_status omo_change_settings_load(
    const char *path, struct omo_change_settings *out);

/** Why nothing is told, in order. */
enum omo_change_state {
    OMO_CHANGE_FEW,     /**< not yet as many sessions as baseline and last together */
    OMO_CHANGE_NO_LOOK, /**< before the first look */
    OMO_CHANGE_WITHIN,  /**< within measuring error at every look so far */
    OMO_CHANGE_ONCE, /**< more than error at the newest look; the next session decides */
    OMO_CHANGE_MORE, /**< more than error, in two sessions running */
};

/** What the looks came to. */
struct omo_change {
    enum omo_change_state state;
    double change_deg;  /**< last sessions' mean less the baseline's, at the look that
                             counts; before the first look the newest; NAN: too few */
    double error_deg;   /**< what it had to exceed at the look that counts */
    double sem_deg;     /**< used there, ... */
    double own_sem_deg; /**< ... of which the person's own was this ... */
    double df;          /**< ... with so many degrees of freedom in all */
    int looks;          /**< so far */
    size_t told_at;     /**< MORE: index of the session that confirmed it */
};

/**
 * Judges a course: `day` rises, in days; `mean_deg` is each session's mean. NAN means are
 * left out. The person's own error is taken from differences of neighbouring sessions
 * (von Neumann's mean square successive difference, half of it), so that a slow change
 * does not count as error, and is shrunk toward the instrument's by degrees of freedom;
 * each such difference counts two thirds of one (its efficiency under no change). The
 * k-th look may err with the chance alpha 6 / (pi^2 k^2), which adds up to alpha however
 * many there are; the limit is Student's t. Told once, it stays told until the end of the
 * course. OMO_ERR_ARG for settings or days that are none.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_change_judge(
    const struct omo_change_settings *settings, const double *day, const double *mean_deg,
    size_t count, struct omo_change *out);

#ifdef __cplusplus
}
#endif

#endif
