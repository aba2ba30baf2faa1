/* A standing body from the front and from behind, palms forward: arms and places. Numbers
 * are thousandths of stature, drawn by hand; +x is the measured side. */
#include "draw/placement_body.h"

/* ---- the arm ---- */

/* From the deltoid round the hand to the armpit. */
static const struct omo_limb_knot bare_arm[] = {
    {0, 0.03, 17, 0},    {0, 0.12, 26, 0},    {0, 0.25, 29.5, 0},   {0, 0.42, 25.5, 0},
    {0, 0.60, 23.5, 0},  {0, 0.80, 22, 0},    {0, 0.95, 22.5, 0},   {1, 0.08, 24.5, 0},
    {1, 0.22, 27, 0},    {1, 0.45, 23, 0},    {1, 0.75, 17.5, 0},   {1, 0.93, 16, 0},
    {2, 0.06, 17, 0},    {2, 0.15, 22, 0},    {2, 0.27, 32, 0},     {2, 0.40, 42, 0},
    {2, 0.55, 52, 0},    {2, 0.625, 54, 0},   {2, 0.65, 49, 0},     {2, 0.58, 41, 0},
    {2, 0.48, 33, 0},    {2, 0.43, 27, 0},    {2, 0.42, 24.5, 1},   {2, 0.60, 24.5, 0},
    {2, 0.85, 23, 0},    {2, 0.925, 18, 0},   {2, 0.87, 12.6, 1},   {2, 0.93, 11.5, 0},
    {2, 0.99, 7, 0},     {2, 0.92, 1.8, 1},   {2, 0.92, 0.5, 0},    {2, 0.96, -4.5, 0},
    {2, 0.88, -9.6, 1},  {2, 0.80, -11.5, 0}, {2, 0.825, -15.8, 0}, {2, 0.76, -20, 0},
    {2, 0.60, -22.5, 0}, {2, 0.42, -24, 0},   {2, 0.22, -22, 0},    {2, 0.04, -17, 0},
    {1, 0.92, -15.5, 0}, {1, 0.70, -18.5, 0}, {1, 0.42, -24, 0},    {1, 0.18, -25, 0},
    {0, 0.98, -24, 0},   {0, 0.88, -22, 0},   {0, 0.70, -23, 0},    {0, 0.50, -24.5, 0},
    {0, 0.36, -26, 0},   {0, 0.295, -28, 1},
};
/* A close-fitting sleeve: wider by a fold, the hand is bare. */
static const struct omo_limb_knot sleeve[] = {
    {0, 0.03, 18, 0},     {0, 0.12, 28, 0},  {0, 0.25, 32, 0},    {0, 0.42, 29, 0},
    {0, 0.62, 27, 0},     {0, 0.82, 26, 0},  {0, 0.97, 26.5, 0},  {1, 0.10, 28, 0},
    {1, 0.25, 29, 0},     {1, 0.50, 25, 0},  {1, 0.78, 21, 0},    {1, 0.93, 20, 1},
    {1, 0.935, -19.5, 1}, {1, 0.72, -22, 0}, {1, 0.42, -26.5, 0}, {1, 0.18, -28, 0},
    {0, 0.98, -27, 0},    {0, 0.85, -26, 0}, {0, 0.60, -28, 0},   {0, 0.42, -30, 0},
    {0, 0.33, -31, 1},
};

static void draw_fingers(struct omo_body *b)
{
    static const struct omo_limb_knot gaps[3][2] = {{{2, 0.56, 12, 0},
                                                     {2, 0.87, 12.6, 0}},
                                                    {{2, 0.56, 1, 0}, {2, 0.92, 1.8, 0}},
                                                    {{2, 0.57, -10, 0},
                                                     {2, 0.88, -9.6, 0}}};
    static const struct omo_limb_knot thenar[] = {{2, 0.42, 22, 0},
                                                  {2, 0.33, 12, 0},
                                                  {2, 0.20, 5, 0},
                                                  {2, 0.08, 3, 0}};
    static const struct omo_limb_knot palm[] = {{2, 0.47, 20, 0},
                                                {2, 0.44, 6, 0},
                                                {2, 0.50, -14, 0}};
    static const struct omo_limb_knot creases[2][3] = {
        {{1, 0.985, 11, 0}, {2, 0.005, 0, 0}, {1, 0.985, -11, 0}},
        {{1, 0.955, 9, 0}, {1, 0.965, 0, 0}, {1, 0.955, -9, 0}}};
    static const struct omo_limb_knot knuckles[4][3] = {
        {{2, 0.53, 19, 0}, {2, 0.515, 16, 0}, {2, 0.53, 13, 0}},
        {{2, 0.54, 8, 0}, {2, 0.525, 5, 0}, {2, 0.54, 2, 0}},
        {{2, 0.53, -3, 0}, {2, 0.515, -6, 0}, {2, 0.53, -9, 0}},
        {{2, 0.50, -13, 0}, {2, 0.485, -16, 0}, {2, 0.50, -19, 0}}};
    for (size_t i = 0; i < COUNT(gaps); i++)
        omo_stroke_limb(b, gaps[i], COUNT(gaps[i]), OMO_INK, 0.8);
    if (b->settings->from_behind) {
        for (size_t i = 0; i < COUNT(knuckles); i++)
            omo_stroke_limb(b, knuckles[i], COUNT(knuckles[i]), OMO_PALE, 0.8);
        return;
    }
    omo_stroke_limb(b, thenar, COUNT(thenar), OMO_PALE, 0.9);
    omo_stroke_limb(b, palm, COUNT(palm), OMO_PALE, 0.9);
    if (!b->settings->modest)
        for (size_t i = 0; i < COUNT(creases); i++)
            omo_stroke_limb(b, creases[i], COUNT(creases[i]), OMO_PALE, 0.9);
}

