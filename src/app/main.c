#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>

#include <glib.h>

#include "app/commands.h"
#include "app/measure_options.h"
#include "app/pace.h"
#include "app/start.h"
#include "omogon/clock.h"
#include "omogon/text.h"
#include "omogon/words.h"

static const struct {
    const char *name;
    int (*run)(int argc, char **argv);
    const char *summary;
} commands[] = {
    {"demo", omo_command_demo,
     OMO_WORD("the whole job on an invented person, in under a minute")},
    {"measure", omo_command_measure, OMO_WORD("measure with the camera, hands free")},
    {"session", omo_command_session,
     OMO_WORD("a programme step by step: gentle work, guided, counted, written down")},
    {"check", omo_command_check,
     OMO_WORD("camera, light, distance and markers: good, or what to change")},
    {"trace", omo_command_trace,
     OMO_WORD("measure clips: an angle for every frame, a maximum")},
    {"colours", omo_command_colours,
     OMO_WORD("learn and check the markers' colours from a picture")},
    {"stickers", omo_command_stickers,
     OMO_WORD("the sheet of stickers to print, and where they go")},
    {"lens", omo_command_lens,
     OMO_WORD("what the camera's lens does, and how the camera stands")},
    {"progress", omo_command_progress,
     OMO_WORD("a course of weeks: table, trend, and whether it is more than error")},
    {"report", omo_command_report,
     OMO_WORD("one page to file, as PDF and as HTML: a course of weeks or one day")},
    {"bundle", omo_command_bundle,
     OMO_WORD("one file for the clinic with all of a person; or takes one in")},
    {"analyse", omo_command_analyse,
     OMO_WORD("each repetition of a trace: speed, smoothness, raising and lowering")},
    {"agreement", omo_command_agreement,
     OMO_WORD("how well measurements repeat: ICC, SEM, limits of agreement")},
    {"export", omo_command_export,
     OMO_WORD("the record in open formats: Motion-BIDS, tables, FHIR")},
    {"edit", omo_command_edit,
     OMO_WORD("withdraw or replace a session; rename or delete a person")},
    {"people", omo_command_people,
     OMO_WORD("the practitioner's side: who is in the record, and a sheet for each")},
    {"desk", omo_command_desk,
     OMO_WORD("three questions at an interval: how the arm is held at a desk")},
};
#define COMMAND_COUNT (sizeof commands / sizeof commands[0])

static void print_help(FILE *to)
{
    fputs(omo_word(
              "omogon measures how far a shoulder moves, with a camera or from a video "
              "of a person\nwho wears a few coloured stickers or bands.\n\n"
              "Usage: omogon COMMAND [OPTION...]\n\n"),
          to);
    for (size_t i = 0; i < COMMAND_COUNT; i++)
        fprintf(to, "  %-10s %s\n", commands[i].name, omo_word(commands[i].summary));
    fputs(omo_word("\nStart with: omogon demo\n"
                   "Then:       omogon measure --movement flexion --side right\n"
                   "A clip:     omogon trace CLIP --movement flexion --side right\n"
                   "The window with all of it: omogon, without a word, where there is a "
                   "display.\n"
                   "Each command explains itself: omogon COMMAND --help\n"),
          to);
    fprintf(to, "\n%s", omo_word(OMO_CAUTION));
}

/** Courses that wait for seconds can be watched, and tested, faster than life. */
static void set_clock_rate(void)
{
    const char *text = getenv("OMOGON_CLOCK_RATE");
    double rate;
    if (text && omo_number_parse(text, &rate))
        omo_clock_set_rate(rate);
}

int main(int argc, char **argv)
{
    omo_pace_process_begins();
    setlocale(LC_ALL, "");
    omo_words_bind();
    set_clock_rate();
    /* What is written here is about people's health: for the owner alone, and no
     * picture of a person in a core file. */
    umask(077);
    setrlimit(RLIMIT_CORE, &(struct rlimit){0, 0});

    if (argc < 2) {
        if (omo_display_there())
            return omo_start_pages();
        print_help(stdout);
        return OMO_EXIT_DONE;
    }
    const char *word = argv[1];
    if (!strcmp(word, "--help") || !strcmp(word, "-h") || !strcmp(word, "help")) {
        print_help(stdout);
        return OMO_EXIT_DONE;
    }
    if (!strcmp(word, "--version")) {
        puts("omogon " OMO_VERSION);
        return OMO_EXIT_DONE;
    }
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        if (!strcmp(word, commands[i].name)) {
            g_autofree char *shown = g_strdup_printf("omogon %s", word);
            g_set_prgname(shown); /* so that --help shows the call as it is typed */
            return commands[i].run(argc - 1, argv + 1);
        }
    }
    fprintf(stderr, "omogon: there is no command \"%s\"; \"omogon --help\" lists them\n",
            word);
    return OMO_EXIT_USAGE;
}
