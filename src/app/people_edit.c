/* What is typed into a sheet: all of it is checked before any of it is written. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/people.h"
#include "omogon/log.h"
#include "omogon/programme.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define BIRTH_YEAR_LEAST 1900
#define HEIGHT_LEAST_CM  50
#define HEIGHT_MOST_CM   250
#define WEIGHT_MOST_KG   2.5 /* as a programme's step: our choice */
#define ACTIVITIES       3

struct omo_people_change *omo_people_change_add(struct omo_people_edit *edit,
                                                enum omo_table_kind kind)
{
    const char *person = edit->words->person, *by = edit->words->set_by;
    struct omo_people_change *change;

    g_array_set_size(edit->changes, edit->changes->len + 1);
    change =
        &g_array_index(edit->changes, struct omo_people_change, edit->changes->len - 1);
    change->kind = kind;
    omo_table_row_init(kind, &change->row);
    if (kind == OMO_TABLE_SHEET) {
        struct omo_sheet_row *row = &change->row.sheet;

        omo_text_copy(row->person, sizeof row->person, person);
        omo_text_copy(row->set_on, sizeof row->set_on, edit->now);
        omo_text_copy(row->set_by, sizeof row->set_by, by);
    } else if (kind == OMO_TABLE_LIMITS) {
        struct omo_limit_row *row = &change->row.limit;

        omo_text_copy(row->person, sizeof row->person, person);
        omo_text_copy(row->set_on, sizeof row->set_on, edit->now);
        omo_text_copy(row->set_by, sizeof row->set_by, by);
    } else if (kind == OMO_TABLE_NOTES) {
        struct omo_note_row *row = &change->row.note;

        omo_text_copy(row->person, sizeof row->person, person);
        omo_text_copy(row->written, sizeof row->written, edit->now);
        omo_text_copy(row->detail, sizeof row->detail, by);
    }
    return change;
}

void omo_people_change_say(struct omo_people_change *change, const char *what,
                           const char *now, const char *before)
{
    omo_text_add(change->said, sizeof change->said, omo_word("  %s: %s (before: %s)\n"),
                 what, now[0] ? omo_people_word(now) : omo_word("nothing"),
                 before[0] ? omo_people_word(before) : omo_word("nothing"));
}

/* A fact of the sheet, when it is not what the sheet says already. */
static void set_fact(struct omo_people_edit *edit, const char *item, const char *value,
                     const char *note, const char *what)
{
    const char *before = omo_person_value(edit->tables, edit->words->person, item);
    struct omo_people_change *change;

    if (strcmp(before, value) == 0)
        return;
    change = omo_people_change_add(edit, OMO_TABLE_SHEET);
    omo_text_copy(change->row.sheet.item, sizeof change->row.sheet.item, item);
    omo_text_copy(change->row.sheet.value, sizeof change->row.sheet.value, value);
    omo_text_copy(change->row.sheet.note, sizeof change->row.sheet.note, note);
    omo_people_change_say(change, what, value, before);
}

bool omo_people_says_yes(const struct omo_person_tables *tables, const char *person,
                         const char *kind, const char *name)
{
    g_autofree char *item = g_strconcat(kind, ":", name, NULL);

    return strcmp(omo_person_value(tables, person, item), "yes") == 0;
}

/* ---- who the person is
 * ----------------------------------------------------------------- */

static bool one_of(const char *option, const char *word, const char *const *words)
{
    if (word == NULL || g_strv_contains(words, word))
        return true;
    g_autofree char *list = g_strjoinv(", ", (char **)words);
    omo_error("--%s \"%s\" is unknown; use one of: %s", option, word, list);
    return false;
}

static bool number_between(const char *option, const char *word, double least,
                           double most, const char *unit, double *out)
{
    if (word == NULL)
        return true;
    if (omo_number_parse(word, out) && *out >= least && *out <= most)
        return true;
    omo_error("--%s \"%s\" cannot be; give %g to %g%s", option, word, least, most, unit);
    return false;
}

static void set_text(struct omo_people_change *change, char *field, size_t size,
                     const char *word, const char *what)
{
    if (word == NULL || strcmp(field, word) == 0)
        return;
    omo_people_change_say(change, what, word, field);
    omo_text_copy(field, size, word);
}

static void set_number(struct omo_people_change *change, double *field, double value,
                       const char *what)
{
    char now[32], before[32];

    if (fabs(*field - value) < 0.005) /* as the file tells them apart */
        return;
    omo_number_text(value, 0, now, sizeof now);
    omo_number_text(*field, 0, before, sizeof before);
    omo_people_change_say(change, what, now, before);
    *field = value;
}

