#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/options.h"
#include "app/output_file.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"
#include "show/paper/document.h"

struct stickers_words {
    char *size, *paper, *colours, *side, *out, **rest;
    gboolean bands, modest, bench, force;
};

static GOptionContext *make_context(struct stickers_words *w)
{
    const GOptionEntry entries[] = {
        {"size", 0, 0, G_OPTION_ARG_STRING, &w->size,
         OMO_WORD(
             "how wide the colour is, 25 to 50 (default: 30); tell a measurement with "
             "--marker-size"),
         "MM"},
        {"paper", 0, 0, G_OPTION_ARG_STRING, &w->paper,
         OMO_WORD("a4 (default) or letter"), "a4|letter"},
        {"bands", 0, 0, G_OPTION_ARG_NONE, &w->bands,
         OMO_WORD(
             "strips that go round the arm, over a sleeve or fragile skin; discs for the "
             "trunk"),
         NULL},
        {"colours", 0, 0, G_OPTION_ARG_FILENAME, &w->colours,
         OMO_WORD("colours of a set in models/ or of a file (default: the default set)"),
         "SET"},
        {"side", 0, 0, G_OPTION_ARG_STRING, &w->side,
         OMO_WORD("the person's own side in the pictures (default: right)"),
         "left|right"},
        {"modest", 0, 0, G_OPTION_ARG_NONE, &w->modest,
         OMO_WORD("pictures of a person in a long loose garment and a head scarf"), NULL},
        {"bench-check", 0, 0, G_OPTION_ARG_NONE, &w->bench,
         OMO_WORD("instead: a protractor, steps and a form to check camera and program "
                  "with a hinged board (bench-check.pdf)"),
         NULL},
        {"out", 0, 0, G_OPTION_ARG_FILENAME, &w->out,
         OMO_WORD("a name ending in .pdf, .svg or .png (default: stickers.pdf here)"),
         "FILE"},
        {"force", 0, 0, G_OPTION_ARG_NONE, &w->force,
         OMO_WORD("write over an existing file"), NULL},
        {G_OPTION_REMAINING, 0, 0, G_OPTION_ARG_STRING_ARRAY, &w->rest, NULL, NULL},
        {0},
    };
    GOptionContext *context = g_option_context_new(NULL);
    g_option_context_add_main_entries(context, entries, NULL);
    omo_help_texts(
        context,
        OMO_WORD("Makes the sheet to print: coloured stickers in true size for two sets "
                 "and more, "
                 "a\n"
                 "ruler to check the printer with, pictures of where each sticker goes, "
                 "and the\n"
                 "order for a person alone with one stiff arm."),
        OMO_WORD(
            "Print in colour on matt sticker paper at 100 %, not fitted to the page, and "
            "lay "
            "a\n"
            "ruler on the printed line: it is 100 mm long. Each sticker has a letter for "
            "those\n"
            "who do not tell the colours apart: S shoulder, E elbow, W wrist, H hip, C "
            "chest,\n"
            "and A acromion where the set has one (25 mm across, or the two at the "
            "shoulder\n"
            "touch).\n"
            "A printer's colours differ a little: if a sticker is not found, learn its "
            "colour\n"
            "from a picture with \"omogon colours\".\n\n"
            "A .pdf holds all pages. As .svg or .png every page is a file of its own:\n"
            "sheet.png, sheet-2.png and so on.\n\n"
            "Examples:\n"
            "  omogon stickers\n"
            "  omogon stickers --side left --modest --out left.pdf\n"
            "  omogon stickers --bands --paper letter --out bands.pdf\n"
            "  omogon stickers --colours acromion --size 25\n"
            "  omogon stickers --bench-check\n"),
        true);
    return context;
}

/* ---- the call's words ---- */

static bool one_of(const char *option, const char *word, const char *first,
                   const char *second, bool *is_second)
{
    *is_second = false;
    if (!word || !strcmp(word, first))
        return true;
    *is_second = !strcmp(word, second);
    if (!*is_second)
        omo_error("--%s \"%s\" is not known; give %s or %s", option, word, first, second);
    return *is_second;
}

static bool resolve_set(const struct stickers_words *w, struct omo_marker_set *set)
{
    const char *name = w->colours ? w->colours : "default";
    if (omo_set_load(name, set) != OMO_OK)
        return false;
    for (int i = 0; i < OMO_ACROMION; i++) {
        if (omo_sheet_colour(set, (enum omo_role)i) == 0) {
            omo_error("the set \"%s\" has no colour for the %s; a sheet needs shoulder, "
                      "elbow, wrist and hip",
                      name, omo_role_name((enum omo_role)i));
            return false;
        }
    }
    return true;
}

