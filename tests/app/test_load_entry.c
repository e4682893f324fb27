/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/load_entry.h"

#include <string.h>

#include "base/day.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static enum sh_status parse(const char *option,
                            const char *date,
                            const char *first,
                            const char *second,
                            struct sh_load_entry *entry,
                            struct sh_error *err)
{
    char words[3][32] = {{0}};
    char *list[3] = {words[0], words[1], words[2]};
    size_t n = 0;
    if (first != NULL) {
        (void)strcpy(words[n++], first);
    }
    if (second != NULL) {
        (void)strcpy(words[n++], second);
    }
    return sh_load_entry_parse(option, date, list, n, entry, err);
}

static struct sh_load_entry
read_entry(const char *option, const char *date, const char *first, const char *second)
{
    struct sh_load_entry entry = {0};
    struct sh_error err = {0};
    assert_int_equal(parse(option, date, first, second, &entry, &err), SH_OK);
    return entry;
}

static enum sh_status
apply(struct sh_person *person, struct sh_load_entry *entry, struct sh_error *err)
{
    const struct sh_person_file_change change = sh_load_entry_make_change(entry);
    return change.apply(change.context, person, err);
}

static void test_what_is_understood(void **state)
{
    struct sh_load_entry entry = read_entry("add", "2026-05-04", "60", "36lb");
    assert_int_equal(entry.kind, SH_LOAD_ENTRY_DRAWS);
    assert_int_equal(entry.draws.draws, 60);
    assert_string_equal(entry.draws.date, "2026-05-04");
    assert_near(entry.draws.draw_weight_n.value, 36 * 4.4482216152605, 0, 1e-12);
    entry = read_entry("add", "2026-05-04", "1", NULL);
    assert_false(entry.draws.draw_weight_n.is_given);
    entry = read_entry("rest", "2026-05-05", NULL, NULL);
    assert_int_equal(entry.kind, SH_LOAD_ENTRY_REST);
    entry = read_entry("rating", "2026-05-05", "after", "2.5");
    assert_near(entry.rating.rating, 2.5, 0, 0);
    assert_string_equal(entry.rating.when, "after");
    entry = read_entry("forget", "2026-05-05", NULL, NULL);
    assert_int_equal(entry.kind, SH_LOAD_ENTRY_FORGET);
}

static const struct {
    const char *option;
    const char *date;
    const char *first;
    const char *second;
    const char *says;
} wrong[] = {
    {"add", "2026-02-30", "60", NULL, "no day"},
    {"add", "2026-05-04", NULL, NULL, "too few"},
    {"add", "2026-05-04", "0", NULL, "'0'"},
    {"add", "2026-05-04", "1.5", NULL, "'1.5'"},
    {"add", "2026-05-04", "-1", NULL, "'-1'"},
    {"add", "2026-05-04", "5001", NULL, "'5001'"},
    {"add", "2026-05-04", "nan", NULL, "'nan'"},
    {"add", "2026-05-04", "60", "heavy", "'heavy'"},
    {"add", "2026-05-04", "60", "401", "'401'"},
    {"rest", "tomorrow", NULL, NULL, "no day"},
    {"rest", "2026-05-04", "60", NULL, "'60'"},
    {"rating", "2026-05-04", "before", NULL, "too few"},
    {"rating", "2026-05-04", "noon", "2", "'noon'"},
    {"rating", "2026-05-04", "before", "11", "'11'"},
    {"rating", "2026-05-04", "before", "-1", "'-1'"},
    {"forget", "2026-05-04", "x", NULL, "'x'"},
};

static void test_what_is_refused(void **state)
{
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct sh_load_entry entry = {.day = 77};
        struct sh_error err = {0};
        assert_int_equal(parse(wrong[i].option, wrong[i].date, wrong[i].first, wrong[i].second,
                               &entry, &err),
                         SH_ERR_ARGUMENT);
        assert_non_null(strstr(err.what, wrong[i].says));
        assert_non_null(strstr(err.where, wrong[i].option));
        assert_true(err.todo[0] != '\0');
        assert_int_equal(entry.day, 77);
    }
}

static void test_a_day_is_not_both(void **state)
{
    struct sh_person person = {.name = "wren"};
    struct sh_error err = {0};
    struct sh_load_entry draws = read_entry("add", "2026-05-04", "60", NULL);
    struct sh_load_entry rest = read_entry("rest", "2026-05-04", NULL, NULL);
    struct sh_load_entry other = read_entry("rest", "2026-05-05", NULL, NULL);
    assert_int_equal(apply(&person, &draws, &err), SH_OK);
    assert_int_equal(apply(&person, &draws, &err), SH_OK); /* a second time that day */
    assert_int_equal(apply(&person, &rest, &err), SH_ERR_EXISTS);
    assert_int_equal(apply(&person, &other, &err), SH_OK);
    assert_int_equal(apply(&person, &other, &err), SH_OK);
    assert_int_equal(person.n_rests, 1);
    assert_int_equal(person.n_draws, 2);
    struct sh_load_entry late = read_entry("add", "2026-05-05", "60", NULL);
    err = (struct sh_error){0};
    assert_int_equal(apply(&person, &late, &err), SH_ERR_EXISTS);
    assert_non_null(strstr(err.todo, "--forget"));
    sh_person_close(&person);
}

static void test_taken_back(void **state)
{
    struct sh_person person = {.name = "wren"};
    struct sh_error err = {0};
    struct sh_load_entry entries[] = {
        read_entry("add", "2026-05-03", "10", NULL),
        read_entry("add", "2026-05-04", "60", NULL),
        read_entry("add", "2026-05-04", "20", NULL),
        read_entry("rating", "2026-05-04", "before", "1"),
        read_entry("rest", "2026-05-05", NULL, NULL),
    };
    for (size_t i = 0; i < sizeof entries / sizeof entries[0]; i++) {
        assert_int_equal(apply(&person, &entries[i], &err), SH_OK);
    }
    struct sh_load_entry forget = read_entry("forget", "2026-05-04", NULL, NULL);
    assert_int_equal(apply(&person, &forget, &err), SH_OK);
    assert_int_equal(forget.n_forgotten, 3);
    assert_int_equal(person.n_draws, 1);
    assert_int_equal(person.draws[0].draws, 10);
    assert_int_equal(person.n_ratings, 0);
    assert_int_equal(person.n_rests, 1);
    assert_int_equal(apply(&person, &forget, &err), SH_ERR_NOT_FOUND);
    sh_person_close(&person);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_is_understood),
        cmocka_unit_test(test_what_is_refused),
        cmocka_unit_test(test_a_day_is_not_both),
        cmocka_unit_test(test_taken_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
