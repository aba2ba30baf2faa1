#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "omogon/csv.h"

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

static const struct {
    const char *name, *cell, *want;
} quoted[] = {
    {"plain text needs no quotes", "flexion", "flexion"},
    {"an empty cell is empty", "", ""},
    {"a comma needs quotes", "a,b", "\"a,b\""},
    {"a quote is doubled", "say \"ah\"", "\"say \"\"ah\"\"\""},
    {"a line end needs quotes", "a\nb", "\"a\nb\""},
    {"a carriage return needs quotes", "a\rb", "\"a\rb\""},
    {"blanks stay", " a ", " a "},
    {"a lone quote", "\"", "\"\"\"\""},
    {"bytes that are no UTF-8 are replaced", "a\xFFz", "a\xEF\xBF\xBDz"},
};

START_TEST(cells_are_quoted_where_needed_and_read_back)
{
    struct omo_csv_text csv = {0};
    struct omo_csv_table *table;
    char want[64];

    omo_csv_add_text(&csv, "x");
    omo_csv_add_text(&csv, quoted[_i].cell);
    omo_csv_end_row(&csv);
    strcpy(want, "x,");
    strcat(want, quoted[_i].want);
    strcat(want, "\n");
    ck_assert_msg(strcmp(csv.bytes, want) == 0, "%s: got %s", quoted[_i].name, csv.bytes);
    ck_assert_int_eq(omo_csv_parse(csv.bytes, csv.size, &table, NULL), OMO_OK);
    ck_assert_uint_eq(omo_csv_rows(table), 1);
    ck_assert_uint_eq(omo_csv_columns(table, 0), 2);
    if (strstr(quoted[_i].name, "UTF-8") == NULL)
        ck_assert_str_eq(omo_csv_cell(table, 0, 1), quoted[_i].cell);
    omo_csv_destroy(table);
    omo_csv_text_free(&csv);
    ck_assert_ptr_null(csv.bytes);
}
END_TEST

START_TEST(a_row_of_every_kind_of_cell)
{
    struct omo_csv_text csv = {0};

    omo_csv_add_integer(&csv, -12);
    omo_csv_add_number(&csv, 116.8, 3);
    omo_csv_add_number(&csv, NAN, 3);
    omo_csv_add_text(&csv, NULL);
    omo_csv_add_text(&csv, "ok");
    omo_csv_end_row(&csv);
    omo_csv_add_integer(&csv, 9223372036854775807LL);
    omo_csv_end_row(&csv);
    ck_assert_str_eq(csv.bytes, "-12,116.800,,,ok\n9223372036854775807\n");
    ck_assert_uint_eq(csv.size, strlen(csv.bytes));
    ck_assert(!csv.failed);
    omo_csv_text_free(&csv);
}
END_TEST

START_TEST(a_first_cell_that_starts_with_a_byte_order_mark_keeps_it)
{
    struct omo_csv_text csv = {0};
    struct omo_csv_table *table;

    omo_csv_add_text(&csv, "\xEF\xBB\xBFid");
    omo_csv_end_row(&csv);
    ck_assert_int_eq(omo_csv_parse(csv.bytes, csv.size, &table, NULL), OMO_OK);
    ck_assert_str_eq(omo_csv_cell(table, 0, 0), "\xEF\xBB\xBFid");
    omo_csv_destroy(table);
    omo_csv_text_free(&csv);
}
END_TEST

START_TEST(a_long_text_grows_and_keeps_every_byte)
{
    struct omo_csv_text csv = {0};
    struct omo_csv_table *table;

    for (int row = 0; row < 3000; row++) {
        omo_csv_add_integer(&csv, row);
        omo_csv_add_text(&csv, "a,\"b\"");
        omo_csv_end_row(&csv);
    }
    ck_assert_int_eq(omo_csv_parse(csv.bytes, csv.size, &table, NULL), OMO_OK);
    ck_assert_uint_eq(omo_csv_rows(table), 3000);
    for (size_t row = 0; row < 3000; row++) {
        ck_assert_int_eq(atoi(omo_csv_cell(table, row, 0)), (int)row);
        ck_assert_str_eq(omo_csv_cell(table, row, 1), "a,\"b\"");
    }
    omo_csv_destroy(table);
    omo_csv_text_free(&csv);
}
END_TEST

/* What is read, written with | between cells and / after rows. */
static const struct {
    const char *name, *bytes, *want;
} accepted[] = {
    {"nothing has no rows", "", ""},
    {"a byte-order mark alone has no rows", "\xEF\xBB\xBF", ""},
    {"a byte-order mark is not part of the first cell", "\xEF\xBB\xBFid,n\n", "id|n/"},
    {"the last line may lack its end", "a,b\nc,d", "a|b/c|d/"},
    {"CR LF ends a line", "a,b\r\nc,d\r\n", "a|b/c|d/"},
    {"a comma at the end starts an empty cell", "a,\nb,", "a|/b|/"},
    {"a blank line is a row of one empty cell", "a\n\nb\n", "a//b/"},
    {"rows may differ in width", "a\nb,c,d\n", "a/b|c|d/"},
    {"quotes hide commas and line ends", "\"a,b\",\"c\nd\"\n", "a,b|c\nd/"},
    {"a doubled quote is one", "\"a\"\"b\"\n", "a\"b/"},
    {"an empty quoted cell", "\"\",x\n", "|x/"},
    {"quotes keep CR LF as it is", "\"a\r\nb\"\r\n", "a\r\nb/"},
    {"letters beyond ASCII", "\xC3\xA9,\xE2\x82\xAC\n", "\xC3\xA9|\xE2\x82\xAC/"},
};

