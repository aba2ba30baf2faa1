#include "app/options.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/lens_plan.h"
#include "app/rise_from.h"
#include "app/rotation_options.h"
#include "omogon/log.h"
#include "omogon/models.h"
#include "omogon/text.h"

/** One of the words, or a sentence. NULL text takes the first. */
static bool choose(const char *option, const char *text, const char *const *words,
                   int *index)
{
    if (!text) {
        *index = 0;
        return true;
    }
    for (int i = 0; words[i]; i++) {
        if (!strcmp(text, words[i])) {
            *index = i;
            return true;
        }
    }
    g_autofree char *list = g_strjoinv(", ", (char **)words);
    omo_error("--%s \"%s\" is unknown; use one of: %s", option, text, list);
    return false;
}

static bool copy_code(const char *option, const char *text, char *out, size_t size)
{
    if (!text)
        return true;
    if (!omo_pseudonym_valid(text)) {
        omo_error("--%s \"%s\" is not a code; use 1 to 16 letters and digits, "
                  "never a name or a date",
                  option, text);
        return false;
    }
    omo_text_copy(out, size, text);
    return true;
}

static bool resolve_side(const struct omo_option_words *w, struct omo_plan *plan)
{
    int side = 0;
    plan->both_sides = strcmp(w->side, "both") == 0;
    if (plan->both_sides && !w->takes_both_sides) {
        omo_error("--side both is for \"omogon measure\" and \"omogon trace\"; here give "
                  "left or right");
        return false;
    }
    if (plan->both_sides && w->arms && strcmp(w->arms, "both") != 0) {
        omo_error("--side both measures both arms at once; leave out --arms %s", w->arms);
        return false;
    }
    if (plan->both_sides && plan->movement->view != OMO_VIEW_FRONT) {
        omo_error("--side both needs both arms in a front view, and %s is filmed from "
                  "elsewhere; give --side left or right",
                  plan->movement->name);
        return false;
    }
    if (!plan->both_sides &&
        !choose("side", w->side, (const char *[]){"left", "right", NULL}, &side))
        return false;
    plan->tracker.side = plan->both_sides || side ? OMO_RIGHT : OMO_LEFT;
    return true;
}

static bool resolve_movement(const struct omo_option_words *w, struct omo_plan *plan)
{
    if (!w->movement || !w->side) {
        omo_error("--%s is missing; say what was moved, for example "
                  "--movement flexion --side right",
                  w->movement ? "side" : "movement");
        return false;
    }
    plan->movement = omo_movement_find(plan->table, w->movement);
    if (!plan->movement) {
        g_autoptr(GString) list = g_string_new(NULL);
        for (int i = 0; i < omo_movement_count(plan->table); i++) {
            const struct omo_movement *m = omo_movement_at(plan->table, i);
            if (!strcmp(m->key, m->name)) /* other views are asked for by --from */
                g_string_append_printf(list, "%s%s", i ? ", " : "", m->name);
        }
        omo_error("--movement \"%s\" is unknown; use one of: %s", w->movement, list->str);
        return false;
    }
    return resolve_side(w, plan);
}

static bool resolve_position(const struct omo_option_words *w, struct omo_plan *plan)
{
    enum omo_position position = plan->movement->position_default;
    if (w->position) {
        position = omo_position_from_name(w->position);
        if (position == OMO_POSITION_COUNT) {
            omo_error("--position \"%s\" is unknown; use standing, seated, supine, "
                      "side-lying or prone",
                      w->position);
            return false;
        }
    }
    if (!plan->movement->position_allowed[position]) {
        omo_error("%s is not measured %s; the movement table names the positions it is "
                  "defined for",
                  plan->movement->name, omo_position_name(position));
        return false;
    }
    if (plan->both_sides && position == OMO_SIDE_LYING) {
        omo_error("--side both needs both arms free, and of someone lying on the side "
                  "only one is; give --side left or right");
        return false;
    }
    plan->tracker.position = position;
    return true;
}

