/* Trunk and head from the side. Numbers are thousandths of stature, drawn by hand; +x is
 * forward. */
#include "draw/placement_body.h"

/* ---- trunk and legs ---- */

static void draw_clothed(struct omo_body *b)
{
    static const struct omo_knot body[] = {
        {26, 885, 1},  {22, 862, 0},  {19, 842, 0},  {22, 822, 0},  {36, 798, 0},
        {52, 765, 0},  {59, 730, 0},  {55, 694, 0},  {50, 655, 0},  {51, 612, 0},
        {54, 572, 0},  {51, 530, 0},  {46, 495, 0},  {50, 450, 0},  {50, 400, 0},
        {45, 335, 1},  {-38, 335, 1}, {-46, 400, 0}, {-52, 448, 0}, {-62, 480, 0},
        {-72, 512, 0}, {-70, 545, 0}, {-56, 582, 0}, {-42, 615, 0}, {-39, 648, 0},
        {-48, 695, 0}, {-60, 740, 0}, {-63, 775, 0}, {-55, 808, 0}, {-40, 834, 0},
        {-31, 856, 0}, {-30, 890, 1}};
    static const struct omo_knot shorts[] = {{55, 586, 1},  {55, 560, 0},  {53, 530, 0},
                                             {48, 495, 0},  {53, 450, 0},  {55, 366, 1},
                                             {6, 362, 0},   {-52, 364, 1}, {-56, 430, 0},
                                             {-65, 478, 0}, {-75, 512, 0}, {-73, 545, 0},
                                             {-60, 578, 1}};
    static const struct omo_knot top[] = {{29, 811, 1},  {38, 796, 0},  {54, 764, 0},
                                          {61, 730, 0},  {57, 694, 0},  {53, 655, 0},
                                          {54, 612, 0},  {57, 572, 0},  {55, 526, 1},
                                          {0, 520, 0},   {-75, 524, 1}, {-73, 545, 0},
                                          {-58, 583, 0}, {-45, 615, 0}, {-42, 648, 0},
                                          {-50, 695, 0}, {-62, 740, 0}, {-65, 775, 0},
                                          {-57, 808, 0}, {-47, 824, 1}, {-20, 829, 0},
                                          {2, 828, 1},   {16, 822, 0}};
    static const struct omo_knot hem[] = {{55, 531, 0}, {0, 526, 0}, {-74, 530, 0}};
    static const struct omo_knot leg_hem[] = {{54, 372, 0}, {6, 368, 0}, {-52, 370, 0}};
    static const struct omo_knot seam[] = {{-5, 520, 0}, {-1, 450, 0}, {4, 364, 0}};
    static const struct omo_knot fold[] = {{46, 498, 0}, {32, 497, 0}, {18, 502, 0}};
    struct omo_knot knot[KNOTS_MAX];

    size_t count = omo_trunk_knots(b, body, COUNT(body), knot);
    omo_pen_body(b->pen, knot, count);
    omo_pen_fill(b->pen, knot, count, OMO_PAPER, 2);
    omo_fill_trunk(b, shorts, COUNT(shorts), OMO_DARK, 2);
    omo_stroke_trunk(b, leg_hem, COUNT(leg_hem), OMO_PALE, 0.9);
    omo_stroke_trunk(b, seam, COUNT(seam), OMO_PALE, 0.9);
    omo_stroke_trunk(b, fold, COUNT(fold), OMO_PALE, 0.9);
    omo_fill_trunk(b, top, COUNT(top), OMO_CLOTH, 2);
    omo_stroke_trunk(b, hem, COUNT(hem), OMO_PALE, 0.9);
}

static void draw_garment(struct omo_body *b)
{
    static const struct omo_knot body[] = {
        {27, 880, 1},  {24, 850, 0},  {26, 826, 0},  {42, 796, 0},  {60, 760, 0},
        {66, 726, 0},  {64, 690, 0},  {64, 640, 0},  {70, 580, 0},  {78, 510, 0},
        {88, 420, 0},  {94, 335, 1},  {-92, 335, 1}, {-88, 420, 0}, {-82, 490, 0},
        {-76, 540, 0}, {-62, 600, 0}, {-54, 650, 0}, {-58, 700, 0}, {-66, 745, 0},
        {-67, 780, 0}, {-58, 810, 0}, {-44, 836, 0}, {-34, 858, 0}, {-32, 885, 1}};
    static const struct omo_knot folds[4][4] = {
        {{-42, 690, 0}, {-36, 610, 0}, {-52, 480, 0}, {-60, 345, 0}},
        {{-12, 600, 0}, {-14, 520, 0}, {-18, 430, 0}, {-18, 345, 0}},
        {{34, 620, 0}, {38, 540, 0}, {46, 440, 0}, {50, 345, 0}},
        {{54, 560, 0}, {62, 480, 0}, {68, 410, 0}, {70, 360, 0}}};
    struct omo_knot knot[KNOTS_MAX];

    size_t count = omo_trunk_knots(b, body, COUNT(body), knot);
    omo_pen_body(b->pen, knot, count);
    omo_pen_fill(b->pen, knot, count, OMO_CLOTH, 2);
    for (size_t i = 0; i < COUNT(folds); i++)
        omo_stroke_trunk(b, folds[i], COUNT(folds[i]), OMO_PALE, 0.9);
}

