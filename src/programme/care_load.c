#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "motion/keys.h"
#include "omogon/care.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/models.h"

#define CARE_FILE      "care.ini"
#define FILE_BYTES_MAX (1u << 18)
#define PATH_BYTES     4096

static const char *const groups[] = {"soreness",   "pain",  "middle-hold", "active-lags",
                                     "whole-list", "mark",  "raises",      "tenderness",
                                     "weight",     "holds", "circles",     "unknown-u95",
                                     NULL};

/** A group with these keys, all needed, and its source. */
static void expect(struct omo_keys *keys, const char *group, const char *first,
                   const char *second)
{
    const char *const allowed[] = {"source", first, second, NULL};
    char source[512];
    omo_keys_only(keys, group, allowed);
    omo_keys_text(keys, group, "source", source, sizeof source);
}

static void whole(struct omo_keys *keys, const char *group, const char *key, int least,
                  int most, int *out)
{
    double number = least;
    omo_keys_number(keys, group, key, least, most, &number);
    if (number != (int)number)
        omo_keys_mistake(keys, group, key, "is not a whole number.");
    *out = (int)number;
}

/* A rule can be made stricter here, or moved; none can be turned off by its figure. */
static void read_care(struct omo_keys *k, struct omo_care *c)
{
    omo_keys_groups(k, groups);
    expect(k, "soreness", "sore_from", "middle_from");
    omo_keys_number(k, "soreness", "sore_from", 1, 10, &c->sore_from);
    omo_keys_number(k, "soreness", "middle_from", 1, 10, &c->middle_from);
    if (!k->failed && c->middle_from > c->sore_from)
        omo_keys_mistake(k, "soreness", "middle_from", "is above sore_from.");
    expect(k, "pain", "limit", "rise");
    omo_keys_number(k, "pain", "limit", 0, 10, &c->pain_limit);
    omo_keys_number(k, "pain", "rise", 1, 10, &c->pain_rise);
    expect(k, "middle-hold", "least_s", "most_s");
    omo_keys_number(k, "middle-hold", "least_s", 1, 30, &c->middle_hold_least_s);
    omo_keys_number(k, "middle-hold", "most_s", 1, 30, &c->middle_hold_most_s);
    if (!k->failed && c->middle_hold_least_s > c->middle_hold_most_s)
        omo_keys_mistake(k, "middle-hold", "least_s", "is above most_s.");
    expect(k, "active-lags", "below_deg", NULL);
    omo_keys_number(k, "active-lags", "below_deg", 5, 90, &c->active_below_assisted_deg);
    expect(k, "whole-list", "gap_days", NULL);
    whole(k, "whole-list", "gap_days", 1, 60, &c->gap_days);
    expect(k, "mark", "sessions", "least");
    whole(k, "mark", "sessions", 1, 15, &c->mark_sessions);
    whole(k, "mark", "least", 1, 15, &c->mark_least);
    if (!k->failed && c->mark_least > c->mark_sessions)
        omo_keys_mistake(k, "mark", "least", "is above sessions.");
    expect(k, "raises", "most", NULL);
    whole(k, "raises", "most", 1, 10, &c->raises_most);
    expect(k, "tenderness", "sessions", "hold_s");
    whole(k, "tenderness", "sessions", 2, 10, &c->tender_sessions);
    omo_keys_number(k, "tenderness", "hold_s", 5, 60, &c->tender_hold_s);
    expect(k, "weight", "circle_cm", "circles");
    omo_keys_number(k, "weight", "circle_cm", 10, 100, &c->wide_circle_cm);
    whole(k, "weight", "circles", 10, 30, &c->wide_circles);
    expect(k, "holds", "step_s", NULL);
    omo_keys_number(k, "holds", "step_s", 1, 30, &c->hold_step_s);
    expect(k, "circles", "least", "step");
    whole(k, "circles", "least", 1, 20, &c->circles_least);
    whole(k, "circles", "step", 1, 5, &c->circles_step);
    expect(k, "unknown-u95", "deg", NULL);
    omo_keys_number(k, "unknown-u95", "deg", 1, 30, &c->unknown_u95_deg);
}

enum omo_status omo_care_load(const char *path, struct omo_care *out)
{
    char name[PATH_BYTES];
    char *bytes = NULL;
    size_t size = 0;
    struct omo_keys keys;
    struct omo_care care = {.sore_from = 0};
    if (path != NULL) {
        g_strlcpy(name, path, sizeof name);
    } else if (omo_models_path(CARE_FILE, name, sizeof name) != OMO_OK) {
        omo_error("The file %s of the program's models is missing; install the program "
                  "again or set OMOGON_MODELS to the folder that has it.",
                  CARE_FILE);
        return OMO_ERR_OPEN;
    }
    enum omo_status status = omo_file_read(name, FILE_BYTES_MAX, &bytes, &size);
    if (status == OMO_ERR_OPEN)
        omo_error("%s cannot be opened: %s.", name, g_strerror(errno));
    if (status != OMO_OK)
        return status == OMO_ERR_FORMAT ? OMO_ERR_SETTINGS : status;
    status = omo_keys_open(bytes, size, name, &keys);
    if (status == OMO_OK) {
        read_care(&keys, &care);
        status = keys.failed ? OMO_ERR_SETTINGS : OMO_OK;
        omo_keys_close(&keys);
    }
    free(bytes);
    if (status == OMO_OK)
        *out = care;
    return status;
}
