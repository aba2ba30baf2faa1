/** The study's bodies as pictures, in which the tracker has to find the markers. */
#ifndef STUDY_PICTURE_H
#define STUDY_PICTURE_H

#include "study_session.h"

/** A painter and a tracker; NULL with a sentence when they could not be had. */
struct study_picture;
struct study_picture *study_picture_create(const struct omo_movement_table *table);
void study_picture_destroy(struct study_picture *picture);
/** Paints, compresses, decodes and finds. What is lent lives as long as the picture. */
struct study_eye study_picture_eye(struct study_picture *picture);

#endif
