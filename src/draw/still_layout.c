#include "draw/still_layout.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "draw/directions.h"
#include "draw/labels.h"
#include "omogon/text.h"

/* Light on dark: 15 to 1, whatever the picture. */
static const uint32_t LIGHT = 0xffffffff, DARK = 0xff14181d, COVER = 0xff4a525c,
                      STRIP_QUIET = 0xffd5dae0;

static const char cautions[] = "A measuring aid. Not a medical device. Stop at pain.";

/** What a composition needs all along. */
struct sheet {
    const struct omo_still *still;
    struct omo_figure *figure;
    struct omo_labels labels;
    struct omo_directions directions;
    int factor;
    double unit; /**< 1 on a picture of 720 px */
};

/** A point of the photograph where it lies once enlarged. */
static struct omo_point enlarged(const struct sheet *s, struct omo_point p)
{
    return (struct omo_point){(p.x + 0.5) * s->factor - 0.5,
                              (p.y + 0.5) * s->factor - 0.5};
}

/* ---- over the photograph ---- */

static void cover(struct sheet *s, const struct omo_head_region *region)
{
    struct omo_point outline[OMO_HEAD_POINTS], sum = {0, 0};
    for (int i = 0; i < OMO_HEAD_POINTS; i++) {
        outline[i] = enlarged(s, region->outline[i]);
        sum.x += outline[i].x / OMO_HEAD_POINTS;
        sum.y += outline[i].y / OMO_HEAD_POINTS;
    }
    // The edge is of the same colour: no pixel at the rim mixes with what lies below.
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_SHAPE,
                                                 .points = outline,
                                                 .count = OMO_HEAD_POINTS,
                                                 .colour = COVER,
                                                 .edge = COVER,
                                                 .edge_width = 1});
    omo_labels_want(&s->labels, sum, 0, "covered");
}

static void line(struct sheet *s, struct omo_point from, struct omo_point to, double dash)
{
    struct omo_point points[2] = {from, to};
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                                 .points = points,
                                                 .count = 2,
                                                 .colour = LIGHT,
                                                 .width = 2.5 * s->unit,
                                                 .edge = DARK,
                                                 .edge_width = 1.5 * s->unit,
                                                 .dash = dash});
    omo_labels_avoid(&s->labels, from, to);
}

/** What the zero line is, in a word. */
static const char *zero_name(const struct sheet *s)
{
    const struct omo_measure_settings *settings = s->still->settings;
    switch (settings->movement->geometry) {
    case OMO_GEOMETRY_ROTATION:
        return "straight ahead";
    case OMO_GEOMETRY_FORESHORTENED:
        return "elbow";
    case OMO_GEOMETRY_PENDULUM:
        return "vertical";
    case OMO_GEOMETRY_ELEVATION:
        break;
    }
    switch (s->still->row->reference) {
    case OMO_REFERENCE_CHEST_HIP:
    case OMO_REFERENCE_HIP:
        return "trunk";
    case OMO_REFERENCE_SHIFT:
        return "trunk (estimated)";
    case OMO_REFERENCE_NONE:
        break;
    }
    return omo_upright(settings) ? "vertical" : "trunk (assumed)";
}

/** Trunk and arm, and the arc between them. */
static void angle(struct sheet *s)
{
    const struct omo_directions *d = &s->directions;
    if (!d->known)
        return;
    struct omo_point vertex = enlarged(s, d->vertex), end = enlarged(s, d->end);
    double length = omo_point_distance(vertex, end), zero_length = 1.3 * length;
    const struct omo_trace_row *row = s->still->row;
    bool elevation = s->still->settings->movement->geometry == OMO_GEOMETRY_ELEVATION;
    if (elevation && omo_seen_in(row, OMO_HIP)) {
        struct omo_point to =
            omo_point_sub(enlarged(s, omo_place_of(row, OMO_HIP)), vertex);
        zero_length = fmax(to.x * d->zero.x + to.y * d->zero.y, 0.5 * length);
    }
    struct omo_point foot = {vertex.x + zero_length * d->zero.x,
                             vertex.y + zero_length * d->zero.y};
    bool measured =
        row->reference == OMO_REFERENCE_HIP || row->reference == OMO_REFERENCE_CHEST_HIP;
    line(s, vertex, foot, measured ? 0 : 9 * s->unit);
    if (elevation && omo_seen_in(row, OMO_WRIST))
        line(s, end, enlarged(s, omo_place_of(row, OMO_WRIST)), 0);
    line(s, vertex, end, 0);
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_ARC,
                                                 .at = vertex,
                                                 .radius = 0.4 * length,
                                                 .from_deg = atan2(d->zero.y, d->zero.x) *
                                                             180 / 3.14159265358979323846,
                                                 .sweep_deg = d->sweep_deg,
                                                 .colour = LIGHT,
                                                 .width = 3.5 * s->unit,
                                                 .edge = DARK,
                                                 .edge_width = 1.5 * s->unit});
    omo_labels_avoid_ring(&s->labels, vertex, 0.4 * length);
    struct omo_point near = {foot.x - 0.12 * zero_length * d->zero.x,
                             foot.y - 0.12 * zero_length * d->zero.y};
    omo_labels_want(&s->labels, near, 5 * s->unit, zero_name(s));
}

