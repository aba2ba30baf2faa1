#include "motion/keys.h"
#include "motion/movements.h"

#define MM_MAX    100.0
#define DEG_MAX   90.0
#define RATIO_MAX 1.0
#define PARTS_MAX 100.0
#define ROW_KEYS  5

/** A group of models/pivot.ini: keys and where their values go. */
struct row {
    const char *group;
    struct {
        const char *key;
        double lowest, highest, *value;
    } key[ROW_KEYS];
};

static void read_row(struct omo_keys *keys, const struct row *row)
{
    const char *allowed[ROW_KEYS + 2] = {"source"};
    char source[256];
    for (int i = 0; i < ROW_KEYS && row->key[i].key != NULL; i++) {
        omo_keys_number(keys, row->group, row->key[i].key, row->key[i].lowest,
                        row->key[i].highest, row->key[i].value);
        allowed[i + 1] = row->key[i].key;
    }
    /* A belief nobody can trace is worth nothing. */
    omo_keys_text(keys, row->group, "source", source, sizeof source);
    omo_keys_only(keys, row->group, allowed);
}

/* A standard deviation of nothing would be a certainty. */
#define SD(name, most, field)                                                            \
    {                                                                                    \
        name, 1e-3, most, &p.field                                                       \
    }
#define MEAN(name, least, field)                                                         \
    {                                                                                    \
        name, -(least), least, &p.field                                                  \
    }
#define ABOVE(name, most, field)                                                         \
    {                                                                                    \
        name, 1e-3, most, &p.field                                                       \
    }

enum omo_status omo_pivot_priors_parse(const char *bytes, size_t size, const char *name,
                                       struct omo_pivot_priors *out)
{
    struct omo_pivot_priors p = {0};
    const struct row rows[] = {
        {"upper-arm", {SD("sd_ratio", RATIO_MAX, length_sd_ratio)}},
        {"forearm",
         {ABOVE("mean_ratio", RATIO_MAX, forearm_ratio),
          SD("sd_ratio", RATIO_MAX, forearm_sd_ratio)}},
        {"shoulder-over-the-head",
         {MEAN("up_mean_mm", MM_MAX, place[0].up_mean_mm),
          SD("up_sd_mm", MM_MAX, place[0].up_sd_mm),
          MEAN("ahead_mean_mm", MM_MAX, place[0].ahead_mean_mm),
          SD("ahead_sd_mm", MM_MAX, place[0].ahead_sd_mm)}},
        {"shoulder-on-the-edge",
         {MEAN("up_mean_mm", MM_MAX, place[1].up_mean_mm),
          SD("up_sd_mm", MM_MAX, place[1].up_sd_mm),
          MEAN("ahead_mean_mm", MM_MAX, place[1].ahead_mean_mm),
          SD("ahead_sd_mm", MM_MAX, place[1].ahead_sd_mm)}},
        {"shoulder-blade",
         {MEAN("share_mean", RATIO_MAX, share_mean), SD("share_sd", RATIO_MAX, share_sd),
          MEAN("setting_mean_deg", DEG_MAX, setting_mean_deg),
          SD("setting_sd_deg", DEG_MAX, setting_sd_deg)}},
        {"skin",
         {SD("sd_mm", MM_MAX, slide_sd_mm), MEAN("depth_mm", MM_MAX, shoulder_depth_mm)}},
        {"plane",
         {SD("turn_sd_deg", DEG_MAX, turn_sd_deg),
          SD("drift_sd_deg", DEG_MAX, turn_drift_sd_deg),
          ABOVE("stance_share", RATIO_MAX, stance_share),
          SD("stance_sd_deg", DEG_MAX, stance_sd_deg)}},
        {"elbow-seen-from-the-front",
         {MEAN("mean_deg", DEG_MAX, bend_front.mean_deg),
          SD("sd_deg", DEG_MAX, bend_front.sd_deg),
          SD("drift_sd_deg", DEG_MAX, bend_front.drift_sd_deg),
          MEAN("aside_deg", DEG_MAX, bend_front.aside_deg)}},
        {"elbow-seen-from-the-front-thumb-up",
         {MEAN("mean_deg", DEG_MAX, bend_thumb_up.mean_deg),
          SD("sd_deg", DEG_MAX, bend_thumb_up.sd_deg),
          SD("drift_sd_deg", DEG_MAX, bend_thumb_up.drift_sd_deg),
          MEAN("aside_deg", DEG_MAX, bend_thumb_up.aside_deg)}},
        {"elbow-seen-from-the-side",
         {MEAN("mean_deg", DEG_MAX, bend_side.mean_deg),
          SD("sd_deg", DEG_MAX, bend_side.sd_deg),
          SD("drift_sd_deg", DEG_MAX, bend_side.drift_sd_deg),
          MEAN("aside_deg", DEG_MAX, bend_side.aside_deg)}},
        {"elbow-bent", {ABOVE("limit_deg", DEG_MAX, bent_limit_deg)}},
        {"stickers",
         {SD("elbow_turn_mm", MM_MAX, elbow_turn_mm),
          SD("wrist_turn_mm", MM_MAX, wrist_turn_mm)}},
        {"bands",
         {SD("turn_mm", MM_MAX, band_turn_mm), SD("along_mm", MM_MAX, band_along_mm)}},
        {"misfit",
         {SD("along_mm", MM_MAX, misfit_along_mm),
          SD("bend_deg", DEG_MAX, misfit_bend_deg),
          ABOVE("parts", PARTS_MAX, misfit_parts)}},
    };
    enum { COUNT = sizeof rows / sizeof rows[0] };
    const char *groups[COUNT + 1] = {0};
    struct omo_keys keys;
    enum omo_status status = omo_keys_open(bytes, size, name, &keys);
    if (status != OMO_OK)
        return status;
    for (size_t i = 0; i < COUNT; i++) {
        groups[i] = rows[i].group;
        read_row(&keys, &rows[i]);
    }
    omo_keys_groups(&keys, groups);
    if (!keys.failed)
        *out = p;
    status = keys.failed ? OMO_ERR_SETTINGS : OMO_OK;
    omo_keys_close(&keys);
    return status;
}