/** Which way the view is turned; refuses options that the view does not have. */
static bool resolve_view(const struct omo_option_words *w, struct omo_plan *plan)
{
    struct omo_tracker_settings *t = &plan->tracker;
    int from, facing;
    t->view = plan->movement->view;
    if (!choose("from", w->from, (const char *[]){"front", "behind", NULL}, &from) ||
        !choose("facing", w->facing, (const char *[]){"left", "right", NULL}, &facing))
        return false;
    if (!omo_check_from(w, plan))
        return false;
    if (w->facing && t->view == OMO_VIEW_FRONT) {
        omo_error("--facing belongs to the side view, and %s is filmed from the front; "
                  "use --from front or behind",
                  plan->movement->name);
        return false;
    }
    t->from_behind = from == 1;
    t->facing_left = w->facing ? facing == 0 : t->side == OMO_LEFT;
    /* A mirror image turns the picture's left and right, not the person's. */
    t->mirrored = w->mirrored;
    if (t->mirrored && !w->facing)
        t->facing_left = !t->facing_left;
    return true;
}

static bool resolve_body(const struct omo_option_words *w, struct omo_plan *plan)
{
    if (!resolve_movement(w, plan))
        return false;
    omo_choose_view(w, plan);
    if (!resolve_position(w, plan) || !resolve_view(w, plan))
        return false;
    plan->tracker.body = true;
    plan->tracker.needed = plan->movement->needed;
    omo_measure_settings_default(&plan->measure);
    plan->measure.movement = plan->movement;
    plan->measure.side = plan->tracker.side;
    plan->measure.position = plan->tracker.position;
    plan->measure.from_behind = plan->tracker.from_behind;
    plan->measure.facing_left = plan->tracker.facing_left;
    plan->measure.mirrored = plan->tracker.mirrored;
    for (int i = 0; i < plan->tracker.set.count; i++) {
        const struct omo_set_entry *entry = &plan->tracker.set.entry[i];
        enum omo_role role = omo_role_from_name(entry->name);
        if (entry->shape == OMO_DISC && role == OMO_SHOULDER)
            plan->measure.marker_size_mm = entry->size_mm;
        if (role != OMO_ROLE_COUNT)
            plan->measure.band[role] = entry->shape == OMO_BAND;
    }
    return true;
}

static bool any_band(const struct omo_marker_set *set)
{
    for (int i = 0; i < set->count; i++)
        if (set->entry[i].shape == OMO_BAND)
            return true;
    return false;
}

/** The texts that all rows of a run share. */
static bool resolve_row(const struct omo_option_words *w, struct omo_plan *plan)
{
    static const char *const modes[] = {"active", "assisted", "passive", NULL};
    static const char *const arms[] = {"one", "both", NULL};
    static const char *const placements[] = {"skin", "band", "sleeve", NULL};
    static const char *const places[] = {"not-told", "over-head", "on-edge", NULL};
    static const enum omo_shoulder_place place_of[] = {OMO_PLACE_NOT_TOLD,
                                                       OMO_PLACE_OVER_HEAD,
                                                       OMO_PLACE_ON_EDGE};
    struct omo_session_row *row = &plan->row;
    int mode, arm, placement, place;
    omo_session_row_init(row);
    if (!choose("mode", w->mode, modes, &mode) || !choose("arms", w->arms, arms, &arm) ||
        !choose("placement", w->placement, placements, &placement) ||
        !choose("shoulder-marker", w->shoulder_marker, places, &place) ||
        !copy_code("person", w->person, row->person, sizeof row->person) ||
        !copy_code("visit", w->visit, row->visit, sizeof row->visit) ||
        !copy_code("rater", w->rater, row->rater, sizeof row->rater))
        return false;
    if (!w->placement && any_band(&plan->tracker.set))
        placement = 1;
    omo_text_copy(row->mode, sizeof row->mode, modes[mode]);
    omo_text_copy(row->arms, sizeof row->arms, arms[plan->both_sides ? 1 : arm]);
    omo_text_copy(row->placement, sizeof row->placement, placements[placement]);
    plan->measure.sleeve = placement == 2;
    plan->measure.shoulder_place = place_of[place];
    if (w->note)
        omo_text_copy(row->note, sizeof row->note, w->note);
    omo_text_copy(row->version, sizeof row->version, OMO_VERSION);
    omo_text_copy(row->status, sizeof row->status, "ok");
    if (!plan->movement)
        return true;
    omo_text_copy(row->movement, sizeof row->movement, plan->movement->name);
    omo_text_copy(row->side, sizeof row->side, omo_side_name(plan->tracker.side));
    omo_text_copy(row->position, sizeof row->position,
                  omo_position_name(plan->tracker.position));
    omo_text_copy(row->view, sizeof row->view, omo_view_name(plan->tracker.view));
    return true;
}

