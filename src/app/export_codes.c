#include "app/export_codes.h"

#include <stdbool.h>
#include <string.h>

/* LOINC: shoulder, active and passive range of motion by side. Component and unit of all
 * were read in stored LOINC tables; joint and side word for word only where it says so,
 * of the others they follow from the order there. Only what was read is written as a
 * code: whoever has compared another with loinc.org sets it to true. This material
 * contains content from LOINC, which is copyright Regenstrief Institute, Inc. and free of
 * charge under its licence. */
static const struct {
    const char *movement, *side, *mode, *code, *display;
    bool read; /* word for word, with joint and side */
} loinc[] = {
    {"flexion", "left", "active", "41295-7",
     "Shoulder - left Flexion Active Range of Motion Quantitative", true},
    {"flexion", "left", "passive", "41296-5",
     "Shoulder - left Flexion Passive Range of Motion Quantitative", false},
    {"flexion", "right", "active", "41307-0",
     "Shoulder - right Flexion Active Range of Motion Quantitative", true},
    {"flexion", "right", "passive", "41308-8",
     "Shoulder - right Flexion Passive Range of Motion Quantitative", false},
    {"extension", "left", "active", "41297-3",
     "Shoulder - left Extension Active Range of Motion Quantitative", false},
    {"extension", "left", "passive", "41298-1",
     "Shoulder - left Extension Passive Range of Motion Quantitative", false},
    {"extension", "right", "active", "41309-6",
     "Shoulder - right Extension Active Range of Motion Quantitative", false},
    {"extension", "right", "passive", "41310-4",
     "Shoulder - right Extension Passive Range of Motion Quantitative", false},
    {"abduction", "left", "active", "41299-9",
     "Shoulder - left Abduction Active Range of Motion Quantitative", true},
    {"abduction", "left", "passive", "41300-5",
     "Shoulder - left Abduction Passive Range of Motion Quantitative", false},
    {"abduction", "right", "active", "41311-2",
     "Shoulder - right Abduction Active Range of Motion Quantitative", false},
    {"abduction", "right", "passive", "41312-0",
     "Shoulder - right Abduction Passive Range of Motion Quantitative", false},
    {"internal-rotation", "left", "active", "41303-9",
     "Shoulder - left Internal rotation Active Range of Motion Quantitative", false},
    {"internal-rotation", "left", "passive", "41304-7",
     "Shoulder - left Internal rotation Passive Range of Motion Quantitative", false},
    {"internal-rotation", "right", "active", "41315-3",
     "Shoulder - right Internal rotation Active Range of Motion Quantitative", false},
    {"internal-rotation", "right", "passive", "41316-1",
     "Shoulder - right Internal rotation Passive Range of Motion Quantitative", true},
    {"external-rotation", "left", "active", "41305-4",
     "Shoulder - left External rotation Active Range of Motion Quantitative", false},
    {"external-rotation", "left", "passive", "41306-2",
     "Shoulder - left External rotation Passive Range of Motion Quantitative", false},
    {"external-rotation", "right", "active", "41317-9",
     "Shoulder - right External rotation Active Range of Motion Quantitative", false},
    {"external-rotation", "right", "passive", "41318-7",
     "Shoulder - right External rotation Passive Range of Motion Quantitative", false},
};

void omo_export_loinc(const struct omo_session_row *row, const char **code,
                      const char **display)
{
    for (size_t i = 0; i < sizeof loinc / sizeof loinc[0]; i++)
        if (loinc[i].read && !strcmp(row->movement, loinc[i].movement) &&
            !strcmp(row->side, loinc[i].side) && !strcmp(row->mode, loinc[i].mode)) {
            *code = loinc[i].code;
            *display = loinc[i].display;
        }
}
