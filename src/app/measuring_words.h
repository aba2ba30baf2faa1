/** What is said while measuring: one line at a time on the screen, the same aloud. */
#ifndef OMO_APP_MEASURING_WORDS_H
#define OMO_APP_MEASURING_WORDS_H

#include "app/live.h"
#include "app/options.h"
#include "app/saver.h"
#include "show/sound/sound.h"

/** "arm to the front (flexion), your right, standing". */
void omo_movement_title(const struct omo_plan *plan, char *title, size_t size);
/** The cautions in one line, translated; lent until the next call, main thread. */
const char *omo_caution_words(void);
/** A view of nothing: before the first picture. */
const struct omo_live_view *omo_says_nothing(void);

struct omo_says {
    const struct omo_plan *plan; /**< lent; of both arms two */
    char title[160];
    char status[160];
    char line[256];     /**< what the course asks for, or what is wrong */
    char aloud[256];    /**< the same to be spoken */
    bool fault;         /**< the line is a cue */
    double ceiling_deg; /**< set by a practitioner; NAN none */
    char passing[256];  /**< said for a while, before the line */
    int64_t passing_until_ns;
    double other_saved_deg; /**< of both arms, the one that is saved first; NAN */
    double rest_left_s;     /**< NAN: no rest */
    char spoken[256];       /**< said last */
    char wanted[256];       /**< to be said once it has stood for a moment */
    int64_t wanted_since_ns;
    char printed[256]; /**< the last line of text without a window */
};

void omo_says_begin(struct omo_says *says, const struct omo_plan *plan,
                    const struct omo_camera_got *got);
/** The newest picture's line. */
void omo_says_follow(struct omo_says *says, const struct omo_live_now *now);
/** The course's or the picture's line alone: what is wrong, else what to do. */
const char *omo_watch_line(const struct omo_plan *plan, const struct omo_live_now *now);
/** A movement was ended and saved, or there was nothing to save; of both arms each. */
void omo_says_saved(struct omo_says *says, const struct omo_saved *saved);
/** Seconds of rest left between two movements; NAN: none. */
void omo_says_rest(struct omo_says *says, double left_s);
void omo_says_still(struct omo_says *says, enum omo_status status);

/** The one line to show now. *fault: it says what is wrong. */
const char *omo_says_line(struct omo_says *says, enum omo_camera_fault camera,
                          bool *fault);
/** Says the line aloud when it is new and has stood for a moment. */
void omo_says_aloud(struct omo_says *says, enum omo_camera_fault camera,
                    struct omo_sound *sound);
/** Prints the line when it is new, and closed raises, for use without a window; a view
 * for each arm. */
void omo_says_print(struct omo_says *says, enum omo_camera_fault camera,
                    const struct omo_live_view *view);

#endif
