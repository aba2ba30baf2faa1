/**
 * The desk check's three questions, quietly: as notifications with buttons where the
 * desktop shows some, else as one line in the terminal. While nothing is asked, nothing
 * runs; GLib's main loop sleeps in poll().
 */
#ifndef OMO_APP_DESK_ASK_H
#define OMO_APP_DESK_ASK_H

#include <gio/gio.h>
#include <stdbool.h>

#define OMO_DESK_QUESTIONS 3

/** "desk-shoulder-up" ...: the item in notes.csv. */
const char *omo_desk_item(int question);

/** Waiting that a signal ends. */
struct omo_desk_wait {
    GMainLoop *loop;
    bool stopped; /**< by SIGINT, SIGTERM or SIGHUP */
};
void omo_desk_wait_init(struct omo_desk_wait *wait);
void omo_desk_wait_finish(struct omo_desk_wait *wait);
/** Until the loop is left or seconds by omo_clock_ns() are over; false once stopped. */
bool omo_desk_wait_for(struct omo_desk_wait *wait, double seconds);

struct omo_desk_asker;
/** `notify` false: the terminal alone. */
struct omo_desk_asker *omo_desk_asker_create(struct omo_desk_wait *wait, bool notify);
void omo_desk_asker_destroy(struct omo_desk_asker *asker);

/** Says a sentence without a question. */
void omo_desk_say(struct omo_desk_asker *asker, const char *text);
/** Asks and waits: 1 yes, 0 no, -1 not answered. `guidance` "" or a sentence to show. */
void omo_desk_ask(struct omo_desk_asker *asker, const char *guidance,
                  int answer[OMO_DESK_QUESTIONS]);
/** Asked again of it, nobody could answer: standard input has ended and there are no
 *  notifications. */
bool omo_desk_deaf(const struct omo_desk_asker *asker);

#endif
