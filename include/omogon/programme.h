/** A programme: what a practitioner wrote down for a person to do, step by step. */
#ifndef OMOGON_PROGRAMME_H
#define OMOGON_PROGRAMME_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/body.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What steps are for. */
enum omo_step_group {
    OMO_GROUP_SETTLE,
    OMO_GROUP_SWING,
    OMO_GROUP_REACH,
    OMO_GROUP_TURN,
    OMO_GROUP_USE,
    OMO_GROUP_COUNT
};
/** "settle", "swing", "reach", "turn", "use". */
OMO_API const char *omo_group_name(enum omo_step_group group);

/** What a step is. */
enum omo_step_kind {
    OMO_STEP_PRESS,    /**< press and rest on an area */
    OMO_STEP_PENDULUM, /**< circles of a hanging arm */
    OMO_STEP_STAY,     /**< reach to where it stops, and rest there */
    OMO_STEP_MEASURE,  /**< measure a movement */
    OMO_STEP_FINDING,  /**< something found or asked, entered by hand */
    OMO_STEP_DESK,     /**< how the arm is held at the desk */
    OMO_STEP_NOTE,
    OMO_STEP_PAIN,
    OMO_STEP_KIND_COUNT
};
/** "press", "pendulum", "stay", "measure", "finding", "desk", "note", "pain". */
OMO_API const char *omo_step_kind_name(enum omo_step_kind kind);

/** Whose arm, before it is known which one is affected. */
enum omo_step_side {
    OMO_STEP_AFFECTED,
    OMO_STEP_OTHER, /**< the better side */
    OMO_STEP_LEFT,
    OMO_STEP_RIGHT,
    OMO_STEP_BOTH,
};

/** Whether the other hand helps. */
enum omo_step_mode { OMO_MODE_ACTIVE, OMO_MODE_ASSISTED };

/** How breaths are paced during a hold. */
enum omo_pace_kind {
    OMO_PACE_OWN,   /**< the person's own, the default */
    OMO_PACE_PACED, /**< a rising and falling line */
};

/** When a pain is asked for. */
enum omo_pain_when {
    OMO_PAIN_NOW,
    OMO_PAIN_WORST_24H,
    OMO_PAIN_DURING, /**< the worst of the session so far */
    OMO_PAIN_AFTER,
    OMO_PAIN_NEXT_MORNING, /**< of the session before this one */
    OMO_PAIN_WHEN_COUNT
};
/** "now", "worst-24h", "during", "after", "next-morning". */
OMO_API const char *omo_pain_when_name(enum omo_pain_when when);

/** Areas for press and rest, in the words of the file. */
struct omo_area {
    const char *name;  /**< "upper-trapezius" ..., as in the file */
    const char *words; /**< for people, to be translated */
    const char *avoid; /**< what to keep away from, for people */
    bool taught;       /**< off until a practitioner has ticked "taught in person" */
};
/** The index-th area; NULL past the last. Constant. */
OMO_API const struct omo_area *omo_area_at(int index);
/** By its name; NULL: there is none. */
OMO_API const struct omo_area *omo_area_find(const char *name);

/** What is entered by hand. */
enum omo_finding_kind {
    OMO_FINDING_LEVEL,    /**< one of `levels` */
    OMO_FINDING_CAN,      /**< yes, hard, no */
    OMO_FINDING_END_FEEL, /**< one of `levels`: how the end feels to the practitioner */
    OMO_FINDING_SCORE,    /**< 0 to 10 */
    OMO_FINDING_COUNT_OF, /**< a whole number: nights woken */
    OMO_FINDING_TOTAL,    /**< a questionnaire's total, with its name */
};
/** Something entered by hand, with what is asked and what may be answered. */
struct omo_finding {
    const char *name;  /**< "hand-behind-back", "hand-to-mouth" ... */
    const char *words; /**< the question, to be translated */
    enum omo_finding_kind kind;
    const char *const *levels; /**< NULL-terminated; NULL where there are none */
    double least, most;        /**< of a number */
    bool sided;                /**< found on one side at a time; else of the person */
};
/** NULL past the last. Constant. */
OMO_API const struct omo_finding *omo_finding_at(int index);
/** By its name; NULL: there is none. */
OMO_API const struct omo_finding *omo_finding_find(const char *name);

/** One step. Numbers are NAN, counts 0, where the file says nothing and the kind has no
 *  use for them; defaults are already in. Both arms at once: measure and desk alone. */
struct omo_step {
    char name[32]; /**< the group's name in the file, unique, [a-z0-9-] */
    int line;      /**< where it begins in the file */
    enum omo_step_group group;
    enum omo_step_kind kind;
    enum omo_step_side side;
    enum omo_step_mode mode;
    enum omo_position position; /**< where the file says nothing: the movement's usual
                                     one; standing */
    bool position_told;
    char movement[24];  /**< stay, measure */
    char view[16];      /**< "" the movement's usual one */
    char area[32];      /**< press */
    char finding[32];   /**< finding */
    char words_for[64]; /**< finding: which activity, which questionnaire */
    double hold_s;      /**< press 30..180, default 60; stay: longest rest at the stop,
                             5..180, default 30; NAN by breaths */
    int breaths;        /**< 0: by time; else 5..10 */
    enum omo_pace_kind pace;
    double breaths_per_min; /**< paced: 4..20, default 6 */
    int circles;            /**< each way, 10..20, default 10 */
    double load_kg;     /**< pendulum: wished for, up to 2.5; the sheet decides whether
                             it is offered */
    int repetitions;    /**< measure 1..5, stay: raises 1..5; default 3 */
    int ease_ups;       /**< stay: 0..3, default 2 */
    double ceiling_deg; /**< the practitioner's own for this step; NAN none */
    double pain_limit;  /**< 0..10, NAN: the programme's */
    double every_min;   /**< desk: 5..240, default 30 */
    enum omo_pain_when when; /**< pain */
    char guidance[512], caution[512];
    /** What is shown: "guidance[de]=" where that is the language in use, else the same.
     */
    char guidance_said[512], caution_said[512];
};

/** Steps of a programme, at most. */
#define OMO_STEPS_MOST 40

/** A programme as its file has it. */
struct omo_programme {
    char name[64];             /**< the file's, without its folder and .ini */
    char title[96], issue[32]; /**< issue: the practitioner's mark of it */
    char made_by[96];
    char title_said[96]; /**< "title[de]=" in that language, else the title */
    double pain_limit;   /**< default 4 of 10 */
    bool arms_both; /**< what is seen from in front is measured with both arms at once
                         in this course; else one after the other, never mixed */
    int step_count;
    struct omo_step step[OMO_STEPS_MOST];
};

/**
 * Reads a programme. Every mistake is said in a sentence of its own, "FILE:LINE: what;
 * what to do", up to 20 of them; then OMO_ERR_SETTINGS. OMO_ERR_OPEN when there is no
 * such file. `out` is untouched on failure. `path` may be the name of a starter in models
 * ("sore-weeks").
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_programme_load(const char *path,
                                                          struct omo_programme *out);
/** The same from bytes; `called` stands for the file in messages. */
OMO_API OMO_MUST_CHECK enum omo_status omo_programme_parse(const char *bytes, size_t size,
                                                           const char *called,
                                                           struct omo_programme *out);
/** Hash of what the file means (not of its name, comments or line numbers), for the rows:
 *  32 hex digits and a NUL. */
OMO_API void omo_programme_mark(const struct omo_programme *programme, char out[33]);

#ifdef __cplusplus
}
#endif

#endif
