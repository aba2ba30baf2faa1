/* What a few seconds of pictures say about camera, light, place and markers. */
#include "app/check.h"

#include <math.h>
#include <string.h>

#include "app/lens_plan.h"
#include "omogon/clock.h"
#include "omogon/geometry.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define WAIT_MS 200
/* Nothing arrives for so long: the look ends with what there is. */
#define SILENCE_S 5

/* Our choices: what the finder was measured to need, with some room. */
#define LUMA_DARK      50 /* mean luma; rooms lit by one lamp lie about 70 */
#define LUMA_BRIGHT    215
#define BRIGHT_RATIO   0.25 /* of the picture burnt out */
#define SMALL_PX       12   /* markers are found from 8 px */
#define LARGE_PX       90
#define BORDER_SIZES   1.0 /* of the marker's own, to its middle */
#define SEEN_RATIO     0.9 /* of the frames */
#define LEVEL_FINE_DEG 1.0
#define RATE_FINE      24.0 /* frames a second */

/** Sums over the frames. */
struct look {
    const struct omo_plan *plan;
    struct omo_plan camera_plan; /* with the camera's own lens profile */
    struct omo_feed_state camera;
    int frames, bright, dark, with_others, with_look_alikes, near_border;
    int seen[OMO_ROLE_COUNT];
    double diameter_px[OMO_ROLE_COUNT], sigma_px[OMO_ROLE_COUNT];
    double luma_sum, first_s, last_s;
    double level_sum_deg;
    int level_count;
    struct omo_point chest_hip; /* sum of hip minus chest */
    int chest_hip_count;
    int width, height;
};

static void add_markers(struct look *look, const struct omo_markers *markers)
{
    bool near = false;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        const struct omo_marker *m = &markers->role[r];
        if (m->seen == OMO_NOT_SEEN)
            continue;
        look->seen[r]++;
        look->diameter_px[r] += m->diameter_px;
        look->sigma_px[r] += m->sigma_px;
        double margin = BORDER_SIZES * m->diameter_px;
        near |= m->x_px < margin || m->y_px < margin || m->x_px > look->width - margin ||
                m->y_px > look->height - margin;
    }
    look->near_border += near;
    const struct omo_marker *chest = &markers->role[OMO_CHEST];
    const struct omo_marker *hip = &markers->role[OMO_HIP];
    if (chest->seen != OMO_NOT_SEEN && hip->seen != OMO_NOT_SEEN) {
        look->chest_hip.x += hip->x_px - chest->x_px;
        look->chest_hip.y += hip->y_px - chest->y_px;
        look->chest_hip_count++;
    }
}

static void add_frame(struct look *look, struct omo_tracker *tracker,
                      const struct omo_planes *planes, const struct omo_markers *markers)
{
    struct omo_luma luma;
    struct omo_surroundings around;
    struct omo_level level;
    look->width = planes->width;
    look->height = planes->height;
    look->frames++;
    omo_luma_read(planes, &luma);
    look->luma_sum += luma.mean;
    look->bright += luma.bright_ratio > BRIGHT_RATIO || luma.mean > LUMA_BRIGHT;
    look->dark += luma.mean < LUMA_DARK;
    omo_tracker_surroundings(tracker, &around);
    look->with_others += around.other_bodies > 0;
    look->with_look_alikes += around.look_alikes > 0;
    /* The room does not move: now and then is enough. */
    if (look->frames % 15 == 1 && omo_level_read(planes, &level)) {
        look->level_sum_deg += level.roll_deg;
        look->level_count++;
    }
    add_markers(look, markers);
}

/* ---- from sums to sentences ---- */

struct list {
    struct omo_check_item *item;
    int count;
};

static struct omo_check_item *add(struct list *list, const char *name,
                                  enum omo_verdict verdict)
{
    struct omo_check_item *item = &list->item[list->count++];
    *item = (struct omo_check_item){.name = name, .verdict = verdict};
    return item;
}

static void say(struct omo_check_item *item, const char *text)
{
    omo_text_copy(item->sentence, sizeof item->sentence, text);
}

static void judge_camera(const struct look *look, struct list *list)
{
    const struct omo_camera_got *got = &look->camera.got;
    double spent_s = look->last_s - look->first_s;
    double rate =
        look->frames > 1 && spent_s > 0 ? (look->frames - 1) / spent_s : (double)NAN;
    char text[32];
    omo_number_text(rate, 0, text, sizeof text);
    bool fine = rate >= RATE_FINE;
    struct omo_check_item *item =
        add(list, "camera", fine ? OMO_VERDICT_PASS : OMO_VERDICT_REMEDY);
    omo_text_add(item->sentence, sizeof item->sentence,
                 fine ? omo_word("%s, %d x %d, %s pictures a second.")
                      : omo_word("%s, %d x %d, only %s pictures a second: turn on more "
                                 "light, or ask for a smaller size."),
                 got->name[0] ? got->name : got->path, look->width, look->height,
                 text[0] ? text : "-");
}

