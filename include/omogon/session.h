/**
 * A session: a programme with a person, one page after the other. It says what is shown
 * and asked, takes answers, presses, time and frames, and gives back rows to be written.
 * Nothing here waits, draws, speaks or writes; whoever does can be a window, a terminal
 * or a test. All it offers has gone through omo_offer_step().
 */
#ifndef OMOGON_SESSION_H
#define OMOGON_SESSION_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/care.h"
#include "omogon/live.h"
#include "omogon/pendulum.h"
#include "omogon/programme.h"
#include "omogon/status.h"
#include "omogon/stay.h"
#include "omogon/tables.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What a session starts from; lent. */
struct omo_session_settings {
    /* All lent as long as the session lasts. */
    const struct omo_care *care;
    const struct omo_programme *programme;
    const struct omo_person_state *person;
    const struct omo_movement_table *movements;
    const char *pseudonym;
    const char *last_date; /**< of the session before this, YYYY-MM-DD; "" none */
    bool camera;           /**< pictures can be had: swings, stays and measuring */
    bool hands_free;       /**< what only needs reading goes on by itself */
    const char *id;        /**< of this session, 32 hex digits */
    const struct omo_step_row *begun; /**< rows of the same session that was broken off */
    size_t begun_count;
    /** Answers given beforehand, NAN and -1 where not. */
    struct omo_soreness told;
    bool nothing_new; /**< the person has said that there is nothing new */
    double u95_deg;   /**< what angles are good to, for the ceiling; NAN not known */
};

/** Breathing in takes this share of a paced breath: 4 s of 10 (common practice). */
#define OMO_BREATH_IN_SHARE 0.4

/** What the page wants. */
enum omo_session_need {
    OMO_NEED_GO_ON,   /**< to be read; OMO_SESSION_GO_ON */
    OMO_NEED_SCALE,   /**< a whole number of 0 to 10 */
    OMO_NEED_CHOICE,  /**< one of the items */
    OMO_NEED_TICKS,   /**< any of the items, then OMO_SESSION_GO_ON */
    OMO_NEED_NUMBER,  /**< a whole number within least .. most */
    OMO_NEED_TEXT,    /**< a line of text, which may be empty */
    OMO_NEED_TIME,    /**< nothing: it is being held, and ends by itself */
    OMO_NEED_SWING,   /**< frames of a pendulum */
    OMO_NEED_STAY,    /**< frames of a reach */
    OMO_NEED_MEASURE, /**< a measured movement */
    OMO_NEED_NOTHING, /**< the session is over */
};

/** Lines of a page, at most. */
#define OMO_SESSION_LINES 6
/** Items to choose among, at most. */
#define OMO_SESSION_ITEMS 16

/** What is shown now. */
struct omo_session_page {
    unsigned serial; /**< another number: another page */
    enum omo_session_need need;
    int place, places;     /**< step this belongs to, 1.., of how many; 0 none */
    char title[160];       /**< small */
    char instruction[160]; /**< the largest thing on the page */
    char line[OMO_SESSION_LINES][512];
    int line_count;
    char item[OMO_SESSION_ITEMS][256];
    int item_count;
    unsigned ticked; /**< TICKS: bits */
    char caution[512];
    double least, most;     /**< NUMBER */
    double total_s, left_s; /**< TIME, and a hold at a stop; NAN no countdown */
    double breath;          /**< 0 out .. 1 in; NAN: the person's own pace */
    int breaths, breaths_wanted;
    const struct omo_step *step; /**< NULL outside steps */
    enum omo_side side;          /**< of the step */
    bool both;                   /**< both arms at once */
    struct omo_offer offer;
    double angle_deg; /**< STAY: for the eye; NAN */
    bool far_enough;  /**< the ceiling, less what the angle is good to */
    struct omo_pendulum_view swing;
    struct omo_stay_view stay;
};

/** What a person presses. */
enum omo_session_press {
    OMO_SESSION_GO_ON,
    OMO_SESSION_BACK,   /**< to the question before, where there is one */
    OMO_SESSION_SKIP,   /**< leave this step out */
    OMO_SESSION_PAIN,   /**< it hurts more: asked how much, and the step may end */
    OMO_SESSION_SIGN,   /**< tingling, a pulse, heat, a lump: the step ends */
    OMO_SESSION_ENOUGH, /**< enough for today: a completed day */
    OMO_SESSION_LEAVE,  /**< broken off: goes on at this step next time */
};

struct omo_session;
/** Settings are lent until it is destroyed. OMO_ERR_MEMORY. */
OMO_API OMO_MUST_CHECK enum omo_status omo_session_create(
    const struct omo_session_settings *settings, struct omo_session **out);
/** Frees it; NULL is fine. */
OMO_API void omo_session_destroy(struct omo_session *session);

/** What is shown now; lent until the next call. */
OMO_API const struct omo_session_page *omo_session_page(struct omo_session *session);

/** SCALE, NUMBER, CHOICE (index): false when it is not within what was asked. TICKS:
 * turns that item over. */
OMO_API bool omo_session_answer(struct omo_session *session, double value);
/** The answer to a page that asks for words: false when it does not. */
OMO_API bool omo_session_text(struct omo_session *session, const char *text);
/** What the page does not take is passed over. */
OMO_API void omo_session_press(struct omo_session *session, enum omo_session_press press);
/** Time that never falls, from any start. */
OMO_API void omo_session_time(struct omo_session *session, double now_s);
/** SWING: what its pictures are like, once they are known and before the first of them;
 *  circles seen so far are forgotten. */
OMO_API void omo_session_pictures(struct omo_session *session,
                                  const struct omo_pendulum_settings *settings);
/** SWING and STAY: a frame with what the live course made of it. */
OMO_API void omo_session_frame(struct omo_session *session,
                               const struct omo_track_frame *frame,
                               const struct omo_live_view *view);
/** MEASURE: what it came to; `id` of the row in sessions.csv; OMO_ERR_EMPTY and the like:
 *  nothing was measured. */
struct omo_session_measured {
    enum omo_status status;
    const char *id;
    double mean_of_maxima_deg, max_deg, u95_deg, pain_onset_deg;
    int repetitions;
    bool enough; /**< the person pressed "enough for today" meanwhile */
};
/** Goes on from a MEASURE page. */
OMO_API void omo_session_measured(struct omo_session *session,
                                  const struct omo_session_measured *measured);

/** Rows to be written before going on, oldest first; false: none is waiting. Person,
 *  session, step and version are filled in; id, started and ended are the caller's (a row
 *  carries when it began as seconds of omo_session_time()). */
OMO_API bool omo_session_take_step(struct omo_session *session, struct omo_step_row *row,
                                   double *began_s);
/** The same of notes.csv. */
OMO_API bool omo_session_take_note(struct omo_session *session, struct omo_note_row *row);

/** Over: how. */
enum omo_session_end {
    OMO_SESSION_GOES_ON,
    OMO_SESSION_DONE,
    OMO_SESSION_WAS_ENOUGH,
    OMO_SESSION_STOPPED, /**< a red flag, or a range that fell with a new sign */
    OMO_SESSION_LEFT,
};
/** How it ended, or that it goes on. */
OMO_API enum omo_session_end omo_session_end(const struct omo_session *session);

#ifdef __cplusplus
}
#endif

#endif
