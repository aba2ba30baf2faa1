/* A standing body from the front and from behind, palms forward. Numbers are thousandths
 * of stature, drawn by hand; +x is the measured side. */
#include <glib.h>
#include <math.h>
#include <string.h>

#include "draw/placement_parts.h"

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

/** A knot on a limb: 0 upper arm, 1 forearm, 2 hand. */
struct limb_knot {
    int limb;
    double along, across;
    bool corner;
};

struct front {
    struct omo_pen *pen;
    const struct omo_layout *layout;
    const struct omo_placement_settings *settings;
    struct omo_limb limb[3];
    double wide; /**< of the trunk against the drawn one */
};

#define KNOTS_MAX 96

static size_t limb_knots(const struct front *f, const struct limb_knot *from,
                         size_t count, struct omo_knot *to)
{
    for (size_t i = 0; i < count; i++) {
        struct omo_point p =
            omo_limb_at(&f->limb[from[i].limb], from[i].along, from[i].across);
        to[i] = (struct omo_knot){p.x, p.y, from[i].corner};
    }
    return count;
}

/** Trunk knots: heights and widths moved to the layout's. */
static size_t trunk_knots(const struct front *f, const struct omo_knot *from,
                          size_t count, struct omo_knot *to)
{
    for (size_t i = 0; i < count; i++)
        to[i] = (struct omo_knot){from[i].x * f->wide,
                                  omo_body_height(f->layout, from[i].y), from[i].corner};
    return count;
}

/** The same on both sides of the middle, as one closed curve: down on +x, up on -x. */
static size_t both_sides(struct omo_knot *knot, size_t count)
{
    size_t all = count;
    for (size_t i = count; i-- > 0;)
        if (fabs(knot[i].x) > 1e-9)
            knot[all++] = (struct omo_knot){-knot[i].x, knot[i].y, knot[i].corner};
    return all;
}

/* ---- the arm ---- */

