#include "programme/fields.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/text.h"
#include "omogon/words.h"
#include "programme/table.h"

#define LIST_SIZE  320
#define QUOTE_SIZE 48

/* ---- what is said ---- */

static const char *quoted(const char *value, char *out)
{
    omo_text_copy(out, QUOTE_SIZE, value);
    return out;
}

static const char *word_of(const struct omo_field *field, int index)
{
    return field->words != NULL ? field->words[index] : field->name_of(index);
}

static void wrong_word(struct omo_lines *lines, const struct omo_line *line,
                       const struct omo_field *field)
{
    char known[LIST_SIZE] = "", quote[QUOTE_SIZE];
    for (int i = 0; word_of(field, i) != NULL; i++)
        omo_text_add(known, sizeof known, "%s%s", i > 0 ? ", " : "", word_of(field, i));
    omo_lines_mistake(lines, line->number, "%s \"%s\" is not known; write one of %s",
                      line->key, quoted(line->value, quote), known);
}

/** The kind's keys, for whoever wrote another one. */
static void known_keys(unsigned kinds, char *out, size_t size)
{
    out[0] = '\0';
    for (size_t i = 0; i < omo_field_count; i++) {
        if ((omo_fields[i].kinds & kinds) != 0)
            omo_text_add(out, size, "%s%s", out[0] != '\0' ? ", " : "",
                         omo_fields[i].key);
    }
}

/** The key of this kind that `key` is with another unit, or with none, or NULL. */
static const char *other_unit(const char *key, unsigned kinds)
{
    static const char *const units[] = {"",    "s",  "sec", "min", "h",       "ms", "deg",
                                        "rad", "kg", "lb",  "g",   "percent", NULL};
    for (size_t i = 0; i < omo_field_count; i++) {
        const char *known = omo_fields[i].key, *bar = strrchr(known, '_');
        size_t stem = bar != NULL ? (size_t)(bar - known) : 0;
        if (omo_fields[i].type != OMO_FIELD_NUMBER ||
            (omo_fields[i].kinds & kinds) == 0 || stem == 0 ||
            strncmp(key, known, stem) != 0 || (key[stem] != '_' && key[stem] != '\0'))
            continue;
        const char *unit = key[stem] == '_' ? key + stem + 1 : "";
        for (int u = 0; units[u] != NULL; u++) {
            if (strcmp(unit, units[u]) == 0)
                return known;
        }
    }
    return NULL;
}

static void wrong_key(struct omo_lines *lines, const struct omo_line *line,
                      unsigned kinds, const char *whose)
{
    char known[LIST_SIZE], quote[QUOTE_SIZE];
    const char *meant = other_unit(line->key, kinds);
    quoted(line->key, quote);
    if (meant != NULL) {
        omo_lines_mistake(lines, line->number,
                          "%s has another unit; write it as %s, in that unit", quote,
                          meant);
        return;
    }
    known_keys(kinds, known, sizeof known);
    for (size_t i = 0; i < omo_field_count; i++) {
        if (strcmp(omo_fields[i].key, line->key) == 0) {
            omo_lines_mistake(lines, line->number,
                              "%s is of no use in %s; delete it (here go %s)", quote,
                              whose, known);
            return;
        }
    }
    omo_lines_mistake(lines, line->number, "%s is no key of %s; write one of %s", quote,
                      whose, known);
}

/* ---- reading ---- */

static void read_text(struct omo_lines *lines, const struct omo_line *line,
                      const struct omo_field *field, char *base)
{
    if (field->name_of != NULL) {
        int i = 0;
        while (word_of(field, i) != NULL && strcmp(word_of(field, i), line->value) != 0)
            i++;
        if (word_of(field, i) == NULL) {
            wrong_word(lines, line, field);
            return;
        }
    }
    if (line->value[0] == '\0')
        omo_lines_mistake(lines, line->number,
                          "%s is empty; write something or delete the line", line->key);
    else if (strlen(line->value) >= field->size)
        omo_lines_mistake(lines, line->number,
                          "%s is %zu bytes long; shorten it to %zu (most letters are "
                          "one byte)",
                          line->key, strlen(line->value), field->size - 1);
    else
        omo_text_copy(base + field->offset, field->size, line->value);
}

static void read_word(struct omo_lines *lines, const struct omo_line *line,
                      const struct omo_field *field, char *base)
{
    int index = 0;
    while (word_of(field, index) != NULL &&
           strcmp(word_of(field, index), line->value) != 0)
        index++;
    if (word_of(field, index) == NULL) {
        wrong_word(lines, line, field);
    } else if (field->type == OMO_FIELD_FLAG) {
        bool flag = index == 1;
        memcpy(base + field->offset, &flag, sizeof flag);
    } else {
        /* Every enum here has the size of an int. */
        memcpy(base + field->offset, &index, sizeof index);
    }
}

