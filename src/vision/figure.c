#include "figure.h"
#include "length.h"

#include <math.h>

#define RAD_TO_DEG 57.29577951308232

/* Ordinary stature and sticker, mm, for the bond between a marker's size and a body's;
 * our choice. */
#define STATURE_MM       1700.0
#define DISC_MM          33.0
#define SIZE_SIGMA_KNOWN 0.15
#define SIZE_SIGMA       0.32
/* Sizes of the markers of one person agree this well, logarithm. */
#define ALIKE_SIGMA 0.13

/* An arm that points out of the image plane is shorter on the picture, seldom longer
 * than the table's (perspective, long-limbed people, placement). */
#define LONGER_SIGMA  0.10
#define SHORTER_SIGMA 0.30
#define TRUNK_SIGMA   0.11 /* logarithm of the trunk's length */
/* Real proportions and placement have long tails: no length costs more than this. */
#define LENGTH_COST_MAX 14.0
#define LEAN_SIGMA      14.0  /* degrees */
#define PLACE_SIGMA     0.035 /* of the chest's marker, share of stature */
/* By so much nearer on someone turned by 45 degrees, whose breastbone is 0.06 before the
 * shoulders' line; our choice. */
#define CHEST_NEARER 0.08
/* From a shoulder across to the hip bone of its side or of the other one: centre of the
 * joint to hip bone by the layout's half width and 0.07 of stature, and room for lean;
 * our choice. */
#define HIP_BONE 0.07
#define HIP_ROOM 0.03
/* The acromion's marker above the shoulder's, shares of stature; our choice. */
#define ACROMION_LOW     0.012
#define ACROMION_HIGH    0.041
#define ACROMION_INWARD  0.035
#define ACROMION_OUTWARD 0.018
#define ACROMION_SIGMA   0.005
#define HIP_SIGMA        0.03

/* Lying across the picture. Where the camera looks down, from the front on someone on the
 * back, from the side on someone on the side, the head is at its top as if standing. */
static bool lying(enum omo_view view, enum omo_position position)
{
    bool flat = position == OMO_SUPINE || position == OMO_PRONE;
    return view == OMO_VIEW_FRONT ? position == OMO_SIDE_LYING : flat;
}

void omo_figure_frame_init(struct omo_figure_frame *frame,
                           const struct omo_tracker_settings *settings,
                           const struct omo_layout *layout)
{
    *frame = (struct omo_figure_frame){.layout = *layout,
                                       .view = settings->view,
                                       .position = settings->position};
    bool right = settings->side == OMO_RIGHT;
    if (settings->view == OMO_VIEW_FRONT) {
        /* from before, a right arm is at picture left */
        frame->forward_x = right != settings->from_behind ? -1 : 1;
    } else {
        frame->forward_x = settings->facing_left ? -1 : 1;
    }
    if (settings->mirrored)
        frame->forward_x = -frame->forward_x;
    const struct omo_marker_set *set = &settings->set;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        frame->size_mm[r] = NAN;
        for (int i = 0; i < set->count; i++) {
            if (omo_role_from_name(set->entry[i].name) != (enum omo_role)r)
                continue;
            frame->size_mm[r] = set->entry[i].size_mm;
            if (r == OMO_SHOULDER)
                frame->shoulder_band = set->entry[i].shape == OMO_BAND;
        }
    }
    if (isnan(frame->size_mm[OMO_CHEST]))
        frame->size_mm[OMO_CHEST] = frame->size_mm[OMO_HIP];
}

static double square(double v)
{
    return v * v;
}

static double beyond2(double value, double low, double high, double sigma)
{
    double e = value < low ? low - value : value > high ? value - high : 0;
    return square(e / sigma);
}

/* ---- stature ---- */

/* Weighted mean of what the parts say about the logarithm of stature; arm parts that look
 * short are believed less. */
struct stature {
    double log_value[8], log_long[8], log_short[8];
    int count;
};

static void say(struct stature *s, double px, double share, double sigma_longer,
                double sigma_shorter)
{
    if (!(px > 0))
        return;
    s->log_value[s->count] = log(px / share);
    s->log_long[s->count] = sigma_longer;
    s->log_short[s->count] = sigma_shorter;
    s->count++;
}

