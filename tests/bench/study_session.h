/** One simulated session: a body before a camera, measured by the library. */
#ifndef STUDY_SESSION_H
#define STUDY_SESSION_H

#include "study_camera.h"

/**
 * What one session came to. All maxima follow the library's rule for maxima
 * (omo_sustained_max_deg over 0.2 s, gaps up to 0.1 s), the true ones on the exact
 * directions of the humerus (joint centre to the elbow's centre):
 * truth_deg: elevation in the arm's own plane, whichever that is, against the trunk as it
 *     stood at rest: its axis is the line from the hips' middle to the chest, which
 * counts as upright as it was then. This is the angle as it is defined; turned_deg: the
 * same against the thorax, which turns more than that line when the trunk bends;
 * thorax_deg: against the thorax itself, which may not have stood upright at rest either.
 * NAN is "none".
 */
struct study_row {
    struct study_case of;
    bool stiff;
    double arc_deg, truth_deg, turned_deg, thorax_deg;
    double measured_deg, u95_deg;
    double thorax_u95_deg; /**< the same against the thorax itself */
    double uncorrected_deg, uncorrected_u95_deg;
    double before_hike_deg, rest_deg, true_rest_deg, lean_at_max_deg, true_lean_deg;
    double onset_deg, true_onset_deg;
    double hike_mm;     /**< reached at the top */
    double hike_30_mm;  /**< most within any 30 degrees of the arm's angle */
    double rise_max_mm; /**< natural, at the top */
    double pivot_offset_ratio, plane_turn_deg, trunk_rest_offset_deg;
    double true_plane_turn_deg; /**< of the arm against the picture, at the top */
    double seen_ratio;
    enum omo_reference reference;
};

/** Rooms for frames and rows, used again from session to session. */
struct study_work;
struct study_work *study_work_create(void);
void study_work_destroy(struct study_work *work);

/** One frame as the camera has it. */
struct study_view {
    const struct study_person *person;
    const struct study_camera *camera;
    const struct study_pose *pose;
    struct omo_point place[OMO_ROLE_COUNT]; /**< of the markers, without noise */
    double px_per_m[OMO_ROLE_COUNT];
    size_t frame; /**< 0 begins a new session */
    double time_s;
};
/** Another way to find the markers than by their true places and noise; false with a
 *  sentence ends the session without a result. */
struct study_eye {
    bool (*look)(void *self, const struct study_view *view, struct omo_markers *markers);
    void *self;
};

/** Measures a person who stands before the camera; eye NULL: true places and noise. */
void study_session_measure(struct study_work *work,
                           const struct omo_movement_table *table,
                           const struct study_person *person, const struct study_eye *eye,
                           struct study_row *row);
/** Draws the person, puts the camera where it sees the arm, and measures. */
void study_session_run(struct study_work *work, const struct omo_movement_table *table,
                       const struct study_case *of, const struct study_eye *eye,
                       struct study_row *row);

#endif