static void judge_light(const struct look *look, struct list *list)
{
    char mean[32];
    omo_number_text(look->luma_sum / look->frames, 0, mean, sizeof mean);
    bool dark = look->dark * 2 > look->frames, bright = look->bright * 2 > look->frames;
    struct omo_check_item *item =
        add(list, "light", dark || bright ? OMO_VERDICT_REMEDY : OMO_VERDICT_PASS);
    omo_text_add(item->sentence, sizeof item->sentence,
                 dark
                     ? omo_word("Mean brightness %s of 255: too dark, turn on a light in "
                                "front of you.")
                 : bright ? omo_word("Mean brightness %s of 255, much of it white: turn "
                                     "the window or lamp out of the picture.")
                          : omo_word("Mean brightness %s of 255."),
                 mean);
}

static void judge_level(const struct look *look, struct list *list)
{
    if (look->level_count == 0) {
        say(add(list, "level", OMO_VERDICT_UNKNOWN),
            omo_word("No upright lines of the room found, so it is not known whether the "
                     "camera stands level."));
        return;
    }
    double roll_deg = look->level_sum_deg / look->level_count;
    const struct omo_lens *lens = &look->camera_plan.lens;
    if (look->camera_plan.has_lens && !isnan(lens->roll_deg)) {
        omo_check_kept_level(lens, roll_deg, &list->item[list->count++]);
        return;
    }
    bool fine = fabs(roll_deg) <= LEVEL_FINE_DEG;
    char text[32];
    omo_number_text(fabs(roll_deg), 1, text, sizeof text);
    struct omo_check_item *item =
        add(list, "level", fine ? OMO_VERDICT_PASS : OMO_VERDICT_REMEDY);
    omo_text_add(item->sentence, sizeof item->sentence,
                 fine ? omo_word("The room's upright lines lean %s degrees.")
                 : roll_deg > 0
                     ? omo_word("The room's upright lines lean %s degrees to picture "
                                "right: turn the camera until they stand upright.")
                     : omo_word("The room's upright lines lean %s degrees to picture "
                                "left: turn the camera until they stand upright."),
                 text);
}

static void judge_markers(const struct look *look, struct list *list)
{
    static const char *const missing[OMO_ROLE_COUNT] = {
        OMO_WORD("The shoulder marker is not seen: nothing may cover it, and no garment "
                 "may have its colour."),
        OMO_WORD("The elbow marker is not seen: nothing may cover it, and no garment may "
                 "have its colour."),
        OMO_WORD(
            "The wrist marker is not seen: it is needed for the elbow's bend and for "
            "rotations."),
        OMO_WORD("The hip marker is not seen: without it the upright stands for the "
                 "trunk. Hanging, the arm may cover it."),
        OMO_WORD("No chest marker: with one, the shoulder's own movement does not tilt "
                 "the trunk line."),
    };
    static const char *const names[OMO_ROLE_COUNT] = {"marker-shoulder", "marker-elbow",
                                                      "marker-wrist", "marker-hip",
                                                      "marker-chest"};
    for (int r = 0; r <= OMO_HIP; r++) {
        bool seen = look->seen[r] >= SEEN_RATIO * look->frames;
        bool needed = look->plan->movement->needed & (1u << r);
        if (seen) {
            char px[32], sigma[32];
            omo_number_text(look->diameter_px[r] / look->seen[r], 0, px, sizeof px);
            omo_number_text(look->sigma_px[r] / look->seen[r], 2, sigma, sizeof sigma);
            struct omo_check_item *item = add(list, names[r], OMO_VERDICT_PASS);
            omo_text_add(item->sentence, sizeof item->sentence,
                         omo_word("%s: %s px across, its middle good to %s px."),
                         omo_word(omo_role_name((enum omo_role)r)), px, sigma);
        } else {
            say(add(list, names[r], needed ? OMO_VERDICT_REMEDY : OMO_VERDICT_UNKNOWN),
                omo_word(missing[r]));
        }
    }
}

static void judge_distance(const struct look *look, struct list *list)
{
    double sum = 0;
    int count = 0;
    for (int r = 0; r < OMO_ROLE_COUNT; r++) {
        sum += look->diameter_px[r];
        count += look->seen[r];
    }
    if (count == 0) {
        say(add(list, "distance", OMO_VERDICT_UNKNOWN),
            omo_word("No marker in view, so the distance is not known."));
        return;
    }
    double px = sum / count;
    bool border = look->near_border * 4 > look->frames;
    bool near = px > LARGE_PX || border, far = px < SMALL_PX;
    struct omo_check_item *item =
        add(list, "distance", near || far ? OMO_VERDICT_REMEDY : OMO_VERDICT_PASS);
    char text[32];
    omo_number_text(px, 0, text, sizeof text);
    omo_text_add(item->sentence, sizeof item->sentence,
                 far ? omo_word("Markers are %s px across: step closer, or use larger "
                                "ones.")
                 : border
                     ? omo_word("Markers are %s px across and close to the picture's "
                                "border: step back or to the middle.")
                 : near ? omo_word("Markers are %s px across: step back.")
                        : omo_word("Markers are %s px across."),
                 text);
}

