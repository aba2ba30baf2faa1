#include "omogon/layout.h"

#include <stddef.h>

#include <stdbool.h>

#include <glib.h>

#include "omogon/log.h"
#include "omogon/models.h"
#include "omogon/text.h"

#define AT(member) offsetof(struct omo_layout, member)

/** Every value of the file: where it stands, where it goes, what it may be. */
static const struct {
    const char *group, *key;
    size_t offset;
    double low, high;
} fields[] = {
    {"lengths", "upper_arm", AT(upper_arm), 0.05, 0.5},
    {"lengths", "forearm", AT(forearm), 0.05, 0.5},
    {"lengths", "hand", AT(hand), 0.02, 0.3},
    {"lengths", "half_shoulder_width", AT(half_shoulder_width), 0.03, 0.3},
    {"lengths", "upper_arm_low", AT(upper_arm_low), 0.05, 0.5},
    {"lengths", "upper_arm_high", AT(upper_arm_high), 0.05, 0.5},
    {"heights", "shoulder", AT(shoulder_height), 0.5, 1},
    {"heights", "hip", AT(hip_height), 0.3, 0.8},
    {"heights", "elbow", AT(elbow_height), 0.3, 0.9},
    {"heights", "head", AT(head_height), 0.8, 1.2},
    {"heights", "chest", AT(chest_height), 0.4, 1},
    {"joints", "elbow_flexion_low", AT(elbow_flexion_low_deg), -60, 60},
    {"joints", "elbow_flexion_high", AT(elbow_flexion_high_deg), 90, 180},
    {"joints", "elevation_low", AT(elevation_low_deg), -180, 0},
    {"joints", "elevation_high", AT(elevation_high_deg), 90, 270},
    {"gates", "fastest_arm", AT(fastest_arm_deg_per_s), 60, 5000},
};

static enum omo_status read_fields(GKeyFile *file, const char *path,
                                   struct omo_layout *layout)
{
    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++) {
        const char *group = fields[i].group, *key = fields[i].key;
        char *text = g_key_file_get_value(file, group, key, NULL);
        double value;
        bool good = text && omo_number_parse(text, &value) && value >= fields[i].low &&
                    value <= fields[i].high;
        if (!good)
            omo_error("%s: %s in [%s] is %s%s%s, but has to be a number from %g to %g.",
                      path, key, group, text ? "\"" : "", text ? text : "missing",
                      text ? "\"" : "", fields[i].low, fields[i].high);
        g_free(text);
        if (!good)
            return OMO_ERR_SETTINGS;
        *(double *)((char *)layout + fields[i].offset) = value;
    }
    if (layout->upper_arm_low < layout->upper_arm &&
        layout->upper_arm < layout->upper_arm_high)
        return OMO_OK;
    omo_error("%s: upper_arm in [lengths] has to lie between upper_arm_low and "
              "upper_arm_high.",
              path);
    return OMO_ERR_SETTINGS;
}

enum omo_status omo_layout_load(const char *path, struct omo_layout *layout)
{
    char built_in[4096];
    struct omo_layout read = {0};
    if (!path) {
        if (omo_models_path("body.ini", built_in, sizeof built_in) != OMO_OK) {
            omo_error("The file body.ini is missing from the models folder; install the "
                      "program again or set OMOGON_MODELS.");
            return OMO_ERR_OPEN;
        }
        path = built_in;
    }
    GKeyFile *file = g_key_file_new();
    GError *error = NULL;
    enum omo_status status;
    if (g_key_file_load_from_file(file, path, G_KEY_FILE_NONE, &error)) {
        status = read_fields(file, path, &read);
    } else {
        bool readable =
            g_file_test(path, G_FILE_TEST_IS_REGULAR) && error->domain != G_FILE_ERROR;
        status = readable ? OMO_ERR_SETTINGS : OMO_ERR_OPEN;
        omo_error("The body file %s cannot be read: %s.", path, error->message);
        g_error_free(error);
    }
    g_key_file_free(file);
    if (status == OMO_OK)
        *layout = read;
    return status;
}
