// Any bytes as a programme.
// sources: src/base/*.c src/layout/body.c src/motion/movements.c src/motion/keys.c
// sources: src/motion/allowances.c src/motion/priors.c src/record/id.c
// sources: src/programme/check.c src/programme/fields.c src/programme/lines.c
// sources: src/programme/programme.c src/programme/table.c src/programme/words.c
// pkgs: glib-2.0
// options: -max_len=1024
#include <glib.h>

#include "claims.h"
#include "omogon/programme.h"
#include "programme/parse.h"

static struct omo_movement_table *movements;

/** What a runner relies on, whoever wrote the file. */
static void step_is_sound(const struct omo_step *s)
{
    demand(memchr(s->name, '\0', sizeof s->name) != NULL && s->name[0] != '\0',
           "a step has a name that ends");
    demand(g_utf8_validate(s->guidance, -1, NULL) &&
               g_utf8_validate(s->caution, -1, NULL),
           "texts are whole UTF-8");
    demand(omo_group_name(s->group) != NULL && omo_step_kind_name(s->kind) != NULL &&
               omo_position_name(s->position) != NULL && s->side <= OMO_STEP_BOTH,
           "words are of their enums");
    demand(isnan(s->ceiling_deg) || (s->ceiling_deg >= 0 && s->ceiling_deg <= 180),
           "a ceiling is in its range");
    demand(isnan(s->hold_s) || (s->hold_s >= 5 && s->hold_s <= 180),
           "a hold is in its range");
    bool held = s->kind == OMO_STEP_PRESS || s->kind == OMO_STEP_STAY;
    demand(held == (s->breaths > 0 || s->hold_s > 0) &&
               (s->breaths == 0 || isnan(s->hold_s)),
           "a hold goes by time or by breaths");
    bool moves = s->kind == OMO_STEP_STAY || s->kind == OMO_STEP_MEASURE;
    demand(moves == (omo_movement_find(movements, s->movement) != NULL),
           "a movement is known where there is one");
    demand((s->kind == OMO_STEP_PRESS) == (omo_area_find(s->area) != NULL),
           "an area is known where there is one");
    demand((s->kind == OMO_STEP_FINDING) == (omo_finding_find(s->finding) != NULL),
           "a finding is known where there is one");
    demand((s->kind == OMO_STEP_PENDULUM) == (s->circles >= 10 && s->circles <= 20),
           "circles are in their range");
#ifdef OMO_PLANTED_FAULT
    /* Only a whole good step of a kind that no good seed has gets here. */
    demand(s->kind != OMO_STEP_DESK, "the planted fault");
#endif
}

/** GLib reads what is accepted here, and reads the same. */
static void glib_agrees(const uint8_t *bytes, size_t size, const struct omo_programme *p)
{
    size_t from = size >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
    GKeyFile *file = g_key_file_new();
    demand(g_key_file_load_from_data(file, (const char *)bytes + from, size - from,
                                     G_KEY_FILE_NONE, NULL),
           "what is accepted is a key file");
    /* Blanks at a line's end are no part of it here. */
    char *title = g_key_file_get_string(file, "programme", "title", NULL);
    char *ours = g_strdup(p->title);
    demand(title != NULL && strcmp(g_strchomp(title), g_strchomp(ours)) == 0,
           "GLib reads the same title");
    g_free(title);
    g_free(ours);
    g_key_file_free(file);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    static struct omo_programme programme;
    char mark[33];
    if (movements == NULL && omo_movement_table_load(NULL, &movements) != OMO_OK)
        abort();
    programme.step_count = -1;
    sentences = 0;
    if (omo_programme_parse_with(movements, (const char *)bytes, size, "mine.ini",
                                 &programme) != OMO_OK) {
        demand(programme.step_count == -1, "a mistake leaves the programme as it was");
        demand(sentences >= 1 && sentences <= 20, "mistakes are said, twenty at most");
        return 0;
    }
    demand(sentences == 0, "a good programme is silent");
    demand(programme.step_count >= 1 && programme.step_count <= OMO_STEPS_MOST,
           "there are one to forty steps");
    for (int i = 0; i < programme.step_count; i++)
        step_is_sound(&programme.step[i]);
    glib_agrees(bytes, size, &programme);
    omo_programme_mark(&programme, mark);
    demand(strlen(mark) == 32, "a mark has 32 digits");
    return 0;
}
