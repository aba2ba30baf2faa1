#include "app/measuring_limits.h"

#include <math.h>
#include <string.h>

#include "app/person_state.h"
#include "omogon/text.h"

bool omo_measuring_limits(struct omo_measuring *m, const struct omo_plan *plan, char *why,
                          size_t size)
{
    struct omo_care care;
    struct omo_person_state person;
    struct omo_offer offer;
    /* How sore it is decides nothing here: who measures by hand decides it. */
    const struct omo_soreness calm = {0, 0, 0, 0, 0};
    why[0] = '\0';
    if (!plan->row.person[0])
        return true;
    g_autoptr(GDateTime) now = g_date_time_new_now_local();
    g_autofree char *today = g_date_time_format(now, "%Y-%m-%d");
    if (omo_care_load(NULL, &care) != OMO_OK ||
        omo_person_state_load(m->directory, plan->row.person, today, &person) != OMO_OK)
        return false;
    struct omo_step step = {.kind = OMO_STEP_MEASURE,
                            .position = plan->tracker.position,
                            .position_told = true,
                            .repetitions = 1,
                            .ceiling_deg = NAN,
                            .pain_limit = NAN,
                            .load_kg = NAN,
                            .hold_s = NAN};
    step.side = plan->both_sides                 ? OMO_STEP_BOTH
                : plan->tracker.side == OMO_LEFT ? OMO_STEP_LEFT
                                                 : OMO_STEP_RIGHT;
    step.mode =
        strcmp(plan->row.mode, "active") != 0 ? OMO_MODE_ASSISTED : OMO_MODE_ACTIVE;
    omo_text_copy(step.movement, sizeof step.movement, plan->row.movement);
    omo_offer_step(&care, &step, NULL, &person, &calm, NAN, &offer);
    omo_person_state_free(&person);
    /* "With help alone" is another measurement than the one that was asked for. */
    bool other_mode = offer.assisted && step.mode == OMO_MODE_ACTIVE;
    if (!offer.offered || other_mode) {
        omo_text_copy(why, size, offer.why);
        return false;
    }
    m->ceiling_deg = offer.ceiling_deg;
    return true;
}
