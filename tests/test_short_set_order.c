/* The order of the short set against every other one. */
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "app/short_set.h"

#define COUNT OMO_SHORT_SET_ITEMS

/* By hand, not from the plan: elevations are done standing, rotations lying down. */
static bool rotates(const struct omo_short_set_item *item)
{
    return strstr(item->movement, "rotation") != NULL;
}

static int changes(const struct omo_short_set_item *items)
{
    int count = 0;
    for (int i = 1; i < COUNT; i++)
        count += items[i].place != items[i - 1].place;
    return count;
}

/** How often the worse side of a movement comes before the better one. */
static int worse_first(const struct omo_short_set_item *items, enum omo_side better)
{
    int count = 0;
    for (int i = 0; i < COUNT; i++)
        for (int k = i + 1; k < COUNT; k++)
            count +=
                !strcmp(items[i].movement, items[k].movement) && items[i].side != better;
    return count;
}

/** Pairs of which a rotation comes before an elevation. */
static int rotations_early(const struct omo_short_set_item *items)
{
    int count = 0;
    for (int i = 0; i < COUNT; i++)
        for (int k = i + 1; k < COUNT; k++)
            count += rotates(&items[i]) && !rotates(&items[k]);
    return count;
}

struct best {
    int changes, of_those_early, of_those_worse;
    long tried;
};

/** Every order of items[from..] behind what stands before. */
static void try_all(struct omo_short_set_item *items, int from, enum omo_side better,
                    struct best *best)
{
    if (from == COUNT) {
        int c = changes(items), e = rotations_early(items),
            w = worse_first(items, better);
        best->tried++;
        if (c > best->changes)
            return;
        if (c < best->changes)
            *best = (struct best){c, e, w, best->tried};
        else if (e < best->of_those_early ||
                 (e == best->of_those_early && w < best->of_those_worse)) {
            best->of_those_early = e;
            best->of_those_worse = w;
        }
        return;
    }
    for (int i = from; i < COUNT; i++) {
        struct omo_short_set_item kept = items[from];
        items[from] = items[i];
        items[i] = kept;
        try_all(items, from + 1, better, best);
        kept = items[from];
        items[from] = items[i];
        items[i] = kept;
    }
}

START_TEST(no_order_is_better)
{
    enum omo_side better = _i ? OMO_RIGHT : OMO_LEFT;
    struct omo_short_set_item items[COUNT], other[COUNT];
    struct best best = {COUNT, COUNT * COUNT, COUNT, 0};
    omo_short_set_order(better, items);
    memcpy(other, items, sizeof other);
    try_all(other, 0, better, &best);
    ck_assert_int_eq(best.tried, 40320); /* 8! */
    ck_assert_int_eq(changes(items), best.changes);
    ck_assert_int_eq(rotations_early(items), best.of_those_early);
    ck_assert_int_eq(worse_first(items, better), best.of_those_worse);
    ck_assert_int_eq(best.changes, 4); /* five places */
    ck_assert_int_eq(best.of_those_early, 0);
    ck_assert_int_eq(best.of_those_worse, 0);
}
END_TEST

START_TEST(every_movement_is_there_once_a_side_and_where_it_is_seen)
{
    static const char *const movements[] = {"abduction", "flexion", "external-rotation",
                                            "internal-rotation"};
    struct omo_short_set_item items[COUNT];
    omo_short_set_order(_i ? OMO_RIGHT : OMO_LEFT, items);
    for (int m = 0; m < 4; m++)
        for (int side = 0; side < 2; side++) {
            int found = 0;
            for (int i = 0; i < COUNT; i++)
                found += !strcmp(items[i].movement, movements[m]) &&
                         items[i].side == (side ? OMO_RIGHT : OMO_LEFT);
            ck_assert_int_eq(found, 1);
        }
    for (int i = 0; i < COUNT; i++) {
        bool left = items[i].side == OMO_LEFT;
        enum omo_short_set_place wanted =
            rotates(&items[i]) ? (left ? OMO_SET_LYING_LEFT : OMO_SET_LYING_RIGHT)
            : !strcmp(items[i].movement, "abduction")
                ? OMO_SET_FRONT
                : (left ? OMO_SET_LEFT_SIDE : OMO_SET_RIGHT_SIDE);
        ck_assert_int_eq(items[i].place, wanted);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("short_set_order");
    TCase *tests = tcase_create("short_set_order");
    tcase_add_loop_test(tests, no_order_is_better, 0, 2);
    tcase_add_loop_test(tests, every_movement_is_there_once_a_side_and_where_it_is_seen,
                        0, 2);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? 0 : 1;
}
