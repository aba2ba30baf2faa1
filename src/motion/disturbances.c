#include "motion/take.h"

#include <math.h>

#include "motion/jump.h"

/* ---- a picture that stands still ---- */
#define STALL_DEG 0.5

/* ---- a camera that is bumped: see jump.h ---- */

static bool usable(const struct omo_take *take, size_t k, const struct anchors *anchors)
{
    const struct omo_track_frame *f = &take->frames[k];
    return !f->damaged && !f->repeated && omo_seen(&f->markers, anchors->a) &&
           omo_seen(&f->markers, anchors->b);
}

static struct omo_point moved_by(const struct omo_take *take, size_t from, size_t to,
                                 enum omo_role role)
{
    /* Moves found before are taken out, so that no other pair finds them again. */
    return omo_point_sub(omo_still_place(take, to, role),
                         omo_still_place(take, from, role));
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
    size_t room = way > 0 ? take->count - k : k + 1;
    for (size_t step = 0; step < room; step++) {
        size_t i = way > 0 ? k + step : k - step;
        if (fabs(take->time_s[i] - take->time_s[k]) > STILL_S)
            break;
        if (!usable(take, i, anchors))
            continue;
        if (length_of(moved_by(take, k, i, anchors->a)) > most_px ||
            length_of(moved_by(take, k, i, anchors->b)) > most_px)
            return false;
        samples++;
    }
    return samples >= STILL_SAMPLES_MIN;
}

/** How both markers moved between two rows: the mean, or no length when they did not move
 *  together and far enough. */
static struct omo_point moved_together(const struct omo_take *take,
                                       const struct anchors *anchors, size_t from,
                                       size_t to, double least_px)
{
    struct omo_point a = moved_by(take, from, to, anchors->a);
    struct omo_point b = moved_by(take, from, to, anchors->b);
    double far_px = fmax(length_of(a), length_of(b));
    if (!(length_of(a) >= least_px) || !(length_of(b) >= least_px) ||
        length_of(omo_point_sub(a, b)) > JUMP_APART_SHARE * far_px)
        return (struct omo_point){0, 0};
    return (struct omo_point){(a.x + b.x) / 2, (a.y + b.y) / 2};
}

/** A camera's move: rows first..settled - 1 shake, from `settled` on it stands still. */
struct move {
    size_t before, first, settled;
    struct omo_point by;
};

/** Looks for where the camera comes to rest after the jump that row k shows. */
static bool settles(const struct omo_take *take, const struct anchors *anchors, size_t k,
                    double least_px, struct move *move)
{
    for (size_t i = k; i < take->count && take->time_s[i] - take->time_s[k] <= SETTLE_S;
         i++) {
        if (!usable(take, i, anchors))
            continue;
        move->by = moved_together(take, anchors, move->before, i, least_px);
        move->settled = i;
        if (take->growing && take->time_s[take->count - 1] - take->time_s[i] < STILL_S)
            return false; /* whether it stays there is yet to be seen */
        if (omo_has_length(move->by) &&
            stands_still(take, anchors, i, +1, STILL_AFTER * length_of(move->by)))
            return true;
    }
    return false;
}

/** First row after `before` in which the jump shows. */
static size_t jump_begins(const struct omo_take *take, const struct anchors *anchors,
                          size_t before, size_t k, double jump_px)
{
    for (size_t i = before + 1; i < k; i++) {
        if (usable(take, i, anchors) &&
            length_of(moved_by(take, before, i, anchors->a)) > STILL_AFTER * jump_px)
            return i;
    }
    return k;
}

/** The jump from a standstill at move->before to row k, and what becomes of it. */
static bool find_move(const struct omo_take *take, const struct anchors *anchors,
                      size_t k, double least_px, struct move *move)
{
    struct omo_point jump = moved_together(take, anchors, move->before, k, least_px);
    double jump_px = length_of(jump);
    if (!omo_has_length(jump) ||
        !stands_still(take, anchors, move->before, -1, STILL_BEFORE * jump_px) ||
        !settles(take, anchors, k, least_px, move))
        return false;
    move->first = jump_begins(take, anchors, move->before, k, jump_px);
    return true;
}

