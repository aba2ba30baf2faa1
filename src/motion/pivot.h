/**
 * Where the joint is beside its marker, and how far the arm's plane is turned out of the
 * picture's: found from the paths of elbow and wrist in the trunk's frame.
 *
 * Plane coordinates here: `ahead` the way the movement goes across the trunk, `down`
 * along it, in mm on an upper arm of OMO_UPPER_ARM_MM, from the picture's centre.
 */
#ifndef OMO_MOTION_PIVOT_H
#define OMO_MOTION_PIVOT_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/geometry.h"
#include "omogon/most_probable.h"
#include "omogon/motion.h"

/** A place in the trunk's frame. */
struct omo_spot {
    double ahead, down;
};

/** What one picture, or the mean of several with the arm at about one angle, shows. */
struct omo_pivot_view {
    struct omo_spot shoulder, elbow, wrist;
    bool wrist_seen;
    double lean_deg; /**< of the trunk since rest, away from the arm */
};

/** The unknowns of the fit. */
enum omo_pivot_unknown {
    OMO_PIVOT_LENGTH,      /**< ln(joint to elbow / the line between their markers) */
    OMO_PIVOT_UP,          /**< shoulder marker above the joint at rest, mm */
    OMO_PIVOT_AHEAD,       /**< ... and ahead of it */
    OMO_PIVOT_SHARE,       /**< the shoulder blade's share of the arm's angle */
    OMO_PIVOT_SETTING,     /**< ... from this angle on, deg */
    OMO_PIVOT_SLIDE_AHEAD, /**< the skin's slide at 150 deg, mm; it grows
                                as the angle to the power of 1.5 */
    OMO_PIVOT_SLIDE_DOWN,
    OMO_PIVOT_TURN,       /**< of the arm's plane, deg; positive away from the camera */
    OMO_PIVOT_TURN_DRIFT, /**< ... at 150 deg, beyond it */
    OMO_PIVOT_STANCE,     /**< the person's own turn, beyond what the arm's tells of it */
    OMO_PIVOT_BEND,       /**< forearm against upper arm, deg, the movement's way */
    OMO_PIVOT_BEND_DRIFT,
    OMO_PIVOT_ELBOW_ACROSS, /**< marker beside the bone, mm, the movement's way */
    OMO_PIVOT_ELBOW_TURN,   /**< ... carried there by the limb's own turn over the arc */
    OMO_PIVOT_WRIST_ACROSS,
    OMO_PIVOT_WRIST_TURN,
    OMO_PIVOT_UNKNOWNS
};
_Static_assert(OMO_PIVOT_UNKNOWNS <= OMO_UNKNOWNS, "the solver has room for them");

/** What stays as it is during a fit. */
struct omo_pivot_scale {
    double distance_mm;                      /**< camera to shoulder */
    double elbow_behind_mm, wrist_behind_mm; /**< markers behind the shoulder's, their
                                                  limbs in the picture's plane */
    double trunk_mm;                         /**< hip to shoulder */
    double stance_share; /**< of the plane's turn that is the person's own */
    double arc_deg;      /**< where the limbs' own turn is complete */
};

/** What the unknowns make of a view. */
struct omo_pivot_reading {
    double angle_deg;  /**< of the bone from joint to elbow, -180..180 */
    double length_mm;  /**< of that bone, as if it were OMO_UPPER_ARM_MM long */
    double bend_deg;   /**< of the forearm's bone against it; NAN no wrist */
    double forearm_mm; /**< NAN no wrist */
};

/** Reads a view; start_deg is where the search for the angle begins (the image's). */
struct omo_pivot_reading omo_pivot_read(const double *unknown,
                                        const struct omo_pivot_scale *line_scale,
                                        const struct omo_pivot_view *line_view,
                                        double start_deg);
/** Share of what grows to its full size over the movement's arc. */
double omo_pivot_grown(const struct omo_pivot_scale *scale, double angle_deg);

/* The arc in parts: what a growing take needs to keep. */
#define OMO_PIVOT_PART_DEG 6.0
#define OMO_PIVOT_FROM_DEG (-60.0)
#define OMO_PIVOT_PARTS    45
/* Where the shoulder's marker may be, and which way the arm's plane may be turned: a
 * length alone does not tell towards the camera from away, and a search that starts on
 * the wrong side may stay there. */
#define OMO_PIVOT_TRIES (2 * OMO_PLACE_NOT_TOLD)

struct omo_pivot_part {
    size_t frames, wrists;
    double image_deg, lean_deg;      /**< sums */
    struct omo_spot shoulder, elbow; /**< sums, px, from the picture's centre */
    struct omo_spot forearm;         /**< sum of the ways from elbow to wrist, px */
};

/** Shares of the variance of a corrected angle, deg^2. */
struct omo_pivot_variance {
    double fit;       /**< pivot and plane, with the elbow's marker known */
    double placement; /**< the elbow's marker beside its place */
    double turn;      /**< ... and carried round by the limb's own turn */
};

struct omo_pivot {
    bool known;  /**< fitted, or the priors taken for want of data */
    bool fitted; /**< the movement said something */
    bool bent;   /**< the elbow is bent: the wrist was left out */
    bool wrist;  /**< the wrist was used */
    double mm_per_px;
    struct omo_pivot_scale scale;
    struct omo_pivot_part part[OMO_PIVOT_PARTS];
    double weight[OMO_PIVOT_TRIES];
    struct omo_probable found[OMO_PIVOT_TRIES];
    /** At the middle of each part; parts without frames have their neighbour's. */
    struct omo_pivot_variance variance[OMO_PIVOT_PARTS];
    /** What the mean angle is beyond the most probable shoulder's: a plane whose turn is
     *  not known bends the angle one way, whichever way it turns. */
    double shift_deg[OMO_PIVOT_PARTS];
    bool warm;      /**< found[] is where the next search starts */
    double since_s; /**< live: time of the last fit */
};

/** Forgets the frames, keeps what was found. */
void omo_pivot_clear(struct omo_pivot *pivot);
/** Takes a view in px in; image_deg is the angle between its markers. */
void omo_pivot_take(struct omo_pivot *pivot, const struct omo_pivot_view *view,
                    double image_deg);
/** Fits. `room` holds omo_pivot_room() doubles. focal_px: the camera's focal length.
 *  steps: of the search, from where the last one ended; 0: a whole search. */
size_t omo_pivot_room(void);
void omo_pivot_fit(struct omo_pivot *pivot, const struct omo_measure_settings *settings,
                   double focal_px, int steps, double *room);
/** The bone's angle from a view in px; image_deg unless known. */
double omo_pivot_angle_deg(const struct omo_pivot *pivot,
                           const struct omo_pivot_view *view, double image_deg);
struct omo_pivot_variance omo_pivot_variance_at(const struct omo_pivot *pivot,
                                                double image_deg);
/** How far the limb's own turn may carry the marker of elbow or wrist across it over
 *  the arc: a standard deviation, mm. */
double omo_turned_mm(const struct omo_measure_settings *settings, enum omo_role role);
/** Of the most probable shoulder: marker to joint over the upper arm; the plane's turn.
 */
double omo_pivot_offset_ratio(const struct omo_pivot *pivot);
double omo_pivot_turn_deg(const struct omo_pivot *pivot);

#endif