static void judge_surroundings(const struct look *look, struct list *list)
{
    bool others = look->with_others * 4 > look->frames;
    bool alike = look->with_look_alikes * 4 > look->frames;
    struct omo_check_item *item =
        add(list, "surroundings",
            others || alike ? OMO_VERDICT_REMEDY : OMO_VERDICT_PASS);
    say(item, others  ? omo_word("A second set of markers is in view, a person or a "
                                  "mirror: leave one alone in the picture.")
              : alike ? omo_word("Something near the arm, a thing or a garment, has a "
                                 "marker's colour: take it away or choose other markers.")
                      : omo_word("Nothing else with the markers' colours near the arm."));
}

/** Breastbone to hip bone slants when seen from the front, from the side it does not
 *  (about 14 degrees by anatomy; the middle of it decides, our choice). */
static void judge_view(const struct look *look, struct list *list)
{
    bool front = look->plan->tracker.view == OMO_VIEW_FRONT;
    if (look->chest_hip_count * 2 < look->frames || look->frames == 0) {
        say(add(list, "view", OMO_VERDICT_UNKNOWN),
            front ? omo_word("Face the camera squarely; only a chest marker would show "
                             "whether you do.")
                  : omo_word("Turn the measured side to the camera; only a chest marker "
                             "would show whether it is."));
        return;
    }
    double slant_deg = atan2(fabs(look->chest_hip.x), look->chest_hip.y) * 180 / G_PI;
    bool looks_front = slant_deg > 8;
    struct omo_check_item *item =
        add(list, "view", looks_front == front ? OMO_VERDICT_PASS : OMO_VERDICT_REMEDY);
    say(item, looks_front == front ? omo_word("You are turned as the movement needs it.")
              : front ? omo_word("This looks like a side view: face the camera.")
                      : omo_word("This looks like a front view: turn the measured side "
                                 "to the camera."));
}

static int judge(const struct look *look, struct omo_check_item *items)
{
    struct list list = {items, 0};
    judge_camera(look, &list);
    judge_light(look, &list);
    judge_level(look, &list);
    omo_check_lens(&look->camera_plan, look->width, look->height,
                   &list.item[list.count++]);
    judge_markers(look, &list);
    judge_distance(look, &list);
    judge_surroundings(look, &list);
    judge_view(look, &list);
    return list.count;
}

/* ---- looking ---- */

/** Pictures until the look is over; false when it was ended. */
static bool look_at_all(struct look *look, struct omo_feed *feed, double seconds,
                        omo_check_progress progress, void *user)
{
    struct omo_tracker *tracker = NULL;
    struct omo_unpacker *unpacker = NULL;
    int64_t heard_ns = omo_clock_ns();
    bool good = omo_tracker_create(&look->plan->tracker, &tracker) == OMO_OK &&
                omo_unpacker_create(&unpacker) == OMO_OK;
    while (good && omo_clock_ns() - heard_ns < (int64_t)(SILENCE_S * 1e9)) {
        const struct omo_packet *packet = omo_feed_take(feed, WAIT_MS);
        struct omo_planes planes;
        struct omo_markers markers;
        bool damaged;
        omo_feed_state(feed, &look->camera);
        if (!packet && look->camera.ended)
            break;
        good =
            !progress || progress(MIN((look->last_s - look->first_s) / seconds, 1), user);
        if (!packet || omo_unpack(unpacker, packet, true, &planes, &damaged) != OMO_OK)
            continue;
        heard_ns = omo_clock_ns();
        struct omo_frame frame = {.planes = planes,
                                  .turned = {0, planes.width, planes.height},
                                  .index = packet->index,
                                  .time_s = packet->time_s};
        if (omo_tracker_step(tracker, &frame, &markers) != OMO_OK)
            continue;
        if (look->frames == 0)
            look->first_s = packet->time_s;
        look->last_s = packet->time_s;
        add_frame(look, tracker, &planes, &markers);
        if (look->last_s - look->first_s >= seconds)
            break;
    }
    omo_tracker_destroy(tracker);
    omo_unpacker_destroy(unpacker);
    return good;
}

int omo_check_look(const struct omo_plan *plan, const struct omo_feed_settings *settings,
                   double seconds, omo_check_progress progress, void *user,
                   enum omo_camera_fault *fault, struct omo_check_item *items)
{
    struct look look = {.plan = plan};
    struct omo_feed *feed = NULL;
    if (omo_feed_open(settings, &feed, fault) != OMO_OK)
        return 0;
    bool good = look_at_all(&look, feed, seconds, progress, user);
    omo_feed_close(feed);
    if (!good)
        return 0;
    if (look.frames == 0) {
        *fault =
            look.camera.fault != OMO_CAMERA_FINE ? look.camera.fault : OMO_CAMERA_STALLED;
        return 0;
    }
    look.camera_plan = *plan;
    if (look.camera.got.path[0])
        omo_plan_camera_lens(&look.camera_plan, look.camera.got.name);
    return judge(&look, items);
}
