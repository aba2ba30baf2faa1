/* Trunk and head from the front and from behind. Numbers are thousandths of stature,
 * drawn by hand; +x is the measured side. */
#include "draw/placement_body.h"

/* ---- the trunk ---- */

/** Skin from the neck to the thighs, and what a summer's day covers. */
static void draw_clothed(struct omo_body *b)
{
    static const struct omo_knot body[] = {{0, 876, 1},   {31, 882, 0},  {32, 856, 0},
                                           {39, 841, 0},  {58, 832, 0},  {84, 827, 0},
                                           {112, 818, 1}, {97, 757, 0},  {92, 715, 0},
                                           {83, 668, 0},  {79, 634, 0},  {84, 594, 0},
                                           {95, 548, 0},  {101, 505, 0}, {101, 455, 0},
                                           {95, 390, 0},  {88, 335, 1},  {12, 335, 1},
                                           {9, 400, 0},   {3, 456, 0},   {0, 464, 1}};
    static const struct omo_knot shorts[] = {{0, 583, 1},   {88, 586, 1},  {97, 548, 0},
                                             {103, 505, 0}, {104, 440, 0}, {101, 372, 1},
                                             {14, 366, 1},  {9, 410, 0},   {3, 456, 0},
                                             {0, 462, 1}};
    static const struct omo_knot top_front[] = {
        {0, 781, 0},    {26, 788, 0},  {42, 806, 0}, {50, 834, 1},
        {73, 829.5, 1}, {77, 800, 0},  {84, 772, 0}, {98, 750, 1},
        {93, 712, 0},   {85, 668, 0},  {81, 634, 0}, {87, 594, 0},
        {98, 548, 0},   {102, 528, 1}, {50, 523, 0}, {0, 521, 0}};
    static const struct omo_knot top_behind[] = {
        {0, 812, 0},    {26, 815, 0},  {42, 823, 0}, {50, 834, 1},
        {73, 829.5, 1}, {74, 800, 0},  {82, 772, 0}, {98, 750, 1},
        {93, 712, 0},   {85, 668, 0},  {81, 634, 0}, {87, 594, 0},
        {98, 548, 0},   {102, 528, 1}, {50, 523, 0}, {0, 521, 0}};
    static const struct omo_knot hem[] = {{0, 526.5, 0}, {50, 528.5, 0}, {100, 533, 0}};
    static const struct omo_knot leg_hem[] = {{100, 378, 0}, {56, 371, 0}, {15, 372, 0}};
    static const struct omo_knot fold[] = {{7, 470, 0}, {26, 482, 0}, {46, 496, 0}};
    struct omo_knot knot[KNOTS_MAX];

    size_t all = omo_both_sides(knot, omo_trunk_knots(b, body, COUNT(body), knot));
    omo_pen_body(b->pen, knot, all);
    omo_pen_fill(b->pen, knot, all, OMO_PAPER, 2);
    omo_fill_both(b, shorts, COUNT(shorts), OMO_DARK, 2);
    omo_stroke_both(b, leg_hem, COUNT(leg_hem), OMO_PALE, 0.9);
    omo_stroke_both(b, fold, COUNT(fold), OMO_PALE, 0.9);
    if (b->settings->from_behind)
        omo_fill_both(b, top_behind, COUNT(top_behind), OMO_CLOTH, 2);
    else
        omo_fill_both(b, top_front, COUNT(top_front), OMO_CLOTH, 2);
    omo_stroke_both(b, hem, COUNT(hem), OMO_PALE, 0.9);
}

