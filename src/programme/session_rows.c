#include <math.h>
#include <string.h>

#include "omogon/text.h"
#include "programme/session_private.h"

void omo_session_note(struct omo_session *s, const char *item, const char *side,
                      const char *detail, double value, const char *unit,
                      const char *text)
{
    if (s->note_count == ROWS_MOST)
        return; /* whoever runs a session takes rows after every call; cannot happen then
                 */
    struct omo_note_row *row = &s->notes[(s->note_first + s->note_count++) % ROWS_MOST];
    omo_table_row_init(OMO_TABLE_NOTES, row);
    omo_text_copy(row->person, sizeof row->person, s->settings.pseudonym);
    omo_text_copy(row->session, sizeof row->session, s->settings.id);
    omo_text_copy(row->item, sizeof row->item, item);
    omo_text_copy(row->side, sizeof row->side, side);
    omo_text_copy(row->detail, sizeof row->detail, detail);
    row->value = value;
    omo_text_copy(row->unit, sizeof row->unit, unit);
    omo_text_copy(row->text, sizeof row->text, text);
}

void omo_session_step_row(struct omo_session *s, const struct omo_step_row *row,
                          double began_s)
{
    if (s->step_count == ROWS_MOST)
        return;
    struct waiting_step *waiting =
        &s->steps[(s->step_first + s->step_count++) % ROWS_MOST];
    waiting->row = *row;
    waiting->began_s = began_s;
}

void omo_session_begin_row(struct omo_session *s, struct omo_step_row *row,
                           const struct run *run)
{
    const struct omo_programme *programme = s->settings.programme;
    omo_table_row_init(OMO_TABLE_STEPS, row);
    omo_text_copy(row->person, sizeof row->person, s->settings.pseudonym);
    omo_text_copy(row->session, sizeof row->session, s->settings.id);
    omo_text_copy(row->programme, sizeof row->programme, programme->name);
    omo_programme_mark(programme, row->programme_mark);
    omo_text_copy(row->sore, sizeof row->sore,
                  omo_sore_name(omo_sore_of(s->settings.care, &s->soreness)));
    if (!run)
        return;
    const struct omo_step *step = run->step;
    omo_text_copy(row->step, sizeof row->step, step->name);
    omo_text_copy(row->group, sizeof row->group, omo_group_name(step->group));
    omo_text_copy(row->kind, sizeof row->kind, omo_step_kind_name(step->kind));
    omo_text_copy(row->movement, sizeof row->movement, step->movement);
    omo_text_copy(row->area, sizeof row->area, step->area);
    omo_text_copy(row->side, sizeof row->side,
                  run->both ? "both" : omo_side_name(run->side));
    bool moves = step->kind == OMO_STEP_STAY || step->kind == OMO_STEP_MEASURE;
    if (moves)
        omo_text_copy(row->mode, sizeof row->mode,
                      step->mode == OMO_MODE_ASSISTED || s->offer.assisted ? "assisted"
                                                                           : "active");
}

bool omo_session_take_step(struct omo_session *s, struct omo_step_row *row,
                           double *began_s)
{
    if (s->step_count == 0)
        return false;
    *row = s->steps[s->step_first].row;
    *began_s = s->steps[s->step_first].began_s;
    s->step_first = (s->step_first + 1) % ROWS_MOST;
    s->step_count--;
    return true;
}

bool omo_session_take_note(struct omo_session *s, struct omo_note_row *row)
{
    if (s->note_count == 0)
        return false;
    *row = s->notes[s->note_first];
    s->note_first = (s->note_first + 1) % ROWS_MOST;
    s->note_count--;
    return true;
}
