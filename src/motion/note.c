#include <math.h>
#include <stdarg.h>
#include <string.h>

#include <glib.h>

#include "motion/hike.h"
#include "motion/take.h"
#include "omogon/text.h"

/* The trunk lies elsewhere than the position says. Our choice. */
#define TRUNK_OFF_DEG 45.0

static void say(struct omo_take *take, const char *format, ...) OMO_PRINTF(2, 3);

/** Adds a whole sentence, or none when it does not fit. */
static void say(struct omo_take *take, const char *format, ...)
{
    char sentence[256];
    struct omo_result *result = take->result;
    va_list rest;
    va_start(rest, format);
    g_vsnprintf(sentence, sizeof sentence, format, rest);
    va_end(rest);
    size_t used = strlen(result->note);
    if (used + 1 + strlen(sentence) + 1 > sizeof result->note)
        return;
    omo_text_add(result->note, sizeof result->note, "%s%s", used > 0 ? " " : "",
                 sentence);
}

static size_t rows_with(const struct omo_take *take, enum omo_quality bit)
{
    size_t found = 0;
    for (size_t k = 0; k < take->count; k++)
        found += (take->rows[k].quality & (unsigned)bit) != 0 &&
                 isfinite(take->rows[k].angle_image_deg);
    return found;
}

static const char *way_of_zero(const struct omo_take *take)
{
    const struct omo_point zero = take->axes.zero;
    if (zero.x > 0)
        return "right";
    return zero.x < 0 ? "left" : "the bottom";
}

static void say_direction(struct omo_take *take)
{
    const struct omo_movement *m = take->settings->movement;
    if (take->result->against_direction)
        say(take,
            "The arm moved only against the stated direction, so no maximum is given: "
            "check --movement, --side, %s and --mirrored.",
            m->view == OMO_VIEW_FRONT ? "--from" : "--facing");
    if (fabs(take->trunk_off_deg) > TRUNK_OFF_DEG)
        say(take,
            "The trunk lies %.0f degrees from where it was expected (feet towards "
            "picture %s): check --position%s.",
            fabs(take->trunk_off_deg), way_of_zero(take),
            m->view == OMO_VIEW_FRONT ? "" : " and --facing");
}

static void say_rest(struct omo_take *take)
{
    if (take->rest.found)
        return;
    if (take->settings->movement->geometry != OMO_GEOMETRY_ELEVATION)
        say(take, "No rest was found (1 s still near the start), so none is given.");
    else if (take->trunk.kind == OMO_REFERENCE_CHEST_HIP)
        say(take, "No rest was found (1 s still with the arm down), so rest and hike are "
                  "empty.");
    else
        say(take,
            "No rest was found (1 s still with the arm down), so rest, hike and "
            "lean are empty and the angle is against the %s.",
            take->axes.lying ? "level" : "vertical");
}

static void say_trunk(struct omo_take *take)
{
    size_t held = rows_with(take, OMO_QUALITY_TRUNK_HELD);
    size_t assumed = rows_with(take, OMO_QUALITY_ASSUMED_VERTICAL);
    bool elevation = take->settings->movement->geometry == OMO_GEOMETRY_ELEVATION;
    if (take->trunk.chest_hidden)
        say(take,
            "The chest was hidden for too long near the rest, so the trunk is taken "
            "from the shoulder.");
    if (take->trunk.kind == OMO_REFERENCE_SHIFT)
        say(take, "Without a clear hip the lean is estimated from the shoulder's shift.");
    if (elevation && take->axes.lying && take->trunk.kind == OMO_REFERENCE_NONE)
        say(take,
            "The trunk was taken as straight in the picture, feet towards picture "
            "%s.",
            way_of_zero(take));
    if (take->trunk.kind == OMO_REFERENCE_SHIFT && assumed > 0)
        say(take, "In %zu frames the shoulder was too far aside for a lean.", assumed);
    if (held > 0)
        say(take,
            "In %zu frames the trunk's marker was hidden and its last clear place "
            "used.",
            held);
}

/** How far out the arm was held: rotation differs with it. "At 90" is said of 80 to 100
 *  alone. */
