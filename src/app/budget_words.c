#include "app/budget_words.h"

#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "omogon/text.h"
#include "omogon/words.h"

#define WHAT_COLUMNS  42
#define SHAPE_COLUMNS 12

static const struct {
    const char *name, *words;
} sources[] = {
    {"pixels", OMO_WORD("noise of the picture")},
    {"shoulder-marker", OMO_WORD("shoulder marker off the joint")},
    {"elbow-marker", OMO_WORD("elbow marker off its place")},
    {"wrist-marker", OMO_WORD("wrist marker off its place")},
    {"axial-rotation", OMO_WORD("arm turning about its own length")},
    {"plane", OMO_WORD("arm out of the picture's plane")},
    {"pivot-and-plane", OMO_WORD("fit of the joint and of the arm's plane")},
    {"arm-level", OMO_WORD("upper arm off level")},
    {"elbow-bent", OMO_WORD("elbow off a right angle")},
    {"forearm-turn", OMO_WORD("forearm turning about its own length")},
    {"trunk", OMO_WORD("trunk moving unseen")},
    {"lens", OMO_WORD("camera's lens")},
    {"level", OMO_WORD("camera not level")},
    {"rolling-shutter", OMO_WORD("rows read one after the other")},
    {"elbow-pixels", OMO_WORD("noise of the picture at the elbow")},
    {"wrist-pixels", OMO_WORD("noise of the picture at the wrist")},
    {"forearm-length", OMO_WORD("forearm's length")},
    {"wrist-skin", OMO_WORD("wrist's marker before the bone")},
    {"facing", OMO_WORD("person not facing the camera")},
    {"repetitions", OMO_WORD("spread of the repetitions")},
    {"not-upright", OMO_WORD("not upright at rest")},
};

const char *omo_budget_words(const char *name)
{
    for (size_t i = 0; i < G_N_ELEMENTS(sources); i++)
        if (!strcmp(sources[i].name, name))
            return omo_word(sources[i].words);
    return name;
}

/** Where a line comes from; a file's name stays as it is. */
static const char *origin_words(const char *origin)
{
    static const char *const words[] = {OMO_WORD("measured"), OMO_WORD("fit"),
                                        OMO_WORD("lens profile"),
                                        OMO_WORD("assumed lens")};
    for (size_t i = 0; i < G_N_ELEMENTS(words); i++)
        if (!strcmp(words[i], origin))
            return omo_word(words[i]);
    return origin;
}

static const char *shape_words(enum omo_distribution shape)
{
    return shape == OMO_RECTANGULAR ? omo_word("rectangular") : omo_word("Gaussian");
}

/** `text` filled up to so many characters; bytes are not characters. */
static void print_padded(const char *text, int columns)
{
    int pad = columns - (int)g_utf8_strlen(text, -1);
    printf("%s%*s", text, MAX(pad, 0), "");
}

static void print_number(double value, int decimals, int columns)
{
    char text[32];
    omo_number_text(value, decimals, text, sizeof text);
    printf(" %*s", columns, text);
}

static void print_line(const struct omo_budget_line *line)
{
    fputs("    ", stdout);
    print_padded(omo_budget_words(line->name), WHAT_COLUMNS);
    print_number(line->input_u, 2, 7);
    printf(" %-4s", line->unit);
    print_number(line->sensitivity, 3, 8);
    print_number(line->u_deg, 2, 8);
    fputs("  ", stdout);
    print_padded(shape_words(line->distribution), SHAPE_COLUMNS);
    printf(" %s\n", origin_words(line->origin));
}

/** A closing line with one figure under the contributions. */
static void print_sum(const char *what, double value)
{
    fputs("    ", stdout);
    print_padded(what, WHAT_COLUMNS + 22);
    print_number(value, 2, 7);
    putchar('\n');
}

static void print_head(double value_deg)
{
    char degrees[32], head[160] = "";
    omo_number_text(value_deg, 1, degrees, sizeof degrees);
    /* TRANSLATORS: heading of a table; the number is an angle. */
    omo_text_add(head, sizeof head, omo_word("What %s degrees are good to"), degrees);
    fputs("  ", stdout);
    print_padded(head, WHAT_COLUMNS + 2);
    /* TRANSLATORS: heads of a table's columns, at most 12 characters each: the standard
     * uncertainty of what goes in, degrees for each unit of it, and their product. */
    const char *columns[] = {omo_word("input"), omo_word("times"), omo_word("degrees")};
    const int widths[] = {8, 14, 9};
    for (size_t i = 0; i < G_N_ELEMENTS(columns); i++) {
        int pad = widths[i] - (int)g_utf8_strlen(columns[i], -1);
        printf("%*s%s", MAX(pad, 1), "", columns[i]);
    }
    putchar('\n');
}

static void print_table(const struct omo_budget *budget, double value_deg)
{
    char text[160] = "", factor[32];
    print_head(value_deg);
    for (int i = 0; i < budget->count; i++)
        if (!budget->line[i].beyond)
            print_line(&budget->line[i]);
    print_sum(omo_word("together: root of the sum of their squares"), budget->u_deg);
    omo_number_text(budget->coverage, 2, factor, sizeof factor);
    omo_text_add(text, sizeof text, omo_word("good to, either way: times %s, for 95 %%"),
                 factor);
    print_sum(text, budget->u95_deg);
    if (isnan(budget->beyond_u95_deg))
        return;
    puts(omo_word("  The angle is against the trunk as it stood at rest. Against the "
                  "chest itself also:"));
    for (int i = 0; i < budget->count; i++)
        if (budget->line[i].beyond)
            print_line(&budget->line[i]);
    print_sum(omo_word("good to, either way, against the chest itself"),
              budget->beyond_u95_deg);
}

