#include "app/preferences.h"

#include <glib.h>
#include <string.h>

#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"

#define GROUP "preferences"

static char *preferences_path(void)
{
    return g_build_filename(g_get_user_config_dir(), "omogon", "preferences.ini", NULL);
}

static void read_text(GKeyFile *file, const char *key, char *out, size_t size)
{
    g_autofree char *text = g_key_file_get_string(file, GROUP, key, NULL);
    if (text)
        omo_text_copy(out, size, text);
}

static void read_switch(GKeyFile *file, const char *key, bool *out)
{
    if (g_key_file_has_key(file, GROUP, key, NULL))
        *out = g_key_file_get_boolean(file, GROUP, key, NULL);
}

void omo_preferences_load(struct omo_preferences *p)
{
    g_autofree char *path = preferences_path();
    g_autoptr(GKeyFile) file = g_key_file_new();
    g_autoptr(GError) error = NULL;
    *p = (struct omo_preferences){.mirror = true};
    if (!g_key_file_load_from_file(file, path, G_KEY_FILE_NONE, &error)) {
        if (!g_error_matches(error, G_FILE_ERROR, G_FILE_ERROR_NOENT))
            omo_warning("%s: %s; the program's own settings are used, remove the file to "
                        "begin anew",
                        path, error->message);
        return;
    }
    read_text(file, "camera", p->camera, sizeof p->camera);
    read_text(file, "camera_name", p->camera_name, sizeof p->camera_name);
    read_text(file, "movement", p->movement, sizeof p->movement);
    read_text(file, "side", p->side, sizeof p->side);
    read_text(file, "person", p->person, sizeof p->person);
    read_text(file, "colours", p->colours, sizeof p->colours);
    read_switch(file, "mirror", &p->mirror);
    p->sound_chosen = g_key_file_has_key(file, GROUP, "sound", NULL);
    read_switch(file, "sound", &p->sound);
    read_switch(file, "flash", &p->flash);
}

void omo_preferences_camera(struct omo_preferences *p, const char *path, const char *name)
{
    omo_text_copy(p->camera, sizeof p->camera, path);
    omo_text_copy(p->camera_name, sizeof p->camera_name, name);
}

void omo_preferences_save(const struct omo_preferences *p)
{
    g_autofree char *path = preferences_path();
    g_autofree char *folder = g_path_get_dirname(path);
    g_autoptr(GKeyFile) file = g_key_file_new();
    const struct {
        const char *key, *value;
    } texts[] = {{"camera", p->camera},     {"camera_name", p->camera_name},
                 {"movement", p->movement}, {"side", p->side},
                 {"person", p->person},     {"colours", p->colours}};
    for (size_t i = 0; i < G_N_ELEMENTS(texts); i++)
        if (texts[i].value[0])
            g_key_file_set_string(file, GROUP, texts[i].key, texts[i].value);
    g_key_file_set_boolean(file, GROUP, "mirror", p->mirror);
    if (p->sound_chosen)
        g_key_file_set_boolean(file, GROUP, "sound", p->sound);
    g_key_file_set_boolean(file, GROUP, "flash", p->flash);
    gsize size = 0;
    g_autofree char *bytes = g_key_file_to_data(file, &size, NULL);
    /* Both say what went wrong; nothing measured depends on it. */
    if (omo_folder_make(folder) == OMO_OK &&
        omo_file_write_atomic(path, bytes, size, 0600) != OMO_OK)
        omo_warning("the choices of this run are not remembered");
}

const char *omo_preferences_arm(const struct omo_preferences *preferences)
{
    return strcmp(preferences->side, "left") ? "right" : "left";
}
