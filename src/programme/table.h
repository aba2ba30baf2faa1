/** The table of a programme's keys. A new key is a line in it. */
#ifndef OMO_PROGRAMME_TABLE_H
#define OMO_PROGRAMME_TABLE_H

#include <stddef.h>

#include "omogon/programme.h"

/** Bits of the kinds that take a key. */
enum {
    OMO_KEY_PRESS = 1u << OMO_STEP_PRESS,
    OMO_KEY_PENDULUM = 1u << OMO_STEP_PENDULUM,
    OMO_KEY_STAY = 1u << OMO_STEP_STAY,
    OMO_KEY_MEASURE = 1u << OMO_STEP_MEASURE,
    OMO_KEY_FINDING = 1u << OMO_STEP_FINDING,
    OMO_KEY_DESK = 1u << OMO_STEP_DESK,
    OMO_KEY_PAIN = 1u << OMO_STEP_PAIN,
    OMO_KEY_ANY_STEP = (1u << OMO_STEP_KIND_COUNT) - 1u,
    /* What a person does with the arm. */
    OMO_KEY_DOING = OMO_KEY_PRESS | OMO_KEY_PENDULUM | OMO_KEY_STAY | OMO_KEY_MEASURE,
    /* The first group of the file. */
    OMO_KEY_PROGRAMME = 1u << OMO_STEP_KIND_COUNT
};

enum omo_field_type {
    OMO_FIELD_TEXT,
    OMO_FIELD_WORD, /**< the index of a word in an enum */
    OMO_FIELD_FLAG, /**< the second of two words sets it */
    OMO_FIELD_NUMBER,
    OMO_FIELD_WHOLE,
};

struct omo_field {
    const char *key;
    unsigned kinds, needed; /* bits of kinds */
    enum omo_field_type type;
    size_t offset, size;
    double least, most;
    const char *const *words;    /* WORD, FLAG */
    const char *(*name_of)(int); /* WORD instead */
    const char *advice;          /* what to do about a wrong number */
};

extern const struct omo_field omo_fields[];
extern const size_t omo_field_count;

#endif