static double stature_cost(const struct stature *s, double *log_stature)
{
    double at = -INFINITY;
    for (int i = 0; i < s->count; i++)
        at = fmax(at, s->log_value[i] - (s->log_short[i] > s->log_long[i] ? 0 : 0.1));
    double cost = 0;
    for (int pass = 0; pass < 4; pass++) {
        double sum = 0, weight = 0;
        cost = 0;
        for (int i = 0; i < s->count; i++) {
            double d = s->log_value[i] - at;
            double sigma = d > 0 ? s->log_long[i] : s->log_short[i];
            double w = 1 / (sigma * sigma);
            double c = w * d * d;
            /* c / (1 + c / max): a length far off says little about stature */
            double tail = 1 / (1 + c / LENGTH_COST_MAX);
            cost += c * tail;
            w *= tail * tail;
            sum += w * s->log_value[i];
            weight += w;
        }
        if (pass < 3)
            at = sum / weight;
    }
    *log_stature = at;
    return cost;
}

static double length_px(const struct omo_figure *f, int a, int b)
{
    return f->there[a] && f->there[b]
               ? omo_length(f->x_px[a] - f->x_px[b], f->y_px[a] - f->y_px[b])
               : 0;
}

/* Shoulder to hip; along an upright trunk alone, when the hip may be the other one. */
static double trunk_px(const struct omo_figure_frame *frame, const struct omo_figure *f)
{
    if (!frame->either_hip || !f->there[OMO_SHOULDER] || !f->there[OMO_HIP])
        return length_px(f, OMO_SHOULDER, OMO_HIP);
    return f->y_px[OMO_HIP] - f->y_px[OMO_SHOULDER];
}

static double parts_cost(const struct omo_figure_frame *frame, const struct omo_figure *f,
                         double *log_stature)
{
    const struct omo_layout *layout = &frame->layout;
    struct stature s = {.count = 0};
    double trunk = layout->shoulder_height - layout->hip_height;
    say(&s, length_px(f, OMO_SHOULDER, OMO_ELBOW), layout->upper_arm, LONGER_SIGMA,
        SHORTER_SIGMA);
    say(&s, length_px(f, OMO_ELBOW, OMO_WRIST), layout->forearm, LONGER_SIGMA,
        SHORTER_SIGMA);
    say(&s, trunk_px(frame, f), trunk, TRUNK_SIGMA, TRUNK_SIGMA);
    double mean = 0, known = 0;
    int count = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        if (!f->there[r])
            continue;
        double size = frame->size_mm[r];
        known += isfinite(size);
        mean += log(f->diameter_px[r] / (isfinite(size) ? size : DISC_MM));
        count++;
    }
    mean /= count;
    double cost = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        if (!f->there[r])
            continue;
        double size = frame->size_mm[r];
        double own = log(f->diameter_px[r] / (isfinite(size) ? size : DISC_MM));
        cost += square((own - mean) / ALIKE_SIGMA);
    }
    double sigma = known >= count ? SIZE_SIGMA_KNOWN : SIZE_SIGMA;
    s.log_value[s.count] = mean + log(STATURE_MM);
    s.log_long[s.count] = s.log_short[s.count] = sigma;
    s.count++;
    return cost + stature_cost(&s, log_stature);
}

/* ---- directions ---- */

/* Angle of a vector against picture "down", positive towards forward_x. */
static double from_down_deg(const struct omo_figure_frame *frame, double dx, double dy)
{
    return atan2(frame->forward_x * dx, dy) * RAD_TO_DEG;
}

static double wrap(double deg)
{
    double d = fmod(deg + 180, 360);
    return d < 0 ? d + 180 : d - 180;
}

/* Direction from the shoulder to the hip where it is seen, else as the position lets one
 * expect; NAN when neither says anything. */
static double trunk_down_deg(const struct omo_figure_frame *frame,
                             const struct omo_figure *f)
{
    if (f->there[OMO_SHOULDER] && f->there[OMO_HIP] && !frame->either_hip)
        return from_down_deg(frame, f->x_px[OMO_HIP] - f->x_px[OMO_SHOULDER],
                             f->y_px[OMO_HIP] - f->y_px[OMO_SHOULDER]);
    return lying(frame->view, frame->position) ? NAN : 0;
}

