/* A standing body from the side, the arm a little forward so that it hides neither hip
 * nor side line; and the same with the upper arm pointing at the camera. Numbers are
 * thousandths of stature, drawn by hand; +x is forward. */
#include <glib.h>
#include <math.h>

#include "draw/placement_parts.h"

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))
#define KNOTS_MAX    96
/** How far forward the arm and the forearm are held. */
#define ARM_DEG     30
#define FOREARM_DEG 44

struct limb_knot {
    int limb; /**< 0 upper arm, 1 forearm, 2 hand; across is positive forward */
    double along, across;
    bool corner;
};

struct side {
    struct omo_pen *pen;
    const struct omo_layout *layout;
    const struct omo_placement_settings *settings;
    struct omo_limb limb[3];
};

static size_t limb_knots(const struct side *s, const struct limb_knot *from, size_t count,
                         struct omo_knot *to)
{
    for (size_t i = 0; i < count; i++) {
        struct omo_point p =
            omo_limb_at(&s->limb[from[i].limb], from[i].along, from[i].across);
        to[i] = (struct omo_knot){p.x, p.y, from[i].corner};
    }
    return count;
}

static size_t trunk_knots(const struct side *s, const struct omo_knot *from, size_t count,
                          struct omo_knot *to)
{
    for (size_t i = 0; i < count; i++)
        to[i] = (struct omo_knot){from[i].x, omo_body_height(s->layout, from[i].y),
                                  from[i].corner};
    return count;
}

static void fill(struct side *s, const struct omo_knot *from, size_t count,
                 uint32_t colour, double weight)
{
    struct omo_knot knot[KNOTS_MAX];
    omo_pen_fill(s->pen, knot, trunk_knots(s, from, count, knot), colour, weight);
}

static void stroke(struct side *s, const struct omo_knot *from, size_t count,
                   uint32_t colour, double weight)
{
    struct omo_knot knot[KNOTS_MAX];
    omo_pen_stroke(s->pen, knot, trunk_knots(s, from, count, knot), colour, weight);
}

static void stroke_limb(struct side *s, const struct limb_knot *from, size_t count,
                        uint32_t colour, double weight)
{
    struct omo_knot knot[KNOTS_MAX];
    omo_pen_stroke(s->pen, knot, limb_knots(s, from, count, knot), colour, weight);
}

/* ---- trunk and legs ---- */

static void draw_trunk(struct side *s)
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

    size_t count = trunk_knots(s, body, COUNT(body), knot);
    omo_pen_body(s->pen, knot, count);
    omo_pen_fill(s->pen, knot, count, OMO_PAPER, 2);
    fill(s, shorts, COUNT(shorts), OMO_DARK, 2);
    stroke(s, leg_hem, COUNT(leg_hem), OMO_PALE, 0.9);
    stroke(s, seam, COUNT(seam), OMO_PALE, 0.9);
    stroke(s, fold, COUNT(fold), OMO_PALE, 0.9);
    fill(s, top, COUNT(top), OMO_CLOTH, 2);
    stroke(s, hem, COUNT(hem), OMO_PALE, 0.9);
}

static void draw_garment(struct side *s)
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

    size_t count = trunk_knots(s, body, COUNT(body), knot);
    omo_pen_body(s->pen, knot, count);
    omo_pen_fill(s->pen, knot, count, OMO_CLOTH, 2);
    for (size_t i = 0; i < COUNT(folds); i++)
        stroke(s, folds[i], COUNT(folds[i]), OMO_PALE, 0.9);
}

/* ---- the head, without a face ---- */

static void draw_head(struct side *s)
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

    size_t count = trunk_knots(s, skull, COUNT(skull), knot);
    omo_pen_body(s->pen, knot, count);
    omo_pen_fill(s->pen, knot, count, OMO_PAPER, 2);
    if (s->settings->modest) {
        fill(s, scarf, COUNT(scarf), OMO_DARK, 2);
        for (size_t i = 0; i < COUNT(drape); i++)
            stroke(s, drape[i], COUNT(drape[i]), i == 2 ? OMO_PALE : OMO_INK, 1);
        return;
    }
    fill(s, hair, COUNT(hair), OMO_DARK, 1.4);
    count = trunk_knots(s, hair, COUNT(hair), knot);
    omo_pen_hatch(s->pen, knot, count, 5.5, s->pen->turn > 0 ? 60 : 120, OMO_PALE, 0.9);
    stroke(s, jaw, COUNT(jaw), OMO_PALE, 1);
    fill(s, ear, COUNT(ear), OMO_PAPER, 1.4);
    stroke(s, inner_ear, COUNT(inner_ear), OMO_PALE, 0.9);
}

