#include "record/series_means.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "omogon/log.h"
#include "omogon/text.h"

const char *const omo_series_names[SERIES_NAMES] = {
    "movement", "side",      "position",        "from",        "facing", "mirrored",
    "colours",  "placement", "shoulder-marker", "marker-size", "cutoff", "start",
    "end"};

/** One of the words, the first by default. False with a sentence. */
static bool choose(char *const *setting, enum series_name name, const char *const *words,
                   int *index)
{
    const char *text = setting[name];
    for (*index = 0; text && words[*index]; ++*index)
        if (!strcmp(text, words[*index]))
            return true;
    if (!text)
        return true;
    g_autofree char *list = g_strjoinv(", ", (char **)(uintptr_t)words);
    omo_error("%s \"%s\" is unknown; use one of: %s", omo_series_names[name], text, list);
    return false;
}

static bool number(char *const *setting, enum series_name name, double low, double high,
                   double *out)
{
    const char *text = setting[name];
    double value;
    if (!text)
        return true;
    if (!omo_number_parse(text, &value) || value < low || value > high) {
        char least[32], most[32];
        omo_number_text(low, 1, least, sizeof least);
        omo_number_text(high, 1, most, sizeof most);
        omo_error("%s \"%s\" is not within %s and %s", omo_series_names[name], text,
                  least, most);
        return false;
    }
    *out = value;
    return true;
}

/** The movement as it is seen from where the camera stood. */
static const struct omo_movement *movement_of(const struct omo_movement_table *table,
                                              char *const *setting)
{
    const char *key = setting[SERIES_MOVEMENT], *from = setting[SERIES_FROM];
    if (!key || !setting[SERIES_SIDE]) {
        omo_error("a clip needs a movement and a side to be measured by; set both");
        return NULL;
    }
    const struct omo_movement *movement = omo_movement_find(table, key);
    if (!movement) {
        omo_error("movement \"%s\" is unknown; models/movements.ini has them all", key);
        return NULL;
    }
    if (!from || movement->view == OMO_VIEW_FRONT)
        return movement;
    movement = omo_movement_seen_from(table, movement, OMO_VIEW_FRONT);
    if (!movement || strcmp(from, "front") != 0) {
        omo_error("%s is not measured from \"%s\"; leave that out", key, from);
        return NULL;
    }
    return movement;
}

/** Which way person and picture are turned. */
static bool turned(char *const *setting, struct series_means *means)
{
    struct omo_tracker_settings *t = &means->tracker;
    int side, from, facing, mirrored;
    if (!choose(setting, SERIES_SIDE, (const char *[]){"left", "right", NULL}, &side) ||
        !choose(setting, SERIES_FROM, (const char *[]){"front", "behind", NULL}, &from) ||
        !choose(setting, SERIES_FACING, (const char *[]){"left", "right", NULL},
                &facing) ||
        !choose(setting, SERIES_MIRRORED, (const char *[]){"no", "yes", NULL}, &mirrored))
        return false;
    if (setting[SERIES_FACING] && t->view == OMO_VIEW_FRONT) {
        omo_error("facing belongs to the side view; from the front use from");
        return false;
    }
    t->side = side ? OMO_RIGHT : OMO_LEFT;
    t->from_behind = from == 1;
    t->mirrored = mirrored == 1;
    /* The measured side is turned to the camera; a mirror turns the picture alone. */
    t->facing_left = setting[SERIES_FACING] ? facing == 0 : (side == 0) != t->mirrored;
    return true;
}

static bool placed(char *const *setting, struct series_means *means)
{
    static const enum omo_shoulder_place places[] = {OMO_PLACE_NOT_TOLD,
                                                     OMO_PLACE_OVER_HEAD,
                                                     OMO_PLACE_ON_EDGE};
    struct omo_measure_settings *m = &means->measure;
    int placement, place;
    if (!choose(setting, SERIES_PLACEMENT,
                (const char *[]){"skin", "band", "sleeve", NULL}, &placement) ||
        !choose(setting, SERIES_SHOULDER_MARKER,
                (const char *[]){"not-told", "over-head", "on-edge", NULL}, &place))
        return false;
    m->sleeve = placement == 2;
    m->shoulder_place = places[place];
    for (int i = 0; i < means->tracker.set.count; i++) {
        const struct omo_set_entry *entry = &means->tracker.set.entry[i];
        enum omo_role role = omo_role_from_name(entry->name);
        if (entry->shape == OMO_DISC && role == OMO_SHOULDER)
            m->marker_size_mm = entry->size_mm;
        if (role != OMO_ROLE_COUNT)
            m->band[role] = entry->shape == OMO_BAND;
    }
    return number(setting, SERIES_MARKER_SIZE, 5, 200, &m->marker_size_mm) &&
           number(setting, SERIES_CUTOFF, 0.5, 30, &m->cutoff_hz) &&
           number(setting, SERIES_START, 0, 1e6, &means->start_s) &&
           number(setting, SERIES_END, 0, 1e6, &means->end_s);
}

enum omo_status omo_series_means(const struct omo_movement_table *table,
                                 char *const *setting, struct series_means *means)
{
    const struct omo_movement *movement = movement_of(table, setting);
    *means = (struct series_means){.start_s = NAN, .end_s = NAN};
    if (!movement)
        return OMO_ERR_ARG;
    const char *colours = setting[SERIES_COLOURS];
    if (!colours) /* from in front a sticker would turn out of sight with the forearm */
        colours = movement->geometry == OMO_GEOMETRY_FORESHORTENED ? "bands" : "default";
    enum omo_status status = omo_set_load(colours, &means->tracker.set);
    if (status != OMO_OK)
        return status;
    enum omo_position position = movement->position_default;
    if (setting[SERIES_POSITION])
        position = omo_position_from_name(setting[SERIES_POSITION]);
    if (position == OMO_POSITION_COUNT || !movement->position_allowed[position]) {
        omo_error("%s is not measured in position \"%s\"", movement->name,
                  setting[SERIES_POSITION]);
        return OMO_ERR_ARG;
    }
    means->tracker.body = true;
    means->tracker.view = movement->view;
    means->tracker.needed = movement->needed;
    means->tracker.position = position;
    omo_measure_settings_default(&means->measure);
    means->measure.movement = movement;
    if (!turned(setting, means) || !placed(setting, means))
        return OMO_ERR_ARG;
    means->measure.side = means->tracker.side;
    means->measure.position = position;
    means->measure.from_behind = means->tracker.from_behind;
    means->measure.facing_left = means->tracker.facing_left;
    means->measure.mirrored = means->tracker.mirrored;
    return OMO_OK;
}