/* From the deltoid round the hand to the armpit. */
static const struct limb_knot bare_arm[] = {
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
static const struct limb_knot sleeve[] = {
    {0, 0.03, 18, 0},     {0, 0.12, 28, 0},  {0, 0.25, 32, 0},    {0, 0.42, 29, 0},
    {0, 0.62, 27, 0},     {0, 0.82, 26, 0},  {0, 0.97, 26.5, 0},  {1, 0.10, 28, 0},
    {1, 0.25, 29, 0},     {1, 0.50, 25, 0},  {1, 0.78, 21, 0},    {1, 0.93, 20, 1},
    {1, 0.935, -19.5, 1}, {1, 0.72, -22, 0}, {1, 0.42, -26.5, 0}, {1, 0.18, -28, 0},
    {0, 0.98, -27, 0},    {0, 0.85, -26, 0}, {0, 0.60, -28, 0},   {0, 0.42, -30, 0},
    {0, 0.33, -31, 1},
};

static void stroke_limb(struct front *f, const struct limb_knot *from, size_t count,
                        uint32_t colour, double weight)
{
    struct omo_knot knot[KNOTS_MAX];
    limb_knots(f, from, count, knot);
    omo_pen_stroke(f->pen, knot, count, colour, weight);
}

static void draw_fingers(struct front *f)
{
    static const struct limb_knot gaps[3][2] = {{{2, 0.56, 12, 0}, {2, 0.87, 12.6, 0}},
                                                {{2, 0.56, 1, 0}, {2, 0.92, 1.8, 0}},
                                                {{2, 0.57, -10, 0}, {2, 0.88, -9.6, 0}}};
    static const struct limb_knot thenar[] = {{2, 0.42, 22, 0},
                                              {2, 0.33, 12, 0},
                                              {2, 0.20, 5, 0},
                                              {2, 0.08, 3, 0}};
    static const struct limb_knot palm[] = {{2, 0.47, 20, 0},
                                            {2, 0.44, 6, 0},
                                            {2, 0.50, -14, 0}};
    static const struct limb_knot creases[2][3] = {
        {{1, 0.985, 11, 0}, {2, 0.005, 0, 0}, {1, 0.985, -11, 0}},
        {{1, 0.955, 9, 0}, {1, 0.965, 0, 0}, {1, 0.955, -9, 0}}};
    static const struct limb_knot knuckles[4][3] = {
        {{2, 0.53, 19, 0}, {2, 0.515, 16, 0}, {2, 0.53, 13, 0}},
        {{2, 0.54, 8, 0}, {2, 0.525, 5, 0}, {2, 0.54, 2, 0}},
        {{2, 0.53, -3, 0}, {2, 0.515, -6, 0}, {2, 0.53, -9, 0}},
        {{2, 0.50, -13, 0}, {2, 0.485, -16, 0}, {2, 0.50, -19, 0}}};
    for (size_t i = 0; i < COUNT(gaps); i++)
        stroke_limb(f, gaps[i], COUNT(gaps[i]), OMO_INK, 0.8);
    if (f->settings->from_behind) {
        for (size_t i = 0; i < COUNT(knuckles); i++)
            stroke_limb(f, knuckles[i], COUNT(knuckles[i]), OMO_PALE, 0.8);
        return;
    }
    stroke_limb(f, thenar, COUNT(thenar), OMO_PALE, 0.9);
    stroke_limb(f, palm, COUNT(palm), OMO_PALE, 0.9);
    if (!f->settings->modest)
        for (size_t i = 0; i < COUNT(creases); i++)
            stroke_limb(f, creases[i], COUNT(creases[i]), OMO_PALE, 0.9);
}

/** Where the elbow bends, and the muscles that tell front from back. */
static void draw_arm_lines(struct front *f)
{
    static const struct limb_knot crease[] = {{0, 0.985, 16, 0},
                                              {1, 0.03, 2, 0},
                                              {1, 0.005, -15, 0}};
    static const struct limb_knot biceps[] = {{0, 0.42, -13, 0},
                                              {0, 0.62, -15, 0},
                                              {0, 0.84, -10, 0}};
    static const struct limb_knot deltoid[] = {{0, 0.20, -13, 0},
                                               {0, 0.34, 4, 0},
                                               {0, 0.47, 17, 0}};
    static const struct limb_knot forearm[] = {{1, 0.06, 7, 0},
                                               {1, 0.25, 9, 0},
                                               {1, 0.48, 15, 0}};
    static const struct limb_knot point[] = {{0, 0.945, -9, 0},
                                             {0, 0.985, -2, 0},
                                             {1, 0.035, -6, 0},
                                             {1, 0.03, -13, 0}};
    static const struct limb_knot triceps[] = {{0, 0.40, -8, 0},
                                               {0, 0.62, -2, 0},
                                               {0, 0.86, -7, 0}};
    if (f->settings->from_behind) {
        stroke_limb(f, point, COUNT(point), OMO_INK, 0.9);
        stroke_limb(f, triceps, COUNT(triceps), OMO_PALE, 0.8);
        stroke_limb(f, deltoid, COUNT(deltoid), OMO_PALE, 0.8);
        return;
    }
    stroke_limb(f, crease, COUNT(crease), OMO_INK, 0.9);
    stroke_limb(f, biceps, COUNT(biceps), OMO_PALE, 0.8);
    stroke_limb(f, deltoid, COUNT(deltoid), OMO_PALE, 0.8);
    stroke_limb(f, forearm, COUNT(forearm), OMO_PALE, 0.8);
}

/** Fills from the shoulder to the hand and strokes all but the seam with the trunk. */
static void draw_arm(struct front *f)
{
    /* Neck to shoulder; goes on into the arm without a kink. */
    static const struct omo_knot slope[] = {{70, 829.5, 0}, {84, 827, 0}};
    static const struct omo_knot clothed_slope[] = {{70, 831, 0}, {84, 828, 0}};
    struct omo_knot knot[KNOTS_MAX];
    size_t count;
    bool modest = f->settings->modest;

    count = trunk_knots(f, slope, COUNT(slope), knot);
    count += limb_knots(f, bare_arm, COUNT(bare_arm), knot + count);
    omo_pen_body(f->pen, knot, count);
    count = limb_knots(f, bare_arm, COUNT(bare_arm), knot);
    omo_pen_fill(f->pen, knot, count, OMO_PAPER, modest ? 1.8 : 0);
    draw_fingers(f);
    size_t lead = modest ? trunk_knots(f, clothed_slope, COUNT(clothed_slope), knot)
                         : trunk_knots(f, slope, COUNT(slope), knot);
    if (modest) {
        count = lead + limb_knots(f, sleeve, COUNT(sleeve), knot + lead);
        omo_pen_fill(f->pen, knot + lead - 1, count - lead + 1, OMO_CLOTH, 0);
    } else {
        count = lead + limb_knots(f, bare_arm, COUNT(bare_arm), knot + lead);
        draw_arm_lines(f);
    }
    omo_pen_stroke(f->pen, knot, count, OMO_INK, 2);
    if (modest) {
        static const struct limb_knot folds[3][3] = {
            {{0, 0.93, -22, 0}, {0, 0.97, -8, 0}, {0, 0.96, 4, 0}},
            {{1, 0.04, 24, 0}, {1, 0.05, 10, 0}, {1, 0.02, 0, 0}},
            {{1, 0.89, 18, 0}, {1, 0.895, 0, 0}, {1, 0.89, -18, 0}}};
        for (size_t i = 0; i < COUNT(folds); i++)
            stroke_limb(f, folds[i], COUNT(folds[i]), OMO_PALE, 0.9);
    }
}

/* ---- the trunk ---- */

static void mirrored_stroke(struct front *f, const struct omo_knot *from, size_t count,
                            uint32_t colour, double weight)
{
    struct omo_knot knot[KNOTS_MAX];
    trunk_knots(f, from, count, knot);
    omo_pen_stroke(f->pen, knot, count, colour, weight);
    for (size_t i = 0; i < count; i++)
        knot[i].x = -knot[i].x;
    omo_pen_stroke(f->pen, knot, count, colour, weight);
}

static void mirrored_fill(struct front *f, const struct omo_knot *from, size_t count,
                          uint32_t colour, double weight)
{
    struct omo_knot knot[KNOTS_MAX];
    size_t all = both_sides(knot, trunk_knots(f, from, count, knot));
    omo_pen_fill(f->pen, knot, all, colour, weight);
}

/** Skin from the neck to the thighs, and what a summer's day covers. */
static void draw_trunk(struct front *f)
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

    size_t all = both_sides(knot, trunk_knots(f, body, COUNT(body), knot));
    omo_pen_body(f->pen, knot, all);
    omo_pen_fill(f->pen, knot, all, OMO_PAPER, 2);
    mirrored_fill(f, shorts, COUNT(shorts), OMO_DARK, 2);
    mirrored_stroke(f, leg_hem, COUNT(leg_hem), OMO_PALE, 0.9);
    mirrored_stroke(f, fold, COUNT(fold), OMO_PALE, 0.9);
    if (f->settings->from_behind)
        mirrored_fill(f, top_behind, COUNT(top_behind), OMO_CLOTH, 2);
    else
        mirrored_fill(f, top_front, COUNT(top_front), OMO_CLOTH, 2);
    mirrored_stroke(f, hem, COUNT(hem), OMO_PALE, 0.9);
}

