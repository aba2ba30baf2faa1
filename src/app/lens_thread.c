#include "app/lens_thread.h"

#include <math.h>

#include "app/lens_level.h"
#include "omogon/log.h"

/* Two stickers off one sheet, hanging at one distance, look alike in size; what differs
 * more is a thing in the room. Our choice. */
#define ALIKE_RATIO 1.5
/* How far off its middle somebody sticks a sticker on a thread, as a share of the
 * sticker's diameter: 1 mm of 20. Our choice. */
#define STUCK_U_RATIO 0.05
/* Stickers so close together tell no more than the eye does. */
#define PLACES_U_MOST_DEG OMO_LENS_ROLL_ASSUMED_U_DEG

#define DEG_PER_RAD (180.0 / M_PI)

/** Pictures that follow one another are one clip; a file of its own begins anew. */
static enum omo_status look(struct omo_lens_thread *t, const struct omo_frame *frame,
                            struct omo_marker *found)
{
    if (t->tracker && frame->time_s <= t->before_s) {
        omo_tracker_destroy(t->tracker);
        t->tracker = NULL;
    }
    t->before_s = frame->time_s;
    enum omo_status status = OMO_OK;
    if (!t->tracker) {
        struct omo_tracker_settings settings = {.set = t->set, .body = false};
        status = omo_tracker_create(&settings, &t->tracker);
    }
    return status == OMO_OK ? omo_tracker_step_free(t->tracker, frame, found) : status;
}

static void add_view(struct omo_lens_thread *t, const struct omo_marker *upper,
                     const struct omo_marker *lower)
{
    struct omo_point top = {upper->x_px, upper->y_px};
    struct omo_point bottom = {lower->x_px, lower->y_px};
    double roll_deg = omo_lens_plumb_roll_deg(&t->lens, top, bottom, t->lens.pitch_deg);
    /* No roll fits: it is judged, and refused, by the mean of the places. */
    if (isnan(roll_deg))
        roll_deg = 0;
    t->views++;
    t->top = (struct omo_point){t->top.x + top.x, t->top.y + top.y};
    t->bottom = (struct omo_point){t->bottom.x + bottom.x, t->bottom.y + bottom.y};
    t->roll_sum += roll_deg;
    t->roll_squares += roll_deg * roll_deg;
    t->sigma_squares +=
        (upper->sigma_px * upper->sigma_px + lower->sigma_px * lower->sigma_px) / 2;
    t->size_sum += (upper->diameter_px + lower->diameter_px) / 2;
}

bool omo_lens_thread_add(struct omo_lens_thread *t, const struct omo_frame *frame)
{
    struct omo_marker found[OMO_SET_MAX];
    const struct omo_marker *seen[OMO_SET_MAX];
    int count = 0;
    if (look(t, frame, found) != OMO_OK)
        return false;
    t->looked++;
    for (int i = 0; i < t->set.count; i++)
        if (found[i].seen == OMO_SEEN)
            seen[count++] = &found[i];
    t->crowded += count > 2;
    if (count != 2)
        return true;
    bool first_above = seen[0]->y_px < seen[1]->y_px;
    const struct omo_marker *upper = seen[first_above ? 0 : 1];
    const struct omo_marker *lower = seen[first_above ? 1 : 0];
    if (fmax(upper->diameter_px, lower->diameter_px) >
        ALIKE_RATIO * fmin(upper->diameter_px, lower->diameter_px))
        t->unlike++;
    else
        add_view(t, upper, lower);
    return true;
}

static enum omo_status no_view(const struct omo_lens_thread *t)
{
    if (t->crowded > 0)
        omo_error(
            "more than two stickers are in the picture; leave two on the thread and "
            "take away all else in their colours");
    else if (t->unlike > 0)
        omo_error("the two stickers that were found differ in size, so one of them is "
                  "something else; take away what has a sticker's colour");
    else
        omo_error("no two stickers were found; hang two of different colours of the set "
                  "on one thread, whole in the picture, in good light");
    return OMO_ERR_EMPTY;
}

enum omo_status omo_lens_thread_result(const struct omo_lens_thread *t,
                                       struct omo_lens *lens)
{
    /* A view with two stickers among many with more is as likely a wrong pair. */
    if (t->views == 0 || t->crowded + t->unlike > t->views)
        return no_view(t);
    int n = t->views;
    struct omo_point top = {t->top.x / n, t->top.y / n};
    struct omo_point bottom = {t->bottom.x / n, t->bottom.y / n};
    double point_u_px =
        hypot(sqrt(t->sigma_squares / n), STUCK_U_RATIO * t->size_sum / n);
    double places_u_deg =
        sqrt(2.0) * point_u_px / omo_point_distance(top, bottom) * DEG_PER_RAD;
    if (!(places_u_deg <= PLACES_U_MOST_DEG)) {
        omo_error("the two stickers hang too close together to tell the camera's roll; "
                  "hang them as far apart as the picture allows");
        return OMO_ERR_EMPTY;
    }
    enum omo_status status = omo_lens_hang(lens, top, bottom, point_u_px);
    if (status != OMO_OK)
        return status;
    /* A thread that swings: neighbouring pictures are not independent, so that their
     * number does not help. */
    double mean_deg = t->roll_sum / n;
    double variance =
        n > 1 ? fmax(t->roll_squares - n * mean_deg * mean_deg, 0) / (n - 1) : 0;
    lens->roll_u_deg = sqrt(lens->roll_u_deg * lens->roll_u_deg + variance);
    return OMO_OK;
}

void omo_lens_thread_finish(struct omo_lens_thread *t)
{
    omo_tracker_destroy(t->tracker);
    t->tracker = NULL;
}