static bool gather_person(struct omo_people_edit *edit)
{
    static const char *const sexes[] = {"female", "male", "other", NULL};
    static const char *const sides[] = {"left", "right", NULL};
    static const char *const affected[] = {"left", "right", "both", NULL};
    const struct omo_people_words *w = edit->words;
    const struct omo_person_row *who = omo_person_who(edit->tables, w->person);
    double year = NAN, height_cm = NAN, year_before;
    struct omo_people_change *change;
    struct omo_person_row *row;

    if (!one_of("sex", w->sex, sexes) || !one_of("dominant", w->dominant, sides) ||
        !one_of("affected", w->affected, affected) ||
        !number_between("birth-year", w->birth_year, BIRTH_YEAR_LEAST, atoi(edit->today),
                        "", &year) ||
        !number_between("height", w->height, HEIGHT_LEAST_CM, HEIGHT_MOST_CM, " (cm)",
                        &height_cm))
        return false;
    change = omo_people_change_add(edit, OMO_TABLE_PEOPLE);
    row = &change->row.person;
    if (who != NULL)
        *row = *who;
    else
        omo_text_add(change->said, sizeof change->said, "%s",
                     omo_word("  added to the list\n"));
    omo_text_copy(row->person, sizeof row->person, w->person);
    omo_text_copy(row->set_on, sizeof row->set_on, edit->now);
    omo_text_copy(row->set_by, sizeof row->set_by, w->set_by);
    year_before = row->birth_year < 0 ? (double)NAN : (double)row->birth_year;
    if (isfinite(year) && (!isfinite(year_before) || (int)year != row->birth_year)) {
        set_number(change, &year_before, floor(year), omo_word("born in"));
        row->birth_year = (int)year;
    }
    set_text(change, row->sex, sizeof row->sex, w->sex, omo_word("sex"));
    if (isfinite(height_cm) &&
        (!isfinite(row->height_cm) || fabs(row->height_cm - height_cm) >= 0.005))
        set_number(change, &row->height_cm, height_cm, omo_word("height in cm"));
    set_text(change, row->dominant_side, sizeof row->dominant_side, w->dominant,
             omo_word("dominant"));
    set_text(change, row->affected_side, sizeof row->affected_side, w->affected,
             omo_word("affected"));
    if (change->said[0] == '\0')
        g_array_set_size(edit->changes, edit->changes->len - 1);
    return true;
}

/* ---- history, what was taught, weight, programme ---------------------------------- */

static int history_bit(const char *name)
{
    for (int bit = 0; omo_history_name(bit) != NULL; bit++)
        if (strcmp(omo_history_name(bit), name) == 0)
            return bit;
    return -1;
}

static bool gather_history(struct omo_people_edit *edit, char **lists, const char *value)
{
    for (char **list = lists; list != NULL && *list != NULL; list++) {
        g_auto(GStrv) names = g_strsplit(*list, ",", -1);

        for (char **name = names; *name != NULL; name++) {
            g_autofree char *item = g_strconcat("history:", *name, NULL);
            int bit = history_bit(*name);

            if (bit < 0) {
                omo_error("\"%s\" is no history that is known; \"omogon people --help\" "
                          "lists them",
                          *name);
                return false;
            }
            /* Never said is no. */
            if (strcmp(value, "yes") == 0 ||
                omo_people_says_yes(edit->tables, edit->words->person, "history", *name))
                set_fact(edit, item, value, "", omo_word(omo_history_words(bit)));
        }
    }
    return true;
}

static bool gather_taught(struct omo_people_edit *edit, char **names, const char *value)
{
    for (char **name = names; name != NULL && *name != NULL; name++) {
        const struct omo_area *area = omo_area_find(*name);
        g_autofree char *item = g_strconcat("taught:", *name, NULL);

        if (area == NULL || !area->taught) {
            omo_error("\"%s\" is no area that has to be taught; \"omogon people --help\" "
                      "lists them",
                      *name);
            return false;
        }
        if (strcmp(value, "yes") == 0 ||
            omo_people_says_yes(edit->tables, edit->words->person, "taught", *name))
            set_fact(edit, item, value, "", omo_word(area->words));
    }
    return true;
}

/* Said again, it begins anew again, so it is never "said already". */
static bool gather_taken_up(struct omo_people_edit *edit)
{
    for (char **name = edit->words->taken_up; name != NULL && *name != NULL; name++) {
        const struct omo_area *area = omo_area_find(*name);
        struct omo_people_change *change;

        if (area == NULL) {
            omo_error("\"%s\" is no area that is known; a programme's file names them",
                      *name);
            return false;
        }
        change = omo_people_change_add(edit, OMO_TABLE_SHEET);
        omo_text_add(change->row.sheet.item, sizeof change->row.sheet.item, "taken-up:%s",
                     *name);
        strcpy(change->row.sheet.value, "yes");
        omo_text_add(change->said, sizeof change->said,
                     omo_word("  taken up again: %s; what was pressed there before no "
                              "longer counts\n"),
                     omo_word(area->words));
    }
    return true;
}

static bool gather_mark(struct omo_people_edit *edit)
{
    if (edit->words->mark == NULL)
        return true;
    if (!omo_people_mark_valid(edit->words->mark))
        return false;
    set_fact(edit, "mark", edit->words->mark, "", omo_word("mark"));
    return true;
}

