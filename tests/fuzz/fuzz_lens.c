// Any bytes as a lens profile.
// sources: src/base/*.c src/numeric/*.c src/app/lens_file.c
// pkgs: glib-2.0 gsl
// options: -max_len=2048
#include "app/lens_file.h"
#include "claims.h"

static void check_level(double tilt_deg, double u_deg)
{
    demand(isnan(tilt_deg) || (fabs(tilt_deg) <= OMO_LENS_TILT_MOST_DEG && u_deg >= 0),
           "a level is in its range and has its uncertainty");
}

/** What a take asks of a lens, all over the picture. */
static void check_points(const struct omo_lens *lens)
{
    for (int i = 0; i <= 4; i++)
        for (int k = 0; k <= 4; k++) {
            struct omo_point seen = {(lens->width - 1) * i / 4.0,
                                     (lens->height - 1) * k / 4.0};
            struct omo_point to = {seen.x, seen.y + lens->height / 4.0};
            double u_deg = omo_lens_angle_u_deg(lens, seen, to);
            omo_lens_straighten(lens, true, seen);
            omo_lens_level_u_deg(lens, seen, to);
            demand(!(u_deg < 0), "an uncertainty is not negative");
        }
    demand(!isnan(omo_lens_straighten(lens, true, (struct omo_point){0, 0}).x),
           "a corner of the picture has its ray");
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    struct omo_lens_profile profile = {.lens = {.width = -1}};
    const struct omo_lens *lens = &profile.lens;
    sentences = 0;
    enum omo_status status =
        omo_lens_parse((const char *)bytes, size, "lenses/desk.ini", &profile);
    if (status != OMO_OK) {
        demand(lens->width == -1, "a mistake leaves the profile alone");
        demand(status == OMO_ERR_SETTINGS && sentences == 1, "a mistake is said once");
        return 0;
    }
    demand(sentences == 0, "a good profile is silent");
    demand(!strcmp(profile.name, "desk"), "a profile has its file's name");
    demand(memchr(profile.camera, '\0', sizeof profile.camera) != NULL,
           "a camera's name ends");
    demand(lens->width > 0 && lens->height > 0, "a picture has a size");
    demand(omo_lens_valid(lens), "a lens can be computed with");
    check_level(lens->roll_deg, lens->roll_u_deg);
    check_level(lens->pitch_deg, lens->pitch_u_deg);
    check_points(lens);
#ifdef OMO_PLANTED_FAULT
    /* Only a whole good profile gets here, with a readout that no seed has. */
    demand(!(lens->readout_s > 0.03), "the planted fault");
#endif
    return 0;
}
