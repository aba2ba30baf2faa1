#include "scene_fixture.h"

#include <math.h>
#include <string.h>

#include <check.h>

#include "omogon/log.h"
#include "omogon/text.h"

static int message_count;
static char last_message[1024];

static void note_message(enum omo_log_level level, const char *text, void *user)
{
    (void)level;
    (void)user;
    message_count++;
    omo_text_copy(last_message, sizeof last_message, text);
}

void logged_reset(void)
{
    message_count = 0;
    last_message[0] = '\0';
    omo_log_set_handler(note_message, NULL);
}

int logged_count(void)
{
    return message_count;
}

const char *logged_last(void)
{
    return last_message;
}

void scene_run_set(struct scene_run *run, const char *const *pairs)
{
    for (; pairs && pairs[0]; pairs += 2)
        ck_assert_msg(omo_scene_set(run->scene, pairs[0], pairs[1]) == OMO_OK, "%s = %s",
                      pairs[0], pairs[1]);
    omo_source_destroy(run->source);
    run->source = NULL;
    run->started = false;
    ck_assert_int_eq(omo_simulated_open(run->scene, &run->source), OMO_OK);
}

void scene_run_open(struct scene_run *run, const char *name, const char *const *pairs)
{
    *run = (struct scene_run){.scene = omo_scene_create()};
    ck_assert_ptr_nonnull(run->scene);
    if (strcmp(name, "-") != 0)
        ck_assert_msg(omo_scene_load(run->scene, name) == OMO_OK, "scene %s", name);
    scene_run_set(run, pairs);
}

void scene_run_close(struct scene_run *run)
{
    omo_source_destroy(run->source);
    omo_scene_destroy(run->scene);
    *run = (struct scene_run){0};
}

void scene_run_to(struct scene_run *run, long frame)
{
    long next = run->started ? (long)run->frame.index + 1 : 0;
    /* Only the frame that is looked at is rendered. */
    ck_assert_int_eq(omo_simulated_skip(run->source, frame > next ? frame - next : 0),
                     OMO_OK);
    ck_assert_int_eq(omo_source_next(run->source, true, &run->frame), OMO_OK);
    run->started = true;
    omo_simulated_truth(run->source, &run->truth);
}

void scene_run_at(struct scene_run *run, const char *name, const char *const *pairs,
                  double time_s)
{
    const char *const few[] = {"fps", "5", NULL};
    scene_run_open(run, name, pairs);
    scene_run_set(run, few);
    scene_run_to(run, lround(time_s * 5));
}