/** Collar bones and breastbone, or shoulder blades and spine. */
static void draw_trunk_lines(struct front *f)
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
    bool modest = f->settings->modest;

    if (!modest)
        mirrored_stroke(f, armpit, COUNT(armpit), OMO_INK, 1.2);
    if (f->settings->from_behind) {
        mirrored_stroke(f, blade, COUNT(blade), OMO_PALE, 1);
        if (!modest) {
            mirrored_stroke(f, blade_spine, COUNT(blade_spine), OMO_PALE, 1);
            mirrored_stroke(f, nape, COUNT(nape), OMO_PALE, 0.9);
            struct omo_knot knot[KNOTS_MAX];
            trunk_knots(f, seat, COUNT(seat), knot);
            omo_pen_stroke(f->pen, knot, COUNT(seat), OMO_PALE, 1);
        }
        struct omo_knot knot[KNOTS_MAX];
        trunk_knots(f, spine, COUNT(spine), knot);
        omo_pen_dashes(f->pen, knot, COUNT(spine), OMO_PALE, 0.9);
        return;
    }
    if (modest)
        return;
    mirrored_stroke(f, collar_bone, COUNT(collar_bone), OMO_PALE, 1.1);
    mirrored_stroke(f, neck_muscle, COUNT(neck_muscle), OMO_PALE, 1);
    struct omo_knot knot[KNOTS_MAX];
    trunk_knots(f, notch, COUNT(notch), knot);
    omo_pen_stroke(f->pen, knot, COUNT(notch), OMO_INK, 1);
}

/** A long loose garment over everything but head and hands. */
static void draw_garment(struct front *f)
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

    size_t all = both_sides(knot, trunk_knots(f, body, COUNT(body), knot));
    omo_pen_body(f->pen, knot, all);
    omo_pen_fill(f->pen, knot, all, OMO_CLOTH, 2);
    for (size_t i = 0; i < COUNT(folds); i++)
        mirrored_stroke(f, folds[i], COUNT(folds[i]), OMO_PALE, 0.9);
    if (!f->settings->from_behind) {
        trunk_knots(f, front, COUNT(front), knot);
        omo_pen_stroke(f->pen, knot, COUNT(front), OMO_PALE, 1);
    }
}

/* ---- the head, without a face ---- */

