#include <math.h>

#include "motion/rotation.h"

/* A straight arm in the picture's plane: how far the forearm may deviate from the upper
 * arm's line, and how short against the guess it may look; a forearm bent towards the
 * camera by 41 degrees would look that short. Our choice. */
#define STRAIGHT_DEG 25.0
#define LONG_SHARE   0.75
/* So many frames have to be this close to the longest but the top tenth: a third of a
 * second at 30 frames a second. Our choice. */
#define LEARNT_FRAMES 10
#define LEARNT_SHARE  0.96
#define TOP_SHARE     0.90

/** The wrist of a straight arm at the bone's distance: its marker is nearer to the
 * camera, on the skin, and so looks farther from the picture's centre. */
static struct omo_point wrist_bone(const struct omo_measure_settings *s,
                                   const struct omo_markers *m)
{
    struct omo_lens room;
    const double *lens = omo_front_lens(s, &room)->value;
    struct omo_point centre = {lens[OMO_LENS_CX], lens[OMO_LENS_CY]};
    struct omo_point elbow = omo_place(m, OMO_ELBOW), wrist = omo_place(m, OMO_WRIST);
    double nearer = s->movement->allowances.wrist_skin_ratio *
                    omo_point_distance(elbow, wrist) / lens[OMO_LENS_FX];
    return (struct omo_point){centre.x + (wrist.x - centre.x) * (1.0 - nearer),
                              centre.y + (wrist.y - centre.y) * (1.0 - nearer)};
}

/** Length from elbow marker to wrist marker of a straight arm; NAN: bent, or not seen. */
static double straight_px(const struct omo_take *take, size_t k)
{
    const struct omo_measure_settings *s = take->settings;
    const struct omo_markers *m = &take->frames[k].markers;
    if (!omo_clear_at(take, k, OMO_SHOULDER))
        return NAN;
    double bend_deg = omo_elbow_flexion_deg(m);
    double upper_px =
        omo_point_distance(omo_place(m, OMO_SHOULDER), omo_place(m, OMO_ELBOW));
    double fore_px = omo_point_distance(omo_place(m, OMO_ELBOW), wrist_bone(s, m));
    double whole_ratio =
        s->movement->allowances.forearm_ratio + s->movement->allowances.elbow_above_ratio;
    if (!(bend_deg <= STRAIGHT_DEG) || fore_px < LONG_SHARE * whole_ratio * upper_px)
        return NAN;
    return fore_px - s->movement->allowances.elbow_above_ratio * upper_px;
}

/** From frames in which the arm hangs (or is held) straight; false: too few. */
static bool learn(struct omo_take *take)
{
    size_t near = 0;
    for (size_t k = 0; k < take->count; k++)
        take->smoothed[k] = straight_px(take, k);
    double top_px = omo_take_quantile(take, take->smoothed, TOP_SHARE);
    for (size_t k = 0; k < take->count; k++)
        near += take->smoothed[k] >= LEARNT_SHARE * top_px;
    if (!(near >= LEARNT_FRAMES))
        return false;
    size_t kept = 0;
    for (size_t k = 0; k < take->count; k++)
        if (take->smoothed[k] >= LEARNT_SHARE * top_px)
            take->work[kept++] = take->smoothed[k];
    take->forearm.px = omo_median(take->work, kept);
    return true;
}

/** From the length in mm and the markers' size in the picture. */
static bool scale(struct omo_take *take)
{
    const struct omo_measure_settings *s = take->settings;
    size_t kept = 0;
    for (size_t k = 0; k < take->count; k++) {
        double px = take->frames[k].markers.role[OMO_SHOULDER].diameter_px;
        if (omo_clear_at(take, k, OMO_SHOULDER) && px > 0.0)
            take->work[kept++] = px;
    }
    take->forearm.px = s->forearm_mm / s->marker_size_mm * omo_median(take->work, kept);
    return isfinite(take->forearm.px);
}

/** From the upper arm, and at least as long as it looked with the elbow bent. */
static bool guess(struct omo_take *take)
{
    const struct omo_measure_settings *s = take->settings;
    for (size_t k = 0; k < take->count; k++) {
        const struct omo_markers *m = &take->frames[k].markers;
        bool both =
            omo_clear_at(take, k, OMO_SHOULDER) && omo_clear_at(take, k, OMO_ELBOW);
        take->smoothed[k] =
            both ? omo_point_distance(omo_place(m, OMO_SHOULDER), omo_place(m, OMO_ELBOW))
                 : (double)NAN;
    }
    double upper_px = omo_take_quantile(take, take->smoothed, TOP_SHARE);
    take->forearm.px = s->movement->allowances.forearm_ratio * upper_px;
    return isfinite(take->forearm.px) && take->forearm.px > 0.0;
}

void omo_learn_forearm(struct omo_take *take)
{
    const struct omo_allowances *a = &take->settings->movement->allowances;
    struct omo_forearm *f = &take->forearm;
    f->known = true;
    f->from = OMO_FOREARM_GIVEN;
    f->u_ratio = a->given_ratio;
    if (scale(take))
        return;
    f->from = OMO_FOREARM_LEARNT;
    f->u_ratio = a->learnt_ratio;
    if (learn(take))
        return;
    f->from = OMO_FOREARM_GUESSED;
    f->u_ratio = a->guess_ratio;
    f->known = guess(take);
}
