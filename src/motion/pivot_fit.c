/**
 * The fit: the most probable shoulder by omo_most_probable(), once for each place where
 * the shoulder's marker may sit and each way the plane may be turned, all weighed by
 * their evidence. What they make of an angle is averaged by these weights; where they
 * differ, that is uncertainty.
 */
#include <math.h>
#include <string.h>

#include "motion/pivot.h"
#include "motion/take.h"

#define PART_FRAMES_MIN 3
/* An arc of fewer parts than this says nothing about a pivot. */
#define PARTS_MIN 4
/* Steps of the search in a file, and live from where the last one ended. Our choice. */
#define STEPS_WHOLE 25
/* One step of differences, in standard deviations of the priors. */
#define DIFFERENCE 0.02
/* Parts that disagree more than this with all others count less (Huber). Our choice. */
#define HUBER 2.5

/* Our choice. */
#define PLACED_MIN_MM 0.1
/* Where the searches start, in standard deviations of the turn; nearer than this many of
 * what was found, two ends are one. Our choice. */
#define START_SD 1.2
#define SAME_SD  1.0
/* A shoulder less likely than this is not worth its time in every frame. Our choice. */
#define WEIGHT_MIN 0.02

/* An arm turns about itself as it rises, all the way over its own arc. Our choice. */
#define ARC_LEAST_DEG 20.0
#define ARC_MOST_DEG  150.0

enum { RESIDUALS_MAX = 2 * OMO_PIVOT_PARTS + 1 };

/** One search. */
struct search {
    const struct omo_pivot *pivot;
    const struct omo_pivot_priors *priors;
    struct omo_prior prior[OMO_PIVOT_UNKNOWNS];
    struct omo_pivot_view view[OMO_PIVOT_PARTS]; /**< mm */
    double image_deg[OMO_PIVOT_PARTS];
    int part[OMO_PIVOT_PARTS], parts;
    bool wrist;
    double aside_deg_per_mm; /**< bend that comes with a sticker carried round */
    double along_mm, bend_deg, forearm_log; /**< standard deviations of the residuals */
    double changed[RESIDUALS_MAX];
};

static struct omo_spot scaled(struct omo_spot spot, double by)
{
    return (struct omo_spot){spot.ahead * by, spot.down * by};
}

/** Mean view of a part, mm. */
static struct omo_pivot_view mean_view(const struct omo_pivot_part *part,
                                       double mm_per_px)
{
    double each = mm_per_px / (double)part->frames;
    struct omo_pivot_view view = {.shoulder = scaled(part->shoulder, each),
                                  .elbow = scaled(part->elbow, each),
                                  .lean_deg = part->lean_deg / (double)part->frames,
                                  .wrist_seen = part->wrists >= PART_FRAMES_MIN};
    if (view.wrist_seen) {
        struct omo_spot way = scaled(part->forearm, mm_per_px / (double)part->wrists);
        view.wrist.ahead = view.elbow.ahead + way.ahead;
        view.wrist.down = view.elbow.down + way.down;
    }
    return view;
}

static double distance(struct omo_spot a, struct omo_spot b)
{
    return hypot(a.ahead - b.ahead, a.down - b.down);
}

/** mm in a px, from the middle length of the line between the markers. */
static double find_scale(const struct omo_pivot *pivot)
{
    double length_px[OMO_PIVOT_PARTS];
    size_t parts = 0;
    for (int i = 0; i < OMO_PIVOT_PARTS; i++) {
        const struct omo_pivot_part *part = &pivot->part[i];
        if (part->frames >= PART_FRAMES_MIN)
            length_px[parts++] =
                distance(part->elbow, part->shoulder) / (double)part->frames;
    }
    return OMO_UPPER_ARM_MM / omo_median(length_px, parts);
}

/* ---- what is believed before ---- */

static struct omo_prior zero_mean(double sd)
{
    return (struct omo_prior){0.0, sd};
}

/** The forearm's way out of the upper arm's line, in the movement's sense: forwards seen
 *  from the side, outwards from the front. */
static double bend_sign(const struct omo_measure_settings *s)
{
    return s->movement->view == OMO_VIEW_SIDE ? -s->movement->sign : s->movement->sign;
}