/* ---- the head, without a face ---- */

void omo_side_head(struct omo_body *b)
{
    /* Smooth like a shop window's figure; hair, ear and jaw tell where it looks. */
    static const struct omo_knot skull[] = {{4, 998, 0},   {32, 991, 0},  {49, 971, 0},
                                            {54, 950, 0},  {57, 930, 0},  {55, 912, 0},
                                            {52, 896, 0},  {45, 879, 0},  {32, 873, 0},
                                            {14, 880, 0},  {0, 890, 0},   {-22, 888, 0},
                                            {-42, 905, 0}, {-51, 940, 0}, {-44, 974, 0},
                                            {-24, 993, 0}};
    static const struct omo_knot hair[] = {{4, 1002, 0},  {33, 995, 0},  {53, 973, 0},
                                           {54, 960, 1},  {34, 968, 0},  {18, 964, 0},
                                           {12, 946, 0},  {10, 930, 1},  {3, 934, 0},
                                           {-2, 948, 0},  {-12, 946, 0}, {-14, 925, 0},
                                           {-13, 908, 1}, {-20, 884, 1}, {-35, 892, 0},
                                           {-47, 908, 0}, {-56, 940, 0}, {-49, 977, 0},
                                           {-27, 997, 0}};
    static const struct omo_knot ear[] = {{-3, 942, 0}, {6, 942, 0},  {9, 932, 0},
                                          {4, 920, 0},  {-3, 911, 0}, {-8, 922, 0}};
    static const struct omo_knot inner_ear[] = {{-2, 934, 0}, {3, 934, 0}, {2, 925, 0}};
    static const struct omo_knot jaw[] = {{-4, 908, 0}, {0, 894, 0}, {14, 882, 0}};
    static const struct omo_knot scarf[] = {{4, 1008, 0},  {36, 1000, 0}, {56, 978, 0},
                                            {52, 962, 1},  {38, 945, 0},  {30, 915, 0},
                                            {32, 886, 0},  {36, 871, 1},  {30, 852, 0},
                                            {34, 834, 0},  {20, 824, 0},  {-20, 828, 0},
                                            {-56, 836, 0}, {-56, 864, 0}, {-58, 895, 0},
                                            {-62, 940, 0}, {-52, 980, 0}, {-28, 1003, 0}};
    static const struct omo_knot drape[3][4] = {
        {{30, 890, 0}, {8, 876, 0}, {-22, 874, 0}, {-56, 884, 0}},
        {{33, 868, 0}, {12, 856, 0}, {-22, 854, 0}, {-56, 860, 0}},
        {{38, 944, 0}, {20, 968, 0}, {-6, 978, 0}, {-36, 968, 0}}};
    struct omo_knot knot[KNOTS_MAX];

    size_t count = omo_trunk_knots(b, skull, COUNT(skull), knot);
    omo_pen_body(b->pen, knot, count);
    omo_pen_fill(b->pen, knot, count, OMO_PAPER, 2);
    if (b->settings->modest) {
        omo_fill_trunk(b, scarf, COUNT(scarf), OMO_DARK, 2);
        for (size_t i = 0; i < COUNT(drape); i++)
            omo_stroke_trunk(b, drape[i], COUNT(drape[i]), i == 2 ? OMO_PALE : OMO_INK,
                             1);
        return;
    }
    omo_fill_trunk(b, hair, COUNT(hair), OMO_DARK, 0);
    count = omo_trunk_knots(b, hair, COUNT(hair), knot);
    omo_pen_hatch(b->pen, knot, count, 5.5, b->pen->turn > 0 ? 60 : 120, OMO_PALE, 0.9);
    omo_pen_outline(b->pen, knot, count, 1.8);
    omo_stroke_trunk(b, jaw, COUNT(jaw), OMO_PALE, 1);
    omo_fill_trunk(b, ear, COUNT(ear), OMO_PAPER, 1.4);
    omo_stroke_trunk(b, inner_ear, COUNT(inner_ear), OMO_PALE, 0.9);
}

static void draw_trunk_lines(struct omo_body *b)
{
    static const struct omo_knot neck[] = {{-6, 890, 0},
                                           {2, 868, 0},
                                           {10, 846, 0},
                                           {16, 828, 0}};
    static const struct omo_knot trapezius[] = {{-28, 862, 0},
                                                {-24, 846, 0},
                                                {-14, 834, 0},
                                                {-6, 829, 0}};
    static const struct omo_knot side_line[] = {{-4, 752, 0},
                                                {-4, 690, 0},
                                                {-4, 620, 0},
                                                {-4, 560, 0}};
    struct omo_knot knot[KNOTS_MAX];

    if (!b->settings->modest) {
        omo_stroke_trunk(b, neck, COUNT(neck), OMO_PALE, 1);
        omo_stroke_trunk(b, trapezius, COUNT(trapezius), OMO_PALE, 1);
    }
    if (b->settings->view == OMO_VIEW_SIDE) {
        omo_trunk_knots(b, side_line, COUNT(side_line), knot);
        omo_pen_dashes(b->pen, knot, COUNT(side_line), OMO_PALE, 1);
    }
}

void omo_side_trunk(struct omo_body *b)
{
    if (b->settings->modest)
        draw_garment(b);
    else
        draw_clothed(b);
    draw_trunk_lines(b);
}
