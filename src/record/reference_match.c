/* Which published value may stand beside a session. */
#include "omogon/reference.h"

#include <math.h>
#include <string.h>

#include <glib.h>

/* A rotation counts as one at 90 degrees of abduction within 80 to 100, as it does in the
 * record, and as one at the side up to 10: our choice. */
#define AT_ABDUCTION_DEG 10
/* Two-sided 95 % of the normal distribution. */
#define SDS_OF_95 1.96

/** What a session's angle was taken against, in the words of the file; "" not known.
 *  Without trunk markers it is the upright of the picture. */
static const char *against_of(const char *reference)
{
    if (!strcmp(reference, "none"))
        return "gravity";
    return reference[0] ? "trunk" : "";
}

static bool abduction_fits(const struct omo_reference_value *value,
                           const struct omo_session_row *session)
{
    /* A missing figure compares as false. */
    return !isfinite(value->at_abduction_deg) ||
           fabs(session->rotation_at_abduction_deg - value->at_abduction_deg) <=
               AT_ABDUCTION_DEG;
}

/** The year that a person is born in leaves two ages open on most days of a year. */
static bool age_fits(const struct omo_reference_value *value,
                     const struct omo_session_row *session,
                     const struct omo_person_row *person)
{
    gint64 year = g_ascii_strtoll(session->started, NULL, 10);
    if (person->birth_year <= 0 || year <= 0)
        return false;
    gint64 oldest = year - person->birth_year;
    return oldest - 1 >= value->age_from && oldest <= value->age_to;
}

static bool side_fits(const char *side, const char *of, const char *dominant)
{
    if (!strcmp(side, "any") || !strcmp(side, of))
        return true;
    if (strcmp(dominant, "left") != 0 && strcmp(dominant, "right") != 0)
        return false;
    return !strcmp(side, strcmp(dominant, of) ? "non-dominant" : "dominant");
}

static bool fits(const struct omo_reference_value *value,
                 const struct omo_session_row *session,
                 const struct omo_person_row *person)
{
    return value->confirmed && value->kind == OMO_REFERENCE_PEOPLE &&
           !strcmp(value->movement, session->movement) &&
           !strcmp(value->position, session->position) &&
           !strcmp(value->mode, session->mode) &&
           !strcmp(value->reference, against_of(session->reference)) &&
           abduction_fits(value, session) && age_fits(value, session, person) &&
           (!strcmp(value->sex, "any") || !strcmp(value->sex, person->sex)) &&
           side_fits(value->side, session->side, person->dominant_side);
}

const struct omo_reference_value *omo_reference_of(
    const struct omo_references *references, const struct omo_session_row *session,
    const struct omo_person_row *person)
{
    if (!person)
        return NULL;
    for (size_t i = 0; i < omo_references_count(references); i++)
        if (fits(omo_references_at(references, i), session, person))
            return omo_references_at(references, i);
    return NULL;
}

bool omo_reference_range(const struct omo_reference_value *value, double *low_deg,
                         double *high_deg)
{
    *low_deg = *high_deg = NAN;
    if (value->kind != OMO_REFERENCE_PEOPLE)
        return false;
    if (isfinite(value->p5_deg) && isfinite(value->p95_deg)) {
        *low_deg = value->p5_deg;
        *high_deg = value->p95_deg;
        return true;
    }
    if (!isfinite(value->mean_deg) || !(value->sd_deg > 0))
        return false;
    *low_deg = value->mean_deg - SDS_OF_95 * value->sd_deg;
    *high_deg = value->mean_deg + SDS_OF_95 * value->sd_deg;
    return true;
}