/** A place that is told as certain is still found by hand. */
static double across_mm(const struct omo_measure_settings *s, enum omo_role role)
{
    return fmax(omo_placed_mm(s, role), PLACED_MIN_MM);
}

/** How far along the limb a marker may sit from its joint. */
static double along_mm(const struct omo_measure_settings *s, enum omo_role role)
{
    return s->band[role] ? s->movement->pivot.band_along_mm : across_mm(s, role);
}

double omo_turned_mm(const struct omo_measure_settings *settings, enum omo_role role)
{
    const struct omo_pivot_priors *p = &settings->movement->pivot;
    if (settings->band[role])
        return p->band_turn_mm;
    return role == OMO_ELBOW ? p->elbow_turn_mm : p->wrist_turn_mm;
}

/** Spread of the logarithm of forearm over upper arm as the markers show it: people
 *  differ, and an elbow's marker that sits low makes one longer and the other shorter. */
static double forearm_log_sd(const struct omo_measure_settings *s)
{
    const struct omo_pivot_priors *p = &s->movement->pivot;
    double forearm_mm = p->forearm_ratio * OMO_UPPER_ARM_MM;
    double elbow = along_mm(s, OMO_ELBOW) * (1.0 / OMO_UPPER_ARM_MM + 1.0 / forearm_mm);
    double wrist = along_mm(s, OMO_WRIST) / forearm_mm;
    return hypot(p->forearm_sd_ratio / p->forearm_ratio, hypot(elbow, wrist));
}

/** The elbow is seen from the side, or from the front with the palm forward, or with the
 *  thumb up as in the plane of the shoulder blade. */
static const struct omo_pivot_bend *bend_of(const struct omo_measure_settings *s)
{
    const struct omo_pivot_priors *p = &s->movement->pivot;
    if (s->movement->view == OMO_VIEW_SIDE)
        return &p->bend_side;
    return strcmp(s->movement->plane, "scapular") == 0 ? &p->bend_thumb_up
                                                       : &p->bend_front;
}

/** A limb's marker behind the shoulder's, while the limb lies across the line of sight: a
 *  band is round the axis, a sticker on the skin before it, as the shoulder's is. */
static double behind_mm(const struct omo_measure_settings *s, enum omo_role role)
{
    const struct omo_allowances *a = &s->movement->allowances;
    double skin_mm = role == OMO_WRIST ? a->wrist_off_axis_mm : a->off_axis_mm;
    return s->movement->pivot.shoulder_depth_mm - (s->band[role] ? 0.0 : skin_mm);
}

static void believe(struct search *search, const struct omo_measure_settings *s,
                    int place)
{
    const struct omo_pivot_priors *p = search->priors;
    const struct omo_pivot_place *shoulder = &p->place[place];
    const struct omo_pivot_bend *bend = bend_of(s);
    struct omo_prior *prior = search->prior;
    /* What lies across the picture's plane on the side of the sticker turns into the
     * movement's way as the sticker does. */
    search->aside_deg_per_mm = (s->from_behind ? -bend->aside_deg : bend->aside_deg) /
                               s->movement->allowances.off_axis_mm;
    search->forearm_log = forearm_log_sd(s);
    prior[OMO_PIVOT_LENGTH] = zero_mean(p->length_sd_ratio);
    prior[OMO_PIVOT_UP] = (struct omo_prior){shoulder->up_mean_mm, shoulder->up_sd_mm};
    prior[OMO_PIVOT_AHEAD] =
        (struct omo_prior){shoulder->ahead_mean_mm, shoulder->ahead_sd_mm};
    prior[OMO_PIVOT_SHARE] = (struct omo_prior){p->share_mean, p->share_sd};
    prior[OMO_PIVOT_SETTING] = (struct omo_prior){p->setting_mean_deg, p->setting_sd_deg};
    prior[OMO_PIVOT_SLIDE_AHEAD] = prior[OMO_PIVOT_SLIDE_DOWN] =
        zero_mean(p->slide_sd_mm);
    prior[OMO_PIVOT_TURN] = zero_mean(p->turn_sd_deg);
    prior[OMO_PIVOT_TURN_DRIFT] = zero_mean(p->turn_drift_sd_deg);
    prior[OMO_PIVOT_STANCE] = zero_mean(p->stance_sd_deg);
    prior[OMO_PIVOT_BEND] =
        (struct omo_prior){bend_sign(s) * bend->mean_deg, bend->sd_deg};
    prior[OMO_PIVOT_BEND_DRIFT] = zero_mean(bend->drift_sd_deg);
    prior[OMO_PIVOT_ELBOW_ACROSS] = zero_mean(across_mm(s, OMO_ELBOW));
    prior[OMO_PIVOT_ELBOW_TURN] = zero_mean(omo_turned_mm(s, OMO_ELBOW));
    prior[OMO_PIVOT_WRIST_ACROSS] = zero_mean(across_mm(s, OMO_WRIST));
    prior[OMO_PIVOT_WRIST_TURN] = zero_mean(omo_turned_mm(s, OMO_WRIST));
}

