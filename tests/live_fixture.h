/** A figure that is told what to do while it is measured live: shared by the tests of the
 *  live movement. */
#ifndef OMO_TESTS_LIVE_FIXTURE_H
#define OMO_TESTS_LIVE_FIXTURE_H

#include "body_model.h"
#include "omogon/live.h"

#define FED_MAX 6000

/** What was fed and what came of it, frame for frame. */
extern struct omo_track_frame fed[FED_MAX];
extern struct omo_live_view seen[FED_MAX];
extern size_t fed_count;

extern struct omo_live *live;
extern struct omo_live_settings live_settings;
extern struct omo_movement_table *live_table;

/** How the figure and its camera are; to be changed between steps. */
struct stage {
    struct figure figure;
    double now_s, rate_hz, angle_deg;
    double noise_px, breath_deg; /**< breath at 0.25 Hz */
    double tremor_deg;           /**< at 5 Hz */
    unsigned hidden;             /**< bits of roles */
    double hip_hidden_below_deg; /**< the hanging arm covers the hip; 0: never */
    double aside_px;             /**< the camera was moved */
    bool repeated, damaged;
    unsigned noise_state;
};
extern struct stage stage;

void load_live_table(void);
void drop_live_table(void);
/** A figure with settings of its own; ends what ran before. */
void begin_live(const struct figure *figure);
/** The same with live_settings as they are now. */
void begin_again(void);
void end_live(void);

/** One frame. */
void feed(void);
/** The arm stays where it is, or goes somewhere as arms do: without a jerk. */
void keep_still(double seconds);
void move_arm(double to_deg, double seconds);
/** Up, 1.5 s there (which is no pause when pause_s is 0), and down. */
void raise_arm(double top_deg);
/** Still until neutral is taken. */
void reach_neutral(void);

const struct omo_live_view *last_view(void);
/** How many frames had the event since `from`. */
int events_since(size_t from, enum omo_live_event event);

#endif
