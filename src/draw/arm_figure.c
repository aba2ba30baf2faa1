#include "omogon/arm_figure.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "omogon/chart.h"
#include "omogon/text.h"
#include "omogon/words.h"

/** A place on the page and which way an angle turns there. */
struct stage {
    struct omo_figure *figure;
    const struct omo_chart_colours *colour;
    struct omo_point joint;
    double unit; /* length of the upper arm, px */
    double turn; /* +1: a positive angle goes to picture right */
    bool up;     /* zero points up (a forearm of someone lying) instead of down */
};

static bool is_rotation(const char *movement)
{
    return strstr(movement, "rotation") != NULL;
}

static bool is_front(const char *movement)
{
    return !strcmp(movement, "abduction") || !strcmp(movement, "adduction") ||
           !strcmp(movement, "scaption");
}

/** A point `units` away from the joint, at an angle of the movement. */
static struct omo_point at_angle(const struct stage *s, double deg, double units)
{
    double angle = deg * G_PI / 180;
    double down = s->up ? -1 : 1;
    return (struct omo_point){s->joint.x + s->turn * sin(angle) * units * s->unit,
                              s->joint.y + down * cos(angle) * units * s->unit};
}

static void line(const struct stage *s, struct omo_point from, struct omo_point to,
                 double width, double dash, uint32_t colour)
{
    struct omo_point points[] = {from, to};
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                                 .points = points,
                                                 .count = 2,
                                                 .width = width * s->unit,
                                                 .dash = dash * s->unit,
                                                 .colour = colour});
}

/** The arc from zero to the angle, as a line of short pieces. */
static void arc(const struct stage *s, double deg)
{
    struct omo_point points[33];
    for (int i = 0; i <= 32; i++)
        points[i] = at_angle(s, deg * i / 32, 0.55);
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                                 .points = points,
                                                 .count = 33,
                                                 .width = 0.02 * s->unit,
                                                 .colour = s->colour->quiet});
}

/** Head and trunk; from the front with both shoulders. */
static void body(const struct stage *s, bool front)
{
    double side = front ? s->turn * 0.72 : 0; /* the spine lies beside this joint */
    struct omo_point neck = {s->joint.x - side * s->unit, s->joint.y - 0.18 * s->unit};
    struct omo_point hips = {neck.x, s->joint.y + 1.6 * s->unit};
    struct omo_point head = {neck.x, neck.y - 0.5 * s->unit};
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_RING,
                                                 .at = head,
                                                 .radius = 0.34 * s->unit,
                                                 .width = 0.03 * s->unit,
                                                 .colour = s->colour->quiet});
    line(s, neck, hips, 0.03, 0, s->colour->quiet);
    if (!front)
        return;
    struct omo_point other = {neck.x - side * s->unit, s->joint.y};
    line(s, s->joint, other, 0.03, 0, s->colour->quiet);
    line(s, other, (struct omo_point){other.x, other.y + 1.8 * s->unit}, 0.03, 0,
         s->colour->quiet);
}

struct omo_figure *omo_arm_figure(const struct omo_arm_drawing *d)
{
    bool rotation = is_rotation(d->movement), front = is_front(d->movement);
    struct stage s = {.figure = omo_figure_create(d->width, d->height),
                      .colour = omo_chart_colours(false),
                      .unit = fmin(d->width / 5.6, d->height / 4.6),
                      .up = rotation};
    if (!s.figure)
        return NULL;
    /* From in front a right arm is at picture left; from the side the person faces right
       with a right arm. An extension goes backward, an adduction across the body. */
    bool right = d->side == OMO_RIGHT;
    s.turn = (front ? !right : right) ? 1 : -1;
    if (!strcmp(d->movement, "extension") || !strcmp(d->movement, "adduction"))
        s.turn = -s.turn;
    s.joint = (struct omo_point){d->width / 2, d->height * (rotation ? 0.78 : 0.52)};
    omo_figure_add(s.figure,
                   &(struct omo_mark){
                       .kind = OMO_MARK_SHAPE,
                       .points = (struct omo_point[]){{-0.5, -0.5},
                                                      {d->width - 0.5, -0.5},
                                                      {d->width - 0.5, d->height - 0.5},
                                                      {-0.5, d->height - 0.5}},
                       .count = 4,
                       .colour = s.colour->ground});
    if (!rotation)
        body(&s, front);
    line(&s, s.joint, at_angle(&s, 0, rotation ? 2 : 1.8), 0.02, 0.1, s.colour->quiet);
    if (isfinite(d->before_hike_deg) && d->before_hike_deg < d->deg - 0.5)
        line(&s, s.joint, at_angle(&s, d->before_hike_deg, 1.8), 0.05, 0.16,
             s.colour->hike);
    arc(&s, d->deg);
    line(&s, s.joint, at_angle(&s, d->deg, 1.8), 0.09, 0, s.colour->mean);
    char text[64];
    omo_number_text(d->deg, 0, text, 32);
    omo_text_add(text, sizeof text, "\u00b0");
    double size = fmin(d->width / 11, d->height / 9);
    omo_figure_add(s.figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                                .at = {d->width - size * 0.4,
                                                       d->height - size * 0.5},
                                                .text = text,
                                                .size = size,
                                                .anchor = OMO_ANCHOR_END,
                                                .bold = 1,
                                                .colour = s.colour->text});
    omo_figure_add(s.figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                                .at = {size * 0.3, size * 0.8},
                                                .text = d->what,
                                                .size = size * 0.62,
                                                .colour = s.colour->text});
    return s.figure;
}

char *omo_arm_words(const struct omo_arm_drawing *d)
{
    char deg[32], before[32];
    omo_number_text(d->deg, 0, deg, sizeof deg);
    omo_number_text(d->before_hike_deg, 0, before, sizeof before);
    if (before[0])
        return g_strdup_printf(omo_word("%s: the arm at %s degrees; dashed, %s degrees, "
                                        "before the shoulder lifts."),
                               d->what, deg, before);
    return g_strdup_printf(omo_word("%s: the arm at %s degrees."), d->what, deg);
}