/* ---- what the movement says ---- */

static double bend_seen_deg(const struct omo_pivot_view *view, double image_deg)
{
    double forearm_deg = atan2(view->wrist.ahead - view->elbow.ahead,
                               view->wrist.down - view->elbow.down) *
                         180.0 / M_PI;
    return omo_wrap_deg(forearm_deg - image_deg, -180.0);
}

/** Whether the forearm is straight enough to say anything. */
static bool straight(const struct search *search, double expected_deg)
{
    double low_deg = INFINITY, high_deg = -INFINITY;
    for (int i = 0; i < search->parts; i++) {
        if (!search->view[i].wrist_seen)
            continue;
        double deg = bend_seen_deg(&search->view[i], search->image_deg[i]);
        low_deg = fmin(low_deg, deg);
        high_deg = fmax(high_deg, deg);
    }
    double limit_deg = search->priors->bent_limit_deg;
    return high_deg - low_deg <= limit_deg && low_deg >= expected_deg - limit_deg &&
           high_deg <= expected_deg + limit_deg;
}

static void gather(struct search *search, const struct omo_pivot *pivot)
{
    search->parts = 0;
    for (int i = 0; i < OMO_PIVOT_PARTS; i++) {
        const struct omo_pivot_part *part = &pivot->part[i];
        if (part->frames < PART_FRAMES_MIN)
            continue;
        search->part[search->parts] = i;
        search->image_deg[search->parts] = part->image_deg / (double)part->frames;
        search->view[search->parts++] = mean_view(part, pivot->mm_per_px);
    }
    /* However finely the arc is cut, it says as much as so many parts of its own. */
    double share = sqrt((double)search->parts / search->priors->misfit_parts);
    search->along_mm = search->priors->misfit_along_mm * share;
    search->bend_deg = search->priors->misfit_bend_deg * share;
}

/** How far the arm goes, within what a turn of the limbs takes. */
static double arc_of(const struct search *search)
{
    double most_deg = 0;
    for (int i = 0; i < search->parts; i++)
        most_deg = fmax(most_deg, fabs(search->image_deg[i]));
    return fmin(fmax(most_deg, ARC_LEAST_DEG), ARC_MOST_DEG);
}

static void residuals(struct search *search, const double *unknown, double *residual)
{
    const struct omo_pivot_scale *scale = &search->pivot->scale;
    double forearm_mm = 0;
    int at = 0, wrists = 0;
    for (int i = 0; i < search->parts; i++) {
        struct omo_pivot_reading r =
            omo_pivot_read(unknown, scale, &search->view[i], search->image_deg[i]);
        residual[at++] = (r.length_mm - OMO_UPPER_ARM_MM) / search->along_mm;
        if (!search->wrist || !search->view[i].wrist_seen)
            continue;
        double drift_deg = unknown[OMO_PIVOT_BEND_DRIFT] +
                           unknown[OMO_PIVOT_ELBOW_TURN] * search->aside_deg_per_mm;
        double bend_deg =
            unknown[OMO_PIVOT_BEND] + drift_deg * omo_pivot_grown(scale, r.angle_deg);
        residual[at++] = omo_wrap_deg(r.bend_deg - bend_deg, -180.0) / search->bend_deg;
        forearm_mm += r.forearm_mm;
        wrists++;
    }
    if (wrists > 0)
        residual[at] = log(forearm_mm / (double)wrists / OMO_UPPER_ARM_MM /
                           search->priors->forearm_ratio) /
                       search->forearm_log;
}

