/** State of the tracker, shared by the files that make it up. */
#ifndef OMO_VISION_TRACKER_H
#define OMO_VISION_TRACKER_H

#include "candidates.h"
#include "figure.h"

/** A followed marker. Positions upright, outlines as the planes lie. */
struct omo_track {
    bool ever, seen;   /**< at all; in the last frame */
    double x_px, y_px; /**< when last seen */
    double vx_px_s, vy_px_s, ax_px_s2, ay_px_s2;
    double time_s;                   /**< when last seen */
    struct omo_outline outline;      /**< slow mean of what was clear */
    struct omo_outline seen_outline; /**< the same of the moments' outline */
    double rim;                      /**< slow mean of its rim, see omo_spot */
    double core[2], ground[2]; /**< slow means of its chroma and of what is around */
    int frames;                /**< seen in so many */
    int lost_frames;           /**< frames since */
};

/** Length and direction between two roles as last seen together. */
struct omo_link {
    bool known;
    double log_length;
    double direction_deg; /**< on the picture, from the first role to the second */
    double full_px;       /**< of an arm's part: length when it lay in the picture */
    int full_frames;      /**< in which it had that length */
    double time_s;
};

/** Something that looks like a marker but belongs to nobody followed. Having been seen
 *  beside the real one it cannot become it later. */
struct omo_bystander {
    bool used;
    int class_index;
    double x_px, y_px, vx_px_s, vy_px_s, diameter_px;
    double time_s;                /**< when last seen */
    int frames;                   /**< seen in so many */
    int together[OMO_ROLE_COUNT]; /**< frames in which the role was seen elsewhere, or
                                    could not have been there */
};
#define OMO_BYSTANDERS_MAX 32
/** So many frames beside the real one make a thing another one. */
#define OMO_TOGETHER_ENOUGH 3

#define OMO_LINK_COUNT        8
#define OMO_LINK_SHOULDER_HIP 2 /* place of that pair among the links */

struct omo_tracker {
    struct omo_tracker_settings settings;
    struct omo_figure_frame figure_frame;
    struct omo_palette palette;
    struct omo_blobs blobs;
    struct omo_candidates candidates;
    struct omo_view_of_frame view;

    int entry_of_role[OMO_ROLE_COUNT];    /**< -1: the set has none */
    struct omo_track tracks[OMO_SET_MAX]; /**< by role, or by entry without a body */
    struct omo_link links[OMO_LINK_COUNT];
    struct omo_bystander bystanders[OMO_BYSTANDERS_MAX];

    double stature_px;     /**< of the followed body, slow mean */
    double shutter;        /**< exposure as a share of the frame's time, by the blur */
    bool bands;            /**< the set has some */
    bool locked;           /**< a body is followed */
    double time_s, step_s; /**< of this frame; since the frame before */
    double lost_since_s;   /**< when the last marker needed was seen */
    double next_challenge_s, challenge_wait_s;
    int challenge_wins;
    double body_score; /**< the best score the followed body has shown */
    int pair_frames;   /**< frames in which the same two-marker body was proposed */
    double pair_x, pair_y;
    int frames_to_search; /**< until a body is looked for again */
    int frames_to_strike; /**< until large patches are looked at afresh */
    int frames_to_light;  /**< frames until the palette is looked after again */

    struct omo_tracker_report report;
    int64_t stated_way, other_way; /**< frames with the arm out, by direction */

    const struct omo_tracker *other_arm; /**< of both arms at once; NULL: one alone */

    /* kept by surroundings.c from one look around to the next */
    bool around_known, around_locked;
    double around_s;
    struct omo_surroundings around;
};

static inline int omo_class_of_role(const struct omo_tracker *tracker, int role)
{
    int entry = tracker->entry_of_role[role];
    return entry < 0 ? -1 : tracker->palette.class_of_entry[entry];
}
static inline enum omo_shape omo_shape_of_role(const struct omo_tracker *tracker,
                                               int role)
{
    return tracker->settings.set.entry[tracker->entry_of_role[role]].shape;
}

