#include "draw/labels.h"

#include <math.h>
#include <string.h>

#include "omogon/text.h"

struct box {
    double left, top, right, bottom;
};

void omo_labels_init(struct omo_labels *labels, double width, double height, double size)
{
    *labels = (struct omo_labels){.width = width, .height = height, .size = size};
}

static void avoid_point(struct omo_labels *labels, struct omo_point p)
{
    if (labels->avoid_count < OMO_AVOID_MAX)
        labels->avoid[labels->avoid_count++] = p;
}

void omo_labels_avoid(struct omo_labels *labels, struct omo_point from,
                      struct omo_point to)
{
    const int steps = 24;
    for (int i = 0; i <= steps; i++)
        avoid_point(labels, (struct omo_point){from.x + (to.x - from.x) * i / steps,
                                               from.y + (to.y - from.y) * i / steps});
}

void omo_labels_avoid_ring(struct omo_labels *labels, struct omo_point at, double radius)
{
    const int steps = 24;
    for (int i = 0; i < steps; i++) {
        double turn = 2 * 3.14159265358979323846 * i / steps;
        avoid_point(labels, (struct omo_point){at.x + radius * cos(turn),
                                               at.y + radius * sin(turn)});
    }
}

void omo_labels_want(struct omo_labels *labels, struct omo_point at, double gap,
                     const char *text)
{
    if (labels->count == OMO_LABEL_MAX)
        return;
    struct omo_label *label = &labels->label[labels->count++];
    label->anchor = at;
    label->gap = gap;
    omo_text_copy(label->text, sizeof label->text, text);
}

static struct box box_of(const struct omo_labels *labels, const struct omo_label *label)
{
    double width = (double)strlen(label->text) * OMO_LETTER_EM * labels->size;
    return (struct box){label->baseline.x, label->baseline.y - 0.8 * labels->size,
                        label->baseline.x + width,
                        label->baseline.y + 0.25 * labels->size};
}

static double overlap(double a_low, double a_high, double b_low, double b_high)
{
    return fmax(0, fmin(a_high, b_high) - fmax(a_low, b_low));
}

/** How much a name would be in the way where it is: 0 is free. */
static double cost(const struct omo_labels *labels, int index)
{
    struct box own = box_of(labels, &labels->label[index]);
    double inside = overlap(own.left, own.right, 0, labels->width) *
                    overlap(own.top, own.bottom, 0, labels->height);
    double area = (own.right - own.left) * (own.bottom - own.top);
    double sum = 20 * (1 - inside / area);
    for (int i = 0; i < labels->avoid_count; i++) {
        struct omo_point p = labels->avoid[i];
        sum += p.x > own.left && p.x < own.right && p.y > own.top && p.y < own.bottom;
    }
    for (int i = 0; i < labels->count; i++) {
        const struct omo_label *other = &labels->label[i];
        double reach = other->gap;
        if (i == index)
            continue;
        // The thing itself, and its name once that has a place.
        sum += overlap(own.left, own.right, other->anchor.x - reach,
                       other->anchor.x + reach) *
               overlap(own.top, own.bottom, other->anchor.y - reach,
                       other->anchor.y + reach) /
               area * 10;
        if (i < index) {
            struct box b = box_of(labels, other);
            sum += overlap(own.left, own.right, b.left, b.right) *
                   overlap(own.top, own.bottom, b.top, b.bottom) / area * 10;
        }
    }
    return sum;
}

void omo_labels_place(struct omo_labels *labels)
{
    for (int i = 0; i < labels->count; i++) {
        struct omo_label *label = &labels->label[i];
        double width = (double)strlen(label->text) * OMO_LETTER_EM * labels->size;
        double g = label->gap, h = labels->size;
        // Right, left, below, above, and the same once more at twice the distance.
        const struct omo_point place[] = {
            {g, 0.3 * h},
            {-g - width, 0.3 * h},
            {-width / 2, g + 0.8 * h},
            {-width / 2, -g - 0.25 * h},
            {g + h, 1.3 * h},
            {-g - width - h, 1.3 * h},
            {g + h, -0.7 * h},
            {-g - width - h, -0.7 * h},
        };
        double least = INFINITY;
        struct omo_point best = label->anchor;
        for (size_t k = 0; k < sizeof place / sizeof place[0]; k++) {
            label->baseline = (struct omo_point){label->anchor.x + place[k].x,
                                                 label->anchor.y + place[k].y};
            double now = cost(labels, i) + 0.01 * (double)k;
            if (now < least) {
                least = now;
                best = label->baseline;
            }
        }
        // Inside the picture whatever it covers.
        best.x = fmax(fmin(best.x, labels->width - width), 2);
        best.y = fmax(fmin(best.y, labels->height - 0.3 * h), 0.9 * h);
        label->baseline = best;
    }
}
