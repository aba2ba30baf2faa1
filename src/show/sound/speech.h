/** Sentences through espeak-ng, a program of its own. Without it nothing is said. */
#ifndef OMO_SHOW_SPEECH_H
#define OMO_SHOW_SPEECH_H

#include <stdbool.h>
#include <sys/types.h>

struct omo_speech {
    char voice[16];
    pid_t running; /**< of the sentence being said; 0 none */
};

/** `language` as a locale or a catalogue names it: "en", "de", "de_DE". */
void omo_speech_init(struct omo_speech *speech, const char *language);
/** Begins a sentence and cuts off the one before. Does not wait. */
void omo_speech_say(struct omo_speech *speech, const char *sentence);
/** Whether a sentence is still being said. Asked now and then, it leaves no dead child.
 */
bool omo_speech_busy(struct omo_speech *speech);
void omo_speech_stop(struct omo_speech *speech);

#endif
