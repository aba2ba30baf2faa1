/** What every fuzz target needs: messages are counted, a broken claim ends the run. */
#ifndef OMO_FUZZ_CLAIMS_H
#define OMO_FUZZ_CLAIMS_H

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/log.h"

int LLVMFuzzerInitialize(int *argc, char ***argv);
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

static int sentences;

static void count_sentences(enum omo_log_level level, const char *text, void *user)
{
    (void)level;
    (void)user;
    sentences += text[0] != '\0';
}

int LLVMFuzzerInitialize(int *argc, char ***argv)
{
    (void)argc;
    (void)argv;
    omo_log_set_handler(count_sentences, NULL);
    return 0;
}

static void demand(bool condition, const char *claim)
{
    if (condition)
        return;
    fprintf(stderr, "does not hold: %s\n", claim);
    abort();
}

#endif