static double trunk_cost(const struct omo_figure_frame *frame, double down_deg)
{
    double off = lying(frame->view, frame->position)
                     ? fmin(fabs(wrap(down_deg - 90)), fabs(wrap(down_deg + 90)))
                     : fabs(down_deg);
    if (off > 60)
        return INFINITY;
    return square(off / LEAN_SIGMA);
}

/* The chest's marker from the shoulder in shares of stature: along the trunk and across
 * it, away from the arm. Whoever raises the arm in the shoulder blade's plane stands
 * turned for it by some 35 degrees: the breastbone, which lies before the shoulders'
 * line, then looks much nearer to the arm. */
static double chest_cost(const struct omo_figure_frame *frame, const struct omo_figure *f,
                         double down_deg, double stature_px)
{
    if (!f->there[OMO_CHEST] || !f->there[OMO_SHOULDER] || !isfinite(down_deg))
        return 0;
    double dx = frame->forward_x * (f->x_px[OMO_CHEST] - f->x_px[OMO_SHOULDER]);
    double dy = f->y_px[OMO_CHEST] - f->y_px[OMO_SHOULDER];
    double c = cos(down_deg / RAD_TO_DEG), s = sin(down_deg / RAD_TO_DEG);
    double down = (dx * s + dy * c) / stature_px;
    double across = (dx * c - dy * s) / stature_px; /* towards the arm's side */
    const struct omo_layout *layout = &frame->layout;
    if (frame->view == OMO_VIEW_FRONT)
        return square((down - 0.01) / PLACE_SIGMA) +
               beyond2(across, -layout->half_shoulder_width,
                       -layout->half_shoulder_width + CHEST_NEARER, PLACE_SIGMA);
    return square((down - (layout->shoulder_height - layout->chest_height)) /
                  (1.3 * PLACE_SIGMA)) +
           square(across / PLACE_SIGMA);
}

/* The acromion's marker from the shoulder's: 20 to 70 mm up the trunk of someone 1.7 m
 * tall, and with the arm raised it has turned towards the neck. */
static double acromion_cost(const struct omo_figure_frame *frame,
                            const struct omo_figure *f, double down_deg,
                            double stature_px)
{
    if (!f->there[OMO_ACROMION] || !f->there[OMO_SHOULDER] || !isfinite(down_deg))
        return 0;
    if (frame->shoulder_band) /* of another colour: it need not be the upper one */
        return beyond2(length_px(f, OMO_SHOULDER, OMO_ACROMION) / stature_px, 0,
                       OMO_ACROMION_FROM_BAND, ACROMION_SIGMA);
    double dx = frame->forward_x * (f->x_px[OMO_ACROMION] - f->x_px[OMO_SHOULDER]);
    double dy = f->y_px[OMO_ACROMION] - f->y_px[OMO_SHOULDER];
    double c = cos(down_deg / RAD_TO_DEG), s = sin(down_deg / RAD_TO_DEG);
    double up = -(dx * s + dy * c) / stature_px;
    double across = (dx * c - dy * s) / stature_px;
    return beyond2(up, ACROMION_LOW, ACROMION_HIGH, ACROMION_SIGMA) +
           beyond2(across, -ACROMION_INWARD, ACROMION_OUTWARD, ACROMION_SIGMA);
}

/* A hip of either side lies below the shoulders, between them or a little outside. */
static double either_hip_cost(const struct omo_figure_frame *frame,
                              const struct omo_figure *f, double stature_px)
{
    double dx = frame->forward_x * (f->x_px[OMO_HIP] - f->x_px[OMO_SHOULDER]);
    double half = frame->layout.half_shoulder_width;
    if (!(trunk_px(frame, f) > 0))
        return INFINITY;
    return beyond2(dx / stature_px, -half - HIP_BONE - HIP_ROOM,
                   -half + HIP_BONE + HIP_ROOM, HIP_SIGMA);
}

