/** What the files of the short set share: the set while it runs, and its pages. */
#ifndef OMO_APP_SHORT_SET_RUN_H
#define OMO_APP_SHORT_SET_RUN_H

#include <glib.h>

#include "app/short_set.h"
#include "omogon/record.h"
#include "show/screen/screen.h"
#include "show/sound/sound.h"

/** A set while it runs. */
struct omo_set {
    const struct omo_measure_words *given;
    struct omo_record *record;
    struct omo_screen *screen; /* NULL: lines of text */
    struct omo_sound *sound;
    const char *directory;
    char visit[24];
    GArray *rows;        /* struct omo_session_row of this set, also earlier ones */
    GPtrArray *left_out; /* sentences: what, and why where a rule says so */
    bool anew;           /* what was measured earlier is measured again */
    bool over;           /* left, or enough for today */
    bool window_left;
    int code;
};

enum omo_set_choice { OMO_SET_GO_ON, OMO_SET_LEAVE_OUT, OMO_SET_ENOUGH, OMO_SET_LEAVE };

/** Before a movement: how to turn or lie when that has changed (`place` below 0: it has
 *  not), what comes next; goes on by itself. */
enum omo_set_choice omo_set_ask(struct omo_set *set, const char *what, int place,
                                int number);
/** Some of it (`count`) was measured earlier under this visit: says so and offers to go
 *  on, which it does by itself. Sets `anew` and, when the visit has no name of its own, a
 *  new label. */
enum omo_set_choice omo_set_ask_again(struct omo_set *set, int count);
/** The end: what came of it, what was left out, the next command. */
void omo_set_summary(struct omo_set *set, double took_s);

/** A label for today; with the time when it has to be a new one. */
void omo_set_label(char visit[24], bool with_time);

#endif
