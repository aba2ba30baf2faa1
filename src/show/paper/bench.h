/**
 * The bench check on paper: a protractor in true size with its hinge point, the end of
 * the arm that turns on it, lines for turning the board before the camera, the steps, and
 * a form to fill in.
 */
#ifndef OMO_SHOW_PAPER_BENCH_H
#define OMO_SHOW_PAPER_BENCH_H

#include "show/paper/sheet.h"

/** What the form asks for: every angle at every turn. assets/bench-check.csv has the same
 *  rows. */
extern const double omo_bench_set_deg[], omo_bench_yaw_deg[];
#define OMO_BENCH_SETS 5
#define OMO_BENCH_YAWS 3

#define OMO_BENCH_PAGES 4
/** Draws one page (from 0) in points. */
OMO_MUST_CHECK enum omo_status omo_bench_draw(const struct omo_sheet_settings *settings,
                                              int page, cairo_t *cairo);

/* Parts of it. */
double omo_bench_head(const struct omo_sheet_settings *settings, cairo_t *cairo,
                      const char *title, const char *advice);
void omo_bench_draw_steps(const struct omo_sheet_settings *settings, cairo_t *cairo);
void omo_bench_draw_form(const struct omo_sheet_settings *settings, cairo_t *cairo);

/* Where the stickers go, mm from the hinge: the proportions of a body of 1.70 m (Winter,
 * figure 4.1, from memory), so that the board looks like one to the finder. */
#define OMO_BENCH_ELBOW_MM 310
#define OMO_BENCH_WRIST_MM 560
#define OMO_BENCH_CHEST_MM 170
#define OMO_BENCH_HIP_MM   490

#endif
