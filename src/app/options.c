#include "app/options.h"

#include <stddef.h>
#include <stdio.h>

#include "app/commands.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"

void omo_options_add(GOptionContext *context, struct omo_option_words *w)
{
    const GOptionEntry entries[] = {
        {"movement", 'm', 0, G_OPTION_ARG_STRING, &w->movement,
         OMO_WORD(
             "flexion, extension, abduction, adduction, scaption, external-rotation, "
             "internal-rotation or pendulum"),
         "WORD"},
        {"side", 's', 0, G_OPTION_ARG_STRING, &w->side,
         OMO_WORD("the person's own left or right; from the front also both"), "SIDE"},
        {"position", 0, 0, G_OPTION_ARG_STRING, &w->position,
         OMO_WORD("standing, seated, supine, side-lying or prone (default: the "
                  "movement's own)"),
         "WORD"},
        {"mode", 0, 0, G_OPTION_ARG_STRING, &w->mode,
         OMO_WORD("active (default), assisted or passive"), "WORD"},
        {"from", 0, 0, G_OPTION_ARG_STRING, &w->from,
         OMO_WORD("front view: the camera is in front (default) or behind. With "
                  "external-rotation \"front\" is the second choice, by the forearm's "
                  "foreshortening and with bands: blind near zero, where the hand hides "
                  "the wrist, and less certain by 1/cos, twice at 60 degrees"),
         "front|behind"},
        {"facing", 0, 0, G_OPTION_ARG_STRING, &w->facing,
         OMO_WORD("side view: where the person looks in the picture (default: a right "
                  "side faces "
                  "right)"),
         "left|right"},
        {"mirrored", 0, 0, G_OPTION_ARG_NONE, &w->mirrored,
         OMO_WORD("the clip is a mirror image, as some phones save selfies"), NULL},
        {"colours", 'c', 0, G_OPTION_ARG_STRING, &w->colours,
         OMO_WORD("marker colours: a built-in set's name or a file (see omogon colours)"),
         "SET"},
        {"marker-size", 0, 0, G_OPTION_ARG_STRING, &w->marker_size,
         OMO_WORD(
             "diameter of the round stickers in mm: gives the shoulder's rise in mm"),
         "MM"},
        {"lens", 0, 0, G_OPTION_ARG_FILENAME, &w->lens,
         OMO_WORD("lens profile: a name or file (see omogon lens), or none"), "NAME"},
        {"at-abduction", 0, 0, G_OPTION_ARG_STRING, &w->abduction,
         OMO_WORD("rotations: how far the upper arm is held out to the side, in degrees"),
         "DEG"},
        {"forearm", 0, 0, G_OPTION_ARG_STRING, &w->forearm,
         OMO_WORD(
             "external-rotation from in front: elbow crease to wrist band in mm, "
             "with --marker-size (default: learnt while the arm hangs straight, else "
             "guessed)"),
         "MM"},
        {"placement", 0, 0, G_OPTION_ARG_STRING, &w->placement,
         OMO_WORD("what the markers sit on: skin, band or sleeve"), "WORD"},
        {"shoulder-marker", 0, 0, G_OPTION_ARG_STRING, &w->shoulder_marker,
         OMO_WORD("where it sits: over-head (two finger-widths below the bony edge), "
                  "on-edge, or not-told: then the movement decides"),
         "WORD"},
        {"arms", 0, 0, G_OPTION_ARG_STRING, &w->arms, OMO_WORD("one arm moves, or both"),
         "one|both"},
        {"person", 'p', 0, G_OPTION_ARG_STRING, &w->person,
         OMO_WORD("a code of 1 to 16 letters and digits, never a name"), "CODE"},
        {"visit", 0, 0, G_OPTION_ARG_STRING, &w->visit, OMO_WORD("a label of the visit"),
         "CODE"},
        {"rater", 0, 0, G_OPTION_ARG_STRING, &w->rater,
         OMO_WORD("who measured, as a code"), "CODE"},
        {"note", 0, 0, G_OPTION_ARG_STRING, &w->note,
         OMO_WORD("a remark kept with the row"), "TEXT"},
        {"cutoff", 0, 0, G_OPTION_ARG_STRING, &w->cutoff,
         OMO_WORD("low-pass cut-off of saved angles in Hz (default 6)"), "HZ"},
        {"data", 0, 0, G_OPTION_ARG_FILENAME, &w->data,
         OMO_WORD("the record's folder (default: omogon in the user's data folder)"),
         "DIR"},
        {"out", 'o', 0, G_OPTION_ARG_FILENAME, &w->out,
         OMO_WORD("a record for this run alone, all files flat in DIR"), "DIR"},
        {0},
    };
    g_option_context_add_main_entries(context, entries, NULL);
}

