#include "app/lens.h"

#include <glib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "app/commands.h"
#include "app/lens_report.h"
#include "app/options.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "omogon/words.h"
#include "show/paper/board.h"

/** --camera alone, or with a device after it. */
static gboolean take_camera(const gchar *name, const gchar *value, gpointer user,
                            GError **error)
{
    struct omo_lens_words *w = user;
    (void)name;
    (void)error;
    w->camera = TRUE;
    g_free(w->device);
    w->device = g_strdup(value);
    return TRUE;
}

static void add_entries(GOptionContext *context, struct omo_lens_words *w)
{
    const GOptionEntry entries[] = {
        {"board", 0, 0, G_OPTION_ARG_FILENAME, &w->board,
         OMO_WORD("write the board to print, and end"), "FILE.pdf"},
        {"paper", 0, 0, G_OPTION_ARG_STRING, &w->paper,
         OMO_WORD("a4 (default) or letter"), "a4|letter"},
        {"camera", 0, G_OPTION_FLAG_OPTIONAL_ARG, G_OPTION_ARG_CALLBACK,
         __extension__(gpointer) take_camera,
         OMO_WORD("with the camera instead of files, the first one or the one named"),
         "[DEVICE]"},
        {"size", 0, 0, G_OPTION_ARG_STRING, &w->size,
         OMO_WORD("picture size asked of the camera"), "WIDTHxHEIGHT"},
        {"seconds", 0, 0, G_OPTION_ARG_STRING, &w->seconds,
         OMO_WORD("end after so many seconds (default 180, for --level and --plumb 5)"),
         "S"},
        {"level", 0, 0, G_OPTION_ARG_NONE, &w->level,
         OMO_WORD("roll and pitch instead, from the board standing upright on a table"),
         NULL},
        {"plumb", 0, 0, G_OPTION_ARG_STRING, &w->plumb,
         OMO_WORD("roll instead, from a hanging thread: two stickers on it, found in the "
                  "pictures, or two points, the upper first"),
         "stickers|X,Y,X,Y"},
        {"colours", 'c', 0, G_OPTION_ARG_STRING, &w->colours,
         OMO_WORD("marker colours: a built-in set's name or a file (see omogon colours)"),
         "SET"},
        {"lens", 0, 0, G_OPTION_ARG_FILENAME, &w->lens,
         OMO_WORD("the profile that --level and --plumb add to"), "NAME"},
        {"name", 0, 0, G_OPTION_ARG_STRING, &w->name,
         OMO_WORD("name of the new profile (default: the camera's or the file's)"),
         "NAME"},
        {"replace", 0, 0, G_OPTION_ARG_NONE, &w->replace,
         OMO_WORD("write over an existing profile or board"), NULL},
        {"readout", 0, 0, G_OPTION_ARG_STRING, &w->readout,
         OMO_WORD("the camera's time from a picture's first row to its last, 0 to 100 "
                  "(default: not known)"),
         "MS"},
        {"corners", 0, 0, G_OPTION_ARG_STRING, &w->corners,
         OMO_WORD("inner corners of another chessboard (default 9x6)"), "COLUMNSxROWS"},
        {"list", 0, 0, G_OPTION_ARG_NONE, &w->list, OMO_WORD("list the profiles and end"),
         NULL},
        {"json", 0, 0, G_OPTION_ARG_NONE, &w->json,
         OMO_WORD("figures as one JSON array on standard output"), NULL},
        {"data", 0, 0, G_OPTION_ARG_FILENAME, &w->data,
         OMO_WORD("the record's folder (default: omogon in the user's data folder)"),
         "DIR"},
        {G_OPTION_REMAINING, 0, 0, G_OPTION_ARG_FILENAME_ARRAY, &w->files, NULL, NULL},
        {0},
    };
    GOptionGroup *group = g_option_group_new("lens", "", "", w, NULL);
    g_option_group_add_entries(group, entries);
    g_option_context_set_main_group(context, group);
}

