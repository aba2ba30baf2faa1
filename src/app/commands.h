/** The commands; each gets its own words (argv[0] is the command's name). */
#ifndef OMO_APP_COMMANDS_H
#define OMO_APP_COMMANDS_H

#include "omogon/words.h"

/** What the process returns: 0 done, 1 something could not be measured or written,
 *  2 the call's words are wrong. */
enum omo_exit { OMO_EXIT_DONE = 0, OMO_EXIT_FAILED = 1, OMO_EXIT_USAGE = 2 };

int omo_command_trace(int argc, char **argv);
int omo_command_colours(int argc, char **argv);
int omo_command_demo(int argc, char **argv);
int omo_command_stickers(int argc, char **argv);
int omo_command_measure(int argc, char **argv);
int omo_command_check(int argc, char **argv);
int omo_command_lens(int argc, char **argv);
int omo_command_people(int argc, char **argv);
int omo_command_desk(int argc, char **argv);
int omo_command_session(int argc, char **argv);
int omo_command_progress(int argc, char **argv);
int omo_command_report(int argc, char **argv);
int omo_command_edit(int argc, char **argv);
int omo_command_agreement(int argc, char **argv);
int omo_command_analyse(int argc, char **argv);
int omo_command_export(int argc, char **argv);
int omo_command_bundle(int argc, char **argv);

/** The cautions, as every command that returns figures shows them to a person. */
#define OMO_CAUTION                                                                      \
    OMO_WORD("A measuring and record-keeping aid, not a medical device. Stop at pain. "  \
             "Do not decide\ntreatment on these numbers alone; ask a licensed "          \
             "practitioner, at once if a shoulder is\nhot, swollen, injured or "         \
             "suddenly weak, or there is fever or chest pain.\n")

#endif
