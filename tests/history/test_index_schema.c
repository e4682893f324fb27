/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "history/index_schema.h"

#include <sqlite3.h>
#include <string.h>

#include "support/cmocka_all.h"

/* Names of a table's columns, each with a blank behind it. */
static void list_columns(sqlite3 *database, const char *sql, struct sh_text *names)
{
    sqlite3_stmt *statement = NULL;
    assert_int_equal(sqlite3_prepare_v2(database, sql, -1, &statement, NULL), SQLITE_OK);
    while (sqlite3_step(statement) == SQLITE_ROW) {
        sh_text_printf(names, "%s ", (const char *)sqlite3_column_text(statement, 1));
    }
    assert_int_equal(sqlite3_finalize(statement), SQLITE_OK);
}

static void test_tables_have_the_keys_of_the_output(void **state)
{
    sqlite3 *database = NULL;
    struct sh_text sql;
    struct sh_text names;
    sh_text_init(&sql, 0);
    sh_text_init(&names, 0);
    sh_index_schema_format(&sql);
    assert_int_equal(sqlite3_open(":memory:", &database), SQLITE_OK);
    assert_int_equal(sqlite3_exec(database, sql.data, NULL, NULL, NULL), SQLITE_OK);
    list_columns(database, "PRAGMA table_info(shot)", &names);
    static const char *const keys[] = {
        "content n kind ",  " release_s release_u_s ", " hold_time_s hold_time_u_s ",
        " hold_time_lo_s ", " creep_n creep_u_n ",     " creep_m creep_u_m ",
        " finger_share_1 ", " finger_share_u_3 ",      " tremor_band_hi_n_4 ",
        " ring_damping ",   " finger_release_s_1 ",    " hand_vibration_m_s2 ",
    };
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        if (strstr(names.data, keys[i]) == NULL) {
            fail_msg("no %s among %s", keys[i], names.data);
        }
    }
    sh_text_close(&names);
    sh_text_close(&sql);
    assert_int_equal(sqlite3_close(database), SQLITE_OK);
}

/* SQLite refuses an insertion whose columns and values differ in number. */
static void test_insertion_fits(void **state)
{
    sqlite3 *database = NULL;
    sqlite3_stmt *statement = NULL;
    struct sh_text sql;
    struct sh_text insert;
    sh_text_init(&sql, 0);
    sh_text_init(&insert, 0);
    sh_index_schema_format(&sql);
    sh_index_schema_format_insert(&insert);
    assert_int_equal(sqlite3_open(":memory:", &database), SQLITE_OK);
    assert_int_equal(sqlite3_exec(database, sql.data, NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(database, insert.data, -1, &statement, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_bind_parameter_count(statement),
                     SH_INDEX_SCHEMA_HEAD_COLUMNS + 2 * SH_EVENT_COUNT +
                         SH_MEASURE_PLACES * SH_CATALOG_SUFFIX_COUNT);
    assert_int_equal(sqlite3_finalize(statement), SQLITE_OK);
    sh_text_close(&insert);
    sh_text_close(&sql);
    assert_int_equal(sqlite3_close(database), SQLITE_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tables_have_the_keys_of_the_output),
        cmocka_unit_test(test_insertion_fits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
