#include "care_fixture.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/text.h"
#include "programme/fields.h"

const struct omo_care *care_loaded(void)
{
    static struct omo_care care;
    if (care.gap_days == 0 && omo_care_load(NULL, &care) != OMO_OK)
        abort();
    return &care;
}

struct omo_person_state care_person(void)
{
    struct omo_person_state person = {.affected = OMO_RIGHT,
                                      .affected_known = true,
                                      .taught_front = true,
                                      .taught_armpit = true,
                                      .weight_ticked = true,
                                      .weight_most_kg = 2.5,
                                      .told_mark_deg = NAN,
                                      .today = "2024-05-20"};
    return person;
}

struct omo_soreness care_calm(void)
{
    struct omo_soreness calm = {0, 0, 0, 0, 0};
    return calm;
}

static struct omo_step step_of(enum omo_step_kind kind)
{
    struct omo_step step;
    omo_step_clear(&step);
    step.kind = kind;
    omo_step_defaults(&step);
    return step;
}

struct omo_step care_press(const char *area)
{
    struct omo_step step = step_of(OMO_STEP_PRESS);
    omo_text_copy(step.area, sizeof step.area, area);
    return step;
}

struct omo_step care_pendulum(enum omo_position position, double load_kg)
{
    struct omo_step step = step_of(OMO_STEP_PENDULUM);
    step.position = position;
    step.load_kg = load_kg;
    step.circles = 20;
    return step;
}

struct omo_step care_stay(const char *movement)
{
    struct omo_step step = step_of(OMO_STEP_STAY);
    omo_text_copy(step.movement, sizeof step.movement, movement);
    return step;
}

struct omo_step care_measure(const char *movement)
{
    struct omo_step step = step_of(OMO_STEP_MEASURE);
    omo_text_copy(step.movement, sizeof step.movement, movement);
    return step;
}

struct omo_step care_finding(const char *finding)
{
    struct omo_step step = step_of(OMO_STEP_FINDING);
    omo_text_copy(step.finding, sizeof step.finding, finding);
    return step;
}

struct omo_limit care_limit(const char *movement, double ceiling_deg)
{
    struct omo_limit limit = {.side = "right",
                              .ceiling_deg = ceiling_deg,
                              .allowed = OMO_ALLOWED_ACTIVE,
                              .load_kg = NAN};
    omo_text_copy(limit.movement, sizeof limit.movement, movement);
    return limit;
}

struct omo_past care_past(const char *date, const char *movement, const char *mode,
                          double mean_deg)
{
    struct omo_past past = {.side = "right",
                            .mean_of_maxima_deg = mean_deg,
                            .max_deg = mean_deg,
                            .u95_deg = 4.0,
                            .sore = OMO_SORE_CALM,
                            .comfortable = true};
    omo_text_copy(past.date, sizeof past.date, date);
    omo_text_copy(past.movement, sizeof past.movement, movement);
    omo_text_copy(past.mode, sizeof past.mode, mode);
    return past;
}

struct omo_past_step care_pressed(const char *date, const char *area, double tenderness)
{
    struct omo_past_step past = {.kind = OMO_STEP_PRESS,
                                 .side = "right",
                                 .tenderness_before = tenderness,
                                 .tenderness_after = NAN,
                                 .diameter_cm = NAN};
    omo_text_copy(past.date, sizeof past.date, date);
    omo_text_copy(past.area, sizeof past.area, area);
    return past;
}

struct omo_past_step care_held(const char *date, const char *movement, double held_s)
{
    struct omo_past_step past = {.kind = OMO_STEP_STAY,
                                 .side = "right",
                                 .held_s = held_s,
                                 .tenderness_before = NAN,
                                 .tenderness_after = NAN,
                                 .diameter_cm = NAN};
    omo_text_copy(past.date, sizeof past.date, date);
    omo_text_copy(past.movement, sizeof past.movement, movement);
    return past;
}

struct omo_past_step care_swung(const char *date, double diameter_cm, int clockwise,
                                int counter_clockwise)
{
    struct omo_past_step past = {.kind = OMO_STEP_PENDULUM,
                                 .side = "right",
                                 .tenderness_before = NAN,
                                 .tenderness_after = NAN,
                                 .diameter_cm = diameter_cm,
                                 .clockwise = clockwise,
                                 .counter_clockwise = counter_clockwise};
    omo_text_copy(past.date, sizeof past.date, date);
    return past;
}