static void dump(const struct omo_csv_table *table, char *out)
{
    *out = '\0';
    for (size_t row = 0; row < omo_csv_rows(table); row++) {
        for (size_t i = 0; i < omo_csv_columns(table, row); i++) {
            if (i > 0)
                strcat(out, "|");
            strcat(out, omo_csv_cell(table, row, i));
        }
        strcat(out, "/");
    }
}

START_TEST(tables_are_read)
{
    struct omo_csv_table *table;
    char got[128];
    size_t size = strlen(accepted[_i].bytes);
    /* An exact copy, so that a read past the end shows under a sanitizer. */
    char *bytes = malloc(size + (size == 0));

    memcpy(bytes, accepted[_i].bytes, size);
    ck_assert_msg(omo_csv_parse(bytes, size, &table, NULL) == OMO_OK, "%s",
                  accepted[_i].name);
    dump(table, got);
    ck_assert_msg(strcmp(got, accepted[_i].want) == 0, "%s: got %s", accepted[_i].name,
                  got);
    omo_csv_destroy(table);
    free(bytes);
}
END_TEST

static const struct {
    const char *name, *bytes;
    size_t size, line;
} refused[] = {
    {"a quote that never closes", "a\n\"b\nc\n", 7, 2},
    {"letters after a closing quote", "a\nb\n\"c\"d\n", 9, 3},
    {"a quote inside a plain cell", "a\"b\n", 4, 1},
    {"a carriage return inside a plain cell", "a\nb\rc\n", 6, 2},
    {"a NUL byte", "a\nb\0c\n", 6, 2},
    {"bytes that are no UTF-8", "a\nb\nc\xFF\n", 7, 3},
    {"half a letter at the end", "a\n\xC3", 3, 2},
};

START_TEST(mistakes_are_refused_with_their_line)
{
    struct omo_csv_table *table = NULL;
    size_t line = 0;

    ck_assert_msg(omo_csv_parse(refused[_i].bytes, refused[_i].size, &table, &line) ==
                      OMO_ERR_FORMAT,
                  "%s", refused[_i].name);
    ck_assert_msg(line == refused[_i].line, "%s: got line %zu", refused[_i].name, line);
    ck_assert_ptr_null(table);
    ck_assert_int_eq(omo_csv_parse(refused[_i].bytes, refused[_i].size, &table, NULL),
                     OMO_ERR_FORMAT);
}
END_TEST

START_TEST(columns_are_found_by_name)
{
    static const char bytes[] = "id,person,max_deg\n1,P001,116.800\n";
    struct omo_csv_table *table;

    ck_assert_int_eq(omo_csv_parse(bytes, strlen(bytes), &table, NULL), OMO_OK);
    ck_assert_int_eq(omo_csv_find(table, "max_deg"), 2);
    ck_assert_int_eq(omo_csv_find(table, "max"), -1);
    ck_assert_str_eq(omo_csv_cell(table, 1, 3), "");
    ck_assert_str_eq(omo_csv_cell(table, 2, 0), "");
    ck_assert_uint_eq(omo_csv_columns(table, 2), 0);
    omo_csv_destroy(table);
    omo_csv_destroy(NULL);
}
END_TEST

START_TEST(an_empty_table_has_no_columns)
{
    struct omo_csv_table *table;

    ck_assert_int_eq(omo_csv_parse(NULL, 0, &table, NULL), OMO_OK);
    ck_assert_int_eq(omo_csv_find(table, ""), -1);
    omo_csv_destroy(table);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("csv");
    TCase *tests = tcase_create("csv");
    SRunner *runner = srunner_create(suite);
    int failed;

    tcase_add_loop_test(tests, cells_are_quoted_where_needed_and_read_back, 0,
                        COUNT(quoted));
    tcase_add_test(tests, a_row_of_every_kind_of_cell);
    tcase_add_test(tests, a_first_cell_that_starts_with_a_byte_order_mark_keeps_it);
    tcase_add_test(tests, a_long_text_grows_and_keeps_every_byte);
    tcase_add_loop_test(tests, tables_are_read, 0, COUNT(accepted));
    tcase_add_loop_test(tests, mistakes_are_refused_with_their_line, 0, COUNT(refused));
    tcase_add_test(tests, columns_are_found_by_name);
    tcase_add_test(tests, an_empty_table_has_no_columns);
    suite_add_tcase(suite, tests);
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