double omo_figure_elevation_deg(const struct omo_figure_frame *frame,
                                const struct omo_figure *f)
{
    if (!f->there[OMO_SHOULDER] || !f->there[OMO_ELBOW])
        return NAN;
    double down = trunk_down_deg(frame, f);
    double arm = from_down_deg(frame, f->x_px[OMO_ELBOW] - f->x_px[OMO_SHOULDER],
                               f->y_px[OMO_ELBOW] - f->y_px[OMO_SHOULDER]);
    return wrap(arm - (isfinite(down) ? down : 0));
}

static double joints_cost(const struct omo_figure_frame *frame,
                          const struct omo_figure *f, double down_deg)
{
    double cost = 0;
    if (isfinite(down_deg) && f->there[OMO_SHOULDER] && f->there[OMO_ELBOW]) {
        double up = omo_figure_elevation_deg(frame, f);
        if (up < -110)
            up += 360;
        /* Hanging or moving the stated way is likelier than behind the back. */
        cost += beyond2(up, -25, 185, 18) + square(up / 150);
    }
    if (f->there[OMO_SHOULDER] && f->there[OMO_ELBOW] && f->there[OMO_WRIST]) {
        double upper = from_down_deg(frame, f->x_px[OMO_ELBOW] - f->x_px[OMO_SHOULDER],
                                     f->y_px[OMO_ELBOW] - f->y_px[OMO_SHOULDER]);
        double fore = from_down_deg(frame, f->x_px[OMO_WRIST] - f->x_px[OMO_ELBOW],
                                    f->y_px[OMO_WRIST] - f->y_px[OMO_ELBOW]);
        double bend = wrap(fore - upper);
        /* From the front an elbow may seem to bend either way. */
        double low = frame->view == OMO_VIEW_FRONT ? -150 : -35;
        cost += beyond2(bend, low, 155, 15) + square(bend / 90);
    }
    return cost;
}

/* Without a shoulder in between: an elbow is within the arm's reach of the hip, a chest
 * marker over it. */
static double loose_cost(const struct omo_figure_frame *frame, const struct omo_figure *f,
                         double stature_px)
{
    const struct omo_layout *layout = &frame->layout;
    double trunk = layout->shoulder_height - layout->hip_height, cost = 0;
    if (f->there[OMO_SHOULDER])
        return 0;
    if (f->there[OMO_ELBOW] && f->there[OMO_HIP])
        cost += beyond2(length_px(f, OMO_ELBOW, OMO_HIP) / stature_px, 0,
                        trunk + layout->upper_arm, 0.03);
    if (f->there[OMO_CHEST] && f->there[OMO_HIP])
        cost +=
            beyond2(length_px(f, OMO_CHEST, OMO_HIP) / stature_px, 0.5 * trunk,
                    1.2 * trunk, 0.03) +
            trunk_cost(frame, from_down_deg(frame, f->x_px[OMO_HIP] - f->x_px[OMO_CHEST],
                                            f->y_px[OMO_HIP] - f->y_px[OMO_CHEST]));
    return cost;
}

double omo_figure_cost(const struct omo_figure_frame *frame,
                       const struct omo_figure *figure, double *stature_px)
{
    double log_stature, cost = parts_cost(frame, figure, &log_stature);
    double stature = exp(log_stature);
    double down_deg = trunk_down_deg(frame, figure);
    if (figure->there[OMO_SHOULDER] && figure->there[OMO_HIP])
        cost += frame->either_hip ? either_hip_cost(frame, figure, stature)
                                  : trunk_cost(frame, down_deg);
    if (!isfinite(cost))
        return INFINITY;
    cost += chest_cost(frame, figure, down_deg, stature);
    cost += acromion_cost(frame, figure, down_deg, stature);
    cost += joints_cost(frame, figure, down_deg);
    cost += loose_cost(frame, figure, stature);
    /* A chest marker lies above the hip's: it is the upper of two alike. */
    if (figure->there[OMO_CHEST] && figure->there[OMO_HIP] &&
        !lying(frame->view, frame->position) &&
        figure->y_px[OMO_CHEST] > figure->y_px[OMO_HIP])
        return INFINITY;
    if (stature_px)
        *stature_px = stature;
    return cost;
}
