/* A standing body from the side, the arm a little forward so that it hides neither hip
 * nor side line; and the same with the upper arm pointing at the camera: arms and places.
 * Numbers are thousandths of stature, drawn by hand; +x is forward. */
#include "draw/placement_body.h"

/** How far forward the arm and the forearm are held. */
#define ARM_DEG     30
#define FOREARM_DEG 44

/* ---- the hanging arm ---- */

/* From the shoulder's top down its front, round the hand and up its back. Palm to the
 * body, thumb forward. */
static const struct omo_limb_knot bare_arm[] = {
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
static const struct omo_limb_knot sleeve[] = {
    {0, -0.03, 2, 0},   {0, 0.04, 26, 0},    {0, 0.14, 35.5, 0}, {0, 0.26, 37, 0},
    {0, 0.42, 32, 0},   {0, 0.62, 29.5, 0},  {0, 0.82, 27, 0},   {0, 0.96, 25, 0},
    {1, 0.08, 26, 0},   {1, 0.24, 28, 0},    {1, 0.48, 24, 0},   {1, 0.78, 20, 0},
    {1, 0.93, 18.5, 1}, {1, 0.93, -18.5, 1}, {1, 0.70, -21, 0},  {1, 0.40, -25, 0},
    {1, 0.16, -27, 0},  {1, 0.02, -29, 0},   {0, 0.97, -29, 0},  {0, 0.84, -27, 0},
    {0, 0.60, -30, 0},  {0, 0.40, -32, 0},   {0, 0.22, -35, 0},  {0, 0.08, -33, 0},
    {0, -0.01, -19, 0},
};

static void draw_hand_lines(struct omo_body *b)
{
    static const struct omo_limb_knot gaps[3][2] = {{{2, 0.58, 11, 0},
                                                     {2, 0.89, 11.5, 0}},
                                                    {{2, 0.58, 1, 0}, {2, 0.93, 1, 0}},
                                                    {{2, 0.57, -9, 0},
                                                     {2, 0.88, -9.5, 0}}};
    static const struct omo_limb_knot knuckles[4][3] = {
        {{2, 0.53, 19, 0}, {2, 0.515, 16, 0}, {2, 0.53, 13, 0}},
        {{2, 0.54, 8, 0}, {2, 0.525, 5, 0}, {2, 0.54, 2, 0}},
        {{2, 0.53, -2, 0}, {2, 0.515, -5, 0}, {2, 0.53, -8, 0}},
        {{2, 0.50, -12, 0}, {2, 0.485, -15, 0}, {2, 0.50, -18, 0}}};
    static const struct omo_limb_knot thumb[] = {{2, 0.45, 22.5, 0},
                                                 {2, 0.33, 19, 0},
                                                 {2, 0.22, 17, 0}};
    for (size_t i = 0; i < COUNT(gaps); i++)
        omo_stroke_limb(b, gaps[i], COUNT(gaps[i]), OMO_INK, 0.8);
    for (size_t i = 0; i < COUNT(knuckles); i++)
        omo_stroke_limb(b, knuckles[i], COUNT(knuckles[i]), OMO_PALE, 0.8);
    omo_stroke_limb(b, thumb, COUNT(thumb), OMO_PALE, 0.9);
}

static void draw_arm(struct omo_body *b)
{
    static const struct omo_limb_knot deltoid[] = {{0, 0.22, 28, 0},
                                                   {0, 0.34, 14, 0},
                                                   {0, 0.46, 1, 0},
                                                   {0, 0.36, -14, 0},
                                                   {0, 0.25, -25, 0}};
    static const struct omo_limb_knot triceps[] = {{0, 0.48, -2, 0},
                                                   {0, 0.66, -6, 0},
                                                   {0, 0.86, -10, 0}};
    static const struct omo_limb_knot elbow[] = {{0, 0.93, -16, 0},
                                                 {0, 0.99, -18, 0},
                                                 {1, 0.05, -15, 0}};
    static const struct omo_limb_knot forearm[] = {{0, 0.92, 4, 0},
                                                   {1, 0.10, 6, 0},
                                                   {1, 0.34, 4, 0},
                                                   {1, 0.60, 1, 0}};
    static const struct omo_limb_knot cuff[] = {{1, 0.89, 17, 0},
                                                {1, 0.895, 0, 0},
                                                {1, 0.89, -17, 0}};
    static const struct omo_limb_knot folds[3][3] = {
        {{0, 0.93, 24, 0}, {0, 0.97, 10, 0}, {0, 0.96, -2, 0}},
        {{1, 0.07, 24, 0}, {1, 0.05, 8, 0}, {1, 0.04, -4, 0}},
        {{0, 0.86, -26, 0}, {0, 0.90, -14, 0}, {0, 0.90, -5, 0}}};
    struct omo_knot knot[KNOTS_MAX];

    size_t count = omo_limb_knots(b, bare_arm, COUNT(bare_arm), knot);
    omo_pen_body(b->pen, knot, count);
    omo_pen_fill(b->pen, knot, count, OMO_PAPER, 0);
    if (!b->settings->modest) {
        omo_stroke_limb(b, deltoid, COUNT(deltoid), OMO_PALE, 0.9);
        omo_stroke_limb(b, triceps, COUNT(triceps), OMO_PALE, 0.8);
        omo_stroke_limb(b, forearm, COUNT(forearm), OMO_PALE, 0.8);
        omo_stroke_limb(b, elbow, COUNT(elbow), OMO_PALE, 0.9);
        omo_pen_stroke(b->pen, knot, count, OMO_INK, 2);
        draw_hand_lines(b);
        return;
    }
    omo_pen_stroke(b->pen, knot, count, OMO_INK, 2);
    draw_hand_lines(b);
    count = omo_limb_knots(b, sleeve, COUNT(sleeve), knot);
    omo_pen_fill(b->pen, knot, count, OMO_CLOTH, 0);
    omo_pen_stroke(b->pen, knot, count, OMO_INK, 2);
    omo_stroke_limb(b, cuff, COUNT(cuff), OMO_PALE, 0.9);
    for (size_t i = 0; i < COUNT(folds); i++)
        omo_stroke_limb(b, folds[i], COUNT(folds[i]), OMO_PALE, 0.9);
}

/* ---- places in the side view ---- */

static void set_side_spots(const struct omo_body *b, struct omo_spots *spots)
{
    const struct omo_limb *upper = &b->limb[0], *fore = &b->limb[1];
    struct omo_spot *marker = spots->marker, *bony = spots->bony;
    struct omo_point edge = omo_limb_at(upper, 0.0, 0);

    /* Two finger-widths, 35 mm of 1.7 m, below the bony edge. */
    marker[OMO_SHOULDER] =
        omo_spot_at((struct omo_point){edge.x + 3, edge.y - 22}, -1, 10);
    marker[OMO_ELBOW] = omo_spot_at(omo_limb_at(upper, 0.985, 0), 1, 40);
    marker[OMO_WRIST] = omo_spot_at(omo_limb_at(fore, 0.96, 0), 1, 20);
    marker[OMO_HIP] = omo_spot_at(omo_body_at(b, -4, 542), -1, 0);
    marker[OMO_CHEST] = omo_spot_at(omo_body_at(b, -4, 716), -1, 10);
    if (b->settings->acromion)
        marker[OMO_ACROMION] =
            omo_spot_at((struct omo_point){edge.x + 2, edge.y + 6}, -1, -10);
    bony[OMO_BONY_ACROMION] = omo_spot_at(edge, 1, 35);
    bony[OMO_BONY_EPICONDYLE] = omo_spot_at(omo_limb_at(upper, 0.985, 0), 1, 15);
    bony[OMO_BONY_STYLOID] = omo_spot_at(omo_limb_at(fore, 0.95, 12), 1, 45);
    bony[OMO_BONY_HIP_BONE] = omo_spot_at(omo_body_at(b, -4, 572), -1, 20);
    bony[OMO_BONY_SIDE_LINE] = omo_spot_at(omo_body_at(b, -4, 716), -1, -15);
    if (b->settings->bands) {
        omo_spot_band(&marker[OMO_SHOULDER], b, 0, 0.32, 31.5);
        omo_spot_band(&marker[OMO_ELBOW], b, 0, 1 - 12 / upper->length, 23.5);
        omo_spot_band(&marker[OMO_WRIST], b, 1, 0.95, 15.5);
    }
    spots->high_x = omo_limb_at(&b->limb[2], 1, 8).x;
}

static void draw_side_arm(struct omo_body *b)
{
    struct omo_point joint = {-8, omo_body_height(b->layout, 817)};
    b->limb[0] = omo_limb_make(joint, ARM_DEG, 1000 * b->layout->upper_arm, 1);
    b->limb[1] = omo_limb_make(omo_limb_at(&b->limb[0], 1, 0), FOREARM_DEG,
                               1000 * b->layout->forearm, 1);
    b->limb[2] = omo_limb_make(omo_limb_at(&b->limb[1], 1, 0), FOREARM_DEG - 4,
                               1000 * b->layout->hand, 1);
    draw_arm(b);
}

/* ---- along the arm: the upper arm points at the camera ---- */

/* The forearm straight ahead, its outer side up to the elbow's point towards the camera:
 * limb 1 forearm, 2 hand; across is positive upward. */
static const struct omo_limb_knot level_arm[] = {
    {1, -0.19, 0, 0},   {1, -0.16, 17, 0},   {1, -0.05, 25.5, 0},  {1, 0.10, 25.5, 0},
    {1, 0.28, 23.5, 0}, {1, 0.52, 20, 0},    {1, 0.78, 15, 0},     {1, 0.95, 13, 0},
    {2, 0.10, 13.5, 0}, {2, 0.30, 14, 0},    {2, 0.50, 12, 0},     {2, 0.70, 9.5, 0},
    {2, 0.90, 6.5, 0},  {2, 0.97, 2, 0},     {2, 0.91, -3, 0},     {2, 0.76, -5.5, 1},
    {2, 0.70, -8, 0},   {2, 0.62, -12, 0},   {2, 0.48, -12, 0},    {2, 0.30, -12.5, 0},
    {2, 0.10, -13, 0},  {1, 0.95, -13.5, 0}, {1, 0.74, -16.5, 0},  {1, 0.48, -22, 0},
    {1, 0.22, -25, 0},  {1, 0.05, -26, 0},   {1, -0.08, -22.5, 0}, {1, -0.16, -13, 0},
};
static const struct omo_limb_knot level_sleeve[] = {
    {1, -0.22, 0, 0},    {1, -0.18, 19, 0},  {1, -0.06, 28, 0},  {1, 0.10, 28.5, 0},
    {1, 0.30, 26.5, 0},  {1, 0.55, 23, 0},   {1, 0.80, 19, 0},   {1, 0.93, 17.5, 1},
    {1, 0.93, -17.5, 1}, {1, 0.74, -20, 0},  {1, 0.48, -25, 0},  {1, 0.22, -28, 0},
    {1, 0.04, -29, 0},   {1, -0.10, -25, 0}, {1, -0.19, -14, 0},
};

static void draw_level_arm(struct omo_body *b)
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
    static const struct omo_limb_knot finger[] = {{2, 0.46, -2, 0},
                                                  {2, 0.70, -3, 0},
                                                  {2, 0.76, -5.5, 0}};
    static const struct omo_limb_knot thumb[] = {{2, 0.20, 3, 0},
                                                 {2, 0.34, 5, 0},
                                                 {2, 0.50, 4, 0}};
    static const struct omo_limb_knot ulna[] = {{1, 0.02, -13, 0},
                                                {1, 0.30, -11, 0},
                                                {1, 0.62, -7, 0},
                                                {1, 0.88, -5, 0}};
    static const struct omo_limb_knot point[] = {{1, -0.02, 12, 0},
                                                 {1, -0.10, 6, 0},
                                                 {1, -0.11, -5, 0},
                                                 {1, -0.03, -12, 0}};
    static const struct omo_limb_knot cuff[] = {{1, 0.89, 16.5, 0},
                                                {1, 0.895, 0, 0},
                                                {1, 0.89, -16.5, 0}};
    struct omo_knot knot[KNOTS_MAX];
    const bool modest = b->settings->modest;
    uint32_t cloth = modest ? OMO_CLOTH : OMO_PAPER;

    struct omo_point elbow = {-4, omo_body_height(b->layout, 798)};
    b->limb[1] = omo_limb_make(elbow, 90, 1000 * b->layout->forearm, 1);
    b->limb[2] =
        omo_limb_make(omo_limb_at(&b->limb[1], 1, 0), 87, 1000 * b->layout->hand, 1);
    omo_fill_trunk(b, cap, COUNT(cap), cloth, 2);
    omo_fill_trunk(b, round_arm, COUNT(round_arm), cloth, 1.2);
    size_t count = omo_limb_knots(b, level_arm, COUNT(level_arm), knot);
    omo_pen_body(b->pen, knot, count);
    omo_pen_fill(b->pen, knot, count, OMO_PAPER, 2.2);
    omo_stroke_limb(b, finger, COUNT(finger), OMO_INK, 0.8);
    omo_stroke_limb(b, thumb, COUNT(thumb), OMO_PALE, 0.9);
    if (modest) {
        count = omo_limb_knots(b, level_sleeve, COUNT(level_sleeve), knot);
        omo_pen_fill(b->pen, knot, count, OMO_CLOTH, 2.2);
        omo_stroke_limb(b, cuff, COUNT(cuff), OMO_PALE, 0.9);
    } else {
        omo_stroke_limb(b, ulna, COUNT(ulna), OMO_PALE, 0.9);
    }
    omo_stroke_limb(b, point, COUNT(point), OMO_PALE, 1);
}

