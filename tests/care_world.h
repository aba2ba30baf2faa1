/** A person, a day and a step, drawn by lot; the same every time. */
#ifndef OMO_TEST_CARE_WORLD_H
#define OMO_TEST_CARE_WORLD_H

#include "omogon/care.h"

#define CARE_ROWS 8
struct care_world {
    struct omo_person_state person;
    struct omo_limit limits[CARE_ROWS];
    struct omo_past past[CARE_ROWS];
    struct omo_past_step past_steps[CARE_ROWS];
    struct omo_soreness day;
    struct omo_step step;
    double u95_deg;
};

/** 0 .. below - 1. */
int care_lot(int below);
void care_world_draw(struct care_world *w);
/** After a copy: lets it point to the rows of its own. */
void care_world_point(struct care_world *w);

#endif
