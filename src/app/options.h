/** The options that say what is measured, shared by every measuring command. */
#ifndef OMO_APP_OPTIONS_H
#define OMO_APP_OPTIONS_H

#include <glib.h>
#include <stdbool.h>

#include "omogon/motion.h"
#include "omogon/record.h"
#include "omogon/vision.h"

/** As typed; freed by omo_options_finish. Zero-initialise. */
struct omo_option_words {
    char *movement, *side, *from, *facing, *position, *mode, *placement, *arms,
        *shoulder_marker;
    char *person, *visit, *rater, *note, *colours, *data, *out, *cutoff, *marker_size,
        *abduction, *forearm, *lens;
    gboolean mirrored;
    bool takes_both_sides; /**< set by a command that can measure both arms at once */
};

/** A text of the words, by what its option is called. */
struct omo_option_word {
    const char *name;
    size_t offset;      /**< in struct omo_option_words, see omo_option_word_at() */
    bool changes_trace; /**< an angle depends on it: not who it is of, nor who measured */
};
/** All of them but the folders --data and --out; ends with a NULL name. */
extern const struct omo_option_word omo_option_word_list[];
char **omo_option_word_at(const struct omo_option_words *words,
                          const struct omo_option_word *word);

/** Adds them to a context as the group "what is measured". `words` must outlive it. */
void omo_options_add(GOptionContext *context, struct omo_option_words *words);
void omo_options_finish(struct omo_option_words *words);

/** The data files of models/ that a result depends on. */
enum { OMO_MODELS = 4 };
extern const char *const omo_model_names[OMO_MODELS];

/** Checked and resolved. */
struct omo_plan {
    const struct omo_movement *movement; /**< lent by table; NULL: stickers only */
    struct omo_movement_table *table;
    struct omo_tracker_settings tracker;
    struct omo_measure_settings measure;
    struct omo_session_row row; /**< texts that every row of this run shares */
    char models[33];            /**< hash of the data files the result depends on */
    char model_sha256[OMO_MODELS][65]; /**< of each of them, see omo_model_names */
    bool both_sides; /**< both arms at once; the side is then one of them, see below */
    bool has_lens;   /**< the profile below is used (app/lens_plan.h) */
    bool lens_chosen, lens_kept; /**< by --lens; a choice may be remembered */
    const char *lens_data;       /**< record its profiles are in; lent by the words */
    char lens_name[64];
    char *lens_text;    /**< of the profile's file that --lens names, else NULL */
    char *colours_text; /**< of the marker set's file */
    struct omo_lens lens;
};

/**
 * Resolves the words; needs_body false leaves movement and side unasked. One sentence
 * and false when a word is unknown or missing (an exit of 2).
 */
bool omo_plan_resolve(const struct omo_option_words *words, bool needs_body,
                      struct omo_plan *plan);
void omo_plan_finish(struct omo_plan *plan);
/** Turns a plan of both sides to one of them; the table is shared. */
void omo_plan_take_side(struct omo_plan *plan, enum omo_side side);

/** Adds everything of the plan that changes a result to an id. */
void omo_plan_identify(const struct omo_plan *plan, struct omo_id *id);

/** Opens the record that --out or --data name, else the user's own. */
enum omo_status omo_open_record(const struct omo_option_words *words,
                                struct omo_record **record, char *directory, size_t size);

/** Gives a context its translated words, once its entries are there. `description` may be
 *  NULL; the cautions go below it when they are wanted. */
void omo_help_texts(GOptionContext *context, const char *summary, const char *description,
                    bool with_caution);

/** Parses argv with the context; on a mistake one sentence naming the remedy. */
bool omo_options_parse(GOptionContext *context, int *argc, char ***argv);

/** Whether what was given with an option is a day, "2026-01-31"; NULL is fine. One
 * sentence when it is none. */
bool omo_day_valid(const char *option, const char *day);

#endif