const char *const omo_model_names[OMO_MODELS] = {"movements.ini", "allowances.ini",
                                                 "pivot.ini", "body.ini"};

/** The data files that a result depends on are part of its identity. */
static bool hash_models(struct omo_plan *plan)
{
    struct omo_id *id = omo_id_create();
    for (size_t i = 0; i < OMO_MODELS; i++) {
        char path[4096];
        g_autofree char *bytes = NULL;
        gsize size = 0;
        if (omo_models_path(omo_model_names[i], path, sizeof path) != OMO_OK ||
            !g_file_get_contents(path, &bytes, &size, NULL)) {
            char unused[33];
            omo_id_finish(id, unused);
            omo_error("the data file models/%s is missing; install omogon again or set "
                      "OMOGON_MODELS to the folder that has it",
                      omo_model_names[i]);
            return false;
        }
        omo_id_add(id, bytes, size);
        g_autofree char *sum =
            g_compute_checksum_for_data(G_CHECKSUM_SHA256, (const guchar *)bytes, size);
        omo_text_copy(plan->model_sha256[i], sizeof plan->model_sha256[i], sum);
    }
    omo_id_finish(id, plan->models);
    return true;
}

bool omo_plan_resolve(const struct omo_option_words *w, bool needs_body,
                      struct omo_plan *plan)
{
    memset(plan, 0, sizeof *plan);
    double cutoff_hz = 6;
    if (omo_movement_table_load(NULL, &plan->table) != OMO_OK)
        return false;
    const char *set = w->colours ? w->colours : omo_usual_colours(w, plan->table);
    if (omo_set_load_text(set, &plan->tracker.set, &plan->colours_text) != OMO_OK)
        goto fail;
    if (w->cutoff &&
        (!omo_number_parse(w->cutoff, &cutoff_hz) || cutoff_hz < 0.5 || cutoff_hz > 30)) {
        omo_error("--cutoff \"%s\" is no frequency; give 0.5 to 30 Hz", w->cutoff);
        goto fail;
    }
    double size_mm = NAN;
    if (w->marker_size &&
        (!omo_number_parse(w->marker_size, &size_mm) || size_mm < 5 || size_mm > 200)) {
        omo_error("--marker-size \"%s\" is no diameter; give 5 to 200 mm",
                  w->marker_size);
        goto fail;
    }
    if ((needs_body && !resolve_body(w, plan)) || !resolve_row(w, plan) ||
        !omo_plan_resolve_lens(w, plan) || !hash_models(plan))
        goto fail;
    plan->measure.cutoff_hz = cutoff_hz;
    if (!isnan(size_mm))
        plan->measure.marker_size_mm = size_mm;
    if (!omo_resolve_rotation(w, plan))
        goto fail;
    return true;
fail:
    omo_plan_finish(plan);
    return false;
}