static GOptionContext *make_context(struct omo_lens_words *w)
{
    GOptionContext *context = g_option_context_new("[FILE...]");
    add_entries(context, w);
    omo_help_texts(
        context,
        OMO_WORD("Measures what the camera's lens does to a picture, and how the camera "
                 "stands, and\nkeeps both as a profile: angles are then read from "
                 "straightened, level places."),
        OMO_WORD(
            "1. Print the board (--board), at 100 %, and glue it on something flat and "
            "stiff.\n"
            "2. With --camera hold it still where the program asks for it, about twenty "
            "times;\n   or give pictures or a clip of it: all over the picture, tilted "
            "every way.\n   Enough is: 12 views that differ, corners in every ninth of "
            "the picture, 3 views\n   tilted by 15 degrees to each side.\n"
            "3. Put the camera where it will measure. Stand the board upright on a level "
            "table in\n   front of it, rows level, face vertical, and call --level; or "
            "hang a thread with\n   a weight, two stickers of different colours on it "
            "far "
            "apart, and call --plumb stickers\n   (or give two points of it). A thread "
            "shows the roll alone: whether the camera looks\n   up or down (pitch), only "
            "the board shows. Never use a person as upright.\n   The level holds until "
            "the camera, or the lid of the laptop, is moved.\n"
            "4. Measure with --lens NAME. \"omogon measure\" remembers it for the "
            "camera.\n\n"
            "Examples:\n"
            "  omogon lens --board board.pdf\n"
            "  omogon lens --camera --name desk\n"
            "  omogon lens views/*.jpg --name desk\n"
            "  omogon lens --level --camera --lens desk\n"
            "  omogon lens --plumb stickers thread.jpg --lens desk\n"
            "  omogon lens --plumb 640,40,652,690 --lens desk\n"
            "  omogon trace arm.mp4 -m flexion -s right --lens desk\n\n"
            "Exit: 0 done; 1 no board, too few views, no lens that fits, or a file not "
            "written; 2\nthe call is wrong.\n"),
        false);
    return context;
}

/* ---- words ---- */

static bool parse_corners(const char *text, struct omo_bridge_board *board)
{
    char rest;
    *board = (struct omo_bridge_board){OMO_BOARD_COLUMNS, OMO_BOARD_ROWS};
    if (!text)
        return true;
    if (sscanf(text, "%3dx%3d%c", &board->columns, &board->rows, &rest) == 2 &&
        board->columns >= 3 && board->rows >= 3 &&
        board->columns * board->rows <= OMO_BRIDGE_CORNERS_MOST)
        return true;
    omo_error(
        "--corners \"%s\" is no board; count the places where four squares meet, for "
        "example 9x6",
        text);
    return false;
}

static bool parse_number(const char *option, const char *text, double least, double most,
                         double *out)
{
    if (!text || (omo_number_parse(text, out) && *out >= least && *out <= most))
        return true;
    omo_error("--%s \"%s\" is not a number that fits; give %g to %g", option, text, least,
              most);
    return false;
}

static bool parse_size(const char *text, struct omo_camera_wish *wish)
{
    char rest;
    if (!text || (sscanf(text, "%5dx%5d%c", &wish->width, &wish->height, &rest) == 2 &&
                  wish->width >= 160 && wish->height >= 120 && wish->width <= 16384 &&
                  wish->height <= 16384))
        return true;
    omo_error("--size \"%s\" is no picture size; write for example 1280x720", text);
    return false;
}

static bool wants_thread(const struct omo_lens_words *w)
{
    return w->plumb && !strcmp(w->plumb, "stickers");
}

static bool parse_plumb(const char *text, struct omo_point ends[2])
{
    g_auto(GStrv) cells = g_strsplit(text, ",", -1);
    if (g_strv_length(cells) == 4 && omo_number_parse(cells[0], &ends[0].x) &&
        omo_number_parse(cells[1], &ends[0].y) &&
        omo_number_parse(cells[2], &ends[1].x) && omo_number_parse(cells[3], &ends[1].y))
        return true;
    omo_error(
        "--plumb \"%s\" is not understood; write stickers, or X,Y of its upper end and "
        "X,Y of its lower end, for example 640,40,652,690",
        text);
    return false;
}

/** Which of the things it can do, and not two of them. */
static bool sensible(const struct omo_lens_words *w)
{
    if ((w->board != NULL) + w->list + w->level + (w->plumb != NULL) > 1) {
        omo_error("--board, --list, --level and --plumb exclude each other");
        return false;
    }
    if (w->files && w->camera) {
        omo_error("--camera and files exclude each other");
        return false;
    }
    if (w->colours && !wants_thread(w)) {
        omo_error("--colours goes with --plumb stickers alone; leave it out");
        return false;
    }
    bool needs_picture = !w->board && !w->list && (!w->plumb || wants_thread(w));
    if (needs_picture && !w->files && !w->camera && w->plumb) {
        omo_error("name a picture or a clip of the stickers on the thread, or use "
                  "--camera");
        return false;
    }
    if (needs_picture && !w->files && !w->camera) {
        omo_error("name pictures or a clip of the board, or use --camera; \"omogon lens "
                  "--help\" shows how");
        return false;
    }
    if (!needs_picture && (w->files || w->camera)) {
        omo_error("--board, --list and --plumb with points look at no picture; leave "
                  "files and --camera out");
        return false;
    }
    if (w->name && !omo_lens_name_valid(w->name)) {
        omo_error("--name \"%s\" is no name for a profile; use 1 to 40 letters, digits, "
                  "- and _",
                  w->name);
        return false;
    }
    return true;
}