/** Another maximum, which has the same lines but for its place and its repetitions. */
static void print_other(const char *what, const struct omo_budget *budget,
                        double value_deg)
{
    char degrees[32], good_to[32], factor[32];
    if (budget->count == 0)
        return;
    omo_number_text(value_deg, 1, degrees, sizeof degrees);
    omo_number_text(budget->u95_deg, 2, good_to, sizeof good_to);
    omo_number_text(budget->coverage, 2, factor, sizeof factor);
    fputs("  ", stdout);
    printf(omo_word("%s: %s degrees, good to %s (times %s)"), what, degrees, good_to,
           factor);
    for (int i = 0; i < budget->count; i++)
        if (!strcmp(budget->line[i].name, "repetitions")) {
            char spread[32];
            omo_number_text(budget->line[i].u_deg, 2, spread, sizeof spread);
            printf(omo_word("; also the spread of the repetitions, %s"), spread);
        }
    putchar('\n');
}

void omo_budget_print(const struct omo_budget *budget, const struct omo_session_row *row)
{
    if (budget[OMO_MAXIMUM_HIGHEST].count == 0) {
        puts(omo_word(
            "  Without a highest angle there is nothing to say how good it is."));
        return;
    }
    print_table(&budget[OMO_MAXIMUM_HIGHEST], row->max_deg);
    print_other(omo_word("Held for a second"), &budget[OMO_MAXIMUM_HELD],
                row->held_max_deg);
    print_other(omo_word("Mean of the repetitions"), &budget[OMO_MAXIMUM_MEAN],
                row->mean_of_maxima_deg);
    print_other(omo_word("Before the shoulder lifts"), &budget[OMO_MAXIMUM_BEFORE_HIKE],
                row->max_before_hike_deg);
}

/* ---- for programs ---- */

/** null where there is no finite value. */
static void add_number(cJSON *object, const char *name, double value, int decimals)
{
    char text[32];
    omo_number_text(value, decimals, text, sizeof text);
    if (isfinite(value) && text[0])
        cJSON_AddItemToObject(object, name, cJSON_CreateRaw(text));
    else
        cJSON_AddNullToObject(object, name);
}

static cJSON *line_json(const struct omo_budget_line *line)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "name", line->name);
    cJSON_AddStringToObject(object, "unit", line->unit);
    add_number(object, "input_u", line->input_u, 6);
    add_number(object, "sensitivity_deg_per_unit", line->sensitivity, 6);
    add_number(object, "u_deg", line->u_deg, 6);
    add_number(object, "degrees_of_freedom", line->freedom, 3);
    cJSON_AddStringToObject(object, "distribution",
                            omo_distribution_name(line->distribution));
    cJSON_AddStringToObject(object, "origin", line->origin);
    cJSON_AddBoolToObject(object, "beyond_definition", line->beyond);
    return object;
}

cJSON *omo_budget_json(const struct omo_budget *budget)
{
    cJSON *all = cJSON_CreateObject();
    for (int i = 0; i < OMO_MAXIMUM_COUNT; i++) {
        const struct omo_budget *b = &budget[i];
        if (b->count == 0)
            continue;
        cJSON *one = cJSON_CreateObject(), *lines = cJSON_CreateArray();
        for (int k = 0; k < b->count; k++)
            cJSON_AddItemToArray(lines, line_json(&b->line[k]));
        cJSON_AddItemToObject(one, "lines", lines);
        add_number(one, "u_deg", b->u_deg, 6);
        add_number(one, "degrees_of_freedom", b->freedom, 3);
        add_number(one, "coverage_factor", b->coverage, 6);
        add_number(one, "u95_deg", b->u95_deg, 6);
        add_number(one, "thorax_u95_deg", b->beyond_u95_deg, 6);
        cJSON_AddItemToObject(all, omo_maximum_name((enum omo_maximum)i), one);
    }
    return all;
}

/* ---- in one sentence ---- */

void omo_budget_sentence(const struct omo_budget *budget, char *text, size_t size)
{
    const struct omo_budget_line *first = NULL, *second = NULL;
    char one[32], other[32];
    text[0] = '\0';
    for (int i = 0; i < budget->count; i++) {
        const struct omo_budget_line *line = &budget->line[i];
        if (line->beyond)
            continue;
        if (first == NULL || line->u_deg > first->u_deg) {
            second = first;
            first = line;
        } else if (second == NULL || line->u_deg > second->u_deg) {
            second = line;
        }
    }
    if (second == NULL)
        return;
    omo_number_text(first->u_deg, 1, one, sizeof one);
    omo_number_text(second->u_deg, 1, other, sizeof other);
    omo_text_add(text, size, omo_word("Most of that is: %s (%s), %s (%s)."),
                 omo_budget_words(first->name), one, omo_budget_words(second->name),
                 other);
}
