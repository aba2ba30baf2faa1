/**
 * What is offered today, and how far: pure rules over what is known of a person. Nothing
 * here reads a clock or a file. Every threshold is in models/care.ini with where it comes
 * from.
 */
#ifndef OMOGON_CARE_H
#define OMOGON_CARE_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/motion.h"
#include "omogon/programme.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Thresholds, from models/care.ini. */
struct omo_care {
    double sore_from, middle_from;                  /**< 7, 4 of 10 */
    double pain_limit, pain_rise;                   /**< 4; 2 points over the start */
    double middle_hold_least_s, middle_hold_most_s; /**< 5, 15 */
    double active_below_assisted_deg;               /**< 20 */
    int gap_days;                                   /**< 14: the whole list again */
    int mark_sessions, mark_least;                  /**< 5, 3 */
    int raises_most;                                /**< 5 */
    int tender_sessions;                            /**< 3 rising ones end an area */
    double tender_hold_s;            /**< longest hold on the tenderest area */
    double wide_circle_cm;           /**< circles wide enough for a weight */
    int wide_circles;                /**< 20 each way */
    double hold_step_s;              /**< longer than lately */
    int circles_least, circles_step; /**< 10 to begin with; how many more than lately */
    double unknown_u95_deg;          /**< 5: what an angle counts as good to where that is
                                          not known */
};
/** `path` NULL: models/care.ini. OMO_ERR_OPEN, OMO_ERR_SETTINGS, one sentence. */
OMO_API OMO_MUST_CHECK enum omo_status omo_care_load(const char *path,
                                                     struct omo_care *out);

/* ---- how sore today ---- */

/** The day's five answers. */
struct omo_soreness {
    double now, worst_24h; /**< 0..10; NAN not answered */
    int woken;             /**< last night: 1 yes, 0 no, -1 not answered */
    int constant;          /**< pain at rest or all night: 1, 0, -1 */
    int before_end;        /**< pain before the end of range: 1, 0, -1 */
};
/** How sore a day is, from calm to sore. */
enum omo_sore { OMO_SORE_CALM, OMO_SORE_MIDDLE, OMO_SORE_SORE };
/** "calm", "middle", "sore". */
OMO_API const char *omo_sore_name(enum omo_sore sore);
/** What is not answered counts as the more careful answer, of all five; the larger of the
 *  two pains counts. A night woken is never calm. (Kelley et al. 2013, from memory.) */
OMO_API enum omo_sore omo_sore_of(const struct omo_care *care,
                                  const struct omo_soreness *soreness);
/** Whether the step must end for pain: at or above the limit, or a rise over the start.
 *  NAN start: the limit alone. */
OMO_API bool omo_pain_ends(const struct omo_care *care, double limit, double start,
                           double now);

/* ---- what is known of a person ---- */

/** History and what the practitioner ticked: bits. Names as in sheet.csv. */
enum omo_history {
    OMO_HISTORY_BLOOD_THINNERS = 1u << 0,
    OMO_HISTORY_NODES_REMOVED = 1u << 1,
    OMO_HISTORY_RADIOTHERAPY = 1u << 2,
    OMO_HISTORY_CLOT = 1u << 3,
    OMO_HISTORY_LINE_ARM = 1u << 4, /**< dialysis or line in the arm */
    OMO_HISTORY_FRACTURE = 1u << 5,
    OMO_HISTORY_FRAGILE_BONE = 1u << 6,
    OMO_HISTORY_DISLOCATION = 1u << 7,
    OMO_HISTORY_JOINT_REPLACED = 1u << 8,
    OMO_HISTORY_DEVICE = 1u << 9,      /**< a cardiac device */
    OMO_HISTORY_DEVICE_NEW = 1u << 10, /**< put in lately */
    OMO_HISTORY_SURGERY = 1u << 11,    /**< of this shoulder */
    OMO_HISTORY_PREGNANCY = 1u << 12,
    OMO_HISTORY_DIZZINESS = 1u << 13,
    OMO_HISTORY_GLAUCOMA = 1u << 14,
    OMO_HISTORY_BOTH_SIDES = 1u << 15, /**< both shoulders affected */
    OMO_HISTORY_BITS = 16,
};
/** Those after which a movement is only offered with a limit that was set for it. */
#define OMO_HISTORY_NEEDS_LIMIT                                                          \
    ((unsigned)OMO_HISTORY_SURGERY | (unsigned)OMO_HISTORY_FRACTURE |                    \
     (unsigned)OMO_HISTORY_DISLOCATION | (unsigned)OMO_HISTORY_DEVICE_NEW)
OMO_API const char *omo_history_name(int bit);  /**< "blood-thinners" ...; NULL past */
OMO_API const char *omo_history_words(int bit); /**< for people, to be translated */

/** What a limit lets the arm do. */
enum omo_allowed { OMO_ALLOWED_NONE, OMO_ALLOWED_ASSISTED, OMO_ALLOWED_ACTIVE };
/** A limit set by a surgeon or practitioner. One that has run out stays in force until it
 *  is renewed; of several for one movement and side the strictest counts, so the caller
 *  leaves out what was replaced. */
struct omo_limit {
    char movement[24];  /**< also "pendulum" or a finding's name; "" every movement */
    char side[8];       /**< "left", "right"; "" and "both": either */
    double ceiling_deg; /**< NAN: none stated */
    enum omo_allowed allowed;
    double load_kg;                   /**< most; NAN: none allowed */
    char set_by[32], valid_until[16]; /**< YYYY-MM-DD; "" no end */
};

