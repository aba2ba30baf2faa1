#include "app/clip_view.h"

#include <string.h>

#include "app/clip_run.h"
#include "app/inputs.h"
#include "app/provenance.h"
#include "app/view.h"
#include "omogon/edit.h"

static bool counts(const struct omo_session_row *row)
{
    return !strcmp(row->status, "ok");
}

/** Appends the sessions that ever replaced this one, unless they are in the list. */
static void add_successors(struct omo_record *record, const char *id, GPtrArray *ids)
{
    for (size_t i = omo_record_count(record); i-- > 0;) {
        const struct omo_session_row *row = omo_record_row(record, i);
        if (!strcmp(row->replaces, id) &&
            !g_ptr_array_find_with_equal_func(ids, row->id, g_str_equal, NULL))
            g_ptr_array_add(ids, g_strdup(row->id));
    }
}

/** Follows from a session to what replaced it, until one counts; false where none does.
 *  Corrected back and forth the way goes round, so each is looked at once. */
static bool find_standing(struct omo_record *record, const char *id,
                          struct omo_session_row *out)
{
    g_autoptr(GPtrArray) ids = g_ptr_array_new_with_free_func(g_free);
    g_ptr_array_add(ids, g_strdup(id));
    for (guint i = 0; i < ids->len; i++) {
        if (omo_record_find(record, ids->pdata[i], out) && counts(out))
            return true;
        add_successors(record, ids->pdata[i], ids);
    }
    return false;
}

/** What counts from now on is the row that came out: one of them, not two. */
static bool let_count(struct omo_run *run, const struct omo_session_row *now,
                      const struct omo_session_row *before)
{
    const struct omo_edit_reason why = {"self", "markers placed by hand"};
    struct omo_session_row row;
    bool good = omo_record_find(run->record, now->id, &row);
    if (good && !counts(&row))
        good =
            omo_edit_session(run->record, OMO_EDIT_RESTORE, row.id, NULL, &why) == OMO_OK;
    if (good && before && strcmp(before->id, row.id) != 0)
        good = omo_edit_session(run->record, OMO_EDIT_REPLACE, before->id, row.id,
                                &why) == OMO_OK;
    return good;
}

/** Measures with what is placed (NULL: as it was) and lets that row count. */
static bool measure_again(struct omo_run *run, const struct omo_work *work,
                          const char *path, GArray *corrections,
                          const struct omo_session_row *before, bool json)
{
    struct omo_work corrected = *work;
    corrected.corrections = corrections;
    struct omo_clip_job job = {.work = &corrected, .path = path};
    bool good = omo_clip_run(run, &job, 1, 1, json);
    if (job.outcome[0].kind != OMO_OUTCOME_FAILED)
        good &= let_count(run, &job.outcome[0].row, before);
    omo_clip_run_finish(&job, 1);
    return good;
}

bool omo_clip_view(struct omo_run *run, const struct omo_work *work,
                   const struct omo_clip_job *first, bool first_good, bool json)
{
    const struct omo_session_row *row = &first->outcome[0].row;
    struct omo_session_row before;
    char content[65];
    bool changed = false;
    g_autofree char *trace = g_build_filename(run->directory, row->trace, NULL);
    /* A clip that could not be opened has none; one without an angle has. */
    if (!row->trace[0] || !g_file_test(trace, G_FILE_TEST_IS_REGULAR) ||
        omo_input_hash(first->path, content) != OMO_OK)
        return false;
    bool stands = first->outcome[0].kind != OMO_OUTCOME_FAILED &&
                  find_standing(run->record, row->id, &before);
    g_autoptr(GArray) placed =
        stands ? omo_provenance_corrections(run->directory, before.trace, content) : NULL;
    g_autoptr(GArray) corrections = NULL;
    const struct omo_inspection view = {first->path, work->plan, trace, placed,
                                        run->show_head};
    if (omo_view_run(&view, &corrections, &changed) != OMO_OK)
        return false;
    return changed ? measure_again(run, work, first->path, corrections,
                                   stands ? &before : NULL, json)
                   : first_good;
}