static bool gather_weight(struct omo_people_edit *edit)
{
    const char *word = edit->words->weight;
    char value[32] = "none";
    double kg;

    if (word == NULL)
        return true;
    if (strcmp(word, "none") != 0) {
        if (!omo_number_parse(word, &kg) || kg <= 0 || kg > WEIGHT_MOST_KG) {
            omo_error("--weight \"%s\" cannot be; give none, or up to %g (kg)", word,
                      WEIGHT_MOST_KG);
            return false;
        }
        omo_number_text(kg, 2, value, sizeof value);
    }
    set_fact(edit, "weight", value, "", omo_word("hand weight in kg"));
    return true;
}

static bool gather_programme(struct omo_people_edit *edit)
{
    const char *word = edit->words->programme;
    g_autofree struct omo_programme *programme = NULL;
    g_autofree char *path = NULL;

    if (word == NULL)
        return true;
    /* A file keeps its place, wherever the next session is started; a name is a name. */
    path = g_file_test(word, G_FILE_TEST_EXISTS) ? g_canonicalize_filename(word, NULL)
                                                 : g_strdup(word);
    if (strlen(path) >= sizeof((struct omo_sheet_row *)0)->value) {
        omo_error("the path of the programme is too long; put the file into a folder "
                  "nearer to the top");
        return false;
    }
    programme = g_new0(struct omo_programme, 1);
    if (omo_programme_load(path, programme) != OMO_OK)
        return false;
    set_fact(edit, "programme", path, programme->title, omo_word("programme"));
    return true;
}

static bool gather_activities(struct omo_people_edit *edit)
{
    for (char **word = edit->words->activities; word != NULL && *word != NULL; word++) {
        const char *text = *word;
        g_autofree char *item = NULL;

        if (text[0] < '1' || text[0] > '0' + ACTIVITIES || text[1] != ':' ||
            text[2] == '\0' ||
            strlen(text + 2) >= sizeof((struct omo_sheet_row *)0)->value) {
            omo_error("--activity \"%s\" is not understood; give 1:, 2: or 3: and a few "
                      "words, as in --activity \"1:reach the top shelf\"",
                      text);
            return false;
        }
        item = g_strdup_printf("activity:%c", text[0]);
        set_fact(edit, item, text + 2, "", omo_word("activity of their own choosing"));
    }
    return true;
}

static bool gather_notes(struct omo_people_edit *edit)
{
    for (char **text = edit->words->notes; text != NULL && *text != NULL; text++) {
        struct omo_people_change *change;

        if (**text == '\0' || strlen(*text) >= sizeof((struct omo_note_row *)0)->text) {
            omo_error("--note is empty or longer than %zu letters; give a shorter one, "
                      "or several",
                      sizeof((struct omo_note_row *)0)->text - 1);
            return false;
        }
        change = omo_people_change_add(edit, OMO_TABLE_NOTES);
        strcpy(change->row.note.item, "note");
        omo_text_copy(change->row.note.text, sizeof change->row.note.text, *text);
        omo_text_add(change->said, sizeof change->said, omo_word("  noted: %s\n"), *text);
    }
    return true;
}

/* ---- all of it -------------------------------------------------------------------- */

bool omo_people_edits(const struct omo_people_words *w)
{
    return w->add || w->birth_year || w->sex || w->height || w->dominant || w->affected ||
           w->history || w->no_history || w->taught || w->not_taught || w->limits ||
           w->activities || w->notes || w->weight || w->programme || w->arms;
}

static bool gather_protocol(struct omo_people_edit *edit)
{
    static const char *const arms[] = {"one", "both", NULL};

    if (!one_of("arms", edit->words->arms, arms))
        return false;
    if (edit->words->arms != NULL)
        set_fact(edit, "arms", edit->words->arms, "", omo_word("measured at once"));
    return true;
}

bool omo_people_gather(struct omo_people_edit *edit)
{
    const struct omo_people_words *w = edit->words;

    if (w->set_by == NULL || !omo_pseudonym_valid(w->set_by)) {
        omo_error("say who makes the change: --set-by CODE, 1 to 16 letters and digits, "
                  "never a name or a date");
        return false;
    }
    if (w->add && omo_person_who(edit->tables, w->person) != NULL) {
        omo_error("that person is in the list already; leave --add out");
        return false;
    }
    if (!w->add && omo_person_who(edit->tables, w->person) == NULL) {
        omo_error("that person is not in the list yet; give --add too, or check the "
                  "pseudonym");
        return false;
    }
    return gather_person(edit) && gather_history(edit, w->history, "yes") &&
           gather_history(edit, w->no_history, "no") &&
           gather_taught(edit, w->taught, "yes") &&
           gather_taught(edit, w->not_taught, "no") && gather_taken_up(edit) &&
           gather_weight(edit) && gather_mark(edit) && gather_programme(edit) &&
           gather_protocol(edit) && omo_people_gather_limits(edit) &&
           gather_activities(edit) && gather_notes(edit);
}
