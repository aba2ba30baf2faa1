/* Two raters, trial by trial: pairs where somebody has several of them. */
#include "app/agreement_out.h"
#include "omogon/words.h"

/** One number for side and trial. */
static gint64 key_of(const struct omo_agreement_value *one)
{
    return ((gint64)one->side << 32) | (guint32)one->trial;
}

/** Every value of the second rater with its key; lent. */
static GHashTable *seconds_of(const GArray *each)
{
    GHashTable *seconds =
        g_hash_table_new_full(g_int64_hash, g_int64_equal, g_free, NULL);
    for (guint i = 0; i < each->len; i++) {
        struct omo_agreement_value *one =
            &g_array_index(each, struct omo_agreement_value, i);
        if (one->rater == 1) {
            gint64 *key = g_new(gint64, 1);
            *key = key_of(one);
            g_hash_table_insert(seconds, key, one);
        }
    }
    return seconds;
}

static GArray *pairs_of(const GArray *each)
{
    g_autoptr(GHashTable) seconds = seconds_of(each);
    GArray *pairs = g_array_new(FALSE, FALSE, sizeof(struct omo_agreement_pair));
    for (guint i = 0; i < each->len; i++) {
        const struct omo_agreement_value *one =
            &g_array_index(each, struct omo_agreement_value, i);
        gint64 key = key_of(one);
        const struct omo_agreement_value *other =
            one->rater == 0 ? g_hash_table_lookup(seconds, &key) : NULL;
        if (other) {
            const struct omo_agreement_pair pair = {one->value, other->value, one->person,
                                                    one->side};
            g_array_append_val(pairs, pair);
        }
    }
    return pairs;
}

static bool is_repeated(const GArray *pairs)
{
    g_autoptr(GHashTable) seen = g_hash_table_new(g_direct_hash, g_direct_equal);
    for (guint i = 0; i < pairs->len; i++)
        if (!g_hash_table_add(
                seen, GINT_TO_POINTER(
                          g_array_index(pairs, struct omo_agreement_pair, i).person + 1)))
            return true;
    return false;
}

static enum omo_status limits_of(const GArray *pairs, double confidence,
                                 struct omo_pair_limits *out)
{
    g_autofree double *difference = g_new(double, pairs->len);
    g_autofree int *person = g_new(int, pairs->len);
    g_autofree int *side = g_new(int, pairs->len);
    for (guint i = 0; i < pairs->len; i++) {
        const struct omo_agreement_pair *one =
            &g_array_index(pairs, struct omo_agreement_pair, i);
        difference[i] = one->first - one->second;
        person[i] = one->person;
        side[i] = one->side;
    }
    return omo_limits_of_pairs(difference, person, side, pairs->len, confidence, out);
}

void omo_agreement_pair(struct omo_agreement_found *found)
{
    const struct omo_agreement_table *t = &found->table;
    if (t->raters->len != 2)
        return;
    g_autoptr(GArray) pairs = pairs_of(t->each);
    if (!is_repeated(pairs))
        return;
    found->pair_status = limits_of(pairs, found->confidence, &found->pair_limits);
    found->unmatched = t->each->len - 2 * (size_t)pairs->len;
    found->pairs = g_steal_pointer(&pairs);
}

bool omo_agreement_has_pairs(const struct omo_agreement_found *found)
{
    return found->pairs && found->pair_status == OMO_OK;
}

const char *omo_agreement_pairs_fault(const struct omo_agreement_found *found)
{
    if (found->pair_status == OMO_ERR_EMPTY)
        return omo_word("the differences are all the same, or nothing is left beside "
                        "people and sides");
    if (found->pair_status == OMO_ERR_ARG)
        return found->pairs->len > OMO_COMPONENT_MOST
                   ? omo_word("there are too many pairs for the model")
                   : omo_word("they need 3 pairs or more, of 2 people or more");
    return omo_word("the model does not settle");
}
