/* Exposure and white balance of the played camera. */
#include "played_parts.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <linux/videodev2.h>

enum { EXPOSURE_AUTO, EXPOSURE, PRIORITY, WHITE_AUTO, WHITE, CONTROLS };

static struct {
    const char *name;
    uint32_t id;
    int least, most, value;
} controls[CONTROLS] = {
    {"exposure-automatic", V4L2_CID_EXPOSURE_AUTO, 0, 3, V4L2_EXPOSURE_APERTURE_PRIORITY},
    {"exposure", V4L2_CID_EXPOSURE_ABSOLUTE, 3, 2047, 250},
    {"rate-may-drop", V4L2_CID_EXPOSURE_AUTO_PRIORITY, 0, 1, 1},
    {"white-automatic", V4L2_CID_AUTO_WHITE_BALANCE, 0, 1, 1},
    {"white", V4L2_CID_WHITE_BALANCE_TEMPERATURE, 2800, 6500, 4600},
};

static bool is_automatic(int control)
{
    return (control == EXPOSURE &&
            controls[EXPOSURE_AUTO].value != V4L2_EXPOSURE_MANUAL) ||
           (control == WHITE && controls[WHITE_AUTO].value != 0);
}

void played_settings_note(void)
{
    const char *path = getenv("OMO_PLAY_CONTROLS");
    FILE *log = path != NULL ? fopen(path, "a") : NULL;

    if (log == NULL)
        return;
    for (int i = 0; i < CONTROLS; i++)
        fprintf(log, "%s=%d%s", controls[i].name, controls[i].value,
                i + 1 < CONTROLS ? " " : "\n");
    fclose(log);
}

/* The first second and a half the automatic is still on its way. Switched to manual, the
   camera falls back to the manual value it had, as many do. */
static int value_now(int control)
{
    long shown = played_stream_shown();
    int off = shown < 45 ? (int)(45 - shown) : 0;

    if (!is_automatic(control))
        return controls[control].value;
    return control == EXPOSURE ? 156 + 4 * off : 5200 - 10 * off;
}

static int find_control(uint32_t id)
{
    const char *offered = getenv("OMO_PLAY_SETTINGS");

    if (offered != NULL && strcmp(offered, "none") == 0)
        return -1;
    for (int i = 0; i < CONTROLS; i++)
        if (controls[i].id == id)
            return i;
    return -1;
}

int played_settings_query(struct v4l2_queryctrl *query)
{
    int i = find_control(query->id);

    if (i < 0)
        return -EINVAL;
    snprintf((char *)query->name, sizeof query->name, "%s", controls[i].name);
    query->type = i == EXPOSURE_AUTO ? V4L2_CTRL_TYPE_MENU
                  : i == WHITE_AUTO  ? V4L2_CTRL_TYPE_BOOLEAN
                                     : V4L2_CTRL_TYPE_INTEGER;
    query->minimum = controls[i].least;
    query->maximum = controls[i].most;
    query->step = 1;
    query->default_value = controls[i].value;
    query->flags = is_automatic(i) ? V4L2_CTRL_FLAG_INACTIVE : 0;
    return 0;
}

int played_settings_get(struct v4l2_control *control)
{
    int i = find_control(control->id);

    if (i < 0)
        return -EINVAL;
    control->value = value_now(i);
    return 0;
}

int played_settings_set(const struct v4l2_control *control)
{
    int i = find_control(control->id);

    if (i < 0)
        return -EINVAL;
    if (is_automatic(i))
        return -EACCES;
    if (control->value < controls[i].least || control->value > controls[i].most)
        return -ERANGE;
    if (i == EXPOSURE_AUTO && control->value != V4L2_EXPOSURE_MANUAL &&
        control->value != V4L2_EXPOSURE_APERTURE_PRIORITY)
        return -EINVAL;
    controls[i].value = control->value;
    played_settings_note();
    return 0;
}

void played_settings_forget(void)
{
    controls[EXPOSURE_AUTO].value = V4L2_EXPOSURE_APERTURE_PRIORITY;
    controls[EXPOSURE].value = 250;
    controls[PRIORITY].value = 1;
    controls[WHITE_AUTO].value = 1;
    controls[WHITE].value = 4600;
    played_settings_note();
}
