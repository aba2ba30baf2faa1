#include "motion/take.h"

#include <math.h>

/* ---- a camera that is bumped ----
 *
 * Two markers of the trunk jump together within a tenth of a second, and stand still
 * before and after. A body cannot: from rest to rest over a distance d in a time t it
 * takes an acceleration of at least 4 d / t^2, for 25 mm in 0.1 s more than gravity's.
 * The limits are our choice. */
#define JUMP_S            0.1
#define STILL_S           0.3
#define JUMP_PX_MIN       4.0
#define JUMP_ARM_SHARE    0.08 /* of the upper arm: 25 mm on 300 */
#define JUMP_APART_SHARE  0.35 /* a camera also turns */
#define STILL_SHARE       0.25
#define STILL_SAMPLES_MIN 3
/* Without a full arm in view the jump is judged against this length. */
#define ARM_PX_UNKNOWN 100.0

/* ---- a picture that stands still ---- */
#define STALL_DEG 0.5

/** The two markers that show the camera's moves. */
struct anchors {
    enum omo_role a, b;
};

static bool usable(const struct omo_take *take, size_t k, const struct anchors *anchors)
{
    const struct omo_track_frame *f = &take->frames[k];
    return !f->damaged && !f->repeated && omo_seen(&f->markers, anchors->a) &&
           omo_seen(&f->markers, anchors->b);
}

static struct anchors choose_anchors(const struct omo_take *take)
{
    size_t seen[OMO_ROLE_COUNT] = {0};
    for (size_t k = 0; k < take->count; k++) {
        for (int role = 0; role < OMO_ROLE_COUNT; role++)
            seen[role] += omo_seen(&take->frames[k].markers, (enum omo_role)role);
    }
    struct anchors anchors = {OMO_SHOULDER, OMO_ELBOW};
    if (seen[OMO_HIP] > 0 || seen[OMO_CHEST] > 0)
        anchors.b = seen[OMO_HIP] >= seen[OMO_CHEST] ? OMO_HIP : OMO_CHEST;
    if (seen[OMO_SHOULDER] == 0)
        anchors = (struct anchors){OMO_ELBOW, OMO_WRIST};
    return anchors;
}

static struct omo_point moved_by(const struct omo_take *take, size_t from, size_t to,
                                 enum omo_role role)
{
    return omo_point_sub(omo_place(&take->frames[to].markers, role),
                         omo_place(&take->frames[from].markers, role));
}

static double length_of(struct omo_point p)
{
    return hypot(p.x, p.y);
}

/** True when both markers stay within `most_px` of where they are in row k, over STILL_S
 *  before (way -1) or after it (+1). */
static bool stands_still(const struct omo_take *take, const struct anchors *anchors,
                         size_t k, int way, double most_px)
{
    int samples = 0;
    for (size_t i = k; i<take->count; i = way> 0 ? i + 1 : i - 1) {
        if (fabs(take->time_s[i] - take->time_s[k]) > STILL_S)
            break;
        if (usable(take, i, anchors)) {
            if (length_of(moved_by(take, k, i, anchors->a)) > most_px ||
                length_of(moved_by(take, k, i, anchors->b)) > most_px)
                return false;
            samples++;
        }
        if (i == 0 && way < 0)
            break;
    }
    return samples >= STILL_SAMPLES_MIN;
}

/** The camera's move between rows `before` and `after`; no length when there is none. */
static struct omo_point jump_between(const struct omo_take *take,
                                     const struct anchors *anchors, size_t before,
                                     size_t after, double least_px)
{
    struct omo_point a = moved_by(take, before, after, anchors->a);
    struct omo_point b = moved_by(take, before, after, anchors->b);
    double far_px = fmax(length_of(a), length_of(b));
    struct omo_point none = {0, 0};
    if (!(length_of(a) >= least_px) || !(length_of(b) >= least_px) ||
        length_of(omo_point_sub(a, b)) > JUMP_APART_SHARE * far_px)
        return none;
    if (!stands_still(take, anchors, before, -1, STILL_SHARE * far_px) ||
        !stands_still(take, anchors, after, +1, STILL_SHARE * far_px))
        return none;
    return (struct omo_point){(a.x + b.x) / 2, (a.y + b.y) / 2};
}

/** First row after `before` in which the jump shows. */
static size_t jump_begins(const struct omo_take *take, const struct anchors *anchors,
                          size_t before, size_t after, double jump_px)
{
    for (size_t i = before + 1; i < after; i++) {
        if (usable(take, i, anchors) &&
            length_of(moved_by(take, before, i, anchors->a)) > STILL_SHARE * jump_px)
            return i;
    }
    return after;
}

static void note_jump(struct omo_take *take, size_t from, struct omo_point jump)
{
    for (size_t i = from; i < take->count; i++) {
        take->moved[i].x += jump.x;
        take->moved[i].y += jump.y;
        take->rows[i].quality |= OMO_QUALITY_CAMERA_MOVED;
    }
    if (isnan(take->moved_s))
        take->moved_s = take->time_s[from];
}

void omo_find_camera_moves(struct omo_take *take)
{
    struct anchors anchors = choose_anchors(take);
    double arm_px = isnan(take->segment_px) ? ARM_PX_UNKNOWN : take->segment_px;
    double least_px = fmax(JUMP_PX_MIN, JUMP_ARM_SHARE * arm_px);
    size_t before = 0;
    bool any_before = false;
    size_t next = 0;  /* first row that is not yet far enough back to be `before` */
    size_t moves = 0; /* a shaking camera would otherwise cost time without end */
    enum { MOVES_MAX = 100 };
    for (size_t k = 0; k < take->count && moves < MOVES_MAX; k++) {
        if (!usable(take, k, &anchors))
            continue;
        for (; next < k && take->time_s[next] <= take->time_s[k] - JUMP_S + 1e-6;
             next++) {
            if (usable(take, next, &anchors)) {
                before = next;
                any_before = true;
            }
        }
        double apart_s =
            any_before ? take->time_s[k] - take->time_s[before] : (double)INFINITY;
        if (!(apart_s <= JUMP_S + 1.5 * take->step_s))
            continue;
        struct omo_point jump = jump_between(take, &anchors, before, k, least_px);
        if (!omo_has_length(jump))
            continue;
        note_jump(take, jump_begins(take, &anchors, before, k, length_of(jump)), jump);
        moves++;
        /* The next one has to stand still after this one. */
        next = k;
        any_before = false;
    }
}

void omo_find_stalls(struct omo_take *take)
{
    /* A run of repeated pictures hides a movement when the picture after it shows another
     * angle; an arm that is held still may repeat as often as it likes. */
    double before_deg = NAN;
    size_t run = 0;
    for (size_t k = 0; k < take->count; k++) {
        if (take->frames[k].repeated) {
            take->rows[k].quality |= OMO_QUALITY_REPEATED;
            run++;
            continue;
        }
        double change_deg = fabs(omo_wrap_deg(take->segment_deg[k] - before_deg, -180.0));
        if (run > 0 && change_deg > STALL_DEG) {
            take->stalls += run;
            for (size_t i = k - run; i < k; i++)
                take->ignored[i] = true;
        }
        run = 0;
        before_deg = take->segment_deg[k];
    }
}
