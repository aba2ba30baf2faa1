/** Parts of the pendulum: a sample, how far the wrist has turned, what a lap was like. */
#ifndef OMO_MOTION_SWING_H
#define OMO_MOTION_SWING_H

#include <stdbool.h>
#include <stddef.h>

#include <glib.h>

#include "omogon/pendulum.h"

/* ---- swing_eye.c: from pixels to viewing angles ---- */

/** How the camera sees. */
struct omo_swing_eye {
    struct omo_lens lens;
    double right[3], down[3], ahead[3]; /**< of the room, in the camera's axes; unit */
    double size_mm;
    bool size_known, band, mirrored;
    double horizon_u_deg; /**< standard uncertainty of where the horizon is */
};
/** OMO_ERR_ARG as omo_pendulum_create(). */
OMO_MUST_CHECK enum omo_status omo_swing_eye_init(
    const struct omo_pendulum_settings *settings, struct omo_swing_eye *eye);

/** A frame with its wrist. Radians as the camera sees them: across to picture right, down
 *  from the horizon, both of the same scale at the wrist. */
struct omo_swing_sample {
    double time_s;
    double across, down;
    double near; /**< log of marker's size over its distance, as if the limb hung straight
                  */
    double shoulder_across, elbow_across; /**< NAN not seen */
    double arm;      /**< angle the arm takes up, shoulder to wrist; NAN */
    double bend_deg; /**< of the elbow as the picture shows it; NAN */
};
/** False without a wrist. */
bool omo_swing_see(const struct omo_swing_eye *eye, const struct omo_track_frame *frame,
                   struct omo_swing_sample *sample);

/* ---- swing_turn.c: how far round ---- */

/* Slowest lap that is kept whole with the one before: 30 s of samples. */
#define OMO_SWING_SAMPLES_MAX 2560

enum omo_swing_kind {
    OMO_SWING_BY_SIZE,    /**< the marker's size shows the depth */
    OMO_SWING_BY_ELLIPSE, /**< what is down in the picture shows the way */
    OMO_SWING_BY_SPEED,   /**< edge-on, and the size does not tell: no way */
};

struct omo_swing_box {
    double low, high;
};
/** A value beside each sample, and how far it reaches. */
struct omo_swing_series {
    double value[OMO_SWING_SAMPLES_MAX];
    struct omo_swing_box box;
};

/** What the turn is read from. */
struct omo_swing_course {
    struct omo_swing_series *room; /**< three of them, to work in */
    const struct omo_swing_sample *sample;
    size_t begin, count; /**< what came before begin shows the circle's middle too */
    bool first;          /**< no lap came before */
    enum omo_swing_kind kind;
    int way; /**< -1, 0 not known yet, +1 clockwise: by size as seen from above, by the
                  ellipse in the picture */
    double rate; /**< radians a second, for what is hidden; NAN */
};
/** How far round, radians, and from the ellipse which way. */
struct omo_swing_turn {
    double half_across, half_down; /**< of the ellipse with what came before */
    bool by_size;                  /**< the size stands out from its noise */
    bool size_fails;               /**< the size has nothing to do with the turn */
    double turn;                   /**< 0 .. a whole turn */
    size_t from, furthest;         /**< the samples it was read from */
    bool closed;                   /**< a whole turn, at `furthest` */
    int way;                       /**< as omo_swing_course */
    double wound, back;            /**< furthest in that way, and back since */
    bool reversed;                 /**< it has turned back ... */
    size_t back_at;                /**< ... there ... */
    double before_back;            /**< ... after so much of `turn` */
};
void omo_swing_follow(const struct omo_swing_course *course, struct omo_swing_turn *turn);

/* ---- swing_lap.c: what a lap was like ---- */

struct omo_swing_lap {
    double lasts_s;
    double half;       /**< half its width, radians */
    double width_mm;   /**< of a marker that is omo_swing_eye.size_mm large */
    double below_deg;  /**< middle below the horizon */
    double arm;        /**< angle the arm takes up; NAN */
    double round_down; /**< depth over width as `down` shows it: the sine of the camera's
                          height over the plane, positive clockwise in the picture */
    double round_near; /**< depth over width as the marker's size shows it, positive
                            clockwise from above */
    double round_near_u; /**< its noise */
    bool to_rest; /**< it swings out of a rest or into one, which makes it smaller */
    double open;  /**< area of the ellipse over that of its box's ellipse, 0..1 */
    double hangs; /**< share of its swing that leans the arm, the body's taken off;
                       NAN */
    double loose; /**< omo_pendulum_view.loose_ratio; NAN */
    enum omo_swing_way way;
};
/** `to_rest`: it swings out of a rest or into one. */
void omo_swing_lap_of(const struct omo_swing_eye *eye,
                      const struct omo_swing_sample *sample, size_t count, bool to_rest,
                      struct omo_swing_lap *lap);

/* ---- swing_way.c: which way ---- */

/** How far the camera stands off the plane of all laps, degrees; NAN without a lap. */
double omo_swing_off_plane_deg(const struct omo_swing_lap *lap, size_t count);
/** Says of each lap which way it went; returns +1 when the camera sees the circles' upper
 *  side, -1 the under side, 0 not known. */
int omo_swing_tell_ways(const struct omo_swing_eye *eye, struct omo_swing_lap *lap,
                        size_t count);

/* ---- swing_count.c: from samples to laps ---- */

struct omo_pendulum {
    struct omo_swing_eye eye;
    struct omo_swing_sample sample[OMO_SWING_SAMPLES_MAX];
    size_t count, begin; /* of the samples; the lap being swung begins there */
    bool swinging, flat;
    int backs;       /* turned back since the last lap */
    bool size_fails; /* to follow the turn, in this set */
    bool round;      /* by the marker's size, as the last lap had it */
    bool fresh;      /* no lap yet since the wrist began to move */
    bool from_rest;  /* this stretch began out of a rest */
    enum omo_swing_kind kind;
    int way;        /* of the picture or the course, as omo_swing_course */
    double lap_s;   /* how long the last lap took; NAN */
    double time_s;  /* of the last frame */
    double since_s; /* of this stretch, without a stop */
    int side;
    GArray *laps; /* struct omo_swing_lap */
    struct omo_swing_turn turn;
    struct omo_swing_series room[3];
};

/** The next sample; whether it completes a lap. */
bool omo_swing_take(struct omo_pendulum *p, const struct omo_swing_sample *sample);
/** No sample follows; whether that completes a lap. */
bool omo_swing_end(struct omo_pendulum *p);

#endif