/** Why a text is no number, as far as it shows. */
static const char *not_a_number(const char *value)
{
    char *end;
    if (strchr(value, '#') != NULL)
        return "put the remark on a line of its own";
    if (strchr(value, ',') != NULL)
        return "write a dot, not a comma";
    g_ascii_strtod(value, &end);
    if (end != value)
        return "write the number alone; its unit is the one in the key's name";
    return "write it in digits";
}

static void read_number(struct omo_lines *lines, const struct omo_line *line,
                        const struct omo_field *field, char *base)
{
    double number;
    char quote[QUOTE_SIZE];
    quoted(line->value, quote);
    if (!omo_number_parse(line->value, &number)) {
        omo_lines_mistake(lines, line->number, "%s \"%s\" is not a number; %s", line->key,
                          quote, not_a_number(line->value));
    } else if (number < field->least || number > field->most) {
        omo_lines_mistake(lines, line->number, "%s %s is not between %g and %g; %s",
                          line->key, quote, field->least, field->most, field->advice);
    } else if (field->type == OMO_FIELD_NUMBER) {
        memcpy(base + field->offset, &number, sizeof number);
    } else if (number != floor(number)) {
        omo_lines_mistake(lines, line->number, "%s %s is not a whole number; round it",
                          line->key, quote);
    } else {
        int whole = (int)number;
        memcpy(base + field->offset, &whole, sizeof whole);
    }
}

static void read_line(struct omo_lines *lines, const struct omo_line *line,
                      const struct omo_field *field, char *base)
{
    switch (field->type) {
    case OMO_FIELD_TEXT:
        read_text(lines, line, field, base);
        break;
    case OMO_FIELD_WORD:
    case OMO_FIELD_FLAG:
        read_word(lines, line, field, base);
        break;
    case OMO_FIELD_NUMBER:
    case OMO_FIELD_WHOLE:
        read_number(lines, line, field, base);
        break;
    }
}

/* What may be said in another language, and where that is kept. */
static const struct {
    const char *key;
    size_t from, to, size;
} said[] = {
    {"guidance", offsetof(struct omo_step, guidance),
     offsetof(struct omo_step, guidance_said),
     sizeof((struct omo_step *)0)->guidance_said},
    {"caution", offsetof(struct omo_step, caution),
     offsetof(struct omo_step, caution_said), sizeof((struct omo_step *)0)->caution_said},
    {"title", offsetof(struct omo_programme, title),
     offsetof(struct omo_programme, title_said),
     sizeof((struct omo_programme *)0)->title_said},
};
#define SAID_COUNT (sizeof said / sizeof said[0])

/** "guidance[de]=...": false when the key is none of these. */
static bool read_translation(struct omo_lines *lines, const struct omo_block *block,
                             const struct omo_line *line, unsigned kinds, char *base)
{
    const char *bracket = strchr(line->key, '[');
    if (bracket == NULL || line->key[strlen(line->key) - 1] != ']')
        return false;
    g_autofree char *key = g_strndup(line->key, (size_t)(bracket - line->key));
    g_autofree char *language = g_strndup(bracket + 1, strlen(bracket + 1) - 1);
    size_t i = 0;
    while (i < SAID_COUNT && strcmp(said[i].key, key) != 0)
        i++;
    if (i == SAID_COUNT || (i == SAID_COUNT - 1) != (kinds == OMO_KEY_PROGRAMME))
        return false;
    if (omo_block_find(block, line->key) != line)
        omo_lines_mistake(lines, line->number,
                          "%s is there twice (line %d too); delete one of them",
                          line->key, omo_block_find(block, line->key)->number);
    else if (omo_block_find(block, key) == NULL)
        omo_lines_mistake(lines, line->number,
                          "%s has no %s beside it, for all other languages; add a line "
                          "%s=...",
                          line->key, key, key);
    else if (line->value[0] == '\0')
        omo_lines_mistake(lines, line->number,
                          "%s is empty; write something or delete the line", line->key);
    else if (strlen(line->value) >= said[i].size)
        omo_lines_mistake(lines, line->number,
                          "%s has %zu letters, more than %zu; shorten it", line->key,
                          strlen(line->value), said[i].size - 1);
    else if (strcmp(language, omo_words_language()) == 0)
        omo_text_copy(base + said[i].to, said[i].size, line->value);
    return true;
}

