#include "app/lens_board.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "omogon/clock.h"
#include "omogon/log.h"
#include "omogon/source.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* In a clip no more pictures are looked at than these a second, but the one after a board
 * was found always is: it tells whether the board holds still. */
#define LOOK_EVERY_S 0.15
/* A board that moved more from one picture to the next is blurred, and bent by a rolling
 * shutter; as a share of the picture's width. Our choice. */
#define STILL_RATIO 0.003
#define WAIT_MS     200
#define SILENCE_S   5

static bool find(struct omo_board_look *look, const struct omo_planes *planes,
                 const struct omo_turned *turned, double *corners, bool *found)
{
    if (look->ops->find(&look->board, planes->y, planes->width, planes->height,
                        (size_t)planes->y_stride, corners, found) != OMO_OK)
        return false;
    look->looked++;
    look->found += *found;
    for (int i = 0; *found && i < look->board.columns * look->board.rows; i++)
        omo_turn_point(turned, &corners[2 * i], &corners[2 * i + 1]);
    return true;
}

static bool held_still(const struct omo_board_look *look, const double *corners)
{
    int count = look->board.columns * look->board.rows;
    double sum = 0;
    for (int i = 0; i < 2 * count; i++)
        sum += pow(corners[i] - look->before[i], 2);
    return look->found_before && sqrt(sum / count) < STILL_RATIO * look->width;
}

/** One picture; *go_on false when the looking is to end. */
static bool look_at(struct omo_board_look *look, const struct omo_frame *frame,
                    bool single, bool *go_on)
{
    double corners[2 * OMO_BRIDGE_CORNERS_MOST];
    bool found = false;
    if (look->picture)
        return look->picture(frame, look->user);
    if (!find(look, &frame->planes, &frame->turned, corners, &found))
        return false;
    if (found && (single || held_still(look, corners)))
        *go_on = look->seen(corners, look->user);
    look->found_before = found;
    if (found)
        memcpy(look->before, corners, sizeof look->before);
    return true;
}

static bool same_size(struct omo_board_look *look, int width, int height,
                      const char *name)
{
    if (look->width == 0) {
        look->width = width;
        look->height = height;
    }
    if (look->width == width && look->height == height)
        return true;
    omo_error(
        "%s is %d x %d px, what came before it %d x %d; give pictures of one camera "
        "in one size",
        name, width, height, look->width, look->height);
    return false;
}

static bool idle(struct omo_board_look *look, double done_ratio)
{
    return !look->idle || look->idle(done_ratio, look->user);
}

/** All pictures of one file; *go_on as above. */
static enum omo_status look_through(struct omo_board_look *look,
                                    struct omo_source *source, const char *name,
                                    double done_ratio, double share, bool *go_on)
{
    const struct omo_source_info *info = omo_source_info(source);
    bool single = info->frame_count == 1;
    double next_s = -INFINITY;
    struct omo_frame frame;
    enum omo_status status;
    look->found_before = false;
    if (!same_size(look, info->width, info->height, name))
        return OMO_ERR_FORMAT;
    while (*go_on && (status = omo_source_next(source, true, &frame)) == OMO_OK) {
        double part =
            info->frame_count > 0 ? (double)frame.index / (double)info->frame_count : 0;
        *go_on = idle(look, done_ratio + share * part);
        if (frame.damaged || (frame.time_s < next_s && !look->found_before))
            continue;
        next_s = frame.time_s + LOOK_EVERY_S;
        if (!frame.planes.y || !look_at(look, &frame, single, go_on))
            return OMO_ERR_MEMORY;
    }
    /* A clip that breaks off has said so; what came before is good. */
    return OMO_OK;
}

enum omo_status omo_board_in_files(struct omo_board_look *look, char **files)
{
    bool go_on = true;
    double count = g_strv_length(files);
    for (int i = 0; go_on && files[i]; i++) {
        struct omo_source *source = NULL;
        enum omo_status status = omo_clip_open(files[i], &source);
        if (status == OMO_OK)
            status = look_through(look, source, files[i], i / count, 1 / count, &go_on);
        omo_source_destroy(source);
        if (status != OMO_OK)
            return status;
    }
    return OMO_OK;
}

/* ---- the camera ---- */

static enum omo_status watch(struct omo_board_look *look, struct omo_feed *feed,
                             struct omo_unpacker *unpacker, double seconds)
{
    int64_t begun_ns = omo_clock_ns(), heard_ns = begun_ns, count = 0;
    bool go_on = true;
    while (go_on) {
        const struct omo_packet *packet = omo_feed_take(feed, WAIT_MS);
        struct omo_planes planes;
        bool damaged = false;
        double spent_s = (double)(omo_clock_ns() - begun_ns) / 1e9;
        go_on = idle(look, fmin(spent_s / seconds, 1)) && spent_s < seconds;
        if (!packet || omo_unpack(unpacker, packet, true, &planes, &damaged) != OMO_OK ||
            damaged) {
            if ((double)(omo_clock_ns() - heard_ns) / 1e9 > SILENCE_S)
                return OMO_ERR_OPEN;
            continue;
        }
        heard_ns = omo_clock_ns();
        struct omo_frame frame = {.planes = planes,
                                  .turned = {0, planes.width, planes.height},
                                  .index = count++,
                                  .time_s = spent_s};
        if (!same_size(look, planes.width, planes.height, "the camera's picture"))
            return OMO_ERR_FORMAT;
        if (go_on && !look_at(look, &frame, false, &go_on))
            return OMO_ERR_MEMORY;
    }
    return OMO_OK;
}

enum omo_status omo_board_in_camera(struct omo_board_look *look,
                                    const struct omo_camera_wish *wish, double seconds)
{
    struct omo_feed_settings settings = {.wish = *wish};
    struct omo_feed *feed = NULL;
    struct omo_unpacker *unpacker = NULL;
    struct omo_feed_state state;
    enum omo_camera_fault fault = OMO_CAMERA_FINE;
    enum omo_status status = omo_feed_open(&settings, &feed, &fault);
    if (status != OMO_OK) {
        if (fault != OMO_CAMERA_FINE)
            omo_error("%s", omo_word(omo_camera_fault_text(fault)));
        return status;
    }
    omo_feed_state(feed, &state);
    omo_text_copy(look->camera, sizeof look->camera, state.got.name);
    status = omo_unpacker_create(&unpacker);
    if (status == OMO_OK)
        status = watch(look, feed, unpacker, seconds);
    omo_feed_state(feed, &state);
    if (status == OMO_ERR_OPEN)
        omo_error("%s", omo_word(omo_camera_fault_text(state.fault != OMO_CAMERA_FINE
                                                           ? state.fault
                                                           : OMO_CAMERA_STALLED)));
    omo_unpacker_destroy(unpacker);
    omo_feed_close(feed);
    return status;
}