static void ring(struct sheet *s, enum omo_role role)
{
    const struct omo_marker *m = &s->still->row->markers.role[role];
    if (!omo_seen_in(s->still->row, role))
        return;
    struct omo_point at = enlarged(s, omo_place_of(s->still->row, role));
    double size = isfinite(m->diameter_px) ? m->diameter_px * s->factor : 0;
    double radius = fmax(0.7 * size, 8 * s->unit);
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_RING,
                                                 .at = at,
                                                 .radius = radius,
                                                 .colour = LIGHT,
                                                 .width = 2.5 * s->unit,
                                                 .edge = DARK,
                                                 .edge_width = 1.5 * s->unit});
    char name[48];
    snprintf(name, sizeof name, "%s%s", omo_role_name(role),
             m->seen == OMO_PLACED_BY_HAND ? " (by hand)" : "");
    omo_labels_want(&s->labels, at, radius + 4 * s->unit, name);
}

static void names(struct sheet *s)
{
    omo_labels_place(&s->labels);
    for (int i = 0; i < s->labels.count; i++)
        omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                                     .at = s->labels.label[i].baseline,
                                                     .text = s->labels.label[i].text,
                                                     .size = s->labels.size,
                                                     .bold = 1,
                                                     .colour = LIGHT,
                                                     .edge = DARK,
                                                     .edge_width = 3 * s->unit});
}

/* ---- on the strip ---- */

/** A line of writing on the strip. */
static void write_text(struct sheet *s, double x, double y, double size, int bold,
                       uint32_t colour, const char *text)
{
    omo_figure_add(s->figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                                 .at = {x, y},
                                                 .text = text,
                                                 .size = size,
                                                 .bold = bold,
                                                 .colour = colour,
                                                 .edge = DARK,
                                                 .edge_width = s->unit});
}

/** Writes text in as many lines as its width asks for; returns how many. Without a figure
 *  (measure true) it only counts. */
static int wrap(struct sheet *s, bool measure, double x, double y, double size,
                double width, uint32_t colour, const char *text)
{
    size_t most = (size_t)fmax(width / (OMO_LETTER_EM * size), 8);
    int lines = 0;
    while (*text != '\0') {
        char piece[256];
        size_t length = strlen(text);
        if (length > most || length >= sizeof piece) {
            length = most < sizeof piece ? most : sizeof piece - 1;
            size_t cut = length;
            while (cut > 0 && text[cut] != ' ')
                cut--;
            length = cut > 0 ? cut : length;
            while (length > 1 && ((unsigned char)text[length] & 0xc0) == 0x80)
                length--; // never within a letter
        }
        snprintf(piece, sizeof piece, "%.*s", (int)length, text);
        if (!measure)
            write_text(s, x, y + lines * 1.35 * size, size, 0, colour, piece);
        lines++;
        text += length;
        text += strspn(text, " ");
    }
    return lines;
}