static void set_along_spots(const struct omo_body *b, struct omo_spots *spots)
{
    const struct omo_limb *fore = &b->limb[1];
    struct omo_point point = omo_limb_at(fore, -0.03, 0);
    struct omo_point bump = omo_limb_at(fore, 0.95, 0);
    spots->marker[OMO_ELBOW] = omo_spot_at(point, -1, 25);
    spots->marker[OMO_WRIST] = omo_spot_at(bump, 1, 60);
    spots->bony[OMO_BONY_OLECRANON] = omo_spot_at(point, -1, -45);
    spots->bony[OMO_BONY_STYLOID] = omo_spot_at(bump, 1, -60);
    if (b->settings->bands)
        omo_spot_band(&spots->marker[OMO_WRIST], b, 1, 0.95, 14);
    spots->high_x = omo_limb_at(&b->limb[2], 1, 0).x;
}

void omo_draw_side(struct omo_pen *pen, const struct omo_layout *layout,
                   const struct omo_placement_settings *settings, struct omo_spots *spots)
{
    struct omo_body b = {.pen = pen, .layout = layout, .settings = settings, .wide = 1};
    omo_side_trunk(&b);
    omo_side_head(&b);
    if (settings->view == OMO_VIEW_SIDE) {
        draw_side_arm(&b);
        set_side_spots(&b, spots);
    } else {
        draw_level_arm(&b);
        set_along_spots(&b, spots);
    }
    spots->low_x = settings->modest ? -96 : -80;
    spots->low_y = omo_body_height(layout, 330);
    spots->high_y = omo_body_height(layout, 1012);
}
