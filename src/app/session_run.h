/** A session that runs: what it is made of, its place in the record, and its rows. */
#ifndef OMO_APP_SESSION_RUN_H
#define OMO_APP_SESSION_RUN_H

#include <glib.h>
#include <stdbool.h>

#include "app/measure_options.h"
#include "app/person_state.h"
#include "omogon/session.h"
#include "omogon/tables.h"

/** As typed; freed by omo_session_words_finish. Zero-initialise. */
struct omo_session_words {
    struct omo_measure_words measure; /**< camera, window, sound; person and folders */
    char *programme, *check, *affected;
    char *pain_now, *pain_worst, *woken, *rest_pain, *before_end;
    gboolean nothing_new, hands_free, no_camera, anew, list;
};
void omo_session_words_finish(struct omo_session_words *words);

struct omo_session_run {
    const struct omo_session_words *words; /**< lent */
    struct omo_programme programme;
    struct omo_care care;
    struct omo_person_state person;
    struct omo_movement_table *movements;
    struct omo_record *record;
    char directory[4096];
    struct omo_table *steps, *notes;
    char pseudonym[24], id[33], last_date[16];
    GArray
        *begun; /**< struct omo_step_row: the part of this session that was done before */
    int64_t start_ns;
    gint64 start_wall_us;
    GMutex lock; /**< the session is also fed by the measuring thread */
    struct omo_session *session;
    enum omo_status status;    /**< of writing */
    struct omo_screen *screen; /**< NULL: lines of text */
    struct omo_sound *sound;
    bool sound_on;
    bool left; /**< the window itself was left */
};

/** Puts it together; one sentence and an exit code on failure, 0 when it can go on. */
int omo_session_run_begin(struct omo_session_run *run,
                          const struct omo_session_words *words);
void omo_session_run_finish(struct omo_session_run *run);

/** Under the lock: brings the session to the present and writes the rows it has given.
 *  False: writing failed (one sentence was said), the run must end. */
bool omo_session_run_keep(struct omo_session_run *run);
/** Copies the page of the moment. */
void omo_session_run_page(struct omo_session_run *run, struct omo_session_page *page);
/** The same calls as of the session itself, under the lock, then kept. */
bool omo_session_run_answer(struct omo_session_run *run, double value);
bool omo_session_run_text(struct omo_session_run *run, const char *text);
void omo_session_run_press(struct omo_session_run *run, enum omo_session_press press);

/** What a step is measured or watched with. Zero-initialised when it holds nothing. */
struct omo_session_step_plan {
    struct omo_measure_words words;
    struct omo_plan plan;
    bool resolved;
    struct omo_scene *scene;
    struct omo_measuring measuring;
};
/** False with one sentence. */
bool omo_session_step_resolve(struct omo_session_run *run,
                              const struct omo_session_page *page,
                              struct omo_session_step_plan *out);
void omo_session_step_plan_finish(struct omo_session_step_plan *plan);
/** Measures the step of this page, in the window or without, and tells the session. An
 *  exit code: that of the window being left counts as broken off. */
int omo_session_run_measure(struct omo_session_run *run,
                            const struct omo_session_page *page);

/** Names of the starter programmes; to be freed with g_ptr_array_unref. */
GPtrArray *omo_session_starters(void);

/** Front ends: return an exit code. */
int omo_session_in_text(struct omo_session_run *run);
int omo_session_in_window(struct omo_session_run *run);

#endif