/** "118" and "degrees, good to 6"; the reported maximum where there is one. */
static void figures(const struct omo_still *still, char number[32], char rest[96])
{
    double max_deg = still->result->max_deg;
    if (!isfinite(max_deg))
        max_deg = still->row->angle_deg;
    omo_number_text(max_deg, 0, number, 32);
    rest[0] = '\0';
    if (number[0] == '\0') {
        omo_text_copy(rest, 96, "no angle in this frame");
        return;
    }
    omo_text_copy(rest, 96, "degrees");
    if (isfinite(still->result->max_deg) && isfinite(still->result->max_u95_deg)) {
        char good[32];
        // Rounded up: never better than it is.
        omo_number_text(ceil(still->result->max_u95_deg), 0, good, sizeof good);
        omo_text_add(rest, 96, ", good to %s", good);
    }
}

/** What the angle is measured against, as a sentence part. */
static const char *against(const struct omo_still *still)
{
    switch (still->settings->movement->geometry) {
    case OMO_GEOMETRY_ROTATION:
        return "forearm, as seen along the upper arm";
    case OMO_GEOMETRY_FORESHORTENED:
        return "forearm, out of the picture, by how far the wrist stands aside";
    case OMO_GEOMETRY_PENDULUM:
        return "against the vertical";
    case OMO_GEOMETRY_ELEVATION:
        break;
    }
    switch (still->row->reference) {
    case OMO_REFERENCE_CHEST_HIP:
        return "against the trunk, chest to hip";
    case OMO_REFERENCE_HIP:
        return "against the trunk, shoulder to hip";
    case OMO_REFERENCE_SHIFT:
        return "against the trunk, its lean estimated from the shoulder";
    case OMO_REFERENCE_NONE:
        break;
    }
    return omo_upright(still->settings)
               ? "against the vertical, the trunk was not seen"
               : "against a trunk taken as straight in the picture";
}

/** Fills the strip below the photograph, or only returns its height. */
static double strip(struct sheet *s, bool measure, double top, double width)
{
    double u = s->unit, left = 20 * u, inner = width - 40 * u, y = top + 92 * u;
    char number[32], rest[96], about[256] = "";
    figures(s->still, number, rest);
    omo_text_add(about, sizeof about, "%s%s%s",
                 s->still->caption != NULL ? s->still->caption : "",
                 s->still->caption != NULL && s->still->caption[0] ? "; " : "",
                 against(s->still));
    if (!measure) {
        // Mean widths of the bold letters; shrunk together where the picture is narrow.
        double number_em = 0.72 * (double)strlen(number),
               rest_em = 0.7 * (double)strlen(rest);
        double gap = number[0] ? 14 * u : 0;
        double fit = fmin(1, inner / (number_em * 96 * u + gap + rest_em * 40 * u));
        write_text(s, left, y, 96 * u * fit, 1, LIGHT, number);
        write_text(s, left + number_em * 96 * u * fit + gap * fit, y, 40 * u * fit, 1,
                   LIGHT, rest);
    }
    y += 46 * u;
    y += 1.35 * 24 * u * wrap(s, measure, left, y, 24 * u, inner, LIGHT, about);
    y += 1.35 * 21 * u * wrap(s, measure, left, y, 21 * u, inner, STRIP_QUIET, cautions);
    return y - 6 * u - top;
}

void omo_still_compose(const struct omo_still *still, int width, int height, int factor,
                       const struct omo_head_region *region, int region_count,
                       struct omo_still_layout *layout)
{
    layout->factor = factor;
    layout->width = width * factor;
    layout->photo_height = height * factor;
    struct sheet s = {.still = still, .factor = factor};
    s.unit = fmin(layout->width, layout->photo_height) / 720.0;
    s.directions = omo_directions_of(still->settings, still->row);
    omo_labels_init(&s.labels, layout->width, layout->photo_height, 24 * s.unit);
    layout->height = layout->photo_height + (int)ceil(strip(&s, true, 0, layout->width));
    s.figure = omo_figure_create(layout->width, layout->height);
    layout->figure = s.figure;

    for (int i = 0; i < region_count; i++)
        cover(&s, &region[i]);
    angle(&s);
    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        ring(&s, (enum omo_role)role);
    names(&s);

    double top = layout->photo_height - 0.5, right = layout->width, low = layout->height;
    struct omo_point band[4] = {{-1, top}, {right, top}, {right, low}, {-1, low}};
    omo_figure_add(s.figure, &(struct omo_mark){.kind = OMO_MARK_SHAPE,
                                                .points = band,
                                                .count = 4,
                                                .colour = DARK});
    strip(&s, false, top, layout->width);
}
