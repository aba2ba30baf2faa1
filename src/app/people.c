#include "app/people.h"

#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/options.h"
#include "app/overview.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

static void add_names(GString *text, const char *name)
{
    g_string_append_printf(text, " %s", name);
}

/* The names that --history and --taught take: the same lists as the rules use. */
static char *description(void)
{
    GString *text = g_string_new(omo_word("History:"));

    for (int bit = 0; omo_history_name(bit) != NULL; bit++)
        add_names(text, omo_history_name(bit));
    g_string_append(text, omo_word("\nAreas that have to be taught:"));
    for (int i = 0; omo_area_at(i) != NULL; i++)
        if (omo_area_at(i)->taught)
            add_names(text, omo_area_at(i)->name);
    g_string_append(
        text,
        omo_word(
            "\n\nA limit is MOVEMENT:SIDE:DEGREES:ALLOWED, where MOVEMENT may be all, "
            "SIDE both,\nDEGREES none and "
            "ALLOWED is\nnone, assisted or active; a weight in kg may stand behind it. "
            "MOVEMENT:SIDE:withdrawn\ntakes it back. It stays in force when its day has "
            "passed.\n"
            "Every change is a new row that says who made it and when; nothing is "
            "changed in place.\n\n"
            "Examples:\n"
            "  omogon people\n"
            "  omogon people --person P001 --add --affected right --set-by R1\n"
            "  omogon people --person P001 --limit abduction:right:90:assisted "
            "--valid-until 2027-01-31 --set-by R1\n"
            "  omogon people --person P001 --programme regaining-range --arms one "
            "--set-by R1\n"));
    return g_string_free(text, FALSE);
}

static GOptionContext *make_context(struct omo_people_words *w)
{
    const GOptionEntry entries[] = {
        {"person", 0, 0, G_OPTION_ARG_STRING, &w->person,
         OMO_WORD("whose sheet to show or to change"), "CODE"},
        {"set-by", 0, 0, G_OPTION_ARG_STRING, &w->set_by,
         OMO_WORD("who makes the change; every change needs it"), "CODE"},
        {"add", 0, 0, G_OPTION_ARG_NONE, &w->add,
         OMO_WORD("put a new person in the list"), NULL},
        {"birth-year", 0, 0, G_OPTION_ARG_STRING, &w->birth_year,
         OMO_WORD("year of birth"), "YEAR"},
        {"sex", 0, 0, G_OPTION_ARG_STRING, &w->sex, OMO_WORD("female, male or other"),
         "WORD"},
        {"height", 0, 0, G_OPTION_ARG_STRING, &w->height, OMO_WORD("height"), "CM"},
        {"dominant", 0, 0, G_OPTION_ARG_STRING, &w->dominant,
         OMO_WORD("the side that writes"), "left|right"},
        {"affected", 0, 0, G_OPTION_ARG_STRING, &w->affected,
         OMO_WORD("the side that is stiff or sore"), "left|right|both"},
        {"history", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->history,
         OMO_WORD("what the rules have to know, listed below"), "WORD[,WORD]"},
        {"no-history", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->no_history,
         OMO_WORD("takes such a word back"), "WORD[,WORD]"},
        {"taught", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->taught,
         OMO_WORD("an area that was taught in person, listed below"), "AREA"},
        {"not-taught", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->not_taught,
         OMO_WORD("takes it back"), "AREA"},
        {"weight", 0, 0, G_OPTION_ARG_STRING, &w->weight,
         OMO_WORD("the most a hand weight may be"), "KG|none"},
        {"take-up", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->taken_up,
         OMO_WORD("an area that was given up begins anew"), "AREA"},
        {"mark", 0, 0, G_OPTION_ARG_STRING, &w->mark,
         OMO_WORD("your own mark for one movement, never above its limit; :above lets it "
                  "lie above what was reached lately"),
         "MOVEMENT:SIDE:DEGREES[:above]|none"},
        {"programme", 0, 0, G_OPTION_ARG_STRING, &w->programme,
         OMO_WORD("the programme: a file, or a starter's name"), "FILE"},
        {"arms", 0, 0, G_OPTION_ARG_STRING, &w->arms,
         OMO_WORD("how this course measures: one arm at a time, or both at once"),
         "one|both"},
        {"limit", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->limits,
         OMO_WORD("how far a movement may go, see below; may be given several times"),
         "LIMIT"},
        {"valid-until", 0, 0, G_OPTION_ARG_STRING, &w->valid_until,
         OMO_WORD("the day until which these limits were set"), "YYYY-MM-DD"},
        {"activity", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->activities,
         OMO_WORD("one of three activities of the person's own choosing"), "1..3:TEXT"},
        {"note", 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->notes, OMO_WORD("a remark"),
         "TEXT"},
        {"overview", 0, 0, G_OPTION_ARG_NONE, &w->overview,
         OMO_WORD("instead of the sheet: what to look at before choosing what to do"),
         NULL},
        {"json", 0, 0, G_OPTION_ARG_NONE, &w->json, OMO_WORD("print JSON"), NULL},
        {"data", 0, 0, G_OPTION_ARG_FILENAME, &w->data,
         OMO_WORD("the record (default: your own)"), "DIR"},
        {0},
    };
    GOptionContext *context = g_option_context_new(NULL);
    g_autofree char *below = description();

    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD("The practitioner's side: who is in the record, and a sheet for each "
                 "person with\nlimits, history, programme and the last sessions. Without "
                 "--person everybody is listed."),
        NULL, false);
    g_option_context_set_description(context, below);
    return context;
}

