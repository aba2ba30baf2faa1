/**
 * A settings file as its lines, and the mistakes in it. The syntax is GKeyFile's; GLib
 * keeps no line numbers, stops at the first mistake and lets a later group of the same
 * name flow into the first, so the lines are told apart here.
 */
#ifndef OMO_PROGRAMME_LINES_H
#define OMO_PROGRAMME_LINES_H

#include <stdbool.h>
#include <stddef.h>

#include <glib.h>

#include "omogon/status.h"

/** How many sentences a file gets. */
#define OMO_MISTAKES_MOST 20

struct omo_line {
    int number; /**< in the file, from 1 */
    char *key, *value;
    bool known; /**< for who reads: the key has been taken */
};

struct omo_block {
    int number; /**< line of its [name] */
    char *name;
    GArray *lines; /**< of struct omo_line */
};

struct omo_lines {
    char called[256];    /**< for messages; a long path keeps its end */
    GPtrArray *blocks;   /**< of struct omo_block */
    GPtrArray *mistakes; /**< of struct omo_mistake */
};

/** Takes the bytes apart; what is no line of such a file becomes a mistake. */
void omo_lines_open(const char *bytes, size_t size, const char *called,
                    struct omo_lines *lines);
void omo_lines_close(struct omo_lines *lines);

/** The key's first line in the block, or NULL. */
struct omo_line *omo_block_find(const struct omo_block *block, const char *key);

/** Keeps "what; what to do". */
void omo_lines_mistake(struct omo_lines *lines, int number, const char *format, ...)
    OMO_PRINTF(3, 4);
/** Says the first mistakes in the order of their lines; whether there are any. */
bool omo_lines_say(struct omo_lines *lines);

#endif