static size_t residual_count(const struct search *search)
{
    size_t count = (size_t)search->parts, wrists = 0;
    for (int i = 0; search->wrist && i < search->parts; i++)
        wrists += search->view[i].wrist_seen;
    return count + wrists + (wrists > 0);
}

static void residuals_at(void *context, const double *parameter, double *residual,
                         double *jacobian)
{
    struct search *search = context;
    residuals(search, parameter, residual);
    if (jacobian == NULL)
        return;
    size_t count = residual_count(search);
    double moved[OMO_PIVOT_UNKNOWNS];
    for (int j = 0; j < OMO_PIVOT_UNKNOWNS; j++)
        moved[j] = parameter[j];
    for (int j = 0; j < OMO_PIVOT_UNKNOWNS; j++) {
        double step = DIFFERENCE * search->prior[j].sd;
        moved[j] = parameter[j] + step;
        residuals(search, moved, search->changed);
        moved[j] = parameter[j];
        for (size_t i = 0; i < count; i++)
            jacobian[i * OMO_PIVOT_UNKNOWNS + (size_t)j] =
                (search->changed[i] - residual[i]) / step;
    }
}

/* ---- how good a corrected angle is ---- */

/** gradient' covariance gradient, leaving out the unknowns of `known`: their part of the
 *  covariance is conditioned on them (Schur). */
static double variance_given(const struct omo_probable *found, const double *gradient,
                             const int *known, int count)
{
    double g[OMO_PIVOT_UNKNOWNS], c[OMO_PIVOT_UNKNOWNS][OMO_PIVOT_UNKNOWNS];
    for (int i = 0; i < OMO_PIVOT_UNKNOWNS; i++) {
        g[i] = gradient[i];
        for (int j = 0; j < OMO_PIVOT_UNKNOWNS; j++)
            c[i][j] = found->covariance[i][j];
    }
    for (int n = 0; n < count; n++) {
        int k = known[n];
        double pivot = c[k][k];
        if (!(pivot > 0.0))
            continue;
        double column[OMO_PIVOT_UNKNOWNS];
        for (int i = 0; i < OMO_PIVOT_UNKNOWNS; i++)
            column[i] = c[i][k];
        for (int i = 0; i < OMO_PIVOT_UNKNOWNS; i++) {
            for (int j = 0; j < OMO_PIVOT_UNKNOWNS; j++)
                c[i][j] -= column[i] * column[j] / pivot;
        }
    }
    double variance = 0;
    for (int i = 0; i < OMO_PIVOT_UNKNOWNS; i++) {
        for (int j = 0; j < OMO_PIVOT_UNKNOWNS; j++)
            variance += g[i] * c[i][j] * g[j];
    }
    return fmax(variance, 0.0);
}

/** Mean of the angle over the turn that is left open, beyond the angle at its most
 *  probable value: half the curvature times the variance. */
static double turn_shift_deg(const struct search *search,
                             const struct omo_probable *found, int at, double angle_deg)
{
    double moved[OMO_PIVOT_UNKNOWNS], sum_deg = 0;
    double sd = sqrt(found->covariance[OMO_PIVOT_TURN][OMO_PIVOT_TURN]);
    for (int j = 0; j < OMO_PIVOT_UNKNOWNS; j++)
        moved[j] = found->parameter[j];
    for (int way = -1; way <= 1; way += 2) {
        moved[OMO_PIVOT_TURN] = found->parameter[OMO_PIVOT_TURN] + way * sd;
        sum_deg += omo_pivot_read(moved, &search->pivot->scale, &search->view[at],
                                  search->image_deg[at])
                       .angle_deg -
                   angle_deg;
    }
    return 0.5 * sum_deg;
}

