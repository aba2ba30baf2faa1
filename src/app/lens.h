/** What the lens command's parts share. */
#ifndef OMO_APP_LENS_H
#define OMO_APP_LENS_H

#include <glib.h>
#include <stdbool.h>

#include "app/lens_file.h"
#include "bridge/lens.h"
#include "omogon/vision.h"
#include "source/camera.h"

/** As typed. */
struct omo_lens_words {
    char *board, *paper, *device, *size, *seconds, *plumb, *lens, *name, *readout,
        *corners, *colours, *data;
    char **files;
    gboolean camera, level, replace, list, json;
};

/** Checked and resolved. */
struct omo_lens_job {
    const struct omo_lens_words *words;
    struct omo_bridge_board board;
    struct omo_camera_wish wish;
    bool thread;               /**< the plumb line's points are stickers in pictures */
    struct omo_marker_set set; /**< their colours */
    struct omo_point plumb[2]; /**< or given */
    double seconds;
    double readout_s; /**< NAN not given */
};

/** The two jobs that make figures; they return an exit code. */
int omo_lens_run_calibrate(const struct omo_lens_job *job);
int omo_lens_run_level(const struct omo_lens_job *job);

/** Saves and remembers a profile, prints what it says and how to use it; an exit code. */
int omo_lens_keep(const struct omo_lens_job *job, const struct omo_lens_profile *profile);

#endif
