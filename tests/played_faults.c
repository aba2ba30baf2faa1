#include "played_parts.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const struct {
    const char *name;
    enum played_kind kind;
} names[] = {
    {"unplug", PLAYED_UNPLUG},       {"replug", PLAYED_REPLUG},
    {"stall", PLAYED_STALL},         {"go", PLAYED_GO},
    {"drop", PLAYED_DROP},           {"jitter", PLAYED_JITTER},
    {"resize", PLAYED_RESIZE},       {"short", PLAYED_SHORT},
    {"empty", PLAYED_EMPTY},         {"corrupt", PLAYED_CORRUPT},
    {"junk", PLAYED_JUNK},           {"busy", PLAYED_BUSY},
    {"held", PLAYED_HELD},           {"denied", PLAYED_DENIED},
    {"missing", PLAYED_MISSING},     {"free", PLAYED_FREE},
    {"no-camera", PLAYED_NO_CAMERA},
};

#define MOST 64
static struct played_fault planned[MOST];
static int planned_count;
static long commands_read; /* bytes of the file of commands */

static void plan(const char *text, size_t length)
{
    char item[64], name[64];
    struct played_fault fault = {.at = -1};
    size_t name_length;
    const char *at, *argument;

    if (length == 0)
        return;
    snprintf(item, sizeof item, "%.*s", (int)length, text);
    name_length = strcspn(item, "@:");
    snprintf(name, sizeof name, "%.*s", (int)name_length, item);
    at = strchr(item, '@');
    argument = strchr(item, ':');
    if (at != NULL)
        fault.at = strtol(at + 1, NULL, 10);
    fault.has_argument = argument != NULL;
    if (argument != NULL)
        fault.argument = strtod(argument + 1, NULL);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strcmp(names[i].name, name) == 0)
            fault.kind = names[i].kind;
    if (fault.kind == PLAYED_NOTHING || planned_count == MOST) {
        fprintf(stderr, "played camera: not a fault: %s\n", item);
        _exit(97);
    }
    planned[planned_count++] = fault;
}

static void plan_list(const char *text, const char *between)
{
    while (text != NULL && *text != '\0') {
        size_t length = strcspn(text, between);

        plan(text, length);
        text += length;
        text += strspn(text, between);
    }
}

void played_faults_begin(void)
{
    plan_list(getenv("OMO_PLAY_STATE"), ";");
    plan_list(getenv("OMO_PLAY_FAULTS"), ";");
}

/* Whole lines that were added to the file of commands since the last look. */
static void read_commands(void)
{
    const char *path = getenv("OMO_PLAY_COMMANDS");
    char text[1024];
    ssize_t length;
    char *end;
    int file;

    if (path == NULL)
        return;
    file = open(path, O_RDONLY | O_CLOEXEC);
    if (file < 0)
        return;
    length = pread(file, text, sizeof text - 1, commands_read);
    close(file);
    if (length <= 0)
        return;
    text[length] = '\0';
    end = strrchr(text, '\n');
    if (end == NULL)
        return;
    *end = '\0';
    commands_read += end + 1 - text;
    plan_list(text, "\n");
}

struct played_fault played_fault_due(long picture)
{
    struct played_fault due = {.kind = PLAYED_NOTHING};

    read_commands();
    for (int i = 0; i < planned_count; i++)
        if (planned[i].at <= picture) {
            due = planned[i];
            planned_count--;
            memmove(&planned[i], &planned[i + 1],
                    (size_t)(planned_count - i) * sizeof planned[0]);
            break;
        }
    return due;
}

size_t played_damage(const struct played_fault *fault, uint8_t *bytes, size_t size)
{
    unsigned state = 1;

    switch (fault->kind) {
    case PLAYED_SHORT:
        return fault->has_argument && (size_t)fault->argument < size
                   ? (size_t)fault->argument
                   : size / 2;
    case PLAYED_EMPTY:
        return 0;
    case PLAYED_JUNK:
        memset(bytes, 0x55, size);
        return size;
    case PLAYED_CORRUPT: /* the middle; no byte of it is a marker's first */
        for (size_t i = size * 2 / 5; i < size * 3 / 5; i++) {
            state = state * 1103515245u + 12345u;
            bytes[i] = (uint8_t)(state >> 16 & 0x7f);
        }
        return size;
    default:
        return size;
    }
}
