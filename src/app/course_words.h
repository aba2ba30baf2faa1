/** What a course of weeks says, as sentences: for the terminal and for the window. */
#ifndef OMO_APP_COURSE_WORDS_H
#define OMO_APP_COURSE_WORDS_H

#include "omogon/progress.h"

/* g_free() what is given. */

/** "trend: +1.2 degrees a month ..."; NULL without one. */
char *omo_course_trend_words(const struct omo_progress_course *course);
/** "change: ...", judged or not yet. */
char *omo_course_change_words(const struct omo_progress_course *course,
                              const struct omo_change_settings *settings);
/** Which error the change was judged with; NULL while it is not judged. */
char *omo_course_error_words(const struct omo_progress_course *course,
                             const struct omo_change_settings *settings);
/** The other side's newest and this one's share of it; NULL without one. */
char *omo_course_other_words(const struct omo_progress *progress,
                             const struct omo_progress_course *course);

/** The Neutral Zero Method's and SFTR's forms of the pair that a movement belongs to,
 * from the newest means of its two directions, same person, side and mode; positions may
 *  differ, as flexion is taken lying on the back and extension on the belly. False while
 *  one direction is missing. */
bool omo_course_pair(const struct omo_progress *progress,
                     const struct omo_session_row *row, char *zero, size_t zero_size,
                     char *sftr, size_t sftr_size);
/** All pairs of a person's side in a mode, "extension/flexion 45-0-170 (S: 45-0-170);
 * ..." `person` NULL: anybody's. NULL without one. */
char *omo_course_pairs_words(const struct omo_progress *progress, const char *person,
                             const char *side, const char *mode);

#endif