/* ---- tracks.c: markers from frame to frame ---- */

/** One marker's outcome in this frame. */
struct omo_sighting {
    struct omo_track *track;
    int class_index; /**< -1: the set has no such marker */
    enum omo_shape shape;
    bool got;
    double shutter;    /**< exposure's share of the frame's time, NAN not told */
    bool clear;        /**< nothing covers it: fit to learn size and colour from */
    double x_px, y_px; /**< upright */
    struct omo_spot spot;
    int candidate;      /**< the patch it took, or -1 */
    bool returned;      /**< found by the body's layout, not by its motion */
    double return_cost; /**< how badly it fits, then */
};

/** Where it should be now, and how far from there it may be. */
void omo_track_predict(const struct omo_track *track, double time_s, double *x_px,
                       double *y_px, double *gate_px);
/** Cost of a spot as this track's marker: size and colour against what was seen;
 *  `smear` as in omo_spot_cost. */
double omo_track_cost(const struct omo_track *track, const struct omo_spot *spot,
                      double smear);
/** Nothing covers it, as far as its usual outline tells. */
bool omo_track_clear(const struct omo_track *track, enum omo_shape shape,
                     const struct omo_spot *spot, double smear);
/** Measures the track's marker in a candidate, or (NULL) at upright (x, y), with its
 *  known outline when a part seems covered. Sets got; the track is not changed. */
void omo_track_measure(const struct omo_view_of_frame *view,
                       struct omo_candidate *candidate, double x_px, double y_px,
                       struct omo_sighting *sighting);
/** Every track lost for no longer than this looks near its prediction. */
void omo_tracks_follow(struct omo_tracker *tracker, struct omo_sighting *list, int count,
                       double longest_loss_s);
/** Takes the sightings over into their tracks. */
void omo_tracks_update(struct omo_tracker *tracker, struct omo_sighting *list, int count,
                       bool repeated);

/* ---- tracker.c: what both modes share ---- */

/** Finds and sifts the frame's patches. */
enum omo_status omo_tracker_look(struct omo_tracker *tracker,
                                 const struct omo_frame *frame,
                                 const struct omo_sieve *sieve);
/** Roles that were got, as a mask. */
unsigned omo_sighted(const struct omo_sighting *list);
void omo_sighted_figure(const struct omo_sighting *list, struct omo_figure *figure);
/** Takes a sighting back. */
void omo_tracker_drop(struct omo_tracker *tracker, struct omo_sighting *sighting);
/** Gives a measured candidate to the sighting with this index. */
void omo_tracker_sight(struct omo_tracker *tracker, struct omo_sighting *sighting,
                       int index_of_sighting, int candidate);
/** Sightings to the caller's markers, counted for the report. */
void omo_tracker_write(struct omo_tracker *tracker, const struct omo_sighting *list,
                       int count, struct omo_marker *markers);

/* ---- links.c: the body as it was seen so far, and who else is there ---- */

/** Squared deviation of a role at (x, y) from the neighbour sighted in this frame that it
 *  fits worst; *neighbours gets how many there were, *mean the mean over them. */
double omo_links_cost(const struct omo_tracker *tracker, int role, double x_px,
                      double y_px, const struct omo_sighting *list, int *neighbours,
                      double *mean);
void omo_links_update(struct omo_tracker *tracker, const struct omo_sighting *list);
/** Drops sightings that tear the body apart. */
void omo_links_check(struct omo_tracker *tracker, struct omo_sighting *list);
/** Drops a shoulder's band that the acromion's sticker covers in part: the middle of what
 * is left is not the band's, and no reading is better than a wrong one. */
void omo_links_check_band(struct omo_tracker *tracker, struct omo_sighting *list);

void omo_bystanders_match(struct omo_tracker *tracker);
void omo_bystanders_update(struct omo_tracker *tracker, const struct omo_sighting *list,
                           int count);
