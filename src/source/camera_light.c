/* Exposure and white balance: left to themselves until they have settled, then held, so
 * that a colour stays what it was while a person moves; given back in the end. */
#include <linux/videodev2.h>

#include "source/camera_parts.h"

#define SECONDS(s) ((int64_t)((s)*1e9))
/* Webcams settle within a second or two; some report no value while they are automatic,
 * so that stillness alone does not tell. */
#define LEAST_NS SECONDS(2.0)
#define STILL_NS SECONDS(0.7)
#define MOST_NS  SECONDS(5.0)
#define LOOK_NS  SECONDS(0.2)

enum { EXPOSURE, WHITE, GAIN };

static const struct {
    uint32_t automatic, value;
    int manual;
} controls[CAMERA_LIGHT_PAIRS] = {
    [EXPOSURE] = {V4L2_CID_EXPOSURE_AUTO, V4L2_CID_EXPOSURE_ABSOLUTE,
                  V4L2_EXPOSURE_MANUAL},
    [WHITE] = {V4L2_CID_AUTO_WHITE_BALANCE, V4L2_CID_WHITE_BALANCE_TEMPERATURE, 0},
    [GAIN] = {V4L2_CID_AUTOGAIN, V4L2_CID_GAIN, 0},
};

static bool offered(int device, uint32_t id)
{
    struct v4l2_queryctrl query = {.id = id};

    return omo_camera_ask(device, VIDIOC_QUERYCTRL, &query) == 0 &&
           (query.flags & (V4L2_CTRL_FLAG_DISABLED | V4L2_CTRL_FLAG_READ_ONLY)) == 0;
}

static bool get(int device, uint32_t id, int *value)
{
    struct v4l2_control control = {.id = id};

    if (omo_camera_ask(device, VIDIOC_G_CTRL, &control) < 0)
        return false;
    *value = control.value;
    return true;
}

static bool set(int device, uint32_t id, int value)
{
    struct v4l2_control control = {.id = id, .value = value};

    return omo_camera_ask(device, VIDIOC_S_CTRL, &control) == 0;
}

/* In dim light a webcam would rather give fewer pictures than dark ones. A movement needs
 * its pictures; that it is too dark can be said. */
static void keep_rate(struct camera_light *light, int device)
{
    light->priority_there =
        offered(device, V4L2_CID_EXPOSURE_AUTO_PRIORITY) &&
        get(device, V4L2_CID_EXPOSURE_AUTO_PRIORITY, &light->priority) &&
        light->priority != 0;
    if (light->priority_there)
        light->priority_there = set(device, V4L2_CID_EXPOSURE_AUTO_PRIORITY, 0);
}

void omo_camera_light_save(struct camera_light *light, int device)
{
    if (light->saved)
        return;
    for (int i = 0; i < CAMERA_LIGHT_PAIRS; i++) {
        struct camera_light_pair *pair = &light->pair[i];

        pair->there = offered(device, controls[i].automatic) &&
                      get(device, controls[i].automatic, &pair->automatic);
        pair->has_value = get(device, controls[i].value, &pair->value);
        pair->watched = pair->value;
    }
    keep_rate(light, device);
    light->saved = true;
}

/* Switched to manual, many cameras go back to the manual value of before: then that is
 * what has to be given back in the end, and the value that the automatic had found is
 * written. */
static void hold(struct camera_light_pair *pair, int i, int device, int value)
{
    bool first = !pair->locked;
    int now;

    if (!set(device, controls[i].automatic, controls[i].manual))
        return;
    pair->locked = get(device, controls[i].automatic, &now) && now == controls[i].manual;
    pair->locked_value = value;
    if (first)
        pair->has_value = get(device, controls[i].value, &pair->value);
    if (pair->has_value)
        (void)set(device, controls[i].value, value);
}

/* It is ours to hold: the driver has the switch, and it was on automatic. */
static bool is_ours(const struct camera_light_pair *pair, int i)
{
    return pair->there && pair->automatic != controls[i].manual;
}

bool omo_camera_light_watch(struct camera_light *light, int device, int64_t now_ns)
{
    bool still = true;

    if (light->done)
        return false;
    if (light->began_ns == 0) {
        light->began_ns = now_ns;
        light->looked_ns = now_ns;
        for (int i = 0; i < CAMERA_LIGHT_PAIRS; i++)
            light->pair[i].unchanged_since_ns = now_ns;
    }
    if (now_ns - light->looked_ns < LOOK_NS)
        return false;
    light->looked_ns = now_ns;
    for (int i = 0; i < CAMERA_LIGHT_PAIRS; i++) {
        struct camera_light_pair *pair = &light->pair[i];
        int value;

        if (!is_ours(pair, i) || !pair->has_value ||
            !get(device, controls[i].value, &value))
            continue;
        if (value != pair->watched)
            pair->unchanged_since_ns = now_ns;
        pair->watched = value;
        still = still && now_ns - pair->unchanged_since_ns >= STILL_NS;
    }
    if (now_ns - light->began_ns < LEAST_NS ||
        (!still && now_ns - light->began_ns < MOST_NS))
        return false;
    for (int i = 0; i < CAMERA_LIGHT_PAIRS; i++)
        if (is_ours(&light->pair[i], i))
            hold(&light->pair[i], i, device, light->pair[i].watched);
    light->done = true;
    return true;
}

void omo_camera_light_repeat(struct camera_light *light, int device)
{
    if (light->priority_there)
        (void)set(device, V4L2_CID_EXPOSURE_AUTO_PRIORITY, 0);
    for (int i = 0; i < CAMERA_LIGHT_PAIRS; i++)
        if (light->pair[i].locked)
            hold(&light->pair[i], i, device, light->pair[i].locked_value);
    if (!light->done)
        light->began_ns = 0; /* it starts anew, and so does the settling */
}

/* The value first: while the automatic is on, drivers refuse it. */
void omo_camera_light_restore(struct camera_light *light, int device)
{
    for (int i = 0; i < CAMERA_LIGHT_PAIRS; i++) {
        struct camera_light_pair *pair = &light->pair[i];

        if (!pair->locked)
            continue;
        if (pair->has_value)
            (void)set(device, controls[i].value, pair->value);
        (void)set(device, controls[i].automatic, pair->automatic);
        pair->locked = false;
    }
    if (light->priority_there)
        (void)set(device, V4L2_CID_EXPOSURE_AUTO_PRIORITY, light->priority);
    light->priority_there = false;
}

/* A camera that was on manual already is held as well. */
static bool held(const struct camera_light_pair *pair, int i)
{
    return pair->locked || (pair->there && pair->automatic == controls[i].manual);
}

bool omo_camera_light_exposure_locked(const struct camera_light *light)
{
    return held(&light->pair[EXPOSURE], EXPOSURE);
}

bool omo_camera_light_white_locked(const struct camera_light *light)
{
    return held(&light->pair[WHITE], WHITE);
}
