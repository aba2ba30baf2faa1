/**
 * The body of the simulation study: richer than anything the library fits, and sharing no
 * code with it. A right arm is raised three times.
 *
 * The trunk leans as a whole about the hips; its lower half bends; the thorax on top of
 * it turns with both. On the thorax the girdle rises, hikes and goes forward; on the
 * girdle the shoulder blade turns after a setting phase and carries the shoulder marker,
 * whose skin slides; the joint centre shifts on the blade. The upper arm turns about its
 * own length, which carries the elbow's marker and the carrying angle round; the elbow
 * bends.
 */
#ifndef STUDY_BODY_H
#define STUDY_BODY_H

#include <stdbool.h>
#include <stdint.h>

#include <gsl/gsl_rng.h>

#include "omogon/motion.h"

#include "study_space.h"
#include "study_spreads.h"

enum study_movement {
    STUDY_FLEXION,
    STUDY_ABDUCTION,
    STUDY_SCAPTION,
    STUDY_EXTENSION,
    STUDY_EXTERNAL,
    STUDY_INTERNAL,
    STUDY_MOVEMENTS
};
enum study_set { STUDY_BANDS, STUDY_STICKERS5, STUDY_STICKERS8, STUDY_SETS };
enum study_placement { STUDY_HEAD, STUDY_EDGE, STUDY_PLACEMENTS };
enum study_trunk { STUDY_CHEST_HIP, STUDY_HIP_ONLY, STUDY_NO_TRUNK, STUDY_TRUNKS };
enum study_girdle { STUDY_MOVING, STUDY_FROZEN, STUDY_GIRDLES };

/** What one session is. The same seed is the same person with the same movement; another
 *  visit is the markers put on again, with a new place of the camera and turn to it. */
struct study_case {
    uint64_t seed;
    int visit;
    enum study_movement movement;
    enum study_set set;
    enum study_placement placement;
    enum study_trunk trunk;
    enum study_girdle girdle;
    bool single;   /**< one raise in place of STUDY_RAISES */
    bool levelled; /**< the camera's level is known from a board */
    bool told;     /**< somebody says where the shoulder marker sits */
};

/** NULL past the end. */
const char *study_movement_name(int movement);
const char *study_set_name(int set);
const char *study_placement_name(int placement);
const char *study_trunk_name(int trunk);
const char *study_girdle_name(int girdle);

enum { STUDY_RAISES = 3, STUDY_VISITS = 2 };
/** Independent numbers of one seed; those that differ by visit take STUDY_VISITS. */
enum {
    STUDY_STREAM_BODY,
    STUDY_STREAM_CAMERA,
    STUDY_STREAM_MARKERS = STUDY_STREAM_CAMERA + STUDY_VISITS,
    STUDY_STREAM_NOISE = STUDY_STREAM_MARKERS + STUDY_VISITS,
};
/** Freed by the caller. */
gsl_rng *study_random(const struct study_case *of, int stream);

struct study_person {
    struct study_case of;
    double body[STUDY_BODY_VALUES], set_up[STUDY_SET_UP_VALUES];
    double arc_deg;
    double share, setting_deg; /**< of the shoulder blade */
    bool stiff, hikes;
    double hike_onset_deg; /**< NAN no excess hike */
    double azimuth_deg;    /**< of the movement's plane: 0 to the right, 90 forward */
    double abduction_deg;  /**< of rotations */
    double camera_side;    /**< +1 camera a quarter further round than the plane, or -1 */
};

/** Takes one value of study_spreads.h as fixed from now on, e.g. "BEND_DEG=0"; all others
 *  stay as they were. False when there is none of that name, or no number. */
bool study_fix(const char *assignment);

/** Rotation about the upper arm, lying on the back, rather than elevation. */
bool study_is_rotation(enum study_movement movement);
/** Seen from the side rather than from the front. */
bool study_is_from_side(enum study_movement movement);

/** Draws a person and the set-up for a visit. Tries of a set-up differ in the camera
 * alone: for those that do not see the markers. */
void study_person_draw(const struct study_case *of, int attempt,
                       struct study_person *person);

/** Length of the clip. */
double study_duration_s(const struct study_person *person);
/** Where the arm is: its angle against the thorax as it stood at rest. */
double study_arm_deg(const struct study_person *person, double time_s);
/** Highest angle of all its raises. */
double study_top_deg(const struct study_person *person);
/** Rise by excess hike at this angle of the arm. */
double study_hike_mm(const struct study_person *person, double arm_deg);

struct study_pose {
    struct space joint, elbow, wrist, fingertips, hips, neck;
    struct space marker[OMO_ROLE_COUNT];
    double marker_m[OMO_ROLE_COUNT];     /**< what the camera takes for its diameter */
    struct space facing[OMO_ROLE_COUNT]; /**< unit, out of the skin under it */
    struct space along[OMO_ROLE_COUNT];  /**< unit, along its limb, of elbow and wrist */
    /* The arm's elevation in its own plane, whichever that is. */
    double rest_deg;   /**< against the thorax, upright being how it stood at rest */
    double thorax_deg; /**< against the thorax itself */
    double line_deg;   /**< against the hip-to-chest line, as the first */
};
/** At a time, with the arm where study_arm_deg says; or with it held at arm_deg. */
void study_pose_at(const struct study_person *person, double time_s, double arm_deg,
                   struct study_pose *pose);

#endif