/** What has no words of its own language is said as it is written. */
static void say_the_rest(unsigned kinds, char *base)
{
    for (size_t i = 0; i < SAID_COUNT; i++)
        if ((i == SAID_COUNT - 1) == (kinds == OMO_KEY_PROGRAMME) &&
            base[said[i].to] == '\0')
            omo_text_copy(base + said[i].to, said[i].size, base + said[i].from);
}

/** All lines of a block whose kind is told: `kinds` has its one bit. */
static void read_block(struct omo_lines *lines, struct omo_block *block, unsigned kinds,
                       const char *whose, char *base)
{
    for (guint i = 0; i < block->lines->len; i++) {
        struct omo_line *line = &g_array_index(block->lines, struct omo_line, i);
        const struct omo_field *field = NULL;
        for (size_t f = 0; f < omo_field_count && field == NULL; f++) {
            if ((omo_fields[f].kinds & kinds) != 0 &&
                strcmp(omo_fields[f].key, line->key) == 0)
                field = &omo_fields[f];
        }
        if (field == NULL) {
            if (!read_translation(lines, block, line, kinds, base))
                wrong_key(lines, line, kinds, whose);
        } else if (omo_block_find(block, line->key) != line)
            omo_lines_mistake(lines, line->number,
                              "%s is there twice (line %d too); delete one of them",
                              line->key, omo_block_find(block, line->key)->number);
        else
            read_line(lines, line, field, base);
    }
    for (size_t f = 0; f < omo_field_count; f++) {
        if ((omo_fields[f].needed & kinds) != 0 &&
            omo_block_find(block, omo_fields[f].key) == NULL)
            omo_lines_mistake(lines, block->number,
                              "[%.40s] has no %s; add a line %s=...", block->name,
                              omo_fields[f].key, omo_fields[f].key);
    }
    say_the_rest(kinds, base);
}

void omo_step_clear(struct omo_step *step)
{
    *step = (struct omo_step){.hold_s = NAN,
                              .breaths_per_min = NAN,
                              .load_kg = NAN,
                              .ceiling_deg = NAN,
                              .pain_limit = NAN,
                              .every_min = NAN,
                              .repetitions = -1,
                              .ease_ups = -1};
}

void omo_step_defaults(struct omo_step *step)
{
    unsigned bit = 1u << step->kind;
    if (isnan(step->hold_s) && step->breaths == 0 &&
        (bit & (OMO_KEY_PRESS | OMO_KEY_STAY)) != 0)
        step->hold_s = bit == OMO_KEY_PRESS ? 60.0 : 30.0;
    if (step->pace == OMO_PACE_PACED && isnan(step->breaths_per_min))
        step->breaths_per_min = 6.0;
    if (bit == OMO_KEY_PENDULUM && step->circles == 0)
        step->circles = 10;
    if (step->repetitions < 0)
        step->repetitions = (bit & (OMO_KEY_STAY | OMO_KEY_MEASURE)) != 0 ? 3 : 0;
    if (step->ease_ups < 0)
        step->ease_ups = bit == OMO_KEY_STAY ? 2 : 0;
    if (bit == OMO_KEY_DESK && isnan(step->every_min))
        step->every_min = 30.0;
}

bool omo_fields_step(struct omo_lines *lines, struct omo_block *block,
                     struct omo_step *step)
{
    const struct omo_line *kind = omo_block_find(block, "kind");
    int index = 0;
    while (kind != NULL && omo_step_kind_name((enum omo_step_kind)index) != NULL &&
           strcmp(omo_step_kind_name((enum omo_step_kind)index), kind->value) != 0)
        index++;
    if (kind != NULL && omo_step_kind_name((enum omo_step_kind)index) != NULL) {
        char whose[32];
        g_snprintf(whose, sizeof whose, "a %s step", kind->value);
        read_block(lines, block, 1u << index, whose, (char *)step);
        step->position_told = omo_block_find(block, "position") != NULL;
        return true;
    }
    /* Without a kind no key can be judged; one sentence says what to begin with. */
    struct omo_line missing = {block->number, (char *)"kind", (char *)"", false};
    for (size_t f = 0; f < omo_field_count; f++) {
        if (omo_fields[f].offset == offsetof(struct omo_step, kind) &&
            omo_fields[f].kinds == OMO_KEY_ANY_STEP)
            wrong_word(lines, kind != NULL ? kind : &missing, &omo_fields[f]);
    }
    return false;
}

void omo_fields_programme(struct omo_lines *lines, struct omo_block *block,
                          struct omo_programme *programme)
{
    read_block(lines, block, OMO_KEY_PROGRAMME, "[programme]", (char *)programme);
}
