#include "figure.h"

struct omo_paint omo_cloth(const double srgb[3])
{
    return (struct omo_paint){.colour = omo_sim_colour(srgb),
                              .fold_ratio = 0.42f,
                              .grain_ratio = 0.07f,
                              .fold_per_m = 330,
                              .fold_across = 30};
}

static struct omo_paint skin_paint(double dark, double share)
{
    /* From a fair to a deep skin, from memory. */
    static const double fair[3] = {232, 196, 172}, middle[3] = {190, 138, 108},
                        deep[3] = {84, 56, 44};
    double srgb[3];
    for (int i = 0; i < 3; i++)
        srgb[i] = dark < 0.5 ? omo_sim_mix(fair[i], middle[i], 2 * dark)
                             : omo_sim_mix(middle[i], deep[i], 2 * dark - 1);
    struct omo_paint paint = {.colour = omo_sim_colour(srgb),
                              .fold_ratio = 0.05f,
                              .grain_ratio = 0.03f,
                              .fold_per_m = 70,
                              .fold_across = 9,
                              .shine = 0.035f};
    paint.colour *= (float)share;
    return paint;
}

void omo_look_of(const struct omo_scene *scene, struct omo_look *look)
{
    static const double dark[3] = {38, 30, 28}, pale[3] = {206, 200, 194};
    *look = (struct omo_look){
        .skin = skin_paint(scene->skin, 1),
        .lips = skin_paint(scene->skin, 0.62),
        .eye = {.colour = omo_sim_colour(dark)},
        .eye_white = {.colour = omo_sim_colour(pale)},
        .shirt = omo_cloth(scene->shirt),
        .sleeve = omo_cloth(scene->sleeve_colour),
        .trousers = omo_cloth(scene->trousers),
        .hair = omo_cloth(scene->hair_colour),
        .glove = omo_cloth(scene->glove_colour),
        .sleeve_length = scene->sleeve,
        .hair_length = scene->hair,
        .beard = scene->beard,
        .gloves = scene->gloves,
    };
    look->hair.fold_per_m = 12;
    look->hair.fold_across = 40;
    look->hair.fold_ratio = 0.45f;
    look->hair.shine = 0.02f;
    look->glove.fold_ratio = 0.08f;
    look->glove.shine = 0.06f;
    for (int i = 0; i < OMO_ROLE_COUNT; i++)
        look->sticker[i] = omo_sim_colour(scene->colour[i]);
}

void omo_look_of_bystander(const struct omo_scene *scene, struct omo_look *look)
{
    static const double shirt[3] = {138, 74, 62}, trousers[3] = {70, 80, 110},
                        hair[3] = {92, 70, 48};
    omo_look_of(scene, look);
    look->skin = skin_paint(scene->skin < 0.5 ? 0.75 : 0.15, 1);
    look->lips = skin_paint(scene->skin < 0.5 ? 0.75 : 0.15, 0.62);
    look->shirt = look->sleeve = omo_cloth(shirt);
    look->trousers = omo_cloth(trousers);
    look->hair.colour = omo_sim_colour(hair);
    look->sleeve_length = OMO_SLEEVE_SHORT;
    look->hair_length = OMO_HAIR_SHORT;
    look->beard = look->gloves = false;
}