/* Collar bones and breastbone, or shoulder blades and spine. */
void omo_front_trunk_lines(struct omo_body *b)
{
    static const struct omo_knot collar_bone[] = {
        {11, 817, 0}, {30, 820, 0}, {58, 819, 0}, {84, 822, 0}, {106, 819, 0}};
    static const struct omo_knot neck_muscle[] = {{25, 866, 0},
                                                  {20, 846, 0},
                                                  {12, 828, 0},
                                                  {8, 817, 0}};
    static const struct omo_knot notch[] = {{-8, 817, 0},
                                            {-4, 812.5, 0},
                                            {4, 812.5, 0},
                                            {8, 817, 0}};
    static const struct omo_knot blade[] = {
        {30, 784, 0}, {29, 760, 0}, {38, 728, 0}, {52, 720, 0}, {66, 738, 0}};
    static const struct omo_knot blade_spine[] = {{32, 785, 0},
                                                  {58, 799, 0},
                                                  {88, 812, 0},
                                                  {110, 817, 0}};
    static const struct omo_knot spine[] = {
        {0, 812, 0}, {0.5, 760, 0}, {0, 690, 0}, {0.5, 620, 0}, {0, 560, 0}};
    static const struct omo_knot seat[] = {{0, 512, 0}, {0, 490, 0}, {0, 466, 0}};
    static const struct omo_knot nape[] = {{11, 872, 0}, {10, 850, 0}, {20, 836, 0}};
    static const struct omo_knot armpit[] = {{98, 752, 0}, {92, 766, 0}, {91, 782, 0}};
    bool modest = b->settings->modest;

    if (!modest)
        omo_stroke_both(b, armpit, COUNT(armpit), OMO_INK, 1.2);
    if (b->settings->from_behind) {
        omo_stroke_both(b, blade, COUNT(blade), OMO_PALE, 1);
        if (!modest) {
            omo_stroke_both(b, blade_spine, COUNT(blade_spine), OMO_PALE, 1);
            omo_stroke_both(b, nape, COUNT(nape), OMO_PALE, 0.9);
            struct omo_knot knot[KNOTS_MAX];
            omo_trunk_knots(b, seat, COUNT(seat), knot);
            omo_pen_stroke(b->pen, knot, COUNT(seat), OMO_PALE, 1);
        }
        struct omo_knot knot[KNOTS_MAX];
        omo_trunk_knots(b, spine, COUNT(spine), knot);
        omo_pen_dashes(b->pen, knot, COUNT(spine), OMO_PALE, 0.9);
        return;
    }
    if (modest)
        return;
    omo_stroke_both(b, collar_bone, COUNT(collar_bone), OMO_PALE, 1.1);
    omo_stroke_both(b, neck_muscle, COUNT(neck_muscle), OMO_PALE, 1);
    struct omo_knot knot[KNOTS_MAX];
    omo_trunk_knots(b, notch, COUNT(notch), knot);
    omo_pen_stroke(b->pen, knot, COUNT(notch), OMO_INK, 1);
}

/** A long loose garment over everything but head and hands. */
static void draw_garment(struct omo_body *b)
{
    static const struct omo_knot body[] = {{0, 876, 1},   {29, 872, 0},  {36, 846, 0},
                                           {46, 838, 0},  {84, 828, 0},  {112, 818, 1},
                                           {101, 748, 0}, {100, 700, 0}, {100, 650, 0},
                                           {106, 590, 0}, {116, 520, 0}, {127, 440, 0},
                                           {136, 370, 0}, {140, 335, 1}, {0, 335, 1}};
    static const struct omo_knot folds[4][4] = {
        {{94, 735, 0}, {84, 700, 0}, {82, 660, 0}, {86, 620, 0}},
        {{74, 600, 0}, {80, 520, 0}, {90, 430, 0}, {96, 345, 0}},
        {{34, 640, 0}, {36, 540, 0}, {42, 440, 0}, {45, 345, 0}},
        {{104, 610, 0}, {108, 540, 0}, {116, 470, 0}, {121, 410, 0}}};
    static const struct omo_knot front[] = {{0, 832, 0}, {0, 760, 0}, {0, 700, 0}};
    struct omo_knot knot[KNOTS_MAX];

    size_t all = omo_both_sides(knot, omo_trunk_knots(b, body, COUNT(body), knot));
    omo_pen_body(b->pen, knot, all);
    omo_pen_fill(b->pen, knot, all, OMO_CLOTH, 2);
    for (size_t i = 0; i < COUNT(folds); i++)
        omo_stroke_both(b, folds[i], COUNT(folds[i]), OMO_PALE, 0.9);
    if (!b->settings->from_behind) {
        omo_trunk_knots(b, front, COUNT(front), knot);
        omo_pen_stroke(b->pen, knot, COUNT(front), OMO_PALE, 1);
    }
}

