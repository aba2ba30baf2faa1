/** The hands-free course of one movement: where it stands, from angles over time. */
#ifndef OMO_MOTION_COURSE_H
#define OMO_MOTION_COURSE_H

#include <stdbool.h>
#include <stdint.h>

#include "motion/still.h"
#include "omogon/live.h"

/** One arm, or both at once. */
#define OMO_COURSE_ARMS 2

/** What the course learns from a frame. */
struct omo_course_frame {
    int64_t number; /**< counts up by one a frame */
    double time_s;
    bool in_view;                    /**< all markers the movement needs, of every arm */
    double arm_deg[OMO_COURSE_ARMS]; /**< steadied; before neutral against where rest is
                                          expected, afterwards above neutral; NAN not
                                          seen */
    double angle_deg[OMO_COURSE_ARMS]; /**< for marks; NAN */
    double raise_deg; /**< highest of this raise above neutral by the rule of maxima, of
                           the arm that came higher; NAN none yet */
    double best_deg;  /**< likewise of all raises */
};

/** What it came to. */
struct omo_course_step {
    unsigned events;
    bool take_neutral; /**< from frame `still_from` on: answer with omo_course_neutral */
    int64_t still_from;
    double phase_ratio, phase_left_s; /**< NAN: no value */
};

struct omo_course {
    const struct omo_live_settings *settings;
    int arms;
    enum omo_phase phase;
    enum omo_phase resume; /**< WARN: where a movement leads back to */
    enum omo_live_end end;
    int raises;
    double pain_onset_deg[OMO_COURSE_ARMS], pain_end_deg[OMO_COURSE_ARMS]; /**< NAN none
                                                                            */

    bool neutral;                   /**< taken */
    bool mark, begin, enough, stop; /**< pressed */
    bool any;                       /**< a frame came */
    double time_s;                  /**< of the last frame */
    double unseen_s;                /**< since a needed marker was in view */
    struct omo_still still[OMO_COURSE_ARMS];

    /* Above neutral; of both arms the higher one. */
    double floor_deg;                 /**< lowest since the arm came down */
    double base_deg;                  /**< floor from which this raise began */
    double peak_deg;                  /**< highest on this way up */
    double trough_deg;                /**< lowest on this way down */
    double warn_deg[OMO_COURSE_ARMS]; /**< where each arm kept still */
    double raise_s;                   /**< how long this raise has lasted */
    int64_t way_from;                 /**< frame in which this way up or down began */
    bool onset_marked, end_marked;
    bool paused;       /**< on this raise; a mark once the arm goes on the same way */
    int64_t pause_way; /**< way_from of the pause */
    double pause_arm_deg, pause_angle_deg[OMO_COURSE_ARMS];
};

/** `settings` lent. With two arms there is still one course: both have to keep still, the
 *  higher one raises, and what is hidden of either closes and ends nothing. */
void omo_course_init(struct omo_course *course, const struct omo_live_settings *settings,
                     int arms);
void omo_course_finish(struct omo_course *course);
void omo_course_press(struct omo_course *course, enum omo_live_press press);
OMO_MUST_CHECK enum omo_status omo_course_step(struct omo_course *course,
                                               const struct omo_course_frame *frame,
                                               struct omo_course_step *step);
/** Whether neutral could be taken. */
void omo_course_neutral(struct omo_course *course, bool taken,
                        struct omo_course_step *step);

/** A time that does not rise, or a pause after which nobody knows what went on. */
bool omo_course_gap(double from_s, double to_s);

#endif
