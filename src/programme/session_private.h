/** What the files of the session share: its state, its stages, and what each of them
 * does. */
#ifndef OMO_PROGRAMME_SESSION_PRIVATE_H
#define OMO_PROGRAMME_SESSION_PRIVATE_H

#include "omogon/session.h"

enum stage {
    /* session_ask.c: before the first step. */
    STAGE_CAUTION,
    STAGE_SIDE,
    /* session_flags.c */
    STAGE_NEW,
    STAGE_FLAGS_NOW,
    STAGE_FLAGS_TODAY,
    STAGE_FLAGS_DAYS,
    STAGE_URGENT,
    /* session_ask.c: how sore. */
    STAGE_MORNING,
    STAGE_SORE_NOW,
    STAGE_SORE_WORST,
    STAGE_WOKEN,
    STAGE_CONSTANT,
    STAGE_BEFORE_END,
    STAGE_DAY,
    /* session_step.c: round every step. */
    STAGE_INTRO,
    STAGE_NOT_OFFERED,
    STAGE_PAIN_AFTER,
    STAGE_HOW_MUCH,
    STAGE_LOWER,
    STAGE_SIGN,
    STAGE_NEW_SIGN,
    STAGE_LAGS,
    /* session_hold.c: press and rest; reach and rest without pictures. */
    STAGE_TENDER_BEFORE,
    STAGE_PRESS,
    STAGE_TENDER_AFTER,
    STAGE_REACH,
    STAGE_REST,
    /* session_watch.c and, for stays, session_stay.c: what pictures are looked at for. */
    STAGE_SWING,
    STAGE_SWING_BLIND,
    STAGE_STAY,
    STAGE_MEASURE,
    /* session_entry.c: what is only written down. */
    STAGE_FINDING,
    STAGE_DESK,
    STAGE_NOTE,
    STAGE_PAIN,
    /* session_ask.c: at the end. */
    STAGE_AFTER,
    STAGE_OVER,
    STAGE_COUNT
};

/** A step with its arm. */
struct run {
    const struct omo_step *step;
    enum omo_side side;
    bool both;
};
#define RUNS_MOST  (2 * OMO_STEPS_MOST)
#define ROWS_MOST  64
#define FLAGS_MOST 32

struct waiting_step {
    struct omo_step_row row;
    double began_s;
};

struct omo_session {
    struct omo_session_settings settings;
    struct omo_person_state
        person;            /* with the side that was asked for, and today's past */
    struct omo_past *past; /* owned: today's first, then what came before */
    struct omo_soreness soreness;
    double morning, worst_during; /* pain told of the morning after; while moving */
    struct run run[RUNS_MOST];
    int run_count, at;
    enum stage stage;
    enum stage back[16]; /* questions that can be gone back to */
    int back_count;
    double now_s, stage_s; /* the time now, and when the stage began */
    double hold_s;         /* of a hold: when it began, NAN not yet */
    unsigned serial;
    bool page_stale;
    struct omo_session_page page;
    enum omo_session_end end;

    /* Red flags: ticked ones, by their place in the table. */
    bool ticked[FLAGS_MOST];
    bool list_whole;
    bool stopping; /* the list is shown because something new goes with a smaller range */
    enum omo_urgency urgency;
    bool careful; /* a flag of the third kind: comfort alone today */

    /* The step in progress. */
    struct omo_offer offer;
    struct omo_step_row row;
    double began_s;
    bool row_closed;
    enum stage before_pain;         /* where a press of "pain" came from ... */
    double before_hold_s, before_s; /* ... its hold, and when */
    int half; /* of a swing without pictures; of the questions at the desk */
    struct omo_stay *stay;
    struct omo_pendulum *pendulum;
    double still_since_s;
    int reaches, eased;
    int stop; /* of this reach, the one whose angle is the row's */
    bool dose_met;
    bool far_enough;
    bool invited;   /* to ease up; the next stop is the answer */
    double eye_deg; /* the angle for the eye */
    struct omo_pendulum_view swing;
    struct omo_stay_view stayed;

