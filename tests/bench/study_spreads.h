/**
 * What is drawn by lot for a simulated session, and where each figure comes from. One
 * line a value: name with unit, law, its two numbers (mean and standard deviation, or
 * ends), source. "Winter": Biomechanics and Motor Control of Human Movement, after
 * Drillis and Contini 1966, from memory.
 *
 * A person's values stay when the markers are taken off and put on again; a set-up's are
 * drawn anew. Whatever belongs to the movement as it was made is the person's.
 */
#ifndef STUDY_SPREADS_H
#define STUDY_SPREADS_H

#define STUDY_LEVEL_ROLL_U_DEG  0.3
#define STUDY_LEVEL_PITCH_U_DEG 0.5

#define STUDY_BODY_SPREADS(X)                                                            \
    /* Build. Shares of stature stand in study_body.c. */                                \
    X(STATURE_M, NORMAL, 1.68, 0.09, "our choice: adults of both sexes")                 \
    X(UPPER_ARM_SCALE, NORMAL, 1, 0.04, "of Winter's share; spread our choice")          \
    X(FOREARM_SCALE, NORMAL, 1, 0.04, "of Winter's share; spread our choice")            \
    X(TRUNK_SCALE, NORMAL, 1, 0.04, "of Winter's share; spread our choice")              \
    X(BREADTH_SCALE, NORMAL, 1, 0.04, "of Winter's share; spread our choice")            \
    /* The movement. */                                                                  \
    X(ARC_SHARE, UNIFORM, 0, 1, "place in the movement's range of arcs; our choice")     \
    X(REST_DEG, NORMAL, 6, 3, "arm hanging a little out; our choice")                    \
    X(TOP_1_DEG, NORMAL, 0, 2, "of one raise, beyond the arc; our choice")               \
    X(TOP_2_DEG, NORMAL, 0, 2, "the same")                                               \
    X(TOP_3_DEG, NORMAL, 0, 2, "the same")                                               \
    X(UP_S, UNIFORM, 2, 4, "self-paced raise of 2 to 3 s, from memory; wider")           \
    X(DOWN_S, UNIFORM, 1.5, 2.5, "our choice")                                           \
    X(PLANE_DEG, NORMAL, 0, 7, "arm's plane off the one asked for; our choice")          \
    X(PLANE_DRIFT_DEG, NORMAL, 0, 6, "and on the way to 150 degrees; our choice")        \
    /* The shoulder blade: 0.43 degrees a degree of the joint while raising, Braman and  \
     * others 2009 (J Shoulder Elbow Surg 18:960), is 0.30 of the arm's angle; 2 : 1     \
     * after a setting phase, Inman and others 1944, is 0.33. Earlier and more when      \
     * frozen: Vermeulen 2002, Rundquist 2003, Fayad 2008, from memory. Ends our choice. \
     */                                                                                  \
    X(STIFF_LOT, UNIFORM, 0, 1, "stiff below 0.3; our choice")                           \
    X(SHARE, UNIFORM, 0.25, 0.5, "see above")                                            \
    X(STIFF_SHARE, UNIFORM, 0.25, 0.65, "see above")                                     \
    X(SETTING_DEG, UNIFORM, 10, 45, "see above")                                         \
    X(STIFF_SETTING_DEG, UNIFORM, 0, 20, "see above")                                    \
    X(RISE_MM, UNIFORM, 10, 40, "natural rise of the girdle at 150 degrees; our choice") \
    X(PROTRACTION_MM, UNIFORM, 0, 40, "at 150 degrees of flexion; our choice")           \
    X(SHIFT_FORWARD_MM, NORMAL, 0, 2.5, "joint centre on the blade, at 150; our choice") \
    X(SHIFT_UP_MM, NORMAL, 0, 2.5, "the same")                                           \
    X(SHIFT_RIGHT_MM, NORMAL, 0, 2.5, "the same")                                        \
    /* Skin. */                                                                          \
    X(SLIDE_MM, UNIFORM, 4, 15, "skin over the shoulder at 150 degrees; our choice")     \
    X(SLIDE_TOWARDS_DEG, UNIFORM, 0, 360, "in the movement's plane; our choice")         \
    X(SLIDE_EXPONENT, UNIFORM, 1, 2, "growth with the arm's angle; our choice")          \
    X(CHEST_SLIDE_MM, UNIFORM, 0, 8, "skin of the chest at 150 degrees; our choice")     \
    X(CHEST_SLIDE_TOWARDS_DEG, UNIFORM, 0, 360, "our choice")                            \
    /* What is done to get higher. */                                                    \
    X(HIKE_LOT, UNIFORM, 0, 1, "excess hike below 0.5; our choice")                      \
    X(HIKE_MM, UNIFORM, 25, 60, "our choice; no published cut-off is known")             \
    X(HIKE_SPAN_DEG, UNIFORM, 20, 35, "of the arm's angle, over which it comes")         \
    X(HIKE_AT, UNIFORM, 0, 1, "its onset between 35 degrees and 15 below the arc")       \
    X(LEAN_DEG, UNIFORM, 0, 10, "away from the arm, at the top; our choice")             \
    X(LEAN_AT, UNIFORM, 0.3, 0.8, "share of the arc from which it grows")                \
    X(BEND_DEG, UNIFORM, 0, 10,                                                          \
      "at 150 degrees; 10.5 by photograph with both arms, "                              \
      "Edmondston and others 2012 (JOSPT 42:861)")                                       \
    X(BEND_AT, UNIFORM, 0.1, 0.6, "share of the arc from which it grows; our choice")    \
    X(UPRIGHT_DEG, NORMAL, 0, 2, "not upright at rest, in the movement's plane")         \
    X(UPRIGHT_ACROSS_DEG, NORMAL, 0, 2, "and across it; our choice")                     \
    X(SWAY_MM, UNIFORM, 1, 4, "of the shoulder, each way; our choice")                   \
    X(SWAY_ACROSS_MM, UNIFORM, 1, 4, "the same")                                         \
    X(BREATH_MM, UNIFORM, 1, 4, "of the chest, outward; our choice")                     \
    X(BREATH_RISE_MM, UNIFORM, 0.5, 2, "of the girdle; our choice")                      \
    /* Arm. */                                                                           \
    X(ARM_ROLL_DEG, NORMAL, 0, 15, "axial rotation until the top; our choice")           \
    X(ARM_ROLL_EXPONENT, UNIFORM, 0.7, 2, "its course; our choice")                      \
    X(FOREARM_ROLL_DEG, NORMAL, 0, 10, "until the top; our choice")                      \
    X(ELBOW_DEG, NORMAL, 6, 4, "flexion at rest; our choice")                            \
    X(ELBOW_CHANGE_DEG, NORMAL, 0, 4, "until the top; our choice")                       \
    X(CARRYING_DEG, NORMAL, 10, 3, "carrying angle; from memory")                        \
    /* Rotations, lying on the back. */                                                  \
    X(ABDUCTION_LOT, UNIFORM, 0, 3, "held out by 0, 45 or 90 degrees; our choice")       \
    X(BENT_DEG, NORMAL, 0, 8, "elbow off a right angle; our choice")                     \
    X(TOWEL_DEG, NORMAL, 0, 4, "upper arm off level; our choice")