static struct omo_pivot_variance variance_of(const struct search *search,
                                             const struct omo_probable *found, int at,
                                             double *angle_deg)
{
    static const int across[] = {OMO_PIVOT_ELBOW_TURN, OMO_PIVOT_ELBOW_ACROSS};
    const struct omo_pivot_scale *scale = &search->pivot->scale;
    const struct omo_pivot_view *view = &search->view[at];
    double moved[OMO_PIVOT_UNKNOWNS], gradient[OMO_PIVOT_UNKNOWNS];
    double image_deg = search->image_deg[at];
    *angle_deg = omo_pivot_read(found->parameter, scale, view, image_deg).angle_deg;
    for (int j = 0; j < OMO_PIVOT_UNKNOWNS; j++)
        moved[j] = found->parameter[j];
    for (int j = 0; j < OMO_PIVOT_UNKNOWNS; j++) {
        double step = DIFFERENCE * search->prior[j].sd;
        moved[j] += step;
        gradient[j] =
            (omo_pivot_read(moved, scale, view, image_deg).angle_deg - *angle_deg) / step;
        moved[j] = found->parameter[j];
    }
    double all = variance_given(found, gradient, NULL, 0);
    double still = variance_given(found, gradient, across, 1);
    double fit = variance_given(found, gradient, across, 2);
    return (struct omo_pivot_variance){.fit = fit,
                                       .placement = fmax(still - fit, 0),
                                       .turn = fmax(all - still, 0)};
}

/** The mixture's variance in one part: the mean of the places' own, and how far the
 *  places differ. */
static struct omo_pivot_variance part_variance(const struct search *search,
                                               const struct omo_pivot *pivot, int at,
                                               double *shift_deg)
{
    struct omo_pivot_variance sum = {0, 0, 0};
    double angle_deg[OMO_PIVOT_TRIES], mean_deg = 0;
    *shift_deg = 0;
    for (int try = 0; try < OMO_PIVOT_TRIES; try++) {
        if (!(pivot->weight[try] > 0.0))
            continue;
        struct omo_pivot_variance one =
            variance_of(search, &pivot->found[try], at, &angle_deg[try]);
        sum.fit += pivot->weight[try] * one.fit;
        sum.placement += pivot->weight[try] * one.placement;
        sum.turn += pivot->weight[try] * one.turn;
        mean_deg += pivot->weight[try] * angle_deg[try];
        *shift_deg += pivot->weight[try] *
                      turn_shift_deg(search, &pivot->found[try], at, angle_deg[try]);
    }
    for (int try = 0; try < OMO_PIVOT_TRIES; try++) {
        if (!(pivot->weight[try] > 0.0))
            continue;
        double off_deg = angle_deg[try] - mean_deg;
        sum.fit += pivot->weight[try] * off_deg * off_deg;
    }
    return sum;
}

static void find_variances(const struct search *search, struct omo_pivot *pivot)
{
    int from = 0;
    for (int at = 0; at < search->parts; at++) {
        double shift_deg;
        struct omo_pivot_variance here = part_variance(search, pivot, at, &shift_deg);
        int next = at + 1 < search->parts ? search->part[at + 1] : OMO_PIVOT_PARTS;
        /* Halfway to the next part that has frames. */
        int until = at + 1 < search->parts ? (search->part[at] + next + 1) / 2 : next;
        for (; from < until; from++) {
            pivot->variance[from] = here;
            pivot->shift_deg[from] = shift_deg;
        }
    }
}

/* ---- the whole ---- */

/** Whether two searches for one place have ended in the same shoulder. */
static bool same_end(const struct omo_probable *a, const struct omo_probable *b)
{
    double apart_deg = a->parameter[OMO_PIVOT_TURN] - b->parameter[OMO_PIVOT_TURN];
    double variance = a->covariance[OMO_PIVOT_TURN][OMO_PIVOT_TURN];
    return apart_deg * apart_deg < SAME_SD * SAME_SD * variance;
}

static bool tried(const struct omo_measure_settings *s, int try)
{
    return s->shoulder_place == OMO_PLACE_NOT_TOLD || try / 2 == (int)s->shoulder_place;
}

