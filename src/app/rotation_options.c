#include "app/rotation_options.h"

#include <math.h>
#include <string.h>

#include "omogon/log.h"
#include "omogon/text.h"

/** The movement as --from means it. */
static const struct omo_movement *seen_as_said(const struct omo_option_words *w,
                                               const struct omo_movement_table *table,
                                               const struct omo_movement *movement)
{
    const struct omo_movement *front =
        omo_movement_seen_from(table, movement, OMO_VIEW_FRONT);
    return w->from && front ? front : movement;
}

void omo_choose_view(const struct omo_option_words *w, struct omo_plan *plan)
{
    plan->movement = seen_as_said(w, plan->table, plan->movement);
}

const char *omo_usual_colours(const struct omo_option_words *w,
                              const struct omo_movement_table *table)
{
    const struct omo_movement *movement =
        w->movement ? omo_movement_find(table, w->movement) : NULL;
    if (movement)
        movement = seen_as_said(w, table, movement);
    return movement && movement->geometry == OMO_GEOMETRY_FORESHORTENED ? "bands"
                                                                        : "default";
}

bool omo_check_from(const struct omo_option_words *w, const struct omo_plan *plan)
{
    const struct omo_movement *m = plan->movement;
    if (!w->from)
        return true;
    if (m->geometry == OMO_GEOMETRY_ROTATION) {
        omo_error(
            "%s is not measured from in front, where the belly stops the hand; film "
            "it along the upper arm, lying on the back",
            m->name);
        return false;
    }
    if (m->view != OMO_VIEW_FRONT) {
        omo_error("--from belongs to the front view, and %s is filmed from the %s; use "
                  "--facing left or right",
                  m->name, omo_view_name(m->view));
        return false;
    }
    if (m->geometry == OMO_GEOMETRY_FORESHORTENED && strcmp(w->from, "front") != 0) {
        omo_error("%s is not measured from behind, where the body hides the hand; use "
                  "--from front",
                  m->name);
        return false;
    }
    return true;
}

static bool is_rotation(const struct omo_movement *movement)
{
    return movement && (movement->geometry == OMO_GEOMETRY_ROTATION ||
                        movement->geometry == OMO_GEOMETRY_FORESHORTENED);
}

/** The abduction a rotation is done at; other movements have none. */
static bool resolve_abduction(const struct omo_option_words *w, struct omo_plan *plan)
{
    double *abduction_deg = &plan->measure.rotation_at_abduction_deg;
    if (!w->abduction)
        return true;
    if (!is_rotation(plan->movement)) {
        omo_error("--at-abduction belongs to external-rotation and internal-rotation");
        return false;
    }
    if (!omo_number_parse(w->abduction, abduction_deg) || *abduction_deg < 0 ||
        *abduction_deg > 180) {
        omo_error("--at-abduction \"%s\" is no angle; give 0 to 180 degrees",
                  w->abduction);
        return false;
    }
    return true;
}

/** The forearm's length, which needs the picture's scale beside it. */
static bool resolve_forearm(const struct omo_option_words *w, struct omo_plan *plan)
{
    double *forearm_mm = &plan->measure.forearm_mm;
    if (!w->forearm)
        return true;
    if (!plan->movement || plan->movement->geometry != OMO_GEOMETRY_FORESHORTENED) {
        omo_error("--forearm belongs to external-rotation with --from front");
        return false;
    }
    if (!omo_number_parse(w->forearm, forearm_mm) || *forearm_mm < 100 ||
        *forearm_mm > 400) {
        omo_error("--forearm \"%s\" is no length; give 100 to 400 mm from elbow crease "
                  "to wrist band",
                  w->forearm);
        return false;
    }
    if (isnan(plan->measure.marker_size_mm)) {
        omo_error("--forearm needs the picture's scale; give --marker-size as well");
        return false;
    }
    return true;
}

/** From in front a sticker turns out of sight with the forearm. */
static bool check_bands(const struct omo_plan *plan)
{
    const struct omo_marker_set *set = &plan->tracker.set;
    if (!plan->movement || plan->movement->geometry != OMO_GEOMETRY_FORESHORTENED)
        return true;
    for (int i = 0; i < set->count; i++) {
        enum omo_role role = omo_role_from_name(set->entry[i].name);
        if (role > OMO_WRIST || set->entry[i].shape == OMO_BAND)
            continue;
        omo_error(
            "%s from in front needs bands round the arm, for a sticker turns out of "
            "sight; use --colours bands, or film along the upper arm",
            plan->movement->name);
        return false;
    }
    return true;
}

bool omo_resolve_rotation(const struct omo_option_words *w, struct omo_plan *plan)
{
    return check_bands(plan) && resolve_abduction(w, plan) && resolve_forearm(w, plan);
}