/* ---- what needs no picture ---- */

static int write_board(const struct omo_lens_words *w)
{
    bool letter = w->paper && !strcmp(w->paper, "letter");
    struct stat there;
    GByteArray *bytes = NULL;
    if (w->paper && !letter && strcmp(w->paper, "a4") != 0) {
        omo_error("--paper \"%s\" is not known; give a4 or letter", w->paper);
        return OMO_EXIT_USAGE;
    }
    if (!g_str_has_suffix(w->board, ".pdf")) {
        omo_error("--board \"%s\" has no ending that is known; end it in .pdf", w->board);
        return OMO_EXIT_USAGE;
    }
    if (lstat(w->board, &there) == 0 && (S_ISDIR(there.st_mode) || !w->replace)) {
        omo_error("%s exists; give another name, or --replace to write over it",
                  w->board);
        return OMO_EXIT_FAILED;
    }
    if (omo_board_pdf(letter, &bytes) != OMO_OK)
        return OMO_EXIT_FAILED;
    enum omo_status status =
        omo_file_write_atomic(w->board, bytes->data, bytes->len, 0644);
    g_byte_array_unref(bytes);
    if (status != OMO_OK)
        return OMO_EXIT_FAILED;
    printf(omo_word("saved: %s\nPrint at 100 %%, not fitted to the page, and glue it on "
                    "something flat and stiff.\n"),
           w->board);
    return OMO_EXIT_DONE;
}

static int list(const struct omo_lens_words *w)
{
    g_autoptr(GPtrArray) names = omo_lens_names(w->data);
    g_autofree struct omo_lens_profile *all =
        g_new0(struct omo_lens_profile, names->len + 1);
    int count = 0, code = OMO_EXIT_DONE;
    for (guint i = 0; i < names->len; i++) {
        if (omo_lens_load(w->data, names->pdata[i], &all[count], NULL) == OMO_OK)
            count++;
        else
            code = OMO_EXIT_FAILED;
    }
    if (w->json)
        omo_lens_print_json(all, count);
    for (int i = 0; i < count && !w->json; i++)
        omo_lens_print(&all[i]);
    if (count == 0 && !w->json)
        puts(omo_word(
            "No lens profile yet; \"omogon lens --help\" shows how to make one."));
    return code;
}

static int run(const struct omo_lens_words *w)
{
    struct omo_lens_job job = {.words = w,
                               .seconds = w->level || w->plumb ? 5 : 180,
                               .thread = wants_thread(w)};
    double readout_ms = NAN;
    if (!sensible(w) || !parse_corners(w->corners, &job.board) ||
        !parse_number("seconds", w->seconds, 0.1, 3600, &job.seconds) ||
        !parse_number("readout", w->readout, 0, 100, &readout_ms) ||
        !parse_size(w->size, &job.wish) ||
        (w->plumb && !job.thread && !parse_plumb(w->plumb, job.plumb)) ||
        (job.thread &&
         omo_set_load(w->colours ? w->colours : "default", &job.set) != OMO_OK))
        return OMO_EXIT_USAGE;
    job.readout_s = readout_ms / 1000;
    if (w->device)
        omo_text_copy(job.wish.path, sizeof job.wish.path, w->device);
    if (w->board)
        return write_board(w);
    if (w->list)
        return list(w);
    return w->level || w->plumb ? omo_lens_run_level(&job) : omo_lens_run_calibrate(&job);
}

int omo_command_lens(int argc, char **argv)
{
    struct omo_lens_words w = {0};
    GOptionContext *context = make_context(&w);
    int code = omo_options_parse(context, &argc, &argv) ? run(&w) : OMO_EXIT_USAGE;
    g_option_context_free(context);
    char **all[] = {&w.board, &w.paper, &w.device,  &w.size,    &w.seconds, &w.plumb,
                    &w.lens,  &w.name,  &w.readout, &w.corners, &w.colours, &w.data};
    for (size_t i = 0; i < G_N_ELEMENTS(all); i++)
        g_clear_pointer(all[i], g_free);
    g_strfreev(w.files);
    return code;
}
