/** What the window and the voice say: one line at a time, at most eight words. */
#ifndef OMO_SHOW_CUE_WORDS_H
#define OMO_SHOW_CUE_WORDS_H

#include "omogon/live.h"

/**
 * The line for a cue, translated; "" for none. Wording follows view, position and the
 * movement. No line asks anyone to twist the arm, to go higher or to hold longer.
 */
const char *omo_cue_sentence(enum omo_cue cue,
                             const struct omo_measure_settings *settings);
/** The same to be spoken: longer where a line alone would not be understood. */
const char *omo_cue_spoken(enum omo_cue cue, const struct omo_measure_settings *settings);

/** What to do now, by the course; "" when nothing is to be said. */
const char *omo_phase_sentence(const struct omo_live_view *view,
                               const struct omo_measure_settings *settings);
const char *omo_phase_spoken(const struct omo_live_view *view,
                             const struct omo_measure_settings *settings);

/** Both with both arms at once: the cue is that of the arm the settings are of. They are
 *  spoken as they are read. */
const char *omo_both_cue_sentence(enum omo_cue cue,
                                  const struct omo_measure_settings *settings);
const char *omo_both_phase_sentence(const struct omo_live_view *view,
                                    const struct omo_measure_settings *settings);

#endif
