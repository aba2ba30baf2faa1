/** Directions and places in space: forward, up and right of the person, in metres. */
#ifndef STUDY_SPACE_H
#define STUDY_SPACE_H

#include <math.h>

#define RAD_PER_DEG (M_PI / 180.0)

struct space {
    double forward, up, right;
};

static inline struct space space_sum(struct space a, struct space b)
{
    return (struct space){a.forward + b.forward, a.up + b.up, a.right + b.right};
}

static inline struct space space_times(struct space a, double factor)
{
    return (struct space){a.forward * factor, a.up * factor, a.right * factor};
}

/** a + b times factor. */
static inline struct space space_add(struct space a, struct space b, double factor)
{
    return space_sum(a, space_times(b, factor));
}

static inline double space_dot(struct space a, struct space b)
{
    return a.forward * b.forward + a.up * b.up + a.right * b.right;
}

/** Right-handed in the order forward, up, right. */
static inline struct space space_cross(struct space a, struct space b)
{
    return (struct space){a.up * b.right - a.right * b.up,
                          a.right * b.forward - a.forward * b.right,
                          a.forward * b.up - a.up * b.forward};
}

static inline double space_length(struct space a)
{
    return sqrt(space_dot(a, a));
}

static inline struct space space_unit(struct space a)
{
    return space_times(a, 1.0 / space_length(a));
}

/** Turned about the unit vector `axis` (Rodrigues' formula). */
static inline struct space space_turned(struct space a, struct space axis, double deg)
{
    double c = cos(deg * RAD_PER_DEG), s = sin(deg * RAD_PER_DEG);
    struct space out = space_add(space_times(a, c), space_cross(axis, a), s);
    return space_add(out, axis, space_dot(axis, a) * (1.0 - c));
}

/** 0..180. */
static inline double space_angle_deg(struct space a, struct space b)
{
    return atan2(space_length(space_cross(a, b)), space_dot(a, b)) / RAD_PER_DEG;
}

/** Level direction: 0 to the right, 90 forward. */
static inline struct space space_level(double azimuth_deg)
{
    return (struct space){sin(azimuth_deg * RAD_PER_DEG), 0,
                          cos(azimuth_deg * RAD_PER_DEG)};
}

#endif