static void draw_trunk_lines(struct side *s)
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

    if (!s->settings->modest) {
        stroke(s, neck, COUNT(neck), OMO_PALE, 1);
        stroke(s, trapezius, COUNT(trapezius), OMO_PALE, 1);
    }
    if (s->settings->view == OMO_VIEW_SIDE) {
        trunk_knots(s, side_line, COUNT(side_line), knot);
        omo_pen_dashes(s->pen, knot, COUNT(side_line), OMO_PALE, 1);
    }
}

/* ---- the hanging arm ---- */

/* From the shoulder's top down its front, round the hand and up its back. Palm to the
 * body, thumb forward. */
static const struct limb_knot bare_arm[] = {
    {0, -0.02, 2, 0},   {0, 0.04, 24, 0},    {0, 0.14, 33, 0},    {0, 0.26, 34, 0},
    {0, 0.40, 28.5, 0}, {0, 0.58, 26, 0},    {0, 0.78, 23, 0},    {0, 0.94, 21, 0},
    {1, 0.06, 23, 0},   {1, 0.20, 25.5, 0},  {1, 0.42, 22, 0},    {1, 0.72, 16.5, 0},
    {1, 0.93, 14.5, 0}, {2, 0.06, 16, 0},    {2, 0.17, 22, 0},    {2, 0.30, 29, 0},
    {2, 0.46, 34, 0},   {2, 0.60, 37, 0},    {2, 0.655, 34, 0},   {2, 0.63, 28.5, 0},
    {2, 0.52, 24.5, 0}, {2, 0.45, 22.5, 1},  {2, 0.62, 22, 0},    {2, 0.82, 20.5, 0},
    {2, 0.92, 16.5, 0}, {2, 0.89, 11.5, 1},  {2, 0.95, 10.5, 0},  {2, 0.99, 6, 0},
    {2, 0.93, 1, 1},    {2, 0.955, -3, 0},   {2, 0.93, -7, 0},    {2, 0.88, -9.5, 1},
    {2, 0.84, -12, 0},  {2, 0.80, -17.5, 0}, {2, 0.66, -20, 0},   {2, 0.42, -22, 0},
    {2, 0.22, -20, 0},  {2, 0.05, -16, 0},   {1, 0.93, -15, 0},   {1, 0.88, -16, 0},
    {1, 0.66, -18, 0},  {1, 0.40, -22, 0},   {1, 0.16, -24, 0},   {1, 0.04, -25.5, 0},
    {0, 0.985, -26, 0}, {0, 0.90, -23, 0},   {0, 0.74, -23.5, 0}, {0, 0.55, -26.5, 0},
    {0, 0.38, -29, 0},  {0, 0.22, -33, 0},   {0, 0.08, -31, 0},   {0, -0.01, -18, 0},
};
static const struct limb_knot sleeve[] = {
    {0, -0.03, 2, 0},   {0, 0.04, 26, 0},    {0, 0.14, 35.5, 0}, {0, 0.26, 37, 0},
    {0, 0.42, 32, 0},   {0, 0.62, 29.5, 0},  {0, 0.82, 27, 0},   {0, 0.96, 25, 0},
    {1, 0.08, 26, 0},   {1, 0.24, 28, 0},    {1, 0.48, 24, 0},   {1, 0.78, 20, 0},
    {1, 0.93, 18.5, 1}, {1, 0.93, -18.5, 1}, {1, 0.70, -21, 0},  {1, 0.40, -25, 0},
    {1, 0.16, -27, 0},  {1, 0.02, -29, 0},   {0, 0.97, -29, 0},  {0, 0.84, -27, 0},
    {0, 0.60, -30, 0},  {0, 0.40, -32, 0},   {0, 0.22, -35, 0},  {0, 0.08, -33, 0},
    {0, -0.01, -19, 0},
};

