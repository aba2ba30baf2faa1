/** The demo's parts: what the terminal and the window share. */
#ifndef OMO_APP_DEMO_H
#define OMO_APP_DEMO_H

#include <stdbool.h>

#include "app/options.h"
#include "app/truth_series.h"
#include "show/screen/screen.h"
#include "show/sound/sound.h"

/** An invented person's raise of a stiff right arm to the front. */
bool omo_demo_plan(struct omo_plan *plan);
/** Measures it in the window at the pace of life, shows the truth beside it. *leave: the
 *  window was left. The exit code. */
int omo_demo_in_window(const struct omo_plan *plan, struct omo_record *record,
                       const char *directory, struct omo_screen *screen,
                       struct omo_sound *sound, bool *leave);

/** The same from the start page, into the user's own data folder; true: the window was
 *  left. */
bool omo_demo_page(struct omo_screen *screen, struct omo_sound *sound);

void omo_demo_print_comparison(const struct omo_truth_series *series, double first_s,
                               double last_s, const struct omo_result *result);
/** `picture` "": none was written. */
void omo_demo_print_files(const char *directory, const char *trace, const char *picture,
                          bool added);

#endif
