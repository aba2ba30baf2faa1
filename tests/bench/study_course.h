/** How the arm moves in time, and how much of everything else goes with it. */
#ifndef STUDY_COURSE_H
#define STUDY_COURSE_H

#include "study_body.h"

/** Share of a value that is stated for 150 degrees, growing with a power. */
double study_grown(double arm_deg, double exponent);
/** 0 at rest, 1 at the arc's end. */
double study_way(const struct study_person *person, double arm_deg);
/** Turn of the shoulder blade. */
double study_blade_deg(const struct study_person *person, double arm_deg);
/** Natural rise of the girdle. */
double study_rise_mm(const struct study_person *person, double arm_deg);
/** Forward; half as much in the movements to the side, and back in extension. */
double study_protraction_mm(const struct study_person *person, double arm_deg);
/** Of the whole trunk away from the arm. */
double study_lean_deg(const struct study_person *person, double arm_deg);
/** How much further than that the thorax turns. */
double study_bend_deg(const struct study_person *person, double arm_deg);

#endif
