#include "table_rows.h"

#include <string.h>

void invented_row(enum omo_table_kind kind, union table_row *row)
{
    static const char when[] = "2026-11-24T09:00:00Z";

    omo_table_row_init(kind, row);
    switch (kind) {
    case OMO_TABLE_STEPS:
        strcpy(row->step.person, "P001");
        strcpy(row->step.started, when);
        strcpy(row->step.programme, "regaining-range");
        strcpy(row->step.step, "circles");
        strcpy(row->step.group, "swing");
        strcpy(row->step.kind, "pendulum");
        strcpy(row->step.side, "right");
        strcpy(row->step.result, "done");
        row->step.clockwise = 15;
        row->step.counter_clockwise = 14;
        row->step.diameter_cm = 22.5;
        row->step.pain_start = 1;
        row->step.load_kg = 0.5;
        strcpy(row->step.sore, "calm");
        break;
    case OMO_TABLE_NOTES:
        strcpy(row->note.person, "P001");
        strcpy(row->note.written, when);
        strcpy(row->note.item, "woken");
        row->note.value = 2;
        strcpy(row->note.unit, "nights");
        strcpy(row->note.text, "an invented note, quoted");
        break;
    case OMO_TABLE_LIMITS:
        strcpy(row->limit.person, "P001");
        strcpy(row->limit.set_on, when);
        strcpy(row->limit.side, "right");
        strcpy(row->limit.movement, "abduction");
        row->limit.ceiling_deg = 90;
        strcpy(row->limit.allowed, "assisted");
        strcpy(row->limit.set_by, "R1");
        strcpy(row->limit.valid_until, "2026-12-24");
        break;
    case OMO_TABLE_SHEET:
        strcpy(row->sheet.person, "P001");
        strcpy(row->sheet.set_on, when);
        strcpy(row->sheet.set_by, "R1");
        strcpy(row->sheet.item, "history:clot");
        strcpy(row->sheet.value, "yes");
        break;
    case OMO_TABLE_SET_UPS:
        strcpy(row->set_up.camera, "Desk camera");
        row->set_up.picture_width_px = 1280;
        row->set_up.picture_height_px = 720;
        row->set_up.frames_per_second = 30;
        strcpy(row->set_up.exposure, "held");
        strcpy(row->set_up.lens, "desk");
        row->set_up.distance_m = 2.5;
        row->set_up.roll_deg = -0.75;
        row->set_up.marker_size_mm = 32;
        strcpy(row->set_up.colours, "default");
        strcpy(row->set_up.markers, "shoulder disc 32 90/80; elbow disc 32 200/110");
        row->set_up.cutoff_hz = 6;
        strcpy(row->set_up.protocol, "skin over-head");
        break;
    case OMO_TABLE_CHANGES:
        strcpy(row->edit.person, "P001");
        strcpy(row->edit.changed_on, when);
        strcpy(row->edit.changed_by, "R1");
        strcpy(row->edit.what, "rename");
        strcpy(row->edit.old_value, "P002");
        strcpy(row->edit.new_value, "P001");
        break;
    case OMO_TABLE_PEOPLE:
    case OMO_TABLE_COUNT:
        strcpy(row->person.person, "P001");
        strcpy(row->person.set_on, when);
        strcpy(row->person.set_by, "R1");
        row->person.birth_year = 1961;
        row->person.height_cm = 171.5;
        strcpy(row->person.dominant_side, "right");
        strcpy(row->person.affected_side, "left");
        break;
    }
}
