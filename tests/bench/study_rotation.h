/**
 * The arm of someone who lies on the back with the elbow bent: the forearm turns about
 * the upper arm, along which the camera looks. Of the body's directions forward is up
 * then.
 */
#ifndef STUDY_ROTATION_H
#define STUDY_ROTATION_H

#include "study_body.h"

/** Along the upper arm towards the elbow, as the camera was set up for it. */
struct space study_rotation_arm(const struct study_person *person);
/** As study_pose_at; truth is the forearm's turn about the upper arm from straight ahead.
 */
void study_rotation_pose(const struct study_person *person, double time_s, double arm_deg,
                         struct study_pose *pose);

#endif