static void draw_hand_lines(struct side *s)
{
    static const struct limb_knot gaps[3][2] = {{{2, 0.58, 11, 0}, {2, 0.89, 11.5, 0}},
                                                {{2, 0.58, 1, 0}, {2, 0.93, 1, 0}},
                                                {{2, 0.57, -9, 0}, {2, 0.88, -9.5, 0}}};
    static const struct limb_knot knuckles[4][3] = {
        {{2, 0.53, 19, 0}, {2, 0.515, 16, 0}, {2, 0.53, 13, 0}},
        {{2, 0.54, 8, 0}, {2, 0.525, 5, 0}, {2, 0.54, 2, 0}},
        {{2, 0.53, -2, 0}, {2, 0.515, -5, 0}, {2, 0.53, -8, 0}},
        {{2, 0.50, -12, 0}, {2, 0.485, -15, 0}, {2, 0.50, -18, 0}}};
    static const struct limb_knot thumb[] = {{2, 0.45, 22.5, 0},
                                             {2, 0.33, 19, 0},
                                             {2, 0.22, 17, 0}};
    for (size_t i = 0; i < COUNT(gaps); i++)
        stroke_limb(s, gaps[i], COUNT(gaps[i]), OMO_INK, 0.8);
    for (size_t i = 0; i < COUNT(knuckles); i++)
        stroke_limb(s, knuckles[i], COUNT(knuckles[i]), OMO_PALE, 0.8);
    stroke_limb(s, thumb, COUNT(thumb), OMO_PALE, 0.9);
}

static void draw_arm(struct side *s)
{
    static const struct limb_knot deltoid[] = {{0, 0.22, 28, 0},
                                               {0, 0.34, 14, 0},
                                               {0, 0.46, 1, 0},
                                               {0, 0.36, -14, 0},
                                               {0, 0.25, -25, 0}};
    static const struct limb_knot triceps[] = {{0, 0.48, -2, 0},
                                               {0, 0.66, -6, 0},
                                               {0, 0.86, -10, 0}};
    static const struct limb_knot elbow[] = {{0, 0.93, -16, 0},
                                             {0, 0.99, -18, 0},
                                             {1, 0.05, -15, 0}};
    static const struct limb_knot forearm[] = {{0, 0.92, 4, 0},
                                               {1, 0.10, 6, 0},
                                               {1, 0.34, 4, 0},
                                               {1, 0.60, 1, 0}};
    static const struct limb_knot cuff[] = {{1, 0.89, 17, 0},
                                            {1, 0.895, 0, 0},
                                            {1, 0.89, -17, 0}};
    static const struct limb_knot folds[3][3] = {
        {{0, 0.93, 24, 0}, {0, 0.97, 10, 0}, {0, 0.96, -2, 0}},
        {{1, 0.07, 24, 0}, {1, 0.05, 8, 0}, {1, 0.04, -4, 0}},
        {{0, 0.86, -26, 0}, {0, 0.90, -14, 0}, {0, 0.90, -5, 0}}};
    struct omo_knot knot[KNOTS_MAX];

    size_t count = limb_knots(s, bare_arm, COUNT(bare_arm), knot);
    omo_pen_body(s->pen, knot, count);
    omo_pen_fill(s->pen, knot, count, OMO_PAPER, 0);
    if (!s->settings->modest) {
        stroke_limb(s, deltoid, COUNT(deltoid), OMO_PALE, 0.9);
        stroke_limb(s, triceps, COUNT(triceps), OMO_PALE, 0.8);
        stroke_limb(s, forearm, COUNT(forearm), OMO_PALE, 0.8);
        stroke_limb(s, elbow, COUNT(elbow), OMO_PALE, 0.9);
        omo_pen_stroke(s->pen, knot, count, OMO_INK, 2);
        draw_hand_lines(s);
        return;
    }
    omo_pen_stroke(s->pen, knot, count, OMO_INK, 2);
    draw_hand_lines(s);
    count = limb_knots(s, sleeve, COUNT(sleeve), knot);
    omo_pen_fill(s->pen, knot, count, OMO_CLOTH, 0);
    omo_pen_stroke(s->pen, knot, count, OMO_INK, 2);
    stroke_limb(s, cuff, COUNT(cuff), OMO_PALE, 0.9);
    for (size_t i = 0; i < COUNT(folds); i++)
        stroke_limb(s, folds[i], COUNT(folds[i]), OMO_PALE, 0.9);
}

/* ---- places in the side view ---- */

static struct omo_spot spot(struct omo_point at, double column, double lift)
{
    return (struct omo_spot){true, at, at, column, lift};
}

static struct omo_point on_trunk(const struct side *s, double x, double y)
{
    return (struct omo_point){x, omo_body_height(s->layout, y)};
}

