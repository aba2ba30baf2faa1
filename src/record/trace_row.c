#include "omogon/text.h"
#include "record/record_private.h"

#define MARKER_NAMES(role)                                                               \
    "," role "_x_px," role "_y_px," role "_diameter_px," role "_seen"

const char *omo_trace_header(void)
{
    _Static_assert(OMO_ROLE_COUNT == 6, "a new role needs its columns here");
    return "frame,time_s,angle_deg,angle_raw_deg,angle_image_deg,angle_vertical_deg,"
           "elbow_flexion_deg,trunk_lean_deg,hike_ratio,hike_mm,reference,quality,"
           "picture_width_px,picture_height_px" MARKER_NAMES("shoulder")
               MARKER_NAMES("elbow") MARKER_NAMES("wrist") MARKER_NAMES("hip")
                   MARKER_NAMES("chest") MARKER_NAMES("acromion");
}

static void write_marker(const struct omo_marker *marker, struct omo_csv_text *csv)
{
    omo_csv_add_number(csv, marker->x_px, PIXEL_DECIMALS);
    omo_csv_add_number(csv, marker->y_px, PIXEL_DECIMALS);
    omo_csv_add_number(csv, marker->diameter_px, PIXEL_DECIMALS);
    omo_csv_add_integer(csv, marker->seen);
}

void omo_trace_row_write(const struct omo_trace_row *row, int picture_width,
                         int picture_height, struct omo_csv_text *csv)
{
    const double angles_deg[] = {row->angle_deg,         row->angle_raw_deg,
                                 row->angle_image_deg,   row->angle_vertical_deg,
                                 row->elbow_flexion_deg, row->trunk_lean_deg};
    char quality[256];

    omo_quality_text(row->quality, quality, sizeof quality);
    omo_csv_add_integer(csv, row->frame);
    omo_csv_add_number(csv, row->time_s, TIME_DECIMALS);
    for (size_t i = 0; i < sizeof angles_deg / sizeof angles_deg[0]; i++)
        omo_csv_add_number(csv, angles_deg[i], DEGREE_DECIMALS);
    omo_csv_add_number(csv, row->hike_ratio, RATIO_DECIMALS);
    omo_csv_add_number(csv, row->hike_mm, MM_DECIMALS);
    omo_csv_add_text(csv, omo_reference_name(row->reference));
    omo_csv_add_text(csv, quality);
    omo_csv_add_integer(csv, picture_width);
    omo_csv_add_integer(csv, picture_height);
    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        write_marker(&row->markers.role[role], csv);
    omo_csv_end_row(csv);
}
