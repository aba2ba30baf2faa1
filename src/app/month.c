#include "app/month.h"

#include <glib.h>
#include <math.h>
#include <string.h>

#include "app/options.h"
#include "omogon/text.h"
#include "omogon/words.h"

#define GROUND 0xff131517u

static double days_since(const char *started)
{
    g_autoptr(GDateTime) then = g_date_time_new_from_iso8601(started, NULL);
    g_autoptr(GDateTime) now = g_date_time_new_now_utc();
    if (!then)
        return NAN;
    return (double)g_date_time_difference(now, then) / (double)G_TIME_SPAN_DAY;
}

static void add_row(struct omo_month *month, const struct omo_preferences *p,
                    const struct omo_session_row *row)
{
    if (strcmp(row->movement, p->movement) != 0 || strcmp(row->side, p->side) != 0 ||
        strcmp(row->status, "ok") != 0 ||
        (p->person[0] && strcmp(row->person, p->person)))
        return;
    if (month->count == G_N_ELEMENTS(month->point)) /* the newest count */
        memmove(month->point, month->point + 1, --month->count * sizeof month->point[0]);
    double deg =
        isfinite(row->mean_of_maxima_deg) ? row->mean_of_maxima_deg : row->max_deg;
    month->point[month->count++] =
        (struct omo_month_point){days_since(row->started), deg, row->max_u95_deg};
}

void omo_month_read(struct omo_month *month, const struct omo_preferences *preferences)
{
    struct omo_option_words own = {0};
    struct omo_record *record = NULL;
    char directory[4096];
    month->count = 0;
    month->version++;
    month->what[0] = '\0';
    if (!preferences->movement[0])
        return;
    omo_text_add(month->what, sizeof month->what, "%s, %s",
                 omo_movement_words(preferences->movement),
                 strcmp(preferences->side, "left") ? omo_word("your right")
                                                   : omo_word("your left"));
    /* Only to look: a record is not made for it. */
    g_autofree char *home = g_build_filename(g_get_user_data_dir(), "omogon", NULL);
    if (!g_file_test(home, G_FILE_TEST_IS_DIR) ||
        omo_open_record(&own, &record, directory, sizeof directory) != OMO_OK)
        return;
    /* The last row with an id is the one that counts. */
    g_autoptr(GHashTable) last = g_hash_table_new(g_str_hash, g_str_equal);
    for (size_t i = 0; i < omo_record_count(record); i++) {
        const struct omo_session_row *row = omo_record_row(record, i);
        g_hash_table_insert(last, (gpointer)(uintptr_t)row->id, (gpointer)(uintptr_t)row);
    }
    for (size_t i = 0; i < omo_record_count(record); i++) {
        const struct omo_session_row *row = omo_record_row(record, i);
        if (g_hash_table_lookup(last, row->id) == row)
            add_row(month, preferences, row);
    }
    omo_record_close(record);
}

void omo_month_paint(uint32_t *pixels, int width, int height, int stride_pixels,
                     void *user)
{
    const struct omo_month *month = user;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            pixels[(size_t)y * (size_t)stride_pixels + (size_t)x] = GROUND;
    struct omo_figure *figure =
        omo_month_figure(width, height, month->what, month->point, month->count);
    if (figure &&
        omo_figure_paint(figure, pixels, width, height, stride_pixels) != OMO_OK)
        memset(pixels, 0,
               sizeof *pixels); /* an empty figure is better than half of one */
    omo_figure_destroy(figure);
}