static void set_side_spots(const struct side *s, struct omo_spots *spots)
{
    const struct omo_limb *upper = &s->limb[0], *fore = &s->limb[1];
    struct omo_spot *marker = spots->marker, *bony = spots->bony;
    struct omo_point edge = omo_limb_at(upper, 0.0, 0);

    /* Two finger-widths, 35 mm of 1.7 m, below the bony edge. */
    marker[OMO_SHOULDER] = spot((struct omo_point){edge.x + 3, edge.y - 22}, -1, 10);
    marker[OMO_ELBOW] = spot(omo_limb_at(upper, 0.985, 0), 1, 40);
    marker[OMO_WRIST] = spot(omo_limb_at(fore, 0.96, 0), 1, 20);
    marker[OMO_HIP] = spot(on_trunk(s, -4, 542), -1, 0);
    marker[OMO_CHEST] = spot(on_trunk(s, -4, 716), -1, 10);
    bony[OMO_BONY_ACROMION] = spot(edge, 1, 35);
    bony[OMO_BONY_EPICONDYLE] = spot(omo_limb_at(upper, 0.985, 0), 1, 15);
    bony[OMO_BONY_STYLOID] = spot(omo_limb_at(fore, 0.95, 12), 1, 45);
    bony[OMO_BONY_HIP_BONE] = spot(on_trunk(s, -4, 572), -1, 20);
    bony[OMO_BONY_SIDE_LINE] = spot(on_trunk(s, -4, 716), -1, -15);
    spots->high_x = omo_limb_at(&s->limb[2], 1, 8).x;
}

static void draw_side_arm(struct side *s)
{
    struct omo_point joint = {-8, omo_body_height(s->layout, 817)};
    s->limb[0] = omo_limb_make(joint, ARM_DEG, 1000 * s->layout->upper_arm, 1);
    s->limb[1] = omo_limb_make(omo_limb_at(&s->limb[0], 1, 0), FOREARM_DEG,
                               1000 * s->layout->forearm, 1);
    s->limb[2] = omo_limb_make(omo_limb_at(&s->limb[1], 1, 0), FOREARM_DEG - 4,
                               1000 * s->layout->hand, 1);
    draw_arm(s);
}

/* ---- along the arm: the upper arm points at the camera ---- */

/* The forearm straight ahead, its outer side up to the elbow's point towards the camera:
 * limb 1 forearm, 2 hand; across is positive upward. */
static const struct limb_knot level_arm[] = {
    {1, -0.19, 0, 0},   {1, -0.16, 17, 0},   {1, -0.05, 25.5, 0},  {1, 0.10, 25.5, 0},
    {1, 0.28, 23.5, 0}, {1, 0.52, 20, 0},    {1, 0.78, 15, 0},     {1, 0.95, 13, 0},
    {2, 0.10, 13.5, 0}, {2, 0.30, 14, 0},    {2, 0.50, 12, 0},     {2, 0.70, 9.5, 0},
    {2, 0.90, 6.5, 0},  {2, 0.97, 2, 0},     {2, 0.91, -3, 0},     {2, 0.76, -5.5, 1},
    {2, 0.70, -8, 0},   {2, 0.62, -12, 0},   {2, 0.48, -12, 0},    {2, 0.30, -12.5, 0},
    {2, 0.10, -13, 0},  {1, 0.95, -13.5, 0}, {1, 0.74, -16.5, 0},  {1, 0.48, -22, 0},
    {1, 0.22, -25, 0},  {1, 0.05, -26, 0},   {1, -0.08, -22.5, 0}, {1, -0.16, -13, 0},
};
static const struct limb_knot level_sleeve[] = {
    {1, -0.22, 0, 0},    {1, -0.18, 19, 0},  {1, -0.06, 28, 0},  {1, 0.10, 28.5, 0},
    {1, 0.30, 26.5, 0},  {1, 0.55, 23, 0},   {1, 0.80, 19, 0},   {1, 0.93, 17.5, 1},
    {1, 0.93, -17.5, 1}, {1, 0.74, -20, 0},  {1, 0.48, -25, 0},  {1, 0.22, -28, 0},
    {1, 0.04, -29, 0},   {1, -0.10, -25, 0}, {1, -0.19, -14, 0},
};

