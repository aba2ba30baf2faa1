#include "random_scenes.h"

#include <stdio.h>
#include <string.h>

struct draw {
    uint64_t state;
    GKeyFile *keys;
};

/* Uniform in [0, 1). */
static double uniform(struct draw *d)
{
    d->state ^= d->state << 13;
    d->state ^= d->state >> 7;
    d->state ^= d->state << 17;
    return (double)(d->state >> 11) / 9007199254740992.0;
}

static void set(struct draw *d, const char *name, const char *value)
{
    g_key_file_set_value(d->keys, "scene", name, value);
}

static void number(struct draw *d, const char *name, double low, double high)
{
    char text[G_ASCII_DTOSTR_BUF_SIZE];
    set(d, name,
        g_ascii_formatd(text, sizeof text, "%.3f", low + uniform(d) * (high - low)));
}

/* One of the choices, which are parted by '|'. */
static void choice(struct draw *d, const char *name, const char *choices)
{
    gchar **list = g_strsplit(choices, "|", -1);
    set(d, name, list[(int)(uniform(d) * g_strv_length(list))]);
    g_strfreev(list);
}

/* The same, but only with a chance; the setting's default else. */
static void perhaps(struct draw *d, double chance, const char *name, const char *choices)
{
    if (uniform(d) < chance)
        choice(d, name, choices);
}

static void draw_movement(struct draw *d)
{
    choice(d, "movement",
           "flexion|flexion|abduction|abduction|extension|scaption|adduction|"
           "external-rotation|internal-rotation");
    choice(d, "side", "right|left");
    gchar *movement = g_key_file_get_value(d->keys, "scene", "movement", NULL);
    choice(d, "position", "standing|standing|seated");
    if (strcmp(movement, "abduction") == 0)
        perhaps(d, 0.2, "from_behind", "yes");
    if (strcmp(movement, "extension") == 0 || strcmp(movement, "adduction") == 0)
        number(d, "arc_deg", 20, 45);
    else if (strstr(movement, "rotation"))
        number(d, "arc_deg", 20, 70);
    else
        number(d, "arc_deg", 45, 170);
    g_free(movement);
    perhaps(d, 0.1, "mirrored", "yes");
    set(d, "rest_s", "0.3");
    number(d, "speed_deg_per_s", 40, 140);
}

static void draw_person(struct draw *d)
{
    number(d, "stature_m", 1.5, 1.9);
    number(d, "distance_m", 1.8, 2.8);
    number(d, "sticker_mm", 25, 45);
    number(d, "yaw_deg", -12, 12);
    number(d, "plane_deg", -12, 12);
    number(d, "elbow_deg", 0, 30);
    number(d, "lean_deg", 0, 12);
    number(d, "skin", 0, 1);
    choice(d, "shirt",
           "96 104 122|200 200 200|40 40 45|120 40 40|60 90 150|180 160 120|50 110 80");
    choice(d, "sleeve", "none|short|long");
    choice(d, "sleeve_colour", "96 104 122|200 190 180|40 40 45|60 80 130|150 60 90");
    choice(d, "trousers", "52 54 66|40 60 110|120 110 90|30 30 30");
    perhaps(d, 0.2, "markers", "shoulder elbow wrist hip chest");
    perhaps(d, 0.2, "other_arm_markers", "shoulder elbow wrist");
    perhaps(d, 0.1, "one_colour", "40 170 70");
    perhaps(d, 0.15, "hair", "long");
    perhaps(d, 0.2, "beard", "yes");
    perhaps(d, 0.1, "gloves", "yes");
}

static void draw_light(struct draw *d)
{
    number(d, "exposure_stops", -1.3, 0.3);
    choice(d, "cast",
           "100 100 100|100 100 100|130 100 62|88 100 122|115 100 80|95 105 95");
    number(d, "noise", 2, 8);
    choice(d, "quality", "60|70|78|85|92");
    choice(d, "subsampling", "420|420|422");
    number(d, "shading_ratio", 0, 0.2);
    number(d, "blur_px", 0.5, 1.3);
    number(d, "shutter_ratio", 0.1, 0.6);
    if (uniform(d) < 0.15)
        number(d, "gloss_ratio", 0, 0.5);
    perhaps(d, 0.1, "drift_ratio", "-0.5");
}

static void draw_company(struct draw *d)
{
    choice(d, "furniture", "plain|dull|bright");
    perhaps(d, 0.3, "look_alikes", "1|2|3|4|5|6");
    perhaps(d, 0.3, "second_person", "plain|marked");
    perhaps(d, 0.1, "mirror", "yes");
    perhaps(d, 0.1, "screen", "yes");
    perhaps(d, 0.2, "helper", "elbow 1.5-2.5|wrist 2-3|shoulder 1-2");
    perhaps(d, 0.2, "hide", "elbow 1-2|wrist 2-3|hip 1-2");
    perhaps(d, 0.1, "bump_s", "2.5");
}

static gint by_name(gconstpointer a, gconstpointer b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* Any of the stills and clips without stickers. */
static void draw_room(struct draw *d, const char *footage)
{
    static const char *const folders[] = {"gestures", "signing"};
    GPtrArray *rooms = g_ptr_array_new_with_free_func(g_free);
    for (size_t i = 0; i < G_N_ELEMENTS(folders); i++) {
        gchar *path = g_build_filename(footage, folders[i], NULL);
        GDir *dir = g_dir_open(path, 0, NULL);
        const char *name;
        while (dir && (name = g_dir_read_name(dir)))
            if (g_str_has_suffix(name, ".jpg") || g_str_has_suffix(name, ".mkv"))
                g_ptr_array_add(rooms,
                                g_strdup_printf("footage:%s/%s", folders[i], name));
        if (dir)
            g_dir_close(dir);
        g_free(path);
    }
    g_ptr_array_sort(rooms, by_name);
    if (rooms->len > 0)
        set(d, "room", rooms->pdata[(guint)(uniform(d) * rooms->len)]);
    g_ptr_array_unref(rooms);
}

void random_scene_both(GKeyFile *keys, uint64_t seed)
{
    struct draw d = {.state = 1181783497276652981u ^ ((seed + 1) * 0x9E3779B97F4A7C15u),
                     .keys = keys};
    for (int i = 0; i < 20; i++)
        uniform(&d);
    choice(&d, "movement", "abduction|abduction|scaption");
    number(&d, "arc_deg", 45, 175);
    set(&d, "other_arm_moves", "yes");
    choice(&d, "other_arm_markers",
           "shoulder elbow wrist|shoulder elbow wrist|shoulder elbow");
    number(&d, "other_arc_deg", 30, 175);
    number(&d, "other_lag_s", 0, 0.8);
}

GKeyFile *random_scene(uint64_t seed, const char *footage)
{
    char text[32];
    struct draw d = {.state = 88172645463325252u ^ ((seed + 1) * 0x9E3779B97F4A7C15u),
                     .keys = g_key_file_new()};
    for (int i = 0; i < 20; i++) /* alike seeds drift apart */
        uniform(&d);
    snprintf(text, sizeof text, "%llu", (unsigned long long)seed % 4294967295u);
    set(&d, "seed", text);
    draw_movement(&d);
    draw_person(&d);
    draw_light(&d);
    draw_company(&d);
    if (footage && uniform(&d) < 0.4)
        draw_room(&d, footage);
    return d.keys;
}