static void note_move(struct omo_take *take, const struct anchors *anchors,
                      const struct move *move)
{
    for (size_t i = move->first; i < take->count; i++) {
        struct omo_point by = move->by;
        if (i < move->settled && usable(take, i, anchors)) {
            struct omo_point a = moved_by(take, move->before, i, anchors->a);
            struct omo_point b = moved_by(take, move->before, i, anchors->b);
            by = (struct omo_point){(a.x + b.x) / 2, (a.y + b.y) / 2};
        }
        take->moved[i].x += by.x;
        take->moved[i].y += by.y;
        take->rows[i].quality |= OMO_QUALITY_CAMERA_MOVED;
    }
    if (!(take->time_s[move->first] >= take->moved_s))
        take->moved_s = take->time_s[move->first];
}

static void find_moves_of(struct omo_take *take, struct anchors anchors, size_t from)
{
    double arm_px = isnan(take->segment_px) ? ARM_PX_UNKNOWN : take->segment_px;
    double least_px = fmax(JUMP_PX_MIN, JUMP_ARM_SHARE * arm_px);
    struct move move = {.before = 0};
    bool any_before = false;
    size_t next = from; /* first row that is not yet far enough back to be `before` */
    size_t moves = 0;   /* a shaking camera would otherwise cost time without end */
    enum { MOVES_MAX = 100 };
    for (size_t k = from; k < take->count && moves < MOVES_MAX; k++) {
        if (!usable(take, k, &anchors))
            continue;
        for (; next < k && take->time_s[next] <= take->time_s[k] - JUMP_S + 1e-6;
             next++) {
            if (usable(take, next, &anchors)) {
                move.before = next;
                any_before = true;
            }
        }
        double apart_s =
            any_before ? take->time_s[k] - take->time_s[move.before] : (double)INFINITY;
        if (!(apart_s <= JUMP_S + 1.5 * take->step_s) ||
            !find_move(take, &anchors, k, least_px, &move))
            continue;
        note_move(take, &anchors, &move);
        moves++;
        k = move.settled;
    }
}

void omo_find_camera_moves(struct omo_take *take, size_t from)
{
    /* The hanging arm hides the hip; then chest or elbow stand in for it. */
    static const struct anchors pairs[] = {
        {OMO_SHOULDER, OMO_HIP},
        {OMO_SHOULDER, OMO_CHEST},
        {OMO_SHOULDER, OMO_ELBOW},
        {OMO_ELBOW, OMO_WRIST},
    };
    size_t count = sizeof pairs / sizeof pairs[0];
    bool shoulder = take->settings->movement->geometry != OMO_GEOMETRY_ROTATION;
    for (size_t i = shoulder ? 0 : count - 1; i < (shoulder ? count - 1 : count); i++)
        find_moves_of(take, pairs[i], from);
}

void omo_follow_stall(struct omo_take *take, size_t k)
{
    /* A run of repeated pictures hides a movement when the picture after it shows another
     * angle; an arm that is held still may repeat as often as it likes. */
    struct omo_stall *stall = &take->stall;
    if (k == 0)
        *stall = (struct omo_stall){.before_deg = NAN};
    if (take->frames[k].repeated) {
        take->rows[k].quality |= OMO_QUALITY_REPEATED;
        stall->run++;
        return;
    }
    double change_deg =
        fabs(omo_wrap_deg(take->segment_deg[k] - stall->before_deg, -180.0));
    if (stall->run > 0 && change_deg > STALL_DEG) {
        take->stalls += stall->run;
        for (size_t i = k - stall->run; i < k; i++)
            take->ignored[i] = true;
    }
    stall->run = 0;
    stall->before_deg = take->segment_deg[k];
}
