#include "care_world.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>

#include "care_fixture.h"
#include "omogon/text.h"

static uint64_t state = 20240520;

/* SplitMix64. */
int care_lot(int below)
{
    uint64_t z = state += 0x9e3779b97f4a7c15u;
    z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
    z = (z ^ z >> 27) * 0x94d049bb133111ebu;
    return (int)((z ^ z >> 31) % (uint64_t)below);
}

static const char *const movements[] = {"flexion",           "abduction",
                                        "extension",         "adduction",
                                        "external-rotation", "internal-rotation"};
static const char *const sides[] = {"left", "right", "both"};

static const char *const areas[] = {"blade-back", "chest-front", "blade-front",
                                    "armpit-back"};

void care_world_point(struct care_world *w)
{
    w->person.limits = w->limits;
    w->person.past = w->past;
    w->person.past_steps = w->past_steps;
}

static double number_or_none(int most)
{
    double number = care_lot(most + 1);
    if (care_lot(4) == 0)
        number = NAN;
    return number;
}

static struct omo_step draw_step(void)
{
    static const char *const found[] = {"hand-behind-back", "behind-the-head",
                                        "nights-woken", "back-pocket"};
    struct omo_step step;
    switch (care_lot(5)) {
    case 0:
        step = care_press(areas[care_lot(4)]);
        break;
    case 1:
        step = care_pendulum(care_lot(2) == 0 ? OMO_STANDING : OMO_SEATED,
                             number_or_none(2));
        break;
    case 2:
        step = care_stay(movements[care_lot(6)]);
        break;
    case 3:
        step = care_measure(movements[care_lot(6)]);
        break;
    default:
        step = care_finding(found[care_lot(4)]);
        break;
    }
    step.side = (enum omo_step_side)care_lot(OMO_STEP_BOTH + 1);
    step.mode = (enum omo_step_mode)care_lot(2);
    step.pace = (enum omo_pace_kind)care_lot(2);
    step.ceiling_deg = number_or_none(180);
    step.pain_limit = number_or_none(10);
    if (step.kind != OMO_STEP_PENDULUM && care_lot(4) == 0)
        step.position = (enum omo_position)care_lot(OMO_POSITION_COUNT);
    if (!isnan(step.hold_s) && care_lot(2) == 0) {
        step.hold_s = NAN;
        step.breaths = 5 + care_lot(6);
    }
    return step;
}

static void draw_rows(struct care_world *w)
{
    w->person.limit_count = (size_t)(care_lot(3) * care_lot(2));
    w->person.past_count = (size_t)care_lot(CARE_ROWS + 1);
    w->person.past_step_count = (size_t)care_lot(CARE_ROWS + 1);
    for (int i = 0; i < CARE_ROWS; i++) {
        char date[16];
        struct omo_limit *limit = &w->limits[i];
        struct omo_past_step *done = &w->past_steps[i];
        snprintf(date, sizeof date, "2024-05-1%d", 9 - i);
        *limit = care_limit(care_lot(8) == 0   ? ""
                            : care_lot(6) == 0 ? "pendulum"
                            : care_lot(6) == 0 ? "behind-the-head"
                                               : movements[care_lot(6)],
                            number_or_none(180));
        omo_text_copy(limit->side, sizeof limit->side, sides[care_lot(3)]);
        limit->allowed = (enum omo_allowed)care_lot(3);
        limit->load_kg = number_or_none(3);
        if (care_lot(3) == 0)
            omo_text_copy(limit->valid_until, sizeof limit->valid_until, "2024-05-01");
        /* Mostly of what the step is about: a mark needs three of a kind. */
        w->past[i] =
            care_past(date, care_lot(8) == 0 ? "flexion" : w->step.movement,
                      w->step.mode == OMO_MODE_ASSISTED || care_lot(8) == 0 ? "assisted"
                                                                            : "active",
                      care_lot(180));
        omo_text_copy(w->past[i].side, sizeof w->past[i].side,
                      care_lot(8) == 0 ? sides[care_lot(2)]
                                       : omo_side_name(w->person.affected));
        w->past[i].comfortable = care_lot(5) != 0;
        int wide = care_lot(2) == 0 ? 20 : 10;
        *done = care_lot(2) == 0
                    ? care_pressed(date, areas[care_lot(3)], number_or_none(10))
                    : care_swung(date, wide + 5 + care_lot(20), wide + care_lot(4),
                                 wide + care_lot(4));
        if (care_lot(3) == 0)
            *done = care_held(date, w->step.movement, 0);
        done->held_s = number_or_none(60);
        omo_text_copy(done->side, sizeof done->side, sides[care_lot(2)]);
        done->discomfort = care_lot(4) == 0;
        done->ended_by_sign = care_lot(12) == 0;
    }
}

void care_world_draw(struct care_world *w)
{
    w->person = care_person();
    w->person.affected = (enum omo_side)care_lot(2);
    w->person.affected_known = care_lot(6) != 0;
    w->person.history = 0;
    for (int i = care_lot(3); i > 0; i--)
        w->person.history |= 1u << care_lot(OMO_HISTORY_BITS);
    w->person.taught_front = care_lot(2) == 0;
    w->person.taught_armpit = care_lot(2) == 0;
    w->person.weight_ticked = care_lot(4) != 0;
    w->person.mark_told = care_lot(2) == 0;
    if (care_lot(3) == 0) {
        w->person.told_mark_deg = care_lot(180);
        omo_text_copy(w->person.told_movement, sizeof w->person.told_movement,
                      movements[care_lot(2)]);
        omo_text_copy(w->person.told_side, sizeof w->person.told_side,
                      sides[care_lot(2)]);
    }
    w->day = (struct omo_soreness){care_lot(5), care_lot(8), care_lot(6) == 0,
                                   care_lot(8) == 0, care_lot(8) == 0};
    w->step = draw_step();
    w->u95_deg = number_or_none(12);
    draw_rows(w);
    care_world_point(w);
}