/** By evidence; what was found twice counts once. */
static void weigh(struct omo_pivot *pivot, const struct omo_measure_settings *s)
{
    double best = -INFINITY, sum = 0;
    for (int try = 0; try < OMO_PIVOT_TRIES; try++) {
        if (tried(s, try))
            best = fmax(best, pivot->found[try].log_evidence);
    }
    for (int try = 0; try < OMO_PIVOT_TRIES; try++) {
        bool again = try % 2 == 1 && same_end(&pivot->found[try - 1], &pivot->found[try]);
        pivot->weight[try] =
            tried(s, try) && !again ? exp(pivot->found[try].log_evidence - best) : 0.0;
        sum += pivot->weight[try];
    }
    double kept = 0;
    for (int try = 0; try < OMO_PIVOT_TRIES; try++) {
        if (pivot->weight[try] < WEIGHT_MIN * sum)
            pivot->weight[try] = 0.0;
        kept += pivot->weight[try];
    }
    for (int try = 0; try < OMO_PIVOT_TRIES; try++)
        pivot->weight[try] /= kept;
}

size_t omo_pivot_room(void)
{
    return omo_most_probable_room(RESIDUALS_MAX, OMO_PIVOT_UNKNOWNS);
}

/** One search: from where the last one ended, or with the plane turned this way or that.
 */
static bool search_once(struct search *search, struct omo_pivot *pivot, int try,
                        int steps, double *room)
{
    double start[OMO_PIVOT_UNKNOWNS];
    for (int j = 0; j < OMO_PIVOT_UNKNOWNS; j++)
        start[j] = steps > 0 ? pivot->found[try].parameter[j] : search->prior[j].mean;
    if (steps == 0)
        start[OMO_PIVOT_TURN] +=
            (try % 2 == 0 ? START_SD : -START_SD) * search->prior[OMO_PIVOT_TURN].sd;
    struct omo_probable_task task = {
        .unknowns = OMO_PIVOT_UNKNOWNS,
        .residuals = pivot->fitted ? residual_count(search) : 0,
        .prior = search->prior,
        .start = start,
        .residuals_at = residuals_at,
        .context = search,
        .huber = HUBER,
        .iterations_max = steps > 0 ? steps : STEPS_WHOLE,
    };
    return omo_most_probable(&task, room, &pivot->found[try]) == OMO_OK;
}

void omo_pivot_fit(struct omo_pivot *pivot, const struct omo_measure_settings *settings,
                   double focal_px, int steps, double *room)
{
    struct search search = {.pivot = pivot, .priors = &settings->movement->pivot};
    double mm_per_px = find_scale(pivot);
    pivot->known = isfinite(mm_per_px);
    pivot->fitted = pivot->bent = pivot->wrist = false;
    if (!pivot->known)
        return;
    pivot->mm_per_px = mm_per_px;
    pivot->scale.distance_mm = focal_px * mm_per_px;
    pivot->scale.trunk_mm =
        OMO_UPPER_ARM_MM * settings->movement->allowances.trunk_length_ratio;
    pivot->scale.stance_share = search.priors->stance_share;
    pivot->scale.elbow_behind_mm = behind_mm(settings, OMO_ELBOW);
    pivot->scale.wrist_behind_mm = behind_mm(settings, OMO_WRIST);
    gather(&search, pivot);
    pivot->scale.arc_deg = arc_of(&search);
    pivot->fitted = search.parts >= PARTS_MIN;
    for (int try = 0; try < OMO_PIVOT_TRIES; try++) {
        if (!tried(settings, try))
            continue;
        believe(&search, settings, try / 2);
        search.wrist = straight(&search, search.prior[OMO_PIVOT_BEND].mean);
        if (!search_once(&search, pivot, try, pivot->warm ? steps : 0, room)) {
            pivot->known = pivot->warm = false;
            return;
        }
    }
    pivot->warm = true;
    pivot->wrist = pivot->fitted && residual_count(&search) > (size_t)search.parts;
    pivot->bent = pivot->fitted && !search.wrist;
    weigh(pivot, settings);
    find_variances(&search, pivot);
}
