/* Names of what is exported. In a shared copy none is one of the record or of another
 * export, since two copies that have names in common undo the shift of the dates. */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/random.h>

#include "app/export.h"
#include "omogon/log.h"
#include "omogon/text.h"

enum omo_status omo_export_salt(struct omo_export *export)
{
    if (!export->share)
        return OMO_OK;
    /* Up to 256 bytes come whole or not at all. */
    if (getrandom(export->salt, sizeof export->salt, 0) == sizeof export->salt)
        return OMO_OK;
    omo_error("the computer gave no random numbers for the codes of a shared copy: %s; "
              "nothing is written, try again",
              g_strerror(errno));
    return OMO_ERR_IO;
}

void omo_export_id(const struct omo_export *export, const char *kind, const char *key,
                   char out[33])
{
    if (!export->share) {
        struct omo_id *id = omo_id_create();
        omo_id_add_text(id, kind, key);
        omo_id_finish(id, out);
        return;
    }
    g_autofree char *text = g_strconcat(kind, "=", key, "\n", NULL);
    g_autofree char *digest = g_compute_hmac_for_string(G_CHECKSUM_SHA256, export->salt,
                                                        sizeof export->salt, text, -1);
    snprintf(out, 33, "%.32s", digest);
}

void omo_export_uuid(const struct omo_export *export, const char *kind, const char *key,
                     char out[37])
{
    char hex[33];
    omo_export_id(export, kind, key, hex);
    hex[12] = '8'; /* version 8: made by a rule of one's own */
    hex[16] = '8'; /* variant */
    snprintf(out, 37, "%.8s-%.4s-%.4s-%.4s-%.12s", hex, hex + 8, hex + 12, hex + 16,
             hex + 20);
}

void omo_export_own_id(const struct omo_export *export, const char *kind, const char *id,
                       char out[33])
{
    if (export->share && id[0])
        omo_export_id(export, kind, id, out);
    else
        omo_text_copy(out, 33, id);
}

void omo_export_person(const struct omo_export *export, const char *person, char out[24])
{
    char hex[33];
    omo_text_copy(out, 24, person);
    if (!export->share)
        return;
    omo_export_id(export, "person", person, hex);
    /* A letter first, so that no spreadsheet takes it for a number or a day. */
    snprintf(out, 24, "S%.12s", hex);
}
