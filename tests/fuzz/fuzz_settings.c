// Any bytes as a movement table, as a table of allowances and as one of priors.
// sources: src/base/*.c src/numeric/*.c src/motion/*.c src/layout/body.c
// pkgs: glib-2.0 gsl
// options: -max_len=1024
#include "claims.h"
#include "motion/movements.h"

static bool ends(const char *text, size_t size)
{
    return memchr(text, '\0', size) != NULL && text[0] != '\0';
}

static void check_movement(const struct omo_movement_table *table,
                           const struct omo_movement *m)
{
    demand(ends(m->name, sizeof m->name) && ends(m->plane, sizeof m->plane) &&
               ends(m->axis, sizeof m->axis) && ends(m->zero, sizeof m->zero) &&
               ends(m->caution, sizeof m->caution),
           "texts are there and end");
    demand(omo_movement_find(table, m->key) == m, "a movement is found by its key");
    demand((unsigned)m->position_default < OMO_POSITION_COUNT &&
               m->position_allowed[m->position_default],
           "the default position is allowed");
    demand(m->needed != 0 && m->needed < 1u << OMO_ROLE_COUNT, "needed markers exist");
    demand(m->sign == 1.0 || m->sign == -1.0, "a sign is a sign");
    demand(m->wrap_low_deg >= -360.0 && m->wrap_low_deg <= 0.0, "the range's low end");
    demand(m->rest_below_deg >= 1.0 && m->rest_below_deg <= 90.0, "the limit of rest");
#ifdef OMO_PLANTED_FAULT
    /* A good table whose text is longer than any seed's. */
    demand(strlen(m->axis) + strlen(m->zero) < 6, "the planted fault");
#endif
}

static void read_as_movements(const char *bytes, size_t size)
{
    struct omo_allowances allowances = {0};
    struct omo_movement_table *table = NULL;
    sentences = 0;
    enum omo_status status =
        omo_movement_table_parse(bytes, size, "table.ini", &allowances, &table);
    if (status != OMO_OK) {
        demand(table == NULL, "nothing comes out of a table with a mistake");
        demand(status == OMO_ERR_SETTINGS && sentences == 1, "a mistake is said once");
        return;
    }
    demand(sentences == 0, "a good table is silent");
    demand(omo_movement_count(table) > 0, "a table has movements");
    for (int i = 0; i < omo_movement_count(table); i++)
        check_movement(table, omo_movement_at(table, i));
    omo_movement_table_destroy(table);
}

static void read_as_allowances(const char *bytes, size_t size)
{
    struct omo_allowances a = {.shoulder_mm = -1};
    sentences = 0;
    enum omo_status status = omo_allowances_parse(bytes, size, "allowances.ini", &a);
    if (status != OMO_OK) {
        demand(a.shoulder_mm == -1, "a mistake leaves the allowances alone");
        demand(status == OMO_ERR_SETTINGS && sentences == 1, "a mistake is said once");
        return;
    }
    demand(sentences == 0, "good allowances are silent");
    demand(a.shoulder_mm >= 0 && a.trunk_none_deg >= 0 && a.trunk_none_deg <= 45,
           "allowances are in their range");
}

static void read_as_priors(const char *bytes, size_t size)
{
    struct omo_pivot_priors p = {.share_sd = -1};
    sentences = 0;
    enum omo_status status = omo_pivot_priors_parse(bytes, size, "pivot.ini", &p);
    if (status != OMO_OK) {
        demand(p.share_sd == -1, "a mistake leaves the priors alone");
        demand(status == OMO_ERR_SETTINGS && sentences == 1, "a mistake is said once");
        return;
    }
    demand(sentences == 0, "good priors are silent");
    demand(p.share_sd > 0 && p.share_sd <= 1, "priors are in their range");
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    read_as_movements((const char *)bytes, size);
    read_as_allowances((const char *)bytes, size);
    read_as_priors((const char *)bytes, size);
    return 0;
}
