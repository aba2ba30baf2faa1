/** The difference between both arms, for people and for scripts. */
#ifndef OMO_APP_SIDES_TEXT_H
#define OMO_APP_SIDES_TEXT_H

#include "app/pipeline.h"
#include "omogon/sides.h"

/** What a row's note says about the other arm. */
void omo_sides_note(const struct omo_side_difference *difference, enum omo_side side,
                    char *text, size_t size);
/** "difference between sides: ...", for the person at the screen. */
void omo_sides_text(const struct omo_side_difference *difference, char *text,
                    size_t size);
/** The same second in one sentence, translated; "" when it is not known. */
void omo_sides_sentence(const struct omo_side_difference *difference, char *text,
                        size_t size);
/** Adds the keys of one side to its row's object; NULL: all null. */
void omo_sides_add_json(struct cJSON *object,
                        const struct omo_side_difference *difference, enum omo_side side);

#endif