/** Where the elbow bends, and the muscles that tell front from back. */
static void draw_arm_lines(struct omo_body *b)
{
    static const struct omo_limb_knot crease[] = {{0, 0.985, 16, 0},
                                                  {1, 0.03, 2, 0},
                                                  {1, 0.005, -15, 0}};
    static const struct omo_limb_knot biceps[] = {{0, 0.42, -13, 0},
                                                  {0, 0.62, -15, 0},
                                                  {0, 0.84, -10, 0}};
    static const struct omo_limb_knot deltoid[] = {{0, 0.20, -13, 0},
                                                   {0, 0.34, 4, 0},
                                                   {0, 0.47, 17, 0}};
    static const struct omo_limb_knot forearm[] = {{1, 0.06, 7, 0},
                                                   {1, 0.25, 9, 0},
                                                   {1, 0.48, 15, 0}};
    static const struct omo_limb_knot point[] = {{0, 0.945, -9, 0},
                                                 {0, 0.985, -2, 0},
                                                 {1, 0.035, -6, 0},
                                                 {1, 0.03, -13, 0}};
    static const struct omo_limb_knot triceps[] = {{0, 0.40, -8, 0},
                                                   {0, 0.62, -2, 0},
                                                   {0, 0.86, -7, 0}};
    if (b->settings->from_behind) {
        omo_stroke_limb(b, point, COUNT(point), OMO_INK, 0.9);
        omo_stroke_limb(b, triceps, COUNT(triceps), OMO_PALE, 0.8);
        omo_stroke_limb(b, deltoid, COUNT(deltoid), OMO_PALE, 0.8);
        return;
    }
    omo_stroke_limb(b, crease, COUNT(crease), OMO_INK, 0.9);
    omo_stroke_limb(b, biceps, COUNT(biceps), OMO_PALE, 0.8);
    omo_stroke_limb(b, deltoid, COUNT(deltoid), OMO_PALE, 0.8);
    omo_stroke_limb(b, forearm, COUNT(forearm), OMO_PALE, 0.8);
}

/** Fills from the shoulder to the hand and strokes all but the seam with the trunk. */
static void draw_arm(struct omo_body *b)
{
    /* Neck to shoulder; goes on into the arm without a kink. */
    static const struct omo_knot slope[] = {{70, 829.5, 0}, {84, 827, 0}};
    static const struct omo_knot clothed_slope[] = {{70, 831, 0}, {84, 828, 0}};
    struct omo_knot knot[KNOTS_MAX];
    size_t count;
    bool modest = b->settings->modest;

    count = omo_trunk_knots(b, slope, COUNT(slope), knot);
    count += omo_limb_knots(b, bare_arm, COUNT(bare_arm), knot + count);
    omo_pen_body(b->pen, knot, count);
    count = omo_limb_knots(b, bare_arm, COUNT(bare_arm), knot);
    omo_pen_fill(b->pen, knot, count, OMO_PAPER, modest ? 1.8 : 0);
    draw_fingers(b);
    size_t lead = modest ? omo_trunk_knots(b, clothed_slope, COUNT(clothed_slope), knot)
                         : omo_trunk_knots(b, slope, COUNT(slope), knot);
    if (modest) {
        count = lead + omo_limb_knots(b, sleeve, COUNT(sleeve), knot + lead);
        omo_pen_fill(b->pen, knot + lead - 1, count - lead + 1, OMO_CLOTH, 0);
    } else {
        count = lead + omo_limb_knots(b, bare_arm, COUNT(bare_arm), knot + lead);
        draw_arm_lines(b);
    }
    omo_pen_stroke(b->pen, knot, count, OMO_INK, 2);
    if (modest) {
        static const struct omo_limb_knot folds[3][3] = {
            {{0, 0.93, -22, 0}, {0, 0.97, -8, 0}, {0, 0.96, 4, 0}},
            {{1, 0.04, 24, 0}, {1, 0.05, 10, 0}, {1, 0.02, 0, 0}},
            {{1, 0.89, 18, 0}, {1, 0.895, 0, 0}, {1, 0.89, -18, 0}}};
        for (size_t i = 0; i < COUNT(folds); i++)
            omo_stroke_limb(b, folds[i], COUNT(folds[i]), OMO_PALE, 0.9);
    }
}