bool omo_bystander_blocks(const struct omo_tracker *tracker,
                          const struct omo_candidate *candidate, int role);

/* ---- tracker.c: the parts of a step, for one arm or for both ---- */

/** Looks at the frame and follows what is followed. */
enum omo_status omo_tracker_follow(struct omo_tracker *tracker,
                                   const struct omo_frame *frame,
                                   struct omo_sighting list[OMO_ROLE_COUNT]);
/** Keeps the frame's sightings and hands them out. */
void omo_tracker_keep(struct omo_tracker *tracker, const struct omo_frame *frame,
                      struct omo_sighting list[OMO_ROLE_COUNT],
                      struct omo_markers *markers);
/** A body proposed again is held against the followed one after so many seconds, ever
 *  less often, and has to win by a margin. */
#define OMO_CHALLENGE_MARGIN  8.0
#define OMO_CHALLENGE_FIRST_S 0.5
#define OMO_CHALLENGE_MOST_S  4.0

/* ---- comeback.c: markers that come back, or are seen for the first time ---- */

#define OMO_RETURN_MARGIN 4.0 /* better than the next by so much */
/** Looks for every missing role by the body's layout. What `beside` (may be NULL) has
 *  got for the other arm is passed over. */
void omo_bring_all_back(struct omo_tracker *tracker, struct omo_sighting *list,
                        const struct omo_sighting *beside);
static inline bool omo_of_an_arm(int role)
{
    return role == OMO_SHOULDER || role == OMO_ELBOW || role == OMO_WRIST;
}

/* ---- strike.c: large patches in a marker's colour ---- */

/** Strikes the colours of this look's large patches, by the largest area of the markers
 *  that are followed (NAN: none); true when a second look would show something else. */
bool omo_strike_large(struct omo_palette *palette, const struct omo_blobs *blobs,
                      const struct omo_planes *planes, double marker_px2);
void omo_strike_forget(struct omo_palette *palette);

/* ---- acquire.c: a whole body from nothing ---- */

/** Few wear a second marker on the trunk, and along the arm the shoulder is hidden: what
 *  looks like one is more likely something else. */
bool omo_role_spare(const struct omo_tracker *tracker, int role);

struct omo_proposal {
    int candidate[OMO_ROLE_COUNT]; /**< -1: none */
    int count;
    double score;    /**< the higher the better */
    double cost;     /**< of what does not fit, the lower the better */
    double nearness; /**< mean logarithm of the markers' size on the picture */
    double stature_px;
};
/** Best arrangement of the frame's candidates; false when none is good enough. */
bool omo_acquire(struct omo_tracker *tracker, struct omo_proposal *proposal);

/** Where the markers of one arm of two may be; upright px. */
struct omo_fence {
    double shoulder_x, shoulder_y; /**< its shoulder */
    double middle_x;               /**< elbow and wrist lie on its side of this */
    bool trunk_given;              /**< the hip's and the chest's markers are these */
    double trunk_x[2], trunk_y[2]; /**< NAN: none */
};
#define OMO_CHOICES_MAX 20
/** Candidates that look like a shoulder's marker; returns how many. */
int omo_acquire_shoulders(struct omo_tracker *tracker, int candidates[OMO_CHOICES_MAX]);
/** The best arrangement within the fence; false when none is good enough. */
bool omo_acquire_arm(struct omo_tracker *tracker, const struct omo_fence *fence,
                     struct omo_proposal *proposal);

/** Two patches may stay for some frames before they are called a body; others at once. */
bool omo_body_believed(struct omo_tracker *tracker, const struct omo_proposal *proposal);
/** Whether a proposal is the body that is followed, as far as it is seen. */
bool omo_body_agrees(const struct omo_proposal *proposal,
                     const struct omo_sighting *list);
/** Follows this body from now on. */
void omo_start_body(struct omo_tracker *tracker, const struct omo_proposal *proposal,
                    struct omo_sighting *list);

#endif
