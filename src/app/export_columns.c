#include "app/export_columns.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#define TEXT        "string", NULL
#define DEG         "number", "deg"
#define DEG_PER_S   "number", "deg/s"
#define SECONDS     "number", "s"
#define RATIO       "number", "1"
#define COUNT       "integer", NULL
#define ANY         NAN, NAN
#define ANGLE       -360, 360
#define NRS         0, 10
#define FROM(least) least, NAN
#define SHARE       0, 1

static const struct {
    const char *name;
    struct omo_export_column column;
} known[] = {
    {"id",
     {TEXT, "of the session; in a shared copy one that only this copy has", true, ANY}},
    {"person",
     {TEXT, "pseudonym; in a shared copy one that only this copy has", true, ANY}},
    {"visit", {TEXT, "label of the visit", false, ANY}},
    {"started",
     {"datetime", NULL,
      "when it was measured; in a shared copy shifted, so that the person begins on "
      "1925-01-05",
      true, ANY}},
    {"movement", {TEXT, "flexion, extension, abduction and so on", true, ANY}},
    {"side", {TEXT, "the person's own: left or right; empty: of no side", false, ANY}},
    {"position", {TEXT, "standing, seated, supine, side-lying or prone", false, ANY}},
    {"mode", {TEXT, "active, assisted or passive", false, ANY}},
    {"view", {TEXT, "from where the camera looked", false, ANY}},
    {"arms", {TEXT, "one at a time or both at once", false, ANY}},
    {"placement", {TEXT, "markers on skin, as bands, or on a sleeve", false, ANY}},
    {"reference",
     {TEXT, "what stands for the trunk: chest-hip, hip, shift or none", false, ANY}},
    {"quantity", {TEXT, "what the angle is", true, ANY}},
    {"max_deg", {DEG, "largest angle that was kept up for 0.2 s", false, ANGLE}},
    {"max_u95_deg",
     {DEG,
      "its expanded uncertainty, k = 2, after the Guide to the Expression "
      "of Uncertainty in Measurement",
      false, FROM(0)}},
    {"held_max_deg", {DEG, "largest angle held for 1 s within 1 degree", false, ANGLE}},
    {"mean_of_maxima_deg",
     {DEG, "mean of the repetitions' highest angles", false, ANGLE}},
    {"max_before_hike_deg",
     {DEG,
      "highest before the shoulder rose or the trunk leaned more "
      "than is allowed for",
      false, ANGLE}},
    {"rest_deg", {DEG, "mean at rest; the angle is not zeroed there", false, ANGLE}},
    {"repetitions", {COUNT, "whole repetitions", false, FROM(0)}},
    {"hike_at_max_ratio",
     {RATIO,
      "rise of the shoulder over the upper arm's length, at the "
      "highest angle",
      false, ANY}},
    {"lean_at_max_deg",
     {DEG, "lean of the trunk there, away from the arm or backward", false, ANGLE}},
    {"trunk_rest_offset_deg",
     {DEG, "what makes the trunk's line vertical at rest", false, ANGLE}},
    {"pivot_offset_ratio",
     {RATIO,
      "found by the correction: joint to shoulder marker over "
      "the upper arm's length",
      false, ANY}},
    {"plane_turn_deg",
     {DEG,
      "found by the correction: turn of the arm's plane out of the "
      "picture's",
      false, ANGLE}},
    {"rotation_at_abduction_deg",
     {DEG, "how far the upper arm was held out", false, ANGLE}},
    {"pain_before", {"number", NULL, "pain told before, 0 to 10", false, NRS}},
    {"pain_at_max", {"number", NULL, "pain told at the highest, 0 to 10", false, NRS}},
    {"pain_after", {"number", NULL, "pain told after, 0 to 10", false, NRS}},
    {"pain_onset_deg", {DEG, "angle at which pain was marked to begin", false, ANGLE}},
    {"pain_end_deg", {DEG, "angle at which pain was marked to end", false, ANGLE}},
    {"stopped_by", {TEXT, "stiff, pain, weak, chose or limit", false, ANY}},
    {"end_feel", {TEXT, "how the end felt to who moved the arm", false, ANY}},
    {"rater", {TEXT, "code of who measured", false, ANY}},
    {"set_up", {TEXT, "the same while camera, markers and settings are", false, ANY}},
    {"seen_ratio", {RATIO, "share of frames with an angle", false, SHARE}},
    {"frames_per_second",
     {"number", "Hz", "from the median frame interval", false, FROM(0)}},
    {"version", {TEXT, "of omogon", false, ANY}},
    {"age_years",
     {"integer", "a", "year of the first session less year of birth, at most 89", false,
      0, 89}},
    {"sex", {TEXT, "as entered", false, ANY}},
    {"height_cm", {"number", "cm", "as entered", false, FROM(0)}},
    {"dominant_side", {TEXT, "as entered", false, ANY}},
    {"affected_side", {TEXT, "as entered", false, ANY}},
    {"session", {TEXT, "id of the row in sessions", true, ANY}},
    {"repetition", {COUNT, "number in its session, from 1", true, FROM(1)}},
    {"start_s",
     {SECONDS, "where the repetition begins, in the trace's time", false, ANY}},
    {"peak_s", {SECONDS, "its highest moment", false, ANY}},
    {"end_s", {SECONDS, "where it ends", false, ANY}},
    {"range_deg", {DEG, "its highest less its lowest angle", false, FROM(0)}},
    {"raising_peak_deg_per_s",
     {DEG_PER_S, "greatest speed on the way there", false, ANY}},
    {"lowering_peak_deg_per_s",
     {DEG_PER_S, "greatest speed on the way back", false, ANY}},
    {"raising_sparc",
     {RATIO, "spectral arc length on the way there; nearer to 0 is smoother", false,
      ANY}},
    {"raising_ldlj", {RATIO, "log dimensionless jerk on the way there", false, ANY}},
    {"hike_at_peak_ratio",
     {RATIO, "rise of the shoulder at the highest moment", false, ANY}},
    {"lean_at_peak_deg", {DEG, "lean of the trunk there", false, ANGLE}},
    {"frame", {COUNT, "number of the camera's picture", true, FROM(0)}},
    {"time_s", {SECONDS, "the picture's own time stamp", true, ANY}},
    {"angle_deg",
     {DEG,
      "corrected and zero-lag filtered; empty where it could not be "
      "measured",
      false, ANGLE}},
    {"angle_raw_deg", {DEG, "corrected, unfiltered", false, ANGLE}},
    {"angle_image_deg", {DEG, "as the picture shows it, uncorrected", false, ANGLE}},
    {"angle_vertical_deg", {DEG, "against the vertical", false, ANGLE}},
    {"elbow_flexion_deg", {DEG, "0 is a straight arm", false, ANGLE}},
    {"trunk_lean_deg", {DEG, "lean away from how the trunk stood at rest", false, ANGLE}},
    {"hike_ratio",
     {RATIO, "rise of the shoulder along the trunk over the upper arm's length", false,
      ANY}},
    {"hike_mm",
     {"number", "mm", "the same in millimetres, where a size is known", false, ANY}},
    {"quality",
     {TEXT, "words joined by +: ok, or what is missing or assumed", false, ANY}},
};

/* Of every marker. */
static const struct {
    const char *ending;
    struct omo_export_column column;
} of_marker[] = {
    {"_x_px", {"number", "{pixel}", "place of the marker, x to the right", false, ANY}},
    {"_y_px", {"number", "{pixel}", "place of the marker, y downwards", false, ANY}},
    {"_diameter_px", {"number", "{pixel}", "diameter of the marker", false, FROM(0)}},
    {"_seen", {COUNT, "0 not seen, 1 seen, 2 placed by hand", false, 0, 2}},
};

struct omo_export_column omo_export_column_of(const char *name)
{
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (!strcmp(name, known[i].name))
            return known[i].column;
    for (size_t i = 0; i < sizeof of_marker / sizeof of_marker[0]; i++) {
        size_t whole = strlen(name), end = strlen(of_marker[i].ending);
        if (whole > end && !strcmp(name + whole - end, of_marker[i].ending))
            return of_marker[i].column;
    }
    assert(!"a column without a description");
    return (struct omo_export_column){TEXT, "", false, ANY};
}