/* ---- the places ---- */

/** Bony points are named on the other side, where no sticker is in the way. */
static struct omo_spot twin_spot(struct omo_point at, double lift)
{
    struct omo_spot spot = omo_spot_at(at, -1, lift);
    spot.named_at.x = -at.x;
    return spot;
}

static void set_spots(const struct omo_body *b, struct omo_spots *spots)
{
    const bool behind = b->settings->from_behind;
    const struct omo_limb *upper = &b->limb[0], *fore = &b->limb[1];
    struct omo_spot *marker = spots->marker, *bony = spots->bony;
    struct omo_point hip = behind ? omo_body_at(b, 44, 552) : omo_body_at(b, 70, 540);
    struct omo_point top = behind ? omo_body_at(b, 0, 832) : omo_body_at(b, 0, 813);

    marker[OMO_SHOULDER] = omo_spot_at(omo_limb_at(upper, 0.12, 2), 1, 10);
    /* The crease lies at the joint; 2 cm are 12 thousandths of 1.7 m. */
    marker[OMO_ELBOW] =
        omo_spot_at(omo_limb_at(upper, 1 - 12 / upper->length, -1), 1, 10);
    marker[OMO_WRIST] = omo_spot_at(omo_limb_at(fore, 0.97, 0), 1, 10);
    marker[OMO_HIP] = omo_spot_at(hip, 1, 28);
    marker[OMO_CHEST] = omo_spot_at(top, 1, 60);
    if (b->settings->acromion) {
        marker[OMO_ACROMION] = omo_spot_at(omo_limb_at(upper, 0.0, -6), 1, 25);
        marker[OMO_CHEST].lift = 90; /* its line passes above */
    }
    bony[OMO_BONY_ACROMION] = twin_spot(omo_limb_at(upper, 0.0, 4), 15);
    bony[OMO_BONY_EPICONDYLE] = twin_spot(omo_limb_at(upper, 0.97, 18), 15);
    bony[OMO_BONY_STYLOID] = twin_spot(omo_limb_at(fore, 0.96, 12), 10);
    bony[OMO_BONY_HIP_BONE] = twin_spot(hip, 28);
    if (behind) {
        bony[OMO_BONY_OLECRANON] = twin_spot(omo_limb_at(upper, 1.0, -5), -25);
        bony[OMO_BONY_NECK] = twin_spot(top, 60);
    } else {
        bony[OMO_BONY_NOTCH] = twin_spot(top, 60);
    }
    if (b->settings->bands) {
        omo_spot_band(&marker[OMO_SHOULDER], b, 0, 0.36, 27);
        omo_spot_band(&marker[OMO_ELBOW], b, 0, 1 - 12 / upper->length, 23.5);
        omo_spot_band(&marker[OMO_WRIST], b, 1, 0.95, 17);
    }
    struct omo_point finger = omo_limb_at(&b->limb[2], 0.6, 50);
    spots->high_x = finger.x;
    spots->low_x = -finger.x;
    spots->low_y = omo_body_height(b->layout, 330);
    spots->high_y = omo_body_height(b->layout, 1010);
}

void omo_draw_front(struct omo_pen *pen, const struct omo_layout *layout,
                    const struct omo_placement_settings *settings,
                    struct omo_spots *spots)
{
    struct omo_body b = {.pen = pen, .layout = layout, .settings = settings};
    b.wide = layout->half_shoulder_width / 0.129;
    /* The arm hangs a little off the side, the forearm a little more: its carrying
     * angle. */
    struct omo_point joint = {113 * b.wide, omo_body_height(layout, 815)};
    b.limb[0] = omo_limb_make(joint, 12, 1000 * layout->upper_arm, 1);
    b.limb[1] =
        omo_limb_make(omo_limb_at(&b.limb[0], 1, 0), 17, 1000 * layout->forearm, 1);
    b.limb[2] = omo_limb_make(omo_limb_at(&b.limb[1], 1, 0), 15, 1000 * layout->hand, 1);
    omo_front_trunk(&b);
    draw_arm(&b);
    pen->turn = -pen->turn;
    draw_arm(&b);
    pen->turn = -pen->turn;
    omo_front_trunk_lines(&b);
    omo_front_head(&b);
    set_spots(&b, spots);
}