/** One earlier session, newest first, of one movement, side and mode. */
struct omo_past {
    char date[16]; /**< YYYY-MM-DD */
    char movement[24], side[8], mode[16];
    double mean_of_maxima_deg, max_deg, u95_deg;
    double pain_at_max, pain_after;
    enum omo_sore sore; /**< of that day */
    bool comfortable;   /**< ended without pain at the limit and was not on a sore day */
};
/** One earlier step that matters for what is offered, in any order. What lies before the
 *  practitioner took an area up again is left out by the caller. */
struct omo_past_step {
    char date[16];
    enum omo_step_kind kind;
    char area[32], movement[24], side[8]; /**< movement: of a stay */
    double held_s; /**< the longest hold of a press or stay; NAN or 0 not known */
    double tenderness_before, tenderness_after;
    double diameter_cm;
    int clockwise, counter_clockwise;
    bool discomfort;
    bool ended_by_sign; /**< tingling, pulse, heat, lump */
};

/** All that the rules know of a person; who fills it in owns what it lends. */
struct omo_person_state {
    enum omo_side affected; /**< whose arm "affected" means */
    bool affected_known;
    unsigned history;                 /**< bits */
    bool taught_front, taught_armpit; /**< by area: omo_area.taught */
    bool weight_ticked;
    double weight_most_kg; /**< what was ticked; NAN none: then no weight */
    bool mark_told;        /**< the practitioner lets marks rise above the median */
    double told_mark_deg;  /**< NAN none; of this movement and side alone: */
    char told_movement[24], told_side[8];
    const struct omo_limit *limits;
    size_t limit_count;
    const struct omo_past *past;
    size_t past_count;
    const struct omo_past_step *past_steps;
    size_t past_step_count;
    char today[16]; /**< YYYY-MM-DD */
};

/** What a step is offered as. Limits are already applied. */
struct omo_offer {
    bool offered;
    enum omo_sore sore;
    bool comfort_only;  /**< no stays, targets or best marks; measuring within comfort; a
                             press is a supported rest, with nothing pressed */
    double ceiling_deg; /**< of every target, cue and step; NAN none */
    double warn_deg;    /**< ceiling minus u95 */
    double target_deg;  /**< today's mark, never above warn_deg; NAN none */
    double hold_s;      /**< after the rules */
    int breaths, ease_ups, repetitions, circles;
    enum omo_pace_kind pace;
    double load_kg; /**< 0 none */
    bool assisted;  /**< active is not allowed; assisted is */
    double pain_limit;
    char why[256]; /**< one sentence, translated: why not, or why less, or the mark */
};
/** The rules over one step. `u95_deg`: what the angle is good to (NAN: not known; then
 * 5). A side of OMO_STEP_BOTH takes the stricter of the two; so does "affected" where
 * nobody has said which one is. `programme` may be NULL. */
OMO_API void omo_offer_step(const struct omo_care *care, const struct omo_step *step,
                            const struct omo_programme *programme,
                            const struct omo_person_state *person,
                            const struct omo_soreness *soreness, double u95_deg,
                            struct omo_offer *out);

/* ---- today's mark ---- */

/** Median of the last comfortable session means; NAN (with the reason) on a sore day,
 *  after a sore night, or without enough sessions. Never above the median unless the
 *  practitioner says so; never above the ceiling. */
OMO_API double omo_mark_today(const struct omo_care *care,
                              const struct omo_person_state *person, const char *movement,
                              const char *side, const char *mode,
                              const struct omo_soreness *soreness, double ceiling_deg,
                              char *why, size_t why_size);

/* ---- red flags ---- */

/** How soon something has to be looked at; the larger the sooner. */
enum omo_urgency {
    OMO_URGENCY_NONE,
    OMO_URGENCY_DAYS,
    OMO_URGENCY_TODAY,
    OMO_URGENCY_NOW
};
/** A sign that wants somebody's eyes, in words for people. */
struct omo_red_flag {
    const char *name;  /**< "chest-pain" ... for notes.csv */
    const char *words; /**< for people, to be translated */
    enum omo_urgency urgency;
};
OMO_API const struct omo_red_flag *omo_red_flag_at(int index); /**< NULL past the last */
/** What to do, translated; never what it might be. */
OMO_API const char *omo_urgency_words(enum omo_urgency urgency);

/** The short question, or every sign. */
enum omo_list_due { OMO_LIST_SHORT, OMO_LIST_WHOLE };
/** Which list is due: the whole one at the first session, after gap_days without one, or
 *  when a fall, an injection or surgery is told. */
OMO_API enum omo_list_due omo_red_flags_due(const struct omo_care *care,
                                            const char *last_date, const char *today,
                                            bool fall_injection_or_surgery);

/* ---- what stops a programme ---- */

/** A range below the five-session median by more than error, together with new pain,
 *  weakness or numbness: stops, and the whole list is shown. */
OMO_API bool omo_range_fell(const struct omo_care *care,
                            const struct omo_person_state *person,
                            const struct omo_past *now, bool new_sign);
/** Active far below assisted of the same movement and side, newest of each: one sentence
 *  in `why`, true. */
OMO_API bool omo_active_lags(const struct omo_care *care,
                             const struct omo_person_state *person, char *why,
                             size_t why_size);

#ifdef __cplusplus
}
#endif

#endif