/* ---- changing --------------------------------------------------------------------- */

static bool write_changes(struct omo_people_edit *edit)
{
    for (guint i = 0; i < edit->changes->len; i++) {
        struct omo_people_change *change =
            &g_array_index(edit->changes, struct omo_people_change, i);

        if (omo_table_append(edit->tables->table[change->kind], &change->row) != OMO_OK)
            return false;
        /* Only what is on disk is announced. */
        fputs(change->said, stdout);
        fflush(stdout);
    }
    return true;
}

static int change_sheet(const struct omo_people_words *w,
                        const struct omo_person_tables *tables)
{
    struct omo_people_edit edit = {.words = w, .tables = tables};
    int code = OMO_EXIT_DONE;

    omo_today(edit.today);
    omo_now_utc(edit.now);
    edit.changes = g_array_new(FALSE, TRUE, sizeof(struct omo_people_change));
    if (!omo_people_gather(&edit)) {
        code = OMO_EXIT_USAGE;
    } else if (edit.changes->len == 0) {
        puts(omo_word("Nothing to change: the sheet says so already."));
    } else {
        printf(omo_word("%s, by %s:\n"), w->person, w->set_by);
        code = write_changes(&edit) ? OMO_EXIT_DONE : OMO_EXIT_FAILED;
    }
    g_array_free(edit.changes, TRUE);
    return code;
}

/* ---- showing ---------------------------------------------------------------------- */

static bool is_known(const struct omo_person_tables *tables, const char *person)
{
    g_autoptr(GPtrArray) people = omo_person_all(tables);

    return g_ptr_array_find_with_equal_func(people, person, g_str_equal, NULL);
}

static int show(const struct omo_people_words *w, const struct omo_person_tables *tables)
{
    char today[16];
    enum omo_status status;

    if (w->person == NULL) {
        if (w->json)
            omo_people_json_list(tables);
        else
            omo_people_print_list(tables);
        return OMO_EXIT_DONE;
    }
    if (!is_known(tables, w->person)) {
        omo_error(
            "nothing is known of that person here; \"omogon people\" lists who is in "
            "the record, --add begins a sheet");
        return OMO_EXIT_FAILED;
    }
    omo_today(today);
    if (w->overview)
        status = omo_overview_print(tables, w->person, today, w->json);
    else
        status = w->json ? omo_people_json_sheet(tables, w->person, today)
                         : omo_people_print_sheet(tables, w->person, today);
    return status == OMO_OK ? OMO_EXIT_DONE : OMO_EXIT_FAILED;
}

static bool sensible(const struct omo_people_words *w, bool edits)
{
    if (w->person != NULL && !omo_pseudonym_valid(w->person)) {
        omo_error(
            "--person \"%s\" is not a code; use 1 to 16 letters and digits, never a "
            "name or a date",
            w->person);
        return false;
    }
    if (edits && w->person == NULL) {
        omo_error("say whose sheet is changed: --person CODE");
        return false;
    }
    if (!edits && (w->set_by != NULL || w->valid_until != NULL)) {
        omo_error("--set-by and --valid-until go with a change; \"omogon people --help\" "
                  "lists what can be changed");
        return false;
    }
    if (w->overview && (edits || w->person == NULL)) {
        omo_error(
            "--overview shows one person and changes nothing; give it with --person "
            "alone");
        return false;
    }
    if (edits && w->json) {
        omo_error("--json shows a sheet and changes nothing; give it alone");
        return false;
    }
    return true;
}

static int run(const struct omo_people_words *w)
{
    g_autofree char *home = g_build_filename(g_get_user_data_dir(), "omogon", NULL);
    bool edits = omo_people_edits(w);
    struct omo_person_tables tables;
    int code;

    if (!sensible(w, edits))
        return OMO_EXIT_USAGE;
    if (omo_person_tables_open(w->data != NULL ? w->data : home, &tables) != OMO_OK)
        return OMO_EXIT_FAILED;
    code = edits ? change_sheet(w, &tables) : show(w, &tables);
    omo_person_tables_close(&tables);
    return code;
}

int omo_command_people(int argc, char **argv)
{
    struct omo_people_words w = {0};
    GOptionContext *context = make_context(&w);
    int code = OMO_EXIT_USAGE;

    if (omo_options_parse(context, &argc, &argv)) {
        if (argc > 1)
            omo_error("\"%s\" is not understood; \"omogon people --help\" shows how",
                      argv[1]);
        else
            code = run(&w);
    }
    g_option_context_free(context);
    char *texts[] = {w.person, w.set_by,    w.data,     w.birth_year,
                     w.sex,    w.height,    w.dominant, w.affected,
                     w.weight, w.programme, w.arms,     w.valid_until};
    char **lists[] = {w.history, w.no_history, w.taught, w.not_taught,
                      w.limits,  w.activities, w.notes,  w.taken_up};
    for (size_t i = 0; i < G_N_ELEMENTS(texts); i++)
        g_free(texts[i]);
    for (size_t i = 0; i < G_N_ELEMENTS(lists); i++)
        g_strfreev(lists[i]);
    return code;
}
