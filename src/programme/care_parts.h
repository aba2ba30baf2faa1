/** What the rules over a step are made of. */
#ifndef OMO_PROGRAMME_CARE_PARTS_H
#define OMO_PROGRAMME_CARE_PARTS_H

#include "omogon/care.h"

/** The sides a step is about: bits of 1 << enum omo_side. Both where it is not known. */
unsigned omo_sides_of(const struct omo_step *step, const struct omo_person_state *person);

/** A row's "left", "right" against sides; what is neither counts for both. */
bool omo_side_is_among(const char *side, unsigned sides);

/** Writes one sentence, cut at a whole letter. */
void omo_why(char *why, size_t size, const char *format, ...) OMO_PRINTF(3, 4);

/** What all limits together say about a movement on these sides. */
struct omo_limits {
    bool named;          /**< on every side one speaks of this movement by its name */
    bool stated;         /**< on every side there is one */
    bool ceiling_on_all; /**< and each side has a ceiling */
    double ceiling_deg;  /**< the lowest; NAN none */
    enum omo_allowed allowed;
    double load_kg; /**< the most: of any movement on these sides; INFINITY without */
    bool any;       /**< a limit of any movement on these sides */
    const struct omo_limit *lowest, *expired; /**< NULL none */
};
void omo_limits_of(const struct omo_person_state *person, const char *movement,
                   unsigned sides, struct omo_limits *out);

/** The name under which limits of a step stand: its movement, "pendulum", or a finding
 * that moves the arm; NULL where nothing is moved. */
const char *omo_limited_name(const struct omo_step *step);

/** Why history hides a step, translated; NULL: it does not. */
const char *omo_hidden_why(const struct omo_step *step, unsigned history);
/** Whether history rules out a weight in the hand. */
bool omo_weight_hidden(unsigned history);

/** The rules of a press; false: not offered, with the reason in out->why. */
bool omo_press_offered(const struct omo_care *care, const struct omo_step *step,
                       const struct omo_person_state *person, unsigned sides,
                       struct omo_offer *out);
/** A hold by time that is only a little longer than the last ones of its kind were. */
void omo_hold_dose(const struct omo_care *care, const struct omo_step *step,
                   const struct omo_person_state *person, unsigned sides,
                   struct omo_offer *out);
/** Circles and weight of a pendulum. */
void omo_swing_dose(const struct omo_care *care, const struct omo_step *step,
                    const struct omo_person_state *person, unsigned sides,
                    const struct omo_limits *limits, struct omo_offer *out);

/** Median of the last comfortable means of a movement, side and mode, and of how many;
 *  NAN with fewer than care->mark_least. */
double omo_comfortable_median(const struct omo_care *care,
                              const struct omo_person_state *person, const char *movement,
                              const char *side, const char *mode, int *count);

/** Median of up to `count` values, which are put in order. NAN of none. */
double omo_median_of(double *values, int count);

/** Whole days from one YYYY-MM-DD to another; false when one is none. */
bool omo_days_between(const char *from, const char *to, int *days);

#endif
