/** One filmed figure and what it measures to: shared by the tests of motion. */
#ifndef OMO_TESTS_TAKE_FIXTURE_H
#define OMO_TESTS_TAKE_FIXTURE_H

#include "body_model.h"
#include "omogon/motion.h"

#define FRAMES_MAX 2400

extern struct omo_track_frame frames[FRAMES_MAX];
extern struct omo_trace_row rows[FRAMES_MAX];
extern struct omo_result result;
extern struct omo_measure_settings settings;
extern struct omo_movement_table *table;
extern size_t count;

void load_table(void);
void drop_table(void);
void film(const struct figure *figure);
enum omo_status measure(void);
void hide(size_t k, enum omo_role role);
void shift_all(size_t k, double x_px, double y_px);
struct figure flexion(void);

#endif
