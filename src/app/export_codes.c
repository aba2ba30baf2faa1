#include "app/export_codes.h"

#include <string.h>

/* LOINC: shoulder, active and passive range of motion by side. Component and unit were
 * read in stored LOINC tables; the side of most follows from their order there, so let a
 * person compare them with loinc.org before a release. This material contains content
 * from LOINC, which is copyright Regenstrief Institute, Inc. and free of charge under its
 * licence. */
static const struct {
    const char *movement, *side, *mode, *code, *display;
} loinc[] = {
    {"flexion", "left", "active", "41295-7",
     "Shoulder - left Flexion Active Range of Motion Quantitative"},
    {"flexion", "left", "passive", "41296-5",
     "Shoulder - left Flexion Passive Range of Motion Quantitative"},
    {"flexion", "right", "active", "41307-0",
     "Shoulder - right Flexion Active Range of Motion Quantitative"},
    {"flexion", "right", "passive", "41308-8",
     "Shoulder - right Flexion Passive Range of Motion Quantitative"},
    {"extension", "left", "active", "41297-3",
     "Shoulder - left Extension Active Range of Motion Quantitative"},
    {"extension", "left", "passive", "41298-1",
     "Shoulder - left Extension Passive Range of Motion Quantitative"},
    {"extension", "right", "active", "41309-6",
     "Shoulder - right Extension Active Range of Motion Quantitative"},
    {"extension", "right", "passive", "41310-4",
     "Shoulder - right Extension Passive Range of Motion Quantitative"},
    {"abduction", "left", "active", "41299-9",
     "Shoulder - left Abduction Active Range of Motion Quantitative"},
    {"abduction", "left", "passive", "41300-5",
     "Shoulder - left Abduction Passive Range of Motion Quantitative"},
    {"abduction", "right", "active", "41311-2",
     "Shoulder - right Abduction Active Range of Motion Quantitative"},
    {"abduction", "right", "passive", "41312-0",
     "Shoulder - right Abduction Passive Range of Motion Quantitative"},
    {"internal-rotation", "left", "active", "41303-9",
     "Shoulder - left Internal rotation Active Range of Motion Quantitative"},
    {"internal-rotation", "left", "passive", "41304-7",
     "Shoulder - left Internal rotation Passive Range of Motion Quantitative"},
    {"internal-rotation", "right", "active", "41315-3",
     "Shoulder - right Internal rotation Active Range of Motion Quantitative"},
    {"internal-rotation", "right", "passive", "41316-1",
     "Shoulder - right Internal rotation Passive Range of Motion Quantitative"},
    {"external-rotation", "left", "active", "41305-4",
     "Shoulder - left External rotation Active Range of Motion Quantitative"},
    {"external-rotation", "left", "passive", "41306-2",
     "Shoulder - left External rotation Passive Range of Motion Quantitative"},
    {"external-rotation", "right", "active", "41317-9",
     "Shoulder - right External rotation Active Range of Motion Quantitative"},
    {"external-rotation", "right", "passive", "41318-7",
     "Shoulder - right External rotation Passive Range of Motion Quantitative"},
};

void export_loinc(const struct omo_session_row *row, const char **code,
                  const char **display)
{
    for (size_t i = 0; i < sizeof loinc / sizeof loinc[0]; i++)
        if (!strcmp(row->movement, loinc[i].movement) &&
            !strcmp(row->side, loinc[i].side) && !strcmp(row->mode, loinc[i].mode)) {
            *code = loinc[i].code;
            *display = loinc[i].display;
        }
}