void omo_front_trunk(struct omo_body *b)
{
    if (b->settings->modest)
        draw_garment(b);
    else
        draw_clothed(b);
}

/* ---- the head, without a face ---- */

void omo_front_head(struct omo_body *b)
{
    static const struct omo_knot skull[] = {{0, 998, 0},  {22, 993, 0}, {37, 976, 0},
                                            {42, 950, 0}, {40, 918, 0}, {33, 891, 0},
                                            {18, 874, 0}, {0, 869, 0}};
    static const struct omo_knot ear[] = {
        {41, 942, 0}, {48, 946, 0}, {49, 932, 0}, {45, 917, 0}, {40, 916, 0}};
    static const struct omo_knot hair_front[] = {{0, 1002, 0}, {25, 998, 0}, {41, 980, 0},
                                                 {45, 952, 0}, {42, 940, 1}, {37, 956, 0},
                                                 {30, 969, 0}, {14, 975, 0}, {0, 974, 0}};
    static const struct omo_knot hair_behind[] = {{0, 1002, 0}, {25, 998, 0},
                                                  {41, 980, 0}, {46, 950, 0},
                                                  {43, 918, 0}, {34, 890, 0},
                                                  {22, 877, 1}, {10, 873, 0},
                                                  {0, 872, 0}};
    static const struct omo_knot scarf[] = {{0, 1008, 0}, {28, 1003, 0}, {48, 982, 0},
                                            {53, 945, 0}, {49, 905, 0},  {44, 878, 0},
                                            {46, 858, 0}, {53, 842, 1},  {28, 834, 0},
                                            {0, 831, 0}};
    static const struct omo_knot opening[] = {{0, 984, 0},  {22, 976, 0}, {34, 952, 0},
                                              {34, 918, 0}, {25, 889, 0}, {0, 876, 0}};
    static const struct omo_knot drape[] = {{30, 884, 0},
                                            {20, 866, 0},
                                            {-6, 852, 0},
                                            {-44, 848, 0}};
    static const struct omo_knot drape_below[] = {{38, 868, 0},
                                                  {22, 850, 0},
                                                  {0, 842, 0},
                                                  {-30, 839, 0}};
    static const struct omo_knot drape_behind[] = {{46, 906, 0},
                                                   {24, 876, 0},
                                                   {-6, 858, 0},
                                                   {-44, 852, 0}};
    struct omo_knot knot[KNOTS_MAX];
    const bool behind = b->settings->from_behind;

    size_t all = omo_both_sides(knot, omo_trunk_knots(b, skull, COUNT(skull), knot));
    omo_pen_body(b->pen, knot, all);
    if (b->settings->modest) {
        omo_fill_both(b, scarf, COUNT(scarf), OMO_DARK, 2);
        if (!behind)
            omo_fill_both(b, opening, COUNT(opening), OMO_PAPER, 1.6);
        const struct omo_knot *over = behind ? drape_behind : drape;
        omo_trunk_knots(b, over, COUNT(drape), knot);
        omo_pen_stroke(b->pen, knot, COUNT(drape), OMO_INK, 1);
        omo_trunk_knots(b, drape_below, COUNT(drape_below), knot);
        omo_pen_stroke(b->pen, knot, COUNT(drape_below), OMO_PALE, 1);
        return;
    }
    for (int side = 1; side >= -1; side -= 2) {
        omo_trunk_knots(b, ear, COUNT(ear), knot);
        for (size_t i = 0; i < COUNT(ear); i++)
            knot[i].x *= side;
        omo_pen_fill(b->pen, knot, COUNT(ear), OMO_PAPER, 1.6);
    }
    omo_fill_both(b, skull, COUNT(skull), OMO_PAPER, 2);
    const struct omo_knot *hair = behind ? hair_behind : hair_front;
    size_t count = behind ? COUNT(hair_behind) : COUNT(hair_front);
    omo_fill_both(b, hair, count, OMO_DARK, 0);
    all = omo_both_sides(knot, omo_trunk_knots(b, hair, count, knot));
    omo_pen_hatch(b->pen, knot, all, 5.5, b->pen->turn > 0 ? 65 : 115, OMO_PALE, 0.9);
    omo_pen_outline(b->pen, knot, all, 1.8);
}
