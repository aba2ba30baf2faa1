/** A person about whom nothing is known that forbids anything, on a calm day. */
#ifndef OMO_TEST_CARE_FIXTURE_H
#define OMO_TEST_CARE_FIXTURE_H

#include "omogon/care.h"

/** models/care.ini. */
const struct omo_care *care_loaded(void);

/** Right side affected; no history, limits or past; a weight and both areas ticked. */
struct omo_person_state care_person(void);
/** Everything answered, nothing hurts. */
struct omo_soreness care_calm(void);

/** Steps with the parser's defaults. */
struct omo_step care_press(const char *area);
struct omo_step care_pendulum(enum omo_position position, double load_kg);
struct omo_step care_stay(const char *movement);
struct omo_step care_measure(const char *movement);
struct omo_step care_finding(const char *finding);

/** A limit of the right side, without an end and without a load. */
struct omo_limit care_limit(const char *movement, double ceiling_deg);
/** A comfortable calm session of the right side. */
struct omo_past care_past(const char *date, const char *movement, const char *mode,
                          double mean_deg);
/** A press of the right side. */
struct omo_past_step care_pressed(const char *date, const char *area, double tenderness);
/** A stay of the right side. */
struct omo_past_step care_held(const char *date, const char *movement, double held_s);
/** A pendulum of the right side without discomfort. */
struct omo_past_step care_swung(const char *date, double diameter_cm, int clockwise,
                                int counter_clockwise);

#endif