static void say_abduction(struct omo_take *take)
{
    double at_deg = take->result->rotation_at_abduction_deg;
    if (take->settings->movement->geometry != OMO_GEOMETRY_ROTATION &&
        take->settings->movement->geometry != OMO_GEOMETRY_FORESHORTENED)
        return;
    if (isnan(at_deg))
        say(take, "How far out the upper arm was held is not known (--at-abduction); "
                  "compare rotations at the same abduction alone.");
    else if (at_deg >= 80.0 && at_deg <= 100.0)
        say(take, "Rotation at 90 degrees of abduction.");
    else
        say(take, "Rotation at %.0f degrees of abduction, not at 90.", fabs(at_deg));
}

/** What seeing a rotation from in front costs. */
static void say_front(struct omo_take *take)
{
    size_t away = rows_with(take, OMO_QUALITY_ELBOW_AWAY);
    size_t turned = rows_with(take, OMO_QUALITY_TRUNK_TURNED), blind = 0;
    if (take->settings->movement->geometry != OMO_GEOMETRY_FORESHORTENED)
        return;
    for (size_t k = 0; k < take->count; k++)
        blind +=
            (take->rows[k].quality & (OMO_QUALITY_NO_ELBOW | OMO_QUALITY_NO_WRIST)) != 0;
    if (take->forearm.from == OMO_FOREARM_GUESSED)
        say(take, "The forearm's length is guessed: let the arm hang straight for a "
                  "second within the clip, or give --forearm.");
    if (take->result->max_deg > 65.0)
        say(take, "Beyond 65 degrees this view tells little.");
    if (away > 0)
        say(take, "In %zu frames the elbow had left the side.", away);
    if (turned > 0)
        say(take, "In %zu frames the trunk was turned, which counts in full.", turned);
    if (blind > 0)
        say(take, "In %zu frames elbow or wrist were hidden, as near zero.", blind);
}

static void say_pivot(struct omo_take *take)
{
    const struct omo_pivot *pivot = &take->pivot;
    if (!omo_correctable(take) || !pivot->known)
        return;
    if (!pivot->fitted)
        say(take,
            "The movement was too small to find the joint beside its marker, so the "
            "correction rests on what is usual.");
    else if (pivot->bent)
        say(take, "The elbow was bent, so the forearm was not used to correct the angle; "
                  "keep it straight where that is possible.");
}

static void say_picture(struct omo_take *take)
{
    size_t turned = rows_with(take, OMO_QUALITY_OUT_OF_PLANE);
    if (isfinite(take->moved_s)) {
        char moved[32];
        omo_number_text(take->moved_s, 1, moved, sizeof moved);
        say(take,
            "The camera was moved at %s s: angles against the vertical may be off "
            "from there on.",
            moved);
    }
    if (turned > 0)
        say(take, "In %zu frames the arm pointed out of the picture's plane.", turned);
    if (take->stalls > 0)
        say(take,
            "In %zu frames the picture stood still while the arm moved; they count "
            "for nothing.",
            take->stalls);
}

static void say_hike(struct omo_take *take)
{
    const struct omo_result *result = take->result;
    if (take->settings->movement->geometry != OMO_GEOMETRY_ELEVATION)
        return;
    if (!omo_hike_is_told(take))
        say(take, "The shoulder's band rides on the arm, so the shoulder's rise is "
                  "empty; a marker on the acromion would tell it.");
    if (isfinite(result->hike_onset_deg))
        say(take, "The shoulder begins to hitch up at %.0f degrees.",
            result->hike_onset_deg);
    else if (take->excess_row < take->count)
        say(take, "The shoulder or trunk passes what is allowed for at %.0f degrees.",
            take->rows[take->excess_row].angle_deg);
}

void omo_write_note(struct omo_take *take)
{
    struct omo_result *result = take->result;
    size_t angles = 0;
    for (size_t k = 0; k < take->count; k++)
        angles += isfinite(take->rows[k].angle_deg);
    if (angles == 0) {
        say(take, "No frame shows all the markers the movement needs.");
        return;
    }
    say_direction(take);
    if (omo_front_top_hidden(take, -INFINITY) && isnan(result->max_deg))
        say(take, "The hand did not come out beyond the place near zero where it hides "
                  "its own markers, so no maximum is given: lie on your back instead.");
    else if (isnan(result->max_deg) && !result->against_direction)
        say(take, "No stretch of 0.2 s without a gap was seen, so no maximum is given.");
    say_rest(take);
    say_trunk(take);
    say_pivot(take);
    say_hike(take);
    say_abduction(take);
    say_front(take);
    say_picture(take);
    if (result->repetitions == OMO_REPETITION_MAX)
        say(take, "Repetitions after the first %d are not counted.", OMO_REPETITION_MAX);
}