static const char *translate(const char *text, gpointer user)
{
    (void)user;
    return omo_word(text);
}

void omo_help_texts(GOptionContext *context, const char *summary, const char *description,
                    bool with_caution)
{
    g_autofree char *below =
        g_strconcat(description ? omo_word(description) : "", with_caution ? "\n" : "",
                    with_caution ? omo_word(OMO_CAUTION) : "", NULL);
    g_option_context_set_summary(context, omo_word(summary));
    g_option_context_set_description(context, below);
    g_option_group_set_translate_func(g_option_context_get_main_group(context), translate,
                                      NULL, NULL);
}

/* One list for every place that names the options: a manifest's columns, a provenance. */
#define WORD(name, field, changes_trace)                                                 \
    {                                                                                    \
        name, offsetof(struct omo_option_words, field), changes_trace                    \
    }
const struct omo_option_word omo_option_word_list[] = {
    WORD("person", person, false),
    WORD("visit", visit, false),
    WORD("rater", rater, false),
    WORD("note", note, false),
    WORD("movement", movement, true),
    WORD("side", side, true),
    WORD("from", from, true),
    WORD("facing", facing, true),
    WORD("position", position, true),
    WORD("mode", mode, true),
    WORD("arms", arms, true),
    WORD("placement", placement, true),
    WORD("shoulder-marker", shoulder_marker, true),
    WORD("colours", colours, true),
    WORD("cutoff", cutoff, true),
    WORD("marker-size", marker_size, true),
    WORD("at-abduction", abduction, true),
    WORD("forearm", forearm, true),
    WORD("lens", lens, true),
    {NULL, 0, false},
};

char **omo_option_word_at(const struct omo_option_words *words,
                          const struct omo_option_word *word)
{
    return (char **)(void *)((char *)(uintptr_t)words + word->offset);
}

void omo_options_finish(struct omo_option_words *w)
{
    for (const struct omo_option_word *word = omo_option_word_list; word->name; word++)
        g_clear_pointer(omo_option_word_at(w, word), g_free);
    g_clear_pointer(&w->data, g_free);
    g_clear_pointer(&w->out, g_free);
}

bool omo_options_parse(GOptionContext *context, int *argc, char ***argv)
{
    g_autoptr(GError) error = NULL;
    if (g_option_context_parse(context, argc, argv, &error))
        return true;
    omo_error("%s; \"omogon %s --help\" lists the options", error->message, *argv[0]);
    return false;
}

enum omo_status omo_open_record(const struct omo_option_words *w,
                                struct omo_record **record, char *directory, size_t size)
{
    if (w->out) {
        omo_text_copy(directory, size, w->out);
        return omo_record_open(w->out, true, record);
    }
    g_autofree char *home = g_build_filename(g_get_user_data_dir(), "omogon", NULL);
    const char *data = w->data ? w->data : home;
    omo_text_copy(directory, size, data);
    return omo_record_open(data, false, record);
}

bool omo_day_valid(const char *option, const char *day)
{
    int year, month, date, end = 0;
    if (!day || (sscanf(day, "%4d-%2d-%2d%n", &year, &month, &date, &end) == 3 &&
                 end == 10 && !day[10] && year > 0 && month > 0 && date > 0 &&
                 g_date_valid_dmy((GDateDay)date, (GDateMonth)month, (GDateYear)year)))
        return true;
    omo_error("--%s \"%s\" is no day; write it as 2026-01-31", option, day);
    return false;
}
