#include "motion/take.h"

#include <math.h>

/* The wrist stands for the whole hanging arm when it is seen this often. */
#define WRIST_SHARE_MIN 0.8

bool omo_seen(const struct omo_markers *markers, enum omo_role role)
{
    const struct omo_marker *m = &markers->role[role];
    return m->seen != OMO_NOT_SEEN && isfinite(m->x_px) && isfinite(m->y_px);
}

struct omo_point omo_place(const struct omo_markers *markers, enum omo_role role)
{
    return (struct omo_point){markers->role[role].x_px, markers->role[role].y_px};
}

bool omo_clear_at(const struct omo_take *take, size_t k, enum omo_role role)
{
    return !take->frames[k].damaged && omo_seen(&take->frames[k].markers, role);
}

struct omo_point omo_still_place(const struct omo_take *take, size_t k,
                                 enum omo_role role)
{
    return omo_point_sub(omo_place(&take->frames[k].markers, role), take->moved[k]);
}

struct omo_point omo_turned(struct omo_point d, double clockwise_deg)
{
    double turn = clockwise_deg * M_PI / 180.0;
    return (struct omo_point){d.x * cos(turn) - d.y * sin(turn),
                              d.x * sin(turn) + d.y * cos(turn)};
}

bool omo_has_length(struct omo_point direction)
{
    return hypot(direction.x, direction.y) > 0.0;
}

double omo_elbow_flexion_deg(const struct omo_markers *markers)
{
    double inside_deg;
    if (!omo_seen(markers, OMO_SHOULDER) || !omo_seen(markers, OMO_ELBOW) ||
        !omo_seen(markers, OMO_WRIST))
        return NAN;
    if (omo_angle_at_deg(omo_place(markers, OMO_SHOULDER), omo_place(markers, OMO_ELBOW),
                         omo_place(markers, OMO_WRIST), &inside_deg) != OMO_OK)
        return NAN;
    return 180.0 - inside_deg;
}

/** A hanging arm is measured to the wrist where that is there. */
static void choose_pendulum_end(struct omo_take *take)
{
    size_t elbows = 0, wrists = 0;
    for (size_t k = 0; k < take->count; k++) {
        const struct omo_markers *m = &take->frames[k].markers;
        if (!omo_seen(m, OMO_SHOULDER))
            continue;
        elbows += omo_seen(m, OMO_ELBOW);
        wrists += omo_seen(m, OMO_WRIST);
    }
    bool wrist = wrists > 0 && (double)wrists >= WRIST_SHARE_MIN * (double)elbows;
    take->axes.to = wrist ? OMO_WRIST : OMO_ELBOW;
}

static unsigned missing(const struct omo_take *take, const struct omo_markers *m)
{
    static const unsigned bit[OMO_ROLE_COUNT] = {
        [OMO_SHOULDER] = OMO_QUALITY_NO_SHOULDER,
        [OMO_ELBOW] = OMO_QUALITY_NO_ELBOW,
        [OMO_WRIST] = OMO_QUALITY_NO_WRIST,
    };
    unsigned quality = 0;
    if (!omo_seen(m, take->axes.from))
        quality |= bit[take->axes.from];
    if (!omo_seen(m, take->axes.to))
        quality |= bit[take->axes.to];
    return quality;
}

void omo_choose_segment(struct omo_take *take)
{
    if (take->settings->movement->geometry == OMO_GEOMETRY_PENDULUM)
        choose_pendulum_end(take);
    if (take->settings->movement->geometry == OMO_GEOMETRY_FORESHORTENED)
        omo_learn_forearm(take);
}

void omo_read_segment(struct omo_take *take, size_t k)
{
    const struct omo_axes *axes = &take->axes;
    const struct omo_markers *m = &take->frames[k].markers;
    if (take->settings->movement->geometry == OMO_GEOMETRY_FORESHORTENED) {
        omo_front_read(take, k);
        return;
    }
    take->rows[k].quality |= missing(take, m);
    take->segment_deg[k] = take->length_px[k] = NAN;
    if (!omo_seen(m, axes->from) || !omo_seen(m, axes->to))
        return;
    struct omo_point segment =
        omo_point_sub(omo_place(m, axes->to), omo_place(m, axes->from));
    double turn_deg = omo_turn_deg(axes->zero, segment);
    if (isnan(turn_deg)) {
        /* Two markers in one place: the farther one cannot be right. */
        take->rows[k].quality |=
            axes->to == OMO_WRIST ? OMO_QUALITY_NO_WRIST : OMO_QUALITY_NO_ELBOW;
        return;
    }
    take->segment_deg[k] = axes->sign * turn_deg;
    take->length_px[k] = hypot(segment.x, segment.y);
    if (m->role[axes->from].seen == OMO_PLACED_BY_HAND ||
        m->role[axes->to].seen == OMO_PLACED_BY_HAND)
        take->rows[k].quality |= OMO_QUALITY_EDITED;
}

double omo_take_quantile(struct omo_take *take, const double *value, double share)
{
    size_t kept = 0;
    for (size_t k = 0; k < take->count; k++) {
        if (isfinite(value[k]))
            take->work[kept++] = value[k];
    }
    if (isnan(omo_median(take->work, kept))) /* sorts */
        return NAN;
    return take->work[(size_t)(share * (double)(kept - 1))];
}
