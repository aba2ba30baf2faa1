/* Limits set by a surgeon or practitioner: the strictest of all that speak of a step. */
#include <math.h>
#include <string.h>

#include "programme/care_parts.h"

unsigned omo_sides_of(const struct omo_step *step, const struct omo_person_state *person)
{
    const unsigned left = 1u << OMO_LEFT, right = 1u << OMO_RIGHT;
    bool affected = step->side == OMO_STEP_AFFECTED;
    switch (step->side) {
    case OMO_STEP_LEFT:
        return left;
    case OMO_STEP_RIGHT:
        return right;
    case OMO_STEP_BOTH:
        break;
    case OMO_STEP_AFFECTED:
    case OMO_STEP_OTHER:
        if (person->affected_known)
            return affected == (person->affected == OMO_LEFT) ? left : right;
        break;
    }
    return left | right;
}

bool omo_side_is_among(const char *side, unsigned sides)
{
    if (strcmp(side, omo_side_name(OMO_LEFT)) == 0)
        return (sides & 1u << OMO_LEFT) != 0;
    if (strcmp(side, omo_side_name(OMO_RIGHT)) == 0)
        return (sides & 1u << OMO_RIGHT) != 0;
    return true;
}

static bool speaks_of(const struct omo_limit *limit, const char *movement)
{
    return limit->movement[0] == '\0' || strcmp(limit->movement, movement) == 0;
}

static void take(struct omo_limits *out, const struct omo_limit *limit, const char *today)
{
    if (limit->allowed < out->allowed)
        out->allowed = limit->allowed;
    if (!isnan(limit->ceiling_deg) && !(out->ceiling_deg <= limit->ceiling_deg)) {
        out->ceiling_deg = limit->ceiling_deg;
        out->lowest = limit;
    }
    /* Days as YYYY-MM-DD are in order as texts are. */
    if (limit->valid_until[0] != '\0' && strcmp(limit->valid_until, today) < 0)
        out->expired = limit;
}

void omo_limits_of(const struct omo_person_state *person, const char *movement,
                   unsigned sides, struct omo_limits *out)
{
    unsigned named = 0, stated = 0, ceilings = 0;
    *out = (struct omo_limits){.ceiling_deg = NAN,
                               .allowed = OMO_ALLOWED_ACTIVE,
                               .load_kg = INFINITY};
    for (size_t i = 0; i < person->limit_count; i++) {
        const struct omo_limit *limit = &person->limits[i];
        if (!omo_side_is_among(limit->side, sides))
            continue;
        out->any = true;
        /* A weight in the hand loads the shoulder whatever movement the limit names. */
        double load = isnan(limit->load_kg) ? 0.0 : limit->load_kg;
        out->load_kg = fmin(out->load_kg, load);
        if (movement == NULL || !speaks_of(limit, movement))
            continue;
        for (int side = OMO_LEFT; side <= OMO_RIGHT; side++) {
            unsigned bit = 1u << side;
            if (!omo_side_is_among(limit->side, bit))
                continue;
            stated |= bit;
            if (limit->movement[0] != '\0')
                named |= bit;
            if (!isnan(limit->ceiling_deg))
                ceilings |= bit;
        }
        take(out, limit, person->today);
    }
    out->named = (named & sides) == sides;
    out->stated = (stated & sides) == sides;
    out->ceiling_on_all = (ceilings & sides) == sides;
}

const char *omo_limited_name(const struct omo_step *step)
{
    const struct omo_finding *finding;
    switch (step->kind) {
    case OMO_STEP_STAY:
    case OMO_STEP_MEASURE:
        return step->movement;
    case OMO_STEP_PENDULUM:
        return "pendulum";
    case OMO_STEP_FINDING:
        finding = omo_finding_find(step->finding);
        /* Who wants to know whether the hand gets there has to try. */
        if (finding != NULL &&
            (finding->kind == OMO_FINDING_LEVEL || finding->kind == OMO_FINDING_CAN))
            return finding->name;
        break;
    case OMO_STEP_PRESS:
    case OMO_STEP_DESK:
    case OMO_STEP_NOTE:
    case OMO_STEP_PAIN:
    case OMO_STEP_KIND_COUNT:
        break;
    }
    return NULL;
}