#define STUDY_SET_UP_SPREADS(X)                                                          \
    /* The camera of a laptop. */                                                        \
    X(DISTANCE_M, UNIFORM, 1.8, 2.6, "our choice")                                       \
    X(HEIGHT_M, NORMAL, 1.25, 0.08, "on a table with books under it; our choice")        \
    X(FIELD_DEG, UNIFORM, 60, 78, "horizontal field of laptop cameras, from memory")     \
    X(TURN_DEG, NORMAL, 0, 8, "of the person to the camera; our choice")                 \
    X(ROLL_DEG, NORMAL, 0, 1, "levelled by eye; our choice")                             \
    X(PITCH_DEG, NORMAL, 0, 2.5, "our choice")                                           \
    X(LEVEL_ROLL_DEG, NORMAL, 0, STUDY_LEVEL_ROLL_U_DEG,                                 \
      "where the level is read off a board: what that leaves; our choice")               \
    X(LEVEL_PITCH_DEG, NORMAL, 0, STUDY_LEVEL_PITCH_U_DEG, "the same")                   \
    X(RADIAL, NORMAL, 0, 0.03, "k1 in focal lengths; our choice")                        \
    X(CENTRE_X_PX, NORMAL, 0, 10, "principal point off the middle; our choice")          \
    X(CENTRE_Y_PX, NORMAL, 0, 10, "the same")                                            \
    X(READOUT_S, UNIFORM, 0.010, 0.033, "rolling shutter; our choice")                   \
    /* Where the markers go. Over the head of the humerus, or on the bony edge. */       \
    X(HEAD_UP_MM, NORMAL, 5, 10, "our choice")                                           \
    X(HEAD_ALONG_MM, NORMAL, 0, 8, "in the movement's direction; our choice")            \
    X(EDGE_UP_MM, NORMAL, 30, 12, "our choice")                                          \
    X(EDGE_ALONG_MM, NORMAL, 5, 8, "our choice")                                         \
    X(SHOULDER_DEPTH_MM, UNIFORM, 30, 50, "skin before the joint; our choice")           \
    X(ELBOW_BAND_ALONG_MM, NORMAL, 0, 10, "our choice")                                  \
    X(ELBOW_BAND_ACROSS_MM, NORMAL, 0, 2, "our choice")                                  \
    X(ELBOW_BAND_DEPTH_MM, NORMAL, 0, 2, "our choice")                                   \
    X(WRIST_BAND_ALONG_MM, NORMAL, 0, 10, "our choice")                                  \
    X(WRIST_BAND_ACROSS_MM, NORMAL, 0, 2, "our choice")                                  \
    X(WRIST_BAND_DEPTH_MM, NORMAL, 0, 2, "our choice")                                   \
    X(ELBOW_STICKER_ALONG, NORMAL, 0, 1, "in standard deviations of the set")            \
    X(ELBOW_STICKER_ACROSS, NORMAL, 0, 1, "the same")                                    \
    X(WRIST_STICKER_ALONG, NORMAL, 0, 1, "the same")                                     \
    X(WRIST_STICKER_ACROSS, NORMAL, 0, 1, "the same")                                    \
    X(CHEST_ALONG_MM, NORMAL, 0, 8, "our choice")                                        \
    X(CHEST_ACROSS_MM, NORMAL, 0, 8, "our choice")                                       \
    X(HIP_ALONG_MM, NORMAL, 0, 8, "our choice")                                          \
    X(HIP_ACROSS_MM, NORMAL, 0, 8, "our choice")                                         \
    X(SWAY_PHASE_DEG, UNIFORM, 0, 360, "")                                               \
    X(SWAY_ACROSS_PHASE_DEG, UNIFORM, 0, 360, "")                                        \
    X(BREATH_PHASE_DEG, UNIFORM, 0, 360, "")

#define STUDY_NAME(name, law, a, b, source) STUDY_##name,
enum study_body_value { STUDY_BODY_SPREADS(STUDY_NAME) STUDY_BODY_VALUES };
enum study_set_up_value { STUDY_SET_UP_SPREADS(STUDY_NAME) STUDY_SET_UP_VALUES };
#undef STUDY_NAME

#endif