static void draw_head(struct front *f)
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
    const bool behind = f->settings->from_behind;

    size_t all = both_sides(knot, trunk_knots(f, skull, COUNT(skull), knot));
    omo_pen_body(f->pen, knot, all);
    if (f->settings->modest) {
        mirrored_fill(f, scarf, COUNT(scarf), OMO_DARK, 2);
        if (!behind)
            mirrored_fill(f, opening, COUNT(opening), OMO_PAPER, 1.6);
        const struct omo_knot *over = behind ? drape_behind : drape;
        trunk_knots(f, over, COUNT(drape), knot);
        omo_pen_stroke(f->pen, knot, COUNT(drape), OMO_INK, 1);
        trunk_knots(f, drape_below, COUNT(drape_below), knot);
        omo_pen_stroke(f->pen, knot, COUNT(drape_below), OMO_PALE, 1);
        return;
    }
    for (int side = 1; side >= -1; side -= 2) {
        trunk_knots(f, ear, COUNT(ear), knot);
        for (size_t i = 0; i < COUNT(ear); i++)
            knot[i].x *= side;
        omo_pen_fill(f->pen, knot, COUNT(ear), OMO_PAPER, 1.6);
    }
    mirrored_fill(f, skull, COUNT(skull), OMO_PAPER, 2);
    const struct omo_knot *hair = behind ? hair_behind : hair_front;
    size_t count = behind ? COUNT(hair_behind) : COUNT(hair_front);
    mirrored_fill(f, hair, count, OMO_DARK, 1.6);
    all = both_sides(knot, trunk_knots(f, hair, count, knot));
    omo_pen_hatch(f->pen, knot, all, 5.5, f->pen->turn > 0 ? 65 : 115, OMO_PALE, 0.9);
}

/* ---- the places ---- */

/** Bony points are named on the other side, where no sticker is in the way. */
static struct omo_spot twin_spot(struct omo_point at, double lift)
{
    return (struct omo_spot){true, at, {-at.x, at.y}, -1, lift};
}

static struct omo_spot spot(struct omo_point at, double lift)
{
    return (struct omo_spot){true, at, at, 1, lift};
}

static struct omo_point on_trunk(const struct front *f, double x, double y)
{
    return (struct omo_point){x * f->wide, omo_body_height(f->layout, y)};
}

static void set_spots(const struct front *f, struct omo_spots *spots)
{
    const bool behind = f->settings->from_behind;
    const struct omo_limb *upper = &f->limb[0], *fore = &f->limb[1];
    struct omo_spot *marker = spots->marker, *bony = spots->bony;
    struct omo_point hip = behind ? on_trunk(f, 44, 552) : on_trunk(f, 70, 540);
    struct omo_point top = behind ? on_trunk(f, 0, 832) : on_trunk(f, 0, 813);

    marker[OMO_SHOULDER] = spot(omo_limb_at(upper, 0.12, 2), 10);
    /* The crease lies at the joint; 2 cm are 12 thousandths of 1.7 m. */
    marker[OMO_ELBOW] = spot(omo_limb_at(upper, 1 - 12 / upper->length, -1), 10);
    marker[OMO_WRIST] = spot(omo_limb_at(fore, 0.97, 0), 10);
    marker[OMO_HIP] = spot(hip, 28);
    marker[OMO_CHEST] = spot(top, 60);
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
    struct omo_point finger = omo_limb_at(&f->limb[2], 0.6, 50);
    spots->high_x = finger.x;
    spots->low_x = -finger.x;
    spots->low_y = omo_body_height(f->layout, 330);
    spots->high_y = omo_body_height(f->layout, 1010);
}

void omo_draw_front(struct omo_pen *pen, const struct omo_layout *layout,
                    const struct omo_placement_settings *settings,
                    struct omo_spots *spots)
{
    struct front f = {.pen = pen, .layout = layout, .settings = settings};
    f.wide = layout->half_shoulder_width / 0.129;
    /* The arm hangs a little off the side, the forearm a little more: its carrying
     * angle. */
    struct omo_point joint = {113 * f.wide, omo_body_height(layout, 815)};
    f.limb[0] = omo_limb_make(joint, 12, 1000 * layout->upper_arm, 1);
    f.limb[1] =
        omo_limb_make(omo_limb_at(&f.limb[0], 1, 0), 17, 1000 * layout->forearm, 1);
    f.limb[2] = omo_limb_make(omo_limb_at(&f.limb[1], 1, 0), 15, 1000 * layout->hand, 1);
    if (settings->modest)
        draw_garment(&f);
    else
        draw_trunk(&f);
    draw_arm(&f);
    pen->turn = -pen->turn;
    draw_arm(&f);
    pen->turn = -pen->turn;
    draw_trunk_lines(&f);
    draw_head(&f);
    set_spots(&f, spots);
}
