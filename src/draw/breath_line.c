#include "omogon/breath_line.h"

#include "omogon/words.h"

#define POINTS    160
#define SHOWN_S   12.0 /* how much of the line is seen */
#define PASSED    0.35 /* share of it that lies behind */
#define LINE_GREY 0xff7d848bu
#define LINE_NEXT 0xfff4f4f2u
#define GROUND    0xff131517u

struct omo_figure *omo_breath_figure(double width, double height, double now_s,
                                     double (*height_at)(double since_s, void *user),
                                     void *user)
{
    struct omo_figure *figure = omo_figure_create(width, height);
    struct omo_point point[POINTS];
    if (!figure)
        return NULL;
    double top = height * 0.3, low = height * 0.7, stroke = height * 0.012;
    int here = (int)(PASSED * (POINTS - 1));
    for (int i = 0; i < POINTS; i++) {
        double since_s = now_s + ((double)i / (POINTS - 1) - PASSED) * SHOWN_S;
        double share = height_at(since_s > 0 ? since_s : 0, user);
        point[i] =
            (struct omo_point){width * i / (POINTS - 1), low + (top - low) * share};
    }
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                              .points = point,
                                              .count = (size_t)here + 1,
                                              .colour = LINE_GREY,
                                              .width = stroke});
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_LINE,
                                              .points = point + here,
                                              .count = (size_t)(POINTS - here),
                                              .colour = LINE_NEXT,
                                              .width = stroke});
    omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_RING,
                                              .at = point[here],
                                              .radius = stroke * 2,
                                              .colour = LINE_NEXT,
                                              .width = stroke * 4,
                                              .edge = GROUND,
                                              .edge_width = stroke});
    const struct {
        double y;
        const char *words;
    } name[] = {{top - height * 0.06, omo_word("in")},
                {low + height * 0.1, omo_word("out")}};
    for (int i = 0; i < 2; i++)
        omo_figure_add(figure, &(struct omo_mark){.kind = OMO_MARK_TEXT,
                                                  .at = {width * 0.04, name[i].y},
                                                  .text = name[i].words,
                                                  .size = height * 0.05,
                                                  .colour = LINE_NEXT});
    return figure;
}
