#include "app/desk_notice.h"

#include <string.h>

#include "omogon/clock.h"
#include "omogon/words.h"

#define NAME    "org.freedesktop.Notifications"
#define PATH    "/org/freedesktop/Notifications"
#define CALL_MS 5000
#define SHOW_MS 10000 /* a sentence without a question */

struct omo_desk_notice {
    struct omo_desk_wait *wait;
    GDBusConnection *bus;
    guint signals[2];
    guint32 shown; /**< 0: none */
    int answer;    /**< -1 none yet */
    bool closed;
};

static GVariant *call(struct omo_desk_notice *notice, const char *method, GVariant *told,
                      const char *type)
{
    return g_dbus_connection_call_sync(notice->bus, NAME, PATH, NAME, method, told,
                                       G_VARIANT_TYPE(type), G_DBUS_CALL_FLAGS_NONE,
                                       CALL_MS, NULL, NULL);
}

static void on_bus(GDBusConnection *bus, const char *sender, const char *path,
                   const char *interface, const char *signal, GVariant *told,
                   gpointer user)
{
    struct omo_desk_notice *notice = user;
    bool action = strcmp(signal, "ActionInvoked") == 0;
    guint32 id = 0;
    const char *key = "";
    (void)bus, (void)sender, (void)path, (void)interface;
    if (action && g_variant_is_of_type(told, G_VARIANT_TYPE("(us)")))
        g_variant_get(told, "(u&s)", &id, &key);
    else if (!action && g_variant_is_of_type(told, G_VARIANT_TYPE("(uu)")))
        g_variant_get(told, "(uu)", &id, NULL);
    if (id == 0 || id != notice->shown)
        return;
    if (action && strcmp(key, "yes") != 0 && strcmp(key, "no") != 0)
        return; /* a click beside the buttons */
    if (action)
        notice->answer = strcmp(key, "yes") == 0;
    else
        notice->closed = true;
    g_main_loop_quit(notice->wait->loop);
}

struct omo_desk_notice *omo_desk_notice_create(struct omo_desk_wait *wait)
{
    static const char *const names[] = {"ActionInvoked", "NotificationClosed"};
    GDBusConnection *bus = g_bus_get_sync(G_BUS_TYPE_SESSION, NULL, NULL);
    if (!bus)
        return NULL;
    struct omo_desk_notice *notice = g_new0(struct omo_desk_notice, 1);
    *notice = (struct omo_desk_notice){.wait = wait, .bus = bus};
    g_dbus_connection_set_exit_on_close(bus, FALSE);
    for (size_t i = 0; i < G_N_ELEMENTS(names); i++)
        notice->signals[i] =
            g_dbus_connection_signal_subscribe(bus, NAME, NAME, names[i], PATH, NULL,
                                               G_DBUS_SIGNAL_FLAGS_NONE, on_bus, notice,
                                               NULL);
    return notice;
}

static void take_away(struct omo_desk_notice *notice)
{
    guint32 shown = notice->shown;
    notice->shown = 0;
    if (shown == 0)
        return;
    GVariant *nothing =
        call(notice, "CloseNotification", g_variant_new("(u)", shown), "()");
    if (nothing)
        g_variant_unref(nothing);
}

void omo_desk_notice_destroy(struct omo_desk_notice *notice)
{
    if (!notice)
        return;
    take_away(notice);
    for (size_t i = 0; i < G_N_ELEMENTS(notice->signals); i++)
        g_dbus_connection_signal_unsubscribe(notice->bus, notice->signals[i]);
    g_object_unref(notice->bus);
    g_free(notice);
}

/** Asked each time: who shows notifications may have been started since. */
static bool shows_buttons(struct omo_desk_notice *notice)
{
    g_autoptr(GVariant) told = call(notice, "GetCapabilities", NULL, "(as)");
    g_autofree const char **names = NULL;
    if (!told)
        return false;
    g_variant_get(told, "(^a&s)", &names);
    return g_strv_contains(names, "actions");
}

bool omo_desk_notice_show(struct omo_desk_notice *notice, const char *title,
                          const char *text, bool buttons)
{
    if (buttons && !shows_buttons(notice))
        return false;
    GVariantBuilder actions, hints;
    g_variant_builder_init(&actions, G_VARIANT_TYPE("as"));
    g_variant_builder_init(&hints, G_VARIANT_TYPE("a{sv}"));
    if (buttons) {
        g_variant_builder_add(&actions, "s", "yes");
        g_variant_builder_add(&actions, "s", omo_word("yes"));
        g_variant_builder_add(&actions, "s", "no");
        g_variant_builder_add(&actions, "s", omo_word("no"));
    }
    g_variant_builder_add(&hints, "{sv}", "suppress-sound", g_variant_new_boolean(TRUE));
    g_variant_builder_add(&hints, "{sv}", "transient", g_variant_new_boolean(TRUE));
    g_variant_builder_add(&hints, "{sv}", "desktop-entry",
                          g_variant_new_string("omogon"));
    /* A body may be read as markup. */
    g_autofree char *body = g_markup_escape_text(text, -1);
    g_autoptr(GVariant) told =
        call(notice, "Notify",
             g_variant_new("(susssasa{sv}i)", "omogon", notice->shown, "", title, body,
                           &actions, &hints, buttons ? 0 : SHOW_MS),
             "(u)");
    notice->shown = 0;
    notice->answer = -1;
    notice->closed = false;
    if (told)
        g_variant_get(told, "(u)", &notice->shown);
    return notice->shown != 0;
}

int omo_desk_notice_answer(struct omo_desk_notice *notice, double seconds)
{
    int64_t until_ns = omo_clock_ns() + (int64_t)(seconds * 1e9);
    while (notice->answer < 0 && !notice->closed) {
        double left_s = (double)(until_ns - omo_clock_ns()) / 1e9;
        if (left_s <= 0 || !omo_desk_wait_for(notice->wait, left_s))
            break;
    }
    if (notice->answer < 0 && !notice->closed)
        take_away(notice);
    notice->shown = 0;
    return notice->answer;
}