    int done_count;
    struct waiting_step steps[ROWS_MOST];
    int step_first, step_count;
    struct omo_note_row notes[ROWS_MOST];
    int note_first, note_count;
};

/** What a stage does; whatever is NULL does nothing. */
struct stage_ops {
    enum omo_session_need need;
    double alone_s; /* hands free: goes on by itself after so long; 0: never */
    bool question;  /* can be gone back to */
    void (*enter)(struct omo_session *s);
    void (*page)(struct omo_session *s, struct omo_session_page *page);
    bool (*answer)(struct omo_session *s, double value);
    bool (*text)(struct omo_session *s, const char *text);
    void (*go_on)(struct omo_session *s);
    /* Nobody answered within alone_s; NULL: as go_on. */
    void (*unanswered)(struct omo_session *s);
    void (*time)(struct omo_session *s);
    void (*frame)(struct omo_session *s, const struct omo_track_frame *frame,
                  const struct omo_live_view *view);
};
const struct stage_ops *omo_stage_ask(enum stage stage);
const struct stage_ops *omo_stage_step(enum stage stage);
const struct stage_ops *omo_stage_flags(enum stage stage);
const struct stage_ops *omo_stage_hold(enum stage stage);
const struct stage_ops *omo_stage_stay(enum stage stage);
const struct stage_ops *omo_stage_watch(enum stage stage);
const struct stage_ops *omo_stage_entry(enum stage stage);

/* session.c */
void omo_session_enter(struct omo_session *s, enum stage stage);
/** The page is another now. */
void omo_session_touch(struct omo_session *s);
/** Whole number of 0 .. most. */
bool omo_session_whole(double value, double least, double most);

/* session_flags.c */
void omo_urgent_page(struct omo_session *s, struct omo_session_page *page);

/* session_order.c */
/** The programme's steps with their arms, in the order they are done. */
void omo_session_order(struct omo_session *s);
/** Passes what an earlier part of the same session has closed. */
void omo_session_resume(struct omo_session *s);

/* session_rows.c */
void omo_session_note(struct omo_session *s, const char *item, const char *side,
                      const char *detail, double value, const char *unit,
                      const char *text);
void omo_session_step_row(struct omo_session *s, const struct omo_step_row *row,
                          double began_s);
/** An empty row with person, session and programme; with a step where one is on. */
void omo_session_begin_row(struct omo_session *s, struct omo_step_row *row,
                           const struct run *run);

/* session_step.c */
const struct run *omo_session_current_run(const struct omo_session *s);
/** The step at s->at begins, or the session ends. */
void omo_session_next(struct omo_session *s);
/** The row of the present step goes out, once. */
void omo_session_close(struct omo_session *s, const char *result, const char *reason);
/** The same, and the next step begins. */
void omo_session_finish(struct omo_session *s, const char *result, const char *reason);
/** Asks how much it hurt, then finishes. */
void omo_session_finish_asked(struct omo_session *s);
/** Back to where "pain" was pressed; a hold does not count the time away. */
void omo_session_return(struct omo_session *s);
/** A pain was told: kept; true when it has ended the step. */
bool omo_session_pain(struct omo_session *s, double pain);
/** Moving steps and holds can hurt: the press "pain" means something. */
bool omo_session_can_hurt(const struct omo_session *s);
/** The arm's words: "your right", "both arms". */
const char *omo_session_side_words(const struct run *run);

/* session_hold.c */
/** How long the present step rests, at most: by its breaths or its seconds. */
double omo_session_hold_s(const struct omo_session *s);

/* session_words.c */
void omo_page_title(struct omo_session_page *page, const char *text);
void omo_page_say(struct omo_session_page *page, const char *text);
void omo_page_line(struct omo_session_page *page, const char *text);
void omo_page_item(struct omo_session_page *page, const char *text);
void omo_page_yes_no(struct omo_session_page *page);
/** The title of a step's page. */
void omo_page_step_title(struct omo_session *s, struct omo_session_page *page);
/** The step's dose in one sentence. */
void omo_step_dose(struct omo_session *s, char *text, size_t size);
extern const char *const omo_session_cautions;

#endif
