#include "omogon/body.h"

#include <string.h>

/** Index of `name` in `names`, or `count`. */
static int index_of(const char *const *names, int count, const char *name)
{
    if (name == NULL)
        return count;
    for (int i = 0; i < count; i++) {
        if (strcmp(names[i], name) == 0)
            return i;
    }
    return count;
}

static const char *const role_names[OMO_ROLE_COUNT] = {
    [OMO_SHOULDER] = "shoulder", [OMO_ELBOW] = "elbow", [OMO_WRIST] = "wrist",
    [OMO_HIP] = "hip",           [OMO_CHEST] = "chest", [OMO_ACROMION] = "acromion",
};

static const char *const position_names[OMO_POSITION_COUNT] = {
    [OMO_STANDING] = "standing",     [OMO_SEATED] = "seated", [OMO_SUPINE] = "supine",
    [OMO_SIDE_LYING] = "side-lying", [OMO_PRONE] = "prone",
};

const char *omo_role_name(enum omo_role role)
{
    if ((unsigned)role >= OMO_ROLE_COUNT)
        return NULL;
    return role_names[role];
}

enum omo_role omo_role_from_name(const char *name)
{
    return (enum omo_role)index_of(role_names, OMO_ROLE_COUNT, name);
}

const char *omo_position_name(enum omo_position position)
{
    if ((unsigned)position >= OMO_POSITION_COUNT)
        return NULL;
    return position_names[position];
}

enum omo_position omo_position_from_name(const char *name)
{
    return (enum omo_position)index_of(position_names, OMO_POSITION_COUNT, name);
}

const char *omo_side_name(enum omo_side side)
{
    switch (side) {
    case OMO_LEFT:
        return "left";
    case OMO_RIGHT:
        return "right";
    }
    return NULL;
}

const char *omo_view_name(enum omo_view view)
{
    switch (view) {
    case OMO_VIEW_FRONT:
        return "front";
    case OMO_VIEW_SIDE:
        return "side";
    case OMO_VIEW_ALONG_ARM:
        return "along-arm";
    }
    return NULL;
}