void omo_plan_take_side(struct omo_plan *plan, enum omo_side side)
{
    /* As if this side alone had been asked for; the front view has no facing. */
    plan->tracker.side = plan->measure.side = side;
    plan->tracker.facing_left = (side == OMO_LEFT) != plan->tracker.mirrored;
    plan->measure.facing_left = plan->tracker.facing_left;
    omo_text_copy(plan->row.side, sizeof plan->row.side, omo_side_name(side));
}

void omo_plan_finish(struct omo_plan *plan)
{
    omo_movement_table_destroy(plan->table);
    plan->table = NULL;
    g_clear_pointer(&plan->lens_text, g_free);
    free(plan->colours_text);
    plan->colours_text = NULL;
}

/** Nothing without a lens: rows from before there were any keep their ids. */
static void identify_lens(const struct omo_plan *plan, struct omo_id *id)
{
    const struct omo_lens *l = &plan->lens;
    const double level[] = {l->width,     l->height,      l->roll_deg, l->roll_u_deg,
                            l->pitch_deg, l->pitch_u_deg, l->readout_s};
    if (!plan->has_lens)
        return;
    omo_id_add_text(id, "lens", l->source == OMO_LENS_CALIBRATED ? "yes" : "assumed");
    omo_id_add(id, l->value, sizeof l->value);
    omo_id_add(id, l->covariance, sizeof l->covariance);
    omo_id_add(id, level, sizeof level);
}

void omo_plan_identify(const struct omo_plan *plan, struct omo_id *id)
{
    const struct omo_tracker_settings *t = &plan->tracker;
    const struct omo_session_row *r = &plan->row;
    char number[32];
    const struct {
        const char *key, *value;
    } texts[] = {
        {"version", OMO_VERSION},
        {"models", plan->models},
        {"person", r->person},
        {"visit", r->visit},
        {"rater", r->rater},
        {"movement", r->movement},
        {"side", r->side},
        {"position", r->position},
        {"view", r->view},
        {"mode", r->mode},
        {"arms", r->arms},
        {"placement", r->placement},
        {"from", t->from_behind ? "behind" : "front"},
        {"facing", t->facing_left ? "left" : "right"},
        {"mirrored", t->mirrored ? "yes" : "no"},
    };
    for (size_t i = 0; i < G_N_ELEMENTS(texts); i++)
        omo_id_add_text(id, texts[i].key, texts[i].value);
    if (plan->both_sides) /* one arm alone is followed in another way */
        omo_id_add_text(id, "sides", "both");
    omo_number_text(plan->measure.cutoff_hz, 6, number, sizeof number);
    omo_id_add_text(id, "cutoff_hz", number);
    omo_number_text(plan->measure.shoulder_place, 0, number, sizeof number);
    omo_id_add_text(id, "shoulder_place", number);
    omo_number_text(plan->measure.marker_size_mm, 6, number, sizeof number);
    omo_id_add_text(id, "marker_size_mm", number);
    omo_number_text(plan->measure.rotation_at_abduction_deg, 6, number, sizeof number);
    omo_id_add_text(id, "rotation_at_abduction_deg", number);
    omo_rise_identify(plan->measure.expected_rise, id);
    omo_number_text(plan->measure.forearm_mm, 6, number, sizeof number);
    omo_id_add_text(id, "forearm_mm", number);
    for (int i = 0; i < t->set.count; i++) {
        const struct omo_set_entry *e = &t->set.entry[i];
        const double values[] = {e->cb, e->cr, e->luma, e->spread_deg, e->size_mm};
        omo_id_add_text(id, "marker", e->name);
        omo_id_add_text(id, "shape", e->shape == OMO_BAND ? "band" : "disc");
        for (size_t k = 0; k < G_N_ELEMENTS(values); k++) {
            omo_number_text(values[k], 6, number, sizeof number);
            omo_id_add_text(id, "value", number);
        }
    }
    identify_lens(plan, id);
}