static bool resolve(const struct stickers_words *w, struct omo_sheet_settings *sheet,
                    struct omo_marker_set *set)
{
    bool right = false;
    if (w->rest) {
        omo_error("\"%s\" is not understood; the file's name goes after --out",
                  w->rest[0]);
        return false;
    }
    sheet->size_mm = 30;
    if (w->size &&
        (!omo_number_parse(w->size, &sheet->size_mm) ||
         sheet->size_mm < OMO_STICKER_LOW_MM || sheet->size_mm > OMO_STICKER_HIGH_MM)) {
        omo_error("--size \"%s\" is no size for a sticker; give %d to %d (mm)", w->size,
                  OMO_STICKER_LOW_MM, OMO_STICKER_HIGH_MM);
        return false;
    }
    if (!one_of("paper", w->paper, "a4", "letter", &sheet->us_letter) ||
        !one_of("side", w->side ? w->side : "right", "left", "right", &right))
        return false;
    sheet->side = right ? OMO_RIGHT : OMO_LEFT;
    sheet->bands = w->bands;
    sheet->modest = w->modest;
    sheet->bench = w->bench;
    sheet->set = set;
    return resolve_set(w, set);
}

static bool kind_of(const char *path, enum omo_paper_kind *kind)
{
    static const char *const endings[] = {".pdf", ".svg", ".png"};
    static const enum omo_paper_kind kinds[] = {OMO_PAPER_PDF, OMO_PAPER_SVG,
                                                OMO_PAPER_PNG};
    for (size_t i = 0; i < G_N_ELEMENTS(endings); i++) {
        size_t length = strlen(path), ending = strlen(endings[i]);
        if (length > ending && !g_ascii_strcasecmp(path + length - ending, endings[i])) {
            *kind = kinds[i];
            return true;
        }
    }
    omo_error("--out \"%s\" has no ending that is known; end it in .pdf, .svg or .png",
              path);
    return false;
}

/* ---- writing ---- */

static enum omo_status write_page(const struct omo_sheet_settings *sheet,
                                  enum omo_paper_kind kind, int page, const char *path)
{
    GByteArray *bytes = NULL;
    enum omo_status status = omo_sheet_bytes(sheet, kind, page, &bytes);
    if (status != OMO_OK)
        return status;
    /* Nothing in it is about a person: a print shop may read it. */
    status = omo_file_write_atomic(path, bytes->data, bytes->len, 0644);
    g_byte_array_unref(bytes);
    return status;
}

static int run_stickers(const struct stickers_words *w)
{
    struct omo_sheet_settings sheet = {0};
    struct omo_marker_set set;
    enum omo_paper_kind kind;
    const char *usual = w->bench ? "bench-check.pdf" : "stickers.pdf";
    const char *path = w->out ? w->out : usual;
    if (!resolve(w, &sheet, &set) || !kind_of(path, &kind))
        return OMO_EXIT_USAGE;

    int files = kind == OMO_PAPER_PDF ? 1 : omo_sheet_pages(&sheet);
    for (int page = 0; page < files; page++) {
        g_autofree char *name = omo_output_numbered(path, page);
        if (!omo_output_free(name, "out", w->force))
            return OMO_EXIT_FAILED;
    }
    for (int page = 0; page < files; page++) {
        g_autofree char *name = omo_output_numbered(path, page);
        if (write_page(&sheet, kind, page, name) != OMO_OK)
            return OMO_EXIT_FAILED;
        printf("saved: %s\n", name);
    }
    puts(w->bench
             ? "Print at 100 %, not fitted to the page; the line at the foot of a page "
               "is 100 mm long."
             : "Print at 100 %, not fitted to the page; the line at the foot is 100 mm "
               "long.");
    return OMO_EXIT_DONE;
}

int omo_command_stickers(int argc, char **argv)
{
    struct stickers_words w = {0};
    GOptionContext *context = make_context(&w);
    int code =
        omo_options_parse(context, &argc, &argv) ? run_stickers(&w) : OMO_EXIT_USAGE;
    g_option_context_free(context);
    g_free(w.size);
    g_free(w.paper);
    g_free(w.colours);
    g_free(w.side);
    g_free(w.out);
    g_strfreev(w.rest);
    return code;
}
