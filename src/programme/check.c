#include <math.h>
#include <string.h>

#include "omogon/text.h"
#include "programme/parse.h"

#define LIST_SIZE 256

static int line_of(const struct omo_block *block, const char *key)
{
    const struct omo_line *line = omo_block_find(block, key);
    return line != NULL ? line->number : block->number;
}

/** By hold or by breaths, and paced only where something is paced. */
static void check_dose(struct omo_lines *lines, const struct omo_block *block,
                       const struct omo_step *step)
{
    if (omo_block_find(block, "hold_s") != NULL &&
        omo_block_find(block, "breaths") != NULL)
        omo_lines_mistake(lines, line_of(block, "breaths"),
                          "a hold goes by time or by breaths; delete hold_s or breaths");
    if (omo_block_find(block, "breaths_per_min") != NULL && step->pace == OMO_PACE_OWN)
        omo_lines_mistake(lines, line_of(block, "breaths_per_min"),
                          "breaths_per_min is for a paced breath; add pace=paced or "
                          "delete it");
}

static bool front_seen(const struct omo_movement *movement)
{
    return movement->view == OMO_VIEW_FRONT;
}

/** One arm at a time, or both where the camera sees both; one protocol a course. */
static void check_arms(struct omo_lines *lines, const struct omo_block *block,
                       const struct omo_programme *programme,
                       const struct omo_movement *movement, const struct omo_step *step)
{
    bool both = step->side == OMO_STEP_BOTH;
    int line = line_of(block, "side");
    if (both && step->kind != OMO_STEP_MEASURE && step->kind != OMO_STEP_DESK) {
        omo_lines_mistake(lines, line,
                          "a %s step is done with one arm at a time; write a step for "
                          "each side",
                          omo_step_kind_name(step->kind));
    } else if (step->kind != OMO_STEP_MEASURE || movement == NULL) {
        return;
    } else if (both && !front_seen(movement)) {
        omo_lines_mistake(lines, line,
                          "the camera sees one arm alone in %s; write a step for each "
                          "side",
                          step->movement);
    } else if (both && !programme->arms_both) {
        omo_lines_mistake(lines, line,
                          "this course measures one arm after the other; write arms=both "
                          "in [programme] or a step for each side");
    } else if (!both && programme->arms_both && front_seen(movement)) {
        omo_lines_mistake(lines, line,
                          "this course measures both arms at once; write side=both or "
                          "arms=one in [programme]");
    }
}

static void unknown_movement(struct omo_lines *lines, const struct omo_block *block,
                             const struct omo_movement_table *movements,
                             const struct omo_step *step)
{
    char known[LIST_SIZE] = "";
    for (int i = 0; i < omo_movement_count(movements); i++) {
        const struct omo_movement *m = omo_movement_at(movements, i);
        /* A movement is named once, however many ways it is seen. */
        if (m->geometry != OMO_GEOMETRY_PENDULUM && strchr(m->key, '/') == NULL)
            omo_text_add(known, sizeof known, "%s%s", known[0] != '\0' ? ", " : "",
                         m->name);
    }
    omo_lines_mistake(lines, line_of(block, "movement"),
                      "movement \"%s\" is not known; write one of %s", step->movement,
                      known);
}

/** The movement as it is seen, or NULL after a mistake. */
static const struct omo_movement *movement_of(struct omo_lines *lines,
                                              const struct omo_block *block,
                                              const struct omo_movement_table *movements,
                                              const struct omo_step *step)
{
    const struct omo_movement *usual = NULL, *seen = NULL;
    if (step->movement[0] == '\0')
        return NULL; /* said already */
    if (strchr(step->movement, '/') == NULL)
        usual = omo_movement_find(movements, step->movement);
    if (usual == NULL) {
        unknown_movement(lines, block, movements, step);
        return NULL;
    }
    if (usual->geometry == OMO_GEOMETRY_PENDULUM) {
        omo_lines_mistake(lines, line_of(block, "movement"),
                          "the pendulum is a kind of step; write kind=pendulum, without "
                          "a movement");
        return NULL;
    }
    if (step->view[0] == '\0')
        return usual;
    for (int v = OMO_VIEW_FRONT; v <= OMO_VIEW_ALONG_ARM && seen == NULL; v++) {
        if (strcmp(omo_view_name((enum omo_view)v), step->view) == 0)
            seen = omo_movement_seen_from(movements, usual, (enum omo_view)v);
    }
    if (seen == NULL)
        omo_lines_mistake(lines, line_of(block, "view"),
                          "%s is not measured from the view \"%s\"; delete the line for "
                          "its usual one, %s",
                          step->movement, step->view, omo_view_name(usual->view));
    return seen;
}

static void check_position(struct omo_lines *lines, const struct omo_block *block,
                           const struct omo_movement *movement, struct omo_step *step)
{
    char known[LIST_SIZE] = "";
    if (!step->position_told) {
        step->position = movement->position_default;
        return;
    }
    if (movement->position_allowed[step->position])
        return;
    for (int i = 0; i < OMO_POSITION_COUNT; i++) {
        if (movement->position_allowed[i])
            omo_text_add(known, sizeof known, "%s%s", known[0] != '\0' ? ", " : "",
                         omo_position_name((enum omo_position)i));
    }
    omo_lines_mistake(lines, line_of(block, "position"),
                      "%s is not done %s; write one of %s", step->movement,
                      omo_position_name(step->position), known);
}

static void check_pendulum(struct omo_lines *lines, const struct omo_block *block,
                           const struct omo_step *step)
{
    if (step->position != OMO_STANDING && step->position != OMO_SEATED)
        omo_lines_mistake(lines, line_of(block, "position"),
                          "a pendulum is not done %s; write standing, the good hand on a "
                          "table, or seated",
                          omo_position_name(step->position));
}

static void check_finding(struct omo_lines *lines, const struct omo_block *block,
                          const struct omo_step *step)
{
    const struct omo_finding *finding = omo_finding_find(step->finding);
    if (finding == NULL)
        return; /* said already */
    bool told = omo_block_find(block, "for") != NULL;
    bool names = finding->kind == OMO_FINDING_TOTAL || finding->kind == OMO_FINDING_SCORE;
    if (!finding->sided && omo_block_find(block, "side") != NULL)
        omo_lines_mistake(lines, line_of(block, "side"),
                          "%s is of the whole person and has no side; delete the line",
                          finding->name);
    if (finding->kind == OMO_FINDING_TOTAL && !told)
        omo_lines_mistake(lines, block->number,
                          "[%s] does not say which questionnaire; add a line for=... "
                          "with its name",
                          step->name);
    if (told && !names)
        omo_lines_mistake(lines, line_of(block, "for"),
                          "%s asks for nothing that has a name; delete the line for=...",
                          finding->name);
}

void omo_check_step(struct omo_lines *lines, const struct omo_block *block,
                    const struct omo_movement_table *movements,
                    const struct omo_programme *programme, struct omo_step *step)
{
    const struct omo_movement *movement = NULL;
    if (step->kind == OMO_STEP_STAY || step->kind == OMO_STEP_MEASURE) {
        movement = movement_of(lines, block, movements, step);
        if (movement != NULL)
            check_position(lines, block, movement, step);
    }
    if (step->kind == OMO_STEP_PENDULUM)
        check_pendulum(lines, block, step);
    if (step->kind == OMO_STEP_FINDING)
        check_finding(lines, block, step);
    check_dose(lines, block, step);
    check_arms(lines, block, programme, movement, step);
}
