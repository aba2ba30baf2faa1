/* What a surgeon or practitioner sets by hand: limits and the mark. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/people.h"
#include "app/person_state.h"
#include "omogon/log.h"
#include "omogon/motion.h"
#include "omogon/programme.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define CEILING_LEAST_DEG (-90.0)
#define CEILING_MOST_DEG  180.0
#define LOAD_MOST_KG      10.0

static bool date_valid(const char *text)
{
    int year, month, day, used = 0;

    return strlen(text) == 10 && strspn(text, "0123456789-") == 10 &&
           sscanf(text, "%4d-%2d-%2d%n", &year, &month, &day, &used) == 3 && used == 10 &&
           year > 0 && month > 0 && month <= 12 && day > 0 &&
           g_date_valid_dmy((GDateDay)day, (GDateMonth)month, (GDateYear)year);
}

static bool say_form(const char *word)
{
    omo_error("--limit \"%s\" is not understood; give MOVEMENT:SIDE:DEGREES or none:"
              "ALLOWED, as in abduction:right:90:assisted, with :KG behind it for a "
              "weight, or MOVEMENT:SIDE:withdrawn",
              word);
    return false;
}

static bool parse_allowed(char *const *part, guint count, const char *word,
                          struct omo_limit_row *row)
{
    static const char *const allowed[] = {"none", "assisted", "active", NULL};

    if (count == 3 && strcmp(part[2], "withdrawn") == 0) {
        omo_text_copy(row->status, sizeof row->status, "withdrawn");
        return true;
    }
    if (count < 4 || count > 5 || !g_strv_contains(allowed, part[3]))
        return say_form(word);
    if (strcmp(part[2], "none") != 0 &&
        (!omo_number_parse(part[2], &row->ceiling_deg) ||
         row->ceiling_deg < CEILING_LEAST_DEG || row->ceiling_deg > CEILING_MOST_DEG)) {
        omo_error("--limit \"%s\": the angle cannot be; give %g to %g (degrees) or none",
                  word, CEILING_LEAST_DEG, CEILING_MOST_DEG);
        return false;
    }
    if (count == 5 && (!omo_number_parse(part[4], &row->load_kg) || row->load_kg <= 0 ||
                       row->load_kg > LOAD_MOST_KG)) {
        omo_error("--limit \"%s\": the weight cannot be; give up to %g (kg), or leave it "
                  "out",
                  word, LOAD_MOST_KG);
        return false;
    }
    omo_text_copy(row->allowed, sizeof row->allowed, part[3]);
    return true;
}

static bool is_movement(const struct omo_movement_table *movements, const char *name)
{
    const struct omo_movement *movement = omo_movement_find(movements, name);

    return movement != NULL && strcmp(movement->key, movement->name) == 0;
}

static bool parse(const struct omo_movement_table *movements, const char *word,
                  struct omo_limit_row *row)
{
    g_auto(GStrv) part = g_strsplit(word, ":", -1);
    static const char *const sides[] = {"left", "right", "both", NULL};
    guint count = g_strv_length(part);

    if (count < 3)
        return say_form(word);
    if (strcmp(part[0], "all") != 0) {
        if (!is_movement(movements, part[0]) && omo_finding_find(part[0]) == NULL) {
            omo_error("--limit \"%s\": there is no movement \"%s\"; \"omogon measure "
                      "--help\" lists them, all stands for every one",
                      word, part[0]);
            return false;
        }
        omo_text_copy(row->movement, sizeof row->movement, part[0]);
    }
    if (!g_strv_contains(sides, part[1])) {
        omo_error("--limit \"%s\": the side is left, right or both", word);
        return false;
    }
    omo_text_copy(row->side, sizeof row->side, part[1]);
    return parse_allowed(part, count, word, row);
}

static bool same_number(double a, double b)
{
    return (isnan(a) && isnan(b)) || fabs(a - b) < 0.0005; /* as the file tells apart */
}

static bool same_limit(const struct omo_limit_row *a, const struct omo_limit_row *b)
{
    return strcmp(a->status, b->status) == 0 && strcmp(a->allowed, b->allowed) == 0 &&
           strcmp(a->valid_until, b->valid_until) == 0 &&
           same_number(a->ceiling_deg, b->ceiling_deg) &&
           same_number(a->load_kg, b->load_kg);
}

static bool gather_one(struct omo_people_edit *edit,
                       const struct omo_movement_table *movements, const char *word)
{
    struct omo_people_change *change = omo_people_change_add(edit, OMO_TABLE_LIMITS);
    struct omo_limit_row *row = &change->row.limit;
    const struct omo_limit_row *before;
    char now[160], was[160] = "";
    bool withdrawn;

    if (!parse(movements, word, row))
        return false;
    withdrawn = strcmp(row->status, "withdrawn") == 0;
    if (edit->words->valid_until != NULL && !withdrawn)
        omo_text_copy(row->valid_until, sizeof row->valid_until,
                      edit->words->valid_until);
    before =
        omo_person_limit(edit->tables, edit->words->person, row->movement, row->side);
    if (before == NULL && withdrawn) {
        omo_error("--limit \"%s\": there is no such limit to withdraw", word);
        return false;
    }
    if (before != NULL && same_limit(before, row)) {
        g_array_set_size(edit->changes, edit->changes->len - 1);
        return true;
    }
    if (before != NULL) {
        omo_text_copy(row->replaces, sizeof row->replaces, before->id);
        omo_limit_text(before, was, sizeof was);
    }
    omo_limit_text(row, now, sizeof now);
    g_autofree char *what = g_strdup_printf("%s, %s", omo_limit_movement(row->movement),
                                            omo_people_side(row->side));
    omo_people_change_say(change, what, now, was);
    return true;
}

bool omo_people_gather_limits(struct omo_people_edit *edit)
{
    const struct omo_people_words *w = edit->words;
    struct omo_movement_table *movements = NULL;
    bool good = true;

    if (w->limits == NULL) {
        if (w->valid_until != NULL)
            omo_error("--valid-until belongs to a --limit; give both");
        return w->valid_until == NULL;
    }
    if (w->valid_until != NULL &&
        (!date_valid(w->valid_until) || strcmp(w->valid_until, edit->today) < 0)) {
        omo_error("--valid-until \"%s\" is no day from today on; give YYYY-MM-DD",
                  w->valid_until);
        return false;
    }
    if (omo_movement_table_load(NULL, &movements) != OMO_OK)
        return false;
    for (char **word = w->limits; *word != NULL && good; word++)
        good = gather_one(edit, movements, *word);
    omo_movement_table_destroy(movements);
    return good;
}

/* ---- the mark --------------------------------------------------------------------- */

bool omo_people_mark_valid(const char *word)
{
    struct omo_movement_table *movements = NULL;
    struct omo_told_mark mark;
    bool good;

    if (strcmp(word, "none") == 0)
        return true;
    if (omo_movement_table_load(NULL, &movements) != OMO_OK)
        return false;
    good = omo_mark_parse(word, &mark) && is_movement(movements, mark.movement) &&
           mark.deg >= CEILING_LEAST_DEG && mark.deg <= CEILING_MOST_DEG;
    omo_movement_table_destroy(movements);
    if (!good)
        omo_error("--mark \"%s\" is not understood; give MOVEMENT:SIDE:DEGREES, as in "
                  "flexion:right:120, with :above behind it to let it lie above what was "
                  "reached lately, or none",
                  word);
    return good;
}
