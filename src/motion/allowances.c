#include "motion/keys.h"
#include "motion/movements.h"

#define RATIO_MAX  1.0
#define TURN_MAX   45.0
#define ARC_MAX    180.0
#define OFF_MAX    200.0
#define LENGTH_MAX 1000.0
#define SLOPE_MAX  0.1 /* upper arms a degree: a whole one over ten degrees */
/* Forearm over what two bands leave of an upper arm. */
#define FOREARM_MAX 2.0
/* Of an upper arm: a band at the shoulder is above it, one at the elbow below. */
#define UPPER_HALF 0.5
#define TRUNK_MAX  5.0 /* hip to shoulder in upper arms; people have about 1.5 */

enum omo_status omo_allowances_parse(const char *bytes, size_t size, const char *name,
                                     struct omo_allowances *out)
{
    struct omo_allowances a = {0};
    const struct {
        const char *group, *key;
        double highest, *value;
    } rows[] = {
        {"shoulder-marker", "mm", OFF_MAX, &a.shoulder_mm},
        {"elbow-marker", "mm", OFF_MAX, &a.elbow_mm},
        {"wrist-marker", "mm", OFF_MAX, &a.wrist_mm},
        {"band", "mm", OFF_MAX, &a.band_mm},
        {"sleeve", "mm", OFF_MAX, &a.sleeve_mm},
        {"off-axis", "mm", OFF_MAX, &a.off_axis_mm},
        {"axial-rotation", "deg", ARC_MAX, &a.roll_deg},
        {"plane", "deg", TURN_MAX, &a.plane_deg},
        {"trunk-placed", "deg", TURN_MAX, &a.trunk_placed_deg},
        {"trunk-chest-hip", "deg", TURN_MAX, &a.trunk_chest_hip_deg},
        {"trunk-chest-hip-front", "deg", TURN_MAX, &a.trunk_chest_hip_front_deg},
        {"trunk-skin", "deg", TURN_MAX, &a.trunk_skin_deg},
        {"trunk-skin-front", "deg", TURN_MAX, &a.trunk_skin_front_deg},
        {"trunk-hip", "deg", TURN_MAX, &a.trunk_hip_deg},
        {"trunk-shift", "deg", TURN_MAX, &a.trunk_shift_deg},
        {"trunk-none", "deg", TURN_MAX, &a.trunk_none_deg},
        {"trunk-lying", "deg", TURN_MAX, &a.trunk_lying_deg},
        {"trunk-bench", "deg", TURN_MAX, &a.trunk_bench_deg},
        {"arm-level", "deg", TURN_MAX, &a.arm_level_deg},
        {"elbow-bent", "deg", TURN_MAX, &a.elbow_bent_deg},
        {"forearm-turn", "deg", ARC_MAX, &a.forearm_turn_deg},
        {"wrist-off-axis", "mm", OFF_MAX, &a.wrist_off_axis_mm},
        {"upright", "deg", TURN_MAX, &a.upright_deg},
        {"upper-arm", "mm", LENGTH_MAX, &a.upper_arm_mm},
        {"forearm", "mm", LENGTH_MAX, &a.forearm_mm},
        {"trunk-length", "ratio", TRUNK_MAX, &a.trunk_length_ratio},
        {"shoulder-band-place", "ratio", UPPER_HALF, &a.shoulder_band_ratio},
        {"elbow-band-place", "ratio", RATIO_MAX, &a.elbow_band_ratio},
        {"lean", "deg", TURN_MAX, &a.lean_deg},
        {"hike", "ratio", RATIO_MAX, &a.hike_ratio},
        {"natural-rise", "ratio", RATIO_MAX, &a.rise_ratio},
        {"natural-rise-from", "deg", ARC_MAX, &a.rise_from_deg},
        {"natural-rise-at", "deg", ARC_MAX, &a.rise_full_deg},
        {"hike-own", "ratio", RATIO_MAX, &a.hike_own_ratio},
        {"hike-onset-from", "deg", ARC_MAX, &a.onset_from_deg},
        {"hike-onset-over", "deg", ARC_MAX, &a.onset_over_deg},
        {"hike-onset-slope", "ratio_per_deg", SLOPE_MAX, &a.onset_slope_ratio_per_deg},
        {"hike-onset-rise", "ratio", RATIO_MAX, &a.onset_rise_ratio},
        {"hike-onset-chance", "ratio", RATIO_MAX, &a.onset_chance},
        {"elbow-above-joint", "ratio", RATIO_MAX, &a.elbow_above_ratio},
        {"forearm-length", "ratio", FOREARM_MAX, &a.forearm_ratio},
        {"wrist-skin", "ratio", RATIO_MAX, &a.wrist_skin_ratio},
        {"wrist-skin-spread", "ratio", RATIO_MAX, &a.skin_ratio},
        {"elbow-away", "deg", ARC_MAX, &a.away_deg},
        {"trunk-turned", "ratio", RATIO_MAX, &a.trunk_turned_ratio},
        {"forearm-learnt", "ratio", RATIO_MAX, &a.learnt_ratio},
        {"forearm-given", "ratio", RATIO_MAX, &a.given_ratio},
        {"forearm-guessed", "ratio", RATIO_MAX, &a.guess_ratio},
        {"facing", "deg", TURN_MAX, &a.facing_deg},
    };
    enum { COUNT = sizeof rows / sizeof rows[0] };
    struct omo_keys keys;
    enum omo_status status = omo_keys_open(bytes, size, name, &keys);
    if (status != OMO_OK)
        return status;

    const char *groups[COUNT + 1] = {0};
    for (size_t i = 0; i < COUNT; i++) {
        char source[256];
        groups[i] = rows[i].group;
        omo_keys_number(&keys, rows[i].group, rows[i].key, 0.0, rows[i].highest,
                        rows[i].value);
        /* An allowance nobody can trace is worth nothing. */
        omo_keys_text(&keys, rows[i].group, "source", source, sizeof source);
        omo_keys_only(&keys, rows[i].group,
                      (const char *const[]){rows[i].key, "source", NULL});
    }
    omo_keys_groups(&keys, groups);
    if (!(a.elbow_band_ratio > UPPER_HALF))
        omo_keys_mistake(&keys, "elbow-band-place", "ratio",
                         "a band at the elbow is on the lower half of the upper arm; "
                         "give more than %g",
                         UPPER_HALF);
    if (!keys.failed)
        *out = a;
    status = keys.failed ? OMO_ERR_SETTINGS : OMO_OK;
    omo_keys_close(&keys);
    return status;
}
