#include "motion/budget_camera.h"

#include <math.h>

/* A picture whose size nobody told is taken as this large. */
#define WIDTH_UNKNOWN  1280
#define HEIGHT_UNKNOWN 720
/* What lens and level do to a line changes slowly over the picture: what was worked out
 * for a line still holds when both its ends lie within this share of the picture's width
 * of where they were. Our choice: it changes by less than a tenth of a degree. */
#define NEAR_RATIO 0.02

static const char profile[] = "lens profile";
static const char assumed[] = "assumed lens";

bool omo_from_the_vertical(const struct omo_take *take, size_t k)
{
    return take->rows[k].reference != OMO_REFERENCE_CHEST_HIP ||
           isfinite(take->trunk.offset_deg);
}

/** The lens that is there, else the assumed one in *room. */
static const struct omo_lens *lens_of(const struct omo_take *take, struct omo_lens *room)
{
    const struct omo_measure_settings *s = take->settings;
    if (s->lens != NULL)
        return s->lens;
    bool sized = s->picture_width > 0 && s->picture_height > 0;
    omo_lens_default(sized ? s->picture_width : WIDTH_UNKNOWN,
                     sized ? s->picture_height : HEIGHT_UNKNOWN, room);
    return room;
}

/** Trunk line of row k as the camera sent it, where it carries its own direction. */
static bool own_trunk(const struct omo_take *take, size_t k, struct omo_lens_line *trunk)
{
    const struct omo_markers *m = &take->sent[k].markers;
    if (omo_from_the_vertical(take, k) || !omo_seen(m, OMO_CHEST) ||
        !omo_seen(m, OMO_HIP))
        return false;
    *trunk = (struct omo_lens_line){omo_place(m, OMO_CHEST), omo_place(m, OMO_HIP)};
    return true;
}

/** Roll and pitch against the room's vertical; a camera that looks down on someone lying
 *  has only its turn against the bench, of which no profile tells. */
static double level_u_deg(const struct omo_take *take, size_t k,
                          const struct omo_lens *lens, const struct omo_lens_line *arm)
{
    struct omo_lens_line trunk;
    bool own = own_trunk(take, k, &trunk);
    if (!take->axes.gravity)
        return own ? 0.0 : OMO_LENS_ROLL_ASSUMED_U_DEG;
    if (own)
        return omo_lens_level_between_u_deg(lens, arm, &trunk);
    /* The trunk's line is compared with itself at rest, in nearly the same place: what
     * lens and level do to it cancels. */
    return omo_lens_level_u_deg(lens, arm->from, arm->to);
}

static bool near(struct omo_point a, struct omo_point b, double px)
{
    return omo_point_distance(a, b) <= px;
}

static void work_out(const struct omo_take *take, size_t k,
                     const struct omo_lens_line *arm, struct omo_camera_u *u)
{
    struct omo_lens room;
    struct omo_lens_line trunk;
    const struct omo_lens *lens = lens_of(take, &room);
    bool vertical = omo_from_the_vertical(take, k);
    double near_px = NEAR_RATIO * lens->width;
    if (u->known && u->vertical == vertical && near(u->arm.from, arm->from, near_px) &&
        near(u->arm.to, arm->to, near_px))
        return;
    u->lens_deg = own_trunk(take, k, &trunk)
                      ? omo_lens_between_u_deg(lens, arm, &trunk)
                      : omo_lens_angle_u_deg(lens, arm->from, arm->to);
    u->level_deg = level_u_deg(take, k, lens, arm);
    u->arm = *arm;
    u->vertical = vertical;
    u->known = isfinite(u->lens_deg) && isfinite(u->level_deg);
}

/** A line whose contribution is worked out whole. */
static void add_whole(struct omo_budget *budget, const char *name, double u_deg,
                      const char *origin)
{
    omo_budget_add(budget, &(struct omo_budget_line){.name = name,
                                                     .unit = "deg",
                                                     .origin = origin,
                                                     .distribution = OMO_GAUSSIAN,
                                                     .input_u = u_deg,
                                                     .sensitivity = 1.0,
                                                     .freedom = INFINITY});
}

/** Speed of the arm at row k, degrees a second, from its neighbours; 0 without any. */
static double speed_deg_s(const struct omo_take *take, size_t k)
{
    size_t first = k > 0 ? k - 1 : k, last = k + 1 < take->count ? k + 1 : k;
    double turn_deg = take->segment_deg[last] - take->segment_deg[first];
    double time_s = take->time_s[last] - take->time_s[first];
    if (!isfinite(turn_deg) || !(time_s > 0.0) || time_s > 2.0 * OMO_GAP_S)
        return 0.0;
    return omo_wrap_deg(turn_deg, -180.0) / time_s;
}

/** Rows are read one after the other: the arm's two ends at different moments, as far
 *  apart in time as in height. */
static void add_rolling_shutter(const struct omo_take *take, size_t k,
                                const struct omo_lens_line *arm,
                                struct omo_budget *budget)
{
    const struct omo_lens *lens = take->settings->lens;
    double height_px = take->settings->picture_height;
    double rows_px = fabs(arm->to.y - arm->from.y);
    /* In a picture of unknown height the arm may fill it. */
    double share = height_px > 0.0 ? fmin(rows_px / height_px, 1.0) : 1.0;
    bool known = lens != NULL && isfinite(lens->readout_s);
    double input_ms = omo_lens_shutter_u_deg(lens, 1.0, 1.0) * 1e3;
    omo_budget_add(budget,
                   &(struct omo_budget_line){.name = "rolling-shutter",
                                             .unit = "ms",
                                             .origin = known ? profile : assumed,
                                             .distribution = OMO_RECTANGULAR,
                                             .input_u = input_ms,
                                             .sensitivity = fabs(speed_deg_s(take, k)) *
                                                            share * 1e-3,
                                             .freedom = INFINITY});
}

void omo_budget_camera(const struct omo_take *take, size_t k, struct omo_camera_u *kept,
                       struct omo_budget *budget)
{
    const struct omo_lens *lens = take->settings->lens;
    const struct omo_markers *m = &take->sent[k].markers;
    struct omo_lens_line arm = {omo_place(m, take->axes.from),
                                omo_place(m, take->axes.to)};
    work_out(take, k, &arm, kept);
    bool levelled = lens != NULL && isfinite(lens->roll_deg) && take->axes.gravity;
    add_whole(budget, "lens", kept->lens_deg, lens != NULL ? profile : assumed);
    add_whole(budget, "level", kept->level_deg, levelled ? profile : assumed);
    add_rolling_shutter(take, k, &arm, budget);
}
