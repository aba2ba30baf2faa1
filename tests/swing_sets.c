#include <math.h>

#include "swing_fixture.h"

#define DEG (M_PI / 180.0)

static double even(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (*state >> 8) / 16777216.0;
}

static double between(uint32_t *state, double low, double high)
{
    return low + (high - low) * even(state);
}

struct swing_set swing_set_usual(void)
{
    return (struct swing_set){.name = "usual",
                              .part = {{5, 2, 30, 30}},
                              .shoulder_m = 1.05,
                              .upper_m = 0.31,
                              .forearm_m = 0.25,
                              .bend_deg = 8,
                              .loose = true,
                              .marker_mm = 32,
                              .aspect = 1,
                              .bob_mm = 2,
                              .camera_m = 1.1,
                              .distance_m = 2.1,
                              .focal_px = 1000,
                              .fps = 30,
                              .noise_px = 0.1,
                              .size_noise = 0.01,
                              .seed = 1};
}

struct swing_set swing_set_random(uint32_t seed)
{
    struct swing_set set = swing_set_usual();
    uint32_t chance = seed * 2654435761u + 12345u;
    for (int i = 0; i < 8; i++)
        even(&chance);
    double cm = between(&chance, 10, 55), s = between(&chance, 1.1, 3.6);
    double grown = cm * between(&chance, 1, 1.5);
    double laps = floor(between(&chance, 3, 9));
    double way = even(&chance) < 0.5 ? 1 : -1;
    set.name = "random";
    set.seed = seed;
    set.part[0] = (struct swing_part){way * laps, s, cm, grown};
    switch ((int)between(&chance, 0, 6)) {
    case 0: /* then the other way, after a rest */
        set.part[1] = (struct swing_part){0, between(&chance, 2, 4), 0, 0};
        set.part[2] = (struct swing_part){-way * laps, s, cm, grown};
        break;
    case 1: /* the other way at once, a lap begun */
        set.part[0].laps += way * between(&chance, 0, 0.5);
        set.part[1] = (struct swing_part){-way * (laps + between(&chance, 0, 0.5)), s,
                                          grown, grown};
        break;
    case 2: /* hidden for a little */
        set.hide[0].from_s = between(&chance, 0.5, laps - 1) * s;
        set.hide[0].to_s = set.hide[0].from_s + between(&chance, 0.05, 0.4) * s;
        break;
    case 3: /* hidden for long; what nobody saw has no size */
        set.part[0].to_cm = cm;
        set.hide[0].from_s = (1 + between(&chance, 0.1, 0.4)) * s;
        set.hide[0].to_s = (2 + between(&chance, 0.5, 0.8)) * s;
        break;
    case 4: /* stops in mid-lap */
        set.part[0].laps += way * between(&chance, 0.1, 0.5);
        set.part[1] = (struct swing_part){0, between(&chance, 2, 4), 0, 0};
        set.part[2] = (struct swing_part){way * laps, s, grown, grown};
        break;
    default:
        break;
    }
    set.shoulder_m = between(&chance, 0.9, 1.2);
    set.upper_m = between(&chance, 0.27, 0.34);
    set.forearm_m = set.upper_m * between(&chance, 0.78, 0.86);
    set.yaw_deg = between(&chance, -20, 20);
    set.bend_deg = between(&chance, 2, 20);
    set.loose = even(&chance) < 0.7;
    set.band = even(&chance) < 0.3;
    set.marker_mm = between(&chance, 25, 45);
    set.ragged = even(&chance) < 0.5 ? 0 : between(&chance, 0, 0.25);
    set.aspect = between(&chance, 0.93, 1.07);
    set.off_x_m = between(&chance, -0.03, 0.03);
    set.off_z_m = between(&chance, -0.03, 0.03);
    set.bob_mm = between(&chance, 0, 5);
    set.camera_m = between(&chance, 0.3, 1.6);
    set.distance_m = between(&chance, 1.4, 2.8);
    set.aside_m = between(&chance, -0.4, 0.4);
    double down_deg = atan2(set.camera_m - 0.7, set.distance_m) / DEG;
    set.pitch_deg = -fmin(fmax(down_deg, -10), 25) + between(&chance, -5, 5);
    set.roll_deg = between(&chance, -2, 2);
    set.focal_px = between(&chance, 850, 1150);
    set.fps = even(&chance) < 0.3 ? 60 : between(&chance, 24, 30);
    set.level_told = even(&chance) < 0.4;
    set.mirrored = even(&chance) < 0.2;
    set.noise_px = between(&chance, 0.05, 0.3);
    set.size_noise = between(&chance, 0.005, 0.025);
    return set;
}
