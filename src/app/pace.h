/** How old pictures are when they are shown, and what a run costs. */
#ifndef OMO_APP_PACE_H
#define OMO_APP_PACE_H

#include <stdint.h>

#define OMO_PACE_BINS 1001

/** What was on screen for the first time. */
enum omo_pace_mark { OMO_PACE_PICTURE, OMO_PACE_MARKER, OMO_PACE_ANGLE, OMO_PACE_MARKS };

/** Zero-initialise but for begin. */
struct omo_pace {
    int64_t shown;
    int64_t bin[OMO_PACE_BINS]; /**< ages in whole ms; the last takes all above */
    int64_t begun_ns;           /**< by the system's monotonic clock */
    double begun_cpu_s;
    double first_s[OMO_PACE_MARKS]; /**< seconds after the process began; 0: not yet */
};

void omo_pace_begin(struct omo_pace *pace);
/** Called when the process begins. */
void omo_pace_process_begins(void);
/** Notes the first time of this. */
void omo_pace_first(struct omo_pace *pace, enum omo_pace_mark mark);
void omo_pace_add(struct omo_pace *pace, int64_t age_ns);
/** Age that this share of the pictures does not exceed, ms; NAN without any. */
double omo_pace_age_ms(const struct omo_pace *pace, double share);
/** Processor time of all threads since begin, as a share of one core. */
double omo_pace_cpu_ratio(const struct omo_pace *pace);
/** Seconds since begin. */
double omo_pace_spent_s(const struct omo_pace *pace);

#endif