static void draw_level_arm(struct side *s)
{
    /* Behind the elbow: the shoulder's cap and the upper arm, seen end on. */
    static const struct omo_knot cap[] = {{-8, 836, 0},  {16, 832, 0},  {32, 815, 0},
                                          {34, 790, 0},  {20, 766, 0},  {-6, 758, 0},
                                          {-30, 766, 0}, {-44, 788, 0}, {-42, 814, 0},
                                          {-28, 831, 0}};
    static const struct omo_knot round_arm[] = {{-6, 826, 0},  {16, 820, 0},
                                                {26, 800, 0},  {20, 778, 0},
                                                {-4, 768, 0},  {-26, 778, 0},
                                                {-34, 799, 0}, {-26, 818, 0}};
    static const struct limb_knot finger[] = {{2, 0.46, -2, 0},
                                              {2, 0.70, -3, 0},
                                              {2, 0.76, -5.5, 0}};
    static const struct limb_knot thumb[] = {{2, 0.20, 3, 0},
                                             {2, 0.34, 5, 0},
                                             {2, 0.50, 4, 0}};
    static const struct limb_knot ulna[] = {{1, 0.02, -13, 0},
                                            {1, 0.30, -11, 0},
                                            {1, 0.62, -7, 0},
                                            {1, 0.88, -5, 0}};
    static const struct limb_knot point[] = {{1, -0.02, 12, 0},
                                             {1, -0.10, 6, 0},
                                             {1, -0.11, -5, 0},
                                             {1, -0.03, -12, 0}};
    static const struct limb_knot cuff[] = {{1, 0.89, 16.5, 0},
                                            {1, 0.895, 0, 0},
                                            {1, 0.89, -16.5, 0}};
    struct omo_knot knot[KNOTS_MAX];
    const bool modest = s->settings->modest;
    uint32_t cloth = modest ? OMO_CLOTH : OMO_PAPER;

    struct omo_point elbow = {-4, omo_body_height(s->layout, 798)};
    s->limb[1] = omo_limb_make(elbow, 90, 1000 * s->layout->forearm, 1);
    s->limb[2] =
        omo_limb_make(omo_limb_at(&s->limb[1], 1, 0), 87, 1000 * s->layout->hand, 1);
    fill(s, cap, COUNT(cap), cloth, 2);
    fill(s, round_arm, COUNT(round_arm), cloth, 1.2);
    size_t count = limb_knots(s, level_arm, COUNT(level_arm), knot);
    omo_pen_body(s->pen, knot, count);
    omo_pen_fill(s->pen, knot, count, OMO_PAPER, 2.2);
    stroke_limb(s, finger, COUNT(finger), OMO_INK, 0.8);
    stroke_limb(s, thumb, COUNT(thumb), OMO_PALE, 0.9);
    if (modest) {
        count = limb_knots(s, level_sleeve, COUNT(level_sleeve), knot);
        omo_pen_fill(s->pen, knot, count, OMO_CLOTH, 2.2);
        stroke_limb(s, cuff, COUNT(cuff), OMO_PALE, 0.9);
    } else {
        stroke_limb(s, ulna, COUNT(ulna), OMO_PALE, 0.9);
    }
    stroke_limb(s, point, COUNT(point), OMO_PALE, 1);
}

static void set_along_spots(const struct side *s, struct omo_spots *spots)
{
    const struct omo_limb *fore = &s->limb[1];
    struct omo_point point = omo_limb_at(fore, -0.03, 0);
    struct omo_point bump = omo_limb_at(fore, 0.95, 0);
    spots->marker[OMO_ELBOW] = spot(point, -1, 25);
    spots->marker[OMO_WRIST] = spot(bump, 1, 60);
    spots->bony[OMO_BONY_OLECRANON] = spot(point, -1, -45);
    spots->bony[OMO_BONY_STYLOID] = spot(bump, 1, -60);
    spots->high_x = omo_limb_at(&s->limb[2], 1, 0).x;
}

void omo_draw_side(struct omo_pen *pen, const struct omo_layout *layout,
                   const struct omo_placement_settings *settings, struct omo_spots *spots)
{
    struct side s = {.pen = pen, .layout = layout, .settings = settings};
    if (settings->modest)
        draw_garment(&s);
    else
        draw_trunk(&s);
    draw_trunk_lines(&s);
    draw_head(&s);
    if (settings->view == OMO_VIEW_SIDE) {
        draw_side_arm(&s);
        set_side_spots(&s, spots);
    } else {
        draw_level_arm(&s);
        set_along_spots(&s, spots);
    }
    spots->low_x = settings->modest ? -96 : -80;
    spots->low_y = omo_body_height(layout, 330);
    spots->high_y = omo_body_height(layout, 1012);
}
