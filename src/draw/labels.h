/** Places short names beside points so that they cover neither lines nor each other. */
#ifndef OMO_DRAW_LABELS_H
#define OMO_DRAW_LABELS_H

#include "omogon/geometry.h"

/** Widest mean width of a letter in the fonts used, as a share of the size. */
#define OMO_LETTER_EM 0.62

#define OMO_LABEL_MAX 8
#define OMO_AVOID_MAX 128

struct omo_label {
    struct omo_point anchor, baseline;
    double gap;
    char text[48];
};

struct omo_labels {
    double width, height, size;
    int count, avoid_count;
    struct omo_label label[OMO_LABEL_MAX];
    struct omo_point avoid[OMO_AVOID_MAX]; /**< points that should stay free */
};

void omo_labels_init(struct omo_labels *labels, double width, double height, double size);
void omo_labels_avoid(struct omo_labels *labels, struct omo_point from,
                      struct omo_point to);
void omo_labels_avoid_ring(struct omo_labels *labels, struct omo_point at, double radius);
/** A name wanted at a distance `gap` beside a point; more than OMO_LABEL_MAX are left
 *  out. */
void omo_labels_want(struct omo_labels *labels, struct omo_point at, double gap,
                     const char *text);
/** Sets every baseline. */
void omo_labels_place(struct omo_labels *labels);

#endif
