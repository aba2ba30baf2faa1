/**
 * Shows no notification, but answers for org.freedesktop.Notifications on the session
 * bus: writes down what it was asked to show and presses a button. mock_notices ANSWERS
 * CAPABILITIES ANSWERS: one letter a notification: y, n, c (closed by the person), w
 * (nobody looks). CAPABILITIES: words with commas. One line a call on standard output.
 */
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <gio/gio.h>

#define PATH "/org/freedesktop/Notifications"
#define NAME "org.freedesktop.Notifications"

static const char *answers, *capabilities;
static GMainLoop *loop;

static const char interface_xml[] =
    "<node><interface name='" NAME "'>"
    "<method name='GetCapabilities'><arg type='as' direction='out'/></method>"
    "<method name='Notify'><arg type='s' direction='in'/><arg type='u' direction='in'/>"
    "<arg type='s' direction='in'/><arg type='s' direction='in'/>"
    "<arg type='s' direction='in'/><arg type='as' direction='in'/>"
    "<arg type='a{sv}' direction='in'/><arg type='i' direction='in'/>"
    "<arg type='u' direction='out'/></method>"
    "<method name='CloseNotification'><arg type='u' direction='in'/></method>"
    "<signal name='ActionInvoked'><arg type='u'/><arg type='s'/></signal>"
    "<signal name='NotificationClosed'><arg type='u'/><arg type='u'/></signal>"
    "</interface></node>";

static void send(GDBusConnection *bus, const char *signal, GVariant *told)
{
    g_dbus_connection_emit_signal(bus, NULL, PATH, NAME, signal, told, NULL);
}

static void press(GDBusConnection *bus, guint32 id)
{
    char answer = *answers ? *answers++ : 'w';
    send(bus, "ActionInvoked", g_variant_new("(us)", id + 1000, "yes")); /* another's */
    if (answer == 'y' || answer == 'n')
        send(bus, "ActionInvoked",
             g_variant_new("(us)", id, answer == 'y' ? "yes" : "no"));
    if (answer != 'w')
        send(bus, "NotificationClosed", g_variant_new("(uu)", id, 2));
}

static void on_call(GDBusConnection *bus, const char *sender, const char *path,
                    const char *interface, const char *method, GVariant *told,
                    GDBusMethodInvocation *call, gpointer user)
{
    static guint32 id;
    (void)sender, (void)path, (void)interface, (void)user;
    if (strcmp(method, "GetCapabilities") == 0) {
        g_auto(GStrv) words = g_strsplit(capabilities, ",", -1);
        g_dbus_method_invocation_return_value(call,
                                              g_variant_new("(^as)",
                                                            (const char *const *)words));
    } else if (strcmp(method, "Notify") == 0) {
        g_autofree char *text = g_variant_print(told, FALSE);
        bool asks = strstr(text, "'yes'") != NULL;
        id++;
        printf("Notify %s\n", text);
        fflush(stdout);
        g_dbus_method_invocation_return_value(call, g_variant_new("(u)", id));
        if (asks)
            press(bus, id);
    } else {
        printf("Close\n");
        fflush(stdout);
        g_dbus_method_invocation_return_value(call, NULL);
    }
}

static void on_bus(GDBusConnection *bus, const char *name, gpointer user)
{
    static const GDBusInterfaceVTable table = {.method_call = on_call};
    GDBusNodeInfo *node = g_dbus_node_info_new_for_xml(interface_xml, NULL);
    (void)name, (void)user;
    g_dbus_connection_register_object(bus, PATH, node->interfaces[0], &table, NULL, NULL,
                                      NULL);
    g_dbus_node_info_unref(node);
}

static void on_name(GDBusConnection *bus, const char *name, gpointer user)
{
    (void)bus, (void)name, (void)user;
    puts("ready");
    fflush(stdout);
}

int main(int argc, char **argv)
{
    if (argc != 3)
        return 2;
    answers = argv[1];
    capabilities = argv[2];
    loop = g_main_loop_new(NULL, FALSE);
    g_bus_own_name(G_BUS_TYPE_SESSION, NAME, G_BUS_NAME_OWNER_FLAGS_NONE, on_bus, on_name,
                   NULL, NULL, NULL);
    g_main_loop_run(loop);
    return 0;
}
